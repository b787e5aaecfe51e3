//! A signed POST to another program, by the open convention Standard Webhooks.
//!
//! The body is JSON: `type` (`alert.raised`, `alert.answered`, `alert.ended`), `timestamp` (since when it is to be told),
//! `notice` (the id, as in the header) and `data`, the alert as MQTT has it. No redirect is followed, and no proxy is
//! used: what is signed for one receiver goes to no other.

use std::time::Duration;

use reqwest::header::{CONTENT_TYPE, HeaderMap, HeaderValue};
use reqwest::{Client, Response, StatusCode, Url, redirect};
use serde_json::json;
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;

use crate::channel::Notice;
use crate::secret::Secret;
use crate::send_error::{SendError, in_full};
use crate::setup_error::SetupError;
use crate::tls;

/// A receiver that has not taken a notice by then is taken for away.
const PATIENCE: Duration = Duration::from_secs(10);
/// So much of an answer is read, bytes: enough to say why something was refused.
const LONGEST_ANSWER: usize = 300;

/// Where to send to, and with what to sign.
#[derive(Debug, Clone)]
pub struct Webhook {
    url: Url,
    secret: Secret,
    tls: rustls::ClientConfig,
    client: Client,
}

impl Webhook {
    /// A receiver at an `http://` or `https://` URL. Its certificate is verified against the authorities in `ca_file`
    /// (PEM), or against the machine's own list without one.
    ///
    /// # Errors
    /// The URL or the certificate cannot be used.
    pub fn new(url: &str, secret: Secret, ca_file: Option<&[u8]>) -> Result<Self, SetupError> {
        let wrong = |reason: &str| SetupError::new("url", reason);
        let url: Url = url.parse().map_err(|_| wrong("it is no URL"))?;
        if !matches!(url.scheme(), "http" | "https") || url.host().is_none() {
            return Err(wrong("it does not begin with http:// or https:// and the name of a host"));
        }
        if !url.username().is_empty() || url.password().is_some() {
            return Err(wrong("user and password don't belong in it: the signature says who sends"));
        }
        if ca_file.is_some() && url.scheme() == "http" {
            return Err(wrong("a certificate is given, so write https:// (or leave ca_file out)"));
        }
        let tls = tls::client_config(ca_file)?;
        let client = Client::builder()
            .tls_backend_preconfigured(tls.clone())
            .user_agent(concat!("ovenward/", env!("CARGO_PKG_VERSION")))
            .redirect(redirect::Policy::none())
            .no_proxy()
            .timeout(PATIENCE)
            .build()
            .map_err(|error| wrong(&in_full(&error)))?;
        Ok(Self { url, secret, tls, client })
    }

    /// The receiver's host, for people.
    #[must_use]
    pub fn host(&self) -> String {
        // A URL without a host was refused.
        self.url.host_str().unwrap_or_default().to_owned()
    }

    /// Sends a notice; `sent` is the time in seconds since 1970.
    ///
    /// # Errors
    /// It was not taken: refused by a status of 300 to 499 but 408 and 429, worth another try otherwise.
    pub(crate) async fn send(&self, notice: &Notice, sent: i64) -> Result<(), SendError> {
        let body = body(notice);
        let headers = self.headers(notice, sent, body.as_bytes())?;
        let request = self.client.post(self.url.clone()).headers(headers).body(body);
        let response = request.send().await.map_err(|error| SendError::Away(in_full(&error.without_url())))?;
        let status = response.status();
        if status.is_success() {
            return Ok(());
        }
        let text = format!("it answers {status}{}", answer(response).await);
        let worth_another_try =
            status.is_server_error() || matches!(status, StatusCode::REQUEST_TIMEOUT | StatusCode::TOO_MANY_REQUESTS);
        Err(if worth_another_try { SendError::Away(text) } else { SendError::Refused(text) })
    }

    fn headers(&self, notice: &Notice, sent: i64, body: &[u8]) -> Result<HeaderMap, SendError> {
        let of_text = |text: &str| {
            HeaderValue::from_str(text).map_err(|error| SendError::Refused(format!("{text:?} in a header: {error}")))
        };
        let mut headers = HeaderMap::new();
        headers.insert(CONTENT_TYPE, HeaderValue::from_static("application/json"));
        headers.insert("webhook-id", of_text(&notice.id)?);
        headers.insert("webhook-timestamp", of_text(&sent.to_string())?);
        headers.insert("webhook-signature", of_text(&self.secret.sign(&notice.id, sent, body))?);
        Ok(headers)
    }

    /// Connects, with TLS if the URL says so, and sends nothing.
    pub(crate) async fn try_connect(&self) -> Result<String, SendError> {
        let (host, port) = (self.host(), self.url.port_or_known_default().unwrap_or(443));
        let away = |error: &dyn std::error::Error| SendError::Away(format!("{host}:{port}: {}", in_full(error)));
        let connect = async {
            // A URL has an IPv6 address in brackets, a socket without.
            let bare = host.trim_start_matches('[').trim_end_matches(']').to_owned();
            let stream = TcpStream::connect((bare.as_str(), port)).await.map_err(|error| away(&error))?;
            if self.url.scheme() == "http" {
                return Ok(format!("{host}:{port} answers, without encryption"));
            }
            let name = rustls::pki_types::ServerName::try_from(bare).map_err(|error| away(&error))?;
            let connector = TlsConnector::from(std::sync::Arc::new(self.tls.clone()));
            connector.connect(name, stream).await.map_err(|error| away(&error))?;
            Ok(format!("{host}:{port} answers, and its certificate is good"))
        };
        let late = |_| SendError::Away(format!("{host}:{port} has not answered within {} s", PATIENCE.as_secs()));
        tokio::time::timeout(PATIENCE, connect).await.map_err(late)?
    }
}

fn body(notice: &Notice) -> String {
    json!({
        "type": format!("alert.{}", notice.event.name()),
        "timestamp": notice.due,
        "notice": notice.id,
        "data": notice.alert,
    })
    .to_string()
}

/// The beginning of what a receiver says, as the end of a sentence.
async fn answer(mut response: Response) -> String {
    let mut read = Vec::new();
    while let Ok(Some(chunk)) = response.chunk().await {
        read.extend_from_slice(&chunk);
        if read.len() >= LONGEST_ANSWER {
            break;
        }
    }
    read.truncate(LONGEST_ANSWER);
    let text = String::from_utf8_lossy(&read);
    let words: Vec<&str> =
        text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty()).collect();
    if words.is_empty() { String::new() } else { format!(": {}", words.join(" ")) }
}
