//! What people are shown of the table: a block for each product of a shift, with zones as rows.

use reading::Timestamp;

use crate::row::ShiftProfileRow;

/// The rows of one product in one shift of one line.
#[derive(Clone, Copy)]
pub(super) struct Block<'a> {
    /// One row per zone.
    pub(super) zones: &'a [ShiftProfileRow],
    /// Any of them, for what they have in common.
    pub(super) shared: &'a ShiftProfileRow,
}

/// The blocks of a table, in its order.
pub(super) fn blocks(rows: &[ShiftProfileRow]) -> impl Iterator<Item = Block<'_>> {
    let same = |a: &ShiftProfileRow, b: &ShiftProfileRow| {
        (&a.site, &a.line, a.starts, &a.shift, &a.product) == (&b.site, &b.line, b.starts, &b.shift, &b.product)
    };
    rows.chunk_by(same).filter_map(|zones| Some(Block { zones, shared: zones.first()? }))
}

impl Block<'_> {
    pub(super) fn title(&self) -> String {
        format!("{}, {}, {} shift of {}", self.shared.line, self.shared.product, self.shared.shift, self.shared.date)
    }

    pub(super) fn span(&self) -> String {
        let time = |time: Timestamp| match time.to_utc() {
            Some(utc) => utc.format("%Y-%m-%d %H:%M").to_string(),
            None => time.to_string(),
        };
        format!("{} to {} UTC", time(self.shared.starts), time(self.shared.ends))
    }

    /// The figures that all zones share, in words; those that are not known are left out.
    pub(super) fn figures(&self) -> Vec<String> {
        let row = self.shared;
        let mut figures = vec![format!("baked for {:.0} min", row.running_min)];
        if let (Some(mean), Some(max)) = (row.band_speed_m_min_mean, row.band_speed_m_min_max) {
            figures.push(format!("band {mean:.3} m/min, at most {max:.3}"));
        }
        figures.extend(row.bake_time_min_mean.map(|minutes| format!("bake time {minutes:.1} min")));
        figures.extend(row.peak_zone.map(|zone| format!("wettest in zone {zone}")));
        figures.extend(row.drop_1_to_2_pct.map(|drop| match drop {
            0.0.. => format!("falls {drop:.0} % from zone 1 to zone 2"),
            _ => format!("rises {:.0} % from zone 1 to zone 2", -drop),
        }));
        figures.extend(row.zone3_to_peak_pct.map(|share| format!("zone 3 at {share:.0} % of the peak")));
        figures.extend(row.normal_id.as_ref().map(|normal| format!("compared with normal {normal}")));
        figures.push(match row.alerts {
            0 => "no alert".to_owned(),
            1 => "1 alert".to_owned(),
            alerts => format!("{alerts} alerts"),
        });
        figures
    }
}

/// Columns that share a heading.
pub(super) struct Group {
    pub(super) heading: &'static str,
    pub(super) columns: &'static [Shown],
}

/// A column as it is shown.
pub(super) struct Shown {
    pub(super) heading: &'static str,
    decimals: usize,
    value: fn(&ShiftProfileRow) -> Option<f64>,
}

impl Shown {
    const fn new(heading: &'static str, decimals: usize, value: fn(&ShiftProfileRow) -> Option<f64>) -> Self {
        Self { heading, decimals, value }
    }

    /// The value of a row; a dash for what is not known.
    pub(super) fn cell(&self, row: &ShiftProfileRow) -> String {
        (self.value)(row).map_or_else(|| "–".to_owned(), |value| format!("{value:.*}", self.decimals))
    }
}

/// The columns that differ from zone to zone.
pub(super) const GROUPS: &[Group] = &[
    Group { heading: "", columns: &[Shown::new("zone", 0, |row| Some(f64::from(row.zone)))] },
    Group {
        heading: "moisture, % vol",
        columns: &[
            Shown::new("mean", 1, |row| row.moisture_pct_mean),
            Shown::new("5 %", 1, |row| row.moisture_pct_p05),
            Shown::new("50 %", 1, |row| row.moisture_pct_p50),
            Shown::new("95 %", 1, |row| row.moisture_pct_p95),
        ],
    },
    Group { heading: "dew point", columns: &[Shown::new("°C", 1, |row| row.dew_point_c_mean)] },
    Group { heading: "humidity", columns: &[Shown::new("kg/kg", 3, |row| row.humidity_ratio_mean)] },
    Group {
        heading: "air temperature, °C",
        columns: &[
            Shown::new("mean", 1, |row| row.air_temperature_c_mean),
            Shown::new("5 %", 1, |row| row.air_temperature_c_p05),
            Shown::new("95 %", 1, |row| row.air_temperature_c_p95),
        ],
    },
    Group { heading: "damper", columns: &[Shown::new("%", 0, |row| row.exhaust_damper_pct_mean)] },
    Group { heading: "departure", columns: &[Shown::new("", 2, |row| row.departure)] },
    Group { heading: "coverage", columns: &[Shown::new("%", 1, |row| Some(row.coverage_pct))] },
    Group { heading: "readings", columns: &[Shown::new("", 0, |row| Some(row.readings as f64))] },
];
