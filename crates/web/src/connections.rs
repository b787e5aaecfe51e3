//! Connections: so many at once, over TLS where there is a certificate, and none that only dawdles.

use std::io;
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::task::JoinSet;
use tokio::time::{sleep, timeout};
use tokio_rustls::TlsAcceptor;

use crate::patient::Patient;

/// Connections at once. Each is an open file, of which a process usually has 1024: the store needs some as well.
const MOST: usize = 500;
const PATIENCE: Patience = Patience { head: Duration::from_secs(20), reader: Duration::from_secs(60) };
/// After an error that is not one connection's own, such as too many open files.
const PAUSE: Duration = Duration::from_secs(1);

/// How long somebody is waited for.
#[derive(Clone, Copy)]
struct Patience {
    /// Who does not finish a handshake of TLS, or the head of a request, for so long is let go. It is also how long a
    /// connection is kept on which nothing is asked.
    head: Duration,
    /// Who takes nothing of an answer for so long is let go: a browser whose machine sleeps, or one who means harm.
    reader: Duration,
}

/// Takes connections until the service stops, and then waits for those that are in the middle of something.
pub(crate) async fn serve(
    listener: TcpListener,
    router: Router,
    tls: Option<TlsAcceptor>,
    stopping: watch::Receiver<bool>,
) {
    let places = Arc::new(Semaphore::new(MOST));
    let mut connections = JoinSet::new();
    let taking = async {
        loop {
            if places.available_permits() == 0 {
                tracing::warn!("{MOST} connections stand; further ones wait until one of them ends");
            }
            // The semaphore is never closed.
            let Ok(place) = places.clone().acquire_owned().await else { return };
            match listener.accept().await {
                Ok((stream, _)) => {
                    let (router, tls, stopping) = (router.clone(), tls.clone(), stopping.clone());
                    connections.spawn(async move {
                        let _place = place;
                        connection(stream, router, tls, stopping).await;
                    });
                }
                Err(error) if is_of_one_connection(&error) => {}
                Err(error) => {
                    tracing::error!("no connection can be taken: {error}");
                    sleep(PAUSE).await;
                }
            }
            while connections.try_join_next().is_some() {}
        }
    };
    tokio::select! {
        () = taking => {}
        () = stopped(stopping.clone()) => {}
    }
    drop(listener);
    while connections.join_next().await.is_some() {}
}

async fn stopped(mut stopping: watch::Receiver<bool>) {
    // An error means that nobody will say it any more, which comes to the same.
    let _ = stopping.wait_for(|stopping| *stopping).await;
}

fn is_of_one_connection(error: &io::Error) -> bool {
    use io::ErrorKind::{ConnectionAborted, ConnectionRefused, ConnectionReset, Interrupted};
    matches!(error.kind(), ConnectionAborted | ConnectionRefused | ConnectionReset | Interrupted)
}

async fn connection(stream: TcpStream, router: Router, tls: Option<TlsAcceptor>, stopping: watch::Receiver<bool>) {
    // Live events are small and go out at once.
    let _ = stream.set_nodelay(true);
    let stream = Patient::new(stream, PATIENCE.reader);
    let Some(tls) = tls else { return answer(stream, router, stopping, PATIENCE).await };
    match timeout(PATIENCE.head, tls.accept(stream)).await {
        Ok(Ok(stream)) => answer(stream, router, stopping, PATIENCE).await,
        Ok(Err(error)) => tracing::debug!("a handshake of TLS failed: {error}"),
        Err(_) => tracing::debug!("a handshake of TLS took too long"),
    }
}

/// Answers the requests of one connection until it ends.
async fn answer(
    stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static,
    router: Router,
    stopping: watch::Receiver<bool>,
    patience: Patience,
) {
    let mut connection = pin!(
        http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(patience.head)
            .serve_connection(TokioIo::new(stream), TowerToHyperService::new(router))
    );
    let ended = tokio::select! {
        ended = connection.as_mut() => ended,
        () = stopped(stopping) => {
            connection.as_mut().graceful_shutdown();
            connection.await
        }
    };
    if let Err(error) = ended {
        tracing::debug!("a connection broke off: {error}");
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::convert::Infallible;

    use axum::body::{Body, Bytes};
    use axum::routing::get;
    use futures_util::stream;
    use tokio::io::{AsyncReadExt, AsyncWriteExt, DuplexStream, duplex};

    use super::*;

    /// Longer than a test may last.
    const LONG: Duration = Duration::from_secs(3600);

    /// A client at the other end of a connection; under /live an answer never ends.
    fn client(patience: Patience) -> (DuplexStream, impl Future<Output = ()>, watch::Sender<bool>) {
        let event = || async { Some((Ok::<_, Infallible>(Bytes::from_static(b"data: 0123456789\n\n")), ())) };
        let events = move || async move { Body::from_stream(stream::unfold((), move |()| event())) };
        let (ours, theirs) = duplex(1024);
        let (stop, stopping) = watch::channel(false);
        let router = Router::new().route("/", get("here")).route("/live", get(events));
        (theirs, answer(Patient::new(ours, patience.reader), router, stopping, patience), stop)
    }

    #[tokio::test]
    async fn who_takes_nothing_of_live_events_is_let_go() {
        let (mut client, served, _stop) = client(Patience { head: LONG, reader: Duration::from_millis(200) });
        client.write_all(b"GET /live HTTP/1.1\r\nHost: x\r\n\r\n").await.unwrap();
        timeout(LONG, served).await.unwrap();
    }

    #[tokio::test]
    async fn who_takes_them_slowly_is_not() {
        let reader = Duration::from_millis(600);
        let (mut client, served, _stop) = client(Patience { head: LONG, reader });
        client.write_all(b"GET /live HTTP/1.1\r\nHost: x\r\n\r\n").await.unwrap();
        let slowly = async {
            for _ in 0..9 {
                sleep(reader / 3).await;
                client.read_exact(&mut [0; 1024]).await.unwrap();
            }
        };
        tokio::select! {
            // However late both are woken: who has taken something has.
            biased;
            () = slowly => {}
            () = served => panic!("let go"),
        }
    }

    #[tokio::test]
    async fn who_does_not_finish_a_head_is_let_go() {
        for begun in ["", "GET / HTTP/1.1\r\nHost: x\r\n"] {
            let (mut client, served, _stop) = client(Patience { head: Duration::from_millis(200), reader: LONG });
            client.write_all(begun.as_bytes()).await.unwrap();
            timeout(LONG, served).await.unwrap();
        }
    }

    #[tokio::test]
    async fn a_connection_that_rests_ends_with_the_service() {
        let (mut client, served, stop) = client(Patience { head: LONG, reader: LONG });
        client.write_all(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n").await.unwrap();
        let told = async {
            let mut head = [0; 15];
            client.read_exact(&mut head).await.unwrap();
            assert_eq!(&head, b"HTTP/1.1 200 OK");
            stop.send_replace(true);
        };
        tokio::join!(served, told);
    }
}
