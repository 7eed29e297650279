//! The facts of this lab for another one that takes them over.

use crate::{AppState, answer, asked::Posted};
use axum::{
    extract::{Path, State},
    http::header,
    response::{IntoResponse, Response},
};
use matewell_wire::FactsAsked;
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(facts)).routes(routes!(file))
}

/// Facts that another lab lacks: what `matewell merge http://…` asks for. One
/// JSON document a line: the format with the ends of the chains, facts in the
/// bytes that their hashes cover, and a last line without which the answer did
/// not arrive whole. At most some thousand; the last line says whether to ask on.
#[utoipa::path(post, path = "/api/v1/facts/missing", request_body = FactsAsked, responses(
    (status = 200, description = "SentHeadJson, SentFactJson for each fact, SentLastJson; one a line", content_type = "application/x-ndjson"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn facts(State(state): State<AppState>, posted: Posted) -> Response {
    let result = match posted.read::<FactsAsked>() {
        Ok(asked) => state.ask(move |shop| shop.sent_facts(&asked)).await,
        Err(error) => Err(error),
    };
    match result {
        Ok(text) => ([(header::CONTENT_TYPE, "application/x-ndjson")], text).into_response(),
        Err(error) => answer::from_error(&error),
    }
}

/// A kept file by its SHA-256.
#[utoipa::path(get, path = "/api/v1/kept-files/{sha256}", params(("sha256" = String, Path, description = "64 hexadecimal digits")), responses(
    (status = 200, description = "The bytes as they came", content_type = "application/octet-stream"),
    (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn file(State(state): State<AppState>, Path(sha256): Path<String>) -> Response {
    match state.run(move |shop| shop.sent_file(&sha256)).await {
        Ok(bytes) => ([(header::CONTENT_TYPE, "application/octet-stream")], bytes).into_response(),
        Err(error) => answer::from_error(&error),
    }
}
