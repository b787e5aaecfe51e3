//! What is written for machines and for people.

#![allow(clippy::unwrap_used)]

use std::fs::File;

use arrow::array::{Array, AsArray};
use arrow::datatypes::{DataType, Date32Type, Float64Type, Int32Type, Int64Type, TimestampMicrosecondType};
use chrono::NaiveDate;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use reading::Timestamp;
use serde_json::{Map, Value, json};

use super::bakery::{at, date};
use crate::row::ShiftProfileRow;
use crate::{write_csv, write_html, write_json, write_parquet, write_text};

/// No two of its numbers are equal, so that no column can pass for another.
fn zone_1() -> ShiftProfileRow {
    ShiftProfileRow {
        site: "millbrook".into(),
        line: "tunnel-1".into(),
        date: date("2026-11-03"),
        shift: "early".into(),
        product: "T800".into(),
        zone: 1,
        starts: at("2026-11-03T06:00:00Z"),
        ends: at("2026-11-03T14:00:00Z"),
        running_min: 412.5,
        readings: 8640,
        coverage_pct: 99.25,
        moisture_pct_mean: Some(41.8),
        moisture_pct_p05: Some(38.2),
        moisture_pct_p50: Some(41.9),
        moisture_pct_p95: Some(44.75),
        dew_point_c_mean: Some(77.3),
        humidity_ratio_mean: Some(0.4467),
        air_temperature_c_mean: Some(221.4),
        air_temperature_c_p05: Some(218.9),
        air_temperature_c_p95: Some(224.1),
        exhaust_damper_pct_mean: Some(45.0),
        band_speed_m_min_mean: Some(1.24),
        band_speed_m_min_max: Some(1.31),
        bake_time_min_mean: Some(24.2),
        peak_zone: Some(3),
        drop_1_to_2_pct: Some(32.1),
        zone3_to_peak_pct: Some(17.9),
        normal_id: Some("tunnel-1/T800/4".to_owned()),
        departure: Some(0.34),
        alerts: 2,
    }
}

/// A zone of which only the band is known.
fn zone_2() -> ShiftProfileRow {
    let mut row: ShiftProfileRow = serde_json::from_value(json!({
        "site": "millbrook", "line": "tunnel-1", "date": "2026-11-03", "shift": "early", "product": "T800", "zone": 2,
        "starts": "2026-11-03T06:00:00Z", "ends": "2026-11-03T14:00:00Z", "running_min": 412.5, "readings": 0,
        "coverage_pct": 0.0, "alerts": 0
    }))
    .unwrap();
    row.band_speed_m_min_mean = Some(1.24);
    row
}

fn text_of(write: impl FnOnce(&mut Vec<u8>) -> std::io::Result<()>) -> String {
    let mut out = Vec::new();
    write(&mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn csv_has_these_columns_and_leaves_empty_what_is_not_known() {
    let header = "site,line,date,shift,product,zone,starts,ends,running_min,readings,coverage_pct,moisture_pct_mean,\
        moisture_pct_p05,moisture_pct_p50,moisture_pct_p95,dew_point_c_mean,humidity_ratio_mean,air_temperature_c_mean,\
        air_temperature_c_p05,air_temperature_c_p95,exhaust_damper_pct_mean,band_speed_m_min_mean,band_speed_m_min_max,\
        bake_time_min_mean,peak_zone,drop_1_to_2_pct,zone3_to_peak_pct,normal_id,departure,alerts\n";
    let zones = "millbrook,tunnel-1,2026-11-03,early,T800,1,2026-11-03T06:00:00.000Z,2026-11-03T14:00:00.000Z,412.5,8640,\
        99.25,41.8,38.2,41.9,44.75,77.3,0.4467,221.4,218.9,224.1,45.0,1.24,1.31,24.2,3,32.1,17.9,tunnel-1/T800/4,0.34,2\n\
        millbrook,tunnel-1,2026-11-03,early,T800,2,2026-11-03T06:00:00.000Z,2026-11-03T14:00:00.000Z,412.5,0,0.0,,,,,,,,,,\
        ,1.24,,,,,,,,0\n";
    assert_eq!(text_of(|out| write_csv(&[zone_1(), zone_2()], out)), format!("{header}{zones}"));
    assert_eq!(text_of(|out| write_csv(&[], out)), header);
}

#[test]
fn csv_is_read_back_as_it_was() {
    let rows = [zone_1(), zone_2()];
    let csv = text_of(|out| write_csv(&rows, out));
    let read: Vec<ShiftProfileRow> =
        csv::Reader::from_reader(csv.as_bytes()).deserialize().map(Result::unwrap).collect();
    assert_eq!(read, rows);
}

#[test]
fn json_is_read_back_as_it_was() {
    let rows = vec![zone_1(), zone_2()];
    let json = text_of(|out| write_json(&rows, out));
    assert_eq!(serde_json::from_str::<Vec<ShiftProfileRow>>(&json).unwrap(), rows);
}

#[test]
fn parquet_is_read_back_as_it_was() {
    let rows = vec![zone_1(), zone_2()];
    let file = tempfile::tempfile().unwrap();
    write_parquet(&rows, &file).unwrap();
    assert_eq!(read_parquet(file), rows);

    let file = tempfile::tempfile().unwrap();
    write_parquet(&[], &file).unwrap();
    assert_eq!(read_parquet(file), []);
}

fn read_parquet(file: File) -> Vec<ShiftProfileRow> {
    let mut rows = Vec::new();
    for batch in ParquetRecordBatchReaderBuilder::try_new(file).unwrap().build().unwrap() {
        let batch = batch.unwrap();
        for index in 0..batch.num_rows() {
            let named = batch.schema_ref().fields().iter().zip(batch.columns());
            let object: Map<String, Value> =
                named.map(|(field, column)| (field.name().clone(), cell(column.as_ref(), index))).collect();
            rows.push(serde_json::from_value(Value::Object(object)).unwrap());
        }
    }
    rows
}

fn cell(column: &dyn Array, index: usize) -> Value {
    if column.is_null(index) {
        return Value::Null;
    }
    match column.data_type() {
        DataType::Utf8 => column.as_string::<i32>().value(index).into(),
        DataType::Int32 => column.as_primitive::<Int32Type>().value(index).into(),
        DataType::Int64 => column.as_primitive::<Int64Type>().value(index).into(),
        DataType::Float64 => column.as_primitive::<Float64Type>().value(index).into(),
        DataType::Date32 => {
            let days = column.as_primitive::<Date32Type>().value(index);
            json!(NaiveDate::from_epoch_days(days).unwrap())
        }
        DataType::Timestamp(_, Some(zone)) if &**zone == "UTC" => {
            json!(Timestamp(column.as_primitive::<TimestampMicrosecondType>().value(index)))
        }
        other => panic!("no column should be {other}"),
    }
}

#[test]
fn text_lines_up_zones_under_their_headings() {
    let expected = "\
tunnel-1, T800, early shift of 2026-11-03 (2026-11-03 06:00 to 2026-11-03 14:00 UTC)
baked for 412 min; band 1.240 m/min, at most 1.310; bake time 24.2 min; wettest in zone 3
falls 32 % from zone 1 to zone 2; zone 3 at 18 % of the peak; compared with normal tunnel-1/T800/4; 2 alerts
                  moisture, % vol  dew point  humidity  air temperature, °C  damper  departure  coverage  readings
 zone   mean    5 %   50 %   95 %         °C     kg/kg   mean    5 %   95 %       %                    %
    1   41.8   38.2   41.9   44.8       77.3     0.447  221.4  218.9  224.1      45       0.34      99.2      8640
    2      –      –      –      –          –         –      –      –      –       –          –       0.0         0
";
    assert_eq!(text_of(|out| write_text(&[zone_1(), zone_2()], out)), expected);
}

#[test]
fn each_product_of_each_shift_has_a_block_of_its_own() {
    let mut other_product = zone_1();
    other_product.product = "R060".into();
    let mut other_shift = other_product.clone();
    other_shift.starts = at("2026-11-04T06:00:00Z");
    other_shift.date = date("2026-11-04");
    let text = text_of(|out| write_text(&[zone_1(), zone_2(), other_product, other_shift], out));
    let titles: Vec<_> = text.lines().filter(|line| line.contains(" shift of ")).map(|line| &line[..45]).collect();
    assert_eq!(
        titles,
        [
            "tunnel-1, T800, early shift of 2026-11-03 (20",
            "tunnel-1, R060, early shift of 2026-11-03 (20",
            "tunnel-1, R060, early shift of 2026-11-04 (20",
        ]
    );
    assert_eq!(text_of(|out| write_text(&[], out)), "");
}

#[test]
fn the_page_needs_no_script_and_no_network_and_takes_names_for_text() {
    let mut row = zone_1();
    row.product = "<b>&\"T800\"".into();
    let page = text_of(|out| write_html(&[row, zone_2()], out));
    assert!(page.contains("<h2>tunnel-1, &lt;b&gt;&amp;&quot;T800&quot;, early shift of 2026-11-03</h2>"));
    for unwanted in ["<script", "http", "url(", "@import", "<b>", "NaN", "None"] {
        assert!(!page.contains(unwanted), "{unwanted}");
    }
    assert!(text_of(|out| write_html(&[], out)).contains("Nothing was baked."));
}

#[test]
fn the_chart_leaves_a_hole_where_a_zone_has_no_humidity() {
    let zone_3 = ShiftProfileRow { zone: 3, ..zone_1() };
    let page = text_of(|out| write_html(&[zone_1(), zone_2(), zone_3], out));
    assert_eq!(page.matches("<polygon").count(), 2);
    assert_eq!(page.matches("<circle").count(), 2);
    let whole = text_of(|out| write_html(&[zone_1(), ShiftProfileRow { zone: 2, ..zone_1() }], out));
    assert_eq!((whole.matches("<polygon").count(), whole.matches("<circle").count()), (1, 2));
}
