//! Alerts by as much of their id as it takes.

use store::{AlertRecord, Store};

use crate::failure::Failure;

/// Shorter parts of an id are found by chance.
const SHORTEST: usize = 4;

/// The alert whose id begins or ends like this.
///
/// # Errors
/// There is none, there are several, or the part is too short.
pub(super) fn find(store: &Store, part: &str) -> Result<AlertRecord, Failure> {
    let part = part.trim().to_uppercase();
    if part.chars().count() < SHORTEST {
        return Err(Failure::usage(format!(
            "{part:?} is too short for an alert; write {SHORTEST} letters or more of its id, from its beginning or its end"
        )));
    }
    let mut found = store.alerts_called(&part)?;
    match found.len() {
        0 => Err(Failure::NoData(format!("there is no alert {part}; `ovenward alerts` lists them"))),
        1 => Ok(found.remove(0)),
        _ => {
            let ids: Vec<&str> = found.iter().map(|alert| &*alert.id).collect();
            Err(Failure::usage(format!("{part} may be any of {}; write more of the one you mean", ids.join(", "))))
        }
    }
}
