//! The encrypted connection: which authority we trust, and who we say we are.

use std::sync::Arc;

use rumqttc::{TlsConfiguration, Transport};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::{ClientConfig, RootCertStore};

use crate::{ConnectError, Connection};

/// What to lay between TCP and MQTT. The cryptography is named here, so that nothing depends on a
/// process-wide default having been installed before.
pub(crate) fn transport(connection: &Connection) -> Result<Transport, ConnectError> {
    if !connection.tls {
        return Ok(Transport::Tcp);
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
    let builder = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(|error| wrong(error.to_string()))?
        .with_root_certificates(roots);
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
    Ok(Transport::Tls(TlsConfiguration::Rustls(Arc::new(config))))
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
    use rustls::CertificateError::{Expired, ExpiredContext, NotValidForName, NotValidForNameContext, UnknownIssuer};
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
