//! TLS as the plant has it: the server is known by the authority that signed its certificate, and by no other.

use std::sync::Arc;

use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{CertificateError, ClientConfig, RootCertStore};

/// A client that trusts these certificates (PEM) alone.
pub(crate) fn client(authority: &[u8]) -> Result<ClientConfig, String> {
    let mut roots = RootCertStore::empty();
    for certificate in CertificateDer::pem_slice_iter(authority) {
        let certificate = certificate.map_err(|error| format!("it cannot be read: {error}"))?;
        roots.add(certificate).map_err(|error| format!("it holds a certificate that cannot be used: {error}"))?;
    }
    if roots.is_empty() {
        return Err("it holds no certificate in PEM".into());
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let versions = ClientConfig::builder_with_provider(provider).with_safe_default_protocol_versions();
    let versions = versions.map_err(|error| error.to_string())?;
    Ok(versions.with_root_certificates(roots).with_no_client_auth())
}

/// Why a server's certificate was not taken, in the plant's words.
pub(crate) fn in_words(error: &rustls::Error) -> String {
    match error {
        rustls::Error::InvalidCertificate(CertificateError::UnknownIssuer) => {
            "its certificate was not signed by the authority in ca_file".into()
        }
        rustls::Error::InvalidCertificate(
            CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
        ) => "its certificate is made out to another name than the url has".into(),
        rustls::Error::InvalidCertificate(CertificateError::Expired | CertificateError::ExpiredContext { .. }) => {
            "its certificate has ended: renew it".into()
        }
        other => other.to_string(),
    }
}
