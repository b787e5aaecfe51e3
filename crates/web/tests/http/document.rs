//! The document of the API is true: its examples, and what the routes answer.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::examples::example;
use crate::millbrook;
use crate::served::Served;
use web::api::Alert;

fn document() -> Value {
    Served::new(millbrook::overloaded(), |_| {}).get("/api/v1/openapi.json").json()
}

/// What validates against a schema of the document.
fn validator(document: &Value, schema: &Value) -> jsonschema::Validator {
    let mut schema = schema.clone();
    schema["components"] = document["components"].clone();
    jsonschema::draft202012::new(&schema).unwrap_or_else(|error| panic!("{error} in {schema}"))
}

#[test]
fn the_document_is_what_it_was() {
    let text = serde_json::to_string_pretty(&document()).unwrap();
    insta::assert_snapshot!("openapi", text);
}

#[test]
fn every_example_is_of_its_type() {
    let document = document();
    assert_eq!(document["openapi"].as_str().map(|version| &version[..3]), Some("3.1"));
    let mut examples = 0;
    for (name, schema) in document["components"]["schemas"].as_object().unwrap() {
        let Some(example) = schema.get("example") else { continue };
        examples += 1;
        let of_type = validator(&document, &json!({ "$ref": format!("#/components/schemas/{name}") }));
        let wrong: Vec<String> = of_type.iter_errors(example).map(|error| error.to_string()).collect();
        assert!(wrong.is_empty(), "{name}: {wrong:?}");
    }
    assert!(examples >= 15, "{examples}");
}

#[test]
fn every_answer_is_of_the_type_that_the_document_names() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    let document = document();
    let alert = example::<Alert>().id;
    let mut asked = 0;
    for (route, item) in document["paths"].as_object().unwrap() {
        let schema = &item["get"]["responses"]["200"]["content"]["application/json"]["schema"];
        if schema.is_null() {
            continue;
        }
        let path = [
            ("{line}", "tunnel-1"),
            ("{product}", "T800"),
            ("{version}", "3"),
            ("{date}", "2026-10-06"),
            ("{shift}", "early"),
            ("/alerts/{id}", &*format!("/alerts/{alert}")),
            ("/transit-runs/{id}", "/transit-runs/tunnel-1-20261006T090000Z"),
            ("{number}", "3"),
        ]
        .iter()
        .fold(route.clone(), |path, (name, value)| path.replace(name, value));
        let path = match path.rsplit('/').next() {
            Some("diff") => format!("{path}?a=tunnel-1/T800/3&b=tunnel-1/T800/3"),
            Some("review") => format!("{path}?line=tunnel-1&product=T800&speed_m_min=1.4"),
            Some("compare") => format!("{path}?before=tunnel-1-20261006T090000Z&after=tunnel-1-20261006T090000Z"),
            _ => path,
        };
        // The audit is for admins; its type is checked where somebody signs in.
        if path.ends_with("/audit") {
            continue;
        }
        let answer = served.get(&path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        let wrong: Vec<String> =
            validator(&document, schema).iter_errors(&answer.json()).map(|error| error.to_string()).collect();
        assert!(wrong.is_empty(), "{path}: {wrong:?}");
        asked += 1;
    }
    assert!(asked >= 24, "{asked}");
}

#[test]
fn the_page_for_people_names_every_route_and_asks_nothing_of_another_machine() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    let page = served.get("/api");
    assert_eq!((page.status, page.header("content-type")), (200, "text/html; charset=utf-8"));
    let routes: BTreeSet<String> = document()["paths"].as_object().unwrap().keys().cloned().collect();
    for route in &routes {
        assert!(page.body.contains(route.as_str()), "{route}");
    }
    assert!(!page.body.contains("http://") && !page.body.contains("https://") && !page.body.contains("<script"));
}
