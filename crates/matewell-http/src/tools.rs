//! Tools: checks, and what one that was off changes.

use crate::{
    AppState, answer,
    asked::{SaidBody, respond},
    writes::bad,
};
use axum::{
    body::Bytes,
    extract::{Path, State},
    http::{HeaderMap, StatusCode},
    response::Response,
};
use matewell_app::{AppError, Said, ToolCheckedJson, Workshop};
use matewell_lab::Moment;
use matewell_wire::{ToolCheckAsked, WasOffAsked, WasOffJson};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use sha2::{Digest, Sha256};
use utoipa::ToSchema;

/// A body with what is asked and who asks.
#[derive(Debug, Deserialize)]
struct Posted<T> {
    #[serde(flatten)]
    asked: T,
    #[serde(flatten)]
    said: SaidBody,
}

/// The check of a gauge or a wrench.
#[derive(Debug, Deserialize, ToSchema)]
#[expect(dead_code, reason = "describes the body in the API document")]
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
#[expect(dead_code, reason = "describes the body in the API document")]
pub(crate) struct WasOffBody {
    /// When and by how much.
    #[serde(flatten)]
    asked: WasOffAsked,
    /// Who.
    #[serde(flatten)]
    said: SaidBody,
}

async fn ask<T, A>(
    state: AppState,
    headers: HeaderMap,
    bytes: Bytes,
    status: fn(&A) -> StatusCode,
    run: impl FnOnce(&mut Workshop, T, &Said, Moment) -> Result<A, AppError> + Send + 'static,
) -> Response
where
    T: DeserializeOwned + Send + 'static,
    A: Serialize + Send + 'static,
{
    let body: Posted<T> = match serde_json::from_slice(&bytes) {
        Ok(body) => body,
        Err(error) => {
            return answer::from_error(&bad(
                "body",
                format!("expected the JSON of the API description: {error}"),
            ));
        }
    };
    let said = match body.said.said(&headers, Sha256::digest(&bytes).into()) {
        Ok(said) => said,
        Err(error) => return answer::from_error(&error),
    };
    let now = state.now();
    let result = state.run(move |shop| run(shop, body.asked, &said, now)).await;
    let status = result.as_ref().map_or(StatusCode::OK, status);
    respond(status, result)
}

/// Checks a gauge or a wrench.
#[utoipa::path(post, path = "/api/v1/tools/{tag}/checks", request_body = ToolCheckBody, params(("tag" = String, Path, description = "Label of the tool"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = ToolCheckedJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn check(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    ask(
        state,
        headers,
        body,
        |_| StatusCode::CREATED,
        move |shop, asked: ToolCheckAsked, said, now| shop.tool_check(&tag, &asked, said, now),
    )
    .await
}

/// What a gauge or a wrench that was off changes. Writes only when asked.
#[utoipa::path(post, path = "/api/v1/tools/{tag}/was-off", request_body = WasOffBody, params(("tag" = String, Path, description = "Label of the tool"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 200, body = WasOffJson), (status = 201, body = WasOffJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn was_off(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    ask(
        state,
        headers,
        body,
        |answer: &WasOffJson| if answer.written { StatusCode::CREATED } else { StatusCode::OK },
        move |shop, asked: WasOffAsked, said, now| shop.was_off(&tag, &asked, said, now),
    )
    .await
}
