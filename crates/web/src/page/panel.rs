//! A standing alert: what happened, what to try, and the figures behind it.

use crate::html::Element;
use crate::page::alert::{Alert, Step};
use crate::page::clock::Clock;
use crate::page::figure;
use crate::status::PlantStatus;

/// What goes with advice that brings no caution of its own.
const CAUTION: &str = "Advice only. Exhaust, burner and steam settings belong to the oven maker's limits, local codes \
    and the plant's licensed people.";

/// The panel of a standing alert.
pub(crate) fn panel(alert: &Alert, status: &PlantStatus, clock: &Clock) -> Element {
    let heading = format!("alert-{}", alert.id);
    let title = Element::new("h2")
        .attribute("id", &heading)
        .child(alert.shape().drawing())
        .child(Element::new("span").text(alert.title(status)));
    let figures = (!alert.zones.is_empty() || alert.speed.is_some()).then(|| figures(alert));
    Element::new("article")
        .class(format_args!("alert {}", alert.shape().class()))
        .attribute("data-part", &heading)
        .attribute("aria-labelledby", &heading)
        .child(title)
        .child(Element::of("p", "message", &alert.message))
        .child(Element::of("div", "response", "").children(steps(alert)).children(figures))
        .child(meta(alert, clock))
}

fn steps(alert: &Alert) -> Option<Element> {
    if alert.advice.is_empty() {
        return None;
    }
    let list = Element::new("ol").children(alert.advice.iter().map(step));
    let caution = alert.caution.as_deref().unwrap_or(CAUTION);
    Some(
        Element::of("section", "steps", "")
            .child(Element::new("h3").text("Try in this order"))
            .child(list)
            .child(Element::of("p", "caution", caution)),
    )
}

fn step(step: &Step) -> Element {
    let cost =
        step.extra_cost_per_h.map(|cost| Element::new("span").text(format_args!("Costs {cost:.2} more an hour.")));
    Element::new("li")
        .child(Element::new("strong").text(step.order()))
        .children(step.text.as_deref().map(|text| Element::new("span").text(text)))
        .children(cost)
}

fn figures(alert: &Alert) -> Element {
    let heading = |text| Element::new("th").attribute("scope", "col").text(text);
    let cell = |text: String| Element::new("td").text(text);
    let head = ["", "Before", "Now", "Expected", "Normal band"].map(heading);
    let speed = alert.speed.iter().map(|speed| {
        Element::new("tr")
            .child(Element::new("th").attribute("scope", "row").text(format_args!("Band, {}", speed.unit)))
            .child(cell(figure::decimals(Some(speed.before), 2)))
            .child(cell(figure::decimals(Some(speed.after), 2)).class("now"))
            .child(cell(String::new()))
            .child(cell(String::new()))
    });
    let zones = alert.zones.iter().map(|zone| {
        let (above, below) = (zone.observed > zone.high && zone.high.is_some(), zone.observed < zone.low);
        let mark = if above {
            " ▲"
        } else if below {
            " ▼"
        } else {
            ""
        };
        let band = match (zone.low, zone.high) {
            (Some(low), Some(high)) => format!("{low:.1}–{high:.1}"),
            _ => "–".to_owned(),
        };
        Element::new("tr")
            .class(if above || below { "outside" } else { "inside" })
            .child(Element::new("th").attribute("scope", "row").text(format_args!("Zone {}, % vol", zone.zone)))
            .child(cell(figure::decimals(zone.before, 1)))
            .child(cell(format!("{}{mark}", figure::decimals(zone.observed, 1))).class("now"))
            .child(cell(figure::decimals(zone.expected, 1)))
            .child(cell(band))
    });
    let table = Element::new("table")
        .child(Element::new("caption").text("Moisture before the rise and now"))
        .child(Element::new("thead").child(Element::new("tr").children(head)))
        .child(Element::new("tbody").children(zones).children(speed));
    Element::of("div", "figures", "").child(table)
}

fn meta(alert: &Alert, clock: &Clock) -> Element {
    let began = alert.began.as_deref().map(|began| {
        let ago = clock.ago(began).map_or_else(String::new, |ago| format!(", {ago} ago"));
        Element::new("li").text("Began ").child(clock.element(began)).text(ago)
    });
    let say = |text: String| Element::new("li").text(text);
    Element::new("ul")
        .class("meta")
        .children(began)
        .children(alert.product.iter().map(|product| say(format!("Product {product}"))))
        .children((!alert.state.is_empty()).then(|| say(figure::sentence(&alert.state))))
        .children(alert.confidence.map(|confidence| say(format!("Confidence {:.1} %", confidence * 100.0))))
        .children(alert.normal.iter().map(|normal| say(format!("Normal {normal}"))))
}
