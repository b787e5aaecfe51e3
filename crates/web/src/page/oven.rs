//! One oven: how it stands, and its zones along the band.

use crate::html::Element;
use crate::page::clock::Clock;
use crate::page::figure;
use crate::page::standing::Standing;
use crate::page::zone::{self, Scale};
use crate::status::LineStatus;

/// An oven as a part of the page.
pub(crate) fn card(line: &LineStatus, standing: Standing, scale: Scale, clock: &Clock) -> Element {
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
        .child(band(line, standing));
    Element::new("article")
        .class(format_args!("line {}", standing.class()))
        .attribute("data-part", &heading)
        .attribute("aria-labelledby", &heading)
        .child(facts(line, standing, &heading, clock))
        .child(oven)
}

fn facts(line: &LineStatus, standing: Standing, heading: &str, clock: &Clock) -> Element {
    let load = Element::of("p", "standing", "")
        .child(standing.shape().drawing())
        .child(Element::new("strong").text(standing.words(line)))
        .children(since(line, standing, clock));
    let fact = |term, value: String| {
        Element::new("div").child(Element::new("dt").text(term)).child(Element::new("dd").text(value))
    };
    let normal = match (&line.normal, &line.product) {
        (Some(normal), _) => normal.clone(),
        (None, Some(_)) => "none approved".to_owned(),
        (None, None) => "–".to_owned(),
    };
    let list = Element::new("dl")
        .class("facts")
        .child(fact("Product", line.product.clone().unwrap_or_else(|| "–".to_owned())))
        .child(fact("Band", figure::with_unit(line.band_speed_m_min, 2, "m/min")))
        .child(fact("State", figure::sentence(&line.state)))
        .child(fact("Normal", normal));
    Element::new("div")
        .class("who")
        .child(Element::new("h3").attribute("id", heading).text(&line.name))
        .child(load)
        .child(list)
}

/// Since when it stands so. When an oven stopped is not told, only when its load was last known.
fn since(line: &LineStatus, standing: Standing, clock: &Clock) -> Option<Element> {
    let time = match standing {
        Standing::Silent => &line.newest,
        Standing::Idle => &None,
        _ => &line.load_since,
    };
    time.as_deref().map(|time| Element::of("span", "since", "since ").child(clock.element(time)))
}

/// The band under the zones, with loaves on it while there is product.
fn band(line: &LineStatus, standing: Standing) -> Element {
    let loaves = match line.state.as_str() {
        _ if standing == Standing::Silent => "empty",
        "baking" => "full",
        "gap" | "changeover" => "sparse",
        _ => "empty",
    };
    let moves = line.state != "stopped" && standing != Standing::Silent;
    let moving = moves && line.band_speed_m_min.is_some_and(|speed| speed > 0.0);
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
