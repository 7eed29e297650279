//! What requests carry.

use crate::answer;
use axum::{http::HeaderMap, response::Response};
use matewell_app::{AppError, Said};
use matewell_lab::{FactSource, Moment};
use matewell_quantity::Frequency;
use matewell_wire::parse_moment;
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

/// Who did it and when; part of every write.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
pub(crate) struct SaidBody {
    /// A name or a pseudonym.
    pub(crate) person: String,
    /// When it happened, RFC 3339; now when left out.
    #[serde(default)]
    pub(crate) happened_at: Option<String>,
    /// Free text.
    #[serde(default)]
    pub(crate) note: Option<String>,
    /// `bench` or `program`; bench when left out.
    #[serde(default)]
    pub(crate) source: Option<String>,
}

impl SaidBody {
    pub(crate) fn said(self, headers: &HeaderMap, request: [u8; 32]) -> Result<Said, AppError> {
        if self.person.trim().is_empty() {
            return Err(AppError::Field {
                field: "person",
                message: "expected a name or pseudonym, found nothing".to_owned(),
            });
        }
        let key = headers.get("idempotency-key").map(|v| v.to_str().map(str::to_owned)).transpose();
        let key = key.map_err(|_| AppError::Field {
            field: "idempotency-key",
            message: "expected visible ASCII characters".to_owned(),
        })?;
        if key.as_ref().is_some_and(|k| k.is_empty() || k.len() > 200) {
            return Err(AppError::Field {
                field: "idempotency-key",
                message: "expected 1 to 200 characters".to_owned(),
            });
        }
        let source = self.source.as_deref().unwrap_or("bench");
        Ok(Said {
            person: self.person.trim().to_owned(),
            happened_at: self.happened_at.as_deref().map(|t| moment("happened_at", t)).transpose()?,
            source: FactSource::from_word(source)
                .map_err(|e| AppError::Field { field: "source", message: e.to_string() })?,
            note: self.note.filter(|n| !n.trim().is_empty()),
            key: key.map(|k| (k, request)),
        })
    }
}

/// The moment to answer for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
pub(crate) struct AsOf {
    /// Answer as of this time, RFC 3339; now when left out.
    pub(crate) as_of: Option<String>,
}

pub(crate) fn moment(field: &'static str, text: &str) -> Result<Moment, AppError> {
    parse_moment(text).map_err(|message| AppError::Field { field, message })
}

pub(crate) fn as_of(text: Option<&str>, now: Moment) -> Result<Moment, AppError> {
    text.map_or(Ok(now), |t| moment("as_of", t))
}

pub(crate) fn frequency(text: Option<&str>) -> Result<Option<Frequency>, AppError> {
    text.map(|t| {
        t.parse().map_err(|e: matewell_quantity::QuantityError| AppError::Field {
            field: "at",
            message: e.to_string(),
        })
    })
    .transpose()
}

/// Turns the result of a use case into a response.
pub(crate) fn respond<T: serde::Serialize>(
    status: axum::http::StatusCode,
    result: Result<T, AppError>,
) -> Response {
    match result {
        Ok(body) => answer::json(status, &body),
        Err(error) => answer::from_error(&error),
    }
}
