//! What every watch of one line knows.

use std::sync::Arc;

use reading::{Line, LineIndex, Plant, Timestamp, Window};

use crate::advice;
use crate::alert::{Alert, Kind, Priority};
use crate::finding::Finding;
use crate::identity::alert_id;
use crate::lifecycle::Answer;
use crate::settings::DetectionSettings;
use crate::state::AlertState;

/// The line that is watched, and how.
#[derive(Debug, Clone)]
pub(crate) struct Context {
    pub(crate) plant: Arc<Plant>,
    pub(crate) line: LineIndex,
    pub(crate) settings: DetectionSettings,
}

impl Context {
    pub(crate) fn line(&self) -> &Line {
        &self.plant.lines[self.line.0]
    }

    /// An alert with what every kind has, raised at the end of a window. `about` tells it from other
    /// alerts of its kind that begin at the same moment.
    pub(crate) fn alert(&self, kind: Kind, finding: Finding, about: &str, began: Timestamp, window: &Window) -> Alert {
        let line = self.line();
        Alert {
            id: alert_id(&self.plant.site, &line.id, kind, about, began, window.ends),
            site: self.plant.site.clone(),
            line: line.id.clone(),
            kind,
            finding,
            priority: Priority::High,
            state: AlertState::Unacknowledged,
            product: window.product.clone(),
            began,
            raised: window.ends,
            ended: None,
            speed: None,
            zones: Vec::new(),
            signals: Vec::new(),
            confidence: None,
            normal: None,
            message: String::new(),
            advice: Vec::new(),
            caution: advice::CAUTION.into(),
            answer: Answer::default(),
        }
    }
}
