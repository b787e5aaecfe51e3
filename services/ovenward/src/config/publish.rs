//! `[publish]`: the only topic tree the service ever writes.

use super::key::Key;
use super::section::Section;
use super::topic;
use ::sparkplug::topic::NAMESPACE;

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
    if let Some(root) = root.as_ref().filter(|root| topic::check(section, &ROOT, root))
        && root.get_ref().split('/').next() == Some(NAMESPACE)
    {
        let message = format!("root {:?} lies in the tree of Sparkplug B, where others command", root.get_ref());
        section.faults().add(root.span().start, message, ROOT.advice());
    }
    PublishSettings { root: root.map_or_else(|| "ovenward".to_owned(), |root| root.into_inner()) }
}
