//! Serves an invented bakery on loopback, to look at the page: `cargo run -p web --example sample -- [PORT] [SCENE]`.
//!
//! Scenes: `overloaded` (the default), `answered`, `shelved`, `calm`, `trouble`, and `turning`, which goes from one to the next every 5 s.

mod examples;
mod millbrook;

use std::sync::Arc;
use std::time::Duration;

use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::time::sleep;
use web::PlantStatus;

#[tokio::main(flavor = "current_thread")]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let port: u16 = arguments.next().map_or(Ok(8080), |port| port.parse())?;
    let scene = arguments.next().unwrap_or_else(|| "overloaded".to_owned());
    let status = match scene.as_str() {
        "overloaded" => millbrook::overloaded(),
        "calm" | "turning" => millbrook::calm(),
        "answered" => millbrook::answered(),
        "shelved" => millbrook::shelved(),
        "trouble" => millbrook::trouble(),
        other => {
            return Err(
                format!("no scene is called {other}: overloaded, answered, shelved, calm, trouble, turning").into()
            );
        }
    };
    let (sender, receiver) = watch::channel(Arc::new(status));
    let listener = TcpListener::bind(("127.0.0.1", port)).await?;
    eprintln!("http://{}/", listener.local_addr()?);
    let serving = web::serve(listener, millbrook::sources(receiver), std::future::pending());
    tokio::select! {
        served = serving => served?,
        () = turn(&sender), if scene == "turning" => {}
    }
    Ok(())
}

async fn turn(status: &watch::Sender<Arc<PlantStatus>>) {
    for scene in [millbrook::overloaded, millbrook::answered, millbrook::trouble, millbrook::calm].into_iter().cycle() {
        sleep(Duration::from_secs(5)).await;
        status.send_replace(Arc::new(scene()));
    }
}
