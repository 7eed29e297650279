//! Studies of gauges and torque tools, the drift of an end, a lab's own
//! values. A table is posted as CSV, workbook or JSON; options are parameters.

use crate::{
    AppState, answer,
    asked::{as_of, respond},
};
use axum::{
    body::Bytes,
    extract::{Path, Query, State, rejection::BytesRejection, rejection::QueryRejection},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use matewell_app::{
    AppError, OWN_VALIDATION_BYTES, ValidationJson, drift_picture, own_validation,
    studies::{self, StudyFile, TABLE_BYTES},
};
use matewell_wire::{
    ChartAsked, ChartJson, CompareAsked, CompareJson, DriftAsked, DriftJson, GaugeStudyAsked, GaugeStudyJson,
    NestedStudyAsked, NestedStudyJson, StudyAnswerJson, TorqueStudyAsked, TorqueStudyJson, WindowAsked,
    WindowsJson,
};

/// What a posted table is called in messages.
const TABLE: &str = "table";

fn not_understood(rejection: &QueryRejection) -> Response {
    answer::problem(
        StatusCode::UNPROCESSABLE_ENTITY,
        "bad-field",
        &rejection.body_text(),
        serde_json::Map::new(),
    )
}

fn too_large(detail: &str) -> Response {
    answer::problem(StatusCode::PAYLOAD_TOO_LARGE, "too-large", detail, serde_json::Map::new())
}

/// The options and the table, or the response that refuses them.
fn posted<T>(
    query: Result<Query<T>, QueryRejection>,
    body: Result<Bytes, BytesRejection>,
    most: usize,
) -> Result<(T, Bytes), Box<Response>> {
    let Query(asked) = query.map_err(|r| Box::new(not_understood(&r)))?;
    let body = body.map_err(|r| Box::new(too_large(&r.body_text())))?;
    if body.len() > most {
        return Err(Box::new(too_large(&format!("expected at most {most} bytes, found {}", body.len()))));
    }
    Ok((asked, body))
}

fn drawn(result: Result<String, AppError>) -> Response {
    match result {
        Ok(svg) => ([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response(),
        Err(error) => answer::from_error(&error),
    }
}

macro_rules! study {
    ($(#[$doc:meta])* $name:ident, $picture:ident, $path:literal, $picture_path:literal, $asked:ident, $value:ident,
     |$shop:ident, $file:ident, $options:ident| $ask:expr, $draw:path) => {
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
            query: Result<Query<$asked>, QueryRejection>,
            body: Result<Bytes, BytesRejection>,
        ) -> Response {
            match posted(query, body, TABLE_BYTES) {
                Ok(($options, body)) => respond(
                    StatusCode::OK,
                    state
                        .run(move |$shop| {
                            let $file = StudyFile { bytes: &body, name: TABLE };
                            $ask
                        })
                        .await,
                ),
                Err(response) => *response,
            }
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
            query: Result<Query<$asked>, QueryRejection>,
            body: Result<Bytes, BytesRejection>,
        ) -> Response {
            match posted(query, body, TABLE_BYTES) {
                Ok(($options, body)) => drawn(
                    state
                        .run(move |$shop| {
                            let $file = StudyFile { bytes: &body, name: TABLE };
                            Ok($draw(&($ask)?))
                        })
                        .await,
                ),
                Err(response) => *response,
            }
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
            query: Result<Query<$asked>, QueryRejection>,
        ) -> Response {
            let now = state.now();
            match query {
                Ok(Query(asked)) => {
                    respond(
                        StatusCode::OK,
                        state.run(move |shop| shop.$method(&asked, as_of(asked.as_of.as_deref(), now)?)).await,
                    )
                }
                Err(rejection) => not_understood(&rejection),
            }
        }

        /// The same as a picture.
        #[utoipa::path(get, path = $picture_path, params($asked), responses(
            (status = 200, description = "The study as a picture", content_type = "image/svg+xml"),
            (status = 404, body = answer::Problem, content_type = "application/problem+json"),
            (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $picture(
            State(state): State<AppState>,
            query: Result<Query<$asked>, QueryRejection>,
        ) -> Response {
            let now = state.now();
            match query {
                Ok(Query(asked)) => {
                    drawn(
                        state
                            .run(move |shop| {
                                Ok($draw(&shop.$method(&asked, as_of(asked.as_of.as_deref(), now)?)?))
                            })
                            .await,
                    )
                }
                Err(rejection) => not_understood(&rejection),
            }
        }
    };
}

study!(
    /// Several appraisers measured several parts several times.
    gauge, gauge_picture, "/api/v1/study/gauge", "/api/v1/study/gauge/picture", GaugeStudyAsked, GaugeStudyJson,
    |_shop, file, asked| studies::gauge_study(&file, &asked), studies::gauge_picture
);
study!(
    /// Repeats within days within runs.
    nested, nested_picture, "/api/v1/study/nested", "/api/v1/study/nested/picture", NestedStudyAsked, NestedStudyJson,
    |_shop, file, asked| studies::nested_study(&file, &asked), studies::nested_picture
);
study!(
    /// Is a check standard still what it was?
    chart, chart_picture, "/api/v1/study/chart", "/api/v1/study/chart/picture", ChartAsked, ChartJson,
    |_shop, file, asked| studies::chart_study(&file, &asked), studies::chart_picture
);
study!(
    /// Do two gauges or labs agree?
    compare, compare_picture, "/api/v1/study/compare", "/api/v1/study/compare/picture", CompareAsked, CompareJson,
    |_shop, file, asked| studies::compare_study(&file, &asked), studies::compare_picture
);
study!(
    /// Deviation and uncertainty of a torque tool.
    torque, torque_picture, "/api/v1/study/torque", "/api/v1/study/torque/picture", TorqueStudyAsked, TorqueStudyJson,
    |shop, file, asked| studies::torque_study(shop.sheets(), Some(&file), &asked), studies::torque_picture
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
pub(crate) async fn window(
    State(state): State<AppState>,
    query: Result<Query<WindowAsked>, QueryRejection>,
) -> Response {
    let now = state.now();
    match query {
        Ok(Query(asked)) => respond(
            StatusCode::OK,
            state.run(move |shop| shop.torque_windows(&asked, as_of(asked.as_of.as_deref(), now)?)).await,
        ),
        Err(rejection) => not_understood(&rejection),
    }
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
    query: Result<Query<DriftAsked>, QueryRejection>,
) -> Response {
    let now = state.now();
    match query {
        Ok(Query(asked)) => respond(
            StatusCode::OK,
            state.run(move |shop| shop.drift(&tag, &asked, as_of(asked.as_of.as_deref(), now)?)).await,
        ),
        Err(rejection) => not_understood(&rejection),
    }
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
    query: Result<Query<DriftAsked>, QueryRejection>,
) -> Response {
    let now = state.now();
    match query {
        Ok(Query(asked)) => drawn(
            state
                .run(move |shop| {
                    Ok(drift_picture(&shop.drift(&tag, &asked, as_of(asked.as_of.as_deref(), now)?)?))
                })
                .await,
        ),
        Err(rejection) => not_understood(&rejection),
    }
}

/// Re-runs a lab's own values: a TOML file with its tables inside.
#[utoipa::path(post, path = "/api/v1/validation",
    request_body(content = String, content_type = "application/toml", description = "The file; at most 2 MB"),
    responses(
        (status = 200, body = ValidationJson),
        (status = 413, body = answer::Problem, content_type = "application/problem+json"),
        (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn validation(
    State(state): State<AppState>,
    body: Result<Bytes, BytesRejection>,
) -> Response {
    let body = match body {
        Ok(body) if body.len() <= OWN_VALIDATION_BYTES => body,
        Ok(body) => {
            return too_large(&format!(
                "expected at most {OWN_VALIDATION_BYTES} bytes, found {}",
                body.len()
            ));
        }
        Err(rejection) => return too_large(&rejection.body_text()),
    };
    let result = state
        .run(move |shop| {
            let bad = |message: String| AppError::Field { field: "file", message };
            let text = std::str::from_utf8(&body).map_err(|e| bad(format!("expected UTF-8 text: {e}")))?;
            own_validation(shop.sheets(), text, &|name| {
                Err(AppError::Field {
                    field: "input",
                    message: format!("expected the table itself, found the file \"{name}\": only the command line reads files"),
                })
            })
        })
        .await;
    respond(StatusCode::OK, result)
}
