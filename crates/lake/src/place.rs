//! Where a lake is, as a URL says it.

use std::fmt;
use std::path::{Path, PathBuf};

use thiserror::Error;

/// Where a lake is: a folder, or a bucket and what its names begin with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Which kind of store it is.
    pub service: Service,
    /// What every name begins with; empty, or without slashes at its ends.
    pub prefix: String,
}

/// A kind of object store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Service {
    /// A folder, such as a network share.
    Folder(PathBuf),
    /// A bucket that speaks the S3 protocol.
    S3(String),
    /// A container of Azure Blob Storage.
    Azure(String),
    /// A bucket of Google Cloud Storage.
    Google(String),
}

/// A URL that names no lake.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoPlace {
    /// It begins with none of the four schemes.
    #[error("{0:?} begins with none of file:///, s3://, az:// and gs://")]
    Scheme(String),
    /// It names no bucket.
    #[error("{0:?} names no bucket")]
    Bucket(String),
    /// It names a folder whose path does not begin at the root.
    #[error("{0:?} is not a whole path")]
    Relative(String),
    /// It has a part that a path cannot have.
    #[error("{0:?} has an empty part, a dot alone, or a character that names of objects should not have")]
    Prefix(String),
}

impl Place {
    /// Reads `file:///FOLDER`, `s3://BUCKET/PREFIX`, `az://CONTAINER/PREFIX` or `gs://BUCKET/PREFIX`.
    ///
    /// # Errors
    /// [`NoPlace`].
    pub fn parse(url: &str) -> Result<Self, NoPlace> {
        let Some((scheme, rest)) = url.split_once("://") else { return Err(NoPlace::Scheme(url.to_owned())) };
        if scheme == "file" {
            let folder = Path::new(rest);
            return match folder.is_absolute() {
                true => Ok(Self { service: Service::Folder(folder.to_owned()), prefix: String::new() }),
                false => Err(NoPlace::Relative(rest.to_owned())),
            };
        }
        let service = match scheme {
            "s3" => Service::S3,
            "az" => Service::Azure,
            "gs" => Service::Google,
            _ => return Err(NoPlace::Scheme(url.to_owned())),
        };
        let (bucket, prefix) = rest.split_once('/').unwrap_or((rest, ""));
        if bucket.is_empty() {
            return Err(NoPlace::Bucket(url.to_owned()));
        }
        let prefix = prefix.trim_end_matches('/');
        let plain = |part: &str| {
            let usable = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | '=' | '+');
            part != "." && part != ".." && !part.is_empty() && part.chars().all(usable)
        };
        if !prefix.is_empty() && !prefix.split('/').all(plain) {
            return Err(NoPlace::Prefix(prefix.to_owned()));
        }
        Ok(Self { service: service(bucket.to_owned()), prefix: prefix.to_owned() })
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.service {
            Service::Folder(folder) => write!(f, "file://{}", folder.display())?,
            Service::S3(bucket) => write!(f, "s3://{bucket}")?,
            Service::Azure(container) => write!(f, "az://{container}")?,
            Service::Google(bucket) => write!(f, "gs://{bucket}")?,
        }
        if self.prefix.is_empty() { Ok(()) } else { write!(f, "/{}", self.prefix) }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_place_is_written_as_it_was_read() {
        for url in ["file:///srv/fleet", "s3://fleet", "s3://fleet/ovens/eu", "az://fleet/ovens", "gs://fleet/a=b"] {
            assert_eq!(Place::parse(url).unwrap().to_string(), url);
        }
        assert_eq!(Place::parse("s3://fleet/ovens/").unwrap().to_string(), "s3://fleet/ovens");
    }

    #[test]
    fn what_names_no_place_is_refused_for_its_own_reason() {
        let refused = |url: &str| Place::parse(url).unwrap_err();
        assert!(matches!(refused("/srv/fleet"), NoPlace::Scheme(_)));
        assert!(matches!(refused("https://example.org/fleet"), NoPlace::Scheme(_)));
        assert!(matches!(refused("s3:///ovens"), NoPlace::Bucket(_)));
        assert!(matches!(refused("file://srv/fleet"), NoPlace::Relative(_)));
        assert!(matches!(refused("s3://fleet/a//b"), NoPlace::Prefix(_)));
        assert!(matches!(refused("s3://fleet/../b"), NoPlace::Prefix(_)));
        assert!(matches!(refused("s3://fleet/a b"), NoPlace::Prefix(_)));
    }
}
