//! One question to the program, on a thread that may block.

use crate::problem::Problem;
use crate::serve::App;
use axum::http::StatusCode;

use super::{Answers, Refusal};

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Self {
        match refusal {
            Refusal::NotFound(detail) => Self::new(StatusCode::NOT_FOUND, detail),
            Refusal::Wrong(detail) => Self::new(StatusCode::BAD_REQUEST, detail),
            Refusal::Conflict(detail) => Self::new(StatusCode::CONFLICT, detail),
            Refusal::Failed(cause) => {
                tracing::error!("a request failed: {cause}");
                failed()
            }
        }
    }
}

/// Asks the program. Only so many questions are asked at once: the others wait, so that a hundred browsers that open
/// a history take nothing from intake.
pub(crate) async fn ask<T: Send + 'static>(
    app: &App,
    question: impl FnOnce(&dyn Answers) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Problem> {
    // The gate is never closed.
    let _place = app.gate.acquire().await.map_err(|_| failed())?;
    let answers = app.sources.answers.clone();
    match tokio::task::spawn_blocking(move || question(&*answers)).await {
        Ok(answer) => answer.map_err(Problem::from),
        Err(error) => {
            tracing::error!(%error, "a request broke off");
            Err(failed())
        }
    }
}

fn failed() -> Problem {
    Problem::new(StatusCode::INTERNAL_SERVER_ERROR, "It was tried and failed. The log of the service says why.")
}
