//! Addresses that are told of facts.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An address that is told of every fact.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WebhookJson {
    /// Short name to end it by.
    pub id: String,
    /// The address.
    pub url: String,
    /// Since when, RFC 3339.
    pub made_at: String,
    /// `in-force` or `ended`.
    pub state: String,
    /// Number of the last fact that the address took.
    pub told: u64,
    /// When it last took something, RFC 3339.
    pub told_at: Option<String>,
    /// Attempts that failed since.
    pub failed: u32,
    /// When the next attempt is made, RFC 3339.
    pub next_at: Option<String>,
    /// What the last attempt said.
    pub last_error: Option<String>,
}

/// Addresses that are told of facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WebhooksJson {
    /// Newest first.
    pub webhooks: Vec<WebhookJson>,
}

/// An address that was just added. The secret is shown this once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NewWebhookJson {
    /// Short name to end it by.
    pub id: String,
    /// Key of the signatures (HMAC-SHA-256).
    pub secret: String,
}
