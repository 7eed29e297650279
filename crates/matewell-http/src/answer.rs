//! Answers and problems as HTTP.

use axum::{
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use matewell_app::AppError;
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::ToSchema;

/// RFC 9457 problem details.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Problem {
    /// `about:blank`: the code says which.
    r#type: String,
    /// Short title of the status.
    title: String,
    /// HTTP status.
    status: u16,
    /// What was expected and found.
    detail: String,
    /// Stable code of the problem.
    code: String,
    /// More, by kind of problem: `candidates`, `check`, `fact`, `field`,
    /// `missing`, `questions`.
    #[serde(flatten)]
    #[schema(value_type = Object)]
    more: Map<String, Value>,
}

/// The same bytes as the command line prints with `--json`.
pub(crate) fn json<T: Serialize>(status: StatusCode, body: &T) -> Response {
    match serde_json::to_string(body) {
        Ok(mut text) => {
            text.push('\n');
            (status, [(header::CONTENT_TYPE, "application/json")], text).into_response()
        }
        Err(error) => problem(StatusCode::INTERNAL_SERVER_ERROR, "answer", &error.to_string(), Map::new()),
    }
}

pub(crate) fn problem(status: StatusCode, code: &str, detail: &str, more: Map<String, Value>) -> Response {
    let body = Problem {
        r#type: "about:blank".to_owned(),
        title: status.canonical_reason().unwrap_or("Problem").to_owned(),
        status: status.as_u16(),
        detail: detail.to_owned(),
        code: code.to_owned(),
        more,
    };
    let text = serde_json::to_string(&body).unwrap_or_else(|_| "{}".to_owned());
    (status, [(header::CONTENT_TYPE, "application/problem+json")], text + "\n").into_response()
}

/// A request that could not be read: what was expected and found.
pub(crate) fn refused(status: StatusCode, detail: &str) -> Response {
    let (status, code) = match status {
        StatusCode::PAYLOAD_TOO_LARGE => (status, "too-large"),
        StatusCode::UNPROCESSABLE_ENTITY => (status, "bad-field"),
        _ => (status, "bad-body"),
    };
    problem(status, code, detail, Map::new())
}

/// A picture.
pub(crate) fn drawn(result: Result<String, AppError>) -> Response {
    match result {
        Ok(svg) => ([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response(),
        Err(error) => from_error(&error),
    }
}

/// A use case's error as problem details.
pub(crate) fn from_error(error: &AppError) -> Response {
    let status = StatusCode::from_u16(error.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let mut more = Map::new();
    match error {
        AppError::WhichEnd { candidates, .. } => {
            more.insert("candidates".to_owned(), candidates.clone().into());
        }
        AppError::Refused { check, fact } => {
            more.insert("check".to_owned(), serde_json::to_value(check).unwrap_or_default());
            more.insert("fact".to_owned(), fact.clone().into());
        }
        AppError::Questions(questions) => {
            more.insert("questions".to_owned(), serde_json::to_value(questions).unwrap_or_default());
            if let Some(first) = questions.first() {
                more.insert("field".to_owned(), first.field.clone().into());
            }
        }
        AppError::Field { field, .. } => {
            more.insert("field".to_owned(), (*field).into());
        }
        AppError::Touchstone { error, .. } => {
            more.insert("field".to_owned(), "file".into());
            more.insert("line".to_owned(), error.line.into());
            more.insert("column".to_owned(), error.column.into());
        }
        AppError::NotYetClosed { missing, .. } => {
            more.insert("missing".to_owned(), serde_json::to_value(missing).unwrap_or_default());
        }
        _ => {}
    }
    problem(status, error.code(), &error.to_string(), more)
}
