//! Which receivers cannot be told, as one trouble of the service.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use anyhow::anyhow;

use crate::service::troubles::{Troubles, Work};

/// The receivers that cannot be told, with why.
pub(super) struct Faults {
    troubles: Arc<Troubles>,
    present: Mutex<BTreeMap<String, String>>,
}

impl Faults {
    pub(super) fn new(troubles: Arc<Troubles>) -> Self {
        Self { troubles, present: Mutex::default() }
    }

    /// Takes note of how the last attempt to tell a receiver ended.
    pub(super) fn set(&self, receiver: &str, fault: Option<String>) {
        let mut present = self.present.lock().unwrap_or_else(PoisonError::into_inner);
        match fault {
            Some(fault) => present.insert(receiver.to_owned(), fault),
            None => present.remove(receiver),
        };
        let sentences: Vec<String> = present.iter().map(|(receiver, fault)| format!("{receiver}: {fault}")).collect();
        let attempt = if sentences.is_empty() { Ok(()) } else { Err(anyhow!(sentences.join("; "))) };
        self.troubles.note(Work::Notices, attempt);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_receiver_that_is_well_hides_none_that_is_not() {
        let troubles = Arc::new(Troubles::default());
        let faults = Faults::new(troubles.clone());
        faults.set("rota", Some("it answers 503".into()));
        faults.set("leads/ann@millbrook.example", Some("connection refused".into()));
        faults.set("rota", None);
        let told =
            "somebody cannot be told of alerts, it is tried again: leads/ann@millbrook.example: connection refused";
        assert_eq!((troubles.sentences(), troubles.hinder()), (vec![told.to_owned()], false));
        faults.set("leads/ann@millbrook.example", None);
        assert!(troubles.sentences().is_empty());
    }
}
