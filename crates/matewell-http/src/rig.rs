//! What posting a list of mates would do.

use crate::{
    AppState, answer,
    asked::{Posted, respond},
    writes::BulkBody,
};
use axum::{extract::State, http::StatusCode, response::Response};
use matewell_wire::RigCheckJson;
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(check))
}

/// Says of each mate of a list whether it would be written, and what a mate
/// check says at its time, with codes. Nothing is written.
#[utoipa::path(post, path = "/api/v1/mates/bulk/check", request_body = BulkBody, responses(
    (status = 200, body = RigCheckJson),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn check(State(state): State<AppState>, posted: Posted) -> Response {
    let read = posted.read::<BulkBody>().and_then(|mut body| {
        let said = posted.said(std::mem::take(&mut body.said))?;
        Ok((body.mates()?, said))
    });
    match read {
        Ok((mates, said)) => {
            respond(StatusCode::OK, state.run(move |shop| shop.check_mates(&mates, &said.person)).await)
        }
        Err(error) => answer::from_error(&error),
    }
}
