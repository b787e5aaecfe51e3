//! Whether the lake still holds what was published.

use std::collections::BTreeSet;

use ::lake::{Chapter, Condition};
use anyhow::Result;
use reading::Timestamp;
use serde::Serialize;

use super::LakeCopy;

/// Something in the lake that is not as it was published.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(crate) struct Finding {
    /// Where.
    pub(crate) path: String,
    /// What is wrong.
    pub(crate) what: &'static str,
    /// Whether the store still has it, so that it goes there again with the next push.
    pub(crate) sent_again: bool,
}

/// What was looked at, and what was found.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct Verified {
    /// Objects that count, read from end to end.
    pub(crate) objects: usize,
    /// Their size.
    pub(crate) bytes: u64,
    /// Objects that no manifest lists: replaced by later ones, or left by a push that was cut off. They cost room and
    /// nothing else.
    pub(crate) unlisted: usize,
    /// Their size.
    pub(crate) unlisted_bytes: u64,
    /// What is wrong.
    pub(crate) findings: Vec<Finding>,
}

impl LakeCopy {
    /// Reads everything that counts from end to end. What is missing or altered and still in the store waits for the
    /// next push afterwards. Tells `looked` the size of each object.
    ///
    /// # Errors
    /// The lake or the store cannot be read.
    pub(crate) async fn verify(&self, now: Timestamp, mut looked: impl FnMut(u64)) -> Result<Verified> {
        let chapters = self.chapters(now)?;
        let is_here = |chapter: Chapter| chapters.iter().any(|(here, ..)| *here == chapter);
        let mut verified = Verified::default();
        let mut listed = BTreeSet::new();
        let mut published = BTreeSet::new();
        for manifest in self.site.manifests().await? {
            let chapter = manifest.chapter();
            published.insert(chapter);
            let mut wrong = Vec::new();
            for object in manifest.objects {
                let what = match self.site.look_at(&object).await? {
                    Condition::Whole => None,
                    Condition::Missing => Some("it is not there any more"),
                    Condition::Altered => Some("its content is not what was sent: the checksum differs"),
                };
                looked(object.bytes);
                verified.objects += 1;
                verified.bytes += object.bytes;
                wrong.extend(what.map(|what| Finding {
                    path: object.path.clone(),
                    what,
                    sent_again: is_here(chapter),
                }));
                listed.insert(object.path);
            }
            if !wrong.is_empty() && is_here(chapter) {
                self.forget(chapter)?;
            }
            verified.findings.extend(wrong);
        }
        for (chapter, noted, _) in &chapters {
            if noted.is_some() && !published.contains(chapter) {
                self.forget(*chapter)?;
                let path = format!("manifests/site={}/{chapter}.json", self.plant.site);
                verified.findings.push(Finding { path, what: "it was published and is not there", sent_again: true });
            }
        }
        for (path, bytes) in self.site.objects().await? {
            if !listed.contains(&path) {
                verified.unlisted += 1;
                verified.unlisted_bytes += bytes;
            }
        }
        Ok(verified)
    }
}
