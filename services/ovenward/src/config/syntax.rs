//! Text that is not TOML: what the parser found, in words for someone who writes a config once a year.

use toml::de::{DeTable, Error};

use super::fault::FaultList;

/// Notes every line that is not TOML.
///
/// After each fault its line is left out and the rest is read again: the parser's own recovery skips
/// lines that follow. A broken header ends the search, for nobody knows where the keys below it belong.
pub(super) fn refuse(text: &str, faults: &FaultList<'_>) {
    let mut rest = text.to_owned();
    while let Some((at, found)) = first_fault(&rest) {
        let at = faults.character_at(at);
        let mut line = faults.line_around(at);
        if says_unfinished(&found) && rest[line.start..at].trim().is_empty() {
            line = faults.line_around(rest[..line.start].trim_end().len());
            faults.add(line.end, "a list or table is open at the end of this line", "], } or a comma at the end of it");
        } else {
            let (message, advice) = Line::new(&rest[line.clone()], &rest[at..]).explain(&found);
            faults.add(at, message, advice);
        }
        let left_out = rest[line.clone()].trim();
        if left_out.is_empty() || left_out.starts_with('[') {
            break;
        }
        let blank = " ".repeat(line.len());
        rest.replace_range(line, &blank);
    }
}

fn says_unfinished(found: &str) -> bool {
    ["missing comma", "unclosed inline table", "unclosed array,"].iter().any(|part| found.contains(part))
}

/// The first place that is not TOML, and what the parser says of it.
fn first_fault(text: &str) -> Option<(usize, String)> {
    let (_, errors) = DeTable::parse_recoverable(text);
    let place = |error: &Error| error.span().map_or(0, |span| span.start);
    errors.iter().map(|error| (place(error), error.message().to_owned())).min()
}

/// The sections of which there may be several.
const REPEATED: [&str; 4] = ["shift", "product", "line", "line.zone"];

/// A line that is not TOML.
struct Line<'t> {
    text: &'t str,
    /// The text from the place of the fault on, through the following lines.
    rest: &'t str,
    /// What stands before the equals sign.
    key: &'t str,
    /// What stands after it, without a comment.
    value: &'t str,
}

impl<'t> Line<'t> {
    fn new(line: &'t str, rest: &'t str) -> Self {
        let text = line.trim();
        let (key, value) = text.split_once('=').unwrap_or((text, ""));
        let value = value.split_once('#').map_or(value, |(value, _)| value);
        Self { text, rest, key: key.trim(), value: value.trim() }
    }

    /// What is wrong and what to write, from the parser's message.
    fn explain(&self, found: &str) -> (String, String) {
        let Self { key, value, .. } = self;
        let header = self.text.trim_matches(['[', ']', ' ']);
        let says = |part: &str| found.contains(part);
        let (message, advice) = if says("duplicate key") && self.text.starts_with('[') {
            (format!("{} stands here for the second time", self.text), self.advice_for_second(header))
        } else if says("duplicate key") {
            let is_part = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
            let word = &self.rest[..self.rest.find(|c| !is_part(c)).unwrap_or(self.rest.len())];
            (format!("{word} stands here for the second time"), format!("{word} once"))
        } else if says("cannot extend") {
            let message =
                format!("{} adds to what is already a value", if self.text.starts_with('[') { header } else { key });
            (message, "all of it in one place".to_owned())
        } else if says("unclosed array table") {
            ("the brackets of the section are not closed".to_owned(), format!("[[{header}]]"))
        } else if says("unclosed table") {
            ("the bracket of the section is not closed".to_owned(), format!("[{header}]"))
        } else if says("unquoted key") || says("key with no value") {
            ("this is no key with a value".to_owned(), self.advice_for_key())
        } else if says("must be quoted") || says("boolean") {
            self.explain_bare_value()
        } else if says("unexpected key or value") {
            self.explain_excess()
        } else if says("invalid basic string") || says("invalid literal string") {
            ("the text has no closing quote".to_owned(), format!("{key} = {}", quoted(value)))
        } else if says("escape") {
            let advice = format!("{key} = '{}'", value.trim_matches('"'));
            ("\\ begins a special character in a text".to_owned(), advice)
        } else if says("missing comma") {
            ("a comma is missing before this".to_owned(), ", between the parts".to_owned())
        } else if says("unclosed") {
            let (what, end) = if says("array") { ("list", "]") } else { ("table", "}") };
            (format!("the {what} is not closed"), format!("{end} at its end"))
        } else if ["float", "integer", "exponent", "zero", "sign", "digit"].into_iter().any(says) {
            (format!("{value} is no number"), "a number such as 95 or 0.5".to_owned())
        } else {
            (found.to_owned(), "key = value, with texts in double quotes".to_owned())
        };
        (message, advice)
    }

    fn advice_for_second(&self, header: &str) -> String {
        if REPEATED.contains(&header) {
            format!("[[{header}]], at every place")
        } else {
            format!("these keys below the first [{header}]")
        }
    }

    fn advice_for_key(&self) -> String {
        match self.text.split_once(':') {
            _ if self.text.starts_with(['/', ';', '-', '\'', '*']) => "# before a comment".to_owned(),
            Some((key, value)) if !self.text.contains('=') => format!("{} = {}", key.trim(), value.trim()),
            _ => "key = value, the key of a-z, 0-9 and _".to_owned(),
        }
    }

    fn explain_bare_value(&self) -> (String, String) {
        let Self { key, value, .. } = self;
        let number: String = value.chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+')).collect();
        if value.is_empty() {
            return (format!("{key} has no value"), format!("{key} = a value, a text in double quotes"));
        }
        let advice = if matches!(value.to_lowercase().as_str(), "true" | "false") {
            format!("{key} = {}", value.to_lowercase())
        } else if number.parse::<f64>().is_ok() {
            format!("{key} = {number}, without a unit")
        } else {
            format!("{key} = {}", quoted(value))
        };
        (format!("{value} is no value"), advice)
    }

    fn explain_excess(&self) -> (String, String) {
        let Self { key, value, .. } = self;
        let with_point = value.replacen(',', ".", 1);
        if with_point != *value && with_point.parse::<f64>().is_ok() {
            return (format!("{value} has a decimal comma"), format!("{key} = {with_point}"));
        }
        ("something follows the value".to_owned(), "every key on a line of its own".to_owned())
    }
}

fn quoted(value: &str) -> String {
    format!("\"{}\"", value.trim_matches(['"', '\'']))
}
