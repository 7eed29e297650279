//! A guided look as JSON.

use crate::{EndNameJson, OriginJson};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// A number of a sheet with its origin.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SheetNumberJson {
    /// The value in `unit`.
    pub value: f64,
    /// Its unit in ASCII.
    pub unit: String,
    /// Where it is from.
    pub origin: OriginJson,
    /// Anything else a reader should know.
    pub note: Option<String>,
}

/// A list of words for what a look shows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LookWordsJson {
    /// The words.
    pub words: Vec<String>,
    /// Where the list is from.
    pub origin: OriginJson,
}

/// A ring of the face, from the inside out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FaceZoneJson {
    /// `centre-contact`, `dielectric-face`, `mating-plane` or `coupling`.
    pub zone: String,
    /// Radius where it begins; not known when the sheet has no diameter.
    pub from_mm: Option<f64>,
    /// Radius where it ends; not known when no sheet says.
    pub to_mm: Option<f64>,
}

/// A caution before the work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LookCautionJson {
    /// Its code.
    pub code: String,
    /// In words. Local rules come first.
    pub text: String,
}

/// What to look for on an end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LookGuideJson {
    /// The end.
    pub end: EndNameJson,
    /// Sheet key of its interface.
    pub interface: String,
    /// `pin`, `socket` or `neutral`.
    pub sex: String,
    /// `slotted`, `slotless` or `unknown`.
    pub slots: String,
    /// Magnification to look with; none when no source says.
    pub magnification: Option<SheetNumberJson>,
    /// What other sources say about the magnification.
    pub magnification_also: Vec<SheetNumberJson>,
    /// What is to be looked for on this interface.
    pub look_for: Vec<String>,
    /// Words for damage.
    pub damage: Option<LookWordsJson>,
    /// Words for normal wear, so that a good end is not thrown away.
    pub normal_wear: Option<LookWordsJson>,
    /// Words for dirt.
    pub dirt: Option<LookWordsJson>,
    /// The steps, in order.
    pub steps: Vec<String>,
    /// Why they are taken.
    pub because: String,
    /// Cautions.
    pub cautions: Vec<LookCautionJson>,
    /// The face, from the sheet's own diameters.
    pub face: Vec<FaceZoneJson>,
    /// Diameter of the pin, where the sheet has one.
    pub pin_diameter_mm: Option<f64>,
    /// Where the diameters are from.
    pub face_origin: Option<OriginJson>,
}

/// A look with marks and a photo. The bytes of the photo are the body.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, IntoParams)]
#[serde(default, deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct LookAsked {
    /// Label of the end.
    pub end: String,
    /// `good`, `normal-wear`, `dirty` or `damaged`.
    pub outcome: String,
    /// Words for what was seen, with commas.
    pub seen: Option<String>,
    /// Magnification used.
    pub magnification: Option<String>,
    /// Places on the face with semicolons: `3:mating-plane:dented-rim`.
    pub marks: Option<String>,
    /// A name or a pseudonym.
    pub person: Option<String>,
    /// When it happened, RFC 3339; now when left out.
    pub happened_at: Option<String>,
    /// Free text.
    pub note: Option<String>,
}

/// A place on the face.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FacePlaceJson {
    /// Hour of the clock, 1 to 12, looking into the face with 12 at the label.
    pub clock: u8,
    /// Which ring.
    pub zone: String,
    /// The word for what was seen there.
    pub word: Option<String>,
}

/// A look on record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EndLookJson {
    /// The fact.
    pub fact: String,
    /// When.
    pub at: String,
    /// By whom.
    pub person: String,
    /// What it showed.
    pub outcome: String,
    /// Words for it.
    pub seen: Vec<String>,
    /// Magnification used.
    pub magnification: Option<f64>,
    /// Where on the face.
    pub marks: Vec<FacePlaceJson>,
    /// Media type of its photo, which `/api/v1/looks/{fact}/photo` gives.
    pub photo: Option<String>,
    /// SHA-256 of the photo in hexadecimal.
    pub photo_sha256: Option<String>,
}
