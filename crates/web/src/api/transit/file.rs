//! The file of a logger as it is sent, and what is said of it.

use std::time::Duration;

use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::{HeaderMap, StatusCode, header};
use serde::Deserialize;
use tokio::time::timeout;
use utoipa::IntoParams;

use crate::api::Moment;
use crate::api::parameters::{moment, wrong};
use crate::problem::Problem;

/// The largest file of a logger: a day of a sample a second is a quarter of it.
pub(crate) const LARGEST_FILE: usize = 8 << 20;
/// A file that does not come within this time is not waited for.
const SLOWEST_FILE: Duration = Duration::from_secs(60);

/// A logger's file, and what there is to know of it.
#[derive(Debug, Clone, PartialEq)]
pub struct TransitFile {
    /// What the file holds: CSV with a header.
    pub csv: Vec<u8>,
    /// The oven that it went through; the only one without it.
    pub line: Option<String>,
    /// The product on the band, instead of what is stored.
    pub product: Option<String>,
    /// Band speed, m/min, instead of what is stored.
    pub speed_m_min: Option<f64>,
    /// When it entered the oven, instead of when it got warm.
    pub entered: Option<Moment>,
    /// Places of the steam injectors, m from the mouth.
    pub injectors_m: Vec<f64>,
    /// What the columns are called, and in which unit they are.
    pub columns: TransitColumns,
}

/// What the columns of a logger's file are called; what is not named is looked for under the usual names.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TransitColumns {
    /// The column of times.
    pub time: Option<String>,
    /// The column of air temperatures.
    pub temperature: Option<String>,
    /// The column of dew points.
    pub dew_point: Option<String>,
    /// The column of moistures, % vol, in place of dew points.
    pub moisture: Option<String>,
    /// The unit of temperatures and dew points: degC or degF.
    pub temperature_unit: Option<String>,
    /// What stands between two cells.
    pub separator: Option<char>,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct FileParameters {
    /// Id of the line; may be left out where there is only one.
    line: Option<String>,
    /// Code of the product on the band, instead of what is stored.
    product: Option<String>,
    /// Band speed, m/min, 0.01 to 60, instead of what is stored.
    speed_m_min: Option<f64>,
    /// When it entered the oven, RFC 3339, instead of when it got warm.
    entered: Option<String>,
    /// Places of the steam injectors, m from the mouth, with commas between them.
    injectors_m: Option<String>,
    /// The column of times; `time` without it.
    time_column: Option<String>,
    /// The column of air temperatures; `air_temperature` without it.
    temperature_column: Option<String>,
    /// The column of dew points; `dew_point` without it.
    dew_point_column: Option<String>,
    /// The column of moistures, % vol, where the logger shows them instead of dew points.
    moisture_column: Option<String>,
    /// The unit of temperatures and dew points: degC or degF; degC without it.
    temperature_unit: Option<String>,
    /// What stands between two cells; a comma without it.
    separator: Option<String>,
}

impl FileParameters {
    pub(super) fn file(self, csv: Vec<u8>) -> Result<TransitFile, Problem> {
        if self.dew_point_column.is_some() && self.moisture_column.is_some() {
            return Err(wrong("Write either \"dew_point_column\" or \"moisture_column\": one is enough."));
        }
        Ok(TransitFile {
            csv,
            line: self.line,
            product: self.product,
            speed_m_min: self.speed_m_min,
            entered: moment("entered", self.entered.as_deref())?,
            injectors_m: metres(self.injectors_m.as_deref().unwrap_or_default())?,
            columns: TransitColumns {
                time: self.time_column,
                temperature: self.temperature_column,
                dew_point: self.dew_point_column,
                moisture: self.moisture_column,
                temperature_unit: self.temperature_unit,
                separator: self.separator.as_deref().map(separator).transpose()?,
            },
        })
    }
}

fn metres(text: &str) -> Result<Vec<f64>, Problem> {
    let metre = |part: &str| {
        let metre = part.trim().parse::<f64>().ok().filter(|metre| (0.0..=1000.0).contains(metre));
        metre.ok_or_else(|| wrong(format!("\"injectors_m\" has {part:?}. Write places in m, such as 0.5,0.9.")))
    };
    text.split(',').filter(|part| !part.trim().is_empty()).map(metre).collect()
}

fn separator(text: &str) -> Result<char, Problem> {
    let mut letters = text.chars();
    match (letters.next(), letters.next()) {
        (Some(letter), None) if letter.is_ascii() => Ok(letter),
        _ => Err(wrong(format!("\"separator\" is {text:?}. Write one plain character, such as , or %3B for ;"))),
    }
}

/// A file as it was sent.
pub(super) async fn sent_csv(headers: &HeaderMap, request: Request) -> Result<Vec<u8>, Problem> {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    if kind.split(';').next().is_none_or(|kind| !kind.trim().eq_ignore_ascii_case("text/csv")) {
        let detail = format!("Send the logger's file as it is, with the header {}: text/csv.", header::CONTENT_TYPE);
        return Err(Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, detail));
    }
    let Ok(body) = timeout(SLOWEST_FILE, Bytes::from_request(request, &())).await else {
        let detail = format!("The file did not come within {} s. Send it again.", SLOWEST_FILE.as_secs());
        return Err(Problem::new(StatusCode::REQUEST_TIMEOUT, detail));
    };
    match body {
        Ok(body) => Ok(body.to_vec()),
        Err(rejection) if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE => {
            let detail =
                format!("The file is larger than {} MB. Send the part with the oven in it.", LARGEST_FILE >> 20);
            Err(Problem::new(StatusCode::PAYLOAD_TOO_LARGE, detail))
        }
        Err(rejection) => Err(wrong(rejection.body_text())),
    }
}
