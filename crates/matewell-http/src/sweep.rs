//! Sweeps: questions about a file in the body or a sweep on record, and sweeps
//! kept as evidence. The parameters are the options of the command line.
//!
//! One file comes as the raw bytes of the body, several as multipart form data.
//! Largest body: 64 MiB for one file, 128 MiB for several.

use crate::{
    AppState, answer,
    asked::{SaidBody, respond},
    writes::act,
};
use axum::{
    body::Bytes,
    extract::{
        DefaultBodyLimit, Multipart, Path, Query, State,
        multipart::MultipartRejection,
        rejection::{BytesRejection, QueryRejection},
    },
    http::{HeaderMap, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use matewell_app::{
    AppError, Workshop, WrittenJson,
    sweeps::{self, CompareOrder, MOST_SWEEP_BYTES, SweepFile, SweepGiven},
};
use matewell_lab::Moment;
use matewell_wire::{
    ReconnectJson, SweepAddAsked, SweepCableAsked, SweepCableJson, SweepCheckAsked, SweepCheckJson,
    SweepCompareAsked, SweepCompareJson, SweepListJson, SweepMaskAsked, SweepMaskJson, SweepReadAsked,
    SweepReadJson, SweepReconnectAsked, SweepTimeAsked, SweepTimeJson, SweepTraceAsked, SweepTraceJson,
    SweepTrendAsked, SweepTrendJson,
};
use serde::Deserialize;
use sha2::{Digest, Sha256};
use utoipa::{IntoParams, ToSchema};
use utoipa_axum::{router::OpenApiRouter, routes};

/// Largest body that carries several files.
const SEVERAL_LIMIT_BYTES: usize = 2 * MOST_SWEEP_BYTES;
/// Most parts of a form.
const MOST_PARTS: usize = 256;

/// The routes, each with its own limit of the body.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    let one = OpenApiRouter::new()
        .routes(routes!(read, read_file))
        .routes(routes!(check, check_file))
        .routes(routes!(trace, trace_file))
        .routes(routes!(time, time_file))
        .routes(routes!(mask, mask_file))
        .routes(routes!(list, add))
        .routes(routes!(file))
        .routes(routes!(trend))
        .routes(routes!(keep_verdict))
        .layer(DefaultBodyLimit::max(MOST_SWEEP_BYTES));
    let several = OpenApiRouter::new()
        .routes(routes!(compare, compare_files))
        .routes(routes!(cable, cable_files))
        .routes(routes!(reconnect, reconnect_files))
        .layer(DefaultBodyLimit::max(SEVERAL_LIMIT_BYTES));
    one.merge(several)
}

fn bad(field: &'static str, message: impl Into<String>) -> AppError {
    AppError::Field { field, message: message.into() }
}

fn not_understood(rejection: &QueryRejection) -> Response {
    answer::problem(
        StatusCode::UNPROCESSABLE_ENTITY,
        "bad-field",
        &rejection.body_text(),
        serde_json::Map::new(),
    )
}

/// A body that did not arrive whole.
fn no_body(status: StatusCode, text: &str) -> Response {
    let code = if status == StatusCode::PAYLOAD_TOO_LARGE { "too-large" } else { "bad-body" };
    answer::problem(status, code, text, serde_json::Map::new())
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

async fn parts(form: Result<Multipart, MultipartRejection>) -> Result<Vec<Part>, Response> {
    let mut form = form.map_err(|r| no_body(r.status(), &r.body_text()))?;
    let mut found = Vec::new();
    loop {
        let field = form.next_field().await.map_err(|e| no_body(e.status(), &e.body_text()))?;
        let Some(field) = field else { return Ok(found) };
        if found.len() >= MOST_PARTS {
            return Err(no_body(StatusCode::UNPROCESSABLE_ENTITY, "expected at most 256 parts"));
        }
        let name = field.name().unwrap_or_default().to_owned();
        let file_name = field.file_name().unwrap_or("unnamed").to_owned();
        let bytes = field.bytes().await.map_err(|e| no_body(e.status(), &e.body_text()))?;
        found.push(Part { name, file: SweepFile { name: file_name, bytes: bytes.to_vec() } });
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
            query: Result<Query<$asked>, QueryRejection>,
        ) -> Response {
            let Query(asked) = match query {
                Ok(query) => query,
                Err(rejection) => return not_understood(&rejection),
            };
            let given = match on_record("sweep", asked.sweep.as_deref()) {
                Ok(given) => given,
                Err(error) => return answer::from_error(&error),
            };
            let file = match state.run(move |shop| shop.sweep_given(&given)).await {
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
            query: Result<Query<$asked>, QueryRejection>,
            body: Result<Bytes, BytesRejection>,
        ) -> Response {
            let Query(asked) = match query {
                Ok(query) => query,
                Err(rejection) => return not_understood(&rejection),
            };
            let bytes = match body {
                Ok(bytes) => bytes,
                Err(rejection) => return no_body(rejection.status(), &rejection.body_text()),
            };
            if asked.sweep.is_some() {
                let both = "expected either a sweep on record or a file in the body, found both";
                return answer::from_error(&bad("sweep", both));
            }
            let name = asked.file_name.clone().unwrap_or_else(|| "unnamed".to_owned());
            let file = SweepFile { name, bytes: bytes.to_vec() };
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
    query: Result<Query<SweepCompareAsked>, QueryRejection>,
) -> Response {
    let Query(asked) = match query {
        Ok(query) => query,
        Err(rejection) => return not_understood(&rejection),
    };
    let at = state.now();
    let run = move |shop: &mut Workshop| {
        let now = on_record("sweep", asked.sweep.as_deref())?;
        let baseline = asked.baseline.as_deref().map(|id| on_record("baseline", Some(id))).transpose()?;
        shop.sweep_compare(&CompareOrder { now: &now, baseline: baseline.as_ref(), asked: &asked }, at)
    };
    respond(StatusCode::OK, state.run(run).await)
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
    query: Result<Query<SweepCompareAsked>, QueryRejection>,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let Query(mut asked) = match query {
        Ok(query) => query,
        Err(rejection) => return not_understood(&rejection),
    };
    let mut parts = match parts(form).await {
        Ok(parts) => parts,
        Err(response) => return response,
    };
    let at = state.now();
    let run = move |shop: &mut Workshop| {
        let now = SweepGiven::File(take_one(&mut parts, "now")?);
        let baseline = match (&asked.baseline, parts.iter().any(|p| p.name == "baseline")) {
            (_, true) => Some(SweepGiven::File(take_one(&mut parts, "baseline")?)),
            (Some(id), false) => Some(on_record("baseline", Some(id))?),
            (None, false) => None,
        };
        if parts.iter().any(|p| p.name == "layout") {
            let layout = take_one(&mut parts, "layout")?;
            let text = String::from_utf8(layout.bytes)
                .map_err(|_| bad("layout", "expected UTF-8 text, found other bytes"))?;
            asked.layout = Some(text);
        }
        nothing_left(&parts)?;
        shop.sweep_compare(&CompareOrder { now: &now, baseline: baseline.as_ref(), asked: &asked }, at)
    };
    respond(StatusCode::OK, state.run(run).await)
}

/// Is it the good cable? Both sweeps on record.
#[utoipa::path(get, path = "/api/v1/sweep/cable", params(SweepCableAsked), responses(
    (status = 200, body = SweepCableJson),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn cable(
    State(state): State<AppState>,
    query: Result<Query<SweepCableAsked>, QueryRejection>,
) -> Response {
    let Query(asked) = match query {
        Ok(query) => query,
        Err(rejection) => return not_understood(&rejection),
    };
    let (first, second) = (asked.before.clone(), asked.after.clone());
    let load = move |shop: &mut Workshop| {
        let before = shop.sweep_given(&on_record("before", first.as_deref())?)?;
        Ok((before, shop.sweep_given(&on_record("after", second.as_deref())?)?))
    };
    match state.run(load).await {
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
    query: Result<Query<SweepCableAsked>, QueryRejection>,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let Query(asked) = match query {
        Ok(query) => query,
        Err(rejection) => return not_understood(&rejection),
    };
    let mut parts = match parts(form).await {
        Ok(parts) => parts,
        Err(response) => return response,
    };
    let run = move || {
        let before = take_one(&mut parts, "before")?;
        let after = take_one(&mut parts, "after")?;
        nothing_left(&parts)?;
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
    query: Result<Query<SweepReconnectAsked>, QueryRejection>,
) -> Response {
    let Query(asked) = match query {
        Ok(query) => query,
        Err(rejection) => return not_understood(&rejection),
    };
    let groups = [&asked.first, &asked.second, &asked.history].map(|text| ids(text.as_deref()));
    let load = move |shop: &mut Workshop| {
        let files = |group: &Vec<SweepGiven>| {
            group.iter().map(|given| shop.sweep_given(given)).collect::<Result<Vec<_>, _>>()
        };
        let [first, second, history] = &groups;
        Ok([files(first)?, files(second)?, files(history)?])
    };
    match state.run(load).await {
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
    query: Result<Query<SweepReconnectAsked>, QueryRejection>,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let Query(asked) = match query {
        Ok(query) => query,
        Err(rejection) => return not_understood(&rejection),
    };
    let mut parts = match parts(form).await {
        Ok(parts) => parts,
        Err(response) => return response,
    };
    let run = move || {
        let groups = ["first", "second", "history"].map(|name| take_all(&mut parts, name));
        nothing_left(&parts)?;
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
pub(crate) async fn list(
    State(state): State<AppState>,
    query: Result<Query<OfChain>, QueryRejection>,
) -> Response {
    match query {
        Ok(Query(of)) => respond(
            StatusCode::OK,
            state.run(move |shop| shop.sweeps(of.chain.as_deref().unwrap_or_default())).await,
        ),
        Err(rejection) => not_understood(&rejection),
    }
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
    headers: HeaderMap,
    uri: Uri,
    query: Result<Query<SweepAddAsked>, QueryRejection>,
    body: Result<Bytes, BytesRejection>,
) -> Response {
    let Query(asked) = match query {
        Ok(query) => query,
        Err(rejection) => return not_understood(&rejection),
    };
    let bytes = match body {
        Ok(bytes) => bytes,
        Err(rejection) => return no_body(rejection.status(), &rejection.body_text()),
    };
    let mut request = Sha256::new();
    request.update(uri.query().unwrap_or_default().as_bytes());
    request.update([0]);
    request.update(&bytes);
    let said = SaidBody {
        person: asked.person.clone().unwrap_or_default(),
        happened_at: asked.happened_at.clone(),
        note: asked.note.clone(),
        source: None,
    };
    let said = match said.said(&headers, request.finalize().into()) {
        Ok(said) => said,
        Err(error) => return answer::from_error(&error),
    };
    let now: Moment = state.now();
    let result = state
        .run(move |shop| {
            let name = asked.file_name.clone().unwrap_or_else(|| "unnamed".to_owned());
            shop.sweep_add(&SweepFile { name, bytes: bytes.to_vec() }, &asked, &said, now)
        })
        .await;
    if let Ok(written) = &result {
        state.announce(written);
    }
    respond(StatusCode::CREATED, result)
}

/// The file of a sweep on record, byte for byte as it came.
#[utoipa::path(get, path = "/api/v1/sweeps/{sweep}/file", params(("sweep" = String, Path, description = "Id of the fact")), responses(
    (status = 200, description = "The file", content_type = "application/octet-stream"),
    (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn file(State(state): State<AppState>, Path(sweep): Path<String>) -> Response {
    match state.run(move |shop| shop.sweep_file(&sweep)).await {
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
pub(crate) async fn trend(
    State(state): State<AppState>,
    query: Result<Query<SweepTrendAsked>, QueryRejection>,
) -> Response {
    match query {
        Ok(Query(asked)) => respond(StatusCode::OK, state.run(move |shop| shop.sweep_trend(&asked)).await),
        Err(rejection) => not_understood(&rejection),
    }
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
pub(crate) async fn keep_verdict(State(state): State<AppState>, headers: HeaderMap, body: Bytes) -> Response {
    act(
        state,
        headers,
        body,
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
