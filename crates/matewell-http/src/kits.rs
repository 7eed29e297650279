//! Kits, planned work, and where things were put away.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, Posted, SaidBody, as_of, moment, respond},
    writes::act,
};
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::Response,
};
use matewell_app::WrittenJson;
use matewell_wire::{KitJson, KitListJson, PieceAsked, StorageJson};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(list))
        .routes(routes!(show))
        .routes(routes!(make))
        .routes(routes!(check))
        .routes(routes!(reserve))
        .routes(routes!(storage))
}

/// What belongs into a kit.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct KitPiecesBody {
    /// Labels of its pieces, in the order of their places.
    pieces: Vec<String>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// What was found when a kit was looked through.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct KitCheckBody {
    /// One line for each piece.
    found: Vec<PieceAsked>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Planned work.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct ReserveBody {
    /// What for.
    work: String,
    /// When it begins, RFC 3339 or a date.
    from: String,
    /// When it ends.
    until: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Which things put away are listed.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct StorageAsked {
    /// Part of a label or of a place.
    filter: Option<String>,
    /// Answer as of this time, RFC 3339; now when left out.
    as_of: Option<String>,
}

/// All kits, those that need something first, and all planned work.
#[utoipa::path(get, path = "/api/v1/kits", params(AsOf), responses((status = 200, body = KitListJson)))]
pub(crate) async fn list(State(state): State<AppState>, Asked(q): Asked<AsOf>) -> Response {
    let now = state.now();
    respond(StatusCode::OK, state.ask(move |shop| shop.kits(as_of(q.as_of.as_deref(), now)?)).await)
}

/// A kit with its pieces and how they stand.
#[utoipa::path(get, path = "/api/v1/kits/{tag}", params(("tag" = String, Path, description = "Label of the kit"), AsOf), responses((status = 200, body = KitJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn show(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    respond(StatusCode::OK, state.run(move |shop| shop.kit(&tag, as_of(q.as_of.as_deref(), now)?)).await)
}

/// Says what belongs into a kit, in place of any earlier list.
#[utoipa::path(post, path = "/api/v1/kits/{tag}/pieces", request_body = KitPiecesBody, params(("tag" = String, Path, description = "Label of the kit"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn make(State(state): State<AppState>, Path(tag): Path<String>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut KitPiecesBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| shop.make_kit(&tag, &b.pieces, said, now),
    )
    .await
}

/// Writes down what was found when a kit was looked through.
#[utoipa::path(post, path = "/api/v1/kits/{tag}/checks", request_body = KitCheckBody, params(("tag" = String, Path, description = "Label of the kit"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn check(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut KitCheckBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| shop.check_kit(&tag, &b.found, said, now),
    )
    .await
}

/// Notes that an item or a kit is wanted for planned work.
#[utoipa::path(post, path = "/api/v1/items/{tag}/reservations", request_body = ReserveBody, params(("tag" = String, Path, description = "Label of the item, the kit or one of its ends"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn reserve(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut ReserveBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| {
            let (from, until) = (moment("from", &b.from)?, moment("until", &b.until)?);
            shop.reserve(&tag, &b.work, from, until, said, now)
        },
    )
    .await
}

/// Where things were put away last, each item once.
#[utoipa::path(get, path = "/api/v1/storage", params(StorageAsked), responses((status = 200, body = StorageJson)))]
pub(crate) async fn storage(State(state): State<AppState>, Asked(q): Asked<StorageAsked>) -> Response {
    let now = state.now();
    let result = state
        .run(move |shop| {
            shop.storage(q.filter.as_deref().unwrap_or_default(), as_of(q.as_of.as_deref(), now)?)
        })
        .await;
    respond(StatusCode::OK, result)
}
