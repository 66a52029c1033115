//! `/openapi.json`: the interface, described for programs (OpenAPI 3.2).
//!
//! What holds for every route is added here, once: the token, the answers of the guard and of whatever
//! reads a request, and that every error is a problem detail.

use crate::web::problem::{PROBLEM_JSON, Problem};
use crate::web::{
    adapters, events, jobs, marks, page, photos, pulls, reports, screens, state, typed,
};
use axum::http::header;
use axum::response::IntoResponse;
use std::sync::LazyLock;
use utoipa::openapi::path::{Operation, PathItem};
use utoipa::openapi::security::{ApiKey, ApiKeyValue, Http, HttpAuthScheme, SecurityScheme};
use utoipa::openapi::{Components, ObjectBuilder};
use utoipa::openapi::{
    Content, Header, OpenApi as Document, OpenApiVersion, Ref, RefOr, Response, Type,
};
use utoipa::{Modify, OpenApi};

/// Why the journal is not told of.
pub(super) const UNREADABLE: &str = "The journal cannot be read";
/// Why nothing was done.
pub(super) const STOPPING: &str = "The daemon is stopping; nothing was done";
/// Why nothing was done.
pub(super) const NOT_KEPT: &str = "The record could not be kept; nothing was done";
/// Why nobody is let in.
pub(super) const GUESSED: &str = "Too many wrong keys were tried";
/// Why a screen is not called so.
pub(super) const NO_NAME: &str = "The name has no character, more than forty, or several lines";
/// A plan to try things with.
pub(super) const EXAMPLE_PLAN: &str = "plan = \"Two bolts\"\ntolerance = \"±8 %\"\n\
    source = \"my sheet\"\n[holds]\nride-height = \"Wheels at normal height?\"\n[joints]\n\
    damper-eye = \"122 N·m\"\n[joints.arm-pivot]\ntarget = \"178 N·m\"\nhold = \"ride-height\"\n";

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Clampbook",
        description = "The daemon's interface, for programs and pages. It answers on the loopback interface, and on \
            the network only if it was started with `--lan`. Programs of the account know the token of this run, which \
            the daemon leaves in a file for the account's own eyes; it is taken over loopback only. Screens are let in \
            with a key that works once, and then send a cookie. A caller names the very address that it talks to, and \
            a page only talks to where it comes from. Every error is a problem detail (RFC 9457) whose `type` is \
            one of a closed set, also where an address has nothing (404) or takes other methods (405, with `Allow`); \
            only what is no HTTP at all is refused without one. A body may have 1 MiB, a photo 2 MiB. Torque is in N·m and signed \
            (clockwise is positive), moments are microseconds since the Unix epoch, unless it says otherwise."
    ),
    paths(
        state::state,
        state::pulse,
        events::events,
        adapters::list,
        adapters::zero,
        adapters::identify,
        jobs::list,
        jobs::show,
        pulls::list,
        marks::list,
        photos::attach,
        photos::list,
        photos::show,
        jobs::start,
        jobs::recheck,
        jobs::mark,
        typed::typed,
        typed::repeat,
        typed::loose,
        typed::claim,
        jobs::park,
        jobs::resume,
        jobs::close,
        reports::page,
        reports::document,
        screens::new_key,
        screens::enter,
        screens::list,
        screens::shut_out,
        screens::rename,
        page::page,
        page::threshold,
        page::part,
        page::words,
        description
    ),
    components(schemas(Problem, events::StateEvent)),
    security(("token" = []), ("screen" = [])),
    tags(
        (name = "state", description = "Where everything stands"),
        (name = "jobs", description = "Jobs, and what the operator says and types"),
        (name = "adapters", description = "The adapters listened to"),
        (name = "reports", description = "What a job left behind"),
        (name = "screens", description = "Screens that are let in"),
        (name = "page", description = "The live page"),
        (name = "description", description = "This document")
    ),
    modifiers(&Common)
)]
struct Description;

/// The description never changes while the program runs.
static TEXT: LazyLock<String> = LazyLock::new(|| {
    let text = Description::openapi().to_json().expect("it is plain data; this is a bug");
    // The registry of formats has them without the hyphen.
    text.replace("\"format\":\"u-int", "\"format\":\"uint")
});

/// This description.
#[utoipa::path(get, path = "/openapi.json", operation_id = "description", tag = "description",
    responses((status = 200, description = "OpenAPI 3.2", body = Object)))]
pub(super) async fn description() -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "application/json")], TEXT.as_str())
}

/// Adds what holds for every route.
struct Common;

impl Modify for Common {
    fn modify(&self, document: &mut Document) {
        document.openapi = OpenApiVersion::Version32;
        let bearer = Http::builder()
            .scheme(HttpAuthScheme::Bearer)
            .description(Some("The token of this run of the daemon."))
            .build();
        let cookie = ApiKeyValue::with_description(
            "clampbook_JOURNAL",
            "What a screen was answered with when it was let in; its name ends in eight letters of the journal's own.",
        );
        let components = document.components.get_or_insert_with(Components::new);
        components.add_security_scheme("token", SecurityScheme::Http(bearer));
        components.add_security_scheme("screen", SecurityScheme::ApiKey(ApiKey::Cookie(cookie)));
        for (path, item) in &mut document.paths.paths {
            for operation in operations(item) {
                complete(path, operation);
            }
        }
    }
}

fn operations(item: &mut PathItem) -> impl Iterator<Item = &mut Operation> {
    [&mut item.get, &mut item.post, &mut item.put, &mut item.patch, &mut item.delete]
        .into_iter()
        .flatten()
}

fn complete(path: &str, operation: &mut Operation) {
    // Who has yet to be let in needs nothing.
    if operation.security.is_none() {
        add(operation, "401", "The caller is not let in");
    }
    add(operation, "403", "The header `Origin` names another page");
    add(operation, "421", "The header `Host` does not name the address that is talked to");
    let is_json = operation.request_body.as_ref().is_some_and(|body| match body {
        RefOr::T(body) => body.content.contains_key("application/json"),
        RefOr::Ref(_) => true,
    });
    if path.contains('{') {
        add(operation, "400", "The address cannot be read");
    }
    if is_json {
        add(operation, "400", "The body is not JSON");
        add(operation, "413", "The body is too large");
        add(operation, "415", "The header `Content-Type` does not say JSON");
        add(operation, "422", "The body is JSON and not what is described");
    }
    for (status, response) in &mut operation.responses.responses {
        let RefOr::T(response) = response else { continue };
        if status.as_str() >= "400" {
            let problem = Content::new(Some(Ref::from_schema_name("Problem")));
            response.content.insert(PROBLEM_JSON.to_owned(), RefOr::T(problem));
        }
        if status == "401" {
            let text = ObjectBuilder::new().schema_type(Type::String);
            let mut challenge = Header::new(text);
            challenge.description = Some("`Bearer`".to_owned());
            response.headers.insert("WWW-Authenticate".to_owned(), RefOr::T(challenge));
        }
    }
}

/// Adds an answer; to one that the operation has already, another reason.
fn add(operation: &mut Operation, status: &str, reason: &str) {
    let responses = &mut operation.responses.responses;
    match responses.get_mut(status) {
        Some(RefOr::T(response)) => {
            response.description = format!("{}; or: {reason}", response.description);
        }
        Some(RefOr::Ref(_)) => {}
        None => {
            responses.insert(status.to_owned(), RefOr::T(Response::new(reason)));
        }
    }
}
