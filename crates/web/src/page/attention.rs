//! What needs a person, before anything else on the page.

use crate::html::Element;
use crate::page::alert::Alert;
use crate::page::clock::Clock;
use crate::page::figure;
use crate::page::panel;
use crate::page::shape::Shape;
use crate::page::standing::Standing;
use crate::status::{LineStatus, PlantStatus};

/// A sentence, the alerts that stand, and the notices, or the word that nothing is wrong.
pub(crate) fn parts(status: &PlantStatus, alerts: &[Alert], standings: &[Standing], clock: &Clock) -> Vec<Element> {
    let notices = notices(status, alerts, standings);
    let mut parts = vec![spoken(status, alerts, &notices, standings), plant_time(clock)];
    if alerts.is_empty() && notices.is_empty() {
        parts.push(calm(status, standings));
    }
    parts.extend(alerts.iter().map(|alert| panel::panel(alert, status, clock)));
    if !notices.is_empty() {
        let items = notices
            .iter()
            .map(|(shape, notice)| Element::new("li").child(shape.drawing()).child(Element::new("span").text(notice)));
        parts.push(Element::new("ul").class("notices").attribute("data-part", "notices").children(items));
    }
    parts
}

/// What a screen reader says when it changes. It holds nothing that changes by itself, such as a duration.
fn spoken(status: &PlantStatus, alerts: &[Alert], notices: &[Notice], standings: &[Standing]) -> Element {
    let sentence = |alert: &Alert| match alert.acknowledged_by.as_ref().filter(|_| alert.is_acknowledged()) {
        Some(by) => format!("{}, acknowledged by {by}.", alert.title(status)),
        None => format!("{}.", alert.title(status)),
    };
    let mut sentences: Vec<String> = alerts.iter().map(sentence).collect();
    sentences.extend(notices.iter().map(|(_, notice)| notice.clone()));
    let text = if sentences.is_empty() { all_clear(standings).to_owned() } else { sentences.join(" ") };
    Element::of("p", "spoken", text)
        .attribute("role", "status")
        .attribute("aria-live", "polite")
        .attribute("data-part", "spoken")
}

/// An overload that is kept quiet calls nobody. That no oven needs a person would be saying too much.
fn all_clear(standings: &[Standing]) -> &'static str {
    if standings.contains(&Standing::KeptQuiet) { "No oven calls you." } else { "No oven needs you." }
}

fn plant_time(clock: &Clock) -> Element {
    let face = clock.face().unwrap_or_else(|| "–".to_owned());
    Element::of("p", "clock", face).attribute("data-part", "clock")
}

fn calm(status: &PlantStatus, standings: &[Standing]) -> Element {
    let mut counts: Vec<(String, usize)> = Vec::new();
    for (line, standing) in status.lines.iter().zip(standings) {
        let words = match standing {
            Standing::Unjudged => format!("{}, not judged", figure::words(&line.state)),
            Standing::KeptQuiet => "overloaded, kept quiet".to_owned(),
            _ => figure::words(&line.state),
        };
        match counts.iter_mut().find(|(counted, _)| *counted == words) {
            Some((_, count)) => *count += 1,
            None => counts.push((words, 1)),
        }
    }
    let counts: Vec<String> = counts.iter().map(|(words, count)| format!("{count} {words}")).collect();
    let shape = if standings.contains(&Standing::KeptQuiet) { Shape::Unknown } else { Shape::Well };
    Element::new("div")
        .class("calm")
        .attribute("data-part", "calm")
        .child(shape.drawing())
        .child(Element::new("p").child(Element::new("strong").text(all_clear(standings))))
        .child(Element::of("p", "states", counts.join(" · ")))
}

/// A shape and a sentence.
type Notice = (Shape, String);

/// What needs a look without being an alert. Without readings, or without the service, no alert means nothing:
/// then the page must not look calm.
fn notices(status: &PlantStatus, alerts: &[Alert], standings: &[Standing]) -> Vec<Notice> {
    let mut notices: Vec<Notice> = status.problems.iter().map(|problem| (Shape::Silent, problem.clone())).collect();
    if notices.is_empty() && (!status.ready || status.lines.is_empty()) {
        notices.push((Shape::Silent, "The service does not watch the ovens yet.".to_owned()));
    }
    let names = |wanted: Standing| -> Vec<&str> {
        let lines = status.lines.iter().zip(standings).filter(|(_, standing)| **standing == wanted);
        lines.map(|(line, _)| line.name.as_str()).collect()
    };
    let silent = names(Standing::Silent);
    if !silent.is_empty() {
        notices.push((Shape::Silent, format!("No readings, so not watched: {}.", silent.join(", "))));
    }
    let told = |line: &LineStatus| alerts.iter().any(|alert| alert.line == line.id);
    for (line, standing) in status.lines.iter().zip(standings) {
        let words = match standing {
            Standing::Overloaded if !told(line) => "overloaded.",
            Standing::Rising => "the band runs faster. The zones have not yet said whether they follow.",
            _ => continue,
        };
        notices.push((standing.shape(), format!("{}: {words}", line.name)));
    }
    notices
}
