//! What calls nobody, because somebody wanted it so: shelved or out of service.

use crate::html::Element;
use crate::page::alert::{Alert, line_name};
use crate::page::clock::Clock;
use crate::page::figure;
use crate::status::{PlantStatus, SuppressionStatus};

/// Kinds of alert that are kept quiet, each with the alerts that stand under it, if there are any.
pub(crate) fn part(status: &PlantStatus, standing: &[Alert], clock: &Clock) -> Option<Element> {
    let quiet = standing.iter().filter(|alert| alert.is_quiet());
    // An alert is never dropped, not even in the moment between its own end of quiet and that of its kind.
    let alone = quiet.filter(|alert| !status.suppressions.iter().any(|quiet| is_under(alert, quiet)));
    let alone = alone
        .map(|alert| Element::new("li").child(when("Now")).child(told(alert.title(status), [said(&alert.message)])));
    let kinds = status.suppressions.iter().map(|quiet| item(quiet, status, standing, clock));
    let items: Vec<Element> = kinds.chain(alone).collect();
    if items.is_empty() {
        return None;
    }
    Some(
        Element::of("section", "recent quiet", "")
            .attribute("data-part", "quiet")
            .attribute("aria-labelledby", "quiet")
            .child(Element::new("h2").attribute("id", "quiet").text("Shelved and out of service"))
            .child(Element::new("ul").children(items)),
    )
}

fn item(quiet: &SuppressionStatus, status: &PlantStatus, standing: &[Alert], clock: &Clock) -> Element {
    let (how, when) = match &quiet.until {
        Some(until) => ("Shelved", when("Until ").child(clock.element(until))),
        None => ("Out of service", when("Until it is put back")),
    };
    let who = said(&format!("{how} by {} since ", quiet.by))
        .child(clock.element(&quiet.since))
        .text(": ")
        .text(&quiet.reason);
    let alerts = standing.iter().filter(|alert| alert.is_quiet() && is_under(alert, quiet));
    let alerts = alerts.map(|alert| said(&format!("It stands: {}", alert.message)));
    let kind = figure::words(&quiet.kind).replace("zone3", "zone 3");
    let title = format!("{}: {kind}", line_name(status, &quiet.line));
    Element::new("li").child(when).child(told(title, std::iter::once(who).chain(alerts)))
}

fn is_under(alert: &Alert, quiet: &SuppressionStatus) -> bool {
    (&alert.line, &alert.kind) == (&quiet.line, &quiet.kind)
}

fn when(text: &str) -> Element {
    Element::of("p", "when", text)
}

fn said(text: &str) -> Element {
    Element::new("span").text(text)
}

fn told(title: String, lines: impl IntoIterator<Item = Element>) -> Element {
    Element::new("p").child(Element::new("strong").text(title)).children(lines)
}
