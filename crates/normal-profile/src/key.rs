//! Which normal this is.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Names one normal: a product on a line, in one of its versions. Prints as `tunnel-1/T800/3`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NormalKey {
    /// The site's id.
    pub site: String,
    /// The line's id.
    pub line: String,
    /// The product's code.
    pub product: String,
    /// Counts up from 1 for each line and product.
    pub version: u32,
}

impl fmt::Display for NormalKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}/{}", self.line, self.product, self.version)
    }
}
