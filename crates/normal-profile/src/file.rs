//! The file of a normal.

use thiserror::Error;

use crate::checked::{Checked, Earlier, NotWhole};
use crate::normal::{Normal, NormalRecord, Unusable};

const FILE: Checked = Checked { name: "normal", format: 3, earlier: &[FORMAT_2] };

/// Of before rises were judged a second time, when every zone has settled.
const FORMAT_2: Earlier = Earlier { format: 2, without: ",\"settled_rises\":null" };

/// Why a file was refused.
#[derive(Debug, Error)]
pub enum FileError {
    /// No file of a normal, of another format, or changed.
    #[error(transparent)]
    NotWhole(#[from] NotWhole),
    /// Whole, but with parts that no normal can have.
    #[error("the normal cannot be used: {0}")]
    Unusable(#[from] Unusable),
}

impl Normal {
    /// The file's content. The same normal gives the same bytes.
    pub fn to_json(&self) -> String {
        serde_json::to_string_pretty(&FILE.file(&self.record)).unwrap_or_default()
    }

    /// Reads a file's content; refuses another format, a changed content and unusable parameters.
    pub fn from_json(text: &str) -> Result<Self, FileError> {
        let record: NormalRecord = FILE.read(text)?;
        Ok(Self::from_record(record)?)
    }
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
