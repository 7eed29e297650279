//! Questions.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, as_of, frequency, respond},
};
use axum::{
    extract::{Path, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use matewell_app::Workshop;
use matewell_wire::{DueListJson, EndJson, EndListJson, MateCheckJson};
use serde::Deserialize;
use utoipa::IntoParams;

/// The question of a mate check.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct CheckQuery {
    /// Tag of one end.
    a: String,
    /// Tag of the other end.
    b: String,
    /// Frequency with unit, for example `18GHz`.
    at: Option<String>,
    /// Tag of the wrench in hand.
    wrench: Option<String>,
    /// Answer as of this time, RFC 3339; now when left out.
    as_of: Option<String>,
}

/// May I put this on that?
#[utoipa::path(get, path = "/api/v1/check", params(CheckQuery), responses(
    (status = 200, body = MateCheckJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn check(State(state): State<AppState>, Asked(q): Asked<CheckQuery>) -> Response {
    let now = state.now();
    let result = state
        .run(move |shop| {
            let at = as_of(q.as_of.as_deref(), now)?;
            shop.check(&q.a, &q.b, frequency(q.at.as_deref())?, q.wrench.as_deref(), at)
        })
        .await;
    respond(StatusCode::OK, result)
}

/// Which ends to list.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct EndsQuery {
    /// Part of the tag of an end or item.
    #[serde(default)]
    filter: String,
    /// Id of an end: only what comes after it.
    after: Option<String>,
    /// Rows to skip, from the start or from `after`.
    #[serde(default)]
    offset: u64,
    /// Rows to give, at most 1000.
    limit: Option<u64>,
}

/// A page of the register.
#[utoipa::path(get, path = "/api/v1/ends", params(EndsQuery), responses(
    (status = 200, body = EndListJson),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn ends(State(state): State<AppState>, Asked(q): Asked<EndsQuery>) -> Response {
    respond(
        StatusCode::OK,
        state
            .run(move |shop| shop.ends(&q.filter, q.after.as_deref(), q.offset, q.limit.unwrap_or(100)))
            .await,
    )
}

/// An end with its standing, reasons and history.
#[utoipa::path(get, path = "/api/v1/ends/{tag}", params(("tag" = String, Path, description = "Label of the end"), AsOf), responses(
    (status = 200, body = EndJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn end(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    let result = state.run(move |shop| shop.end(&tag, as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}

/// Where and when.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct DueQuery {
    /// Only what is due on items whose usual place this is; the whole lab when left out.
    location: Option<String>,
    /// Answer as of this time, RFC 3339; now when left out.
    as_of: Option<String>,
}

/// What is due, most pressing first.
#[utoipa::path(get, path = "/api/v1/due", params(DueQuery), responses(
    (status = 200, body = DueListJson),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn due(State(state): State<AppState>, Asked(q): Asked<DueQuery>) -> Response {
    let now = state.now();
    let result =
        state.ask(move |shop| shop.due(q.location.as_deref(), as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}

/// Proves the hash chain, or names the first broken fact.
#[utoipa::path(get, path = "/api/v1/verify", responses((status = 200, body = matewell_app::VerifyJson)))]
pub(crate) async fn verify(State(state): State<AppState>) -> Response {
    respond(StatusCode::OK, state.ask(Workshop::verify).await)
}

/// Every fact, one JSON object a line, in the order of entry.
#[utoipa::path(get, path = "/api/v1/export", responses((status = 200, description = "Facts as JSON lines", content_type = "application/x-ndjson")))]
pub(crate) async fn export(State(state): State<AppState>) -> Response {
    match state.ask(Workshop::export_lines).await {
        Ok(text) => ([(header::CONTENT_TYPE, "application/x-ndjson")], text).into_response(),
        Err(error) => answer::from_error(&error),
    }
}
