//! What the table says of shifts that can be checked by hand.

#![allow(clippy::unwrap_used)]

use reading::{LineIndex, NumberSeries, Quality, SignalId};

use super::bakery::{TUNNEL_1, TUNNEL_2, at, bakery, date, half_minutes, readings, shift, stretch};
use crate::row::ShiftProfileRow;
use crate::shift_profile;
use crate::stretch::Stretch;

const DEW_POINT: &str = "0/1/dew_point";
const MOISTURE: &str = "0/2/moisture";
const RATIO: &str = "0/3/humidity_ratio";
const SPEED: &str = "0/0/band_speed";

fn early(readings: &[NumberSeries], stretches: &[Stretch]) -> Vec<ShiftProfileRow> {
    shift_profile(&bakery(), TUNNEL_1, &shift("2026-11-03T09:00:00Z"), readings, stretches).unwrap()
}

fn baked_from_8_to_9() -> Vec<Stretch> {
    vec![stretch("T800", "2026-11-03T08:00:00Z", "2026-11-03T09:00:00Z")]
}

fn from_8_to_9() -> impl Iterator<Item = reading::Timestamp> {
    half_minutes("2026-11-03T08:00:00Z", "2026-11-03T09:00:00Z")
}

#[test]
fn a_healthy_profile_peaks_in_zone_1_and_is_dry_by_zone_3() {
    // 43.3 % vol, 25 % vol, and 50 g/kg, which is 7.44 % vol.
    let rows =
        early(&readings(from_8_to_9(), &[(DEW_POINT, 172.4), (MOISTURE, 25.0), (RATIO, 50.0)]), &baked_from_8_to_9());
    let row = &rows[2];
    assert_eq!((&*row.site, &*row.line, &*row.shift, &*row.product), ("millbrook", "tunnel-1", "early", "T800"));
    assert_eq!((row.zone, row.date), (3, date("2026-11-03")));
    assert_eq!((row.starts, row.ends), (at("2026-11-03T06:00:00Z"), at("2026-11-03T14:00:00Z")));
    let wettest = rows[0].moisture_pct_mean.unwrap();
    assert!((wettest - 43.75).abs() < 0.2, "{wettest}");
    assert!((rows[0].dew_point_c_mean.unwrap() - 78.0).abs() < 1e-9);
    assert!((row.moisture_pct_mean.unwrap() - 100.0 * 0.05 / 0.671_945).abs() < 1e-9);
    assert_eq!((row.peak_zone, row.running_min, row.coverage_pct), (Some(1), 60.0, 100.0));
    assert!((row.drop_1_to_2_pct.unwrap() - 100.0 * (wettest - 25.0) / wettest).abs() < 1e-9);
    assert!((row.zone3_to_peak_pct.unwrap() - 100.0 * row.moisture_pct_mean.unwrap() / wettest).abs() < 1e-9);
    assert_eq!((&row.normal_id, row.departure, row.alerts), (&None, None, 0));
}

#[test]
fn two_products_of_one_shift_are_kept_apart_in_the_order_in_which_they_were_baked() {
    let mut all = readings(from_8_to_9(), &[(MOISTURE, 20.0)]);
    let later = readings(half_minutes("2026-11-03T09:00:00Z", "2026-11-03T09:30:00Z"), &[(MOISTURE, 30.0)]);
    all.extend(later);
    let stretches = [
        stretch("T800", "2026-11-03T08:00:00Z", "2026-11-03T09:00:00Z"),
        stretch("R060", "2026-11-03T09:00:00Z", "2026-11-03T09:30:00Z"),
    ];
    let found: Vec<_> = early(&all, &stretches)
        .into_iter()
        .filter(|row| row.zone == 2)
        .map(|row| (row.product.to_string(), row.running_min, row.moisture_pct_mean, row.readings))
        .collect();
    assert_eq!(found, [("T800".to_owned(), 60.0, Some(20.0), 120), ("R060".to_owned(), 30.0, Some(30.0), 60)]);
}

#[test]
fn readings_and_stretches_beyond_the_shift_are_cut_off() {
    let all_day = readings(half_minutes("2026-11-03T00:00:00Z", "2026-11-04T00:00:00Z"), &[(MOISTURE, 20.0)]);
    let rows = early(&all_day, &[stretch("T800", "2026-11-03T00:00:00Z", "2026-11-04T00:00:00Z")]);
    assert_eq!((rows[1].running_min, rows[1].readings, rows[1].coverage_pct), (480.0, 960, 100.0));
}

#[test]
fn the_nights_on_which_clocks_change_have_nine_and_seven_hours() {
    for (night, begins, minutes) in [
        ("2026-10-25T00:30:00Z", "2026-10-24T21:00:00Z", 540.0),
        ("2026-03-29T00:30:00Z", "2026-03-28T22:00:00Z", 420.0),
    ] {
        let shift = shift(night);
        let readings = readings((0..2000).map(|i| at(begins) + reading::Span::seconds(30 * i)), &[(MOISTURE, 20.0)]);
        let stretches =
            [Stretch { product: "T800".into(), starts: at(begins), ends: at(begins) + reading::Span::minutes(900) }];
        let rows = shift_profile(&bakery(), TUNNEL_1, &shift, &readings, &stretches).unwrap();
        assert_eq!((rows[1].running_min, rows[1].readings as f64), (minutes, 2.0 * minutes));
        assert_eq!((rows[1].coverage_pct, rows[1].starts), (100.0, at(begins)));
        assert_eq!(rows[1].date.to_string(), begins[..10]);
    }
}

#[test]
fn impossible_and_bad_readings_are_left_out_and_lower_the_coverage() {
    let mut all = NumberSeries::new(SignalId(0));
    for (index, time) in from_8_to_9().enumerate() {
        // A dew point of 230 °F is above boiling. Every fourth window has nothing to show.
        let (value, quality) = match index % 8 {
            0 => (230.0, Quality::Good),
            4 => (170.0, Quality::Bad),
            5 => (172.4, Quality::Uncertain),
            _ => (172.4, Quality::Good),
        };
        all.push(time, value, quality);
    }
    let row = &early(&[all], &baked_from_8_to_9())[0];
    assert_eq!((row.readings, row.coverage_pct), (90, 75.0));
    assert!((row.dew_point_c_mean.unwrap() - 78.0).abs() < 1e-9);
}

#[test]
fn a_zone_without_sensors_and_a_silent_one_have_rows_without_figures() {
    let rows = early(&readings(from_8_to_9(), &[(SPEED, 4.0)]), &baked_from_8_to_9());
    assert_eq!(rows.len(), 5);
    for row in rows {
        assert_eq!((row.readings, row.coverage_pct), (0, 0.0));
        let statistics = [row.moisture_pct_mean, row.moisture_pct_p95, row.dew_point_c_mean, row.humidity_ratio_mean];
        assert_eq!(statistics, [None; 4]);
        assert_eq!((row.air_temperature_c_mean, row.exhaust_damper_pct_mean), (None, None));
        assert_eq!((row.peak_zone, row.drop_1_to_2_pct, row.zone3_to_peak_pct), (None, None, None));
        assert!((row.band_speed_m_min_mean.unwrap() - 1.2192).abs() < 1e-9);
    }
}

#[test]
fn dry_air_has_moisture_but_neither_dew_point_nor_shape() {
    let rows = early(&readings(from_8_to_9(), &[(MOISTURE, 0.0), (RATIO, 0.0)]), &baked_from_8_to_9());
    assert_eq!((rows[1].moisture_pct_mean, rows[1].dew_point_c_mean), (Some(0.0), None));
    assert_eq!((rows[1].peak_zone, rows[1].zone3_to_peak_pct), (Some(2), None));
    assert_eq!(rows[1].coverage_pct, 100.0);
}

#[test]
fn a_band_that_stands_still_lowers_the_speed_and_not_the_bake_time() {
    let mut all = readings(from_8_to_9(), &[(SPEED, 5.0)]);
    all[0].value[..60].fill(0.0);
    all[0].value[119] = -1.0;
    let row = &early(&all, &baked_from_8_to_9())[0];
    assert!((row.band_speed_m_min_mean.unwrap() - 1.524 * 59.0 / 119.0).abs() < 1e-9);
    assert!((row.bake_time_min_mean.unwrap() - 30.0 / 1.524).abs() < 1e-9);
}

#[test]
fn a_line_that_knows_only_the_bake_time_has_a_speed_from_it() {
    let shift = shift("2026-11-03T09:00:00Z");
    let sent = readings(from_8_to_9(), &[("1/0/bake_time", 1200.0), ("1/1/dew_point", 70.0), (SPEED, 9.0)]);
    let rows = shift_profile(&bakery(), TUNNEL_2, &shift, &sent, &baked_from_8_to_9()).unwrap();
    assert_eq!(rows.len(), 1);
    assert_eq!((&*rows[0].line, rows[0].peak_zone, rows[0].readings), ("tunnel-2", Some(1), 120));
    assert!((rows[0].band_speed_m_min_mean.unwrap() - 1.2).abs() < 1e-9);
    assert!((rows[0].bake_time_min_mean.unwrap() - 20.0).abs() < 1e-9);
    assert_eq!((rows[0].drop_1_to_2_pct, rows[0].zone3_to_peak_pct), (None, None));
}

#[test]
fn a_shift_without_baking_has_no_rows() {
    let sent = readings(from_8_to_9(), &[(MOISTURE, 20.0)]);
    assert_eq!(early(&sent, &[]), []);
    assert_eq!(early(&sent, &[stretch("T800", "2026-11-03T04:00:00Z", "2026-11-03T06:00:00Z")]), []);
    assert_eq!(early(&[], &[]), []);
}

#[test]
fn a_shift_of_which_no_reading_is_left_still_says_what_was_baked() {
    let rows = early(&[], &baked_from_8_to_9());
    assert_eq!((rows.len(), rows[0].running_min, rows[0].coverage_pct), (5, 60.0, 0.0));
}

#[test]
fn an_unknown_line_and_torn_columns_are_refused() {
    let (plant, shift) = (bakery(), shift("2026-11-03T09:00:00Z"));
    let refused =
        |line, readings: &[NumberSeries]| shift_profile(&plant, line, &shift, readings, &[]).unwrap_err().to_string();
    let unknown = refused(LineIndex(2), &[]);
    assert_eq!(unknown, "line number 2 is asked for, but the plant has 2 lines, counted from 0");
    let torn = refused(TUNNEL_1, &[NumberSeries { time_us: vec![0], ..NumberSeries::new(SignalId(3)) }]);
    assert!(torn.contains("signal 3 must be equally long; there are 1 times, 0 values and 0 qualities"), "{torn}");
}
