//! The checksum by which objects are known.

use sha2::{Digest, Sha256};

/// SHA-256 in 64 hexadecimal digits.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    /// FIPS 180-4's own example, from memory.
    #[test]
    fn abc_has_the_checksum_of_the_standard() {
        assert_eq!(super::sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
