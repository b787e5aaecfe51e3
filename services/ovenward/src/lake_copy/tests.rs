//! A lake in a folder, and a store that learns, joins, forgets and is put back.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::Path;
use std::sync::Arc;

use ::lake::{Chapter, Kind, Manifest};
use reading::{Quality, Quantity, Reading, Span, Timestamp, Value};
use store::Store;

use super::{LakeCopy, Pushed};
use crate::config::{self, Settings};

const HOUR: Span = Span::minutes(60);

struct Site {
    settings: Arc<Settings>,
    store: Store,
}

impl Site {
    fn new(folder: &Path, lake: &Path) -> Self {
        fs::create_dir_all(folder).unwrap();
        let config = include_str!("../../../../config/test-day.toml");
        let config = format!("{config}\n[lake]\nurl = \"file://{}\"\n", lake.display());
        let settings = Arc::new(config::parse(&config, &folder.join("plant.toml")).unwrap());
        let store = Store::open(&settings.data_dir, &settings.plant).unwrap();
        Self { settings, store }
    }

    /// Bakes from a moment on for some hours, a reading of each signal in half a minute.
    fn bake(&self, from: &str, hours: i64) {
        let from = Timestamp::parse(from).unwrap();
        let mut readings = Vec::new();
        for second in (0..hours * 3600).step_by(30) {
            for (signal, description) in self.settings.plant.signals.iter() {
                let value = match description.quantity {
                    Quantity::Product => Value::Text("T800".into()),
                    Quantity::BandSpeed => Value::Number(1.2),
                    Quantity::Feed => Value::Number(1.0),
                    Quantity::AirTemperature => Value::Number(220.0),
                    Quantity::DewPoint => Value::Number(75.0),
                    _ => continue,
                };
                readings.push(Reading { signal, time: from + Span::seconds(second), value, quality: Quality::Good });
            }
        }
        self.store.load(&readings).unwrap();
        self.store.seal_until(from + Span(10 * 24 * HOUR.0)).unwrap();
    }

    fn copy(&self) -> LakeCopy {
        LakeCopy::open(&self.settings, &self.store).unwrap().unwrap()
    }

    async fn push(&self, now: &str) -> Vec<String> {
        let copy = self.copy();
        copy.claim(false).await.unwrap();
        copy.push_all(Timestamp::parse(now).unwrap()).await.unwrap()
    }

    fn waiting(&self, now: &str) -> Vec<String> {
        let due = self.copy().due(Timestamp::parse(now).unwrap()).unwrap();
        due.iter().map(|due| due.chapter.to_string()).collect()
    }

    async fn day(&self, date: &str) -> Option<Manifest> {
        self.copy().site.manifest(Chapter::Day(date.parse().unwrap())).await.unwrap()
    }
}

fn count(manifest: &Manifest, kind: Kind) -> usize {
    manifest.objects.iter().filter(|object| object.kind == kind).count()
}

#[tokio::test(flavor = "multi_thread")]
async fn days_that_are_over_go_there_with_the_shifts_that_ended_on_them() {
    let folder = tempfile::tempdir().unwrap();
    let site = Site::new(&folder.path().join("site"), folder.path());
    // Early, late and the night after, by London's clock: 05:00 to 13:00 to 21:00 to 05:00 UTC.
    site.bake("2026-06-02T06:00:00Z", 22);
    assert_eq!(site.waiting("2026-06-03T01:59:00Z"), ["plant"], "the day is not over for two hours");
    assert_eq!(site.waiting("2026-06-03T02:00:00Z"), ["plant", "date=2026-06-02"]);
    assert_eq!(site.push("2026-06-03T02:00:00Z").await, [""; 0]);
    let first = site.day("2026-06-02").await.unwrap();
    assert_eq!((count(&first, Kind::Readings), count(&first, Kind::Shifts)), (1, 2), "the night is not over");
    assert_eq!(site.day("2026-06-03").await, None);

    assert_eq!(site.push("2026-06-04T02:00:00Z").await, [""; 0]);
    let second = site.day("2026-06-03").await.unwrap();
    assert_eq!((count(&second, Kind::Shifts), count(&second, Kind::Stretches)), (1, 1));
    assert!(second.objects.iter().any(|object| object.path.contains("/date=2026-06-02/night-")), "{second:?}");
    assert!(site.waiting("2026-06-04T02:00:00Z").is_empty());
    assert_eq!(site.day("2026-06-02").await.unwrap(), first, "a day that is published stays as it is");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_comes_late_replaces_the_day_and_the_night_after_it() {
    let folder = tempfile::tempdir().unwrap();
    let site = Site::new(&folder.path().join("site"), folder.path());
    site.bake("2026-06-02T06:00:00Z", 22);
    site.push("2026-06-04T02:00:00Z").await;
    let before = site.day("2026-06-02").await.unwrap();
    site.bake("2026-06-02T00:00:15Z", 3);
    let both = ["date=2026-06-02", "date=2026-06-03"];
    assert_eq!(site.waiting("2026-06-04T02:00:00Z"), both, "the night after reaches into that day");
    site.push("2026-06-04T02:00:00Z").await;
    let after = site.day("2026-06-02").await.unwrap();
    assert_eq!(after.readings_of("tunnel-1") - before.readings_of("tunnel-1"), 3 * 120 * 11);
    site.bake("2026-06-03T02:00:15Z", 1);
    assert_eq!(site.waiting("2026-06-04T02:00:00Z"), ["date=2026-06-03"], "the day before ended long ago");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_grows_too_old_here_stays_there_and_a_poorer_day_takes_no_place() {
    let folder = tempfile::tempdir().unwrap();
    let site = Site::new(&folder.path().join("site"), folder.path());
    site.bake("2026-06-02T06:00:00Z", 22);
    let now = "2026-06-04T02:00:00Z";
    site.push(now).await;
    let whole = site.day("2026-06-02").await.unwrap();
    site.store.drop_before(Timestamp::parse("2026-06-03T12:00:00Z").unwrap()).unwrap();
    assert!(site.waiting(now).is_empty(), "nothing new");
    assert_eq!(site.push(now).await, [""; 0]);
    assert_eq!(site.day("2026-06-02").await.unwrap(), whole);

    // A few readings of that day once more, as after a store that was put back from an old copy.
    site.bake("2026-06-02T06:00:00Z", 1);
    let held = site.push(now).await;
    assert!(held[0].contains("--replace 2026-06-02"), "{held:?}");
    assert_eq!(site.day("2026-06-02").await.unwrap(), whole);
    let copy = site.copy();
    let due = copy.due(Timestamp::parse(now).unwrap()).unwrap();
    assert!(matches!(copy.push(&due[0], true).await.unwrap(), Pushed::Done(_)));
    assert_eq!(site.day("2026-06-02").await.unwrap().readings_of("tunnel-1"), 120 * 11);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_deleted_there_is_found_and_sent_again() {
    let folder = tempfile::tempdir().unwrap();
    let site = Site::new(&folder.path().join("site"), folder.path());
    site.bake("2026-06-02T06:00:00Z", 22);
    let now = "2026-06-04T02:00:00Z";
    site.push(now).await;
    let whole = site.day("2026-06-02").await.unwrap();
    fs::remove_file(folder.path().join(&whole.objects[0].path)).unwrap();
    fs::remove_file(folder.path().join("manifests/site=millbrook/date=2026-06-03.json")).unwrap();
    assert!(site.waiting(now).is_empty(), "nobody knows yet");
    let verified = site.copy().verify(Timestamp::parse(now).unwrap(), |_| {}).await.unwrap();
    let found: Vec<_> = verified.findings.iter().map(|finding| (finding.what, finding.sent_again)).collect();
    assert_eq!(found, [("it is not there any more", true), ("it was published and is not there", true)]);
    assert_eq!(site.waiting(now), ["date=2026-06-02", "date=2026-06-03"]);
    site.push(now).await;
    let verified = site.copy().verify(Timestamp::parse(now).unwrap(), |_| {}).await.unwrap();
    assert_eq!((verified.findings.len(), verified.unlisted), (0, 0));

    // Of a day that is dropped here nobody can send anything again.
    site.store.drop_before(Timestamp::parse("2026-06-05T00:00:00Z").unwrap()).unwrap();
    fs::remove_file(folder.path().join(&whole.objects[0].path)).unwrap();
    let verified = site.copy().verify(Timestamp::parse(now).unwrap(), |_| {}).await.unwrap();
    assert!(!verified.findings[0].sent_again, "{verified:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_plant_goes_there_without_its_broker_and_again_when_it_changes() {
    let folder = tempfile::tempdir().unwrap();
    let site = Site::new(&folder.path().join("site"), folder.path());
    site.push("2026-06-04T02:00:00Z").await;
    let manifest = site.copy().site.manifest(Chapter::Plant).await.unwrap().unwrap();
    let text = fs::read_to_string(folder.path().join(&manifest.objects[0].path)).unwrap();
    let plant: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(plant["signals"][0]["tag"], "mill/tunnel-1/band");
    assert_eq!(plant["lines"][0]["zones_m"].as_array().unwrap().len(), 4);
    assert!(!text.contains("mqtt") && !text.contains("1883"), "{text}");
    let mut settings = (*site.settings).clone();
    settings.plant.lines[0].name = "The long oven".into();
    let renamed = Site { settings: Arc::new(settings), store: site.store.clone() };
    assert_eq!(renamed.waiting("2026-06-04T02:00:00Z"), ["plant"]);
}
