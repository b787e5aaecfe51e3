//! What sets the ways of running apart, in words.

use std::io::{self, Write};

use alert::message::moisture_pct;
use normal_profile::{Difference, Normal, WayOfRunning, ZoneDifference};

/// Says how a product is run: how often each way, and by what it differs from the average.
pub(super) fn write(normal: &Normal, out: &mut dyn Write) -> io::Result<()> {
    let ways = normal.ways_of_running();
    if let [_] = ways.as_slice() {
        return writeln!(out, "  ways of running: one");
    }
    writeln!(out, "  ways of running: {}, against their average:", ways.len())?;
    for (way, name) in ways.iter().zip('A'..) {
        writeln!(out, "    {name}  {:.0} % of the windows, about {:.2} m/min", way.share * 100.0, way.speed.0)?;
        for line in apart(way) {
            writeln!(out, "         {line}")?;
        }
    }
    Ok(())
}

/// What sets a way apart, such as "zone 2 4.0 % vol drier, 6 degC hotter".
fn apart(way: &WayOfRunning) -> Vec<String> {
    let zones: Vec<String> =
        way.zones.iter().enumerate().filter_map(|(index, zone)| zone_in_words(index + 1, zone)).collect();
    if zones.is_empty() { vec!["no zone differs clearly at this speed".into()] } else { zones }
}

fn zone_in_words(number: usize, zone: &ZoneDifference) -> Option<String> {
    let side = |difference: f64, more: &'static str, less: &'static str| if difference > 0.0 { more } else { less };
    let humidity = Some(zone.ln_humidity).filter(Difference::is_clear).map(|humidity| {
        let difference = moisture_pct(humidity.own) - moisture_pct(humidity.average);
        format!("{:.1} % vol {}", difference.abs(), side(difference, "wetter", "drier"))
    });
    let temperature = zone.temperature.filter(Difference::is_clear).map(|temperature| {
        let difference = temperature.own - temperature.average;
        format!("{:.0} degC {}", difference.abs(), side(difference, "hotter", "cooler"))
    });
    let told: Vec<String> = humidity.into_iter().chain(temperature).collect();
    (!told.is_empty()).then(|| format!("zone {number} {}", told.join(", ")))
}

#[cfg(test)]
mod tests {
    use physics::units::MetrePerMinute;

    use super::*;

    fn difference(own: f64, average: f64, sd: f64) -> Difference {
        Difference { own, average, sd }
    }

    #[test]
    fn a_way_is_told_by_what_is_clear_of_its_own_spread() {
        // 0.2 kg/kg are 24.3 % vol, 0.17 kg/kg 21.5 % vol (0.622 being the ratio of the molar masses).
        let same = ZoneDifference { ln_humidity: difference(-1.0, -1.01, 0.05), temperature: None };
        let other = ZoneDifference {
            ln_humidity: difference(0.17_f64.ln(), 0.2_f64.ln(), 0.05),
            temperature: Some(difference(246.2, 240.0, 2.0)),
        };
        let way = WayOfRunning { share: 0.4, speed: MetrePerMinute(1.2), zones: vec![same, other] };
        assert_eq!(apart(&way), ["zone 2 2.9 % vol drier, 6 degC hotter"]);
        let alike = WayOfRunning { zones: vec![same], ..way };
        assert_eq!(apart(&alike), ["no zone differs clearly at this speed"]);
    }
}
