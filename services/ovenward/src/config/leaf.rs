//! Reads values of a section: serde turns them into Rust types, and what it refuses becomes a fault.
//!
//! Every reader gives `None` for a value that is absent or wrong; a wrong one is noted as a fault,
//! and a config with a fault is never used, so the caller may go on with any other value.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use serde::Deserialize;
use toml::Spanned;
use toml::de::{DeValue, ValueDeserializer};

use super::key::{Choice, Key, Number};
use super::nearest::nearest;
use super::section::{Section, Value};

const A_TEXT: &str = "a text";

impl<'a> Section<'a> {
    /// A text that is not empty.
    pub(super) fn text(&self, key: &Key) -> Option<Spanned<String>> {
        let text = self.leaf::<String>(key, A_TEXT)?;
        if text.get_ref().trim().is_empty() {
            self.faults().add(text.span().start, format!("{} is empty", key.name), key.advice());
            return None;
        }
        Some(text)
    }

    /// A list of texts.
    pub(super) fn texts(&self, key: &Key) -> Option<Vec<Spanned<String>>> {
        self.leaf(key, "a list of texts").map(Spanned::into_inner)
    }

    /// `true` or `false`.
    pub(super) fn yes_or_no(&self, key: &Key) -> Option<bool> {
        self.leaf(key, "true or false").map(Spanned::into_inner)
    }

    /// A number within its limits.
    pub(super) fn number(&self, number: &Number) -> Option<f64> {
        self.spanned_number(number).map(Spanned::into_inner)
    }

    /// A whole number within its limits.
    pub(super) fn count(&self, number: &Number) -> Option<u64> {
        let found = self.spanned_number(number)?;
        let value = *found.get_ref();
        if value.fract() != 0.0 {
            let message = format!("{} must be a whole number, not {value}", number.key.name);
            self.faults().add(found.span().start, message, number.advice());
            return None;
        }
        // The limits keep counts far below the point where a double skips whole numbers.
        Some(value as u64)
    }

    fn spanned_number(&self, number: &Number) -> Option<Spanned<f64>> {
        let value = self.present(&number.key, || number.advice())?;
        let at = value.span();
        let Ok(found) = f64::deserialize(ValueDeserializer::from(value.clone())) else {
            let meant = value.get_ref().as_str().and_then(|text| text.trim().parse::<f64>().ok());
            let advice = meant.map_or_else(|| number.advice(), |meant| number.advice_of(meant));
            self.wrong_kind(&number.key, value, "a number", advice);
            return None;
        };
        if !(number.low..=number.high).contains(&found) {
            let message = format!("{} can't be {found}", number.key.name);
            self.faults().add(at.start, message, number.advice());
            return None;
        }
        Some(Spanned::new(at, found))
    }

    /// One of a few words.
    pub(super) fn choice<T: Copy>(&self, choice: &Choice<T>) -> Option<Spanned<T>> {
        let found = self.text(&choice.key)?;
        let word = found.get_ref().as_str();
        let known = || choice.words.iter().map(|(known, _)| *known);
        let Some((_, chosen)) = choice.words.iter().find(|(known, _)| *known == word) else {
            let advice = match nearest(word, known()) {
                Some(known) => format!("{} = {known:?}", choice.key.name),
                None => {
                    let all: Vec<String> = known().map(|known| format!("{known:?}")).collect();
                    format!("{} = one of {}", choice.key.name, all.join(", "))
                }
            };
            self.faults().add(found.span().start, format!("{} can't be {word:?}", choice.key.name), advice);
            return None;
        };
        Some(Spanned::new(found.span(), *chosen))
    }

    /// The path of a file or folder; a relative one starts from the folder of the config.
    pub(super) fn path(&self, key: &Key) -> Option<Spanned<PathBuf>> {
        let text = self.text(key)?;
        let folder = self.faults().path().parent().unwrap_or(Path::new(""));
        Some(Spanned::new(text.span(), folder.join(text.get_ref())))
    }

    /// The contents of a file that the config names.
    pub(super) fn file(&self, key: &Key) -> Option<Vec<u8>> {
        let path = self.path(key)?;
        let found = std::fs::read(path.get_ref());
        if let Err(error) = &found {
            let shown = path.get_ref().display();
            let message = match error.kind() {
                ErrorKind::NotFound => format!("{}: there is no file {shown}", key.name),
                other => format!("{}: {shown} can't be read: {other}", key.name),
            };
            self.faults().add(path.span().start, message, format!("{}, a file that can be read", key.advice()));
        }
        found.ok()
    }

    fn leaf<T: Deserialize<'a>>(&self, key: &Key, wanted: &str) -> Option<Spanned<T>> {
        let value = self.present(key, || key.advice())?;
        match T::deserialize(ValueDeserializer::from(value.clone())) {
            Ok(leaf) => Some(Spanned::new(value.span(), leaf)),
            Err(_) => {
                let is_bare = matches!(value.get_ref(), DeValue::Integer(_) | DeValue::Float(_) | DeValue::Datetime(_));
                let in_quotes = || format!("{} = {:?}", key.name, self.faults().text_in(value.span()));
                let advice = if is_bare && wanted == A_TEXT { in_quotes() } else { key.advice() };
                self.wrong_kind(key, value, wanted, advice);
                None
            }
        }
    }

    /// The value of a key; a fault, if it must be there and is not.
    fn present(&self, key: &Key, advice: impl FnOnce() -> String) -> Option<&'a Value<'a>> {
        let value = self.value(key.name);
        if value.is_none() && key.required {
            self.miss(key.name, format!("{} has no {}", self.name(), key.name), advice());
        }
        value
    }

    fn wrong_kind(&self, key: &Key, value: &Value<'_>, wanted: &str, advice: String) {
        let message = format!("{} must be {wanted}, not {}", key.name, kind_of(value.get_ref()));
        self.faults().add(value.span().start, message, advice);
    }
}

fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
