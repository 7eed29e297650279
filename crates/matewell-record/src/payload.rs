//! The JSON of each kind of fact. Every shape refuses fields it does not know.

use crate::{EndJson, ItemJson, LengthJson, PinPositionJson, text};
use matewell_lab::{EndId, FactId, ItemId};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::ToSchema;

macro_rules! shapes {
    ($($(#[$doc:meta])* $name:ident { $($(#[$field_doc:meta])* $field:ident: $kind:ty),+ $(,)? })+) => {
        $(
            $(#[$doc])*
            #[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
            #[serde(deny_unknown_fields)]
            pub struct $name {
                $($(#[$field_doc])* pub $field: $kind,)+
            }
        )+
    };
}

shapes! {
    /// `registered`: an item and its ends were written down.
    RegisteredJson {
        /// The item.
        item: ItemJson,
        /// Its ends.
        ends: Vec<EndJson>,
    }

    /// `inspected`: somebody looked.
    InspectedJson {
        /// The end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        end: EndId,
        /// `good`, `normal-wear`, `dirty` or `damaged`.
        outcome: String,
        /// Words for what was seen.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        seen: Vec<String>,
        /// Magnification used.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        magnification: Option<f64>,
        /// Where on the face.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        marks: Vec<FaceMarkJson>,
        /// A photo that is kept.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<LookPhotoJson>,
    }

    /// A place on the face of an end.
    FaceMarkJson {
        /// Hour of the clock, 1 to 12, looking into the face with 12 at the label.
        clock: u8,
        /// `centre-contact`, `dielectric-face`, `mating-plane` or `coupling`.
        zone: String,
        /// The word for what was seen there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        word: Option<String>,
    }

    /// A photo of a look.
    LookPhotoJson {
        /// `image/png`, `image/jpeg` or `image/webp`.
        media: String,
        /// SHA-256 of its bytes in hexadecimal.
        sha256: String,
        /// How many bytes it has.
        bytes: u64,
    }

    /// `gauged`: the pin position was gauged.
    GaugedJson {
        /// The end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        end: EndId,
        /// The gauge.
        #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
        #[schema(value_type = Option<String>, format = "uuid")]
        gauge: Option<ItemId>,
        /// The readings, re-seated and turned between them.
        readings: Vec<PinPositionJson>,
        /// Standard uncertainty stated with the readings.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stated_standard_uncertainty: Option<LengthJson>,
        /// What else was written down about the session.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        session: Option<GaugingSessionJson>,
    }

    /// A gauging written down in full.
    GaugingSessionJson {
        /// The gauge master.
        #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
        #[schema(value_type = Option<String>, format = "uuid")]
        master: Option<ItemId>,
        /// Where its pin stands, by its certificate.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        master_position: Option<PinPositionJson>,
        /// Standard uncertainty of that position, by its certificate.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        master_standard_uncertainty: Option<LengthJson>,
        /// What the gauge showed on the master before.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        zero_before: Vec<PinPositionJson>,
        /// What the gauge showed on the master after.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        zero_after: Vec<PinPositionJson>,
        /// How far the gauge was turned for each reading, degrees.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        turned_deg: Vec<f64>,
        /// How the gauge met the end, when not as registered: a word such as `push-on`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        method: Option<String>,
        /// Air temperature, degrees Celsius.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        temperature_c: Option<f64>,
        /// Relative humidity, percent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        humidity_percent: Option<f64>,
        /// Position of the dielectric's face.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        dielectric: Vec<PinPositionJson>,
        /// Questions about the entry answered with "it is so", by their code.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        sure: Vec<String>,
        /// An error of the gauge found later.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        gauge_off: Option<OffsetTakenOutJson>,
    }

    /// How far a gauge turned out to have been off.
    OffsetTakenOutJson {
        /// How much too far recessed it read; negative for too far protruding.
        reads_more_recessed: LengthJson,
        /// Standard uncertainty of that number.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        standard_uncertainty: Option<LengthJson>,
        /// The check that found it.
        #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
        #[schema(value_type = Option<String>, format = "uuid")]
        found_by: Option<FactId>,
    }

    /// `cleaned`: an end was cleaned.
    CleanedJson {
        /// The end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        end: EndId,
        /// How.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        method: Option<String>,
    }

    /// `mated`: two ends touched and were tightened.
    MatedJson {
        /// One end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        a: EndId,
        /// The other end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        b: EndId,
        /// The wrench used.
        #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
        #[schema(value_type = Option<String>, format = "uuid")]
        wrench: Option<ItemId>,
        /// The override under which it happened.
        #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
        #[schema(value_type = Option<String>, format = "uuid")]
        overridden: Option<FactId>,
    }

    /// `parted`: two ends came apart.
    PartedJson {
        /// One end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        a: EndId,
        /// The other end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        b: EndId,
    }

    /// `stored`: an item was put away.
    StoredJson {
        /// The item.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        item: ItemId,
        /// Where.
        place: String,
        /// Whether clean caps were on.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        capped: Option<bool>,
    }

    /// `kit-made`: somebody said what belongs into a kit.
    KitMadeJson {
        /// The kit.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        kit: ItemId,
        /// Its pieces, in the order of their places.
        #[serde(with = "text::id_list")] #[schema(value_type = Vec<String>)]
        pieces: Vec<ItemId>,
    }

    /// What was found of one piece of a kit.
    PieceFoundJson {
        /// The piece.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        piece: ItemId,
        /// `in-place`, `swapped` or `missing`.
        place: String,
        /// Whether clean caps were on.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        capped: Option<bool>,
    }

    /// `kit-checked`: a kit was looked through.
    KitCheckedJson {
        /// The kit.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        kit: ItemId,
        /// What was found of each piece.
        found: Vec<PieceFoundJson>,
    }

    /// `reserved`: an item or a kit is wanted for planned work.
    ReservedJson {
        /// The item or kit.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        item: ItemId,
        /// What for.
        work: String,
        /// When the work begins, RFC 3339.
        from: String,
        /// When it ends, RFC 3339.
        until: String,
    }

    /// One value of a policy.
    PolicyValueJson {
        /// Its key.
        key: String,
        /// The value with its unit.
        value: String,
    }

    /// One value of the lab's own.
    OwnPolicyValueJson {
        /// Where it stands.
        place: String,
        /// The value with its unit.
        now: String,
        /// Why.
        because: String,
    }

    /// `policy-taken-up`: the lab judges by this data from then on.
    PolicyTakenUpJson {
        /// Names the data, and the lab's own by the checksum of its text.
        revision: String,
        /// Every value of the policy.
        values: Vec<PolicyValueJson>,
        /// Every value of the lab's own, of any sheet.
        own: Vec<OwnPolicyValueJson>,
    }

    /// `tool-checked`: a gauge or a wrench was checked.
    ToolCheckedJson {
        /// The tool.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        tool: ItemId,
        /// What was found.
        check: ToolCheckJson,
    }

    /// Zero of a gauge on its master.
    GaugeZeroJson {
        /// How much more recessed than the master's value it read; negative
        /// for less.
        reads_more_recessed: LengthJson,
        /// Whether the lab took it as in order.
        in_order: bool,
    }

    /// Torque of a wrench against a reference.
    WrenchCheckJson {
        /// Torque it was set to, newton metres.
        set_point_n_m: f64,
        /// Reference readings, newton metres.
        readings_n_m: Vec<f64>,
        /// Range of the means when it was taken off and set on again, newton metres.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reproducibility_n_m: Option<f64>,
        /// Range of the means when the output drive was turned, newton metres.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        output_drive_n_m: Option<f64>,
        /// Range of the means when the interface was turned, newton metres.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        interface_n_m: Option<f64>,
        /// Range of the means when the loading point was moved, newton metres.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        loading_point_n_m: Option<f64>,
        /// Whether the lab took it as in order.
        in_order: bool,
    }

    /// A certificate or a plain check.
    CertificateJson {
        /// Number or name of the document.
        document: String,
        /// Whether the tool was in order.
        in_order: bool,
        /// Until when it holds, RFC 3339.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(format = DateTime)]
        valid_until: Option<String>,
        /// Of a gauge master: where its pin stands.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        position: Option<PinPositionJson>,
        /// Standard uncertainty of that position.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        standard_uncertainty: Option<LengthJson>,
    }

    /// `held`: an end may not be mated until released.
    HeldJson {
        /// The end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        end: EndId,
        /// Why.
        because: String,
    }

    /// `released`: a hold or a finding was lifted.
    ReleasedJson {
        /// The end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        end: EndId,
        /// Why.
        because: String,
        /// The fact that verified it.
        #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
        #[schema(value_type = Option<String>, format = "uuid")]
        evidence: Option<FactId>,
        /// The holds and findings of damage it lifts; left out in old logs: whatever came before.
        #[serde(default, with = "text::id_list", skip_serializing_if = "Vec::is_empty")]
        #[schema(value_type = Vec<String>)]
        lifts: Vec<FactId>,
    }

    /// `retired`: exactly one of `end` and `item` will not be used again.
    RetiredJson {
        /// The end.
        #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
        #[schema(value_type = Option<String>, format = "uuid")]
        end: Option<EndId>,
        /// The whole item.
        #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
        #[schema(value_type = Option<String>, format = "uuid")]
        item: Option<ItemId>,
        /// Why.
        because: String,
    }

    /// `replaced`: the contact of an end was made anew.
    ReplacedJson {
        /// The end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        end: EndId,
        /// What was done and why.
        because: String,
    }

    /// `refused`: a mate was refused.
    RefusedJson {
        /// One end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        a: EndId,
        /// The other end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        b: EndId,
        /// The answer given.
        answer: String,
        /// Codes of the findings that refused it.
        findings: Vec<String>,
        /// Frequency asked, hertz.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        frequency_hz: Option<f64>,
    }

    /// `overridden`: somebody went ahead all the same.
    OverriddenJson {
        /// One end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        a: EndId,
        /// The other end.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        b: EndId,
        /// The refusal that was overridden.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        refused: FactId,
        /// The reason given.
        because: String,
        /// What must be done afterwards.
        follow_up: String,
    }

    /// `followed-up`: a follow-up was done.
    FollowedUpJson {
        /// The refusal or override it answers.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        fact: FactId,
        /// What was done.
        done: String,
    }

    /// `corrected`: an earlier fact was wrong.
    CorrectedJson {
        /// The earlier fact.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        fact: FactId,
        /// What is right.
        correction: CorrectionJson,
        /// Why.
        because: String,
    }

    /// A kind and its payload.
    BodyJson {
        /// The kind.
        kind: String,
        /// The JSON of that kind.
        #[schema(value_type = Object)]
        payload: Box<RawValue>,
    }

    /// `result-noted`: a result was made through a chain of ends.
    ResultNotedJson {
        /// Where the result is.
        uri: String,
        /// SHA-256 of its bytes in hexadecimal.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sha256: Option<String>,
        /// Device it is about.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        device: Option<String>,
        /// The ends it went through, in order.
        #[serde(with = "text::id_list")] #[schema(value_type = Vec<String>)]
        chain: Vec<EndId>,
    }

    /// `sweep-noted`: a chain of ends was swept.
    SweepNotedJson {
        /// The ends it went through, from the measuring port outward.
        #[serde(with = "text::id_list")] #[schema(value_type = Vec<String>)]
        chain: Vec<EndId>,
        /// Port of the file that looks into the first end, from 1.
        port: u32,
        /// How the cables were held.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cable_shape: Option<String>,
        /// What measured it and under which calibration.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instrument: Option<String>,
        /// What lies between the joints (TOML).
        #[serde(default, skip_serializing_if = "Option::is_none")]
        layout: Option<String>,
        /// Whether the lab took the chain as good.
        known_good: bool,
        /// Name of the file as it came.
        file_name: String,
        /// SHA-256 of its bytes in hexadecimal.
        sha256: String,
        /// How many bytes it has.
        bytes: u64,
        /// Ports of the network in it.
        ports: u32,
        /// Number of its frequencies.
        points: u32,
        /// Its first frequency.
        from_hz: f64,
        /// Its last frequency.
        to_hz: f64,
    }

    /// `sweep-judged`: a sweep was compared with an earlier one of its chain.
    SweepJudgedJson {
        /// The later sweep.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        sweep: FactId,
        /// The sweep it was compared with.
        #[serde(with = "text::id")] #[schema(value_type = String, format = "uuid")]
        baseline: FactId,
        /// The word of the finding.
        finding: String,
        /// Ends of the joints it named.
        #[serde(with = "text::id_list")] #[schema(value_type = Vec<String>)]
        named: Vec<EndId>,
        /// What it said.
        text: String,
    }
}

/// What was checked about a tool.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToolCheckJson {
    /// Zero of a gauge.
    GaugeZero(GaugeZeroJson),
    /// Torque of a wrench.
    Wrench(WrenchCheckJson),
    /// A document.
    Certificate(CertificateJson),
}

/// How an earlier fact was wrong.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CorrectionJson {
    /// It did not happen.
    Void,
    /// It happened at another time, RFC 3339.
    HappenedAt(String),
    /// It was something else.
    Body(BodyJson),
}
