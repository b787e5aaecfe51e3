//! Whose certificates are believed.

use std::sync::Arc;

use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{ClientConfig, RootCertStore};

use crate::send_error::in_full;
use crate::setup_error::SetupError;

/// Believes the authorities of a file (PEM) and no other; without a file, those that the machine knows.
pub(crate) fn client_config(ca_file: Option<&[u8]>) -> Result<ClientConfig, SetupError> {
    let unusable = |error: rustls::Error| SetupError::new("ca_file", in_full(&error));
    let mut authorities = RootCertStore::empty();
    match ca_file {
        Some(pem) => {
            for certificate in CertificateDer::pem_slice_iter(pem).flatten() {
                authorities.add(certificate).map_err(unusable)?;
            }
            if authorities.is_empty() {
                return Err(SetupError::new("ca_file", "the file holds no certificate in PEM"));
            }
        }
        None => {
            authorities.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
        }
    }
    // The cryptography is named here, so that nothing depends on a default of the process.
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider).with_safe_default_protocol_versions();
    Ok(config.map_err(unusable)?.with_root_certificates(authorities).with_no_client_auth())
}
