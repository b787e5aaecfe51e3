//! What each route asks for.

use axum::http::Method;
use serde_json::{Value, json};

use super::role::Role;

/// Routes that ask for nothing: what is needed to sign in, and whether the service lives.
const OPEN: [&str; 9] = [
    "/",
    "/console/{*path}",
    "/assets/plant.css",
    "/assets/plant.js",
    "/assets/api.css",
    "/healthz",
    "/readyz",
    "/api",
    "/api/v1/openapi.json",
];
const SESSION: &str = "/api/v1/session";

/// Changes, and looks that not everybody may take. Every other look is for viewers, every other change for admins.
const RIGHTS: [(&str, &str, Role); 13] = [
    ("POST", "/api/v1/alerts/{id}/acknowledge", Role::Lead),
    ("POST", "/api/v1/alerts/{id}/comment", Role::Lead),
    ("POST", "/api/v1/suppressions", Role::Lead),
    ("DELETE", "/api/v1/suppressions/{line}/{kind}", Role::Lead),
    ("POST", "/api/v1/normals/{line}/{product}/{version}/approve", Role::Engineer),
    ("POST", "/api/v1/normals/{line}/{product}/{version}/retire", Role::Engineer),
    ("POST", "/api/v1/rate-changes", Role::Lead),
    ("POST", "/api/v1/rate-changes/{line}/{number}/agree", Role::Engineer),
    ("POST", "/api/v1/rate-changes/{line}/{number}/made", Role::Lead),
    ("POST", "/api/v1/rate-changes/{line}/{number}/follow-up", Role::Lead),
    ("POST", "/api/v1/transit-runs", Role::Engineer),
    ("GET", "/api/v1/quarantine", Role::Engineer),
    ("GET", "/api/v1/audit", Role::Admin),
];

/// The least role for a route; `None` where nobody need sign in.
pub(super) fn least_role(method: &Method, route: &str) -> Option<Role> {
    if route == SESSION || OPEN.contains(&route) {
        return None;
    }
    let method = if method == Method::HEAD { "GET" } else { method.as_str() };
    let named = RIGHTS.iter().find(|(of, path, _)| *of == method && *path == route).map(|(.., role)| *role);
    Some(named.unwrap_or(if method == "GET" { Role::Viewer } else { Role::Admin }))
}

/// Writes into the document of the API what each route asks for, and how it refuses.
pub(crate) fn note_roles(document: &mut Value) {
    let problem = |description: &str| json!({ "description": description, "content": { "application/problem+json": { "schema": { "$ref": "#/components/schemas/Problem" } } } });
    for (path, item) in document["paths"].as_object_mut().into_iter().flatten() {
        for (method, operation) in item.as_object_mut().into_iter().flatten() {
            let method = method.to_uppercase();
            let role = Method::from_bytes(method.as_bytes()).ok().and_then(|method| least_role(&method, path));
            operation["x-least-role"] = json!(role.map_or("everybody", Role::name));
            let responses = &mut operation["responses"];
            if role.is_some() {
                responses["401"] = problem("Nobody is signed in, or the session or token is over.");
                responses["403"] = problem("The role does not suffice.");
            }
            if method != "GET" {
                responses["403"] = problem("The role does not suffice, or the request comes from another site.");
                responses["408"] = problem("The body did not come in time.");
                responses["413"] = problem("The body is too large.");
                responses["415"] = problem("The body is of another kind than the one named here.");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_that_nobody_thought_of_is_for_admins() {
        assert_eq!(least_role(&Method::PUT, "/api/v1/lines"), Some(Role::Admin));
        assert_eq!(least_role(&Method::GET, "/api/v1/lines"), Some(Role::Viewer));
        assert_eq!(least_role(&Method::HEAD, "/api/v1/audit"), Some(Role::Admin));
        assert_eq!(least_role(&Method::POST, "/api/v1/session"), None);
    }
}
