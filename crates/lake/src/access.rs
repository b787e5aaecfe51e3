//! How a lake is reached.

use std::path::PathBuf;

use crate::place::Place;

/// Where a lake is and how it lets us in. Holds no secret: the key stands in a file, or in the variables of the
/// environment that the service's own tools read (`AWS_…`, `AZURE_…`, `GOOGLE_…`).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Access {
    /// Where it is.
    pub place: Place,
    /// The name of the key: access key id of S3, account of Azure. None where the environment says it.
    pub key_id: Option<String>,
    /// The file of the key: secret access key of S3, access key of Azure, service account (JSON) of Google.
    pub key_file: Option<PathBuf>,
    /// Address of a store that speaks the protocol elsewhere than at its usual address.
    pub endpoint: Option<String>,
    /// Region of an S3 bucket.
    pub region: Option<String>,
}
