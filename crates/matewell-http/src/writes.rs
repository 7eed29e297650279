//! Things a person or a program does.

use crate::{
    AppState, answer,
    asked::{Posted, SaidBody, bad, frequency, moment, respond},
};
use axum::{extract::State, http::StatusCode, response::Response};
use matewell_app::{AppError, LoggedMate, MateOrder, Said, ToolCheckedJson, Workshop, WrittenJson};
use matewell_lab::{FactId, InspectionOutcome, Moment};
use matewell_wire::{CaseWrittenJson, EndStandingJson, WasOffJson};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use utoipa::ToSchema;

/// What a write answers.
pub(crate) trait Written: Serialize {
    /// How ends stand now, for those who listen.
    fn ends(&self) -> &[EndStandingJson] {
        &[]
    }

    /// Whether anything was written.
    fn status(&self) -> StatusCode {
        StatusCode::CREATED
    }
}

impl Written for WrittenJson {
    fn ends(&self) -> &[EndStandingJson] {
        &self.ends
    }
}

impl Written for CaseWrittenJson {
    fn ends(&self) -> &[EndStandingJson] {
        &self.ends
    }
}

impl Written for ToolCheckedJson {}

impl Written for WasOffJson {
    fn status(&self) -> StatusCode {
        if self.written { StatusCode::CREATED } else { StatusCode::OK }
    }
}

/// The common way of a write: read the body, run the use case, announce.
pub(crate) async fn act<B: DeserializeOwned + Send + 'static, A: Written + Send + 'static>(
    state: AppState,
    posted: Posted,
    who: impl FnOnce(&mut B) -> SaidBody,
    run: impl FnOnce(&mut Workshop, B, &Said, Moment) -> Result<A, AppError> + Send + 'static,
) -> Response {
    let read = posted.read::<B>().and_then(|mut body| Ok((posted.said(who(&mut body))?, body)));
    match read {
        Ok((said, body)) => written(state, said, move |shop, said, now| run(shop, body, said, now)).await,
        Err(error) => answer::from_error(&error),
    }
}

/// Runs a write and tells those who listen.
pub(crate) async fn written<A: Written + Send + 'static>(
    state: AppState,
    said: Said,
    run: impl FnOnce(&mut Workshop, &Said, Moment) -> Result<A, AppError> + Send + 'static,
) -> Response {
    let now = state.now();
    let result = state.run(move |shop| run(shop, &said, now)).await;
    if let Ok(written) = &result {
        state.announce(written.ends());
    }
    respond(result.as_ref().map_or(StatusCode::OK, Written::status), result)
}

/// A mate to be logged.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct MateBody {
    /// Tag of one end.
    a: String,
    /// Tag of the other end.
    b: String,
    /// Tag of the wrench in hand.
    #[serde(default)]
    wrench: Option<String>,
    /// Frequency with unit, for example `18GHz`.
    #[serde(default)]
    at: Option<String>,
    /// The reason to go ahead although the check does not say go.
    #[serde(default)]
    override_because: Option<String>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Logs a mate if the mate check allows it, or under an override. A refusal is
/// recorded and answered with 409 and the whole check.
#[utoipa::path(post, path = "/api/v1/mates", request_body = MateBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = WrittenJson),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn mate(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut MateBody| std::mem::take(&mut b.said),
        |shop, b, said, now| {
            let order = MateOrder {
                a: &b.a,
                b: &b.b,
                wrench: b.wrench.as_deref().filter(|w| !w.is_empty()),
                frequency: frequency(b.at.as_deref().filter(|t| !t.is_empty()))?,
                override_because: b.override_because.as_deref(),
            };
            shop.mate(&order, said, now)
        },
    )
    .await
}

/// One mate that a rig reports.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct BulkMate {
    /// Tag of one end.
    a: String,
    /// Tag of the other end.
    b: String,
    /// When it happened, RFC 3339.
    happened_at: String,
    /// Tag of the wrench.
    #[serde(default)]
    wrench: Option<String>,
}

/// Mates that happened, from a rig.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct BulkBody {
    /// The mates, at most 10 000.
    mates: Vec<BulkMate>,
    /// Who and when.
    #[serde(flatten)]
    pub(crate) said: SaidBody,
}

impl BulkBody {
    /// The mates as the lab takes them.
    pub(crate) fn mates(self) -> Result<Vec<LoggedMate>, AppError> {
        if self.mates.is_empty() || self.mates.len() > 10_000 {
            return Err(bad("mates", format!("expected 1 to 10000 mates, found {}", self.mates.len())));
        }
        self.mates
            .into_iter()
            .map(|m| {
                let happened_at = moment("happened_at", &m.happened_at)?;
                Ok(LoggedMate { a: m.a, b: m.b, happened_at, wrench: m.wrench })
            })
            .collect()
    }
}

/// Logs mates that happened, all or nothing. They are facts already, so none
/// is refused; ask the check before mating.
#[utoipa::path(post, path = "/api/v1/mates/bulk", request_body = BulkBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = WrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn mates_bulk(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut BulkBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.log_mates(&b.mates()?, said, now),
    )
    .await
}

/// Two ends.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct PairBody {
    /// Tag of one end.
    a: String,
    /// Tag of the other end.
    b: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Two ends came apart.
#[utoipa::path(post, path = "/api/v1/partings", request_body = PairBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn part(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut PairBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.part(&b.a, &b.b, said, now),
    )
    .await
}

/// A look.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct InspectBody {
    /// Tag of the end.
    end: String,
    /// `good`, `normal-wear`, `dirty` or `damaged`.
    outcome: String,
    /// Words for what was seen.
    #[serde(default)]
    seen: Vec<String>,
    /// Magnification used.
    #[serde(default)]
    magnification: Option<f64>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Somebody looked at an end.
#[utoipa::path(post, path = "/api/v1/inspections", request_body = InspectBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn inspect(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut InspectBody| std::mem::take(&mut b.said),
        |shop, b, said, now| {
            let outcome = InspectionOutcome::from_word(&b.outcome).map_err(|e| bad("outcome", e))?;
            shop.inspect(&b.end, outcome, b.seen, b.magnification, said, now)
        },
    )
    .await
}

/// A cleaning.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct CleanBody {
    /// Tag of the end.
    end: String,
    /// How, in the lab's words.
    #[serde(default)]
    method: Option<String>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// An end was cleaned.
#[utoipa::path(post, path = "/api/v1/cleanings", request_body = CleanBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn clean(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut CleanBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.clean(&b.end, b.method, said, now),
    )
    .await
}

/// An end and a reason.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct ReasonBody {
    /// Tag of the end.
    end: String,
    /// Why.
    because: String,
    /// The fact that verified a release.
    #[serde(default)]
    evidence: Option<String>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// An end may not be mated until released.
#[utoipa::path(post, path = "/api/v1/holds", request_body = ReasonBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn hold(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut ReasonBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.hold(&b.end, &b.because, said, now),
    )
    .await
}

/// A hold or damage finding is lifted.
#[utoipa::path(post, path = "/api/v1/releases", request_body = ReasonBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 409, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn release(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut ReasonBody| std::mem::take(&mut b.said),
        |shop, b, said, now| {
            let evidence: Option<FactId> =
                b.evidence.as_deref().map(|t| t.parse().map_err(|e| bad("evidence", e))).transpose()?;
            shop.release(&b.end, &b.because, evidence, said, now)
        },
    )
    .await
}

/// An end or item will not be used again.
#[utoipa::path(post, path = "/api/v1/retirements", request_body = ReasonBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn retire(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut ReasonBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.retire(&b.end, &b.because, said, now),
    )
    .await
}

/// The contact of an end was made anew; its history starts again.
#[utoipa::path(post, path = "/api/v1/replacements", request_body = ReasonBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn replace(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut ReasonBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.replace(&b.end, &b.because, said, now),
    )
    .await
}

/// A fact and a text.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct FactBody {
    /// Id of the fact.
    fact: String,
    /// Why, or what was done.
    because: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Takes an earlier fact back: it did not happen.
#[utoipa::path(post, path = "/api/v1/corrections", request_body = FactBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn take_back(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut FactBody| std::mem::take(&mut b.said),
        |shop, b, said, now| {
            shop.take_back(b.fact.parse().map_err(|e| bad("fact", e))?, &b.because, said, now)
        },
    )
    .await
}

/// A follow-up was done.
#[utoipa::path(post, path = "/api/v1/follow-ups", request_body = FactBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn follow_up(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut FactBody| std::mem::take(&mut b.said),
        |shop, b, said, now| {
            shop.follow_up(b.fact.parse().map_err(|e| bad("fact", e))?, &b.because, said, now)
        },
    )
    .await
}
