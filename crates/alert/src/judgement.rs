//! How the newest rise was judged, window by window: for explanations. Nothing is decided by it.

use reading::Timestamp;

use crate::evidence::Evidence;
use crate::finding::Finding;
use crate::rise::Rise;

/// How a rise was judged at the end of one window.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The end of the window.
    pub at: Timestamp,
    /// The rise as it was then.
    pub rise: Rise,
    /// What it had done to the zones.
    pub evidence: Evidence,
    /// What the evidence supports by itself, whether or not it has lasted long enough for an alert.
    pub finding: Option<Finding>,
}

/// A rise lasts no longer than this in the trace (4 h at 30 s): what was decided was decided before.
const MOST: usize = 480;

/// The judgements of the newest rise, the oldest first.
#[derive(Debug, Clone, Default)]
pub(crate) struct Trace {
    judgements: Vec<Judgement>,
}

impl Trace {
    pub(crate) fn note(&mut self, judgement: Judgement) {
        if self.judgements.first().is_some_and(|first| first.rise.began != judgement.rise.began) {
            self.judgements.clear();
        }
        if self.judgements.len() < MOST {
            self.judgements.push(judgement);
        }
    }

    pub(crate) fn judgements(&self) -> &[Judgement] {
        &self.judgements
    }
}
