//! Energy records of a line, what they are held against, and what they were computed with.

mod account;

use axum::Json;
use axum::extract::State;
use axum::http::{HeaderName, header};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::parameters::{Names, Parameters, period, wrong};
use super::{Period, ask, ask_at_length};
use crate::problem::Problem;
use crate::serve::App;

pub use account::{
    EnergyAccount, EnergyBaseline, EnergyBeyond, EnergyFactors, EnergyRecord, EnergySaving, EnergyTurn, EnergyVariable,
    MissingForEnergy,
};

/// Which energy records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EnergyQuery {
    /// Id of the line.
    pub line: String,
    /// From when to when.
    pub period: Period,
    /// By what they are grouped.
    pub by: EnergyBy,
    /// The local dates of the baseline period, the second no longer part of it; those of the config without it.
    pub baseline: Option<(NaiveDate, NaiveDate)>,
}

/// By what energy records are grouped. A shift counts to the day and month on which it began.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EnergyBy {
    /// A record for each shift.
    #[default]
    Shift,
    /// For each day.
    Day,
    /// For each month.
    Month,
    /// For each product over the whole period.
    Product,
}

/// A column of the energy records.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({ "name": "kwh_per_t", "kind": "number", "unit": "kWh/t", "meaning": "Energy for a tonne of good product." }))]
pub struct EnergyColumn {
    /// Its name, in CSV and in JSON.
    pub name: String,
    /// `text`, `number`, `whole number` or `time, UTC`.
    pub kind: String,
    /// Its unit; empty where it has none.
    pub unit: String,
    /// What it means.
    pub meaning: String,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct EnergyParameters {
    /// From this time on, RFC 3339; without it, the seven days before `to`.
    from: Option<String>,
    /// Before this time, RFC 3339; without it, up to the newest.
    to: Option<String>,
    /// By what the records are grouped; by shift without it.
    by: Option<EnergyBy>,
    /// First local date of the baseline period; that of the config without it.
    baseline_from: Option<String>,
    /// The local date before which it ends.
    baseline_to: Option<String>,
}

impl EnergyParameters {
    fn query(self, line: String) -> Result<EnergyQuery, Problem> {
        let period = period(self.from.as_deref(), self.to.as_deref())?;
        let baseline = match (date("baseline_from", self.baseline_from)?, date("baseline_to", self.baseline_to)?) {
            (None, None) => None,
            (Some(from), Some(to)) if from < to => Some((from, to)),
            (Some(from), Some(to)) => {
                return Err(wrong(format!("\"baseline_to\" {to} is not after \"baseline_from\" {from}.")));
            }
            _ => return Err(wrong("A baseline period has two ends. Write \"baseline_from\" and \"baseline_to\".")),
        };
        Ok(EnergyQuery { line, period, by: self.by.unwrap_or_default(), baseline })
    }
}

fn date(name: &str, text: Option<String>) -> Result<Option<NaiveDate>, Problem> {
    let Some(text) = text else { return Ok(None) };
    let date = text.parse::<NaiveDate>().ok().filter(|date| (1970..=9999).contains(&chrono::Datelike::year(date)));
    date.map(Some).ok_or_else(|| wrong(format!("\"{name}\" is {text:?}. Write a date such as 2026-06-01.")))
}

/// Energy records of a line with EnPI, baseline and saving: at most 400 days at once. It may take some seconds.
#[utoipa::path(get, path = "/api/v1/energy/{line}", tag = "energy",
    params(("line" = String, Path, description = "Id of the line"), EnergyParameters),
    responses((status = 200, body = EnergyAccount), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn energy(
    State(app): State<App>,
    Names(line): Names<String>,
    Parameters(asked): Parameters<EnergyParameters>,
) -> Result<Json<EnergyAccount>, Problem> {
    let query = asked.query(line)?;
    ask_at_length(&app, move |answers| answers.energy(&query)).await.map(Json)
}

/// The same records as CSV (RFC 4180), to be kept.
#[utoipa::path(get, path = "/api/v1/energy/{line}/csv", tag = "energy",
    params(("line" = String, Path, description = "Id of the line"), EnergyParameters),
    responses((status = 200, content_type = "text/csv", body = String), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn csv(
    State(app): State<App>,
    Names(line): Names<String>,
    Parameters(asked): Parameters<EnergyParameters>,
) -> Result<Response, Problem> {
    let query = asked.query(line)?;
    let csv = ask_at_length(&app, move |answers| answers.energy_csv(&query)).await?;
    let headers: [(HeaderName, &str); 2] = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8; header=present"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"energy.csv\""),
    ];
    Ok((headers, csv).into_response())
}

/// What each column of the energy records means: the data dictionary of JSON and CSV.
#[utoipa::path(get, path = "/api/v1/energy/columns", tag = "energy", responses((status = 200, body = Vec<EnergyColumn>)))]
pub(crate) async fn columns(State(app): State<App>) -> Result<Json<Vec<EnergyColumn>>, Problem> {
    ask(&app, |answers| answers.energy_columns()).await.map(Json)
}
