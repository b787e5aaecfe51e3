//! The lines as the config describes them.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::ask;
use crate::problem::Problem;
use crate::serve::App;

/// The plant: its lines and what they bake.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "site": "millbrook", "name": "Millbrook Bakery", "time_zone": "Europe/London", "shifts": ["early", "late", "night"],
    "items": [{
        "id": "tunnel-1", "name": "Tunnel oven 1", "firing": "direct", "length_m": 30.0,
        "zones": [{ "zone": 1, "length_m": 10.0 }, { "zone": 2, "length_m": 10.0 }, { "zone": 3, "length_m": 10.0 }]
    }],
    "products": [{ "code": "T800", "name": "Tin loaf 800 g", "bake_time_min": 24.0, "max_zone3_moisture_pct": 12.0 }]
}))]
pub struct Lines {
    /// Id of the site.
    pub site: String,
    /// Name of the site, for people.
    pub name: String,
    /// IANA name of the time zone in which shifts begin.
    pub time_zone: String,
    /// Names of the shifts.
    pub shifts: Vec<String>,
    /// The lines, in the order of the config.
    pub items: Vec<Line>,
    /// What they bake.
    pub products: Vec<Product>,
}

/// One tunnel oven with what feeds it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Line {
    /// Its id.
    pub id: String,
    /// Its name, for people.
    pub name: String,
    /// `direct`, `indirect` or `electric`.
    pub firing: String,
    /// Length of the oven, m.
    pub length_m: f64,
    /// Its zones, in the direction of travel.
    pub zones: Vec<Zone>,
}

/// One zone of an oven.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Zone {
    /// The zone, from 1.
    pub zone: usize,
    /// Length along the band, m.
    pub length_m: f64,
}

/// A product.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Product {
    /// What the plant sends as product.
    pub code: String,
    /// Its name, for people.
    pub name: String,
    /// Nominal bake time, min.
    pub bake_time_min: Option<f64>,
    /// Hard limit for zone 3, % vol.
    pub max_zone3_moisture_pct: Option<f64>,
}

/// The lines, their zones, the shifts and the products, as the config has them.
#[utoipa::path(get, path = "/api/v1/lines", tag = "plant", responses((status = 200, body = Lines)))]
pub(crate) async fn lines(State(app): State<App>) -> Result<Json<Lines>, Problem> {
    ask(&app, |answers| answers.lines()).await.map(Json)
}
