#![allow(clippy::unwrap_used, missing_docs)]
mod common;
use common::{Oven, key};
use normal_profile::{LearnSettings, learn};
use physics::units::MetrePerMinute;

#[test]
fn look() {
    let oven = Oven::with_zones(3);
    let windows = oven.windows(1440, 1);
    let normal = learn(key(), &windows, &oven.rises(30, 2, 3), &LearnSettings::default()).unwrap();
    eprintln!("{:#?}", normal.record().trials);
    eprintln!("{} {:?} {:?}", normal.record().memory_windows, normal.record().data, normal.record().rises);
    eprintln!("{:?}", normal.expect(MetrePerMinute(1.25)));
    eprintln!("{:?}", normal.expect(MetrePerMinute(1.5)));
    eprintln!("{:?}", oven.ln_humidity);
    eprintln!("{:?}", normal.record().calibration);
    eprintln!("{:?}", normal.record().drift);
    eprintln!("{:?}", normal.departure(&windows[77]));
    panic!("see");
}
