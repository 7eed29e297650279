//! Dossiers: an end with everything on record, to be shown elsewhere.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, as_of, respond},
};
use axum::{
    extract::{Extension, Path, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use matewell_app::Access;
use matewell_wire::DossierJson;
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(dossier)).routes(routes!(signed))
}

/// An end with its facts and their places in the chain.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/dossier", params(("tag" = String, Path, description = "Label of the end"), AsOf), responses(
    (status = 200, body = DossierJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn dossier(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    respond(StatusCode::OK, state.run(move |shop| shop.dossier(&tag, as_of(q.as_of.as_deref(), now)?)).await)
}

/// The same, and a second line with the signature (Ed25519) over the bytes of
/// the first.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/dossier/signed", params(("tag" = String, Path, description = "Label of the end"), AsOf), responses(
    (status = 200, description = "A dossier and its signature, one JSON object a line", content_type = "application/x-ndjson"),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn signed(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
    Extension(access): Extension<Access>,
) -> Response {
    let now = state.now();
    let by = access.who.map_or_else(|| "one person alone".to_owned(), |who| who.name);
    let result =
        state.run(move |shop| shop.signed_dossier(&tag, as_of(q.as_of.as_deref(), now)?, &by, now)).await;
    match result {
        Ok(text) => ([(header::CONTENT_TYPE, "application/x-ndjson")], text).into_response(),
        Err(error) => answer::from_error(&error),
    }
}
