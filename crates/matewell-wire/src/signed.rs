//! A dossier of an end with its facts and their places in the chain, signed to
//! be shown elsewhere.

use crate::EndDossierJson;
use matewell_record::FactJson;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A fact with the hash before it, so that its own hash can be recomputed
/// without the rest of the log.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct DossierFactJson {
    /// SHA-256 of the fact before it in the chain of its machine; 64 zeros before the first.
    pub previous_sha256: String,
    /// The fact, with its place and hash.
    pub fact: FactJson,
}

/// The first line of a signed dossier.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct SignedDossierJson {
    /// `matewell-dossier-1`.
    pub format: String,
    /// The machine whose log it is from.
    pub machine: String,
    /// The dossier.
    pub dossier: EndDossierJson,
    /// Facts about the end and its item, in the order of entry.
    pub facts: Vec<DossierFactJson>,
}

/// The second line of a signed dossier: over the bytes of the first line
/// without its end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DossierSignatureJson {
    /// `Ed25519` (RFC 8032).
    pub algorithm: String,
    /// 64 hexadecimal digits.
    pub public_key: String,
    /// 128 hexadecimal digits.
    pub signature: String,
}

/// What a verification of a dossier found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DossierVerdictJson {
    /// Whether everything holds.
    pub whole: bool,
    /// Whether the first line is what this key signed.
    pub signed: bool,
    /// The key that signed, 64 hexadecimal digits.
    pub public_key: String,
    /// Whether it is the key that was expected; nothing when none was named.
    pub expected_key: Option<bool>,
    /// Facts looked at.
    pub facts: u64,
    /// Id of the first fact whose hash does not follow from it.
    pub first_broken: Option<String>,
    /// Label of the end.
    pub tag: String,
    /// When it was made, RFC 3339.
    pub at: String,
    /// In words.
    pub text: String,
}
