//! Records of rate changes: kept whole, changed on what is stored.

use reading::Span;

use super::fixture::{MONDAY, open};
use crate::{RateChangeRecord, StoreError};

fn proposed(id: &str, state: &str) -> RateChangeRecord {
    let json = format!(r#"{{"id":"{id}","state":"{state}"}}"#);
    RateChangeRecord { id: id.into(), line: "tunnel-1".into(), state: state.into(), proposed: MONDAY, json }
}

#[test]
fn a_record_outlives_a_restart_and_is_changed_on_what_is_stored() {
    let folder = tempfile::tempdir().unwrap();
    let first = proposed("tunnel-1/rate/1", "proposed");
    let second = RateChangeRecord { proposed: MONDAY - Span::minutes(1), ..proposed("tunnel-1/rate/2", "proposed") };
    {
        let store = open(folder.path());
        for record in [&first, &second] {
            let add = |_: &[RateChangeRecord]| Ok::<_, StoreError>((record.clone(), ()));
            store.change_rate(add).unwrap();
        }
    }
    let store = open(folder.path());
    assert_eq!(store.rate_changes().unwrap(), [second.clone(), first.clone()], "in the order of their proposals");
    let agreed = proposed("tunnel-1/rate/1", "agreed");
    let known = store.change_rate(|known| Ok::<_, StoreError>((agreed.clone(), known.to_vec()))).unwrap();
    assert_eq!(known, [second.clone(), first]);
    assert_eq!(store.rate_changes().unwrap(), [second, agreed]);
}

#[test]
fn what_is_refused_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let refused: Result<(), refusal::Refused> = store.change_rate(|_| Err(refusal::Refused));
    assert!(refused.is_err());
    assert_eq!(store.rate_changes().unwrap(), []);
}

/// An error of the caller's own.
mod refusal {
    use crate::StoreError;

    #[derive(Debug)]
    pub(super) struct Refused;

    impl From<StoreError> for Refused {
        fn from(_: StoreError) -> Self {
            Self
        }
    }
}
