//! The file of a normal: the same data gives the same bytes, and what was changed is refused.

use crate::oven::{Oven, key};
use normal_profile::{FileError, LearnSettings, Normal, NotWhole, Standing, learn};
use physics::units::MetrePerMinute;
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_xoshiro::Xoshiro256Plus;

fn learned() -> Normal {
    let oven = Oven::with_zones(3);
    let settings = LearnSettings { max_components: 1, ..LearnSettings::default() };
    learn(key(), &oven.windows(900, 1), &oven.rises(12, 1, 2), &settings).unwrap()
}

#[test]
fn the_same_data_in_any_order_gives_the_same_bytes() {
    let mut oven = Oven::with_zones(3);
    oven.second_crew = vec![0.0, 0.25, 0.1];
    let (mut windows, mut rises) = (oven.windows(960, 1), oven.rises(20, 1, 2));
    let twice = windows[5].clone();
    windows.push(twice);
    windows.push(windows[6].clone());
    windows.last_mut().unwrap().ln_humidity[0] += 0.01;
    let settings = LearnSettings { max_components: 2, restarts: 1, ..LearnSettings::default() };
    let first = learn(key(), &windows, &rises, &settings).unwrap().to_json();
    let mut random = Xoshiro256Plus::seed_from_u64(5);
    windows.shuffle(&mut random);
    rises.shuffle(&mut random);
    assert_eq!(learn(key(), &windows, &rises, &settings).unwrap().to_json(), first);
    windows[0].ln_humidity[1] += 1e-12;
    assert_ne!(learn(key(), &windows, &rises, &settings).unwrap().to_json(), first);
}

#[test]
fn a_file_reads_back_to_the_same_normal() {
    let mut normal = learned();
    normal.approve("E. Marsh, oven engineer", "2025-10-14T09:30:00Z").unwrap();
    let text = normal.to_json();
    let read = Normal::from_json(&text).unwrap();
    assert_eq!(read.record(), normal.record());
    assert_eq!(read.to_json(), text);
    assert_eq!(read.key().to_string(), "tunnel-1/T800/3");
    assert_eq!(read.expect(MetrePerMinute(1.3)), normal.expect(MetrePerMinute(1.3)));
    let (before, after) = (MetrePerMinute(1.2), MetrePerMinute(1.3));
    assert_eq!(read.expect_change(before, after), normal.expect_change(before, after));
}

#[test]
fn a_changed_file_is_refused() {
    let text = learned().to_json();
    let changed = text.replacen("\"hours\": 7.1", "\"hours\": 9.1", 1);
    assert_ne!(changed, text);
    let refused = Normal::from_json(&changed).unwrap_err();
    assert!(matches!(refused, FileError::NotWhole(NotWhole::Changed { .. })));
    let message = refused.to_string();
    assert!(message.starts_with("the checksum of its normal is "), "{message}");
    assert!(message.ends_with("it was damaged or edited; restore it or learn again"), "{message}");
}

#[test]
fn what_is_no_normal_is_refused() {
    let text = learned().to_json();
    let newer = text.replacen("\"format\": 3", "\"format\": 4", 1);
    assert_eq!(
        Normal::from_json(&newer).unwrap_err().to_string(),
        "the file has format 4; this program reads format 3: learn again"
    );
    let unknown = text.replacen("\"seed\":", "\"sead\":", 1);
    assert!(Normal::from_json(&unknown).unwrap_err().to_string().contains("sead"));
    let cut = &text[..text.len() / 2];
    assert!(matches!(Normal::from_json(cut).unwrap_err(), FileError::NotWhole(NotWhole::Unreadable { .. })));
    assert!(Normal::from_json("").is_err());
}

#[test]
fn a_retired_normal_stays_retired() {
    let mut normal = learned();
    assert_eq!(normal.record().standing, Standing::Proposed);
    normal.approve("E. Marsh", "2025-10-14").unwrap();
    normal.retire("E. Marsh", "2025-11-02");
    assert_eq!(
        normal.approve("E. Marsh", "2025-11-03").unwrap_err().to_string(),
        "normal tunnel-1/T800/3 was retired by E. Marsh at 2025-11-02; learn a new version instead of approving it again"
    );
}

/// Kept as the program of format 2 wrote it; what it expected then, as that program printed it.
#[test]
fn a_normal_of_an_earlier_format_stays_in_use() {
    let kept = include_str!("../data/normal-format-2.json");
    let normal = Normal::from_json(kept).unwrap();
    assert_eq!(normal.key().to_string(), "tunnel-1/T800/3");
    assert!(matches!(normal.record().standing, Standing::Approved { .. }));
    let expected = normal.expect(MetrePerMinute(1.3));
    let humidity: Vec<f64> = expected.zones.iter().map(|zone| zone.ln_humidity.mean).collect();
    assert_eq!(humidity, [-1.043630385463851, -1.3390840536310842, -1.6147534914656771]);
    let change = normal.expect_change(MetrePerMinute(1.2), MetrePerMinute(1.3));
    assert_eq!(change.mean, [0.013500767299935735, 0.017862622337565717, 0.024859316480884915]);

    let written = normal.to_json();
    assert!(written.contains("\"format\": 3"), "from now on it is a file of today");
    assert_eq!(Normal::from_json(&written).unwrap().record(), normal.record());
    let edited = kept.replacen("-1.0", "-1.1", 1);
    assert_ne!(edited, kept);
    assert!(matches!(Normal::from_json(&edited), Err(FileError::NotWhole(NotWhole::Changed { .. }))));
}
