//! Structs of the program as structs of the API: what a command prints as JSON is what the API answers.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use web::api::Refusal;

use super::failed;

/// A struct of the program as the struct of the API that has the same fields.
pub(super) fn same<T: DeserializeOwned>(value: &impl Serialize) -> Result<T, Refusal> {
    serde_json::to_value(value).and_then(serde_json::from_value).map_err(failed)
}

/// The same, where the struct of the API has further fields.
pub(super) fn same_and<T: DeserializeOwned>(
    value: &impl Serialize,
    further: impl IntoIterator<Item = (&'static str, Value)>,
) -> Result<T, Refusal> {
    let mut fields: Map<String, Value> = same(value)?;
    fields.extend(further.into_iter().map(|(name, value)| (name.to_owned(), value)));
    same(&fields)
}
