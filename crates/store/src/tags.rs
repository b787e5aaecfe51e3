//! Signals of this config against tags of the store.
//!
//! A [`SignalId`] is a place in one config; what is kept must outlive it, so the store gives every
//! tag *name* an id of its own and keeps that for ever.

use std::collections::HashMap;

use reading::{LineIndex, Plant, SignalId};
use rusqlite::{Transaction, params};

use crate::error::Cause;

/// A tag's id in this store.
pub(crate) type TagId = i64;

/// A tag the store knows, in the present config or not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tag {
    /// Its name: the topic, `topic#pointer`, or of Sparkplug `GROUP/NODE/DEVICE#metric`.
    pub name: String,
    /// The line it belonged to when last configured.
    pub line: String,
    /// Its signal in the present config; `None` if the config no longer has it.
    pub signal: Option<SignalId>,
}

/// The tags of the present config's signals.
pub(crate) struct Tags {
    of_signal: Vec<TagId>,
    of_line: Vec<Vec<TagId>>,
    signals: HashMap<TagId, SignalId>,
}

impl Tags {
    /// Looks the config's signals up, giving an id to each name not seen before.
    pub(crate) fn register(transaction: &Transaction, plant: &Plant) -> Result<Self, Cause> {
        let mut tags = Self {
            of_signal: Vec::with_capacity(plant.signals.len()),
            of_line: vec![Vec::new(); plant.lines.len()],
            signals: HashMap::new(),
        };
        for (signal, description) in plant.signals.iter() {
            let (name, line) = (&*description.tag, &*plant.lines[description.line.0].id);
            let tag = register(transaction, name, line)?;
            transaction.execute("UPDATE tag SET line = ?2 WHERE id = ?1 AND line <> ?2", params![tag, line])?;
            tags.of_signal.push(tag);
            tags.of_line[description.line.0].push(tag);
            tags.signals.insert(tag, signal);
        }
        Ok(tags)
    }

    pub(crate) fn of_signal(&self, signal: SignalId) -> Result<TagId, Cause> {
        self.of_signal.get(signal.0 as usize).copied().ok_or_else(|| {
            Cause::Wrong(format!("signal {} is not one of this config's {}", signal.0, self.of_signal.len()))
        })
    }

    /// The signal of a tag; `None` if the config no longer has it.
    pub(crate) fn signal(&self, tag: TagId) -> Option<SignalId> {
        self.signals.get(&tag).copied()
    }

    /// The tags of one line, or of all.
    pub(crate) fn of_line(&self, line: Option<LineIndex>) -> Vec<TagId> {
        match line {
            Some(line) => self.of_line.get(line.0).cloned().unwrap_or_default(),
            None => self.of_signal.clone(),
        }
    }
}

/// The id of a tag name; a new one belongs to this line.
pub(crate) fn register(transaction: &Transaction, name: &str, line: &str) -> Result<TagId, Cause> {
    transaction.execute("INSERT INTO tag (name, line) VALUES (?1, ?2) ON CONFLICT DO NOTHING", params![name, line])?;
    Ok(transaction.query_row("SELECT id FROM tag WHERE name = ?1", [name], |row| row.get(0))?)
}

/// Every tag of a line that the store knows, configured or not, in the order of the names.
pub(crate) fn stored_of_line(snapshot: &Transaction, line: &str) -> Result<Vec<(TagId, String)>, Cause> {
    let mut select = snapshot.prepare_cached("SELECT id, name FROM tag WHERE line = ?1 ORDER BY name")?;
    let rows = select.query_map([line], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}
