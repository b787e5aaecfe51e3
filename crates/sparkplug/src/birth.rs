//! What a birth says of the metrics that follow it: their names by alias, and their datatypes by name.

use std::collections::BTreeMap;

use reading::Timestamp;
use serde::{Deserialize, Serialize};

use crate::value::DataType;
use crate::wire;

/// The birth of a node or of a device, without the values that came with it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Birth {
    /// When it was sent.
    pub sent: Timestamp,
    names: BTreeMap<u64, String>,
    datatypes: BTreeMap<String, u32>,
}

impl Birth {
    /// Reads a birth that was sent at this time. A metric without a name is passed over: nothing can refer to it.
    #[must_use]
    pub fn of(metrics: &[wire::Metric], sent: Timestamp) -> Self {
        let (mut names, mut datatypes) = (BTreeMap::new(), BTreeMap::new());
        for metric in metrics {
            let Some(name) = &metric.name else { continue };
            names.extend(metric.alias.map(|alias| (alias, name.clone())));
            datatypes.insert(name.clone(), metric.datatype.unwrap_or_default());
        }
        Self { sent, names, datatypes }
    }

    /// The name for which an alias stands.
    #[must_use]
    pub fn name(&self, alias: u64) -> Option<&str> {
        self.names.get(&alias).map(String::as_str)
    }

    /// Whether the birth has a metric of this name.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.datatypes.contains_key(name)
    }

    /// The datatype of a metric: what it says itself, else what the birth said of its name.
    #[must_use]
    pub fn datatype(birth: Option<&Self>, name: &str, own: Option<u32>) -> Option<DataType> {
        let told = birth.and_then(|birth| birth.datatypes.get(name)).copied();
        own.and_then(DataType::from_number).or_else(|| told.and_then(DataType::from_number))
    }
}

/// The births in force of one node.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Births {
    /// Number of the node's session: a death counts only if it is of the same.
    pub bd_seq: Option<u64>,
    /// By device; the node's own under the empty name, which no device can have.
    pub of: BTreeMap<String, Birth>,
}

/// The number of the session in a node's birth or death.
#[must_use]
pub fn bd_seq(metrics: &[wire::Metric]) -> Option<u64> {
    let metric = metrics.iter().find(|metric| metric.name.as_deref() == Some("bdSeq"))?;
    match metric.value {
        Some(wire::Value::Long(number)) => Some(number),
        Some(wire::Value::Int(number)) => Some(number.into()),
        _ => None,
    }
}
