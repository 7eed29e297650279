//! Gauging sessions: what one says, writing it, and the pin over contacts.

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
use matewell_app::WrittenJson;
use matewell_wire::{GaugingAsked, GaugingBudgetJson, PinHistoryJson};
use serde::Deserialize;
use utoipa::ToSchema;

/// A gauging: readings alone, or a whole session.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct GaugeBody {
    /// What was read.
    #[serde(flatten)]
    asked: GaugingAsked,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// An end was gauged; counts as one contact. An entry that looks like a slip
/// is answered with 422 and its questions, and nothing is written.
#[utoipa::path(post, path = "/api/v1/gaugings", request_body = GaugeBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn gauge(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut GaugeBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.gauge_session(&b.asked, said, now),
    )
    .await
}

/// A gauging not yet written down.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct BudgetBody {
    /// What was read so far.
    #[serde(flatten)]
    asked: GaugingAsked,
    /// Who gauges: shares an error with that person's other gaugings.
    #[serde(default)]
    person: Option<String>,
}

/// What a gauging says, line by line. Writes nothing.
#[utoipa::path(post, path = "/api/v1/gaugings/budget", request_body = BudgetBody, params(AsOf), responses((status = 200, body = GaugingBudgetJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn budget(State(state): State<AppState>, Asked(q): Asked<AsOf>, posted: Posted) -> Response {
    let body: BudgetBody = match posted.read() {
        Ok(body) => body,
        Err(error) => return answer::from_error(&error),
    };
    let now = state.now();
    let result = state
        .run(move |shop| {
            let person = body.person.as_deref().map(str::trim).filter(|p| !p.is_empty()).unwrap_or("unnamed");
            shop.gauging_budget(&body.asked, person, as_of(q.as_of.as_deref(), now)?)
        })
        .await;
    respond(StatusCode::OK, result)
}

/// The pin of an end over its contacts.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/pin", params(("tag" = String, Path, description = "Label of the end"), AsOf), responses((status = 200, body = PinHistoryJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 409, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn pin_history(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    let result = state.ask(move |shop| shop.pin_history(&tag, as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}
