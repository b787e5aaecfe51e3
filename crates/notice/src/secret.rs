//! The key with which webhooks are signed, in the form of the open convention Standard Webhooks.

use std::fmt;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;

use crate::setup_error::SetupError;

const PREFIX: &str = "whsec_";
/// Bytes of a key, by the convention.
const LENGTH: std::ops::RangeInclusive<usize> = 24..=64;

/// A signing key: it prints as `***`.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(Vec<u8>);

impl Secret {
    /// Reads `whsec_` and 24 to 64 bytes in base64; white space around it does not count.
    ///
    /// # Errors
    /// It is none, with how to make one.
    pub fn parse(text: &str) -> Result<Self, SetupError> {
        let encoded = text.trim().strip_prefix(PREFIX);
        let key = encoded.and_then(|encoded| STANDARD.decode(encoded).ok());
        key.filter(|key| LENGTH.contains(&key.len())).map(Self).ok_or_else(|| {
            let reason = "the file holds no key of the form whsec_… (24 to 64 bytes in base64)";
            SetupError::new("secret_file", reason)
        })
    }

    /// `v1,` and the HMAC-SHA-256 of `id.timestamp.body` in base64; the time in seconds since 1970.
    pub(crate) fn sign(&self, id: &str, timestamp: i64, body: &[u8]) -> String {
        // Every length of key is taken: a longer one is hashed first.
        let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(&self.0) else { return String::new() };
        mac.update(format!("{id}.{timestamp}.").as_bytes());
        mac.update(body);
        format!("v1,{}", STANDARD.encode(mac.finalize().into_bytes()))
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("***")
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_signature_is_that_of_an_independent_library() {
        // Computed with the package standardwebhooks 1.1.0 (PyPI):
        // Webhook(SECRET).sign(ID, datetime.fromtimestamp(1794100000, timezone.utc), BODY)
        let secret = Secret::parse("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw\n").unwrap();
        let signed = secret.sign("01K-raised-7", 1_794_100_000, br#"{"type":"alert.raised"}"#);
        assert_eq!(signed, "v1,Z0EU5tQPYs7zwxBstgyeg8dYLRKpqtYBqSCL5zxf1xE=");
    }

    #[test]
    fn what_is_no_key_is_refused() {
        let short = format!("whsec_{}", STANDARD.encode([7; 23]));
        for text in ["", "whsec_", "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "whsec_not base64", &short] {
            let refused = Secret::parse(text).unwrap_err();
            assert_eq!(refused.setting, "secret_file", "{text:?}");
        }
        assert_eq!(format!("{:?}", Secret(vec![1])), "***");
    }
}
