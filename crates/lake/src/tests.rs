//! A lake in a folder, and one that fails or answers falsely.

#![allow(clippy::unwrap_used)]

mod forgetful;

use std::fs;
use std::path::Path as FilePath;
use std::sync::Arc;

use object_store::local::LocalFileSystem;

use crate::place::{Place, Service};
use crate::{Access, Chapter, Condition, How, Kind, LakeError, Manifest, NewObject, SiteLake};

fn access(folder: &FilePath) -> Access {
    let place = Place { service: Service::Folder(folder.to_owned()), prefix: "ovens".into() };
    Access { place, key_id: None, key_file: None, endpoint: None, region: None }
}

fn lake(folder: &FilePath, site: &str) -> SiteLake {
    SiteLake::open(&access(folder), site).unwrap()
}

fn day() -> Chapter {
    Chapter::Day("2026-06-02".parse().unwrap())
}

fn readings(bytes: &[u8]) -> NewObject {
    NewObject {
        kind: Kind::Readings,
        folders: "line=tunnel-1/date=2026-06-02".into(),
        name: "00000001".into(),
        ending: "parquet",
        bytes: bytes.to_vec(),
        line: Some("tunnel-1".into()),
        rows: Some(5),
    }
}

#[tokio::test]
async fn an_object_is_sent_once_and_an_altered_one_again() {
    let folder = tempfile::tempdir().unwrap();
    let lake = lake(folder.path(), "millbrook");
    let first = lake.bring(readings(b"PAR1 five PAR1")).await.unwrap();
    assert_eq!(first.how, How::Sent);
    let path = folder.path().join("ovens").join(&first.object.path);
    assert!(first.object.path.starts_with("readings/site=millbrook/line=tunnel-1/date=2026-06-02/00000001-"));
    assert_eq!(fs::read(&path).unwrap(), b"PAR1 five PAR1");

    let written = fs::metadata(&path).unwrap().modified().unwrap();
    let again = lake.bring(readings(b"PAR1 five PAR1")).await.unwrap();
    assert_eq!((again.how, &again.object), (How::WasThere, &first.object));
    assert_eq!(fs::metadata(&path).unwrap().modified().unwrap(), written);

    let other = lake.bring(readings(b"PAR1 more PAR1")).await.unwrap();
    assert_ne!(other.object.path, first.object.path, "what differs has another name");

    fs::write(&path, b"PAR1 f").unwrap();
    assert_eq!(lake.look_at(&first.object).await.unwrap(), Condition::Altered);
    assert_eq!(lake.bring(readings(b"PAR1 five PAR1")).await.unwrap().how, How::SentAgain);
    assert_eq!(fs::read(&path).unwrap(), b"PAR1 five PAR1");
    fs::remove_file(&path).unwrap();
    assert_eq!(lake.look_at(&first.object).await.unwrap(), Condition::Missing);
}

#[tokio::test]
async fn a_manifest_is_replaced_as_a_whole_and_read_as_it_was_written() {
    let folder = tempfile::tempdir().unwrap();
    let lake = lake(folder.path(), "millbrook");
    assert_eq!(lake.manifest(day()).await.unwrap(), None);
    let object = lake.bring(readings(b"PAR1 five PAR1")).await.unwrap().object;
    let one = Manifest::new("millbrook", day(), "0.1.0", vec![object.clone()]);
    lake.publish(&one).await.unwrap();
    assert_eq!(lake.manifest(day()).await.unwrap(), Some(one.clone()));
    assert_eq!((one.readings_of("tunnel-1"), one.readings_of("tunnel-2")), (5, 0));
    let none = Manifest::new("millbrook", day(), "0.1.0", vec![]);
    lake.publish(&none).await.unwrap();
    let plant = Manifest::new("millbrook", Chapter::Plant, "0.1.0", vec![]);
    lake.publish(&plant).await.unwrap();
    assert_eq!(lake.manifests().await.unwrap(), [none, plant]);
    assert_eq!(lake.objects().await.unwrap(), [(object.path, 14)], "what no manifest lists is still there");
}

#[tokio::test]
async fn two_sites_see_nothing_of_each_other() {
    let folder = tempfile::tempdir().unwrap();
    let (one, other) = (lake(folder.path(), "millbrook"), lake(folder.path(), "millbrook-2"));
    let object = one.bring(readings(b"PAR1 five PAR1")).await.unwrap().object;
    one.publish(&Manifest::new("millbrook", day(), "0.1.0", vec![object])).await.unwrap();
    assert!(other.objects().await.unwrap().is_empty() && other.manifests().await.unwrap().is_empty());
    // A manifest that came from elsewhere is not taken for our own.
    let manifests = folder.path().join("ovens/manifests");
    fs::create_dir(manifests.join("site=millbrook-2")).unwrap();
    let name = "date=2026-06-02.json";
    fs::copy(manifests.join("site=millbrook").join(name), manifests.join("site=millbrook-2").join(name)).unwrap();
    let refused = other.manifest(day()).await.unwrap_err();
    assert!(matches!(refused, LakeError::Foreign { .. }), "{refused}");
}

#[tokio::test]
async fn a_site_belongs_to_one_store_until_another_takes_it_over() {
    let folder = tempfile::tempdir().unwrap();
    let lake = lake(folder.path(), "millbrook");
    assert!(lake.claim("store-1", false).await.unwrap());
    assert!(!lake.claim("store-1", false).await.unwrap(), "it is its own already");
    let refused = lake.claim("store-2", false).await.unwrap_err().to_string();
    assert!(refused.contains("store-1") && refused.contains("--take-over"), "{refused}");
    assert!(lake.claim("store-2", true).await.unwrap());
    assert!(lake.claim("store-1", false).await.is_err());
}

#[tokio::test]
async fn each_fault_has_its_own_words() {
    let folder = tempfile::tempdir().unwrap();
    lake(folder.path(), "millbrook").try_out().await.unwrap();
    assert_eq!(fs::read_dir(folder.path().join("ovens/probes/site=millbrook")).unwrap().count(), 0);

    let nowhere = SiteLake::open(&access(&folder.path().join("not-mounted")), "millbrook").unwrap_err().to_string();
    assert!(nowhere.contains("mount what belongs there"), "{nowhere}");

    let key_file = Some(folder.path().join("no-key"));
    let s3 = |endpoint: &str| Access {
        place: Place::parse("s3://fleet").unwrap(),
        key_id: Some("key".into()),
        key_file: None,
        endpoint: Some(endpoint.into()),
        region: None,
    };
    let unreadable = SiteLake::open(&Access { key_file, ..s3("http://127.0.0.1:9") }, "millbrook").unwrap_err();
    assert!(unreadable.to_string().contains("no-key"), "{unreadable}");
    fs::write(folder.path().join("key"), "secret\n").unwrap();
    let key_file = Some(folder.path().join("key"));
    // Nobody listens on the port for "discard".
    let away = SiteLake::open(&Access { key_file, ..s3("http://127.0.0.1:9") }, "millbrook").unwrap();
    let away = away.try_out().await.unwrap_err();
    assert!(matches!(away, LakeError::Failed { .. }) && away.to_string().contains("s3://fleet"), "{away}");
    assert!(!format!("{away:?}").contains("secret"));
}

/// A store whose disk keeps half of what it is given.
#[tokio::test]
async fn a_store_that_does_not_give_back_what_it_got_is_not_trusted() {
    let folder = tempfile::tempdir().unwrap();
    let whole = LocalFileSystem::new_with_prefix(folder.path()).unwrap();
    let place = access(folder.path()).place;
    let lake = SiteLake { store: Arc::new(forgetful::Forgetful(whole)), place, site: "millbrook".into() };
    let refused = lake.bring(readings(b"PAR1 five PAR1")).await.unwrap_err();
    assert!(matches!(refused, LakeError::Altered { .. }), "{refused}");
    let refused = lake.publish(&Manifest::new("millbrook", day(), "0.1.0", vec![])).await.unwrap_err();
    assert!(matches!(refused, LakeError::Altered { .. }), "{refused}");
}
