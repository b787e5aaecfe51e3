//! `ovenward quarantine`: payloads that gave no reading, and a second try after the config has been put right.

use std::io::Write;

use clap::{Args, Subcommand};
use reading::payload;
use serde_json::json;
use store::{QUARANTINE_PAYLOAD, QUARANTINE_ROWS, QuarantineEntry, Store};

use super::TextOrJson;
use crate::config::Settings;
use crate::edge_nodes;
use crate::failure::Failure;

/// Of a payload this many characters are printed for people.
const EXCERPT: usize = 60;

/// What to do with the quarantine.
#[derive(Debug, Args)]
pub struct QuarantineArguments {
    #[command(subcommand)]
    what: QuarantineCommand,
    /// How it is printed.
    #[arg(long, global = true, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

#[derive(Debug, Subcommand)]
enum QuarantineCommand {
    /// How many payloads gave no reading, why, and the newest of them.
    List {
        /// How many of the newest.
        #[arg(long, default_value_t = 20, value_name = "N")]
        limit: usize,
    },
    /// Read the payloads again with the present config; what can be read now is stored and leaves the quarantine.
    Replay,
}

/// Does what was asked with the quarantine.
///
/// # Errors
/// The store cannot be read or written, or nothing is quarantined.
pub fn quarantine(settings: &Settings, arguments: &QuarantineArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let store = Store::open(&settings.data_dir, &settings.plant)?;
    match arguments.what {
        QuarantineCommand::List { limit } => list(&store, limit, arguments.format, out),
        QuarantineCommand::Replay => replay(&store, settings, arguments.format, out),
    }
}

fn list(store: &Store, limit: usize, format: TextOrJson, out: &mut dyn Write) -> Result<(), Failure> {
    let (counts, entries) = (store.quarantine_counts()?, store.quarantine(limit)?);
    if counts.is_empty() {
        return Err(Failure::NoData("nothing was ever quarantined".into()));
    }
    if format == TextOrJson::Json {
        let counts: serde_json::Map<_, _> = counts.into_iter().map(|(reason, count)| (reason, json!(count))).collect();
        let payloads: Vec<_> = entries.iter().map(as_json).collect();
        writeln!(out, "{}", serde_json::to_string_pretty(&json!({ "ever": counts, "newest": payloads }))?)?;
        return Ok(());
    }
    for (reason, count) in counts {
        writeln!(out, "{count:>9}  {reason}")?;
    }
    for QuarantineEntry { quarantined, .. } in &entries {
        let text = String::from_utf8_lossy(&quarantined.payload);
        let excerpt: String = text.chars().take(EXCERPT).collect();
        let (received, topic, reason, detail) =
            (quarantined.received, &quarantined.topic, &quarantined.reason, &quarantined.detail);
        writeln!(out, "\n{received}  {topic}\n  {reason}: {detail}\n  {excerpt:?}")?;
    }
    Ok(())
}

fn as_json(entry: &QuarantineEntry) -> serde_json::Value {
    let quarantined = &entry.quarantined;
    json!({
        "id": entry.id,
        "received": quarantined.received,
        "topic": quarantined.topic,
        "reason": quarantined.reason,
        "detail": quarantined.detail,
        "bytes": quarantined.payload.len(),
        "payload": String::from_utf8_lossy(&quarantined.payload),
    })
}

fn replay(store: &Store, settings: &Settings, format: TextOrJson, out: &mut dyn Write) -> Result<(), Failure> {
    let entries = store.quarantine(QUARANTINE_ROWS as usize)?;
    if entries.is_empty() {
        return Err(Failure::NoData("the quarantine is empty".into()));
    }
    let nodes = edge_nodes::restored(settings, store)?;
    let (mut readings, mut readable) = (Vec::new(), Vec::new());
    for QuarantineEntry { id, quarantined } in &entries {
        // Of a payload as long as this only the beginning was kept.
        if quarantined.payload.len() >= QUARANTINE_PAYLOAD {
            continue;
        }
        let (signals, received) = (&settings.plant.signals, quarantined.received);
        let (topic, bytes) = (&quarantined.topic, &quarantined.payload);
        let of_edge_node = nodes.read_again(signals, topic, bytes, received);
        let decoded = of_edge_node.unwrap_or_else(|| payload::decode(signals, topic, bytes, received));
        // Of a payload for several signals those that could be read are stored already.
        if let Ok(all) = decoded.into_iter().collect::<Result<Vec<_>, _>>() {
            readings.extend(all);
            readable.push(*id);
        }
    }
    let stored = store.commit_released(&readings, &readable)?;
    let (released, left) = (readable.len(), entries.len() - readable.len());
    if format == TextOrJson::Json {
        let outcome = json!({
            "released": released, "stored": stored.stored, "already_there": stored.already_there, "left": left
        });
        writeln!(out, "{}", serde_json::to_string_pretty(&outcome)?)?;
        return Ok(());
    }
    writeln!(
        out,
        "{released} payloads could be read: {} readings stored, {} already there",
        stored.stored, stored.already_there
    )?;
    writeln!(out, "{left} payloads stay in quarantine")?;
    if stored.stored > 0 {
        writeln!(out, "tables and `ovenward replay` have them now; a running service judges only what arrives")?;
    }
    Ok(())
}
