//! The page, made for one question: which oven needs a person, and what should that person do?
//!
//! It is read from three metres away in two seconds. What needs a person comes first, large and
//! coloured, and says so in words and by shape as well; everything else is grey.

mod alert;
mod answer;
mod attention;
mod clock;
mod figure;
mod oven;
mod panel;
mod quiet;
mod recent;
mod service;
mod shape;
mod side;
mod standing;
mod zone;

use crate::html::Element;
use crate::page::clock::Clock;
use crate::page::standing::Standing;
use crate::status::PlantStatus;

/// Three zones of falling height, as an SVG image in the address itself.
const ICON: &str = "data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 16 16'%3E\
    %3Cpath fill='%237a7a74' d='M1 2h4v12H1zM6 7h4v7H6zM11 11h4v3h-4z'/%3E%3C/svg%3E";

/// The whole page.
pub(crate) fn document(status: &PlantStatus) -> String {
    let main = Element::new("main").attribute("id", "plant").attribute("tabindex", -1);
    let body = Element::new("body")
        .child(Element::of("a", "skip", "Skip to the ovens").attribute("href", "#ovens"))
        .child(masthead(status))
        .child(parts(status).into_iter().fold(main, Element::child))
        .child(service::footer(status));
    let html = Element::new("html").attribute("lang", "en").child(head(status)).child(body);
    format!("<!doctype html>\n{html}\n")
}

/// What stands inside `main`: parts that the script replaces one by one, where they have changed.
pub(crate) fn fragment(status: &PlantStatus) -> String {
    parts(status).iter().map(Element::to_string).collect()
}

fn parts(status: &PlantStatus) -> Vec<Element> {
    let clock = Clock::of(&status.now);
    let standing = alert::standing(status);
    let calling = alert::calling(&standing);
    let standings: Vec<Standing> = status.lines.iter().map(|line| Standing::of(line, &standing, &clock)).collect();
    let scale = zone::Scale::of(&status.lines);
    let ovens = status.lines.iter().zip(&standings).map(|(line, standing)| oven::card(line, *standing, scale, &clock));
    let mut parts = attention::parts(status, &calling, &standings, &clock);
    parts.push(Element::of("h2", "divider", "Ovens").attribute("id", "ovens").attribute("data-part", "ovens"));
    parts.extend(ovens);
    parts.extend(quiet::part(status, &standing, &clock));
    parts.extend(recent::part(status, &clock));
    parts.push(service::summary(status, &clock));
    parts
}

fn head(status: &PlantStatus) -> Element {
    let meta = |name, content| Element::new("meta").attribute("name", name).attribute("content", content);
    let refresh = Element::new("meta").attribute("http-equiv", "refresh").attribute("content", 30);
    Element::new("head")
        .child(Element::new("meta").attribute("charset", "utf-8"))
        .child(meta("viewport", "width=device-width, initial-scale=1"))
        .child(meta("color-scheme", "light dark"))
        .child(Element::new("title").text(format_args!("{} · ovens", status.name)))
        .child(Element::new("link").attribute("rel", "icon").attribute("href", ICON))
        .child(Element::new("link").attribute("rel", "stylesheet").attribute("href", "/assets/plant.css"))
        .child(Element::new("script").attribute("src", "/assets/plant.js").attribute("defer", ""))
        .child(Element::new("noscript").child(refresh))
}

fn masthead(status: &PlantStatus) -> Element {
    let lost = Element::of("p", "lost", "").attribute("id", "lost").attribute("role", "alert").attribute("hidden", "");
    Element::new("header")
        .class("masthead")
        .child(Element::new("h1").text(&status.name))
        .child(Element::of("p", "subject", "Moisture in the ovens"))
        .child(lost)
}
