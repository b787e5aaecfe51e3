//! What is learned, kept as JSON: `{"format": …, "checksum": …, NAME: { … }}`.
//!
//! The checksum is over the compact form of what stands under NAME, so that white space does not count. Numbers are
//! written with the fewest digits that read back to the same bits, so that reading and writing again gives the same text.

use serde::de::{DeserializeOwned, Error as _};
use serde::ser::SerializeMap;
use serde::{Deserialize, Serialize, Serializer};
use serde_json::{Map, Value};
use thiserror::Error;

use crate::checksum::Checksum;

/// A kind of file.
#[derive(Debug, Clone, Copy)]
pub struct Checked {
    /// Of what, as it stands in the file.
    pub name: &'static str,
    /// The format that this program writes and reads.
    pub format: u32,
    /// The formats before it that can be read all the same.
    pub earlier: &'static [Earlier],
}

/// A format of an earlier program, which wrote all that is written today but for one field.
#[derive(Debug, Clone, Copy)]
pub struct Earlier {
    /// Its number.
    pub format: u32,
    /// The field as it stands in the compact form when it is empty, with the comma before it: its checksum is without.
    pub without: &'static str,
}

/// Why a file was refused.
#[derive(Debug, Error)]
pub enum NotWhole {
    /// Not JSON, or not its fields.
    #[error("this is not the file of a {name}: {why}")]
    Unreadable {
        /// Of what it should be.
        name: &'static str,
        /// What is wrong.
        why: serde_json::Error,
    },
    /// Written by a program of another time.
    #[error("the file has format {found}; this program reads format {read}: learn again")]
    OtherFormat {
        /// The format found.
        found: u32,
        /// The format that can be read.
        read: u32,
    },
    /// Damaged, or edited by hand.
    #[error(
        "the checksum of its {name} is {found}, the file says {stated}: it was damaged or edited; restore it or learn again"
    )]
    Changed {
        /// Of what.
        name: &'static str,
        /// What the file says.
        stated: String,
        /// What its content gives.
        found: String,
    },
}

#[derive(Deserialize)]
struct Format {
    format: u32,
}

impl Checked {
    /// The file's content, to be written compact or pretty. The same record gives the same bytes.
    pub fn file<'a, T: Serialize>(&'a self, record: &'a T) -> impl Serialize + 'a {
        File { kind: self, record }
    }

    /// Reads what stands in a file.
    ///
    /// # Errors
    /// No such file, another format, or a changed content.
    pub fn read<T: Serialize + DeserializeOwned>(&self, text: &str) -> Result<T, NotWhole> {
        let unreadable = |why| NotWhole::Unreadable { name: self.name, why };
        let Format { format } = serde_json::from_str(text).map_err(unreadable)?;
        let earlier = self.earlier.iter().find(|earlier| earlier.format == format);
        if format != self.format && earlier.is_none() {
            return Err(NotWhole::OtherFormat { found: format, read: self.format });
        }
        let (stated, record) = self.parts(text).map_err(unreadable)?;
        let found = match earlier {
            Some(earlier) => digits(&compact(&record).replacen(earlier.without, "", 1)),
            None => digits(&compact(&record)),
        };
        if found != stated {
            return Err(NotWhole::Changed { name: self.name, stated, found });
        }
        Ok(record)
    }

    fn parts<T: DeserializeOwned>(&self, text: &str) -> serde_json::Result<(String, T)> {
        let mut parts: Map<String, Value> = serde_json::from_str(text)?;
        let mut part = |name: &'static str| parts.remove(name).ok_or_else(|| serde_json::Error::missing_field(name));
        part("format")?;
        let stated = serde_json::from_value(part("checksum")?)?;
        let record = serde_json::from_value(part(self.name)?)?;
        match parts.keys().next() {
            Some(other) => Err(serde_json::Error::custom(format!("unknown field `{other}`"))),
            None => Ok((stated, record)),
        }
    }
}

struct File<'a, T> {
    kind: &'a Checked,
    record: &'a T,
}

impl<T: Serialize> Serialize for File<'_, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut file = serializer.serialize_map(Some(3))?;
        file.serialize_entry("format", &self.kind.format)?;
        file.serialize_entry("checksum", &digits(&compact(self.record)))?;
        file.serialize_entry(self.kind.name, self.record)?;
        file.end()
    }
}

fn compact(record: &impl Serialize) -> String {
    // Plain structs of numbers and text always serialise.
    serde_json::to_string(record).unwrap_or_default()
}

fn digits(compact: &str) -> String {
    let mut checksum = Checksum::new();
    checksum.add(compact.as_bytes());
    checksum.digits()
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOAF: Checked = Checked { name: "loaf", format: 2, earlier: &[] };

    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Loaf {
        grams: f64,
    }

    /// As both kinds of file have been written since their first format.
    #[test]
    fn a_file_begins_with_format_and_checksum_and_reads_back_to_the_same_bits() {
        let loaf = Loaf { grams: 0.1 + 0.2 };
        let written = serde_json::to_string(&LOAF.file(&loaf)).unwrap();
        assert_eq!(written, r#"{"format":2,"checksum":"16c45c1ff305ec22","loaf":{"grams":0.30000000000000004}}"#);
        assert_eq!(LOAF.read::<Loaf>(&written).unwrap(), loaf);
        let pretty = serde_json::to_string_pretty(&LOAF.file(&loaf)).unwrap();
        assert_eq!(LOAF.read::<Loaf>(&pretty).unwrap(), loaf, "white space does not count");
    }

    #[test]
    fn what_is_not_whole_is_refused_with_what_is_wrong() {
        let whole = serde_json::to_string(&LOAF.file(&Loaf { grams: 800.0 })).unwrap();
        let refused = |text: &str| LOAF.read::<Loaf>(text).unwrap_err().to_string();
        assert!(refused("{}").contains("not the file of a loaf: missing field `format`"), "{}", refused("{}"));
        assert!(refused(&whole.replace("\"format\":2", "\"format\":1")).contains("reads format 2"));
        assert!(refused(&whole.replace("800.0", "801.0")).contains("damaged or edited"));
        assert!(refused(&whole.replace("loaf", "roll")).contains("missing field `loaf`"));
        assert!(refused(&whole.replacen('{', "{\"note\":1,", 1)).contains("unknown field `note`"));
    }
}
