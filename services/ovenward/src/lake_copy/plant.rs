//! What an engine elsewhere needs to know about the plant: signals and units, ovens, products; its normals, and what
//! those that are approved expect at each bake time.

use ::lake::{FORMAT, Kind, NewObject, Object, folder_name};
use anyhow::Result;
use normal_profile::{Band, Normal};
use physics::air;
use physics::units::{HumidityRatio, MetrePerMinute};
use reading::{Firing, Line, Shape};
use serde_json::{Value, json};

use super::{LakeCopy, Sent};
use crate::normal_files::is_approved;
use crate::table::{self, Column};

/// Profiles are given at multiples of this bake time, min, so that those of different ovens meet.
const BAKE_TIME_STEP_MIN: f64 = 0.5;

/// What a normal expects of one zone at one bake time.
struct Expected {
    normal: String,
    site: String,
    line: String,
    product: String,
    zones: usize,
    zone: usize,
    bake_time_min: f64,
    moisture_pct: Option<[f64; 3]>,
    temperature: Option<Band>,
}

const PROFILE: &[Column<Expected>] = &[
    Column::text("site", "The site's id.", |row| Some(row.site.clone())),
    Column::text("line", "The line's id.", |row| Some(row.line.clone())),
    Column::text("product", "The product's code.", |row| Some(row.product.clone())),
    Column::text("normal", "The normal's id.", |row| Some(row.normal.clone())),
    Column::count("zones", "How many zones the oven has.", |row| Some(row.zones as i64)),
    Column::count("zone", "The zone, from 1.", |row| Some(row.zone as i64)),
    Column::number("bake_time_min", "min", "Bake time, a multiple of half a minute.", |row| Some(row.bake_time_min)),
    Column::number("moisture_pct", "% vol", "Expected moisture.", |row| row.moisture_pct.map(|band| band[1])),
    Column::number("moisture_pct_low", "% vol", "95 of 100 lie above this ...", |row| {
        row.moisture_pct.map(|band| band[0])
    }),
    Column::number("moisture_pct_high", "% vol", "... and below this.", |row| row.moisture_pct.map(|band| band[2])),
    Column::number("air_temperature_c", "degC", "Expected air temperature.", |row| {
        row.temperature.map(|band| band.mean)
    }),
    Column::number("air_temperature_c_low", "degC", "95 of 100 lie above this ...", |row| {
        row.temperature.map(Band::low)
    }),
    Column::number("air_temperature_c_high", "degC", "... and below this.", |row| row.temperature.map(Band::high)),
];

impl LakeCopy {
    /// Brings what describes the plant there.
    pub(super) async fn bring_plant(&self, sent: &mut Sent) -> Result<Vec<Object>> {
        let description = NewObject {
            kind: Kind::Plant,
            folders: String::new(),
            name: "plant".into(),
            ending: "json",
            bytes: self.plant_file()?.into_bytes(),
            line: None,
            rows: None,
        };
        let mut objects = vec![self.bring(description, sent).await?];
        for normal in self.normals.all()? {
            objects.push(self.bring(file_of(&normal), sent).await?);
            if is_approved(&normal)
                && let Some((_, line)) = self.plant.line(&normal.key().line)
                && let Some(profile) = profile(&normal, line)?
            {
                objects.push(self.bring(profile, sent).await?);
            }
        }
        objects.sort_by(|one, other| one.path.cmp(&other.path));
        Ok(objects)
    }

    /// The plant as the config says it, without where its messages and secrets are.
    pub(super) fn plant_file(&self) -> Result<String> {
        let plant = &self.plant;
        let signals = plant.signals.iter().map(|(_, signal)| {
            let (factor, base_offset) = signal.unit.to_base_by();
            json!({
                "tag": &*signal.tag, "line": &*plant.lines[signal.line.0].id, "zone": signal.zone,
                "quantity": signal.quantity.name(), "unit": signal.unit.name,
                "base_unit": signal.quantity.units()[0].name,
                "scale": signal.scale, "offset": signal.offset, "factor": factor, "base_offset": base_offset,
                "min": signal.min, "max": signal.max,
            })
        });
        let signals: Vec<Value> = signals.collect();
        let lines: Vec<Value> = plant.lines.iter().map(line_file).collect();
        let products = plant.products.iter().map(|product| {
            let shape = match product.shape {
                Shape::Steamed => "steamed",
                Shape::MidPeak => "mid-peak",
                Shape::Learned => "learned",
            };
            json!({
                "code": &*product.code, "name": product.name, "shape": shape,
                "bake_time_min": product.bake_time_min, "bake_loss_pct": product.bake_loss_pct,
                "dough_kg_per_m": product.dough_kg_per_m, "dough_moisture_pct": product.dough_moisture_pct,
            })
        });
        let products: Vec<Value> = products.collect();
        let shifts: Vec<&str> = plant.shifts.names().map(|name| &**name).collect();
        let file = json!({
            "format": FORMAT, "site": &*plant.site, "name": plant.name, "time_zone": plant.shifts.time_zone().name(),
            "pressure_pa": plant.pressure.0, "shifts": shifts, "lines": lines, "products": products,
            "signals": signals,
        });
        Ok(serde_json::to_string_pretty(&file)?)
    }
}

fn line_file(line: &Line) -> Value {
    let firing = match line.firing {
        Firing::Direct => "direct",
        Firing::Indirect => "indirect",
        Firing::Electric => "electric",
    };
    let zones: Vec<f64> = line.zones.iter().map(|zone| zone.length.0).collect();
    let steam_section_m = line.steam_section.map(|length| length.0);
    json!({
        "line": &*line.id, "name": line.name, "firing": firing, "fuel": line.fuel, "zones_m": zones,
        "length_m": line.length().0, "steam_section_m": steam_section_m,
    })
}

fn folders(normal: &Normal) -> String {
    format!("line={}/product={}", normal.key().line, folder_name(&normal.key().product))
}

fn file_of(normal: &Normal) -> NewObject {
    NewObject {
        kind: Kind::Normals,
        folders: folders(normal),
        name: format!("v{}", normal.key().version),
        ending: "json",
        bytes: normal.to_json().into_bytes(),
        line: Some(normal.key().line.clone()),
        rows: None,
    }
}

/// What a normal expects at each bake time between the learned ones; `None` if it has learned no such span.
fn profile(normal: &Normal, line: &Line) -> Result<Option<NewObject>> {
    let (key, speeds, length) = (normal.key(), &normal.record().speeds, line.length().0);
    let first = (length / speeds.fastest_m_min / BAKE_TIME_STEP_MIN).ceil() as i64;
    let last = (length / speeds.slowest_m_min / BAKE_TIME_STEP_MIN).floor() as i64;
    let mut rows = Vec::new();
    for step in first..=last {
        let bake_time_min = step as f64 * BAKE_TIME_STEP_MIN;
        let zones = normal.expect(MetrePerMinute(length / bake_time_min)).zones;
        for (index, zone) in zones.iter().enumerate() {
            let humidity = zone.ln_humidity;
            let moisture = |ln_ratio: f64| air::moisture_from_humidity_ratio(HumidityRatio(ln_ratio.exp())).ok();
            let bounds = [humidity.low(), humidity.mean, humidity.high()].map(|bound| Some(moisture(bound)?.0 * 100.0));
            rows.push(Expected {
                normal: key.to_string(),
                site: key.site.clone(),
                line: key.line.clone(),
                product: key.product.clone(),
                zones: zones.len(),
                zone: index + 1,
                bake_time_min,
                moisture_pct: match bounds {
                    [Some(low), Some(mean), Some(high)] => Some([low, mean, high]),
                    _ => None,
                },
                temperature: zone.temperature,
            });
        }
    }
    if rows.is_empty() {
        return Ok(None);
    }
    let mut bytes = Vec::new();
    table::write_parquet(PROFILE, &rows, &mut bytes)?;
    Ok(Some(NewObject {
        kind: Kind::Profiles,
        folders: folders(normal),
        name: format!("v{}", key.version),
        ending: "parquet",
        bytes,
        line: Some(key.line.clone()),
        rows: Some(rows.len() as u64),
    }))
}
