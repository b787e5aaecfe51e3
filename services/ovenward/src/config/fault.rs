//! What is wrong with a config, where, and what to write instead.

use std::cell::RefCell;
use std::fmt;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// One thing wrong with a config.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// The file, as it was named.
    pub path: PathBuf,
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What to write instead.
    pub advice: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { path, line, column, message, advice } = self;
        write!(f, "{}:{line}:{column}: {message}\n    write: {advice}", path.display())
    }
}

/// Everything wrong with a config, in the order of the file. Prints one fault a paragraph.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConfigFaults {
    /// The faults; never empty.
    pub faults: Vec<Fault>,
}

impl fmt::Display for ConfigFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.faults.iter().enumerate() {
            let gap = if index == 0 { "" } else { "\n\n" };
            write!(f, "{gap}{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for ConfigFaults {}

/// Collects faults while a file is read. Places are byte offsets in the text, as the TOML parser
/// gives them.
pub(super) struct FaultList<'a> {
    path: &'a Path,
    text: &'a str,
    faults: RefCell<Vec<Fault>>,
}

impl<'a> FaultList<'a> {
    pub(super) fn new(path: &'a Path, text: &'a str) -> Self {
        Self { path, text, faults: RefCell::default() }
    }

    /// The file that is read.
    pub(super) fn path(&self) -> &Path {
        self.path
    }

    /// The text from a place on.
    pub(super) fn text_at(&self, at: usize) -> &'a str {
        self.text.get(at..).unwrap_or("")
    }

    /// The text of a value, as it is written.
    pub(super) fn text_in(&self, span: Range<usize>) -> &'a str {
        self.text.get(span).unwrap_or("")
    }

    /// The line in which a place lies, without its end.
    pub(super) fn line_around(&self, at: usize) -> Range<usize> {
        let at = self.character_at(at);
        let begins = self.text[..at].rfind('\n').map_or(0, |newline| newline + 1);
        let ends = self.text[at..].find('\n').map_or(self.text.len(), |newline| at + newline);
        begins..ends
    }

    /// Notes a fault. The same fault at the same place counts once: a block of defaults is read for
    /// every line of the plant.
    pub(super) fn add(&self, at: usize, message: impl Into<String>, advice: impl Into<String>) {
        let (line, column) = self.position(at);
        let fault = Fault { path: self.path.to_owned(), line, column, message: message.into(), advice: advice.into() };
        let mut faults = self.faults.borrow_mut();
        if !faults.contains(&fault) {
            faults.push(fault);
        }
    }

    /// What was read, if there was no fault.
    pub(super) fn finish<T>(self, read: Option<T>) -> Result<T, ConfigFaults> {
        let mut faults = self.faults.into_inner();
        faults.sort();
        match read {
            Some(read) if faults.is_empty() => Ok(read),
            _ => Err(ConfigFaults { faults }),
        }
    }

    fn position(&self, at: usize) -> (usize, usize) {
        let before = &self.text[..self.character_at(at)];
        let line_begins = before.rfind('\n').map_or(0, |newline| newline + 1);
        (before.matches('\n').count() + 1, before[line_begins..].chars().count() + 1)
    }

    /// The start of the character in which a place lies.
    pub(super) fn character_at(&self, at: usize) -> usize {
        let at = at.min(self.text.len());
        (0..=at).rev().find(|at| self.text.is_char_boundary(*at)).unwrap_or(0)
    }
}
