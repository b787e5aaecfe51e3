//! kill -9 at random moments while readings flow: each that the broker took from the plant is stored, once.
//!
//! A few rounds by default; `OVENWARD_FAULT_ROUNDS=50` runs more, `OVENWARD_FAULT_SEED` others.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Child;
use std::time::{Duration, Instant};

use chrono::{DateTime, DurationRound, TimeDelta, Utc};
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::plant::{Plant, wait_for};
use crate::process::Running;
use crate::traffic::{Flooding, Readings, assert_nothing_lost, stored_between};

/// Messages a second.
const RATE: f64 = 6000.0;
/// A flood of one round.
const LASTS: Duration = Duration::from_secs(2);
/// What is older is dropped by the config.
const KEEP_DAYS: i64 = 400;

/// In the middle of what the service is killed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Moment {
    Intake,
    Commit,
    Sealing,
    Joining,
    Dropping,
}

const MOMENTS: [Moment; 5] = [Moment::Sealing, Moment::Dropping, Moment::Commit, Moment::Joining, Moment::Intake];

#[test]
fn a_service_killed_at_any_moment_loses_nothing_and_stores_nothing_twice() {
    let number = |name: &str, default| env::var(name).map_or(default, |text| text.parse().expect("a number"));
    let (rounds, seed) = (number("OVENWARD_FAULT_ROUNDS", 5), number("OVENWARD_FAULT_SEED", 1));
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let place = Plant::new();
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    fs::write(place.path("plant.toml"), format!("{config}\n[store]\nkeep_days = {KEEP_DAYS}\n")).unwrap();
    // Days that are over, so that their hours are sealed and joined as soon as the service begins.
    let newest_day = (Utc::now() - TimeDelta::days(2)).duration_trunc(TimeDelta::days(1)).unwrap();
    let mut serving = place.serve();
    let (mut everything, mut seen) = (Readings::new(), 0);
    for round in 0..rounds {
        let moment = MOMENTS[round as usize % MOMENTS.len()];
        // A few rounds share a day: what they add to it is worth joining.
        let day = newest_day - TimeDelta::days(round as i64 / MOMENTS.len() as i64);
        let from = day + TimeDelta::minutes(round as i64);
        let old = day - TimeDelta::days(KEEP_DAYS + round as i64);
        Flooding::from(&place, RATE, Duration::from_millis(100), old).acknowledged();
        let flooding = Flooding::from(&place, RATE, LASTS, from);
        std::thread::sleep(random_ms(&mut random, 200..1500));
        if moment == Moment::Commit {
            seen += usize::from(Watcher::of(&place, from).see(Moment::Commit));
        }
        kill(&mut serving.0);
        let watcher = Watcher::of(&place, from);
        serving = Running(place.program(&["serve"]).spawn().unwrap());
        seen += match moment {
            Moment::Commit => 0,
            Moment::Intake => 1,
            moment => usize::from(watcher.see(moment)),
        };
        std::thread::sleep(random_ms(&mut random, 0..30));
        kill(&mut serving.0);
        serving = place.serve();

        let (sent, rate) = flooding.acknowledged_at();
        let mut found = Readings::new();
        wait_for("every reading of the round to be stored", || {
            found = stored_between(&place, from, from + TimeDelta::minutes(1));
            found.len() >= sent.len()
        });
        assert_nothing_lost(&sent, &found);
        assert_eq!(found.len(), sent.len(), "more was stored than sent");
        eprintln!("round {round}: {moment:?}, {} readings at {rate:.0}/s, 0 lost, 0 doubled", sent.len());
        everything.extend(sent);
    }
    kill(&mut serving.0);
    let found = stored_between(&place, newest_day - TimeDelta::days(KEEP_DAYS - 10), Utc::now());
    assert_nothing_lost(&everything, &found);
    assert_eq!(found.len(), everything.len());
    assert!(seen * 4 >= rounds as usize * 3, "the moment was hit in {seen} of {rounds} rounds only");
    eprintln!("{rounds} rounds of seed {seed}: {} readings, the moment was hit in {seen}", everything.len());
}

fn random_ms(random: &mut impl Rng, range: std::ops::Range<u64>) -> Duration {
    Duration::from_millis(random.gen_range(range))
}

fn kill(serving: &mut Child) {
    serving.kill().unwrap();
    serving.wait().unwrap();
}

/// Looks at the files of a store from outside, to see what the service is in the middle of.
struct Watcher {
    log: PathBuf,
    readings: PathBuf,
    /// The folder of the day that is being flooded.
    day: String,
    /// Sealed files when the watch began.
    before: Vec<PathBuf>,
}

impl Watcher {
    fn of(place: &Plant, day: DateTime<Utc>) -> Self {
        let mut watcher = Self {
            log: place.path("data/hot.db-wal"),
            readings: place.path("data/readings/site=millbrook/line=tunnel-1"),
            day: format!("date={}", day.format("%Y-%m-%d")),
            before: Vec::new(),
        };
        watcher.before = watcher.sealed();
        watcher
    }

    /// Waits for the moment; false if it has not come.
    fn see(&self, moment: Moment) -> bool {
        let written = self.written();
        let began = Instant::now();
        let mut old_seen = false;
        while began.elapsed() < Duration::from_secs(5) {
            let files = self.files();
            let today = |path: &&PathBuf| path.parent().is_some_and(|folder| folder.ends_with(&self.day));
            let fresh = |path: &PathBuf| is_sealed(path) && !self.before.contains(path);
            let unfinished = files.iter().any(|path| !is_sealed(path));
            let old = files.iter().any(|path| fresh(path) && !today(&path));
            let here = match moment {
                Moment::Intake => true,
                Moment::Commit => self.written() != written,
                Moment::Sealing => unfinished,
                Moment::Joining => unfinished && files.iter().filter(today).any(fresh),
                Moment::Dropping => old_seen && !old,
            };
            if here {
                return true;
            }
            old_seen |= old;
            std::thread::sleep(Duration::from_micros(200));
        }
        false
    }

    fn written(&self) -> Option<std::time::SystemTime> {
        fs::metadata(&self.log).and_then(|file| file.modified()).ok()
    }

    fn sealed(&self) -> Vec<PathBuf> {
        self.files().into_iter().filter(|path| is_sealed(path)).collect()
    }

    fn files(&self) -> Vec<PathBuf> {
        let entries = |folder: &PathBuf| fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path());
        entries(&self.readings).flat_map(|folder| entries(&folder).collect::<Vec<_>>()).collect()
    }
}

fn is_sealed(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "parquet")
}
