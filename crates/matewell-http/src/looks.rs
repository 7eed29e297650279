//! Guided looks: what to look for, what was seen, and its photo.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, Posted, SaidBody, as_of, respond},
    writes::written,
};
use axum::{
    extract::{Path, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use matewell_app::{Said, Workshop, WrittenJson};
use matewell_wire::{LookAsked, LookGuideJson};
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(guide)).routes(routes!(photo)).routes(routes!(look))
}

/// What to look for on an end, with what, and the words for it.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/look-guide", params(("tag" = String, Path, description = "Label of the end"), AsOf), responses((status = 200, body = LookGuideJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn guide(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    let result = state.run(move |shop| shop.look_guide(&tag, as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}

/// Somebody looked at an end. The body is the photo, PNG, JPEG or WebP by its
/// content, at most 16 MiB, or nothing.
#[utoipa::path(post, path = "/api/v1/looks",
    params(LookAsked, ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")),
    request_body(content = Vec<u8>, content_type = "application/octet-stream"), responses(
    (status = 201, body = WrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 413, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn look(
    State(state): State<AppState>,
    Asked(asked): Asked<LookAsked>,
    posted: Posted,
) -> Response {
    let said = posted.said(SaidBody::beside_a_file(
        asked.person.as_deref(),
        asked.happened_at.as_deref(),
        asked.note.as_deref(),
    ));
    match said {
        Ok(said) => {
            let run =
                move |shop: &mut Workshop, said: &Said, now| shop.look(&asked, &posted.bytes, said, now);
            written(state, said, run).await
        }
        Err(error) => answer::from_error(&error),
    }
}

/// The photo of a look, byte for byte as it came.
#[utoipa::path(get, path = "/api/v1/looks/{fact}/photo", params(("fact" = String, Path, description = "Id of the look")), responses(
    (status = 200, description = "The photo", content_type = "image/*"),
    (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn photo(State(state): State<AppState>, Path(fact): Path<String>) -> Response {
    match state.run(move |shop| shop.look_photo(&fact)).await {
        // The type is the one told by the content, and browsers may not guess another.
        Ok((kind, bytes)) => (
            [
                (header::CONTENT_TYPE, kind.word()),
                (header::CONTENT_DISPOSITION, "inline"),
                (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
            ],
            bytes,
        )
            .into_response(),
        Err(error) => answer::from_error(&error),
    }
}
