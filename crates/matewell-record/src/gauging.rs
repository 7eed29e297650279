//! The session of a gauging as JSON.

use crate::{
    GaugingSessionJson, LengthJson, OffsetTakenOutJson, PinPositionJson, RecordError, quantity::finite,
};
use matewell_lab::{GaugeMethod, GaugingSession, OffsetTakenOut, PinPosition};

fn written(positions: &[PinPosition]) -> Result<Vec<PinPositionJson>, RecordError> {
    positions.iter().copied().map(PinPositionJson::of).collect()
}

fn read(positions: &[PinPositionJson]) -> Result<Vec<PinPosition>, RecordError> {
    positions.iter().map(PinPositionJson::position).collect()
}

pub(crate) fn session_json(session: &GaugingSession) -> Result<GaugingSessionJson, RecordError> {
    Ok(GaugingSessionJson {
        master: session.master,
        master_position: session.master_position.map(PinPositionJson::of).transpose()?,
        master_standard_uncertainty: LengthJson::of_option(session.master_standard_uncertainty)?,
        zero_before: written(&session.zero_before)?,
        zero_after: written(&session.zero_after)?,
        turned_deg: session.turned_deg.iter().map(|d| finite("turned_deg", *d)).collect::<Result<_, _>>()?,
        method: session.method.map(|m| m.word().to_owned()),
        temperature_c: session.temperature_c.map(|t| finite("temperature_c", t)).transpose()?,
        humidity_percent: session.humidity_percent.map(|h| finite("humidity_percent", h)).transpose()?,
        dielectric: written(&session.dielectric)?,
        sure: session.sure.clone(),
        gauge_off: session.gauge_off.as_ref().map(offset_json).transpose()?,
    })
}

fn offset_json(off: &OffsetTakenOut) -> Result<OffsetTakenOutJson, RecordError> {
    Ok(OffsetTakenOutJson {
        reads_more_recessed: LengthJson::of(off.reads_more_recessed)?,
        standard_uncertainty: LengthJson::of_option(off.standard_uncertainty)?,
        found_by: off.found_by,
    })
}

pub(crate) fn session(json: GaugingSessionJson) -> Result<GaugingSession, RecordError> {
    Ok(GaugingSession {
        master: json.master,
        master_position: json.master_position.as_ref().map(PinPositionJson::position).transpose()?,
        master_standard_uncertainty: json.master_standard_uncertainty.map(LengthJson::length).transpose()?,
        zero_before: read(&json.zero_before)?,
        zero_after: read(&json.zero_after)?,
        turned_deg: json.turned_deg,
        method: json.method.as_deref().map(GaugeMethod::from_word).transpose()?,
        temperature_c: json.temperature_c,
        humidity_percent: json.humidity_percent,
        dielectric: read(&json.dielectric)?,
        sure: json.sure,
        gauge_off: json.gauge_off.as_ref().map(offset).transpose()?,
    })
}

fn offset(json: &OffsetTakenOutJson) -> Result<OffsetTakenOut, RecordError> {
    Ok(OffsetTakenOut {
        reads_more_recessed: json.reads_more_recessed.length()?,
        standard_uncertainty: LengthJson::length_option(json.standard_uncertainty)?,
        found_by: json.found_by,
    })
}
