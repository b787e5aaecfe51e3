//! What needs a person, before anything else on the page.

use crate::html::Element;
use crate::page::alert::{self, Alert};
use crate::page::clock::Clock;
use crate::page::figure;
use crate::page::oven::{Standing, is_silent};
use crate::page::panel;
use crate::page::shape::Shape;
use crate::status::PlantStatus;

/// A sentence, the alerts that stand, and the notices, or the word that nothing is wrong.
pub(crate) fn parts(status: &PlantStatus, clock: &Clock) -> Vec<Element> {
    let alerts: Vec<Alert> = alert::standing(status);
    let notices = notices(status, &alerts, clock);
    let mut parts = vec![spoken(status, &alerts, &notices), plant_time(clock)];
    if alerts.is_empty() && notices.is_empty() {
        parts.push(calm(status));
    }
    parts.extend(alerts.iter().map(|alert| panel::panel(alert, status, clock)));
    if !notices.is_empty() {
        let items = notices
            .iter()
            .map(|notice| Element::new("li").child(Shape::Watch.drawing()).child(Element::new("span").text(notice)));
        parts.push(Element::new("ul").class("notices").attribute("data-part", "notices").children(items));
    }
    parts
}

/// What a screen reader says when it changes. It holds nothing that changes by itself, such as a duration.
fn spoken(status: &PlantStatus, alerts: &[Alert], notices: &[String]) -> Element {
    let mut sentences: Vec<String> = alerts.iter().map(|alert| format!("{}.", alert.title(status))).collect();
    sentences.extend(notices.iter().cloned());
    let text = if sentences.is_empty() { "No oven needs a person.".to_owned() } else { sentences.join(" ") };
    Element::of("p", "spoken", text)
        .attribute("role", "status")
        .attribute("aria-live", "polite")
        .attribute("data-part", "spoken")
}

fn plant_time(clock: &Clock) -> Element {
    let face = clock.face().unwrap_or_else(|| "–".to_owned());
    Element::of("p", "clock", face).attribute("data-part", "clock")
}

fn calm(status: &PlantStatus) -> Element {
    let mut states: Vec<(&str, usize)> = Vec::new();
    for line in &status.lines {
        match states.iter_mut().find(|(state, _)| *state == line.state) {
            Some((_, count)) => *count += 1,
            None => states.push((&line.state, 1)),
        }
    }
    let states: Vec<String> = states.iter().map(|(state, count)| format!("{count} {}", figure::words(state))).collect();
    Element::new("div")
        .class("calm")
        .attribute("data-part", "calm")
        .child(Shape::Well.drawing())
        .child(Element::new("p").child(Element::new("strong").text("No oven needs you.")))
        .child(Element::of("p", "states", states.join(" · ")))
}

/// What needs a look without being an alert. Without readings, or without the service, no alert means nothing:
/// then the page must not look calm.
fn notices(status: &PlantStatus, alerts: &[Alert], clock: &Clock) -> Vec<String> {
    let mut notices = status.problems.clone();
    if !status.ready && notices.is_empty() {
        notices.push("The service is not watching yet.".to_owned());
    }
    for line in &status.lines {
        let name = &line.name;
        let standing = Standing::of(line, clock);
        if is_silent(line, clock) {
            let since =
                line.newest.as_deref().map_or_else(String::new, |newest| format!(" since {}", clock.say(newest)));
            notices.push(format!("{name}: no readings{since}. Nobody is watching this oven."));
        } else if standing.shape == Shape::Watch {
            notices.push(format!("{name}: the band runs faster. The zones have not yet said whether they follow."));
        } else if standing.shape == Shape::Act && !alerts.iter().any(|alert| alert.line == line.id) {
            notices.push(format!("{name} is overloaded."));
        }
    }
    notices
}
