//! Ids of site and lines: they stand in topics and in the names of folders.

use std::sync::Arc;

use toml::Spanned;

use super::key::Key;
use super::section::Section;

const LONGEST: usize = 40;

/// The id, if it is one; otherwise a fault that offers one made from it.
pub(super) fn identity(section: &Section<'_>, key: &Key, text: &Spanned<String>) -> Option<Arc<str>> {
    let id = text.get_ref().as_str();
    if id.len() <= LONGEST && id.chars().all(|c| matches!(c, 'a'..='z' | '0'..='9' | '-')) {
        return Some(id.into());
    }
    let slug = slug(id);
    let advice = if slug.is_empty() { key.advice() } else { format!("{} = {slug:?}", key.name) };
    let message = format!("{} {id:?} is not made of a-z, 0-9 and - (at most {LONGEST})", key.name);
    section.faults().add(text.span().start, message, advice);
    None
}

fn slug(text: &str) -> String {
    let words = text.to_lowercase();
    let words = words.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-").chars().take(LONGEST).collect()
}
