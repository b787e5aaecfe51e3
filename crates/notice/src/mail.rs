//! A mail to one person, through the plant's mail server (SMTP).

use std::time::Duration;

use lettre::message::header::{HeaderName, HeaderValue};
use lettre::message::{Mailbox, MultiPart};
use lettre::transport::smtp::authentication::Credentials;
use lettre::transport::smtp::client::{Certificate, CertificateStore, Tls, TlsParameters};
use lettre::transport::smtp::{Error, response::Code};
use lettre::{AsyncSmtpTransport, AsyncTransport, Message, Tokio1Executor};
use reading::{Plant, Timestamp};

use crate::channel::Notice;
use crate::letter::Letter;
use crate::send_error::{SendError, in_full};
use crate::setup_error::SetupError;

/// A server that is silent for so long is taken for away.
const SILENCE: Duration = Duration::from_secs(10);
/// A mail that has not been taken by then is tried again.
const PATIENCE: Duration = Duration::from_secs(30);

/// How the connection to a mail server is encrypted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MailTls {
    /// From the first byte (port 465).
    Implicit,
    /// After a greeting in the open, and never without (STARTTLS, port 587).
    StartTls,
    /// Not at all (port 25): for a server on the same machine or in the plant's own network.
    None,
}

impl MailTls {
    /// The port that is usual for it.
    #[must_use]
    pub fn usual_port(self) -> u16 {
        match self {
            Self::Implicit => 465,
            Self::StartTls => 587,
            Self::None => 25,
        }
    }
}

/// What there is to say about a mail server.
#[derive(Debug, Clone)]
pub struct MailServerSettings {
    /// Name or address; its certificate is made out to it.
    pub host: String,
    /// TCP port.
    pub port: u16,
    /// Encryption.
    pub tls: MailTls,
    /// User and password, where the server asks for them.
    pub user: Option<(String, String)>,
    /// The authority that signed its certificate (PEM); without one, those that the machine knows.
    pub ca_file: Option<Vec<u8>>,
    /// From whom mails are: `Ovens <ovens@millbrook.example>`.
    pub from: String,
}

/// The server through which mail leaves.
#[derive(Debug, Clone)]
pub struct MailServer {
    address: String,
    from: Mailbox,
    transport: AsyncSmtpTransport<Tokio1Executor>,
}

impl MailServer {
    /// A server with these settings. Nothing is connected yet.
    ///
    /// # Errors
    /// A setting cannot be used.
    pub fn new(settings: MailServerSettings) -> Result<Self, SetupError> {
        let from = settings.from.parse().map_err(|_| SetupError::new("from", "it is no mail address"))?;
        let tls = || encryption(&settings.host, settings.ca_file.as_deref());
        let tls = match settings.tls {
            MailTls::Implicit => Tls::Wrapper(tls()?),
            MailTls::StartTls => Tls::Required(tls()?),
            MailTls::None if settings.user.is_some() => {
                return Err(SetupError::new("tls", "a password would be sent in the open"));
            }
            MailTls::None => Tls::None,
        };
        let address = format!("{}:{}", settings.host, settings.port);
        let transport = AsyncSmtpTransport::<Tokio1Executor>::builder_dangerous(settings.host)
            .port(settings.port)
            .tls(tls)
            .timeout(Some(SILENCE));
        let transport = match settings.user {
            Some((user, password)) => transport.credentials(Credentials::new(user, password)),
            None => transport,
        };
        Ok(Self { address, from, transport: transport.build() })
    }

    /// Host and port.
    #[must_use]
    pub fn address(&self) -> &str {
        &self.address
    }
}

fn encryption(host: &str, ca_file: Option<&[u8]>) -> Result<TlsParameters, SetupError> {
    let unusable = |error: Error| SetupError::new("ca_file", in_full(&error));
    let mut parameters = TlsParameters::builder(host.to_owned());
    if let Some(pem) = ca_file {
        // Read by our own rules as well: a file without a certificate would be taken for one of no authority.
        crate::tls::client_config(Some(pem))?;
        let authority = Certificate::from_pem(pem).map_err(unusable)?;
        parameters = parameters.certificate_store(CertificateStore::None).add_root_certificate(authority);
    }
    parameters.build().map_err(unusable)
}

/// A person's address, and the server that brings mail there.
#[derive(Debug, Clone)]
pub struct Mail {
    server: MailServer,
    to: Mailbox,
}

impl Mail {
    /// Mail to one address, `Ann <ann@millbrook.example>` or the address alone.
    ///
    /// # Errors
    /// It is no address.
    pub fn new(server: MailServer, to: &str) -> Result<Self, SetupError> {
        let to = to.parse().map_err(|_| SetupError::new("to", format!("{to:?} is no mail address")))?;
        Ok(Self { server, to })
    }

    /// The address.
    #[must_use]
    pub fn address(&self) -> String {
        self.to.email.to_string()
    }

    pub(crate) async fn send(&self, notices: &[Notice], plant: &Plant, now: Timestamp) -> Result<(), SendError> {
        let letter = Letter::of(notices, plant, now);
        let message = self.message(&letter).map_err(|error| SendError::Refused(in_full(&error)))?;
        let sending = tokio::time::timeout(PATIENCE, self.server.transport.send(message)).await;
        let late = |_| SendError::Away(format!("it has not taken the mail within {} s", PATIENCE.as_secs()));
        sending.map_err(late)?.map(drop).map_err(judged)
    }

    pub(crate) async fn try_connect(&self) -> Result<String, SendError> {
        let address = self.server.address();
        let away = |why: &str| SendError::Away(format!("{address}: {why}"));
        let connecting = tokio::time::timeout(PATIENCE, self.server.transport.test_connection()).await;
        match connecting.map_err(|_| away(&format!("it has not answered within {} s", PATIENCE.as_secs())))? {
            Ok(true) => Ok(format!("{address} would take a mail to {}", self.address())),
            Ok(false) => Err(away("it answers, and not as a mail server does")),
            Err(error) => Err(away(&in_full(&error))),
        }
    }

    fn message(&self, letter: &Letter) -> Result<Message, lettre::error::Error> {
        let domain = self.server.from.email.domain();
        let header = |name, value: &str| HeaderValue::new(HeaderName::new_from_ascii_str(name), value.to_owned());
        let mut message = Message::builder()
            .from(self.server.from.clone())
            .to(self.to.clone())
            .subject(&letter.subject)
            .message_id(Some(format!("<{}@{domain}>", letter.id)))
            // Nobody's absence is answered (RFC 3834).
            .raw_header(header("Auto-Submitted", "auto-generated"));
        if let Some(thread) = &letter.thread {
            // No mail has this id: what refers to the same is shown together, whichever came first.
            let about = format!("<{thread}@{domain}>");
            message = message.in_reply_to(about.clone()).references(about);
        }
        if letter.urgent {
            message = message.raw_header(header("Importance", "high"));
        }
        message.multipart(MultiPart::alternative_plain_html(letter.text.clone(), letter.html.clone()))
    }
}

/// Whether to try again. The server's refusal of a mail is final (RFC 5321, 5xx); that of our name and password (53x,
/// RFC 4954) is not: a person will put it right, and the alert is still worth telling then.
fn judged(error: Error) -> SendError {
    let of_sign_in = |code: Code| matches!(u16::from(code), 530..=539);
    let text = in_full(&error);
    match error.status() {
        Some(code) if error.is_permanent() && !of_sign_in(code) => SendError::Refused(text),
        _ => SendError::Away(text),
    }
}
