//! Secrets: passwords are hashed slowly (argon2id), tokens and sessions are long and random.

use argon2::Argon2;
use argon2::password_hash::rand_core::{OsRng, RngCore};
use argon2::password_hash::{PasswordHash, PasswordHasher, PasswordVerifier, SaltString};
use blake2::{Blake2s256, Digest};

/// The hash of a password, with its salt and its parameters (PHC string format, argon2id).
pub(super) fn hash_password(password: &str) -> Result<String, String> {
    let salt = SaltString::generate(&mut OsRng);
    let hash = Argon2::default().hash_password(password.as_bytes(), &salt);
    hash.map(|hash| hash.to_string()).map_err(|error| format!("the password cannot be hashed: {error}"))
}

/// Whether a password is the one of this hash. Takes as long for one that is not.
pub(super) fn is_password(password: &str, hash: &str) -> bool {
    let Ok(hash) = PasswordHash::new(hash) else { return false };
    Argon2::default().verify_password(password.as_bytes(), &hash).is_ok()
}

/// 256 random bits as 64 hexadecimal digits.
pub(super) fn random() -> String {
    let mut bytes = [0; 32];
    OsRng.fill_bytes(&mut bytes);
    hexadecimal(&bytes)
}

/// The hash under which a token is kept. A random token needs no slow hash: there is nothing to guess.
pub(super) fn hash_token(token: &str) -> String {
    hexadecimal(&Blake2s256::digest(token.as_bytes()))
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
