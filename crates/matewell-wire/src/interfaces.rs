//! The interfaces of the data sheets, as JSON.

use crate::NumberJson;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One interface: what it is called and the numbers of its sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct InterfaceJson {
    /// The name to ask with.
    pub interface: String,
    /// Its name in words.
    pub name: String,
    /// What fills the line at the interface.
    pub dielectric: String,
    /// The plane pin positions refer to, in words.
    pub reference_plane: String,
    /// Whether both halves are alike.
    pub neutral: bool,
    /// Impedance, dimensions, limits of frequency and mates that are known,
    /// each with its source.
    pub numbers: Vec<NumberJson>,
    /// Whether the sheet has all that the reflection of a pin gap needs.
    pub has_gap_dimensions: bool,
}

/// Every interface of the data sheets in force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct InterfaceListJson {
    /// Revision of the data.
    pub revision: String,
    /// In the order of the sheets.
    pub interfaces: Vec<InterfaceJson>,
}
