//! Traces: what a bad end touched, what made it bad, what several have in
//! common, what a tool was used on.

use crate::{
    AppState, answer,
    asked::{Asked, as_of, moment, respond},
};
use axum::{extract::State, http::StatusCode, response::Response};
use matewell_app::{AppError, Supposed, TraceOrder};
use matewell_wire::{BackTraceJson, CommonTraceJson, ToolTraceJson, TraceJson};
use serde::Deserialize;
use utoipa::IntoParams;

/// What to trace.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(crate) struct TraceQuery {
    /// Tags of the ends, with commas between them.
    ends: String,
    /// Last known good, RFC 3339; from the history of each end when left out.
    since: Option<String>,
    /// First evidence, RFC 3339; from the history of each end when left out.
    until: Option<String>,
    /// `deformation`, `particles`, `residue` or `unknown`; by the evidence when left out.
    kind: Option<String>,
    /// Probability that one touch passes it on; the lab's policy when left out.
    contact_passes: Option<f64>,
    /// Looking back: nothing before this counts.
    not_before: Option<String>,
    /// What to suppose otherwise, with semicolons between: `verified TAG TIME; waived TAG`.
    what_if: Option<String>,
    /// Answer as of this time, RFC 3339; now when left out.
    as_of: Option<String>,
}

impl TraceQuery {
    fn order(&self) -> Result<TraceOrder, AppError> {
        let parts = |text: &str, by| -> Vec<String> {
            text.split(by).map(str::trim).filter(|t| !t.is_empty()).map(str::to_owned).collect()
        };
        Ok(TraceOrder {
            tags: parts(&self.ends, ','),
            since: self.since.as_deref().map(|t| moment("since", t)).transpose()?,
            until: self.until.as_deref().map(|t| moment("until", t)).transpose()?,
            kind: self.kind.clone(),
            contact_passes: self.contact_passes,
            not_before: self.not_before.as_deref().map(|t| moment("not_before", t)).transpose()?,
            what_if: parts(self.what_if.as_deref().unwrap_or_default(), ';')
                .iter()
                .map(|text| Supposed::read(text))
                .collect::<Result<_, _>>()?,
        })
    }
}

/// Which tool.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub(crate) struct ToolQuery {
    /// Tag of the gauge or wrench.
    tool: String,
    /// Last known good, RFC 3339; its last check in order before it was found off when left out.
    since: Option<String>,
    /// First evidence, RFC 3339; the check that found it off when left out.
    until: Option<String>,
    /// Answer as of this time, RFC 3339; now when left out.
    as_of: Option<String>,
}

macro_rules! traced {
    ($(#[$doc:meta])* $name:ident, $path:literal, $use_case:ident, $body:ident) => {
        $(#[$doc])*
        #[utoipa::path(get, path = $path, params(TraceQuery), responses(
            (status = 200, body = $body),
            (status = 404, body = answer::Problem, content_type = "application/problem+json"),
            (status = 409, body = answer::Problem, content_type = "application/problem+json"),
            (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $name(
            State(state): State<AppState>,
            Asked(q): Asked<TraceQuery>,
        ) -> Response {
            let now = state.now();
            let result =
                state.ask(move |shop| shop.$use_case(&q.order()?, as_of(q.as_of.as_deref(), now)?)).await;
            respond(StatusCode::OK, result)
        }
    };
}

traced!(
    /// What these ends touched since they may have been bad, and what those touched.
    forward, "/api/v1/trace", trace, TraceJson
);
traced!(
    /// What could have made this end bad.
    back, "/api/v1/trace/back", trace_back, BackTraceJson
);
traced!(
    /// What could have made several ends bad at once.
    common, "/api/v1/trace/common", trace_common, CommonTraceJson
);

/// What was gauged or tightened while a tool may have been off.
#[utoipa::path(get, path = "/api/v1/trace/tool", params(ToolQuery), responses(
    (status = 200, body = ToolTraceJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn tool(State(state): State<AppState>, Asked(q): Asked<ToolQuery>) -> Response {
    let now = state.now();
    let result = state
        .ask(move |shop| {
            let since = q.since.as_deref().map(|t| moment("since", t)).transpose()?;
            let until = q.until.as_deref().map(|t| moment("until", t)).transpose()?;
            shop.trace_tool(&q.tool, since, until, as_of(q.as_of.as_deref(), now)?)
        })
        .await;
    respond(StatusCode::OK, result)
}
