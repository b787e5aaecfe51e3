//! A standing alert: what happened, what to try, and the figures behind it.

use crate::html::Element;
use crate::page::alert::{Alert, Step, ZoneFigures};
use crate::page::answer;
use crate::page::clock::Clock;
use crate::page::figure;
use crate::page::side::Side;
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
    let evidence = Element::of("section", "evidence", "").children(figures).child(meta(alert, clock));
    Element::new("article")
        .class(format_args!(
            "alert {}{}",
            alert.shape().class(),
            if alert.is_acknowledged() { " answered" } else { "" }
        ))
        .attribute("data-part", &heading)
        .attribute("aria-labelledby", &heading)
        .child(title)
        .child(Element::of("p", "message", &alert.message))
        .child(answer::part(alert, clock))
        .child(Element::of("div", "response", "").children(steps(alert)).child(evidence))
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
    let expected = if alert.finding == "zone3-limit" { "Limit" } else { "Expected" };
    let heading = |text| Element::new("th").attribute("scope", "col").text(text);
    let head = ["Before", "Now", expected, "Usual band"].map(heading);
    let speed = alert.speed.iter().map(|speed| {
        let figures = [speed.before, speed.after].map(|speed| format!("{speed:.2}"));
        row("inside", format!("Band, {}", speed.unit), figures)
    });
    let table = Element::new("table")
        .child(Element::new("caption").text("Moisture, before and now"))
        .child(Element::new("thead").child(Element::new("tr").child(Element::new("td")).children(head)))
        .child(Element::new("tbody").children(alert.zones.iter().map(zone)).children(speed));
    Element::of("div", "figures", "").child(table)
}

fn zone(zone: &ZoneFigures) -> Element {
    let side = Side::of(zone.observed, zone.low, zone.high);
    let decimals = |value| figure::decimals(value, 1);
    let observed = format!("{}{}", side.mark(), decimals(zone.observed));
    let figures = [decimals(zone.before), observed, decimals(zone.expected), figure::range(zone.low, zone.high)];
    row(side.class(), format!("Zone {}, % vol", zone.zone), figures)
}

fn row(class: &'static str, name: String, figures: impl IntoIterator<Item = String>) -> Element {
    let cells = figures.into_iter().map(|figure| Element::new("td").text(figure));
    Element::of("tr", class, "").child(Element::new("th").attribute("scope", "row").text(name)).children(cells)
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
        .children(alert.confidence.map(|confidence| say(certainty(confidence))))
        .children(alert.normal.iter().map(|normal| say(format!("Normal {normal}"))))
}

/// Nothing is certain, so nothing is rounded to 100 %.
fn certainty(confidence: f64) -> String {
    if confidence > 0.999 {
        "Confidence over 99.9 %".to_owned()
    } else {
        format!("Confidence {:.1} %", confidence * 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::certainty;

    #[test]
    fn nothing_is_certain() {
        assert_eq!(certainty(0.998), "Confidence 99.8 %");
        assert_eq!(certainty(0.9996), "Confidence over 99.9 %");
    }
}
