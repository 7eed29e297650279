//! People and what they may do. No secret is in these shapes, except one that
//! was just made and is shown once.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Who asks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WhoJson {
    /// The name that is written beside what they do.
    pub name: String,
    /// `reader`, `technician`, `lead`, `administrator`.
    pub roles: Vec<String>,
    /// `read`, `work`, `decide`, `administer`.
    pub rights: Vec<String>,
}

/// Whether somebody has to sign in, and who is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SessionJson {
    /// Whether the lab has people: without, one person works alone on this machine.
    pub people: bool,
    /// Whether a request without a sign-in is let in.
    pub alone: bool,
    /// Who asks; nothing without a sign-in.
    pub who: Option<WhoJson>,
}

/// An authorisation of a person, or one that the lab requires.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct AuthorisationJson {
    /// `gauge` or `mate-instrument-port`.
    pub act: String,
    /// The interface; nothing for every one.
    pub interface: Option<String>,
}

/// A token of a program or the secret address of a calendar, without its secret.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TokenJson {
    /// Short name to end it by.
    pub id: String,
    /// What it is for.
    pub label: String,
    /// Rights it is limited to.
    pub scope: Vec<String>,
    /// Since when, RFC 3339.
    pub made_at: String,
    /// Until when, RFC 3339.
    pub expires_at: String,
    /// `in-force`, `expired` or `ended`.
    pub state: String,
}

/// A token that was just made. The secret is shown this once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NewTokenJson {
    /// Short name to end it by.
    pub id: String,
    /// The secret: `Authorization: Bearer …`, or part of the address of a calendar.
    pub secret: String,
    /// Until when, RFC 3339.
    pub expires_at: String,
}

/// One person or rig.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PersonJson {
    /// The name.
    pub name: String,
    /// `reader`, `technician`, `lead`, `administrator`.
    pub roles: Vec<String>,
    /// Whether a password is set: a rig has none.
    pub has_password: bool,
    /// Whether the person may not come in any more.
    pub has_left: bool,
    /// Until when no sign-in is tried after too many failed, RFC 3339.
    pub locked_until: Option<String>,
    /// What the person was authorised to do.
    pub authorisations: Vec<AuthorisationJson>,
    /// Tokens, newest first.
    pub tokens: Vec<TokenJson>,
}

/// Everybody, and what the lab wants an authorisation for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PeopleJson {
    /// By name.
    pub people: Vec<PersonJson>,
    /// What needs an authorisation.
    pub required: Vec<AuthorisationJson>,
}

/// Who changed which right of whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RightChangeJson {
    /// When, RFC 3339.
    pub at: String,
    /// By whom.
    pub by: String,
    /// Word of what was done.
    pub what: String,
    /// To whom; empty when to the lab.
    pub person: String,
    /// In words.
    pub detail: String,
}

/// Changes of rights, newest first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RightChangesJson {
    /// At most 1000.
    pub changes: Vec<RightChangeJson>,
}
