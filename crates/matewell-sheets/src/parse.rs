//! Reads sheet files strictly: unknown fields, missing origins, wrong units
//! and limits out of order are refused with file and place.

use crate::{
    Caution, InterfaceSheet, Limit, PairSheet, PolicySheet, Procedure, SheetError, Sheets, Source, Sourced,
    Words,
};
use serde::{Deserialize, de::DeserializeOwned};
use std::collections::BTreeMap;

/// Name and text of each file.
pub(crate) struct Files<'a> {
    pub(crate) sources: (&'a str, &'a str),
    pub(crate) interfaces: &'a [(&'a str, &'a str)],
    pub(crate) pairs: (&'a str, &'a str),
    pub(crate) policy: (&'a str, &'a str),
    pub(crate) cautions: (&'a str, &'a str),
    pub(crate) procedures: (&'a str, &'a str),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourcesFile {
    source: Vec<Source>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PairsFile {
    pair: Vec<PairSheet>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CautionsFile {
    caution: Vec<Caution>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ProceduresFile {
    procedure: Vec<Procedure>,
    words: Vec<Words>,
}

pub(crate) fn read<T: DeserializeOwned>((name, text): (&str, &str)) -> Result<T, SheetError> {
    toml::from_str(text)
        .map_err(|e| SheetError::Form { file: name.to_owned(), message: e.to_string().trim_end().to_owned() })
}

pub(crate) fn sheets(files: &Files<'_>) -> Result<Sheets, SheetError> {
    let sources: SourcesFile = read(files.sources)?;
    let sources: BTreeMap<String, Source> = sources.source.into_iter().map(|s| (s.key.clone(), s)).collect();
    let mut interfaces = BTreeMap::new();
    for (name, text) in files.interfaces {
        let sheet: InterfaceSheet = read((name, text))?;
        check_interface(name, &sheet, &sources)?;
        interfaces.insert(sheet.key.clone(), sheet);
    }
    let pairs: PairsFile = read(files.pairs)?;
    for pair in &pairs.pair {
        check_pair(files.pairs.0, pair, &interfaces, &sources)?;
    }
    let policy: PolicySheet = read(files.policy)?;
    check_policy(files.policy.0, &policy, &sources)?;
    let cautions: CautionsFile = read(files.cautions)?;
    let procedures: ProceduresFile = read(files.procedures)?;
    for (place, source, locator) in cautions
        .caution
        .iter()
        .map(|c| (&c.code, &c.source, &c.locator))
        .chain(procedures.procedure.iter().map(|p| (&p.key, &p.source, &p.locator)))
        .chain(procedures.words.iter().map(|w| (&w.key, &w.source, &w.locator)))
    {
        origin(files.procedures.0, place, source, locator, &sources)?;
    }
    Ok(Sheets {
        sources,
        interfaces,
        pairs: pairs.pair,
        policy,
        cautions: cautions.caution,
        procedures: procedures.procedure,
        words: procedures.words,
        own_revision: None,
    })
}

fn rule<T>(file: &str, place: &str, expected: &str, found: impl ToString) -> Result<T, SheetError> {
    Err(SheetError::Rule {
        file: file.to_owned(),
        place: place.to_owned(),
        expected: expected.to_owned(),
        found: found.to_string(),
    })
}

fn origin(
    file: &str,
    place: &str,
    source: &str,
    locator: &str,
    sources: &BTreeMap<String, Source>,
) -> Result<(), SheetError> {
    if !sources.contains_key(source) {
        return rule(file, place, "a source listed in sources.toml", source);
    }
    if locator.trim().is_empty() {
        return rule(file, place, "a locator", "nothing");
    }
    Ok(())
}

fn number(
    file: &str,
    place: &str,
    sourced: &Sourced,
    unit: &str,
    sources: &BTreeMap<String, Source>,
) -> Result<(), SheetError> {
    origin(file, place, &sourced.source, &sourced.locator, sources)?;
    if sourced.unit != unit {
        return rule(file, place, &format!("the unit {unit}"), &sourced.unit);
    }
    if !(sourced.value.is_finite() && sourced.value > 0.0) {
        return rule(file, place, "a finite number above zero", sourced.value);
    }
    if sourced.revision == 0 {
        return rule(file, place, "a revision of 1 or more", 0);
    }
    Ok(())
}

fn limit(
    file: &str,
    place: &str,
    limit: &Limit,
    sources: &BTreeMap<String, Source>,
) -> Result<(), SheetError> {
    origin(file, place, &limit.source, &limit.locator, sources)?;
    if limit.unit != "um" {
        return rule(file, place, "the unit um", &limit.unit);
    }
    if !(0.0 <= limit.recessed_min
        && limit.recessed_min < limit.recessed_max
        && limit.recessed_max.is_finite())
    {
        let found = format!("{} to {}", limit.recessed_min, limit.recessed_max);
        return rule(file, place, "0 <= recessed_min < recessed_max", found);
    }
    if !matches!(limit.sex.as_str(), "pin" | "socket" | "neutral") {
        return rule(file, place, "sex pin, socket or neutral", &limit.sex);
    }
    if !matches!(limit.grade.as_str(), "metrology" | "instrument" | "production") {
        return rule(file, place, "grade metrology, instrument or production", &limit.grade);
    }
    if limit.plane.trim().is_empty() {
        return rule(file, place, "the plane in words", "nothing");
    }
    Ok(())
}

pub(crate) fn check_interface(
    file: &str,
    sheet: &InterfaceSheet,
    sources: &BTreeMap<String, Source>,
) -> Result<(), SheetError> {
    number(file, "impedance", &sheet.impedance, "ohm", sources)?;
    number(file, "magnification", &sheet.magnification, "1", sources)?;
    for (place, value, unit) in [
        ("outer_diameter", &sheet.outer_diameter, "mm"),
        ("inner_diameter", &sheet.inner_diameter, "mm"),
        ("pin_diameter", &sheet.pin_diameter, "mm"),
        ("permittivity", &sheet.permittivity, "1"),
        ("upper_frequency", &sheet.upper_frequency, "GHz"),
        ("rated_mates", &sheet.rated_mates, "1"),
    ] {
        if let Some(value) = value {
            number(file, place, value, unit, sources)?;
        }
    }
    if let (Some(outer), Some(inner)) = (&sheet.outer_diameter, &sheet.inner_diameter)
        && inner.value >= outer.value
    {
        return rule(file, "inner_diameter", "less than the outer diameter", inner.value);
    }
    for row in &sheet.torque {
        origin(file, "torque", &row.source, &row.locator, sources)?;
        if row.unit != "N.m" || !(row.value.is_finite() && row.value > 0.0) {
            return rule(file, "torque", "a torque above zero in N.m", format!("{} {}", row.value, row.unit));
        }
        if !matches!(row.body.as_str(), "any" | "brass" | "stainless" | "beryllium-copper" | "circuit-board")
        {
            return rule(file, "torque", "a known body material or any", &row.body);
        }
    }
    if sheet.no_torque && !sheet.torque.is_empty() {
        return rule(file, "torque", "no torque row where no_torque is true", sheet.torque.len());
    }
    for row in sheet.pin_limit.iter().chain(&sheet.dielectric_limit) {
        limit(file, "pin_limit or dielectric_limit", row, sources)?;
    }
    Ok(())
}

pub(crate) fn check_pair(
    file: &str,
    pair: &PairSheet,
    interfaces: &BTreeMap<String, InterfaceSheet>,
    sources: &BTreeMap<String, Source>,
) -> Result<(), SheetError> {
    let place = format!("{} on {}", pair.a, pair.b);
    origin(file, &place, &pair.source, &pair.locator, sources)?;
    for key in [&pair.a, &pair.b] {
        if !interfaces.contains_key(key) {
            return rule(file, &place, "keys of interface sheets", key);
        }
    }
    for sex in [&pair.a_sex, &pair.b_sex] {
        if !matches!(sex.as_str(), "any" | "pin" | "socket" | "neutral") {
            return rule(file, &place, "sex any, pin, socket or neutral", sex);
        }
    }
    if let Some(upper) = &pair.upper_frequency {
        number(file, &place, upper, "GHz", sources)?;
    }
    Ok(())
}

pub(crate) fn check_policy(
    file: &str,
    policy: &PolicySheet,
    sources: &BTreeMap<String, Source>,
) -> Result<(), SheetError> {
    for (place, value, unit) in [
        ("gauge_every_contacts", &policy.gauge_every_contacts, "1"),
        ("gauge_every_days", &policy.gauge_every_days, "d"),
        ("look_every_days", &policy.look_every_days, "d"),
        ("readings", &policy.readings, "1"),
        ("protrusion_risk", &policy.protrusion_risk, "1"),
        ("reflection_need", &policy.reflection_need, "1"),
        ("smallest_gap", &policy.smallest_gap, "um"),
        ("wrench_every_days", &policy.wrench_every_days, "d"),
        ("wrench_every_uses", &policy.wrench_every_uses, "1"),
        ("gauge_check_every_days", &policy.gauge_check_every_days, "d"),
    ] {
        number(file, place, value, unit, sources)?;
    }
    if policy.protrusion_risk.value >= 0.5 {
        return rule(file, "protrusion_risk", "less than 0.5", policy.protrusion_risk.value);
    }
    Ok(())
}
