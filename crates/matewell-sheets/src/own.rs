//! A lab's own file: values over the embedded ones, each with a reason.
//!
//! ```toml
//! [policy]
//! gauge_every_contacts = { value = 60, because = "half of our ends are SMA" }
//!
//! [interface."3.5mm"]
//! coupling_torque = { value = 0.9, body = "any", because = "our wrenches; the standard's copy is doubtful" }
//! rated_mates = { value = 2000, because = "our own trend" }
//!
//! [[pair]]
//! a = "tnc"
//! b = "n50"
//! rule = "never"
//! because = "we tried"
//! ```

use crate::{Evidence, PairSheet, Rule, SheetError, Sheets, Sourced, TorqueRow, parse};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct OwnFile {
    #[serde(default)]
    policy: BTreeMap<String, OwnValue>,
    #[serde(default)]
    interface: BTreeMap<String, OwnInterface>,
    #[serde(default)]
    pair: Vec<OwnPair>,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
struct OwnValue {
    value: f64,
    because: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnTorque {
    value: f64,
    body: String,
    because: String,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct OwnInterface {
    coupling_torque: Option<OwnTorque>,
    upper_frequency: Option<OwnValue>,
    rated_mates: Option<OwnValue>,
    magnification: Option<OwnValue>,
    outer_diameter: Option<OwnValue>,
    inner_diameter: Option<OwnValue>,
    pin_diameter: Option<OwnValue>,
    #[serde(default)]
    pin_limit: Vec<OwnLimit>,
    #[serde(default)]
    dielectric_limit: Vec<OwnLimit>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnLimit {
    sex: String,
    grade: String,
    recessed_min: f64,
    recessed_max: f64,
    #[serde(default)]
    includes_gauge_uncertainty: bool,
    because: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnPair {
    a: String,
    #[serde(default = "any")]
    a_sex: String,
    b: String,
    #[serde(default = "any")]
    b_sex: String,
    rule: Rule,
    destroys: Option<String>,
    because: String,
}

fn any() -> String {
    "any".to_owned()
}

pub(crate) fn apply(base: &Sheets, text: &str, file: &str) -> Result<Sheets, SheetError> {
    let own: OwnFile = parse::read((file, text))?;
    let mut sheets = base.clone();
    // The lab itself is a source.
    sheets.sources.insert(
        "lab".to_owned(),
        crate::Source {
            key: "lab".to_owned(),
            title: "The lab's own file".to_owned(),
            edition: file.to_owned(),
            seen: "read".to_owned(),
        },
    );
    for (key, value) in &own.policy {
        let Some(slot) = policy_slot(&mut sheets, key) else {
            return unknown(file, &format!("policy.{key}"), "a key of policy.toml");
        };
        replace(slot, value, file, &format!("policy.{key}"))?;
    }
    for (key, own_interface) in own.interface {
        interface(&mut sheets, &key, own_interface, file)?;
    }
    for pair in own.pair {
        let place = format!("pair {} on {}", pair.a, pair.b);
        reason(file, &place, &pair.because)?;
        let row = PairSheet {
            a: pair.a,
            a_sex: pair.a_sex,
            b: pair.b,
            b_sex: pair.b_sex,
            rule: pair.rule,
            text: pair.because,
            destroys: pair.destroys,
            upper_frequency: None,
            source: "lab".to_owned(),
            locator: file.to_owned(),
            evidence: Evidence::Lab,
            revision: 1,
        };
        parse::check_pair(file, &row, &sheets.interfaces, &sheets.sources)?;
        // First row found counts, so the lab's own come first.
        sheets.pairs.insert(0, row);
    }
    parse::check_policy(file, &sheets.policy, &sheets.sources)?;
    for sheet in sheets.interfaces.values() {
        parse::check_interface(file, sheet, &sheets.sources)?;
    }
    sheets.own_revision = Some(checksum(text));
    Ok(sheets)
}

fn unknown<T>(file: &str, place: &str, expected: &str) -> Result<T, SheetError> {
    Err(SheetError::Rule {
        file: file.to_owned(),
        place: place.to_owned(),
        expected: expected.to_owned(),
        found: "another".to_owned(),
    })
}

fn reason(file: &str, place: &str, because: &str) -> Result<(), SheetError> {
    if because.trim().is_empty() {
        return Err(SheetError::Rule {
            file: file.to_owned(),
            place: place.to_owned(),
            expected: "a reason in because".to_owned(),
            found: "nothing".to_owned(),
        });
    }
    Ok(())
}

fn policy_slot<'a>(sheets: &'a mut Sheets, key: &str) -> Option<&'a mut Sourced> {
    let policy = &mut sheets.policy;
    Some(match key {
        "gauge_every_contacts" => &mut policy.gauge_every_contacts,
        "gauge_every_days" => &mut policy.gauge_every_days,
        "look_every_days" => &mut policy.look_every_days,
        "readings" => &mut policy.readings,
        "protrusion_risk" => &mut policy.protrusion_risk,
        "reflection_need" => &mut policy.reflection_need,
        "smallest_gap" => &mut policy.smallest_gap,
        "wrench_every_days" => &mut policy.wrench_every_days,
        "wrench_every_uses" => &mut policy.wrench_every_uses,
        "gauge_check_every_days" => &mut policy.gauge_check_every_days,
        _ => return None,
    })
}

fn replace(slot: &mut Sourced, own: &OwnValue, file: &str, place: &str) -> Result<(), SheetError> {
    reason(file, place, &own.because)?;
    *slot = lab_value(own, &slot.unit, Some(slot.value), file);
    Ok(())
}

fn lab_value(own: &OwnValue, unit: &str, replaces: Option<f64>, file: &str) -> Sourced {
    Sourced {
        value: own.value,
        unit: unit.to_owned(),
        source: "lab".to_owned(),
        locator: file.to_owned(),
        evidence: Evidence::Lab,
        revision: 1,
        note: None,
        because: Some(own.because.clone()),
        replaces,
    }
}

fn interface(sheets: &mut Sheets, key: &str, own: OwnInterface, file: &str) -> Result<(), SheetError> {
    let Some(sheet) = sheets.interfaces.get_mut(key) else {
        return unknown(file, &format!("interface.{key}"), "the key of an interface sheet");
    };
    let place = |field: &str| format!("interface.{key}.{field}");
    if let Some(torque) = own.coupling_torque {
        reason(file, &place("coupling_torque"), &torque.because)?;
        // The lab's choice settles a conflict for the bodies it names.
        sheet.torque.retain(|row| torque.body != "any" && row.body != torque.body && row.body != "any");
        sheet.torque.push(TorqueRow {
            value: torque.value,
            unit: "N.m".to_owned(),
            body: torque.body,
            tolerance: None,
            source: "lab".to_owned(),
            locator: file.to_owned(),
            evidence: Evidence::Lab,
            revision: 1,
            note: Some(torque.because),
        });
    }
    for (field, value, slot, unit) in [
        ("upper_frequency", own.upper_frequency, &mut sheet.upper_frequency, "GHz"),
        ("rated_mates", own.rated_mates, &mut sheet.rated_mates, "1"),
        ("outer_diameter", own.outer_diameter, &mut sheet.outer_diameter, "mm"),
        ("inner_diameter", own.inner_diameter, &mut sheet.inner_diameter, "mm"),
        ("pin_diameter", own.pin_diameter, &mut sheet.pin_diameter, "mm"),
    ] {
        if let Some(value) = value {
            reason(file, &place(field), &value.because)?;
            *slot = Some(lab_value(&value, unit, slot.as_ref().map(|s| s.value), file));
        }
    }
    if let Some(value) = own.magnification {
        replace(&mut sheet.magnification, &value, file, &place("magnification"))?;
    }
    let plane = sheet.reference_plane.clone();
    for (field, own_rows, rows) in [
        ("pin_limit", own.pin_limit, &mut sheet.pin_limit),
        ("dielectric_limit", own.dielectric_limit, &mut sheet.dielectric_limit),
    ] {
        for row in own_rows {
            reason(file, &place(field), &row.because)?;
            rows.retain(|r| r.sex != row.sex || r.grade != row.grade);
            rows.push(crate::Limit {
                sex: row.sex,
                grade: row.grade,
                recessed_min: row.recessed_min,
                recessed_max: row.recessed_max,
                unit: "um".to_owned(),
                plane: plane.clone(),
                includes_gauge_uncertainty: row.includes_gauge_uncertainty,
                source: "lab".to_owned(),
                locator: file.to_owned(),
                evidence: Evidence::Lab,
                revision: 1,
                note: Some(row.because),
            });
        }
    }
    Ok(())
}

/// FNV-1a, 64 bit: names a text so that a stored answer can say which file it
/// used. Not a protection against anybody.
fn checksum(text: &str) -> String {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in text.bytes() {
        hash ^= u64::from(byte);
        hash = hash.wrapping_mul(0x0000_0100_0000_01b3);
    }
    format!("{hash:016x}")
}
