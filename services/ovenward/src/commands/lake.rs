//! `ovenward lake`: what of this site is in the lake of all plants, sending what waits, and whether it is whole there.

use std::collections::BTreeSet;
use std::io::Write;
use std::sync::Arc;

use ::lake::{Chapter, Kind, Manifest};
use anyhow::anyhow;
use chrono::NaiveDate;
use clap::{Args, Subcommand};
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use serde_json::json;
use store::Store;
use tokio::runtime::Runtime;

use super::TextOrJson;
use super::store::{megabytes, print_json};
use crate::config::Settings;
use crate::failure::Failure;
use crate::lake_copy::{self, Finding, LakeCopy, Pushed, Sent, Verified};
use crate::service::PlantClock;

/// What to do with the lake.
#[derive(Debug, Args)]
pub struct LakeArguments {
    #[command(subcommand)]
    what: Option<LakeCommand>,
    /// How it is printed.
    #[arg(long, global = true, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

#[derive(Debug, Subcommand)]
enum LakeCommand {
    /// Send what waits now; what is there is not sent again.
    Push {
        /// Put this day (UTC) there as the store has it, even if the lake has more readings of it.
        #[arg(long, value_name = "YYYY-MM-DD")]
        replace: Vec<NaiveDate>,
        /// This store takes the place of the one that the site's part belonged to.
        #[arg(long)]
        take_over: bool,
    },
    /// Read everything of this site there from end to end; what is not whole is sent again by the next push.
    Verify,
}

/// Does what was asked with the lake.
///
/// # Errors
/// The config names no lake, it cannot be reached, something is held back, or something there is not whole.
pub fn lake(settings: &Settings, arguments: &LakeArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let store = Store::open(&settings.data_dir, &settings.plant)?;
    let Some(lake) = LakeCopy::open(&Arc::new(settings.clone()), &store)? else {
        return Err(Failure::usage("the config names no lake; write [lake] with url = \"s3://BUCKET/PREFIX\""));
    };
    let runtime = Runtime::new()?;
    let text = arguments.format == TextOrJson::Text;
    match &arguments.what {
        None => {
            let summary = runtime.block_on(Summary::of(&lake, settings))?;
            if text { summary.print(out) } else { print_json(&summary, out) }
        }
        Some(LakeCommand::Push { replace, take_over }) => {
            let replace = replace.iter().copied().collect();
            let (sent, held) = runtime.block_on(push(&lake, &replace, *take_over))?;
            tell_push(sent, held, text, out)
        }
        Some(LakeCommand::Verify) => tell_verified(&runtime.block_on(verify(&lake))?, text, out),
    }
}

/// `check --connect`, if the config names a lake.
///
/// # Errors
/// What it does not let us do, in words.
pub fn check_lake(settings: &Settings, out: &mut dyn Write) -> Result<(), Failure> {
    let Some(lake) = &settings.lake else { return Ok(()) };
    Runtime::new()?.block_on(lake_copy::try_out(settings))?;
    Ok(writeln!(out, "The lake {} takes, gives back and lists what is sent.", lake.access.place)?)
}

/// What is there and what waits.
#[derive(Debug, Serialize)]
struct Summary {
    place: String,
    site: String,
    days: usize,
    first_day: Option<NaiveDate>,
    last_day: Option<NaiveDate>,
    readings: u64,
    objects: usize,
    bytes: u64,
    normals: usize,
    plant_published: bool,
    waiting: Vec<String>,
}

impl Summary {
    async fn of(lake: &LakeCopy, settings: &Settings) -> Result<Self, Failure> {
        let manifests = lake.manifests().await?;
        let waiting = lake.due(PlantClock::Machine.now())?;
        let days: Vec<NaiveDate> = manifests.iter().filter_map(|manifest| manifest.date).collect();
        let objects = || manifests.iter().flat_map(|manifest: &Manifest| &manifest.objects);
        let readings = objects().filter(|object| object.kind == Kind::Readings);
        Ok(Self {
            place: lake.place().to_string(),
            site: settings.plant.site.to_string(),
            days: days.len(),
            first_day: days.first().copied(),
            last_day: days.last().copied(),
            readings: readings.filter_map(|object| object.rows).sum(),
            objects: objects().count(),
            bytes: objects().map(|object| object.bytes).sum(),
            normals: objects().filter(|object| object.kind == Kind::Normals).count(),
            plant_published: manifests.iter().any(|manifest| manifest.chapter() == Chapter::Plant),
            waiting: waiting.iter().map(|due| due.chapter.to_string()).collect(),
        })
    }

    fn print(&self, out: &mut dyn Write) -> Result<(), Failure> {
        writeln!(out, "{}, site {}", self.place, self.site)?;
        match self.first_day.zip(self.last_day) {
            None => writeln!(out, "  published   no day yet")?,
            Some((first, last)) => {
                writeln!(out, "  published   {} days, {first} to {last}: {} readings", self.days, self.readings)?;
            }
        }
        match self.plant_published {
            true => writeln!(out, "  plant       published, with {} normals", self.normals)?,
            false => writeln!(out, "  plant       not published yet")?,
        }
        writeln!(out, "  all of it   {} objects, {}", self.objects, megabytes(self.bytes))?;
        match self.waiting.first() {
            None => writeln!(out, "  waiting     nothing")?,
            Some(first) => writeln!(out, "  waiting     {}, from {first} on", self.waiting.len())?,
        }
        Ok(())
    }
}

async fn push(lake: &LakeCopy, replace: &BTreeSet<NaiveDate>, take_over: bool) -> Result<(Sent, Vec<String>), Failure> {
    lake.claim(take_over).await?;
    let waiting = lake.due(PlantClock::Machine.now())?;
    let progress = bar(waiting.len() as u64, "{bar:30} {pos}/{len} {msg}");
    let (mut sent, mut held) = (Sent::default(), Vec::new());
    for due in waiting {
        progress.set_message(due.chapter.to_string());
        let replaces = matches!(due.chapter, Chapter::Day(date) if replace.contains(&date));
        match lake.push(&due, replaces).await? {
            Pushed::Done(done) => sent = sent.plus(done),
            Pushed::Changed => held.push(format!("{} changed meanwhile: push again", due.chapter)),
            Pushed::Held(why) => held.push(why),
        }
        progress.inc(1);
    }
    progress.finish_and_clear();
    Ok((sent, held))
}

fn tell_push(sent: Sent, held: Vec<String>, text: bool, out: &mut dyn Write) -> Result<(), Failure> {
    let Sent { objects, bytes, there, again } = sent;
    if text {
        writeln!(out, "sent {objects} objects ({}); {there} were there already", megabytes(bytes))?;
        if again > 0 {
            writeln!(out, "{again} of them were there with another content and were sent again: look at that store")?;
        }
    } else {
        let told = json!({ "sent": objects, "bytes": bytes, "already_there": there, "altered": again, "held": held });
        print_json(&told, out)?;
    }
    if held.is_empty() { Ok(()) } else { Err(Failure::Failed(anyhow!("{}", held.join("\n")))) }
}

async fn verify(lake: &LakeCopy) -> Result<Verified, Failure> {
    let progress = bar(0, "{spinner} {pos} objects, {msg}");
    let mut bytes = 0;
    let verified = lake.verify(PlantClock::Machine.now(), |size| {
        bytes += size;
        progress.set_message(megabytes(bytes));
        progress.inc(1);
    });
    let verified = verified.await?;
    progress.finish_and_clear();
    Ok(verified)
}

fn tell_verified(verified: &Verified, text: bool, out: &mut dyn Write) -> Result<(), Failure> {
    let Verified { objects, bytes, unlisted, unlisted_bytes, findings } = verified;
    if text {
        for Finding { path, what, sent_again } in findings {
            let then = if *sent_again { "it is sent again by the next push" } else { "the store has it no more" };
            writeln!(out, "WRONG: {path}: {what}; {then}")?;
        }
        writeln!(out, "looked at {objects} objects, {}", megabytes(*bytes))?;
        if *unlisted > 0 {
            writeln!(out, "{unlisted} more ({}) were replaced and count no longer", megabytes(*unlisted_bytes))?;
        }
    } else {
        print_json(verified, out)?;
    }
    match findings.len() {
        0 if text => Ok(writeln!(out, "the lake is whole")?),
        0 => Ok(()),
        wrong => Err(Failure::Failed(anyhow!("{wrong} of the lake's objects are not as they were sent"))),
    }
}

/// A bar on a terminal, nothing elsewhere.
fn bar(length: u64, template: &str) -> ProgressBar {
    let style = ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar());
    ProgressBar::new(length).with_style(style)
}
