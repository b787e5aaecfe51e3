//! Answers states in bulk, for comparison with other libraries: one comma-separated question a
//! line on standard input, the answer on the same line of standard output.
//!
//! | question | answer |
//! | --- | --- |
//! | `saturation_pressure,t` | p |
//! | `saturation_temperature,p` | t |
//! | `liquid,t,p` and `vapour,t,p` | v, h, s, cp, speed of sound |
//! | `air,t,t_dew,p` | moisture, humidity ratio, enthalpy, density, specific volume, wet bulb |
//!
//! Units: °C, Pa, m³/kg, J/kg, J/(kg K), m/s, kg/m³. A state out of range answers `error,…`.
#![allow(clippy::print_stdout)]

use std::io::{BufRead, Write};

use physics::OutOfRange;
use physics::air::MoistAir;
use physics::saturation;
use physics::steam::{self, State};
use physics::units::{Celsius, Pascal};

fn main() -> std::io::Result<()> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        match answer(&line) {
            Ok(values) => {
                let values: Vec<String> = values.iter().map(f64::to_string).collect();
                writeln!(out, "{}", values.join(","))?;
            }
            Err(error) => writeln!(out, "error,{error}")?,
        }
    }
    out.flush()
}

fn answer(line: &str) -> Result<Vec<f64>, Box<dyn std::error::Error>> {
    let mut parts = line.split(',');
    let kind = parts.next().unwrap_or_default();
    let numbers = parts.map(str::parse).collect::<Result<Vec<f64>, _>>()?;
    Ok(match (kind, numbers.as_slice()) {
        ("saturation_pressure", &[t]) => vec![saturation::pressure(Celsius(t))?.0],
        ("saturation_temperature", &[p]) => vec![saturation::temperature(Pascal(p))?.0],
        ("liquid", &[t, p]) => properties(&steam::liquid(Celsius(t), Pascal(p))?),
        ("vapour", &[t, p]) => properties(&steam::vapour(Celsius(t), Pascal(p))?),
        ("air", &[t, dew_point, p]) => air(t, dew_point, p)?,
        _ => return Err(format!("no such question: {line}").into()),
    })
}

fn properties(state: &State) -> Vec<f64> {
    vec![state.volume.0, state.enthalpy.0, state.entropy.0, state.heat_capacity.0, state.sound_speed.0]
}

fn air(t: f64, dew_point: f64, p: f64) -> Result<Vec<f64>, OutOfRange> {
    let air = MoistAir::from_dew_point(Celsius(t), Celsius(dew_point), Pascal(p))?;
    Ok(vec![
        air.moisture().0,
        air.humidity_ratio().0,
        air.enthalpy().0,
        air.density().0,
        air.specific_volume().0,
        air.wet_bulb().0,
    ])
}
