//! How an end is cleaned, as JSON.

use crate::{EndNameJson, LookCautionJson, OriginJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How an end is cleaned: steps and cautions from the data sheets.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CleanGuideJson {
    /// The end.
    pub end: EndNameJson,
    /// Sheet key of its interface.
    pub interface: String,
    /// `pin`, `socket` or `neutral`.
    pub sex: String,
    /// Cautions, before anything is done. Those about what is behind an end are
    /// there only when its registration says that it applies.
    pub cautions: Vec<LookCautionJson>,
    /// The order of work this is a part of.
    pub order: Vec<String>,
    /// The steps, in order.
    pub steps: Vec<String>,
    /// Why they are taken.
    pub because: String,
    /// Where the steps are from; none when the data has none.
    pub origin: Option<OriginJson>,
    /// When it was cleaned last, RFC 3339.
    pub cleaned_at: Option<String>,
}
