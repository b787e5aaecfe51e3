//! Alerts that are over.

use crate::html::Element;
use crate::page::alert::{self, Alert};
use crate::page::answer;
use crate::page::clock::Clock;
use crate::status::PlantStatus;

/// So many stand on the page; the rest is under `/api/v1/alerts`.
const SHOWN: usize = 8;

/// The newest alerts that are over, if there are any.
pub(crate) fn part(status: &PlantStatus, clock: &Clock) -> Option<Element> {
    let ended = alert::ended(status);
    if ended.is_empty() {
        return None;
    }
    let items = ended.iter().take(SHOWN).map(|alert| item(alert, status, clock));
    Some(
        Element::of("section", "recent", "")
            .attribute("data-part", "recent")
            .attribute("aria-labelledby", "recent")
            .child(Element::new("h2").attribute("id", "recent").text("Alerts that are over"))
            .child(Element::new("ul").children(items)),
    )
}

fn item(alert: &Alert, status: &PlantStatus, clock: &Clock) -> Element {
    let mut when = Element::of("p", "when", "");
    if let (Some(began), Some(ended)) = (&alert.began, &alert.ended) {
        when = when.child(clock.element(began)).text("–").child(clock.element(ended));
        when = when.children(clock.between(began, ended).map(|span| Element::new("span").text(span)));
    }
    let told = Element::new("p")
        .child(Element::new("strong").text(alert.title(status)))
        .child(Element::new("span").text(&alert.message));
    // Of what was kept quiet nobody was asked for an answer.
    let answer = (alert.state != "returned-suppressed").then(|| answer::part(alert, clock));
    Element::new("li").child(when).child(Element::new("div").child(told).children(answer))
}
