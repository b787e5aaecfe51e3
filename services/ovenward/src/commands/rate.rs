//! `ovenward rate`: a rate change reviewed before it is made, and its record.

mod follow_up;
mod html;
mod picture;
mod record;
mod text;

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;

use anyhow::Context;
use balance::review::{Prices, Question, Review, review};
use clap::{Args, Subcommand, ValueEnum};
use normal_profile::Normal;
use physics::units::MetrePerMinute;
use reading::{Firing, Line, Product};
use store::Store;

use super::TextOrJson;
use crate::balance_files::BalanceFiles;
use crate::config::Settings;
use crate::failure::Failure;
use crate::normal_files::{NormalFiles, is_approved};

pub(crate) use follow_up::looked_at;
pub(crate) use record::proposed;

/// Share of burnt heat that reaches the zones of an indirectly fired oven (common practice).
const INDIRECT_BURNER_EFFICIENCY: f64 = 0.8;
/// Speeds so many times slower or faster than usual are no rate change.
const FARTHEST: f64 = 2.0;

/// Reviews a rate change if nothing else is said.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct RateArguments {
    #[command(flatten)]
    place: Option<Place>,
    /// How the review is written.
    #[arg(long, value_enum, default_value_t = RateFormat::Text)]
    format: RateFormat,
    /// Into this file instead of stdout.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(subcommand)]
    what: Option<RateCommand>,
}

/// Which rate change.
#[derive(Debug, Args)]
struct Place {
    /// The line.
    #[arg(long)]
    line: String,
    /// The product's code.
    #[arg(long)]
    product: String,
    /// Band speed asked for, m/min.
    #[arg(long, value_name = "V", required_unless_present = "bake_time", conflicts_with = "bake_time")]
    speed: Option<f64>,
    /// Or the time in the oven asked for, min.
    #[arg(long, value_name = "M")]
    bake_time: Option<f64>,
}

#[derive(Debug, Subcommand)]
enum RateCommand {
    /// Propose a rate change: its review is kept, for others to agree to.
    Propose(record::ProposeArguments),
    /// Agree for production, process or maintenance.
    Agree(record::AgreeArguments),
    /// Say that the band now runs so; all three must have agreed.
    Made(record::MadeArguments),
    /// Hold what was foretold against what came, a day after.
    FollowUp(follow_up::FollowUpArguments),
    /// The records.
    List {
        /// How they are printed.
        #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
        format: TextOrJson,
    },
    /// One record.
    Show {
        /// Such as tunnel-1/rate/3.
        id: String,
        /// How it is printed.
        #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
        format: TextOrJson,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum RateFormat {
    /// For people.
    Text,
    /// For programs.
    Json,
    /// One sheet to print.
    Html,
}

/// Reviews a rate change, or does what is asked about its record; also while the service runs.
///
/// # Errors
/// An unknown line, product or record, a speed that is none, a step that is not possible, or nothing learned to answer
/// from: with what is missing.
pub fn rate(settings: &Settings, arguments: &RateArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let Some(what) = &arguments.what else {
        return write_review(settings, arguments, out);
    };
    let store = Store::open(&settings.data_dir, &Arc::new(settings.plant.clone()))?;
    match what {
        RateCommand::Propose(arguments) => record::propose(settings, &store, arguments, out),
        RateCommand::Agree(arguments) => record::agree(settings, &store, arguments, out),
        RateCommand::Made(arguments) => record::made(settings, &store, arguments, out),
        RateCommand::FollowUp(arguments) => follow_up::follow_up(settings, &store, arguments, out),
        RateCommand::List { format } => record::list(settings, &store, *format, out),
        RateCommand::Show { id, format } => record::show(settings, &store, id, *format, out),
    }
}

fn write_review(settings: &Settings, arguments: &RateArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let place = arguments.place.as_ref();
    let place = place.ok_or_else(|| Failure::usage("--line, --product and --speed or --bake-time are missing"))?;
    let (line, product) = line_and_product(settings, &place.line, &place.product)?;
    let review = reviewed(settings, line, product, place.speed(line)?)?;
    let sheet = Sheet { line, product, settings, review: &review };
    let mut written = Vec::new();
    match arguments.format {
        RateFormat::Text => text::write(&sheet, &mut written)?,
        RateFormat::Json => writeln!(written, "{}", serde_json::to_string_pretty(&review)?)?,
        RateFormat::Html => html::write(&sheet, &mut written)?,
    }
    match &arguments.out {
        Some(path) => fs::write(path, written).with_context(|| format!("cannot write {}", path.display()))?,
        None => out.write_all(&written)?,
    }
    Ok(())
}

impl Place {
    /// The band speed asked for, m/min.
    fn speed(&self, line: &Line) -> Result<f64, Failure> {
        let (name, given) =
            if self.speed.is_some() { ("--speed", self.speed) } else { ("--bake-time", self.bake_time) };
        let given = given.unwrap_or(f64::NAN);
        if !(given > 0.0 && given.is_finite()) {
            return Err(Failure::usage(format!("{name} {given} is none; write a number above 0, such as {name} 1.4")));
        }
        Ok(if self.speed.is_some() { given } else { line.speed_for_bake_time(given).0 })
    }
}

/// A review with the names of what it is about.
struct Sheet<'a> {
    line: &'a Line,
    product: &'a Product,
    settings: &'a Settings,
    review: &'a Review,
}

impl Sheet<'_> {
    /// How much faster than usual, %.
    fn faster_pct(&self) -> f64 {
        100.0 * (self.review.speed_m_min / self.review.usual_speed_m_min - 1.0)
    }

    fn currency(&self) -> &str {
        self.settings.costs.as_ref().map_or("", |costs| costs.currency.as_str())
    }
}

fn line_and_product<'a>(settings: &'a Settings, line: &str, product: &str) -> Result<(&'a Line, &'a Product), Failure> {
    let plant = &settings.plant;
    let lines = super::learn::lines(settings, Some(line))?;
    let found = plant.product(product).ok_or_else(|| {
        let known: Vec<&str> = plant.products.iter().map(|product| &*product.code).collect();
        Failure::usage(format!("there is no product {product:?} in the config; write one of {}", known.join(", ")))
    })?;
    Ok((&plant.lines[lines[0].0], found))
}

/// The sheet of a review: a page that needs nothing else.
///
/// # Errors
/// Never, but for want of memory.
pub(crate) fn sheet(settings: &Settings, line: &Line, product: &Product, review: &Review) -> anyhow::Result<String> {
    let mut written = Vec::new();
    html::write(&Sheet { line, product, settings, review }, &mut written)?;
    Ok(String::from_utf8(written)?)
}

/// Reviews a speed (m/min, above 0) with what is in use for the line and product.
///
/// # Errors
/// Nothing learned to answer from (no data), a speed that is no rate change (usage), or a file that cannot be read.
pub(crate) fn reviewed(settings: &Settings, line: &Line, product: &Product, speed: f64) -> Result<Review, Failure> {
    let name = format!("{}/{}", line.id, product.code);
    let normals = NormalFiles::new(&settings.data_dir).all()?;
    let of_product = |normal: &&Normal| {
        is_approved(normal) && *normal.key().line == *line.id && *normal.key().product == *product.code
    };
    let Some(normal) = normals.iter().find(of_product) else {
        return Err(Failure::NoData(format!(
            "no normal of {name} is in use, and so no balance: load history with `ovenward backfill`, then `ovenward \
             learn --line {} --product {} --approve`",
            line.id, product.code
        )));
    };
    let Some(balance) = BalanceFiles::new(&settings.data_dir).of_normal(normal.key())? else {
        return Err(Failure::NoData(without_balance(line, product, normal, speed)));
    };
    let usual = balance.record().usual.speed_m_min;
    if !(usual / FARTHEST..=usual * FARTHEST).contains(&speed) {
        return Err(Failure::usage(format!(
            "{speed:.2} m/min is no rate change for {name}, which usually runs at {usual:.2} m/min; write a speed from \
             {:.2} to {:.2} m/min",
            usual / FARTHEST,
            usual * FARTHEST
        )));
    }
    Ok(review(&Question {
        balance: &balance,
        normal: Some(normal),
        speed_m_min: speed,
        zone3_limit_pct: product.max_zone3_moisture_pct,
        steam_section_m: line.steam_section.map(|section| section.0),
        prices: &prices(settings, line),
    }))
}

/// Why there is no balance, and what can be said all the same: the normal's own answer.
fn without_balance(line: &Line, product: &Product, normal: &Normal, speed: f64) -> String {
    let why = match balance::inputs(line, product) {
        Err(missing) => missing.to_string(),
        Ok(_) => format!(
            "normal {} has no water balance: `ovenward learn --line {} --product {}` says why, or learns one",
            normal.key(),
            line.id,
            product.code
        ),
    };
    let expected = normal.expect(MetrePerMinute(speed));
    let zone = |band: &normal_profile::ZoneExpectation| {
        let ratio = physics::units::HumidityRatio(band.ln_humidity.mean.exp());
        physics::air::moisture_from_humidity_ratio(ratio).map_or_else(|_| "-".into(), |x| format!("{:.1}", 100.0 * x.0))
    };
    let zones: Vec<String> = expected.zones.iter().map(zone).collect();
    let outside = expected.extrapolating.map_or_else(String::new, |outside| format!(" ({outside})"));
    format!(
        "{why}\nWhat can still be said: by normal {} the zones hold {} % vol at {speed:.2} m/min when the oven is run \
         well{outside}; no remedy can be weighed",
        normal.key(),
        zones.join(", ")
    )
}

fn prices(settings: &Settings, line: &Line) -> Prices {
    let burner_efficiency = if line.firing == Firing::Indirect { INDIRECT_BURNER_EFFICIENCY } else { 1.0 };
    let mut prices = Prices { burner_efficiency, electric_oven: line.firing == Firing::Electric, ..Prices::default() };
    if let Some(costs) = &settings.costs {
        prices.currency = Some(costs.currency.clone());
        prices.gas_per_kwh = costs.gas_per_kwh;
        prices.electricity_per_kwh = costs.electricity_per_kwh;
        prices.margin_per_tonne = costs.margin_per_tonne;
        prices.hours_per_year = costs.hours_per_year;
        prices.zone_per_m = costs.zone_per_m;
        prices.capital_years = costs.capital_years;
    }
    prices
}
