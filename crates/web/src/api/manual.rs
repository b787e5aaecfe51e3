//! The document of the API as a page to read: server-rendered, with nothing from elsewhere.

use serde_json::Value;

use crate::html::Element;

/// The whole page.
pub(super) fn page(document: &Value) -> String {
    let head = Element::new("head")
        .child(Element::new("meta").attribute("charset", "utf-8"))
        .child(Element::new("meta").attribute("name", "viewport").attribute("content", "width=device-width"))
        .child(Element::new("title").text("The API of ovenward"))
        .child(Element::new("link").attribute("rel", "stylesheet").attribute("href", "/assets/api.css"));
    let mut main = Element::new("main")
        .child(Element::new("h1").text("The API"))
        .child(Element::new("p").text(text(&document["info"]["description"])))
        .child(Element::new("p").text("For programs: ").child(
            Element::new("a").attribute("href", "/api/v1/openapi.json").text("/api/v1/openapi.json (OpenAPI 3.1)"),
        ));
    for tag in document["tags"].as_array().into_iter().flatten() {
        main = main
            .child(Element::new("h2").text(text(&tag["name"])))
            .child(Element::new("p").text(text(&tag["description"])))
            .children(operations(document, text(&tag["name"])));
    }
    let html = Element::new("html").attribute("lang", "en").child(head).child(Element::new("body").child(main));
    format!("<!doctype html>\n{html}\n")
}

fn operations<'a>(document: &'a Value, tag: &'a str) -> impl Iterator<Item = Element> + 'a {
    let paths = document["paths"].as_object().into_iter().flatten();
    paths.flat_map(move |(path, item)| {
        let methods = item.as_object().into_iter().flatten();
        let tagged = methods.filter(move |(_, operation)| operation["tags"][0] == *tag);
        tagged.map(move |(method, operation)| self::operation(document, &method.to_uppercase(), path, operation))
    })
}

fn operation(document: &Value, method: &str, path: &str, operation: &Value) -> Element {
    let summary = [text(&operation["summary"]), text(&operation["description"])].join(" ");
    let mut section = Element::new("section")
        .child(Element::new("h3").child(Element::new("code").text(format!("{method} {path}"))))
        .child(Element::new("p").text(format!("{} For: {}.", summary.trim(), text(&operation["x-least-role"]))));
    let parameters: Vec<Element> = operation["parameters"].as_array().into_iter().flatten().map(parameter).collect();
    if !parameters.is_empty() {
        section = section.child(Element::new("ul").children(parameters));
    }
    let body = &operation["requestBody"]["content"]["application/json"]["schema"];
    if let Some(example) = example(document, body) {
        section = section.child(Element::new("p").text("Takes, for example:")).child(Element::new("pre").text(example));
    }
    let answer = &operation["responses"]["200"]["content"]["application/json"]["schema"];
    if let Some(example) = example(document, answer) {
        section = section.child(Element::new("p").text("Gives, for example:")).child(Element::new("pre").text(example));
    }
    section
}

fn parameter(parameter: &Value) -> Element {
    let must = if parameter["required"] == true { "" } else { ", may be left out" };
    Element::new("li")
        .child(Element::new("code").text(text(&parameter["name"])))
        .text(format!(" {}{must}", text(&parameter["description"]).trim_end_matches('.')))
}

/// The example of the type that a schema refers to.
fn example(document: &Value, schema: &Value) -> Option<String> {
    let name = schema["$ref"].as_str()?.rsplit('/').next()?;
    let example = document["components"]["schemas"][name].get("example")?;
    serde_json::to_string_pretty(example).ok()
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}
