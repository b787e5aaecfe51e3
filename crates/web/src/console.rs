//! The console: the files that `build.rs` made of services/console, inside the program.

use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use rust_embed::RustEmbed;

use crate::page;
use crate::problem::Problem;
use crate::routes::Route;
use crate::serve::App;

#[derive(RustEmbed)]
#[folder = "../../services/console/dist"]
struct Files;

const INDEX: &str = "index.html";

/// A file whose name carries a hash of its content never changes.
const FOR_EVER: &str = "public, max-age=31536000, immutable";

/// What to say when the program was built without the console.
const LEFT_OUT: &str = "the console is not built in and / shows the plain status page: \
    install Node 20.19 or later and build again";

/// `/` and all that the console needs; the plain status page stays under `/plain`.
pub(crate) fn routes() -> [Route; 3] {
    [("/", get(front)), ("/plain", get(plain)), ("/console/{*path}", get(file))]
}

/// Says in the log how to get the console, should it be missing.
pub(crate) fn say_if_left_out() {
    if Files::get(INDEX).is_none() {
        tracing::info!("{LEFT_OUT}");
    }
}

async fn front(State(app): State<App>) -> Response {
    match Files::get(INDEX) {
        Some(index) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], index.data).into_response(),
        None => plain(State(app)).await.into_response(),
    }
}

async fn plain(State(app): State<App>) -> Html<String> {
    Html(page::document(&app.status()))
}

async fn file(Path(path): Path<String>) -> Result<Response, Problem> {
    let Some(file) = Files::get(&path) else {
        return Err(Problem::new(StatusCode::NOT_FOUND, format!("The console has no file {path}.")));
    };
    let kind = (header::CONTENT_TYPE, content_type(&path));
    if path.starts_with("assets/") {
        return Ok(([kind, (header::CACHE_CONTROL, FOR_EVER)], file.data).into_response());
    }
    Ok(([kind], file.data).into_response())
}

fn content_type(path: &str) -> &'static str {
    match path.rsplit_once('.').map_or("", |(_, ending)| ending) {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "svg" => "image/svg+xml",
        "json" => "application/json",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::{Files, INDEX, content_type};

    /// What a first visit transfers, kB of 1000 bytes: index, script and style as they are, uncompressed.
    const BUDGET: usize = 400_000;

    #[test]
    fn the_first_view_keeps_its_budget() {
        let sizes: Vec<(String, usize)> =
            Files::iter().map(|path| (path.to_string(), Files::get(&path).unwrap().data.len())).collect();
        let whole: usize = sizes.iter().map(|(_, size)| size).sum();
        assert!(whole < BUDGET, "{whole} bytes in {sizes:?}");
    }

    #[test]
    fn the_index_runs_nothing_that_the_content_policy_forbids() {
        let Some(index) = Files::get(INDEX) else { return };
        let index = std::str::from_utf8(&index.data).unwrap().to_owned();
        assert!(!index.contains("<style") && !index.contains("style=") && !index.contains("http"), "{index}");
        for script in index.split("<script").skip(1) {
            let (head, body) = script.split_once('>').unwrap();
            assert!(head.contains("src=\"/console/") && body.starts_with("</script>"), "{script}");
        }
    }

    #[test]
    fn every_file_has_a_content_type() {
        for path in Files::iter() {
            assert_ne!(content_type(&path), "application/octet-stream", "{path}");
        }
    }
}
