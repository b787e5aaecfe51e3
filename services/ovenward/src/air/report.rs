//! The whole state of moist air, as a table or as JSON.

use std::io::Write;

use anyhow::Result;
use physics::OutOfRange;
use physics::air::{MoistAir, exhaust};
use physics::units::{Celsius, HumidityRatio};
use serde::Serializer;

use super::scale::{Kind, Units};

/// Make-up air that stands for a bakery hall: 25 °C and 0.010 kg/kg (common practice).
const MAKE_UP_TEMPERATURE: Celsius = Celsius(25.0);
const MAKE_UP_RATIO: HumidityRatio = HumidityRatio(0.010);
/// One line of the table.
struct Row {
    /// Its key in JSON, before the unit.
    key: &'static str,
    label: &'static str,
    kind: Kind,
    /// In SI; nothing where air of this state has no such value.
    value: Option<f64>,
    /// Said behind the unit.
    note: &'static str,
}

pub(super) struct Report {
    state: Vec<Row>,
    exhaust: Vec<Row>,
}

impl Report {
    pub(super) fn of(air: &MoistAir) -> Result<Self, OutOfRange> {
        Ok(Self { state: state(air), exhaust: exhausted(air)? })
    }

    pub(super) fn write_text(&self, units: Units, out: &mut dyn Write) -> Result<()> {
        for row in &self.state {
            row.write(units, out)?;
        }
        writeln!(out)?;
        if self.exhaust.iter().any(|row| row.value.is_none()) {
            writeln!(out, "As exhaust this air removes no water: it is not moister than the make-up air.")?;
            return Ok(());
        }
        writeln!(out, "As exhaust, for each {} of water that it removes:", units.mass())?;
        for row in &self.exhaust {
            row.write(units, out)?;
        }
        Ok(())
    }

    pub(super) fn write_json(&self, units: Units, out: &mut dyn Write) -> Result<()> {
        let rows = self.state.iter().chain(&self.exhaust);
        let pairs = rows.map(|row| (format!("{}_{}", row.key, units.scale(row.kind).suffix), row.value_in(units)));
        serde_json::Serializer::pretty(&mut *out).collect_map(pairs)?;
        writeln!(out)?;
        Ok(())
    }
}

impl Row {
    fn value_in(&self, units: Units) -> Option<f64> {
        self.value.map(|value| units.scale(self.kind).apply(value))
    }

    fn write(&self, units: Units, out: &mut dyn Write) -> Result<()> {
        let scale = units.scale(self.kind);
        let value = self.value_in(units).map_or_else(|| "-".into(), |value| format!("{value:.*}", scale.decimals));
        let line = format!("{:32}{value:>10}  {} {}", self.label, scale.unit, self.note);
        writeln!(out, "{}", line.trim_end())?;
        Ok(())
    }
}

fn state(air: &MoistAir) -> Vec<Row> {
    let row = |key, label, kind, value, note| Row { key, label, kind, value: Some(value), note };
    let maybe = |key, label, kind, value, note| Row { key, label, kind, value, note };
    let dew_point = air.dew_point().map(|dew_point| dew_point.0);
    let boiling = air.boiling_point().0;
    vec![
        row("dry_bulb", "dry bulb", Kind::Temperature, air.temperature().0, ""),
        row("pressure", "pressure", Kind::Pressure, air.pressure().0, ""),
        maybe("dew_point", "dew point", Kind::Temperature, dew_point, ""),
        row("boiling_point", "boiling point at this pressure", Kind::Temperature, boiling, ""),
        maybe("below_boiling", "dew point below boiling", Kind::Difference, dew_point.map(|t| boiling - t), ""),
        row("wet_bulb", "wet bulb", Kind::Temperature, air.wet_bulb().0, ""),
        row("moisture", "moisture", Kind::Share, air.moisture().0, "vol"),
        row("humidity_ratio", "humidity ratio", Kind::Ratio, air.humidity_ratio().0, "of dry air"),
        row("vapour_pressure", "vapour pressure", Kind::Pressure, air.vapour_pressure().0, ""),
        maybe("relative_humidity", "relative humidity", Kind::Share, air.relative_humidity(), "of saturation"),
        row("enthalpy", "enthalpy", Kind::Enthalpy, air.enthalpy().0, ""),
        row("density", "density", Kind::Density, air.density().0, ""),
        row("specific_volume", "specific volume", Kind::Volume, air.specific_volume().0, "of dry air"),
    ]
}

fn exhausted(air: &MoistAir) -> Result<Vec<Row>, OutOfRange> {
    let supply = MoistAir::from_humidity_ratio(MAKE_UP_TEMPERATURE, MAKE_UP_RATIO, air.pressure())?;
    let each = exhaust::per_water(air, &supply).ok();
    let row = |key, label, kind, value, note| Row { key, label, kind, value, note };
    let supplied = |key, label, kind, value| Row { key, label, kind, value: Some(value), note: "assumed" };
    Ok(vec![
        row("exhaust_dry_air", "dry air that leaves", Kind::Ratio, each.map(|each| each.dry_air), "of water"),
        row("exhaust_volume", "volume that leaves", Kind::Volume, each.map(|each| each.volume.0), "of water"),
        row("exhaust_heat", "heat that leaves", Kind::Heat, each.map(|each| each.heat.0), "of water"),
        row(
            "exhaust_heat_of_air",
            "of it only to heat air",
            Kind::Heat,
            each.map(|each| each.heat_of_air.0),
            "of water",
        ),
        supplied("make_up_temperature", "make-up air, temperature", Kind::Temperature, MAKE_UP_TEMPERATURE.0),
        supplied("make_up_humidity_ratio", "make-up air, humidity ratio", Kind::Ratio, MAKE_UP_RATIO.0),
    ])
}
