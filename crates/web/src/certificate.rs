//! The certificate of the console: read from two files, and read again when they have changed.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, PoisonError, RwLock};
use std::time::SystemTime;

use chrono::{DateTime, Utc};
use rustls::crypto::ring;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use rustls::{InconsistentKeys, ServerConfig};
use tokio_rustls::TlsAcceptor;
use x509_cert::der::Decode;

/// Where a certificate and its key are kept, in PEM.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TlsFiles {
    /// The certificate, and behind it those that lead to its authority.
    pub cert_file: PathBuf,
    /// Its private key.
    pub key_file: PathBuf,
}

/// Why a certificate cannot be used, with what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CertificateError {
    /// A file cannot be read.
    #[error("cannot read {path}: {why}")]
    Unreadable {
        /// Which.
        path: String,
        /// Why.
        why: String,
    },
    /// A file does not hold what it should.
    #[error("{path} holds no {what} in PEM; write a file with -----BEGIN {begins}-----")]
    NotPem {
        /// Which.
        path: String,
        /// What it should hold.
        what: &'static str,
        /// How that begins.
        begins: &'static str,
    },
    /// What it holds is no certificate or key that can be used.
    #[error("what {path} holds cannot be used: {why}")]
    Unusable {
        /// Which file.
        path: String,
        /// Why.
        why: String,
    },
    /// The two do not belong together.
    #[error(
        "the key in {key_file} is not that of the certificate in {cert_file}; write the two that were made together"
    )]
    OtherKey {
        /// The file of the certificate.
        cert_file: String,
        /// The file of the key.
        key_file: String,
    },
}

/// A certificate in use.
#[derive(Debug)]
pub struct Certificate {
    files: TlsFiles,
    held: RwLock<Held>,
}

#[derive(Debug, Clone)]
struct Held {
    key: Arc<CertifiedKey>,
    begins: DateTime<Utc>,
    ends: DateTime<Utc>,
    /// When the files were changed last.
    changed: [Option<SystemTime>; 2],
}

impl Certificate {
    /// Reads the certificate and its key.
    ///
    /// # Errors
    /// A file cannot be read, holds nothing that can be used, or the two do not belong together. One whose time is over
    /// is no error: it is better than none.
    pub fn read(files: TlsFiles) -> Result<Self, CertificateError> {
        let held = RwLock::new(Held::read(&files)?);
        Ok(Self { files, held })
    }

    /// Reads the files again if they have changed; whether they had. Connections that stand keep what they have.
    ///
    /// # Errors
    /// As [`Certificate::read`]: the one before stays in use.
    pub fn renew(&self) -> Result<bool, CertificateError> {
        if self.held().changed == changed(&self.files) {
            return Ok(false);
        }
        let read = Held::read(&self.files)?;
        *self.held.write().unwrap_or_else(PoisonError::into_inner) = read;
        Ok(true)
    }

    /// From when to when it is valid.
    #[must_use]
    pub fn validity(&self) -> (DateTime<Utc>, DateTime<Utc>) {
        let held = self.held();
        (held.begins, held.ends)
    }

    /// What takes connections with it.
    pub(crate) fn acceptor(self: Arc<Self>) -> Result<TlsAcceptor, rustls::Error> {
        let provider = Arc::new(ring::default_provider());
        let config = ServerConfig::builder_with_provider(provider).with_safe_default_protocol_versions()?;
        let mut config = config.with_no_client_auth().with_cert_resolver(self);
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(TlsAcceptor::from(Arc::new(config)))
    }

    fn held(&self) -> Held {
        self.held.read().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

impl ResolvesServerCert for Certificate {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(self.held().key)
    }
}

impl Held {
    fn read(files: &TlsFiles) -> Result<Self, CertificateError> {
        // Files that change while they are read are read once more.
        let changed = changed(files);
        let (cert_file, key_file) = (shown(&files.cert_file), shown(&files.key_file));
        let text = text(&files.cert_file)?;
        let chain: Vec<CertificateDer<'static>> =
            CertificateDer::pem_slice_iter(&text).filter_map(Result::ok).collect();
        let Some(own) = chain.first() else {
            return Err(CertificateError::NotPem { path: cert_file, what: "certificate", begins: "CERTIFICATE" });
        };
        let unusable = |path: &str, why: String| CertificateError::Unusable { path: path.into(), why };
        let described = x509_cert::Certificate::from_der(own).map_err(|why| unusable(&cert_file, why.to_string()))?;
        let validity = described.tbs_certificate.validity;
        let key = PrivateKeyDer::from_pem_slice(&self::text(&files.key_file)?).map_err(|_| {
            CertificateError::NotPem { path: key_file.clone(), what: "private key", begins: "PRIVATE KEY" }
        })?;
        let provider = ring::default_provider();
        let key = CertifiedKey::from_der(chain, key, &provider).map_err(|error| match error {
            rustls::Error::InconsistentKeys(InconsistentKeys::KeyMismatch) => {
                CertificateError::OtherKey { cert_file: cert_file.clone(), key_file: key_file.clone() }
            }
            error => unusable(&key_file, error.to_string()),
        })?;
        Ok(Self {
            key: Arc::new(key),
            begins: validity.not_before.to_system_time().into(),
            ends: validity.not_after.to_system_time().into(),
            changed,
        })
    }
}

fn text(path: &Path) -> Result<Vec<u8>, CertificateError> {
    fs::read(path).map_err(|why| CertificateError::Unreadable { path: shown(path), why: why.to_string() })
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}

fn changed(files: &TlsFiles) -> [Option<SystemTime>; 2] {
    [&files.cert_file, &files.key_file].map(|path| fs::metadata(path).and_then(|file| file.modified()).ok())
}
