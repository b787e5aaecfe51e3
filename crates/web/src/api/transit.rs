//! Runs of a travelling logger: taken in, kept, and compared.

mod file;
mod run;

use axum::Json;
use axum::extract::{Request, State};
use axum::http::HeaderMap;
use axum::response::Response;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::paging::Paging;
use super::parameters::{Names, Parameters};
use super::{Page, ask};
use crate::problem::Problem;
use crate::serve::App;
use crate::sheet::sheet;

pub use file::{TransitColumns, TransitFile};
pub use run::{DoughSurface, SteamInjector, TransitPeak, TransitPoint, TransitRun, TransitSummary, TransitZone};

pub(crate) use file::LARGEST_FILE;
use file::{FileParameters, sent_csv};

/// A run that was taken in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct KeptTransitRun {
    /// The run.
    pub run: TransitRun,
    /// What of the file could not be read; null if all was.
    pub left_out: Option<LeftOutRows>,
}

/// Rows of a file that could not be read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LeftOutRows {
    /// How many.
    pub rows: usize,
    /// Why the first of them.
    pub first: String,
}

/// Two runs side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TransitComparison {
    /// One.
    pub before: TransitRun,
    /// The other.
    pub after: TransitRun,
    /// Whether they are of the same oven and product: else a difference is no change of one oven.
    pub alike: bool,
    /// What changed.
    pub rows: Vec<TransitChange>,
}

/// What changed from one run to another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TransitChange {
    /// What.
    pub what: String,
    /// Its unit.
    pub unit: String,
    /// In the first.
    pub before: Option<f64>,
    /// In the second.
    pub after: Option<f64>,
    /// The second less the first.
    pub change: Option<f64>,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct RunParameters {
    /// Id of the line.
    line: Option<String>,
    /// The most items to send.
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: Option<usize>,
    /// `next` of the page before.
    cursor: Option<String>,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct ComparisonParameters {
    /// Id of a run.
    before: String,
    /// Id of another.
    after: String,
}

/// Takes in the file of a travelling logger, lays it on the zones and keeps it; the same run again takes the place of the
/// one before.
#[utoipa::path(post, path = "/api/v1/transit-runs", tag = "transit runs", params(FileParameters),
    request_body(content = String, content_type = "text/csv", description = "The file as it is, at most 8 MB: CSV with a header."),
    responses((status = 200, body = KeptTransitRun), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn keep(
    State(app): State<App>,
    Parameters(asked): Parameters<FileParameters>,
    headers: HeaderMap,
    request: Request,
) -> Result<Json<KeptTransitRun>, Problem> {
    let file = asked.file(sent_csv(&headers, request).await?)?;
    ask(&app, move |answers| answers.keep_transit_run(&file)).await.map(Json)
}

/// The runs that are kept, the newest first.
#[utoipa::path(get, path = "/api/v1/transit-runs", tag = "transit runs", params(RunParameters),
    responses((status = 200, body = Page<TransitSummary>), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn runs(
    State(app): State<App>,
    Parameters(asked): Parameters<RunParameters>,
) -> Result<Json<Page<TransitSummary>>, Problem> {
    let line = asked.line;
    let runs = ask(&app, move |answers| answers.transit_runs(line.as_deref())).await?;
    let paging = Paging { limit: asked.limit, cursor: asked.cursor };
    paging.cut(runs, |run| run.id.clone()).map(Json)
}

/// One run, laid on the zones.
#[utoipa::path(get, path = "/api/v1/transit-runs/{id}", tag = "transit runs",
    params(("id" = String, Path, description = "Id of the run")),
    responses((status = 200, body = TransitRun), super::routes::NoSuchThing))]
pub(crate) async fn run(State(app): State<App>, Names(id): Names<String>) -> Result<Json<TransitRun>, Problem> {
    ask(&app, move |answers| answers.transit_run(&id)).await.map(Json)
}

/// Two runs side by side, and what changed from one to the other.
#[utoipa::path(get, path = "/api/v1/transit-runs/compare", tag = "transit runs", params(ComparisonParameters),
    responses((status = 200, body = TransitComparison), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn compare(
    State(app): State<App>,
    Parameters(asked): Parameters<ComparisonParameters>,
) -> Result<Json<TransitComparison>, Problem> {
    ask(&app, move |answers| answers.transit_comparison(&asked.before, &asked.after)).await.map(Json)
}

/// One run as a page to print and send.
pub(crate) async fn run_sheet(State(app): State<App>, Names(id): Names<String>) -> Result<Response, Problem> {
    ask(&app, move |answers| answers.transit_sheet(&id)).await.map(sheet)
}
