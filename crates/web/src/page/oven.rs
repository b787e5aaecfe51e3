//! One oven: how it stands, and its zones along the band.

use chrono::TimeDelta;

use crate::html::Element;
use crate::page::clock::Clock;
use crate::page::figure;
use crate::page::shape::Shape;
use crate::page::zone::{self, Scale};
use crate::status::LineStatus;

/// After so long without a reading nobody knows what lies in the oven.
const SILENT_AFTER: TimeDelta = TimeDelta::minutes(5);

/// How an oven stands, for people.
pub(crate) struct Standing {
    pub(crate) shape: Shape,
    pub(crate) words: String,
}

/// Whether a line has not been heard of for too long.
pub(crate) fn is_silent(line: &LineStatus, clock: &Clock) -> bool {
    line.newest.as_deref().is_none_or(|newest| clock.age(newest).is_some_and(|age| age > SILENT_AFTER))
}

impl Standing {
    /// How a line stands. A load that rests on old readings is worth nothing, so silence comes first.
    pub(crate) fn of(line: &LineStatus, clock: &Clock) -> Self {
        let (shape, words) = match line.load.as_str() {
            _ if is_silent(line, clock) => (Shape::Watch, "No readings".to_owned()),
            "overloaded" => (Shape::Act, "Overloaded".to_owned()),
            "rising" => (Shape::Watch, "Rising".to_owned()),
            "normal" => (Shape::Well, "Normal".to_owned()),
            _ if line.state == "baking" => (Shape::Unknown, "Not judged".to_owned()),
            _ => (Shape::Unknown, figure::sentence(&line.state)),
        };
        Self { shape, words }
    }
}

/// An oven as a part of the page.
pub(crate) fn card(line: &LineStatus, scale: Scale, clock: &Clock) -> Element {
    let standing = Standing::of(line, clock);
    let heading = format!("oven-{}", line.id);
    let zones = line.zones.iter().map(|zone| zone::item(zone, scale));
    let oven = Element::new("div")
        .class("oven")
        .child(
            Element::new("ol")
                .class("zones")
                .attribute("aria-label", "Zones, in the direction of travel")
                .children(zones),
        )
        .child(band(line));
    Element::new("article")
        .class(format_args!("line {}", standing.shape.class()))
        .attribute("data-part", &heading)
        .attribute("aria-labelledby", &heading)
        .child(facts(line, &standing, &heading, clock))
        .child(oven)
}

fn facts(line: &LineStatus, standing: &Standing, heading: &str, clock: &Clock) -> Element {
    let load = Element::of("p", "standing", "")
        .child(standing.shape.drawing())
        .child(Element::new("strong").text(&standing.words))
        .children(since(line, clock));
    let fact = |term, value: String| {
        Element::new("div").child(Element::new("dt").text(term)).child(Element::new("dd").text(value))
    };
    let list = Element::new("dl")
        .class("facts")
        .child(fact("Product", line.product.clone().unwrap_or_else(|| "–".to_owned())))
        .child(fact("Band", figure::with_unit(line.band_speed_m_min, 2, "m/min")))
        .child(fact("State", figure::sentence(&line.state)))
        .child(fact("Normal", line.normal.clone().unwrap_or_else(|| "none approved".to_owned())));
    Element::new("div")
        .class("who")
        .child(Element::new("h3").attribute("id", heading).text(&line.name))
        .child(load)
        .child(list)
}

fn since(line: &LineStatus, clock: &Clock) -> Option<Element> {
    let time = if is_silent(line, clock) { &line.newest } else { &line.load_since };
    time.as_deref().map(|time| Element::of("span", "since", "since ").child(clock.element(time)))
}

/// The band under the zones, with loaves on it while there is product.
fn band(line: &LineStatus) -> Element {
    let loaves = match line.state.as_str() {
        "baking" => "full",
        "gap" | "changeover" => "sparse",
        _ => "empty",
    };
    let moving = line.band_speed_m_min.is_some_and(|speed| speed > 0.0) && line.state != "stopped";
    let pattern = format!("loaves-{}", line.id);
    let loaf = Element::new("rect")
        .class("loaf")
        .attribute("width", 18)
        .attribute("height", 8)
        .attribute("y", 2)
        .attribute("rx", 4);
    let spacing = if loaves == "full" { 28 } else { 112 };
    let definition = Element::new("pattern")
        .attribute("id", &pattern)
        .attribute("width", spacing)
        .attribute("height", 16)
        .attribute("patternUnits", "userSpaceOnUse")
        .child(loaf);
    let area = |class, fill: String| {
        Element::new("rect").class(class).attribute("width", "100%").attribute("height", 10).attribute("fill", fill)
    };
    let load = (loaves != "empty").then(|| area("load", format!("url(#{pattern})")));
    let belt = Element::new("rect").class("belt").attribute("y", 11).attribute("width", "100%").attribute("height", 2);
    let svg = Element::new("svg").attribute("height", 16).attribute("width", "100%").attribute("aria-hidden", "true");
    let arrow = moving.then(|| Element::of("span", "direction", "→").attribute("aria-hidden", "true"));
    Element::new("div")
        .class("travel")
        .child(svg.child(Element::new("defs").child(definition)).children(load).child(belt))
        .children(arrow)
}
