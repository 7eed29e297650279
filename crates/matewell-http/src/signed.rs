//! Signed dossiers, to be shown elsewhere.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, as_of},
};
use axum::{
    extract::{Extension, Path, State},
    http::header,
    response::{IntoResponse, Response},
};
use matewell_app::Access;
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(signed))
}

/// A dossier of an end with its facts and their places in the chain, and a
/// second line with the signature (Ed25519) over the bytes of the first.
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
