//! `[publish]`: the only topic tree the service ever writes.

use super::key::Key;
use super::section::Section;
use super::topic;

const ROOT: Key = Key::optional("root", "\"ovenward\"");

/// What the service writes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PublishSettings {
    /// The tree's first levels; the site's id follows it. Default `ovenward`.
    pub root: String,
}

pub(super) fn read(section: &Section<'_>) -> PublishSettings {
    let root = section.text(&ROOT);
    section.finish();
    if let Some(root) = &root {
        topic::check(section, &ROOT, root);
    }
    PublishSettings { root: root.map_or_else(|| "ovenward".to_owned(), |root| root.into_inner()) }
}
