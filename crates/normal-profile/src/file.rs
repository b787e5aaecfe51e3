//! The file of a normal: JSON with a format number and a checksum over its content.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::checksum::Checksum;
use crate::normal::{Normal, NormalRecord, Unusable};

/// The format that this program writes and reads.
pub const FORMAT: u32 = 3;

/// Why a file was refused.
#[derive(Debug, Error)]
pub enum FileError {
    /// Not JSON, or not the fields of a normal.
    #[error("this is not the file of a normal: {0}")]
    Unreadable(#[from] serde_json::Error),
    /// Written by a program of another time.
    #[error("the file has format {found}; this program reads format {FORMAT}: learn the normal again")]
    OtherFormat {
        /// The format found.
        found: u32,
    },
    /// Damaged, or edited by hand.
    #[error(
        "the checksum of normal {key} is {found}, the file says {stated}: it was damaged or edited; restore it or learn it again"
    )]
    Changed {
        /// The normal.
        key: String,
        /// What the file says.
        stated: String,
        /// What its content gives.
        found: String,
    },
    /// Whole, but with parts that no normal can have.
    #[error("the normal cannot be used: {0}")]
    Unusable(#[from] Unusable),
}

/// What is read first, whatever else the file holds.
#[derive(Deserialize)]
struct Format {
    format: u32,
}

#[derive(Serialize)]
struct Written<'a> {
    format: u32,
    checksum: String,
    normal: &'a NormalRecord,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Read {
    #[serde(rename = "format")]
    _format: u32,
    checksum: String,
    normal: NormalRecord,
}

impl Normal {
    /// The file's content. The same normal gives the same bytes.
    pub fn to_json(&self) -> String {
        let file = Written { format: FORMAT, checksum: checksum(&self.record), normal: &self.record };
        // Plain structs of numbers and text always serialise.
        serde_json::to_string_pretty(&file).unwrap_or_default()
    }

    /// Reads a file's content; refuses another format, a changed content and unusable parameters.
    pub fn from_json(text: &str) -> Result<Self, FileError> {
        let Format { format } = serde_json::from_str(text)?;
        if format != FORMAT {
            return Err(FileError::OtherFormat { found: format });
        }
        let file: Read = serde_json::from_str(text)?;
        let found = checksum(&file.normal);
        if found != file.checksum {
            return Err(FileError::Changed { key: file.normal.key.to_string(), stated: file.checksum, found });
        }
        Ok(Self::from_record(file.normal)?)
    }
}

/// Over the compact form, so that white space does not count. Numbers are written with the fewest
/// digits that read back to the same bits, so reading and writing again gives the same text.
fn checksum(record: &NormalRecord) -> String {
    let mut checksum = Checksum::new();
    checksum.add(serde_json::to_string(record).unwrap_or_default().as_bytes());
    checksum.digits()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{LearnSettings, NormalKey, Observation, learn};
    use physics::units::MetrePerMinute;

    fn learned() -> Normal {
        let window = |at: i64| Observation {
            time_us: at * 30_000_000,
            run: (at / 250) as u32,
            speed: MetrePerMinute(1.2 + 0.01 * (at % 7) as f64),
            ln_humidity: vec![-1.0 + 0.01 * (at % 11) as f64, -2.0 + 0.01 * (at % 5) as f64],
            temperature: vec![220.0 + (at % 3) as f64],
        };
        let windows: Vec<Observation> = (0..750).map(window).collect();
        let key = NormalKey { site: "millbrook".into(), line: "tunnel-1".into(), product: "T800".into(), version: 1 };
        learn(key, &windows, &[], &LearnSettings { max_components: 1, ..LearnSettings::default() }).unwrap()
    }

    /// A file whose checksum is right can still hold nonsense: it is refused, and nothing panics.
    #[test]
    fn a_whole_file_of_parts_that_do_not_fit_is_refused() {
        type Spoil = fn(&mut NormalRecord);
        let spoils: [(&str, Spoil); 9] = [
            ("no zones", |record| record.columns.zones = 0),
            ("no range above 0", |record| record.speeds.slowest_m_min = 9.0),
            ("no range above 0", |record| record.speeds.slowest_m_min = -1.0),
            ("a zone that it has not", |record| record.columns.temperature_zones = vec![7]),
            ("no components", |record| record.mixture.components.clear()),
            ("another number of columns", |record| record.scaling.spread.truncate(1)),
            ("noise or drift", |record| record.window_noise.truncate(1)),
            ("its responses", |record| record.responses.clear()),
            ("not positive definite", |record| record.mixture.components[0].covariance.set(0, 0, -1.0)),
        ];
        let good = learned();
        assert!(Normal::from_json(&good.to_json()).is_ok());
        for (expected, spoil) in spoils {
            let mut spoiled = good.clone();
            spoil(&mut spoiled.record);
            let refused = Normal::from_json(&spoiled.to_json()).unwrap_err();
            assert!(matches!(refused, FileError::Unusable(_)), "{refused}");
            assert!(refused.to_string().contains(expected), "{expected}: {refused}");
        }
    }
}
