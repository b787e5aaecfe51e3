//! The encrypted connection: which authority we trust, and who we say we are.

use std::sync::{Arc, OnceLock};

use rumqttc::{TlsConfiguration, Transport};
use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, ServerName, UnixTime};
use rustls::{ClientConfig, DigitallySignedStruct, RootCertStore, SignatureScheme};

use crate::certificate::ends_us;
use crate::{ConnectError, Connection};

/// What lies between TCP and MQTT, and what is learned of the broker while it is laid.
pub(crate) struct Encryption {
    pub(crate) transport: Transport,
    broker_ends_us: Arc<OnceLock<i64>>,
}

impl Encryption {
    /// When the certificate ends that the broker has shown, in microseconds since 1970; `None` before it has.
    pub(crate) fn broker_ends_us(&self) -> Option<i64> {
        self.broker_ends_us.get().copied()
    }
}

/// A certificate that a connection rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CertificateEnd {
    /// Whose it is, as a sentence about it begins: "the broker's certificate".
    pub whose: &'static str,
    /// When it ends, in microseconds since 1970-01-01T00:00:00Z.
    pub ends_us: i64,
}

/// The certificates of a connection's own files, as far as they are certificates. Of several authorities the one that
/// ends last counts: an old one beside its successor is no trouble.
pub(crate) fn own_ends(connection: &Connection) -> Vec<CertificateEnd> {
    let ends = |pem: &Option<Vec<u8>>| -> Vec<i64> {
        let found = pem.iter().flat_map(|pem| CertificateDer::pem_slice_iter(pem));
        found.filter_map(|certificate| ends_us(&certificate.ok()?)).collect()
    };
    let authority = ends(&connection.ca_file).into_iter().max();
    // The first of the chain is our own.
    let own = ends(&connection.cert_file).into_iter().next();
    let of = |whose, ends_us: Option<i64>| ends_us.map(|ends_us| CertificateEnd { whose, ends_us });
    [of("the authority's certificate (`ca_file`)", authority), of("our own certificate (`cert_file`)", own)]
        .into_iter()
        .flatten()
        .collect()
}

/// Verifies like the TLS library itself, and notes when the broker's certificate ends.
#[derive(Debug)]
struct NotingVerifier {
    inner: Arc<WebPkiServerVerifier>,
    ends_us: Arc<OnceLock<i64>>,
}

impl ServerCertVerifier for NotingVerifier {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        intermediates: &[CertificateDer<'_>],
        server_name: &ServerName<'_>,
        ocsp_response: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, rustls::Error> {
        let verified = self.inner.verify_server_cert(end_entity, intermediates, server_name, ocsp_response, now)?;
        if let Some(ends) = ends_us(end_entity) {
            self.ends_us.get_or_init(|| ends);
        }
        Ok(verified)
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signature: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        self.inner.verify_tls12_signature(message, certificate, signature)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signature: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        self.inner.verify_tls13_signature(message, certificate, signature)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.inner.supported_verify_schemes()
    }
}

/// What to lay between TCP and MQTT. The cryptography is named here, so that nothing depends on a
/// process-wide default having been installed before.
pub(crate) fn encryption(connection: &Connection) -> Result<Encryption, ConnectError> {
    let broker_ends_us = Arc::new(OnceLock::new());
    if !connection.tls {
        return Ok(Encryption { transport: Transport::Tcp, broker_ends_us });
    }
    let wrong = |reason: String| ConnectError::Tls { address: connection.address(), reason };
    let Some(authority) = &connection.ca_file else {
        return Err(wrong(
            "mqtts:// needs `ca_file`, the certificate (PEM) of the authority that signed the broker's certificate"
                .to_owned(),
        ));
    };
    let mut roots = RootCertStore::empty();
    for certificate in certificates(authority, "ca_file").map_err(wrong)? {
        roots
            .add(certificate)
            .map_err(|error| wrong(format!("`ca_file` holds a certificate that can't be used: {error}")))?;
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let inner = WebPkiServerVerifier::builder_with_provider(Arc::new(roots), provider.clone())
        .build()
        .map_err(|error| wrong(format!("`ca_file` holds no authority that can be used: {error}")))?;
    let verifier = NotingVerifier { inner, ends_us: broker_ends_us.clone() };
    let builder = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(|error| wrong(error.to_string()))?
        // The library calls every verifier of one's own dangerous. Ours leaves each decision to the library's.
        .dangerous()
        .with_custom_certificate_verifier(Arc::new(verifier));
    let config = match (&connection.cert_file, &connection.key_file) {
        (None, None) => builder.with_no_client_auth(),
        (Some(chain), Some(key)) => {
            let chain = certificates(chain, "cert_file").map_err(wrong)?;
            let key = PrivateKeyDer::from_pem_slice(key)
                .map_err(|_| wrong("`key_file` holds no private key (PEM)".to_owned()))?;
            builder
                .with_client_auth_cert(chain, key)
                .map_err(|error| wrong(format!("`cert_file` and `key_file` don't fit together: {error}")))?
        }
        (Some(_), None) => return Err(wrong("`cert_file` needs its `key_file`".to_owned())),
        (None, Some(_)) => return Err(wrong("`key_file` needs its `cert_file`".to_owned())),
    };
    let transport = Transport::Tls(TlsConfiguration::Rustls(Arc::new(config)));
    Ok(Encryption { transport, broker_ends_us })
}

fn certificates(pem: &[u8], setting: &str) -> Result<Vec<CertificateDer<'static>>, String> {
    let found: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(pem).collect();
    match found {
        Ok(found) if !found.is_empty() => Ok(found),
        Ok(_) => Err(format!("`{setting}` holds no certificate (PEM)")),
        Err(error) => Err(format!("`{setting}` can't be read as PEM: {error}")),
    }
}

/// What a failed handshake means for the person who set it up.
pub(crate) fn explain(error: &rustls::Error) -> String {
    use rustls::CertificateError::{
        Expired, ExpiredContext, NotValidForName, NotValidForNameContext, NotValidYet, NotValidYetContext,
        UnknownIssuer,
    };
    use rustls::{AlertDescription, Error};
    match error {
        Error::InvalidCertificate(UnknownIssuer) => {
            "the broker's certificate is not signed by the authority in `ca_file`".to_owned()
        }
        Error::InvalidCertificate(NotValidForName | NotValidForNameContext { .. }) => {
            "the broker's certificate is made out to another host name; write that name in `url`".to_owned()
        }
        Error::InvalidCertificate(Expired | ExpiredContext { .. }) => {
            "the broker's certificate has expired (or this machine's clock is wrong)".to_owned()
        }
        Error::InvalidCertificate(NotValidYet | NotValidYetContext { .. }) => {
            "the broker's certificate is not valid yet (or this machine's clock is wrong)".to_owned()
        }
        Error::AlertReceived(AlertDescription::CertificateExpired) => {
            "the broker says that our own certificate has expired (or its clock is wrong): renew `cert_file`".to_owned()
        }
        Error::AlertReceived(AlertDescription::CertificateRequired) => {
            "the broker asks for a client certificate: set `cert_file` and `key_file`".to_owned()
        }
        Error::AlertReceived(alert) => {
            format!("the broker does not accept us ({alert:?}); is `cert_file` signed by the authority it trusts?")
        }
        Error::InvalidMessage(_) => "the answer is not TLS; is this the port for mqtt://?".to_owned(),
        other => other.to_string(),
    }
}
