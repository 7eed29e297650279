//! What requests carry.

use crate::answer;
use axum::{
    body::Bytes,
    extract::{FromRequest, FromRequestParts, Query, Request},
    http::{HeaderValue, StatusCode, request::Parts},
    response::Response,
};
use matewell_app::{Access, AppError, Said};
use matewell_lab::{FactSource, Moment};
use matewell_quantity::Frequency;
use matewell_wire::parse_moment;
use serde::{Deserialize, de::DeserializeOwned};
use sha2::{Digest, Sha256};
use utoipa::{IntoParams, ToSchema};

#[expect(clippy::needless_pass_by_value, reason = "errors come by value out of map_err")]
pub(crate) fn bad(field: &'static str, message: impl ToString) -> AppError {
    AppError::Field { field, message: message.to_string() }
}

/// The parameters of a question. What is missing or unknown is a problem.
pub(crate) struct Asked<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Asked<T> {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Response> {
        match Query::from_request_parts(parts, state).await {
            Ok(Query(asked)) => Ok(Self(asked)),
            Err(rejection) => Err(answer::refused(StatusCode::UNPROCESSABLE_ENTITY, &rejection.body_text())),
        }
    }
}

/// What was posted. A body that did not arrive whole is a problem.
pub(crate) struct Posted {
    key: Option<HeaderValue>,
    /// The name of whoever is signed in.
    signed_in: Option<String>,
    /// Path and parameters: the same bytes mean another thing elsewhere.
    address: String,
    /// The body.
    pub(crate) bytes: Bytes,
}

impl<S: Send + Sync> FromRequest<S> for Posted {
    type Rejection = Response;

    async fn from_request(request: Request, state: &S) -> Result<Self, Response> {
        let key = request.headers().get("idempotency-key").cloned();
        let signed_in =
            request.extensions().get::<Access>().and_then(|access| Some(access.who.as_ref()?.name.clone()));
        let address = request.uri().path_and_query().map(ToString::to_string).unwrap_or_default();
        match Bytes::from_request(request, state).await {
            Ok(bytes) => Ok(Self { key, signed_in, address, bytes }),
            Err(rejection) => Err(answer::refused(rejection.status(), &rejection.body_text())),
        }
    }
}

impl Posted {
    /// The body as JSON.
    pub(crate) fn read<B: DeserializeOwned>(&self) -> Result<B, AppError> {
        serde_json::from_slice(&self.bytes)
            .map_err(|error| bad("body", format!("expected the JSON of the API description: {error}")))
    }

    /// What somebody signed in does is by nobody else.
    fn by(&self, said: SaidBody) -> Result<SaidBody, AppError> {
        let Some(name) = &self.signed_in else { return Ok(said) };
        let found = said.person.trim();
        if found.is_empty() || found.to_lowercase() == name.to_lowercase() {
            return Ok(SaidBody { person: name.clone(), ..said });
        }
        Err(AppError::NoRight {
            person: name.clone(),
            needs: format!("{found} to be signed in, or no other name"),
        })
    }

    /// Who and when, with the key that stands for the whole request.
    pub(crate) fn said(&self, said: SaidBody) -> Result<Said, AppError> {
        let mut request = Sha256::new();
        for part in [self.address.as_bytes(), &self.bytes] {
            request.update(part.len().to_be_bytes());
            request.update(part);
        }
        self.by(said)?.said(self.key.as_ref(), request.finalize().into())
    }
}

/// Who did it and when; part of every write.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
pub(crate) struct SaidBody {
    /// A name or a pseudonym; whoever is signed in when left out.
    #[serde(default)]
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
    /// From parameters, where the body is a file.
    pub(crate) fn beside_a_file(person: Option<&str>, happened_at: Option<&str>, note: Option<&str>) -> Self {
        Self {
            person: person.unwrap_or_default().to_owned(),
            happened_at: happened_at.map(str::to_owned),
            note: note.map(str::to_owned),
            source: None,
        }
    }

    fn said(self, key: Option<&HeaderValue>, request: [u8; 32]) -> Result<Said, AppError> {
        if self.person.trim().is_empty() {
            return Err(bad("person", "expected a name or pseudonym, found nothing"));
        }
        let key = key.map(|v| v.to_str().map(str::to_owned)).transpose();
        let key = key.map_err(|_| bad("idempotency-key", "expected visible ASCII characters"))?;
        if key.as_ref().is_some_and(|k| k.is_empty() || k.len() > 200) {
            return Err(bad("idempotency-key", "expected 1 to 200 characters"));
        }
        let source = self.source.as_deref().unwrap_or("bench");
        Ok(Said {
            person: self.person.trim().to_owned(),
            happened_at: self.happened_at.as_deref().map(|t| moment("happened_at", t)).transpose()?,
            source: FactSource::from_word(source).map_err(|e| bad("source", e))?,
            note: self.note.filter(|n| !n.trim().is_empty()),
            key: key.map(|k| (k, request)),
        })
    }
}

/// The moment to answer for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct AsOf {
    /// Answer as of this time, RFC 3339; now when left out.
    pub(crate) as_of: Option<String>,
}

pub(crate) fn moment(field: &'static str, text: &str) -> Result<Moment, AppError> {
    parse_moment(text).map_err(|message| bad(field, message))
}

pub(crate) fn as_of(text: Option<&str>, now: Moment) -> Result<Moment, AppError> {
    text.map_or(Ok(now), |t| moment("as_of", t))
}

pub(crate) fn frequency(text: Option<&str>) -> Result<Option<Frequency>, AppError> {
    text.map(|t| t.parse().map_err(|e: matewell_quantity::QuantityError| bad("at", e))).transpose()
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
