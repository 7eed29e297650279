//! How the lab itself is.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, as_of, respond},
};
use axum::{extract::State, http::StatusCode, response::Response};
use matewell_app::HealthJson;

/// What is on record, when it was last backed up, what was found at the start.
#[utoipa::path(get, path = "/api/v1/health", params(AsOf), responses((status = 200, body = HealthJson), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn health(State(state): State<AppState>, Asked(q): Asked<AsOf>) -> Response {
    let now = state.now();
    let replica = state.replica().cloned();
    let result = state
        .run(move |shop| {
            let mut health = shop.health(as_of(q.as_of.as_deref(), now)?)?;
            if let Some(replica) = replica {
                let reads = replica.told(shop.store().position()?);
                health.text = format!("{}\n{}", health.text, reads.text);
                health.reads = Some(reads);
            }
            Ok(health)
        })
        .await;
    respond(StatusCode::OK, result)
}
