//! The review for a terminal of 100 columns.

use std::io::{self, Write};

use balance::review::{NOT_CONFIGURED, Profile, Remedy, Review, Setting, ZoneAlone, ZoneProfile};

use super::Sheet;

/// Less product than this, t/h, is not worth a word.
const LOST_T_H: f64 = 0.0005;

pub(super) fn write(sheet: &Sheet<'_>, out: &mut dyn Write) -> io::Result<()> {
    let review = sheet.review;
    writeln!(
        out,
        "{} {} at {:.2} m/min: bake time {:.1} min, {:+.1} % against the usual {:.2} m/min",
        sheet.line.id,
        sheet.product.code,
        review.speed_m_min,
        review.bake_time_min,
        sheet.faster_pct(),
        review.usual_speed_m_min
    )?;
    for told in where_from(review) {
        writeln!(out, "  {told}")?;
    }
    profiles(review, out)?;
    for told in carried(review) {
        writeln!(out, "  {told}")?;
    }
    writeln!(out, "\n  What can be done, best first (all at {:.2} m/min unless said)", review.speed_m_min)?;
    for (place, one) in review.remedies.iter().enumerate() {
        remedy(place + 1, one, sheet, out)?;
    }
    list("The history cannot tell", &review.untold, out)?;
    list("Not configured", &review.not_configured, out)?;
    writeln!(out)?;
    wrap(review.caution, "  ", out)
}

/// Which models answer, and how far from what they know.
pub(super) fn where_from(review: &Review) -> Vec<String> {
    let outside = |pct: f64| match pct {
        pct if pct > 0.05 => format!("{pct:.1} % outside the speeds it was learned at: EXTRAPOLATED"),
        _ => "inside the speeds it was learned at".into(),
    };
    let mut told = vec![format!("water balance {}: {}", review.balance, outside(review.outside_history_pct))];
    if let (Some(normal), Some(pct)) = (&review.normal, review.outside_normal_pct) {
        told.push(format!("learned normal {normal}: {}", outside(pct)));
    }
    if let Some(exposure) = review.steam_exposure_s {
        let longest = physics::steam::injection::LONGEST_USEFUL_EXPOSURE.0;
        let waste = if exposure > longest {
            format!("; longer than {longest:.0} s is waste (common practice)")
        } else {
            String::new()
        };
        told.push(format!("dough meets the steam for {exposure:.0} s{waste}"));
    }
    told
}

fn profiles(review: &Review, out: &mut dyn Write) -> io::Result<()> {
    let columns: Vec<(&str, &[ZoneProfile])> = [
        ("usual", Some(&review.usual.zones)),
        ("untouched", Some(&review.untouched.zones)),
        ("as crews would", Some(&review.practised.zones)),
        ("learned normal", review.by_normal.as_ref()),
    ]
    .into_iter()
    .filter_map(|(name, zones)| zones.map(|zones| (name, zones.as_slice())))
    .collect();
    let names: Vec<String> = columns.iter().map(|(name, _)| format!("{name:>18}")).collect();
    writeln!(out, "\n  Moisture, % vol {} {:>8}", names.join(""), "ceiling")?;
    for index in 0..review.untouched.zones.len() {
        let cell = |zones: &[ZoneProfile]| {
            let band =
                |zone: &ZoneProfile| format!("{:.1} ({:.1}-{:.1})", zone.moisture_pct, zone.low_pct, zone.high_pct);
            format!("{:>18}", zones.get(index).map_or_else(|| "-".into(), band))
        };
        let cells: Vec<String> = columns.iter().map(|(_, zones)| cell(zones)).collect();
        let ceiling = review.ceilings.iter().find(|ceiling| ceiling.zone == index + 1);
        let above = ceiling.is_some_and(|ceiling| review.untouched.moisture_pct(ceiling.zone) > ceiling.moisture_pct);
        writeln!(
            out,
            "  {:<16}{} {:>8}{}",
            format!("zone {}", index + 1),
            cells.join(""),
            ceiling.map_or_else(String::new, |ceiling| format!("{:.1}", ceiling.moisture_pct)),
            if above { "  ! above" } else { "" }
        )?;
    }
    let chances = [&review.usual, &review.untouched, &review.practised];
    let chances: Vec<String> =
        chances.iter().map(|profile| format!("{:>18}", chance(profile.carryover_chance_pct))).collect();
    writeln!(out, "  {:<16}{}", "carryover", chances.join(""))?;
    writeln!(
        out,
        "  usual: at {:.2} m/min; untouched: nothing moved but the band; ! above: its ceiling\n",
        review.usual_speed_m_min
    )
}

/// The highest speeds that this oven carries, in words.
pub(super) fn carried(review: &Review) -> Vec<String> {
    let told = |what: &str, speed: Option<f64>| match speed {
        Some(speed) => format!("{what}: {speed:.2} m/min"),
        None => format!("{what}: not even the usual {:.2} m/min", review.usual_speed_m_min),
    };
    vec![
        format!(
            "Highest speed this oven carries (chance of carryover at most {:.0} %)",
            review.carried.accepted_chance_pct
        ),
        told("  nothing touched but the band", review.carried.untouched_m_min),
        told("  exhaust open from zone 2 on", review.carried.exhaust_open_m_min),
    ]
}

fn remedy(place: usize, remedy: &Remedy, sheet: &Sheet<'_>, out: &mut dyn Write) -> io::Result<()> {
    let mark = if remedy.suffices { "suffices" } else { "does not suffice alone" };
    writeln!(out, "\n  {place}. {} ({mark})", remedy.kind.name())?;
    wrap(&settings(&remedy.settings), "     set      ", out)?;
    for told in alone(remedy) {
        wrap(&told, "     alone    ", out)?;
    }
    wrap(&holds(&remedy.profile), "     holds    ", out)?;
    wrap(&takes(remedy), "     takes    ", out)?;
    wrap(&money(remedy, sheet.currency()), "     money    ", out)?;
    wrap(&remedy.reason, "     why      ", out)?;
    wrap(remedy.caution, "     mind     ", out)
}

pub(super) fn settings(settings: &[Setting]) -> String {
    if settings.is_empty() {
        return "nothing has to be moved".into();
    }
    let one = |setting: &Setting| {
        let decimals = if setting.of.starts_with("band") { 2 } else { usize::from(setting.to < 100.0) };
        let zone = setting.zone.map_or_else(String::new, |zone| format!("zone {zone} "));
        format!("{zone}{} {:.decimals$} to {:.decimals$}", setting.of, setting.from, setting.to)
    };
    settings.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// What each zone set alone does, a line each.
pub(super) fn alone(remedy: &Remedy) -> Vec<String> {
    let one = |alone: &ZoneAlone| {
        let enough = if alone.suffices { "suffices" } else { "does not suffice" };
        let zones: Vec<String> = alone.moisture_pct.iter().map(|moisture| format!("{moisture:.1}")).collect();
        format!(
            "{}: {} % vol; chance of carryover {}, which {enough}; {:+.0} kWh/h against untouched",
            settings(std::slice::from_ref(&alone.setting)),
            zones.join(", "),
            chance(alone.carryover_chance_pct),
            alone.further_kwh_h
        )
    };
    remedy.zones_alone.iter().map(one).collect()
}

pub(super) fn holds(profile: &Profile) -> String {
    let zones: Vec<String> = profile.zones.iter().map(|zone| format!("{:.1}", zone.moisture_pct)).collect();
    format!(
        "{} % vol; chance of carryover {}; bake loss {:.1} %",
        zones.join(", "),
        chance(profile.carryover_chance_pct),
        profile.bake_loss_pct
    )
}

/// No prediction is certain.
pub(super) fn chance(pct: f64) -> String {
    match pct {
        pct if pct < 1.0 => "below 1 %".into(),
        pct if pct > 99.0 => "above 99 %".into(),
        pct => format!("{pct:.0} %"),
    }
}

pub(super) fn takes(remedy: &Remedy) -> String {
    let energy = &remedy.profile.energy;
    let lost = match remedy.lost_t_h {
        lost if lost > LOST_T_H => format!("; {:.0} kg/h of product less than untouched", 1000.0 * lost),
        _ => String::new(),
    };
    format!(
        "{:.0} kWh/h, {:.0} kWh/t for {:.2} t/h; {:+.0} kWh/h against untouched{lost}",
        energy.bought_kwh_h, energy.bought_kwh_t, energy.good_t_h, remedy.further_kwh_h
    )
}

pub(super) fn money(remedy: &Remedy, currency: &str) -> String {
    let amount = |name: &str, value: Option<f64>, decimals: usize, per: &str| {
        let value = value.map(|value| if value.abs() < 0.005 { 0.0 } else { value });
        let shown =
            value.map_or_else(|| NOT_CONFIGURED.to_owned(), |value| format!("{value:.decimals$} {currency}{per}"));
        format!("{name} {shown}")
    };
    let mut told = vec![amount("energy", remedy.profile.energy.cost_per_h, 2, "/h")];
    if remedy.lost_t_h > LOST_T_H {
        told.push(amount("lost margin", remedy.lost_margin_per_h, 2, "/h"));
    }
    if remedy.capital != Some(0.0) {
        told.push(amount("capital", remedy.capital, 0, ""));
        told.push(amount("that is", remedy.capital_per_year, 0, " a year"));
    }
    told.push(amount("net gain", remedy.net_gain_per_year, 0, " a year against the usual speed"));
    told.join("; ")
}

fn list(title: &str, told: &[String], out: &mut dyn Write) -> io::Result<()> {
    if told.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  {title}")?;
    told.iter().try_for_each(|line| wrap(line, "  - ", out))
}

/// Breaks a text at 100 columns, the lines after the first under its beginning.
fn wrap(text: &str, first: &str, out: &mut dyn Write) -> io::Result<()> {
    let mut line = first.to_owned();
    let indent = " ".repeat(first.chars().count());
    for word in text.split_whitespace() {
        if line.chars().count() + 1 + word.chars().count() > 100 {
            writeln!(out, "{}", line.trim_end())?;
            line.clone_from(&indent);
        }
        if !line.ends_with(' ') {
            line.push(' ');
        }
        line.push_str(word);
    }
    writeln!(out, "{}", line.trim_end())
}
