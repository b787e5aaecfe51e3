//! One question to the program, on a thread that may block.

use std::sync::Arc;

use axum::http::StatusCode;
use tokio::sync::Semaphore;

use super::{Answers, Refusal};
use crate::problem::Problem;
use crate::serve::App;

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
    ask_through(&app.gate, app, question).await
}

/// Asks what may take long, such as the energy of a year: one at a time, and beside the other questions, which do not
/// wait for it.
pub(crate) async fn ask_at_length<T: Send + 'static>(
    app: &App,
    question: impl FnOnce(&dyn Answers) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Problem> {
    ask_through(&app.gate_at_length, app, question).await
}

async fn ask_through<T: Send + 'static>(
    gate: &Arc<Semaphore>,
    app: &App,
    question: impl FnOnce(&dyn Answers) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Problem> {
    // The gate is never closed. The question keeps its place until it is answered, also when nobody waits any more.
    let place = gate.clone().acquire_owned().await.map_err(|_| failed())?;
    let answers = app.sources.answers.clone();
    let asked = tokio::task::spawn_blocking(move || {
        let _place = place;
        question(&*answers)
    });
    match asked.await {
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
