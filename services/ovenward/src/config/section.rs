//! One section of the file: finds values and sections below it, and notes what nobody knows.
//!
//! A key is known to a section once it has been asked for, so [`Section::refuse_unknown_keys`] comes
//! last.

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
}

/// A key that was asked for.
struct Asked {
    name: &'static str,
    /// How it is written: with its brackets, if it is a section.
    written: String,
}

impl<'a> Section<'a> {
    /// The whole file.
    pub(super) fn root(table: &'a DeTable<'a>, faults: &'a FaultList<'a>) -> Self {
        Self::new(String::new(), String::new(), 0, Some(table), faults)
    }

    fn new(name: String, path: String, at: usize, table: Option<&'a DeTable<'a>>, faults: &'a FaultList<'a>) -> Self {
        Self { name, path, at, table, fallback: None, faults, asked: RefCell::default() }
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

    fn path_to(&self, name: &str) -> String {
        if self.path.is_empty() { name.to_owned() } else { format!("{}.{name}", self.path) }
    }

    /// The section `[name]` below this one.
    pub(super) fn section(&self, name: &'static str) -> Section<'a> {
        let path = self.path_to(name);
        let written = format!("[{path}]");
        let absent = |at| Self::new(written.clone(), path.clone(), at, None, self.faults);
        let Some(value) = self.ask(name, &written) else { return absent(self.at) };
        let at = value.span().start;
        match value.get_ref() {
            DeValue::Table(table) => Self::new(written, path, at, Some(table), self.faults),
            DeValue::Array(_) => {
                self.faults.add(self.at_key(name), format!("there is only one section {written}"), &written);
                absent(at)
            }
            _ => {
                self.faults.add(self.at_key(name), format!("{name} is a section, not a value"), &written);
                absent(at)
            }
        }
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
        if !value.get_ref().is_array() {
            let message = format!("there may be several sections {name}, so each has double brackets");
            self.faults.add(self.at_key(name), message, &written);
        }
        values
            .into_iter()
            .filter_map(|value| Some((value.span().start, value.get_ref().as_table()?)))
            .map(|(at, table)| Self::new(written.clone(), path.clone(), at, Some(table), self.faults))
            .collect()
    }

    /// Notes every key that nobody has asked for, with the nearest one that is known and absent.
    pub(super) fn refuse_unknown_keys(&self) {
        let asked = self.asked.borrow();
        for (key, value) in self.table.into_iter().flatten() {
            let word: &str = key.get_ref();
            if asked.iter().any(|asked| asked.name == word) {
                continue;
            }
            let absent = || asked.iter().filter(|asked| self.table.is_none_or(|table| !table.contains_key(asked.name)));
            let near = nearest(word, absent().map(|asked| asked.name));
            let advice = match near.and_then(|near| absent().find(|asked| asked.name == near)) {
                Some(asked) => asked.written.clone(),
                None => {
                    let all: Vec<&str> = asked.iter().map(|asked| asked.written.as_str()).collect();
                    format!("one of {}", all.join(", "))
                }
            };
            let message = match (self.is_header(value), self.path.is_empty() && self.name.is_empty()) {
                (true, _) => format!("unknown section [{}]", self.path_to(word)),
                (false, true) => format!("{word:?} stands before the first section"),
                (false, false) => format!("unknown key {word:?} in {}", self.name),
            };
            self.faults.add(key.span().start, message, advice);
        }
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
