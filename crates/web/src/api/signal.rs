//! Every configured signal with the last that was heard of it.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::paging::Paging;
use super::parameters::Parameters;
use super::{Page, ask};
use crate::problem::Problem;
use crate::serve::App;

/// A configured signal and the last that was heard of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "tag": "mill/tunnel-1/z1/dew", "topic": "mill/tunnel-1/z1/dew", "quantity": "dew_point", "unit": "degC",
    "line": "tunnel-1", "zone": 1, "value": 75.4, "text": null, "time": "2026-10-06T12:00:30Z", "age_s": 4.0,
    "quality": "good", "max_age_s": 300.0, "state": "fresh"
}))]
pub struct Signal {
    /// Its name in the store and in files.
    pub tag: String,
    /// The MQTT topic; of Sparkplug the edge node or its device.
    pub topic: String,
    /// What it measures, as in the config.
    pub quantity: String,
    /// The unit the plant sends.
    pub unit: String,
    /// Id of the line.
    pub line: String,
    /// Its zone, from 1; null for the whole line.
    pub zone: Option<usize>,
    /// The last value, in `unit`; null where it is a text or nothing was heard.
    pub value: Option<f64>,
    /// The last value where it is a text.
    pub text: Option<String>,
    /// When it was measured.
    pub time: Option<String>,
    /// How long ago that was, s.
    pub age_s: Option<f64>,
    /// What the plant says of it: `good`, `uncertain` or `bad`.
    pub quality: Option<String>,
    /// A value stands for the present one this long, s; null without end.
    pub max_age_s: Option<f64>,
    /// `fresh`; `old` once it no longer stands for the present value; `unheard` before the first.
    pub state: String,
}

/// Every configured signal, in the order of the config.
#[utoipa::path(get, path = "/api/v1/signals", tag = "plant", params(Paging),
    responses((status = 200, body = Page<Signal>), super::routes::WrongRequest))]
pub(crate) async fn signals(
    State(app): State<App>,
    Parameters(paging): Parameters<Paging>,
) -> Result<Json<Page<Signal>>, Problem> {
    let signals = ask(&app, |answers| answers.signals()).await?;
    paging.cut(signals, |signal| signal.tag.clone()).map(Json)
}
