//! The config file: parsed by serde and checked as a whole, so that every fault is told at once.
//!
//! One file reads one section, and states its keys, defaults and limits at its top. [`load`] gives
//! [`Settings`], or [`ConfigFaults`] with line, column and what to write instead.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use ::sparkplug::Nodes;
use reading::Plant;
use toml::de::DeTable;

mod broker;
mod console;
mod costs;
mod defaults;
mod detection;
mod energy;
mod fault;
mod identity;
mod key;
mod lake;
mod leaf;
mod learning;
mod limits;
mod line;
mod mail;
mod nearest;
mod notify;
mod payload;
mod plant;
mod product;
mod publish;
mod section;
mod shelves;
mod shift;
mod signal;
mod signals;
mod site;
mod sparkplug;
mod sql;
mod store;
mod syntax;
mod topic;

pub use console::ConsoleSettings;
pub use costs::Costs;
pub use energy::EnergyConfig;
pub use fault::{ConfigFaults, Fault};
pub use lake::LakeSettings;
pub use publish::PublishSettings;
pub use sparkplug::SparkplugSettings;
pub use sql::SqlSettings;
pub use store::StoreSettings;

use fault::FaultList;
use section::Section;

/// Everything the config says, with defaults for what it does not say.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Site, shifts, products, lines and signals.
    pub plant: Plant,
    /// Where data is kept; a relative path of the config starts from the config's folder.
    pub data_dir: PathBuf,
    /// Where the plant's messages come from.
    pub broker: ::broker::Connection,
    /// Whether the broker is asked, under `$SYS`, how many messages it has dropped.
    pub count_dropped: bool,
    /// What the service writes.
    pub publish: PublishSettings,
    /// How normals are learned.
    pub learning: normal_profile::LearnSettings,
    /// What counts as a departure, and how long it must last.
    pub detection: alert::DetectionSettings,
    /// How long alerts can be shelved.
    pub shelves: alert::ShelfLimits,
    /// How readings are kept.
    pub store: StoreSettings,
    /// Where the web console listens.
    pub console: ConsoleSettings,
    /// What energy costs and what a tonne earns, if the config says so.
    pub costs: Option<Costs>,
    /// What the meters do not say about energy, and the period of its baseline.
    pub energy: EnergyConfig,
    /// Who is told of alerts, beside MQTT and the console.
    pub receivers: Vec<notice::Receiver>,
    /// Where what is sealed is copied to for all plants together; nowhere, if the config does not say.
    pub lake: Option<LakeSettings>,
    /// How Sparkplug B edge nodes are dealt with.
    pub sparkplug: SparkplugSettings,
    /// The PostgreSQL database that is written to, if the config names one.
    pub sql: Option<SqlSettings>,
}

impl Settings {
    /// The edge nodes of the plant, of which nothing was heard yet.
    #[must_use]
    pub fn edge_nodes(&self) -> Nodes {
        Nodes::new(&self.plant.signals, self.sparkplug.reorder)
    }

    /// Every topic that readings come under.
    #[must_use]
    pub fn topics_read(&self) -> Vec<String> {
        let mut topics = self.plant.signals.topics();
        topics.extend(self.edge_nodes().filters());
        topics
    }
}

/// Reads a config file, and the password and certificates that it names.
///
/// # Errors
/// Every fault of the file; one at line 1 if it can't be read at all.
pub fn load(path: &Path) -> Result<Settings, ConfigFaults> {
    match std::fs::read_to_string(path) {
        Ok(text) => parse(&text, path),
        Err(error) => {
            let message = match error.kind() {
                ErrorKind::NotFound => "there is no such file".to_owned(),
                ErrorKind::InvalidData => "the file is not UTF-8 text".to_owned(),
                other => format!("the file can't be read: {other}"),
            };
            let advice = "the path of the config after --config".to_owned();
            Err(ConfigFaults { faults: vec![Fault { path: path.to_owned(), line: 1, column: 1, message, advice }] })
        }
    }
}

/// Reads the text of a config. Files that it names are looked for from the folder of `path`.
///
/// # Errors
/// Every fault of the text, in the order of its lines.
pub fn parse(text: &str, path: &Path) -> Result<Settings, ConfigFaults> {
    let faults = FaultList::new(path, text);
    let settings = match DeTable::parse(text) {
        Ok(document) => plant::read(&Section::root(document.get_ref(), &faults)),
        // A text that is not TOML is not read any further: what follows from a broken line would
        // only bury the fault.
        Err(_) => {
            syntax::refuse(text, &faults);
            None
        }
    };
    faults.finish(settings)
}

#[cfg(test)]
mod tests;
