//! Which URL does what?
//!
//! Versioned JSON under `/api/v1`, described by OpenAPI 3.1 at
//! `/api/v1/openapi.json`, errors as RFC 9457 problem details, live events as
//! Server-Sent Events, and the embedded page. No judgement here: handlers call
//! use cases.

mod access;
mod answer;
mod arrive;
mod aside;
mod asked;
mod calendar;
mod cases;
mod client;
mod events;
mod far;
mod gauging;
mod health;
mod kits;
mod line;
mod listen;
mod looks;
mod page;
mod papers;
mod people;
mod reads;
mod register;
mod replica;
mod rig;
mod seats;
mod sent;
mod signed;
mod state;
mod study;
mod sweep;
mod tools;
mod trace;
mod tries;
mod watch;
mod webhook;
mod writes;

pub use access::Served;
pub use far::HttpLab;
pub use listen::{Tls, read_tls, serve};
pub use state::{AppState, StandingEvent};
pub use watch::{LogFormat, LogSink};
pub use webhook::tell;

use axum::{
    Router,
    extract::DefaultBodyLimit,
    http::{HeaderValue, StatusCode, header},
    middleware,
    response::Response,
    routing::{any, get},
};
use std::collections::BTreeMap;
use tower_http::{
    catch_panic::CatchPanicLayer, compression::CompressionLayer, set_header::SetResponseHeaderLayer,
};
use utoipa::{OpenApi, openapi::RefOr};
use utoipa_axum::{router::OpenApiRouter, routes};

/// Largest body a request may carry, for a lab's own workbook.
pub(crate) const BODY_LIMIT_BYTES: usize = 32 * 1024 * 1024;

/// What the page may load: its own files, nothing inline, nobody else's.
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
     connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

#[derive(OpenApi)]
#[openapi(info(
    title = "Matewell",
    description = "Decides, explains, remembers and computes for a lab's coaxial connectors.",
    license(name = "MIT OR Apache-2.0")
))]
struct Description;

/// Every route, each operation named after its method and path: names of
/// handlers may repeat, and a client generated from the description must not
/// take one for the other.
fn api() -> OpenApiRouter<AppState> {
    let mut api = every_route();
    for (path, item) in &mut api.get_openapi_mut().paths.paths {
        let words: Vec<&str> = path
            .trim_start_matches("/api/v1")
            .split(|c: char| !c.is_ascii_alphanumeric())
            .filter(|word| !word.is_empty())
            .collect();
        for (method, operation) in [("get", &mut item.get), ("post", &mut item.post)] {
            if let Some(operation) = operation {
                operation.operation_id = Some(format!("{method}_{}", words.join("_")));
                describe(&mut operation.responses.responses);
            }
        }
    }
    api
}

/// The standard asks for a description of every answer; where a handler gives
/// none it is the name of the status.
fn describe(responses: &mut BTreeMap<String, RefOr<utoipa::openapi::Response>>) {
    for (status, response) in responses {
        if let RefOr::T(response) = response
            && response.description.is_empty()
        {
            let status = status.parse().ok().and_then(|code: u16| StatusCode::from_u16(code).ok());
            let name = status.and_then(|status| status.canonical_reason());
            name.unwrap_or("An answer").clone_into(&mut response.description);
        }
    }
}

fn every_route() -> OpenApiRouter<AppState> {
    OpenApiRouter::with_openapi(Description::openapi())
        .routes(routes!(reads::check))
        .routes(routes!(reads::ends))
        .routes(routes!(reads::end))
        .routes(routes!(reads::due))
        .routes(routes!(reads::verify))
        .routes(routes!(health::health))
        .routes(routes!(reads::export))
        .routes(routes!(writes::mate))
        .routes(routes!(writes::mates_bulk))
        .routes(routes!(writes::part))
        .routes(routes!(writes::inspect))
        .routes(routes!(writes::clean))
        .routes(routes!(writes::hold))
        .routes(routes!(writes::release))
        .routes(routes!(writes::retire))
        .routes(routes!(writes::replace))
        .routes(routes!(writes::take_back))
        .routes(routes!(writes::follow_up))
        .routes(routes!(gauging::gauge))
        .routes(routes!(gauging::budget))
        .routes(routes!(gauging::pin_history))
        .routes(routes!(tools::list))
        .routes(routes!(tools::show))
        .routes(routes!(tools::check))
        .routes(routes!(tools::was_off))
        .routes(routes!(events::events))
        .routes(routes!(line::impedance))
        .routes(routes!(line::cutoff))
        .routes(routes!(line::gap))
        .routes(routes!(line::off_centre))
        .routes(routes!(line::loss))
        .routes(routes!(line::mismatch))
        .routes(routes!(line::chain))
        .routes(routes!(line::convert))
        .routes(routes!(line::recess))
        .routes(routes!(line::step))
        .routes(routes!(line::shift))
        .routes(routes!(line::usable))
        .routes(routes!(line::cost))
        .routes(routes!(line::thermal))
        .routes(routes!(line::air))
        .routes(routes!(line::slots))
        .routes(routes!(line::interfaces))
        .routes(routes!(line::off_centre_picture))
        .routes(routes!(line::gap_picture))
        .routes(routes!(line::loss_picture))
        .routes(routes!(line::recess_picture))
        .routes(routes!(line::step_picture))
        .routes(routes!(line::shift_picture))
        .routes(routes!(trace::forward))
        .routes(routes!(trace::back))
        .routes(routes!(trace::common))
        .routes(routes!(trace::tool))
        .routes(routes!(cases::list, cases::open))
        .routes(routes!(cases::show))
        .routes(routes!(cases::add))
        .routes(routes!(cases::set_aside))
        .routes(routes!(cases::decide))
        .routes(routes!(cases::decide_results))
        .routes(routes!(cases::close))
        .merge(sweep::routes())
        .merge(register::routes())
        .merge(looks::routes())
        .merge(people::routes())
        .merge(calendar::routes())
        .merge(watch::routes())
        .merge(signed::routes())
        .merge(webhook::routes())
        .merge(rig::routes())
        .merge(sent::routes())
        .merge(kits::routes())
        .merge(papers::routes())
        .merge(studies())
}

/// Studies, drift, and a lab's own values.
fn studies() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(study::gauge, study::gauge_facts))
        .routes(routes!(study::gauge_picture, study::gauge_facts_picture))
        .routes(routes!(study::nested, study::nested_facts))
        .routes(routes!(study::nested_picture, study::nested_facts_picture))
        .routes(routes!(study::chart, study::chart_facts))
        .routes(routes!(study::chart_picture, study::chart_facts_picture))
        .routes(routes!(study::compare, study::compare_facts))
        .routes(routes!(study::compare_picture, study::compare_facts_picture))
        .routes(routes!(study::torque, study::torque_facts))
        .routes(routes!(study::torque_picture, study::torque_facts_picture))
        .routes(routes!(study::window))
        .routes(routes!(study::drift))
        .routes(routes!(study::drift_svg))
        .routes(routes!(study::validation))
}

/// The OpenAPI document as pretty JSON.
pub fn openapi_json() -> String {
    let mut text = api().to_openapi().to_pretty_json().unwrap_or_default();
    text.push('\n');
    text
}

/// The whole service: API and page.
pub fn router(state: AppState) -> Router {
    let (api, description) = api().split_for_parts();
    let document = description.to_pretty_json().unwrap_or_default();
    api.route(
        "/api/v1/openapi.json",
        get(move || async move { ([(header::CONTENT_TYPE, "application/json")], document) }),
    )
    .route(access::NO_ROUTE, any(no_such_route))
    .fallback(page::serve)
    .layer(middleware::from_fn(arrive::watch_over))
    .layer(middleware::from_fn_with_state(state.clone(), replica::route))
    .layer(middleware::from_fn_with_state(state.clone(), access::gate))
    .layer(middleware::from_fn_with_state(state.clone(), watch::watch))
    .with_state(state)
    // `arrive` knows the limit of every route.
    .layer(DefaultBodyLimit::disable())
    .layer(CompressionLayer::new())
    .layer(SetResponseHeaderLayer::overriding(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(CONTENT_SECURITY_POLICY),
    ))
    .layer(SetResponseHeaderLayer::overriding(
        header::X_CONTENT_TYPE_OPTIONS,
        HeaderValue::from_static("nosniff"),
    ))
    .layer(SetResponseHeaderLayer::overriding(
        header::REFERRER_POLICY,
        HeaderValue::from_static("no-referrer"),
    ))
    .layer(CatchPanicLayer::new())
}

async fn no_such_route() -> Response {
    answer::problem(StatusCode::NOT_FOUND, "no-such-route", "There is no such route.", serde_json::Map::new())
}

#[cfg(test)]
mod tests {
    /// OpenAPI Specification 3.1.1, section 4.8.17: `description` of a response
    /// object is required. Generators refuse a document without.
    #[test]
    fn every_answer_has_a_description() {
        let document: serde_json::Value = serde_json::from_str(&super::openapi_json()).unwrap_or_default();
        let paths = document["paths"].as_object().cloned().unwrap_or_default();
        let operations = paths.values().filter_map(|item| item.as_object()).flat_map(|item| item.values());
        let mut count = 0;
        for (status, answer) in operations.filter_map(|o| o["responses"].as_object()).flatten() {
            assert!(answer["description"].as_str().is_some_and(|text| !text.is_empty()), "{status} {answer}");
            count += 1;
        }
        assert!(count > 250, "{count}");
    }

    #[test]
    fn every_operation_has_a_name_of_its_own() {
        let document: serde_json::Value = serde_json::from_str(&super::openapi_json()).unwrap_or_default();
        let paths = document["paths"].as_object().cloned().unwrap_or_default();
        let mut names: Vec<String> = paths
            .values()
            .filter_map(|item| item.as_object())
            .flat_map(|item| item.values())
            .map(|operation| operation["operationId"].to_string())
            .collect();
        let count = names.len();
        names.sort();
        names.dedup();
        assert!(count > 60, "{count}");
        assert_eq!(names.len(), count, "{names:?}");
    }
}
