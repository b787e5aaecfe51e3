//! What the plant measures, and under which topic it says so.

use std::sync::Arc;

use crate::bakery::{HumidityProbe, Line};

/// A signal of a line. Zones count from 1, as the trade counts them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tag {
    /// Band speed, m/min.
    Band,
    /// Code of the product.
    Product,
    /// 1 while dough enters the oven, otherwise 0.
    Feed,
    /// Steam flow, kg/h.
    Steam,
    /// Gas flow, m³/h.
    Gas,
    /// Temperature of the air in the hall, °C.
    HallTemperature,
    /// Its relative humidity, %.
    HallHumidity,
    /// Air temperature of a zone, °C.
    Temperature(usize),
    /// Humidity of a zone, in what the line's probes show.
    Humidity(usize),
    /// Exhaust damper of a zone, % open.
    Damper(usize),
}

impl Tag {
    /// The MQTT topic of this signal.
    pub fn topic(self, line: &Line) -> Arc<str> {
        let id = &line.id;
        match self {
            Self::Band => format!("mill/{id}/band"),
            Self::Product => format!("mill/{id}/product"),
            Self::Feed => format!("mill/{id}/feed"),
            Self::Steam => format!("mill/{id}/steam"),
            Self::Gas => format!("mill/{id}/gas"),
            Self::HallTemperature => format!("mill/{id}/hall/temp"),
            Self::HallHumidity => format!("mill/{id}/hall/humidity"),
            Self::Temperature(zone) => format!("mill/{id}/z{zone}/temp"),
            Self::Humidity(zone) => match line.humidity {
                HumidityProbe::DewPoint => format!("mill/{id}/z{zone}/dew"),
                HumidityProbe::Moisture => format!("mill/{id}/z{zone}/moisture"),
            },
            Self::Damper(zone) => format!("mill/{id}/z{zone}/damper"),
        }
        .into()
    }
}
