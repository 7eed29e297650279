//! A whole fact as one JSON object: a line of an export, an answer of the API.

use crate::{
    RecordError,
    body::{body_from, payload_of},
    moment::{moment_from_text, moment_text},
    text,
};
use matewell_lab::{Fact, FactId, FactSource, MachineId, Resolution, kind_word};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::ToSchema;

/// Version of the written form. A change that an older reader would
/// misunderstand raises it.
pub const VERSION: u32 = 1;

/// A whole fact.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FactJson {
    /// Version of this written form: 1.
    pub version: u32,
    /// For ever the same.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub id: FactId,
    /// The machine that wrote it down.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub machine: MachineId,
    /// What kind of fact it is; says what the payload must look like.
    pub kind: String,
    /// When it happened, RFC 3339.
    #[schema(format = DateTime)]
    pub happened_at: String,
    /// How exactly that is known.
    pub resolution: ResolutionJson,
    /// Order among facts of the same moment; 0 when there is none.
    #[serde(default)]
    pub sequence: u32,
    /// When it was entered, RFC 3339.
    #[schema(format = DateTime)]
    pub recorded_at: String,
    /// Who did it.
    pub person: String,
    /// `bench`, `import` or `program`.
    pub source: String,
    /// Free text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// What happened.
    #[schema(value_type = Object)]
    pub payload: Box<RawValue>,
    /// Its place in the chain of its machine, in exports.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub link: Option<LinkJson>,
}

/// How exactly a time is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum ResolutionJson {
    /// To the instant given.
    Instant,
    /// Only the day.
    Day,
}

/// Place of a fact in the chain of the machine that wrote it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LinkJson {
    /// Counts the facts of that machine from 1.
    pub machine_sequence: u64,
    /// SHA-256 over this fact and the hash before it, in hexadecimal.
    pub sha256: String,
}

impl FactJson {
    /// The written form of a fact, without a link.
    ///
    /// # Errors
    ///
    /// As [`payload_of`].
    pub fn of(fact: &Fact) -> Result<Self, RecordError> {
        let kind = kind_word(&fact.body).to_owned();
        let payload = RawValue::from_string(payload_of(&fact.body)?)
            .map_err(|source| RecordError::Json { kind: kind.clone(), source })?;
        Ok(Self {
            version: VERSION,
            id: fact.id,
            machine: fact.machine,
            kind,
            happened_at: moment_text(fact.happened_at)?,
            resolution: match fact.resolution {
                Resolution::Instant => ResolutionJson::Instant,
                Resolution::Day => ResolutionJson::Day,
            },
            sequence: fact.sequence,
            recorded_at: moment_text(fact.recorded_at)?,
            person: fact.person.clone(),
            source: fact.source.word().to_owned(),
            note: fact.note.clone(),
            payload,
            link: None,
        })
    }

    /// The fact.
    ///
    /// # Errors
    ///
    /// [`RecordError::UnknownVersion`], and as [`body_from`].
    pub fn fact(&self) -> Result<Fact, RecordError> {
        if self.version != VERSION {
            return Err(RecordError::UnknownVersion { expected: VERSION, found: self.version });
        }
        Ok(Fact {
            id: self.id,
            machine: self.machine,
            happened_at: moment_from_text(&self.happened_at)?,
            resolution: match self.resolution {
                ResolutionJson::Instant => Resolution::Instant,
                ResolutionJson::Day => Resolution::Day,
            },
            sequence: self.sequence,
            recorded_at: moment_from_text(&self.recorded_at)?,
            person: self.person.clone(),
            source: FactSource::from_word(&self.source)?,
            note: self.note.clone(),
            body: body_from(&self.kind, self.payload.get())?,
        })
    }

    /// One line of an export: JSON without a line break inside.
    ///
    /// # Errors
    ///
    /// [`RecordError::Json`].
    pub fn to_line(&self) -> Result<String, RecordError> {
        serde_json::to_string(self).map_err(|source| RecordError::Json { kind: "fact".to_owned(), source })
    }

    /// Reads one line of an export.
    ///
    /// # Errors
    ///
    /// [`RecordError::Json`].
    pub fn from_line(line: &str) -> Result<Self, RecordError> {
        serde_json::from_str(line).map_err(|source| RecordError::Json { kind: "fact".to_owned(), source })
    }
}
