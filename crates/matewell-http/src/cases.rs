//! Cases: what follows when an end was found bad.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, Posted, SaidBody, as_of, bad, moment, respond},
    writes::act,
};
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::Response,
};
use matewell_app::{CaseHolds, CaseOrder, EndDecision};
use matewell_lab::{FactId, ResultDisposition};
use matewell_wire::{CaseJson, CaseListJson, CaseWrittenJson};
use serde::Deserialize;
use utoipa::ToSchema;

/// All cases: open ones first, then the latest.
#[utoipa::path(get, path = "/api/v1/cases", params(AsOf), responses((status = 200, body = CaseListJson)))]
pub(crate) async fn list(State(state): State<AppState>, Asked(q): Asked<AsOf>) -> Response {
    let now = state.now();
    respond(StatusCode::OK, state.ask(move |shop| shop.cases(as_of(q.as_of.as_deref(), now)?)).await)
}

/// A case with its work list, results, and what keeps it from being closed.
#[utoipa::path(get, path = "/api/v1/cases/{case}", params(("case" = String, Path, description = "Id or name of the case, or the label of an end found bad"), AsOf), responses(
    (status = 200, body = CaseJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn show(
    State(state): State<AppState>,
    Path(case): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    let result = state.ask(move |shop| shop.case(&case, as_of(q.as_of.as_deref(), now)?)).await;
    respond(StatusCode::OK, result)
}

/// A case to be opened.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct OpenCaseBody {
    /// Tags of the ends found bad, and of gauges and wrenches that were off.
    ends: Vec<String>,
    /// Why.
    because: String,
    /// Last known good, RFC 3339; from the history of each end when left out.
    #[serde(default)]
    since: Option<String>,
    /// First evidence, RFC 3339; from the history of each end when left out.
    #[serde(default)]
    until: Option<String>,
    /// `deformation`, `particles`, `residue` or `unknown`; by the evidence when left out.
    #[serde(default)]
    taint: Option<String>,
    /// What to call it; the first label and the day when left out.
    #[serde(default)]
    name: Option<String>,
    /// Tags of the ends to hold; the ends found bad and all that is exposed
    /// now when left out, none when empty.
    #[serde(default)]
    hold: Option<Vec<String>>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Opens a case over ends found bad: traces from them, takes in what they
/// reached and the results made through it, and holds the ends chosen.
#[utoipa::path(post, path = "/api/v1/cases", request_body = OpenCaseBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = CaseWrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn open(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut OpenCaseBody| std::mem::take(&mut b.said),
        |shop, b, said, now| {
            let order = CaseOrder {
                tags: b.ends,
                since: b.since.as_deref().map(|t| moment("since", t)).transpose()?,
                until: b.until.as_deref().map(|t| moment("until", t)).transpose()?,
                taint: b.taint.filter(|t| !t.is_empty()),
                name: b.name,
                because: b.because,
                holds: match b.hold {
                    None => CaseHolds::ExposedNow,
                    Some(tags) if tags.is_empty() => CaseHolds::None,
                    Some(tags) => CaseHolds::Only(tags),
                },
            };
            shop.open_case(&order, said, now)
        },
    )
    .await
}

fn yes() -> bool {
    true
}

/// What to take into a case.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct AddToCaseBody {
    /// Tags of ends and gauges that the trace of the case reaches; everything
    /// it now also reaches when left out.
    #[serde(default)]
    ends: Vec<String>,
    /// Whether to hold those that are exposed now; yes when left out.
    #[serde(default = "yes")]
    hold: bool,
    /// Why.
    because: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Takes into a case what its trace now also reaches, or some of it.
#[utoipa::path(post, path = "/api/v1/cases/{case}/ends", request_body = AddToCaseBody, params(("case" = String, Path, description = "Id or name of the case"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = CaseWrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn add(State(state): State<AppState>, Path(case): Path<String>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut AddToCaseBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| shop.add_to_case(&case, &b.ends, b.hold, &b.because, said, now),
    )
    .await
}

/// Ends of a case and a reason.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct CaseEndsBody {
    /// Tags of ends and gauges of the case.
    ends: Vec<String>,
    /// Why.
    because: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Ends and gauges that are no longer the business of a case.
#[utoipa::path(post, path = "/api/v1/cases/{case}/set-aside", request_body = CaseEndsBody, params(("case" = String, Path, description = "Id or name of the case"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = CaseWrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn set_aside(
    State(state): State<AppState>,
    Path(case): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut CaseEndsBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| shop.set_aside(&case, &b.ends, &b.because, said, now),
    )
    .await
}

/// A decision about ends and gauges of a case.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct EndDecisionBody {
    /// Tags of ends and gauges of the case; with `cleared`, all that are
    /// verified on record when left out.
    #[serde(default)]
    ends: Vec<String>,
    /// `cleared`, `damaged` or `waived`.
    disposition: String,
    /// The verification, for `cleared`; the last one on record when left out.
    #[serde(default)]
    evidence: Option<String>,
    /// Until when, for `waived`, RFC 3339; for the time of the lab's policy when left out.
    #[serde(default)]
    until: Option<String>,
    /// Why.
    because: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Decides about ends and gauges of a case, all or none. One that is cleared
/// and held by the case is released in the same act.
#[utoipa::path(post, path = "/api/v1/cases/{case}/dispositions", request_body = EndDecisionBody, params(("case" = String, Path, description = "Id or name of the case"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = CaseWrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn decide(
    State(state): State<AppState>,
    Path(case): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut EndDecisionBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| {
            let evidence: Option<FactId> = b
                .evidence
                .as_deref()
                .filter(|t| !t.is_empty())
                .map(|t| t.parse().map_err(|e: matewell_lab::LabError| bad("evidence", e)))
                .transpose()?;
            let until =
                b.until.as_deref().filter(|t| !t.is_empty()).map(|t| moment("until", t)).transpose()?;
            let decision = match (b.disposition.as_str(), evidence, until) {
                ("cleared", evidence, None) => EndDecision::Cleared { evidence },
                ("damaged", None, None) => EndDecision::Damaged,
                ("waived", None, until) => EndDecision::Waived { until },
                ("cleared" | "damaged" | "waived", ..) => {
                    return Err(bad(
                        "disposition",
                        "expected evidence with cleared only, until with waived only",
                    ));
                }
                (other, ..) => {
                    let found: String = other.chars().take(64).collect();
                    return Err(bad(
                        "disposition",
                        format!("expected cleared, damaged or waived, found \"{found}\""),
                    ));
                }
            };
            shop.dispose_ends(&case, &b.ends, decision, &b.because, said, now)
        },
    )
    .await
}

/// A decision about results of a case.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct ResultDecisionBody {
    /// The results, each by its URI or the id of the fact that noted it.
    results: Vec<String>,
    /// `no-effect`, `re-measure` or `notify`.
    disposition: String,
    /// Why: for `no-effect` what was compared with what.
    because: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Decides about results of a case, all or none.
#[utoipa::path(post, path = "/api/v1/cases/{case}/results", request_body = ResultDecisionBody, params(("case" = String, Path, description = "Id or name of the case"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = CaseWrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn decide_results(
    State(state): State<AppState>,
    Path(case): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut ResultDecisionBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| {
            let decision = ResultDisposition::from_word(&b.disposition).map_err(|e| bad("disposition", e))?;
            shop.dispose_results(&case, &b.results, decision, &b.because, said, now)
        },
    )
    .await
}

/// A reason.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct CloseCaseBody {
    /// Why work may go on, and what keeps it from happening again.
    because: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Closes a case: work may go on, authorised by the person named. Answered
/// with 409 and everything that is missing while something is.
#[utoipa::path(post, path = "/api/v1/cases/{case}/close", request_body = CloseCaseBody, params(("case" = String, Path, description = "Id or name of the case"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = CaseWrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn close(
    State(state): State<AppState>,
    Path(case): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut CloseCaseBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| shop.close_case(&case, &b.because, said, now),
    )
    .await
}
