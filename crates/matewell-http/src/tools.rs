//! Tools: checks, and what one that was off changes.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, Posted, SaidBody, as_of, respond},
    writes::act,
};
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::Response,
};
use matewell_app::ToolCheckedJson;
use matewell_wire::{ToolCheckAsked, ToolJson, ToolListJson, WasOffAsked, WasOffJson};
use serde::Deserialize;
use utoipa::ToSchema;

/// The check of a gauge or a wrench.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct ToolCheckBody {
    /// What was found.
    #[serde(flatten)]
    asked: ToolCheckAsked,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// A tool that was off.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct WasOffBody {
    /// When and by how much.
    #[serde(flatten)]
    asked: WasOffAsked,
    /// Who.
    #[serde(flatten)]
    said: SaidBody,
}

/// Gauges, masters and wrenches: what is not in order first.
#[utoipa::path(get, path = "/api/v1/tools", params(AsOf), responses((status = 200, body = ToolListJson)))]
pub(crate) async fn list(State(state): State<AppState>, Asked(q): Asked<AsOf>) -> Response {
    let now = state.now();
    respond(StatusCode::OK, state.ask(move |shop| shop.tools(as_of(q.as_of.as_deref(), now)?)).await)
}

/// One tool with its checks.
#[utoipa::path(get, path = "/api/v1/tools/{tag}", params(("tag" = String, Path, description = "Label of the tool"), AsOf), responses((status = 200, body = ToolJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn show(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    let result = state.ask(move |shop| shop.tool_in_full(&tag, as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}

/// Checks a gauge or a wrench.
#[utoipa::path(post, path = "/api/v1/tools/{tag}/checks", request_body = ToolCheckBody, params(("tag" = String, Path, description = "Label of the tool"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = ToolCheckedJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn check(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut ToolCheckBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| shop.tool_check(&tag, &b.asked, said, now),
    )
    .await
}

/// What a gauge or a wrench that was off changes. Writes only when asked.
#[utoipa::path(post, path = "/api/v1/tools/{tag}/was-off", request_body = WasOffBody, params(("tag" = String, Path, description = "Label of the tool"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 200, body = WasOffJson), (status = 201, body = WasOffJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn was_off(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut WasOffBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| shop.was_off(&tag, &b.asked, said, now),
    )
    .await
}
