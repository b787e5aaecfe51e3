//! What the program tells of itself and the plant: the JSON of `/api/v1/status`, and all the page knows.
//!
//! Times are RFC 3339. A figure that nobody has is absent, never 0.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The plant and the service at one moment.
#[derive(Debug, Clone, Default, PartialEq, Serialize, ToSchema)]
pub struct PlantStatus {
    /// Id of the site.
    pub site: String,
    /// Name of the site, for people.
    pub name: String,
    /// Version of the program.
    pub version: String,
    /// Plant time with the offset of the site: the page shows every time in this offset. It should advance
    /// at least every 30 s, or an open page says that it may be out of date.
    pub now: String,
    /// Whether the service does its whole work.
    pub ready: bool,
    /// What keeps it from that, a sentence each.
    pub problems: Vec<String>,
    /// The connection to the plant's MQTT broker.
    pub broker: BrokerStatus,
    /// What is kept on disk.
    pub store: StoreStatus,
    /// The lines, in the order of the plant.
    pub lines: Vec<LineStatus>,
    /// Standing and recent alerts, whole as they are published, newest first.
    #[schema(value_type = Vec<crate::api::Alert>)]
    pub alerts: Vec<serde_json::Value>,
    /// Kinds of alert that call nobody.
    pub suppressions: Vec<SuppressionStatus>,
    /// Shift profile sheets that can be opened, newest first.
    pub shifts: Vec<ShiftLink>,
}

/// A kind of alert that calls nobody on a line, because somebody wanted it so.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct SuppressionStatus {
    /// Id of the line.
    pub line: String,
    /// Kind of alert.
    pub kind: String,
    /// Since when.
    pub since: String,
    /// Until when it is shelved; out of service without it.
    pub until: Option<String>,
    /// Why.
    pub reason: String,
    /// Who wanted it so.
    pub by: String,
}

/// The connection to the plant's MQTT broker.
#[derive(Debug, Clone, Default, PartialEq, Serialize, ToSchema)]
pub struct BrokerStatus {
    /// Whether it stands now.
    pub connected: bool,
    /// Protocol in words, such as `MQTT 5`; empty before the first connection.
    pub protocol: String,
    /// When it was made, or lost.
    pub since: Option<String>,
    /// Readings taken in a second, of late.
    pub readings_per_s: f64,
    /// Readings taken since the program began.
    pub readings_total: u64,
    /// Of those, readings that came too late for their window.
    pub late: u64,
    /// Messages that could not be read, by reason.
    pub rejected: Vec<RejectedCount>,
}

/// How many messages could not be read for one reason.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RejectedCount {
    /// The reason, for people.
    pub reason: String,
    /// How many.
    pub count: u64,
}

/// What is kept on disk.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct StoreStatus {
    /// Readings kept, of all time.
    pub readings: u64,
    /// Time of the oldest reading.
    pub oldest: Option<String>,
    /// Size of the readings not yet sealed, bytes.
    pub hot_bytes: u64,
    /// Sealed files.
    pub segments: u64,
    /// Size of the sealed files, bytes.
    pub sealed_bytes: u64,
    /// Room left on the disk, bytes.
    pub free_bytes: Option<u64>,
    /// Messages that wait to be published.
    pub outbox: u64,
}

/// One line with its oven.
#[derive(Debug, Clone, Default, PartialEq, Serialize, ToSchema)]
pub struct LineStatus {
    /// Its id.
    pub id: String,
    /// Its name, for people.
    pub name: String,
    /// Running state in a word: `baking`, `gap`, `changeover`, `heating`, `stopped`.
    pub state: String,
    /// `normal`, `rising`, `overloaded` or `unknown`.
    pub load: String,
    /// Since when the load is so.
    pub load_since: Option<String>,
    /// Code of the product.
    pub product: Option<String>,
    /// Band speed, m/min.
    pub band_speed_m_min: Option<f64>,
    /// Its last change, as far back as is kept in memory.
    pub band_speed_changed: Option<SpeedChanged>,
    /// Id of the normal that it is held against.
    pub normal: Option<String>,
    /// Time of its newest reading.
    pub newest: Option<String>,
    /// Its zones, in the direction of travel.
    pub zones: Vec<ZoneStatus>,
}

/// The last change of a band's speed, up or down.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SpeedChanged {
    /// When it began.
    pub at: String,
    /// The level before, m/min.
    pub from_m_min: f64,
    /// The speed now, m/min.
    pub to_m_min: f64,
}

/// One zone of an oven.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, ToSchema)]
pub struct ZoneStatus {
    /// The zone, from 1.
    pub zone: usize,
    /// Moisture by volume, %.
    pub moisture_pct: Option<f64>,
    /// What the normal expects at this speed, % by volume.
    pub expected_pct: Option<f64>,
    /// Lower end of the normal's band, % by volume.
    pub low_pct: Option<f64>,
    /// Upper end of the normal's band, % by volume.
    pub high_pct: Option<f64>,
    /// Air temperature, °C.
    pub air_temperature_c: Option<f64>,
    /// Dew point, °C.
    pub dew_point_c: Option<f64>,
    /// Opening of the exhaust damper, %.
    pub exhaust_damper_pct: Option<f64>,
}

/// Where the sheet of a finished shift can be opened.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct ShiftLink {
    /// Id of the line.
    pub line: String,
    /// Local date on which the shift began, `YYYY-MM-DD`.
    pub date: String,
    /// Name of the shift.
    pub shift: String,
    /// Path of the sheet, `/shifts/{line}/{date}/{shift}`.
    pub href: String,
}
