//! The file of people and tokens.

use std::fmt;
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::Path;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::role::Role;
use super::secret::{hash_password, hash_token, is_password, random};

/// The fewest letters of a password: length is what counts (NIST SP 800-63B, from memory: at least 8).
const SHORTEST: usize = 10;
/// A longer password only keeps the hash busy.
const LONGEST: usize = 200;
/// The hash of a password that nobody has: checked where the name is unknown, so that an answer takes as long.
const NOBODY: &str =
    "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$e1hGXFJcdEqzvDYjQC1sKP0fXkDl8+WKp7kCjBYFaHQ";

/// Why the book cannot be used or changed, with what to do instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UserBookError(String);

impl fmt::Display for UserBookError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for UserBookError {}

/// People and tokens.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UserBook {
    people: Vec<Signer>,
    tokens: Vec<Token>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Signer {
    name: String,
    role: Role,
    password: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Token {
    name: String,
    role: Role,
    hash: String,
    /// RFC 3339.
    until: String,
}

impl Token {
    /// When it ends; an end that cannot be read has come.
    fn ends(&self) -> Option<DateTime<Utc>> {
        DateTime::parse_from_rfc3339(&self.until).ok().map(|end| end.with_timezone(&Utc))
    }
}

/// Somebody or something that may come in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its name.
    pub name: String,
    /// What it may do.
    pub role: Role,
    /// When a token ends; a person does not.
    pub until: Option<DateTime<Utc>>,
}

impl UserBook {
    /// Reads the file; empty where there is none.
    ///
    /// # Errors
    /// It cannot be read, or is no such file.
    pub fn read(path: &Path) -> Result<Self, UserBookError> {
        match fs::read_to_string(path) {
            Ok(text) => serde_json::from_str(&text)
                .map_err(|error| UserBookError(format!("{} is no file of users: {error}", path.display()))),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(Self::default()),
            Err(error) => Err(UserBookError(format!("cannot read {}: {error}", path.display()))),
        }
    }

    /// Writes the file, readable by its owner alone.
    ///
    /// # Errors
    /// It cannot be written; what stood there before still stands.
    pub fn write(&self, path: &Path) -> Result<(), UserBookError> {
        let unfinished = path.with_extension("unfinished");
        let write = || {
            if let Some(folder) = path.parent() {
                fs::create_dir_all(folder)?;
            }
            let mut options = fs::OpenOptions::new();
            options.write(true).create(true).truncate(true);
            #[cfg(unix)]
            std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
            let mut file = options.open(&unfinished)?;
            file.write_all(serde_json::to_string_pretty(self)?.as_bytes())?;
            file.sync_all()?;
            fs::rename(&unfinished, path)
        };
        write().map_err(|error| UserBookError(format!("cannot write {}: {error}", path.display())))
    }

    /// Adds a person, or gives one another role and password.
    ///
    /// # Errors
    /// A name or a password that will not do.
    pub fn add_person(&mut self, name: &str, role: Role, password: &str) -> Result<(), UserBookError> {
        check_name(name)?;
        let letters = password.chars().count();
        if !(SHORTEST..=LONGEST).contains(&letters) {
            let what = format!("a password of {letters} letters will not do; choose one of {SHORTEST} to {LONGEST}");
            return Err(UserBookError(what));
        }
        let password = hash_password(password).map_err(UserBookError)?;
        self.remove(name);
        self.people.push(Signer { name: name.into(), role, password });
        Ok(())
    }

    /// Adds a token for a program, or replaces the one of this name; gives it. It is shown once and kept nowhere.
    ///
    /// # Errors
    /// A name that will not do.
    pub fn add_token(&mut self, name: &str, role: Role, until: DateTime<Utc>) -> Result<String, UserBookError> {
        check_name(name)?;
        let token = random();
        self.remove(name);
        self.tokens.push(Token { name: name.into(), role, hash: hash_token(&token), until: until.to_rfc3339() });
        Ok(token)
    }

    /// Removes a person or a token; whether there was one.
    pub fn remove(&mut self, name: &str) -> bool {
        let before = self.people.len() + self.tokens.len();
        self.people.retain(|person| person.name != name);
        self.tokens.retain(|token| token.name != name);
        self.people.len() + self.tokens.len() < before
    }

    /// Everyone and everything in it.
    #[must_use]
    pub fn entries(&self) -> Vec<Entry> {
        let people = self.people.iter().map(|it| Entry { name: it.name.clone(), role: it.role, until: None });
        let token = |it: &Token| Entry { name: it.name.clone(), role: it.role, until: it.ends() };
        people.chain(self.tokens.iter().map(token)).collect()
    }

    /// Whether nobody can sign in.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.people.is_empty() && self.tokens.is_empty()
    }

    /// The role of a person who still stands in the book.
    pub(super) fn role_of(&self, name: &str) -> Option<Role> {
        self.people.iter().find(|person| person.name == name).map(|person| person.role)
    }

    /// The role of a person with this password. Slow on purpose.
    pub(super) fn check(&self, name: &str, password: &str) -> Option<Role> {
        let person = self.people.iter().find(|person| person.name == name);
        let right = is_password(password, person.map_or(NOBODY, |person| &person.password));
        person.filter(|_| right).map(|person| person.role)
    }

    /// Whose token this is, if its time is not over.
    pub(super) fn token(&self, token: &str, now: DateTime<Utc>) -> Option<(String, Role)> {
        let hash = hash_token(token);
        let found = self.tokens.iter().find(|token| token.hash == hash && token.ends().is_some_and(|end| end > now))?;
        Some((found.name.clone(), found.role))
    }
}

fn check_name(name: &str) -> Result<(), UserBookError> {
    let letters = name.chars().count();
    let plain = name.trim() == name && !name.chars().any(char::is_control);
    if (1..=80).contains(&letters) && plain {
        return Ok(());
    }
    Err(UserBookError(format!("{name:?} will not do as a name; write 1 to 80 letters without blanks around them")))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use chrono::TimeDelta;

    use super::*;

    #[test]
    fn a_password_opens_for_its_owner_alone_and_stands_nowhere() {
        let mut book = UserBook::default();
        book.add_person("Ann", Role::Lead, "warm rolls at six").unwrap();
        assert_eq!(book.check("Ann", "warm rolls at six"), Some(Role::Lead));
        assert_eq!(book.check("Ann", "warm rolls at five"), None);
        assert_eq!(book.check("Ben", "warm rolls at six"), None);
        let text = serde_json::to_string(&book).unwrap();
        assert!(text.contains("$argon2id$") && !text.contains("warm"), "{text}");
        assert!(book.add_person("Ben", Role::Lead, "short").is_err());
        assert!(book.add_person(" Ben", Role::Lead, "warm rolls at six").is_err());
    }

    #[test]
    fn a_token_opens_until_its_end_and_stands_nowhere() {
        let mut book = UserBook::default();
        let now = DateTime::<Utc>::UNIX_EPOCH;
        let token = book.add_token("display", Role::Viewer, now + TimeDelta::days(1)).unwrap();
        assert_eq!(book.token(&token, now), Some(("display".into(), Role::Viewer)));
        assert_eq!(book.token(&token, now + TimeDelta::days(1)), None);
        assert_eq!(book.token("0", now), None);
        assert!(!serde_json::to_string(&book).unwrap().contains(&token));
        assert!(book.remove("display") && !book.remove("display") && book.is_empty());
    }

    #[test]
    fn a_name_that_nobody_has_is_checked_as_long_as_one_that_somebody_has() {
        assert!(argon2::password_hash::PasswordHash::new(NOBODY).is_ok(), "or nothing would be hashed");
    }
}
