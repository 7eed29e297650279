//! Studies of gauges and torque tools, the drift of an end, a lab's own
//! values. A table is posted as CSV, workbook or JSON; options are parameters.

use crate::{
    AppState,
    answer::{self, drawn},
    asked::{Asked, Posted, as_of, bad, respond},
};
use axum::{
    body::Bytes,
    extract::{Path, State},
    http::StatusCode,
    response::Response,
};
use matewell_app::{
    OWN_VALIDATION_BYTES, ValidationJson, Workshop, drift_picture, own_validation,
    studies::{self, StudyFile, TABLE_BYTES},
};
use matewell_wire::{
    ChartAsked, ChartJson, CompareAsked, CompareJson, DriftAsked, DriftJson, GaugeStudyAsked, GaugeStudyJson,
    NestedStudyAsked, NestedStudyJson, StudyAnswerJson, TorqueStudyAsked, TorqueStudyJson, WindowAsked,
    WindowsJson,
};

/// What a posted table is called in messages.
const TABLE: &str = "table";

/// The table, or the response that refuses it.
fn table(posted: Posted, most: usize) -> Result<Bytes, Box<Response>> {
    if posted.bytes.len() > most {
        let detail = format!("expected at most {most} bytes, found {}", posted.bytes.len());
        return Err(Box::new(answer::refused(StatusCode::PAYLOAD_TOO_LARGE, &detail)));
    }
    Ok(posted.bytes)
}

macro_rules! study {
    ($(#[$doc:meta])* $name:ident, $picture:ident, $path:literal, $picture_path:literal, $asked:ident, $value:ident,
     |$sheets:ident, $file:ident, $options:ident| $ask:expr, $draw:path) => {
        $(#[$doc])*
        ///
        /// The table is CSV, a workbook, or JSON: `{"columns": [], "rows": [[]]}`.
        #[utoipa::path(post, path = $path, params($asked),
            request_body(content = String, content_type = "text/csv", description = "The table; at most 2 MB"),
            responses(
                (status = 200, body = StudyAnswerJson<$value>),
                (status = 413, body = answer::Problem, content_type = "application/problem+json"),
                (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $name(
            State(state): State<AppState>,
            Asked($options): Asked<$asked>,
            posted: Posted,
        ) -> Response {
            let body = match table(posted, TABLE_BYTES) {
                Ok(body) => body,
                Err(response) => return *response,
            };
            let $sheets = state.sheets();
            let ask = move || {
                let $file = StudyFile { bytes: &body, name: TABLE };
                $ask
            };
            respond(StatusCode::OK, state.compute(ask).await)
        }

        /// The same as a picture.
        #[utoipa::path(post, path = $picture_path, params($asked),
            request_body(content = String, content_type = "text/csv", description = "The table; at most 2 MB"),
            responses(
                (status = 200, description = "The study as a picture", content_type = "image/svg+xml"),
                (status = 413, body = answer::Problem, content_type = "application/problem+json"),
                (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $picture(
            State(state): State<AppState>,
            Asked($options): Asked<$asked>,
            posted: Posted,
        ) -> Response {
            let body = match table(posted, TABLE_BYTES) {
                Ok(body) => body,
                Err(response) => return *response,
            };
            let $sheets = state.sheets();
            let ask = move || {
                let $file = StudyFile { bytes: &body, name: TABLE };
                Ok($draw(&($ask)?))
            };
            drawn(state.compute(ask).await)
        }
    };
}

/// The same question asked of the lab's facts.
macro_rules! of_facts {
    ($(#[$doc:meta])* $name:ident, $picture:ident, $path:literal, $picture_path:literal, $asked:ident, $value:ident,
     $method:ident, $draw:path) => {
        $(#[$doc])*
        #[utoipa::path(get, path = $path, params($asked), responses(
            (status = 200, body = StudyAnswerJson<$value>),
            (status = 404, body = answer::Problem, content_type = "application/problem+json"),
            (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $name(
            State(state): State<AppState>,
            Asked(asked): Asked<$asked>,
        ) -> Response {
            let now = state.now();
            let ask = move |shop: &Workshop| shop.$method(&asked, as_of(asked.as_of.as_deref(), now)?);
            respond(StatusCode::OK, state.ask(ask).await)
        }

        /// The same as a picture.
        #[utoipa::path(get, path = $picture_path, params($asked), responses(
            (status = 200, description = "The study as a picture", content_type = "image/svg+xml"),
            (status = 404, body = answer::Problem, content_type = "application/problem+json"),
            (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $picture(
            State(state): State<AppState>,
            Asked(asked): Asked<$asked>,
        ) -> Response {
            let now = state.now();
            let ask = move |shop: &Workshop| {
                Ok($draw(&shop.$method(&asked, as_of(asked.as_of.as_deref(), now)?)?))
            };
            drawn(state.ask(ask).await)
        }
    };
}

study!(
    /// Several appraisers measured several parts several times.
    gauge, gauge_picture, "/api/v1/study/gauge", "/api/v1/study/gauge/picture", GaugeStudyAsked, GaugeStudyJson,
    |_sheets, file, asked| studies::gauge_study(&file, &asked), studies::gauge_picture
);
study!(
    /// Repeats within days within runs.
    nested, nested_picture, "/api/v1/study/nested", "/api/v1/study/nested/picture", NestedStudyAsked, NestedStudyJson,
    |_sheets, file, asked| studies::nested_study(&file, &asked), studies::nested_picture
);
study!(
    /// Is a check standard still what it was?
    chart, chart_picture, "/api/v1/study/chart", "/api/v1/study/chart/picture", ChartAsked, ChartJson,
    |_sheets, file, asked| studies::chart_study(&file, &asked), studies::chart_picture
);
study!(
    /// Do two gauges or labs agree?
    compare, compare_picture, "/api/v1/study/compare", "/api/v1/study/compare/picture", CompareAsked, CompareJson,
    |_sheets, file, asked| studies::compare_study(&file, &asked), studies::compare_picture
);
study!(
    /// Deviation and uncertainty of a torque tool.
    torque, torque_picture, "/api/v1/study/torque", "/api/v1/study/torque/picture", TorqueStudyAsked, TorqueStudyJson,
    |sheets, file, asked| studies::torque_study(&sheets, Some(&file), &asked), studies::torque_picture
);

of_facts!(
    /// A crossed study of gaugings on record.
    gauge_facts, gauge_facts_picture, "/api/v1/study/gauge", "/api/v1/study/gauge/picture", GaugeStudyAsked,
    GaugeStudyJson, gauge_study, studies::gauge_picture
);
of_facts!(
    /// A nested study of the gaugings of one end.
    nested_facts, nested_facts_picture, "/api/v1/study/nested", "/api/v1/study/nested/picture", NestedStudyAsked,
    NestedStudyJson, nested_study, studies::nested_picture
);
of_facts!(
    /// Charts of a gauge's zero checks.
    chart_facts, chart_facts_picture, "/api/v1/study/chart", "/api/v1/study/chart/picture", ChartAsked, ChartJson,
    chart_study, studies::chart_picture
);
of_facts!(
    /// The last gaugings of an end with two gauges beside each other.
    compare_facts, compare_facts_picture, "/api/v1/study/compare", "/api/v1/study/compare/picture", CompareAsked,
    CompareJson, compare_study, studies::compare_picture
);
of_facts!(
    /// The last check of a wrench, or readings in the question.
    torque_facts, torque_facts_picture, "/api/v1/study/torque", "/api/v1/study/torque/picture", TorqueStudyAsked,
    TorqueStudyJson, torque_study, studies::torque_picture
);

/// What a set point means in torque, or those of all wrenches.
#[utoipa::path(get, path = "/api/v1/study/window", params(WindowAsked), responses(
    (status = 200, body = StudyAnswerJson<WindowsJson>),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn window(State(state): State<AppState>, Asked(asked): Asked<WindowAsked>) -> Response {
    let now = state.now();
    let ask = move |shop: &Workshop| shop.torque_windows(&asked, as_of(asked.as_of.as_deref(), now)?);
    respond(StatusCode::OK, state.ask(ask).await)
}

/// Pin position of an end against its mates, and when a limit may be reached.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/drift", params(("tag" = String, Path, description = "Label of the end"), DriftAsked), responses(
    (status = 200, body = DriftJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn drift(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(asked): Asked<DriftAsked>,
) -> Response {
    let now = state.now();
    let ask = move |shop: &Workshop| shop.drift(&tag, &asked, as_of(asked.as_of.as_deref(), now)?);
    respond(StatusCode::OK, state.ask(ask).await)
}

/// The same as a picture.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/drift/picture", params(("tag" = String, Path, description = "Label of the end"), DriftAsked), responses(
    (status = 200, description = "The series as a picture", content_type = "image/svg+xml"),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn drift_svg(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(asked): Asked<DriftAsked>,
) -> Response {
    let now = state.now();
    let ask = move |shop: &Workshop| {
        Ok(drift_picture(&shop.drift(&tag, &asked, as_of(asked.as_of.as_deref(), now)?)?))
    };
    drawn(state.ask(ask).await)
}

/// Re-runs a lab's own values: a TOML file with its tables inside.
#[utoipa::path(post, path = "/api/v1/validation",
    request_body(content = String, content_type = "application/toml", description = "The file; at most 2 MB"),
    responses(
        (status = 200, body = ValidationJson),
        (status = 413, body = answer::Problem, content_type = "application/problem+json"),
        (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn validation(State(state): State<AppState>, posted: Posted) -> Response {
    let body = match table(posted, OWN_VALIDATION_BYTES) {
        Ok(body) => body,
        Err(response) => return *response,
    };
    let sheets = state.sheets();
    let ask = move || {
        let text =
            std::str::from_utf8(&body).map_err(|e| bad("file", format!("expected UTF-8 text: {e}")))?;
        own_validation(&sheets, text, &|name| {
            Err(bad(
                "input",
                format!(
                    "expected the table itself, found the file \"{name}\": only the command line reads files"
                ),
            ))
        })
    };
    respond(StatusCode::OK, state.compute(ask).await)
}
