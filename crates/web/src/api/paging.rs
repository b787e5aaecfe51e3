//! Lists come in pages; a cursor leads from one to the next.

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::parameters::wrong;
use crate::problem::Problem;

/// Items on a page where nobody says how many.
const USUAL: usize = 100;
/// The most items on a page.
const MOST: usize = 500;

/// Which page of a list.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct Paging {
    /// The most items to send.
    #[param(minimum = 1, maximum = 500, default = 100)]
    pub(crate) limit: Option<usize>,
    /// `next` of the page before.
    pub(crate) cursor: Option<String>,
}

/// A page of a list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Page<T> {
    /// What is on it.
    pub items: Vec<T>,
    /// The cursor of the next page; null on the last.
    pub next: Option<String>,
}

impl<T> Page<T> {
    /// The page of a list that was asked for one item more than there is room for: if it is there, there is a next page.
    pub(crate) fn of_one_more(mut items: Vec<T>, limit: usize, key: impl Fn(&T) -> String) -> Self {
        let more = items.len() > limit;
        items.truncate(limit);
        let next = items.last().filter(|_| more).map(key);
        Self { items, next }
    }
}

impl Paging {
    /// The most items to send.
    pub(crate) fn limit(&self) -> Result<usize, Problem> {
        match self.limit.unwrap_or(USUAL) {
            limit if (1..=MOST).contains(&limit) => Ok(limit),
            limit => Err(wrong(format!("\"limit\" is {limit}. Write 1 to {MOST}."))),
        }
    }

    /// Cuts the page out of the whole list. The cursor is the key of the last item that was sent: what is added at the
    /// head of the list meanwhile shifts nothing.
    pub(crate) fn cut<T>(&self, items: Vec<T>, key: impl Fn(&T) -> String) -> Result<Page<T>, Problem> {
        let limit = self.limit()?;
        let skipped = match &self.cursor {
            None => 0,
            Some(cursor) => {
                1 + items.iter().position(|item| key(item) == *cursor).ok_or_else(|| {
                    wrong("The item that \"cursor\" names is no longer in the list. Begin again without a cursor.")
                })?
            }
        };
        let items = items.into_iter().skip(skipped).take(limit + 1).collect();
        Ok(Page::of_one_more(items, limit, key))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn page(limit: Option<usize>, cursor: Option<&str>) -> Result<Page<u32>, Problem> {
        Paging { limit, cursor: cursor.map(Into::into) }.cut((0..7).collect(), u32::to_string)
    }

    #[test]
    fn pages_follow_each_other_and_the_last_has_no_next() {
        let first = page(Some(3), None).unwrap();
        assert_eq!((first.items, first.next.as_deref()), (vec![0, 1, 2], Some("2")));
        let second = page(Some(3), Some("2")).unwrap();
        assert_eq!((second.items, second.next.as_deref()), (vec![3, 4, 5], Some("5")));
        let last = page(Some(3), Some("5")).unwrap();
        assert_eq!((last.items, last.next), (vec![6], None));
        assert_eq!(page(Some(7), None).unwrap().next, None);
        assert_eq!(page(None, None).unwrap().items.len(), 7);
    }

    #[test]
    fn a_cursor_of_nothing_and_a_limit_out_of_bounds_are_refused() {
        assert!(page(None, Some("9")).is_err());
        assert!(page(Some(0), None).is_err());
        assert!(page(Some(501), None).is_err());
    }
}
