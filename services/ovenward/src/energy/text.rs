//! The account of a line for a terminal: for the person who fills in the energy report.

use std::io::{self, Write};

use balance::energy::{Baseline, EnergyRecord, Waste};
use physics::combustion::HeatBasis;

use super::account::{Account, BaselineOutcome};
use super::baseline::Comparison;
use super::period::By;
use super::row::EnergyRow;
use crate::config::Settings;

const WIDTH: usize = 112;

/// What goes with every account.
pub(crate) const CAUTION: &str = "Advisory only: exhaust, burner and steam settings belong to the oven maker's limits, local codes and \
    the plant's licensed people.";

/// Writes the accounts, a table and what it says for each line.
///
/// # Errors
/// What `out` reports.
pub(crate) fn write_text(accounts: &[Account], settings: &Settings, by: By, out: &mut dyn Write) -> io::Result<()> {
    for account in accounts {
        write_account(account, settings, by, out)?;
        writeln!(out)?;
    }
    paragraph("", CAUTION, out)
}

fn write_account(account: &Account, settings: &Settings, by: By, out: &mut dyn Write) -> io::Result<()> {
    let line = &settings.plant.lines[account.line.0];
    writeln!(out, "{}, {}: energy by {}", line.id, line.name, by.name())?;
    let currency = settings.costs.as_ref().map_or("cost", |costs| costs.currency.as_str());
    write_table(account, currency, out)?;
    writeln!(out)?;
    for (heading, text) in statements(account, settings, currency) {
        paragraph(&heading, &text, out)?;
    }
    for missing in &account.missing {
        paragraph("Missing", &missing.to_string(), out)?;
    }
    Ok(())
}

/// A column of figures; one that nobody knows anything of is not shown.
struct Figure {
    heading: String,
    unit: &'static str,
    decimals: usize,
    value: fn(&EnergyRow) -> Option<f64>,
}

fn figures(currency: &str) -> Vec<Figure> {
    let figure = |heading: &str, unit, decimals, value| Figure { heading: heading.into(), unit, decimals, value };
    vec![
        figure("baked", "h", 1, |row: &EnergyRow| Some(row.record.baking_h)),
        figure("good", "t", 2, |row| row.record.good_kg.map(|good| good / 1000.0)),
        figure("EnPI", "kWh/t", 0, |row| row.record.kwh_per_t),
        figure("zone 3", "% vol", 1, |row| row.record.late_moisture_pct()),
        figure("peak", "% vol", 1, |row| row.record.peak().map(|(_, moisture)| moisture)),
        figure("band", "m/min", 2, |row| row.record.band_speed_m_min),
        figure("energy", "kWh", 0, |row| row.record.energy_kwh),
        figure("idle", "kWh", 0, |row| row.record.idle_kwh),
        figure(currency, "", 0, |row| row.record.cost),
        figure("CO2", "kg", 0, |row| row.record.co2_kg),
        figure("expected", "kWh", 0, |row| row.expected_kwh),
        figure("saving", "kWh", 0, |row| row.saving_kwh),
        figure("CUSUM", "kWh", 0, |row| row.cusum_kwh),
        figure("known", "%", 0, |row| Some(row.record.coverage_pct)),
    ]
}

fn write_table(account: &Account, currency: &str, out: &mut dyn Write) -> io::Result<()> {
    let rows = &account.rows;
    let mut columns: Vec<Vec<String>> = vec![
        std::iter::once("period".into())
            .chain([String::new()])
            .chain(rows.iter().map(|row| row.period.clone()))
            .collect(),
    ];
    if rows.iter().any(|row| row.products != row.period) {
        let products = rows.iter().map(|row| row.products.clone());
        columns.push(["product".into(), String::new()].into_iter().chain(products).collect());
    }
    let left = columns.len();
    for figure in figures(currency) {
        if rows.iter().all(|row| (figure.value)(row).is_none()) {
            continue;
        }
        let cell = |row: &EnergyRow| match (figure.value)(row) {
            Some(value) => rounded(value, figure.decimals),
            None => "–".into(),
        };
        columns.push([figure.heading, figure.unit.into()].into_iter().chain(rows.iter().map(cell)).collect());
    }
    let widths: Vec<usize> =
        columns.iter().map(|column| column.iter().map(|cell| cell.chars().count()).max().unwrap_or(0)).collect();
    for line in 0..rows.len() + 2 {
        let cells = columns.iter().zip(&widths).enumerate().map(|(place, (column, width))| {
            let cell = &column[line];
            if place < left { format!("{cell:<width$}") } else { format!("{cell:>width$}") }
        });
        writeln!(out, "{}", cells.collect::<Vec<_>>().join("  ").trim_end())?;
    }
    Ok(())
}

/// A number with so many decimals, and no minus before nought.
fn rounded(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.chars().all(|digit| matches!(digit, '0' | '.')) => digits.to_owned(),
        _ => text,
    }
}

/// What the account says, heading by heading.
fn statements(account: &Account, settings: &Settings, currency: &str) -> Vec<(String, String)> {
    let whole = &account.whole.record;
    let mut said = vec![("Together".to_owned(), together(whole, currency))];
    let energy = &settings.energy.settings;
    if let (Some(gas), Some(value)) = (whole.gas_m3, energy.gas) {
        let basis = if value.basis == HeatBasis::Gross { "gross" } else { "net" };
        let (gross, net) = (value.gross_kwh(gas), value.net_kwh(gas));
        let stated = format!("{gas:.0} m3 of {} kWh/m3 {basis}: {gross:.0} kWh gross, {net:.0} net", value.kwh_per_m3);
        said.push(("Gas".into(), stated + ". Sums and prices are gross."));
    }
    if let (Some(kg), Some(kwh)) = (whole.steam_kg, whole.steam_kwh) {
        let share = 100.0 * energy.boiler.boiler.efficiency;
        said.push(("Steam".into(), format!("{kg:.0} kg: {kwh:.0} kWh of boiler fuel (gross, {share:.0} % boiler).")));
    }
    if let Some(factor) = energy.carbon.gas.as_ref().filter(|_| whole.co2_kg.is_some()) {
        let text = format!("gas {} kg per gross kWh, of: {}.", factor.kg_per_kwh, factor.source);
        said.push(("CO2".into(), text));
    }
    let priced = |of: &str, waste: Waste| {
        let cost = EnergyRecord::cost_of(Some(waste), energy);
        let cost = cost.map_or_else(String::new, |cost| format!(", {cost:.0} {currency}"));
        format!("{:.0} kg of {of}, {:.0} kWh{cost}", waste.kg, waste.kwh)
    };
    if let Some(waste) = whole.over_steaming {
        let limit = energy.useful_steam.0;
        let meaning = format!(
            "steam that product was under for longer than {limit} s, or with no product in the oven; an estimate."
        );
        said.push(("Over-steaming".into(), format!("{}: {meaning}", priced("steam", waste))));
    }
    if let Some(excess) = whole.excess_moisture {
        let by = match excess.most_by_zone {
            Some(zone) => format!("by the learned water balance most of it by the exhaust of zone {zone}"),
            None => "an estimate, as if all zones drew alike: no water balance was learned for all of the time".into(),
        };
        let meaning = format!("left zone 3 and later above the approved normal; {by}.");
        said.push(("Excess moisture".into(), format!("{}: {meaning}", priced("water", excess.waste))));
    }
    said.extend(baseline(&account.baseline, settings));
    said
}

fn together(whole: &EnergyRecord, currency: &str) -> String {
    let mut parts = Vec::new();
    parts.extend(whole.good_kg.map(|good| format!("{:.1} t good product", good / 1000.0)));
    parts.extend(whole.evaporated_kg.map(|water| format!("{:.1} t water evaporated", water / 1000.0)));
    parts.extend(whole.energy_kwh.map(|energy| format!("{energy:.0} kWh")));
    if let (Some(idle), Some(energy)) = (whole.idle_kwh, whole.energy_kwh) {
        parts.push(format!("{:.1} % of it with no dough entering", 100.0 * idle / energy));
    }
    // Never one without the other.
    match (whole.kwh_per_t, whole.late_moisture_pct()) {
        (Some(each), Some(moisture)) => {
            parts.push(format!("EnPI {each:.0} kWh/t at {moisture:.1} % vol in zone 3"));
        }
        (Some(each), None) => parts.push(format!("EnPI {each:.0} kWh/t, moisture of zone 3 unknown")),
        _ => {}
    }
    parts.extend(whole.cost.map(|cost| format!("{cost:.0} {currency}")));
    parts.extend(whole.co2_kg.map(|co2| format!("{:.1} t CO2", co2 / 1000.0)));
    parts.join(", ") + ". kWh/t also falls when bread leaves the oven wetter: read it beside the moisture."
}

fn baseline(outcome: &BaselineOutcome, settings: &Settings) -> Vec<(String, String)> {
    let heading = || "Baseline (EnB)".to_owned();
    match outcome {
        BaselineOutcome::NotAsked => {
            let text = "none: write baseline_from and baseline_to in [energy], or --baseline-from and --baseline-to.";
            vec![(heading(), text.into())]
        }
        BaselineOutcome::Refused(why) => vec![(heading(), format!("refused: {why}. Without it there is no saving."))],
        BaselineOutcome::Stands(stands) => {
            let (baseline, comparison) = &**stands;
            vec![(heading(), equation(baseline, settings)), ("Saving".into(), saved(comparison))]
        }
    }
}

fn equation(baseline: &Baseline, settings: &Settings) -> String {
    let quality = baseline.quality;
    let terms = baseline.variables.iter().zip(baseline.fit.coefficients.iter().zip(&baseline.fit.errors));
    let terms = terms.map(|(variable, (slope, error))| {
        let sign = if *slope < 0.0 { '-' } else { '+' };
        format!(" {sign} {:.0} (±{error:.0}) kWh/{} x {}", slope.abs(), variable.unit, variable.name)
    });
    let mut text = format!("kWh a shift = {:.0}{}", baseline.fit.constant, terms.collect::<String>());
    let date = |time| settings.plant.shifts.date_and_time(time).chars().take(10).collect::<String>();
    text += &format!(
        "; {} shifts of {} to {}, R2 {:.2}, CV(RMSE) {:.1} %, NMBE {:+.1} % (last third foreseen from the first two).",
        quality.records,
        date(baseline.from),
        date(baseline.to),
        quality.r2,
        100.0 * quality.cv_rmse,
        100.0 * quality.nmbe
    );
    if !baseline.left_out.is_empty() {
        let names: Vec<&str> = baseline.left_out.iter().map(|variable| variable.name.as_str()).collect();
        text += &format!(" Not significant, left out: {}.", names.join(", "));
    }
    if quality.r2 < 0.75 {
        text += " Energy hardly varied then, so that R2 says little and CV(RMSE) counts.";
    }
    text + " Static factors (zones, burners, shift pattern) are taken as unchanged: if one changed, make it anew."
}

fn saved(comparison: &Comparison) -> String {
    let saving = &comparison.saving;
    if saving.each_kwh.is_empty() {
        return "no shift of the period could be compared: see their coverage.".into();
    }
    let mut text = format!(
        "{:.0} kWh ± {:.0} (95 %), {:+.1} % of the {:.0} expected, over {} shifts{}.",
        saving.kwh(),
        saving.uncertainty_kwh,
        100.0 * saving.share(),
        saving.expected_kwh,
        saving.each_kwh.len(),
        if saving.is_certain() { "" } else { ": no more than scatter" }
    );
    match &comparison.turn {
        Some((turn, shift)) => {
            text += &format!(
                " The CUSUM turned with the {} shift of {}: from {:+.0} to {:+.0} kWh a shift.",
                shift.name, shift.date, turn.before_kwh, turn.after_kwh
            );
        }
        None => text += " The CUSUM turned nowhere that stands out.",
    }
    if comparison.not_compared > 0 {
        let shifts = if comparison.not_compared == 1 { "shift is" } else { "shifts are" };
        text += &format!(
            " {} {shifts} left out: incomplete, with a product that the baseline does not know, or of a kind that it \
             has not seen.",
            comparison.not_compared
        );
    }
    for (variable, shifts) in &comparison.beyond {
        text += &format!(" Extrapolated: {variable} lies beyond the baseline's range in {shifts} shifts.");
    }
    text
}

/// A heading and its text, wrapped, the text indented by the heading.
fn paragraph(heading: &str, text: &str, out: &mut dyn Write) -> io::Result<()> {
    let indent = if heading.is_empty() { 0 } else { 17 };
    let mut line = format!("{heading:<indent$}");
    let mut is_first = true;
    for word in text.split_whitespace() {
        if !is_first && line.chars().count() + 1 + word.chars().count() > WIDTH {
            writeln!(out, "{}", line.trim_end())?;
            line = " ".repeat(indent);
            is_first = true;
        }
        if !is_first {
            line.push(' ');
        }
        line.push_str(word);
        is_first = false;
    }
    writeln!(out, "{}", line.trim_end())
}
