//! One section of the file: finds values and sections below it, and notes what nobody knows.
//!
//! A key is known to a section once it has been asked for, so [`Section::finish`] comes last.

use std::cell::RefCell;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fault::FaultList;
use super::nearest::nearest;

/// A value as the TOML parser hands it out, with its place in the text.
pub(super) type Value<'a> = Spanned<DeValue<'a>>;

/// A section of the file, present or not.
pub(super) struct Section<'a> {
    /// What a fault calls it: `[site]`.
    name: String,
    /// The keys that lead to it, with dots between them.
    path: String,
    /// Where its header stands; where the section around it stands, if it is not there.
    at: usize,
    /// `None` if the file has no such section.
    table: Option<&'a DeTable<'a>>,
    /// Where a value stands that is not in the table.
    fallback: Option<&'a Section<'a>>,
    faults: &'a FaultList<'a>,
    asked: RefCell<Vec<Asked>>,
    missing: RefCell<Vec<Missing>>,
}

/// A key that was asked for.
struct Asked {
    name: &'static str,
    /// How it is written: with its brackets, if it is a section.
    written: String,
}

/// A key that must be there and is not.
struct Missing {
    name: &'static str,
    message: String,
    advice: String,
}

impl<'a> Section<'a> {
    /// The whole file.
    pub(super) fn root(table: &'a DeTable<'a>, faults: &'a FaultList<'a>) -> Self {
        Self::new(String::new(), String::new(), 0, Some(table), faults)
    }

    fn new(name: String, path: String, at: usize, table: Option<&'a DeTable<'a>>, faults: &'a FaultList<'a>) -> Self {
        Self { name, path, at, table, fallback: None, faults, asked: RefCell::default(), missing: RefCell::default() }
    }

    /// A section with this name that is not in the file and stands for what the fallback says.
    pub(super) fn of_fallback(fallback: &'a Section<'a>, at: usize) -> Self {
        Self::new(fallback.name.clone(), fallback.path.clone(), at, None, fallback.faults).with_fallback(fallback)
    }

    /// A table in braces that is the value of a key.
    pub(super) fn of_value(name: String, at: usize, table: &'a DeTable<'a>, faults: &'a FaultList<'a>) -> Self {
        Self::new(name, String::new(), at, Some(table), faults)
    }

    /// The same section, with a section of defaults for the keys it does not have.
    pub(super) fn with_fallback(self, fallback: &'a Section<'a>) -> Self {
        Self { fallback: Some(fallback), ..self }
    }

    /// What a fault calls it.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// Whether the file has it.
    pub(super) fn is_present(&self) -> bool {
        self.table.is_some()
    }

    /// Where a fault of the whole section is noted.
    pub(super) fn at(&self) -> usize {
        self.at
    }

    pub(super) fn faults(&self) -> &'a FaultList<'a> {
        self.faults
    }

    /// Notes a fault of the section as a whole.
    pub(super) fn fault(&self, message: impl Into<String>, advice: impl Into<String>) {
        self.faults.add(self.at, message, advice);
    }

    /// Where a key of this section or of its fallback stands; where the section stands without one.
    pub(super) fn at_key(&self, name: &str) -> usize {
        self.key_place(name).or_else(|| self.fallback?.key_place(name)).unwrap_or(self.at)
    }

    fn key_place(&self, name: &str) -> Option<usize> {
        self.table?.get_key_value(name).map(|(key, _)| key.span().start)
    }

    /// The value of a key in this section, without its fallback.
    pub(super) fn own(&self, name: &'static str) -> Option<&'a Value<'a>> {
        self.ask(name, name)
    }

    /// The value of a key in this section or in its fallback.
    pub(super) fn value(&self, name: &'static str) -> Option<&'a Value<'a>> {
        let fallback = self.fallback.and_then(|fallback| fallback.own(name));
        self.own(name).or(fallback)
    }

    /// Whether the section or its fallback has a key that does not belong there; such a key is no
    /// longer unknown, and never offered as a correction.
    pub(super) fn has_stray(&self, name: &'static str) -> bool {
        let in_fallback = self.fallback.is_some_and(|fallback| fallback.has_stray(name));
        let here = self.table.is_some_and(|table| table.contains_key(name)) && self.own(name).is_some();
        here || in_fallback
    }

    fn ask(&self, name: &'static str, written: &str) -> Option<&'a Value<'a>> {
        let mut asked = self.asked.borrow_mut();
        if !asked.iter().any(|asked| asked.name == name) {
            asked.push(Asked { name, written: written.to_owned() });
        }
        self.table?.get(name)
    }

    /// Remembers that a key must be there and is not; a fault, unless it turns out to be misspelt.
    pub(super) fn miss(&self, name: &'static str, message: impl Into<String>, advice: impl Into<String>) {
        self.missing.borrow_mut().push(Missing { name, message: message.into(), advice: advice.into() });
    }

    fn path_to(&self, name: &str) -> String {
        if self.path.is_empty() { name.to_owned() } else { format!("{}.{name}", self.path) }
    }

    /// The section `[name]` below this one.
    pub(super) fn section(&self, name: &'static str) -> Section<'a> {
        let path = self.path_to(name);
        let written = format!("[{path}]");
        let Some(value) = self.ask(name, &written) else {
            return Self::new(written, path, self.at, None, self.faults);
        };
        let (value, several) = match value.get_ref() {
            DeValue::Array(values) => (values.iter().next().unwrap_or(value), true),
            _ => (value, false),
        };
        let table = value.get_ref().as_table();
        if table.is_none() {
            self.faults.add(self.at_key(name), format!("{name} is a section, not a value"), &written);
        } else if several {
            self.faults.add(self.at_key(name), format!("there is only one section {written}"), &written);
        }
        Self::new(written, path, value.span().start, table, self.faults)
    }

    /// Every section `[[name]]` below this one, in the order of the file.
    pub(super) fn sections(&self, name: &'static str) -> Vec<Section<'a>> {
        let path = self.path_to(name);
        let written = format!("[[{path}]]");
        let Some(value) = self.ask(name, &written) else { return Vec::new() };
        let values: Vec<&Value<'a>> = match value.get_ref() {
            DeValue::Array(values) => values.iter().collect(),
            _ => vec![value],
        };
        if value.get_ref().is_table() {
            let message = format!("there may be several {written}, so the brackets are double");
            self.faults.add(self.at_key(name), message, &written);
        }
        let mut sections = Vec::new();
        for value in values {
            let at = value.span().start;
            match value.get_ref().as_table() {
                Some(table) => sections.push(Self::new(written.clone(), path.clone(), at, Some(table), self.faults)),
                None => self.faults.add(at, format!("{name} is a section, not a value"), &written),
            }
        }
        sections
    }

    /// Every section below this one with its name, for a section whose names are free, in the order of the file.
    pub(super) fn each(&self) -> Vec<(&'a str, Section<'a>)> {
        let mut sections = Vec::new();
        for (key, value) in self.table.into_iter().flatten() {
            let name: &'a str = key.get_ref();
            let path = self.path_to(name);
            match value.get_ref().as_table() {
                Some(table) => {
                    let section = Self::new(format!("[{path}]"), path, value.span().start, Some(table), self.faults);
                    sections.push((name, section));
                }
                None => {
                    let message = format!("{name:?} stands directly in {}", self.name);
                    self.faults.add(key.span().start, message, format!("it below a name, as in [{}.NAME]", self.path));
                }
            }
        }
        sections.sort_by_key(|(_, section)| section.at);
        sections
    }

    /// Notes every key that nobody has asked for, then what is missing. Gives the known keys that the
    /// unknown ones are misspellings of: to say that those are missing as well would be noise.
    pub(super) fn finish(&self) -> Vec<&'static str> {
        let asked = self.asked.borrow();
        let is_absent = |asked: &&Asked| self.table.is_none_or(|table| !table.contains_key(asked.name));
        let mut meant = Vec::new();
        for (key, value) in self.table.into_iter().flatten() {
            let word: &str = key.get_ref();
            if asked.iter().any(|asked| asked.name == word) {
                continue;
            }
            let near = nearest(word, asked.iter().filter(is_absent).map(|asked| asked.name));
            let near = asked.iter().find(|asked| Some(asked.name) == near);
            meant.extend(near.map(|near| near.name));
            if self.name.is_empty() && !self.is_header(value) {
                let message = format!("{word:?} stands before the first section");
                self.faults.add(key.span().start, message, format!("{word} below its section, such as [site]"));
                continue;
            }
            let message = match self.is_header(value) {
                true => format!("unknown section [{}]", self.path_to(word)),
                false => format!("unknown key {word:?} in {}", self.name),
            };
            let advice = near.map_or_else(|| self.every_key(), |near| near.written.clone());
            self.faults.add(key.span().start, message, advice);
        }
        for Missing { name, message, advice } in self.missing.take() {
            if !meant.contains(&name) {
                self.fault(message, advice);
            }
        }
        meant
    }

    fn every_key(&self) -> String {
        let asked = self.asked.borrow();
        format!("one of {}", asked.iter().map(|asked| asked.written.as_str()).collect::<Vec<_>>().join(", "))
    }

    /// Whether a value was written as a section of its own, not after an equals sign.
    fn is_header(&self, value: &Value<'_>) -> bool {
        match value.get_ref() {
            DeValue::Table(_) => !self.faults.text_at(value.span().start).starts_with('{'),
            DeValue::Array(values) => values.iter().next().is_some_and(|value| self.is_header(value)),
            _ => false,
        }
    }
}
