//! Sweeps: questions about a file in the body or a sweep on record, and sweeps
//! kept as evidence. The parameters are the options of the command line.
//!
//! One file comes as the raw bytes of the body, several as multipart form data.
//! Largest body: 64 MiB for one file, 128 MiB for several.

use crate::{
    AppState, answer,
    asked::{Asked, Posted, SaidBody, bad, respond},
    writes::{act, written},
};
use axum::{
    extract::{FromRequest, Multipart, Path, Request, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use matewell_app::{
    AppError, Said, Workshop, WrittenJson,
    sweeps::{self, CompareOrder, MOST_SWEEP_BYTES, SweepFile, SweepGiven},
};
use matewell_wire::{
    ReconnectJson, SweepAddAsked, SweepCableAsked, SweepCableJson, SweepCheckAsked, SweepCheckJson,
    SweepCompareAsked, SweepCompareJson, SweepListJson, SweepMaskAsked, SweepMaskJson, SweepReadAsked,
    SweepReadJson, SweepReconnectAsked, SweepTimeAsked, SweepTimeJson, SweepTraceAsked, SweepTraceJson,
    SweepTrendAsked, SweepTrendJson,
};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};
use utoipa_axum::{router::OpenApiRouter, routes};

/// Largest body that carries several files.
pub(crate) const SEVERAL_LIMIT_BYTES: usize = 2 * MOST_SWEEP_BYTES;
/// Most parts of a form.
const MOST_PARTS: usize = 256;

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(read, read_file))
        .routes(routes!(check, check_file))
        .routes(routes!(trace, trace_file))
        .routes(routes!(time, time_file))
        .routes(routes!(mask, mask_file))
        .routes(routes!(list, add))
        .routes(routes!(file))
        .routes(routes!(trend))
        .routes(routes!(keep_verdict))
        .routes(routes!(compare, compare_files))
        .routes(routes!(cable, cable_files))
        .routes(routes!(reconnect, reconnect_files))
}

fn on_record(field: &'static str, id: Option<&str>) -> Result<SweepGiven, AppError> {
    match id.map(str::trim).filter(|id| !id.is_empty()) {
        Some(id) => Ok(SweepGiven::OnRecord(id.to_owned())),
        None => Err(bad(field, "expected the id of a sweep on record, or its bytes in the body of a POST")),
    }
}

fn ids(text: Option<&str>) -> Vec<SweepGiven> {
    text.unwrap_or_default()
        .split(',')
        .map(str::trim)
        .filter(|t| !t.is_empty())
        .map(|t| SweepGiven::OnRecord(t.to_owned()))
        .collect()
}

/// One part of a form.
struct Part {
    name: String,
    file: SweepFile,
}

/// A form of files. One that did not arrive whole is a problem.
pub(crate) struct Form {
    parts: Vec<Part>,
}

impl<S: Send + Sync> FromRequest<S> for Form {
    type Rejection = Response;

    async fn from_request(request: Request, state: &S) -> Result<Self, Response> {
        let mut form = Multipart::from_request(request, state)
            .await
            .map_err(|r| answer::refused(r.status(), &r.body_text()))?;
        let mut parts = Vec::new();
        loop {
            let field = form.next_field().await.map_err(|e| answer::refused(e.status(), &e.body_text()))?;
            let Some(field) = field else { return Ok(Self { parts }) };
            if parts.len() >= MOST_PARTS {
                return Err(answer::refused(StatusCode::UNPROCESSABLE_ENTITY, "expected at most 256 parts"));
            }
            let name = field.name().unwrap_or_default().to_owned();
            let file_name = field.file_name().unwrap_or("unnamed").to_owned();
            let bytes = field.bytes().await.map_err(|e| answer::refused(e.status(), &e.body_text()))?;
            parts.push(Part { name, file: SweepFile { name: file_name, bytes: bytes.to_vec() } });
        }
    }
}

fn take_all(parts: &mut Vec<Part>, name: &str) -> Vec<SweepFile> {
    let (taken, left) = std::mem::take(parts).into_iter().partition(|p| p.name == name);
    *parts = left;
    let taken: Vec<Part> = taken;
    taken.into_iter().map(|p| p.file).collect()
}

fn take_one(parts: &mut Vec<Part>, field: &'static str) -> Result<SweepFile, AppError> {
    let mut found = take_all(parts, field);
    let count = found.len();
    match found.pop() {
        Some(one) if count == 1 => Ok(one),
        _ => Err(bad(field, format!("expected one part named {field} with a file, found {count}"))),
    }
}

fn nothing_left(parts: &[Part]) -> Result<(), AppError> {
    parts.first().map_or(Ok(()), |part| {
        Err(bad(
            "body",
            format!("expected no other parts, found \"{}\"", part.name.chars().take(40).collect::<String>()),
        ))
    })
}

macro_rules! question {
    ($(#[$doc:meta])* $get:ident, $post:ident, $path:literal, $asked:ident, $answer:ident, $ask:ident) => {
        $(#[$doc])*
        #[utoipa::path(get, path = $path, params($asked), responses(
            (status = 200, body = $answer),
            (status = 404, body = answer::Problem, content_type = "application/problem+json"),
            (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $get(
            State(state): State<AppState>,
            Asked(asked): Asked<$asked>,
        ) -> Response {
            let given = match on_record("sweep", asked.sweep.as_deref()) {
                Ok(given) => given,
                Err(error) => return answer::from_error(&error),
            };
            let file = match state.ask(move |shop| shop.sweep_given(&given)).await {
                Ok(file) => file,
                Err(error) => return answer::from_error(&error),
            };
            respond(StatusCode::OK, state.compute(move || sweeps::$ask(&file, &asked)).await)
        }

        $(#[$doc])*
        /// The body is the file, at most 64 MiB; `file_name` says what it is called.
        #[utoipa::path(post, path = $path, params($asked),
            request_body(content = Vec<u8>, content_type = "application/octet-stream"), responses(
            (status = 200, body = $answer),
            (status = 413, body = answer::Problem, content_type = "application/problem+json"),
            (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $post(
            State(state): State<AppState>,
            Asked(asked): Asked<$asked>,
            posted: Posted,
        ) -> Response {
            if asked.sweep.is_some() {
                let both = "expected either a sweep on record or a file in the body, found both";
                return answer::from_error(&bad("sweep", both));
            }
            let name = asked.file_name.clone().unwrap_or_else(|| "unnamed".to_owned());
            let file = SweepFile { name, bytes: posted.bytes.to_vec() };
            respond(StatusCode::OK, state.compute(move || sweeps::$ask(&file, &asked)).await)
        }
    };
}

question!(
    /// What does this file hold?
    read, read_file, "/api/v1/sweep/read", SweepReadAsked, SweepReadJson, read
);
question!(
    /// Can this sweep be believed?
    check, check_file, "/api/v1/sweep/check", SweepCheckAsked, SweepCheckJson, check
);
question!(
    /// One parameter over frequency.
    trace, trace_file, "/api/v1/sweep/trace", SweepTraceAsked, SweepTraceJson, trace
);
question!(
    /// Where are the reflections?
    time, time_file, "/api/v1/sweep/time", SweepTimeAsked, SweepTimeJson, time
);
question!(
    /// Does it keep a limit?
    mask, mask_file, "/api/v1/sweep/mask", SweepMaskAsked, SweepMaskJson, mask
);

/// Which joint of the chain changed? Both sweeps on record.
#[utoipa::path(get, path = "/api/v1/sweep/compare", params(SweepCompareAsked), responses(
    (status = 200, body = SweepCompareJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn compare(
    State(state): State<AppState>,
    Asked(asked): Asked<SweepCompareAsked>,
) -> Response {
    let at = state.now();
    let run = move |shop: &Workshop| {
        let now = on_record("sweep", asked.sweep.as_deref())?;
        let baseline = asked.baseline.as_deref().map(|id| on_record("baseline", Some(id))).transpose()?;
        shop.sweep_compare(&CompareOrder { now: &now, baseline: baseline.as_ref(), asked: &asked }, at)
    };
    respond(StatusCode::OK, state.ask(run).await)
}

/// Two files, and what lies between the joints.
#[derive(ToSchema)]
#[expect(dead_code, reason = "describes the form")]
struct CompareForm {
    /// The sweep in hand.
    #[schema(value_type = String, format = Binary)]
    now: Vec<u8>,
    /// The good state; the latest good one on record when left out.
    #[schema(value_type = Option<String>, format = Binary)]
    baseline: Option<Vec<u8>>,
    /// What lies between the joints (TOML).
    layout: Option<String>,
}

/// Which joint of the chain changed? Parts `now`, `baseline`, `layout`; at most 128 MiB.
#[utoipa::path(post, path = "/api/v1/sweep/compare", params(SweepCompareAsked),
    request_body(content = CompareForm, content_type = "multipart/form-data"), responses(
    (status = 200, body = SweepCompareJson),
    (status = 413, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn compare_files(
    State(state): State<AppState>,
    Asked(mut asked): Asked<SweepCompareAsked>,
    mut form: Form,
) -> Response {
    let at = state.now();
    let run = move |shop: &Workshop| {
        let now = SweepGiven::File(take_one(&mut form.parts, "now")?);
        let baseline = match (&asked.baseline, form.parts.iter().any(|p| p.name == "baseline")) {
            (_, true) => Some(SweepGiven::File(take_one(&mut form.parts, "baseline")?)),
            (Some(id), false) => Some(on_record("baseline", Some(id))?),
            (None, false) => None,
        };
        if form.parts.iter().any(|p| p.name == "layout") {
            let layout = take_one(&mut form.parts, "layout")?;
            let text = String::from_utf8(layout.bytes)
                .map_err(|_| bad("layout", "expected UTF-8 text, found other bytes"))?;
            asked.layout = Some(text);
        }
        nothing_left(&form.parts)?;
        shop.sweep_compare(&CompareOrder { now: &now, baseline: baseline.as_ref(), asked: &asked }, at)
    };
    respond(StatusCode::OK, state.ask(run).await)
}

/// Is it the good cable? Both sweeps on record.
#[utoipa::path(get, path = "/api/v1/sweep/cable", params(SweepCableAsked), responses(
    (status = 200, body = SweepCableJson),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn cable(State(state): State<AppState>, Asked(asked): Asked<SweepCableAsked>) -> Response {
    let (first, second) = (asked.before.clone(), asked.after.clone());
    let load = move |shop: &Workshop| {
        let before = shop.sweep_given(&on_record("before", first.as_deref())?)?;
        Ok((before, shop.sweep_given(&on_record("after", second.as_deref())?)?))
    };
    match state.ask(load).await {
        Ok((before, after)) => {
            respond(StatusCode::OK, state.compute(move || sweeps::cable(&before, &after, &asked)).await)
        }
        Err(error) => answer::from_error(&error),
    }
}

/// Two sweeps of one cable.
#[derive(ToSchema)]
#[expect(dead_code, reason = "describes the form")]
struct CableForm {
    /// The sweep before.
    #[schema(value_type = String, format = Binary)]
    before: Vec<u8>,
    /// The sweep after.
    #[schema(value_type = String, format = Binary)]
    after: Vec<u8>,
}

/// Is it the good cable? Parts `before` and `after`; at most 128 MiB.
#[utoipa::path(post, path = "/api/v1/sweep/cable", params(SweepCableAsked),
    request_body(content = CableForm, content_type = "multipart/form-data"), responses(
    (status = 200, body = SweepCableJson),
    (status = 413, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn cable_files(
    State(state): State<AppState>,
    Asked(asked): Asked<SweepCableAsked>,
    mut form: Form,
) -> Response {
    let run = move || {
        let before = take_one(&mut form.parts, "before")?;
        let after = take_one(&mut form.parts, "after")?;
        nothing_left(&form.parts)?;
        sweeps::cable(&before, &after, &asked)
    };
    respond(StatusCode::OK, state.compute(run).await)
}

/// Does a joint scatter, or has it moved? Sweeps on record.
#[utoipa::path(get, path = "/api/v1/sweep/reconnect", params(SweepReconnectAsked), responses(
    (status = 200, body = ReconnectJson),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn reconnect(
    State(state): State<AppState>,
    Asked(asked): Asked<SweepReconnectAsked>,
) -> Response {
    let groups = [&asked.first, &asked.second, &asked.history].map(|text| ids(text.as_deref()));
    let load = move |shop: &Workshop| {
        let files = |group: &Vec<SweepGiven>| {
            group.iter().map(|given| shop.sweep_given(given)).collect::<Result<Vec<_>, _>>()
        };
        let [first, second, history] = &groups;
        Ok([files(first)?, files(second)?, files(history)?])
    };
    match state.ask(load).await {
        Ok([first, second, history]) => respond(
            StatusCode::OK,
            state.compute(move || sweeps::reconnect([&first, &second, &history], &asked)).await,
        ),
        Err(error) => answer::from_error(&error),
    }
}

/// Groups of reconnections, several files each.
#[derive(ToSchema)]
#[expect(dead_code, reason = "describes the form")]
struct ReconnectForm {
    /// The first group, for example with the device.
    #[schema(value_type = Vec<String>, format = Binary)]
    first: Vec<Vec<u8>>,
    /// The second group, for example with a known good partner.
    #[schema(value_type = Vec<String>, format = Binary)]
    second: Vec<Vec<u8>>,
    /// The joint's history.
    #[schema(value_type = Vec<String>, format = Binary)]
    history: Vec<Vec<u8>>,
}

/// Does a joint scatter, or has it moved? Parts `first`, `second`, `history`, several of each; at most 128 MiB.
#[utoipa::path(post, path = "/api/v1/sweep/reconnect", params(SweepReconnectAsked),
    request_body(content = ReconnectForm, content_type = "multipart/form-data"), responses(
    (status = 200, body = ReconnectJson),
    (status = 413, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn reconnect_files(
    State(state): State<AppState>,
    Asked(asked): Asked<SweepReconnectAsked>,
    mut form: Form,
) -> Response {
    let run = move || {
        let groups = ["first", "second", "history"].map(|name| take_all(&mut form.parts, name));
        nothing_left(&form.parts)?;
        let [first, second, history] = &groups;
        sweeps::reconnect([first, second, history], &asked)
    };
    respond(StatusCode::OK, state.compute(run).await)
}

/// Which sweeps.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct OfChain {
    /// Labels of the ends from the port outward, with commas; all when left out.
    chain: Option<String>,
}

/// Sweeps on record, latest first.
#[utoipa::path(get, path = "/api/v1/sweeps", params(OfChain), responses(
    (status = 200, body = SweepListJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn list(State(state): State<AppState>, Asked(of): Asked<OfChain>) -> Response {
    respond(StatusCode::OK, state.ask(move |shop| shop.sweeps(of.chain.as_deref().unwrap_or_default())).await)
}

/// Keeps a sweep as evidence. The body is the file, at most 64 MiB.
#[utoipa::path(post, path = "/api/v1/sweeps",
    params(SweepAddAsked, ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")),
    request_body(content = Vec<u8>, content_type = "application/octet-stream"), responses(
    (status = 201, body = WrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 413, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn add(
    State(state): State<AppState>,
    Asked(asked): Asked<SweepAddAsked>,
    posted: Posted,
) -> Response {
    let said = posted.said(SaidBody::beside_a_file(
        asked.person.as_deref(),
        asked.happened_at.as_deref(),
        asked.note.as_deref(),
    ));
    let said = match said {
        Ok(said) => said,
        Err(error) => return answer::from_error(&error),
    };
    let run = move |shop: &mut Workshop, said: &Said, now| {
        let name = asked.file_name.clone().unwrap_or_else(|| "unnamed".to_owned());
        shop.sweep_add(&SweepFile { name, bytes: posted.bytes.to_vec() }, &asked, said, now)
    };
    written(state, said, run).await
}

/// The file of a sweep on record, byte for byte as it came.
#[utoipa::path(get, path = "/api/v1/sweeps/{sweep}/file", params(("sweep" = String, Path, description = "Id of the fact")), responses(
    (status = 200, description = "The file", content_type = "application/octet-stream"),
    (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn file(State(state): State<AppState>, Path(sweep): Path<String>) -> Response {
    match state.ask(move |shop| shop.sweep_file(&sweep)).await {
        Ok(file) => (
            [
                (header::CONTENT_TYPE, "application/octet-stream"),
                // Never opened as a page: the bytes are somebody else's.
                (header::CONTENT_DISPOSITION, "attachment"),
            ],
            file.bytes,
        )
            .into_response(),
        Err(error) => answer::from_error(&error),
    }
}

/// Does a quantity of a chain drift?
#[utoipa::path(get, path = "/api/v1/sweep/trend", params(SweepTrendAsked), responses(
    (status = 200, body = SweepTrendJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn trend(State(state): State<AppState>, Asked(asked): Asked<SweepTrendAsked>) -> Response {
    respond(StatusCode::OK, state.ask(move |shop| shop.sweep_trend(&asked)).await)
}

/// A verdict to be kept.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct VerdictBody {
    /// Id of the sweep in hand.
    sweep: String,
    /// Id of the sweep to compare with; the latest good one when left out.
    #[serde(default)]
    baseline: Option<String>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Compares two sweeps on record and keeps what that says, as information in
/// the history of the ends it names. No standing changes.
#[utoipa::path(post, path = "/api/v1/sweeps/verdicts", request_body = VerdictBody,
    params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses(
    (status = 201, body = WrittenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn keep_verdict(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut VerdictBody| std::mem::take(&mut b.said),
        |shop, b, said, now| {
            let given = SweepGiven::OnRecord(b.sweep);
            let baseline = b.baseline.map(SweepGiven::OnRecord);
            let asked = SweepCompareAsked::default();
            let order = CompareOrder { now: &given, baseline: baseline.as_ref(), asked: &asked };
            shop.sweep_keep_verdict(&order, said, now)
        },
    )
    .await
}
