//! Serves an invented bakery on loopback, to look at the page: `cargo run -p web --example sample -- [PORT] [SCENE]`.
//!
//! Scenes: `overloaded` (the default), `calm`, `trouble`.

mod millbrook;

use std::sync::Arc;

use tokio::net::TcpListener;
use tokio::sync::watch;

#[tokio::main(flavor = "current_thread")]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let port: u16 = arguments.next().map_or(Ok(8080), |port| port.parse())?;
    let status = match arguments.next().as_deref() {
        None | Some("overloaded") => millbrook::overloaded(),
        Some("calm") => millbrook::calm(),
        Some("trouble") => millbrook::trouble(),
        Some(other) => return Err(format!("no scene is called {other}: overloaded, calm, trouble").into()),
    };
    let (_sender, receiver) = watch::channel(Arc::new(status));
    let listener = TcpListener::bind(("127.0.0.1", port)).await?;
    eprintln!("http://{}/", listener.local_addr()?);
    web::serve(listener, millbrook::sources(receiver), std::future::pending()).await?;
    Ok(())
}
