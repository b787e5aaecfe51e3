//! The keys of a section, stated as constants at the top of the file that reads it.

/// A key: its name, whether it must be there, and a value to show to someone who got it wrong.
#[derive(Debug, Clone, Copy)]
pub(super) struct Key {
    pub(super) name: &'static str,
    pub(super) example: &'static str,
    pub(super) required: bool,
}

impl Key {
    pub(super) const fn required(name: &'static str, example: &'static str) -> Self {
        Self { name, example, required: true }
    }

    pub(super) const fn optional(name: &'static str, example: &'static str) -> Self {
        Self { name, example, required: false }
    }

    /// What to write for this key.
    pub(super) fn advice(&self) -> String {
        format!("{} = {}", self.name, self.example)
    }
}

/// A key whose value is a number between two limits, both included.
#[derive(Debug, Clone, Copy)]
pub(super) struct Number {
    pub(super) key: Key,
    pub(super) low: f64,
    pub(super) high: f64,
    unit: &'static str,
}

impl Number {
    pub(super) const fn required(name: &'static str, example: &'static str) -> Self {
        Self::of(Key::required(name, example))
    }

    pub(super) const fn optional(name: &'static str, example: &'static str) -> Self {
        Self::of(Key::optional(name, example))
    }

    const fn of(key: Key) -> Self {
        Self { key, low: f64::MIN, high: f64::MAX, unit: "" }
    }

    /// The lowest and the highest value, and what they count.
    pub(super) const fn within(self, low: f64, high: f64, unit: &'static str) -> Self {
        Self { low, high, unit, ..self }
    }

    /// What to write for this key, with its limits.
    pub(super) fn advice(&self) -> String {
        self.advice_of(self.key.example)
    }

    /// The same, with a value that suits better than the example.
    pub(super) fn advice_of(&self, value: impl std::fmt::Display) -> String {
        let Self { key, low, high, unit } = self;
        if *low == f64::MIN {
            return format!("{} = {value}", key.name);
        }
        let space = if unit.is_empty() { "" } else { " " };
        format!("{} = {value} ({low} to {high}{space}{unit})", key.name)
    }
}

/// A key whose value is one of a few words.
#[derive(Debug, Clone, Copy)]
pub(super) struct Choice<T: 'static> {
    pub(super) key: Key,
    pub(super) words: &'static [(&'static str, T)],
}
