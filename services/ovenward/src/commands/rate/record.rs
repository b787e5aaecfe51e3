//! `rate propose|agree|made|list|show|follow-up`: the record of a rate change.

use std::io::{self, Write};

use balance::review::{RemedyKind, Review};
use balance::{LOOKED_AT_AFTER, RateChange, Role, Signature};
use clap::{Args, ValueEnum};
use reading::{Line, Product, ShiftCalendar, Timestamp};
use store::Store;

use super::{Place, line_and_product, reviewed};
use crate::cli::moment;
use crate::commands::TextOrJson;
use crate::config::Settings;
use crate::failure::Failure;
use crate::rate_changes::{all, changed, named, record, refused};
use crate::service::PlantClock;

/// What is proposed.
#[derive(Debug, Args)]
pub(super) struct ProposeArguments {
    #[command(flatten)]
    place: Place,
    /// What it is for; it is kept with the record.
    #[arg(long)]
    reason: String,
    /// What else is to be done; nothing but the band is touched without it.
    #[arg(long, value_enum)]
    remedy: Option<RemedyName>,
    /// Who proposes it.
    #[arg(long, value_name = "NAME")]
    by: String,
}

/// Who agrees.
#[derive(Debug, Args)]
pub(super) struct AgreeArguments {
    /// The record, such as tunnel-1/rate/3.
    id: String,
    /// In which role.
    #[arg(long = "as", value_enum)]
    role: RoleName,
    /// Who agrees.
    #[arg(long, value_name = "NAME")]
    by: String,
}

/// When it was made.
#[derive(Debug, Args)]
pub(super) struct MadeArguments {
    /// The record, such as tunnel-1/rate/3.
    id: String,
    /// When the band came to run at the new speed: RFC 3339; now without it.
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Who made it.
    #[arg(long, value_name = "NAME")]
    by: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum RemedyName {
    ShortenSteam,
    OpenExhaust,
    SlowBand,
    RaiseTemperature,
    AddZone,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum RoleName {
    Production,
    Process,
    Maintenance,
}

/// Proposes a rate change, with what the balance foretells of it.
pub(super) fn propose(
    settings: &Settings,
    store: &Store,
    arguments: &ProposeArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let (line, product) = line_and_product(settings, &arguments.place.line, &arguments.place.product)?;
    let review = reviewed(settings, line, product, arguments.place.speed(line)?)?;
    let signature = Signature::of(&arguments.by, PlantClock::Machine.now()).map_err(|why| refused("--by", &why))?;
    let change = proposed(store, &review, line, product, arguments.remedy.map(kind), &arguments.reason, signature)?;
    write(&change, &settings.plant.shifts, out)
}

/// Keeps a new record with what a review foretells, nothing touched but the band or with one of its remedies.
///
/// # Errors
/// The review has no such remedy (usage), or the store cannot be used.
pub(crate) fn proposed(
    store: &Store,
    review: &Review,
    line: &Line,
    product: &Product,
    remedy: Option<RemedyKind>,
    reason: &str,
    proposed: Signature,
) -> Result<RateChange, Failure> {
    let (profile, to_m_min) = match remedy {
        None => (&review.untouched, review.speed_m_min),
        Some(kind) => {
            let found = review.remedies.iter().find(|remedy| remedy.kind == kind).ok_or_else(|| {
                Failure::usage(format!(
                    "the review of this speed has no remedy {}; choose one that it has",
                    kind.name()
                ))
            })?;
            (&found.profile, found.profile.speed_m_min)
        }
    };
    store.change_rate(|known| {
        let of_line = known.iter().filter(|record| *record.line == *line.id).count();
        let change = RateChange {
            id: format!("{}/rate/{}", line.id, of_line + 1),
            line: line.id.to_string(),
            product: product.code.to_string(),
            from_m_min: review.usual_speed_m_min,
            to_m_min,
            remedy,
            reason: reason.to_owned(),
            balance: review.balance.clone(),
            foretold: profile.zones.clone(),
            carryover_chance_pct: profile.carryover_chance_pct,
            proposed,
            agreed: Vec::new(),
            made: None,
            outcome: None,
        };
        Ok::<_, Failure>((record(&change)?, change))
    })
}

/// Notes that a role agrees.
pub(super) fn agree(
    settings: &Settings,
    store: &Store,
    arguments: &AgreeArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let role = match arguments.role {
        RoleName::Production => Role::Production,
        RoleName::Process => Role::Process,
        RoleName::Maintenance => Role::Maintenance,
    };
    let now = PlantClock::Machine.now();
    let change = changed(store, &arguments.id, |change| change.agree(role, &arguments.by, now))?;
    write(&change, &settings.plant.shifts, out)
}

/// Notes that it was made.
pub(super) fn made(
    settings: &Settings,
    store: &Store,
    arguments: &MadeArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let now = PlantClock::Machine.now();
    let given =
        arguments.at.as_ref().map(|text| moment(text, settings).map_err(|why| Failure::usage(format!("--at {why}"))));
    let at = given.transpose()?.unwrap_or(now);
    if at > now {
        return Err(Failure::usage(format!("--at {at} has not come yet; write a time that is over, or none for now")));
    }
    let change = changed(store, &arguments.id, |change| change.make(&arguments.by, at))?;
    write(&change, &settings.plant.shifts, out)
}

/// Lists the records.
pub(super) fn list(settings: &Settings, store: &Store, format: TextOrJson, out: &mut dyn Write) -> Result<(), Failure> {
    let changes = all(store)?;
    if changes.is_empty() {
        return Err(Failure::NoData("no rate change has been proposed; `ovenward rate propose` proposes one".into()));
    }
    if format == TextOrJson::Json {
        return Ok(writeln!(out, "{}", serde_json::to_string_pretty(&changes)?)?);
    }
    writeln!(
        out,
        "{:<20} {:<8} {:>14}  {:<10} {:<17} {:<12} what now",
        "record", "product", "m/min", "state", "proposed", "by"
    )?;
    for change in changes {
        let speeds = format!("{:.2} to {:.2}", change.from_m_min, change.to_m_min);
        let at = settings.plant.shifts.date_and_time(change.proposed.at);
        writeln!(
            out,
            "{:<20} {:<8} {speeds:>14}  {:<10} {at:<17} {:<12} {}",
            change.id,
            change.product,
            change.state(),
            change.proposed.by,
            what_now(&change, &settings.plant.shifts)
        )?;
    }
    Ok(())
}

/// What a record waits for, or what came of it.
fn what_now(change: &RateChange, calendar: &ShiftCalendar) -> String {
    if let Some(outcome) = &change.outcome {
        let inside = outcome.zones.iter().filter(|zone| zone.inside).count();
        return format!("{inside} of {} zones as foretold", outcome.zones.len());
    }
    if let Some(made) = &change.made {
        return format!("looked at from {}", calendar.date_and_time(made.at + LOOKED_AT_AFTER));
    }
    let missing: Vec<&str> = change.not_agreed().into_iter().map(Role::name).collect();
    if missing.is_empty() { "may be made".into() } else { format!("{} to agree", missing.join(", ")) }
}

/// Shows one record.
pub(super) fn show(
    settings: &Settings,
    store: &Store,
    id: &str,
    format: TextOrJson,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let change = named(&store.rate_changes()?, id)?;
    match format {
        TextOrJson::Json => Ok(writeln!(out, "{}", serde_json::to_string_pretty(&change)?)?),
        TextOrJson::Text => write(&change, &settings.plant.shifts, out),
    }
}

pub(super) fn write(change: &RateChange, calendar: &ShiftCalendar, out: &mut dyn Write) -> Result<(), Failure> {
    let touched = change.remedy.map_or("nothing touched but the band", RemedyKind::name);
    writeln!(
        out,
        "{}  {}  {:.2} to {:.2} m/min, {touched}: {}",
        change.id,
        change.product,
        change.from_m_min,
        change.to_m_min,
        change.state()
    )?;
    writeln!(out, "  for        {}", change.reason)?;
    let signed = |what: &str, by: &str, at: Timestamp, out: &mut dyn Write| -> io::Result<()> {
        writeln!(out, "  {what:<10} {}  {by}", calendar.date_and_time(at))
    };
    signed("proposed", &change.proposed.by, change.proposed.at, out)?;
    for role in Role::ALL {
        match change.agreed.iter().find(|agreement| agreement.role == role) {
            Some(agreement) => signed(role.name(), &agreement.signed.by, agreement.signed.at, out)?,
            None => writeln!(out, "  {:<10} not agreed", role.name())?,
        }
    }
    if let Some(made) = &change.made {
        signed("made", &made.by, made.at, out)?;
    }
    let foretold = |zone: &balance::review::ZoneProfile| format!("{:.1}", zone.moisture_pct);
    let zones: Vec<String> = change.foretold.iter().map(foretold).collect();
    writeln!(
        out,
        "  foretold   {} % vol, chance of carryover {:.0} %, by balance {}",
        zones.join(", "),
        change.carryover_chance_pct,
        change.balance
    )?;
    let Some(outcome) = &change.outcome else { return Ok(()) };
    signed("looked at", &outcome.looked.by, outcome.looked.at, out)?;
    for zone in &outcome.zones {
        let told = &zone.foretold;
        let mark = if zone.inside { "as foretold" } else { "NOT as foretold" };
        writeln!(
            out,
            "  zone {:<5} came {:.1} % vol, foretold {:.1} ({:.1} to {:.1}): {mark}",
            told.zone, zone.came_pct, told.moisture_pct, told.low_pct, told.high_pct
        )?;
    }
    Ok(writeln!(out, "  over {:.1} h at rest at the new speed in the 24 h after", outcome.hours)?)
}

fn kind(name: RemedyName) -> RemedyKind {
    match name {
        RemedyName::ShortenSteam => RemedyKind::ShortenSteam,
        RemedyName::OpenExhaust => RemedyKind::OpenExhaust,
        RemedyName::SlowBand => RemedyKind::SlowBand,
        RemedyName::RaiseTemperature => RemedyKind::RaiseTemperature,
        RemedyName::AddZone => RemedyKind::AddZone,
    }
}
