//! How an end is cleaned, and what is put on paper.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, as_of, respond},
};
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::Response,
};
use matewell_wire::{CaseDossierJson, CleanGuideJson, EndDossierJson};
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(clean_guide)).routes(routes!(end)).routes(routes!(case))
}

/// The steps and cautions of a cleaning of an end.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/clean-guide", params(("tag" = String, Path, description = "Label of the end"), AsOf), responses((status = 200, body = CleanGuideJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn clean_guide(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    let result = state.run(move |shop| shop.clean_guide(&tag, as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}

/// Everything about an end, for paper.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/dossier", params(("tag" = String, Path, description = "Label of the end"), AsOf), responses((status = 200, body = EndDossierJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn end(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    let result = state.ask(move |shop| shop.end_dossier(&tag, as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}

/// Everything about a case, for paper.
#[utoipa::path(get, path = "/api/v1/cases/{case}/dossier", params(("case" = String, Path, description = "Id or name of the case"), AsOf), responses((status = 200, body = CaseDossierJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn case(
    State(state): State<AppState>,
    Path(case): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    let result = state.ask(move |shop| shop.case_dossier(&case, as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}
