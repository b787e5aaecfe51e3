//! The ovens of the benchmark: all invented, each different in one respect.

use bakehouse::{Bakery, Crew, Draw, HumidityProbe, Line};

use crate::family::{self, Family};

/// An oven, how its history goes, and which events it sees.
#[derive(Debug, Clone)]
pub struct Oven {
    /// What sets it apart.
    pub name: &'static str,
    /// Millbrook with this one line.
    pub bakery: Bakery,
    /// How its history goes.
    pub history: Draw,
    /// Families and how many events of each.
    pub families: Vec<(&'static Family, usize)>,
}

/// History with an unmatched rise in three days, as good bakeries have it.
fn usual() -> Draw {
    Draw { weekly_rest: false, ..Draw::default() }
}

/// Events of each family that one of the three reference ovens sees.
const OF_EACH: usize = 11;

/// An oven that sees every family.
fn reference(name: &'static str, line: Line) -> Oven {
    let families = family::ALL.iter().map(|family| (family, OF_EACH)).collect();
    Oven { name, bakery: Bakery::with_line(line), history: usual(), families }
}

/// An oven that sees rises without venting and rises that are met.
fn variant(name: &'static str, line: Line) -> Oven {
    let counts = [("rise 4-7 %", 32), ("rise 7-12 %", 16), ("rise 12-18 %", 16), ("met by dampers", 16)];
    let families = counts.into_iter().filter_map(|(name, count)| Some((family::of_name(name)?, count))).collect();
    Oven { name, bakery: Bakery::with_line(line), history: usual(), families }
}

fn tunnel(zones: usize, length_m: f64) -> Line {
    Line::tunnel("tunnel", zones, length_m)
}

/// Every oven.
#[must_use]
pub fn all() -> Vec<Oven> {
    let by_volume = |line: Line| Line { humidity: HumidityProbe::Moisture, ..line };
    let mut contaminated = variant("5 % bad hours in history", tunnel(4, 28.0));
    // A bad hour is about one hour long: 1.2 a day are 5 % of the time.
    contaminated.history.unmatched_per_day = 1.2;
    let late_crews = Crew::three().into_iter().map(|crew| crew.reacting_within(480.0..900.0)).collect();
    vec![
        reference("4 zones, dew point", tunnel(4, 28.0)),
        reference("5 zones, % vol", by_volume(tunnel(5, 30.0))),
        reference("6 zones, dew point", tunnel(6, 36.0)),
        variant("3 zones, dew point", tunnel(3, 24.0)),
        variant("7 zones, % vol", by_volume(tunnel(7, 42.0))),
        variant("8 zones, dew point", tunnel(8, 48.0)),
        variant("no damper signal", Line { damper_signal: false, ..tunnel(4, 28.0) }),
        variant("no steam signal", Line { steam_signal: false, ..tunnel(4, 28.0) }),
        variant(
            "% vol, neither damper nor steam signal",
            Line { damper_signal: false, steam_signal: false, ..by_volume(tunnel(5, 30.0)) },
        ),
        contaminated,
        variant("crews vent late", Line { crews: late_crews, ..tunnel(4, 28.0) }),
        variant("indirectly fired", Line { firing: bakehouse::Firing::Indirect, ..tunnel(5, 30.0) }),
    ]
}
