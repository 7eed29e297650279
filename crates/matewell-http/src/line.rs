//! Physics of lines and joints. One route a question; the parameters are the
//! options of the command line, as texts with units.

use crate::{
    AppState,
    answer::{self, drawn},
    asked::{Asked, respond},
};
use axum::{extract::State, http::StatusCode, response::Response};
use matewell_app::physics;
use matewell_wire::{
    AirAsked, AirJson, ChainAsked, ChainJson, ConvertAsked, ConvertJson, CostAsked, CostJson, CutoffAsked,
    CutoffJson, GapAsked, GapJson, ImpedanceAsked, ImpedanceJson, InterfaceListJson, LineAnswerJson,
    LossAsked, LossJson, MismatchAsked, MismatchJson, OffCentreAsked, OffCentreJson, RecessAsked,
    ReflectionJson, ShiftAsked, ShiftJson, SlotsAsked, SlotsJson, StepAsked, StepJson, ThermalAsked,
    ThermalJson, UsableAsked, UsableJson,
};

macro_rules! question {
    ($(#[$doc:meta])* $name:ident, $path:literal, $asked:ident, $value:ident) => {
        $(#[$doc])*
        #[utoipa::path(get, path = $path, params($asked), responses(
            (status = 200, body = LineAnswerJson<$value>),
            (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $name(
            State(state): State<AppState>,
            Asked(asked): Asked<$asked>,
        ) -> Response {
            let sheets = state.sheets();
            respond(StatusCode::OK, state.compute(move || physics::$name(&sheets, &asked)).await)
        }
    };
}

macro_rules! picture {
    ($(#[$doc:meta])* $name:ident, $path:literal, $asked:ident, $question:ident) => {
        $(#[$doc])*
        #[utoipa::path(get, path = $path, params($asked), responses(
            (status = 200, description = "The sweep as a picture", content_type = "image/svg+xml"),
            (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
        pub(crate) async fn $name(
            State(state): State<AppState>,
            Asked(asked): Asked<$asked>,
        ) -> Response {
            let sheets = state.sheets();
            drawn(state.compute(move || physics::picture(&physics::$question(&sheets, &asked)?)).await)
        }
    };
}

question!(
    /// What is the impedance of this line?
    impedance, "/api/v1/line/impedance", ImpedanceAsked, ImpedanceJson
);
question!(
    /// Up to which frequency does only one mode travel?
    cutoff, "/api/v1/line/cutoff", CutoffAsked, CutoffJson
);
question!(
    /// What does a pin gap reflect?
    gap, "/api/v1/line/gap", GapAsked, GapJson
);
question!(
    /// What does a centre conductor off the axis do?
    off_centre, "/api/v1/line/offcentre", OffCentreAsked, OffCentreJson
);
question!(
    /// What does the metal cost?
    loss, "/api/v1/line/loss", LossAsked, LossJson
);
question!(
    /// What do two reflections at one joint do to a level?
    mismatch, "/api/v1/line/mismatch", MismatchAsked, MismatchJson
);
question!(
    /// What does a chain reflect when only magnitudes are known?
    chain, "/api/v1/line/chain", ChainAsked, ChainJson
);
question!(
    /// One match in all its words.
    convert, "/api/v1/line/convert", ConvertAsked, ConvertJson
);
question!(
    /// What does dielectric that lies back behind its plane reflect?
    recess, "/api/v1/line/recess", RecessAsked, ReflectionJson
);
question!(
    /// What do two different interfaces reflect where they meet?
    step, "/api/v1/line/step", StepAsked, StepJson
);
question!(
    /// What does a reference plane that is off do to phase and delay?
    shift, "/api/v1/line/shift", ShiftAsked, ShiftJson
);
question!(
    /// Up to which frequency is this good enough?
    usable, "/api/v1/line/usable", UsableAsked, UsableJson
);
question!(
    /// What does this joint cost an uncertainty budget?
    cost, "/api/v1/line/cost", CostAsked, CostJson
);
question!(
    /// What does warming do to a pin gap?
    thermal, "/api/v1/line/thermal", ThermalAsked, ThermalJson
);
question!(
    /// What does moist air do to an air line?
    air, "/api/v1/line/air", AirAsked, AirJson
);
question!(
    /// What do the slots of a socket do?
    slots, "/api/v1/line/slots", SlotsAsked, SlotsJson
);

/// Which interfaces do the data sheets know, and which numbers?
#[utoipa::path(get, path = "/api/v1/interfaces", responses((status = 200, body = InterfaceListJson)))]
pub(crate) async fn interfaces(State(state): State<AppState>) -> Response {
    let sheets = state.sheets();
    respond(StatusCode::OK, state.compute(move || Ok(physics::interfaces(&sheets))).await)
}

picture!(
    /// The reflection of an off-centre piece over frequency, as SVG.
    off_centre_picture, "/api/v1/line/offcentre/picture", OffCentreAsked, off_centre
);
picture!(
    /// The reflection of a pin gap over frequency, as SVG.
    gap_picture, "/api/v1/line/gap/picture", GapAsked, gap
);
picture!(
    /// The loss of a line over frequency, as SVG.
    loss_picture, "/api/v1/line/loss/picture", LossAsked, loss
);
picture!(
    /// The reflection of a dielectric recess over frequency, as SVG.
    recess_picture, "/api/v1/line/recess/picture", RecessAsked, recess
);
picture!(
    /// The reflection of two interfaces over frequency, as SVG.
    step_picture, "/api/v1/line/step/picture", StepAsked, step
);
picture!(
    /// The phase of a shifted plane over frequency, as SVG.
    shift_picture, "/api/v1/line/shift/picture", ShiftAsked, shift
);
