//! Reads sheet files strictly: unknown fields, missing origins, wrong units
//! and limits out of order are refused with file and place.

use crate::{
    Caution, Evidence, InterfaceSheet, Limit, PairSheet, PolicySheet, Procedure, Rule, SheetError, Sheets,
    Source, Sourced, TorqueRow, TorqueTool, Words,
};
use serde::{Deserialize, de::DeserializeOwned};
use std::collections::BTreeMap;

/// Body materials a torque can be given for.
pub(crate) const BODIES: [&str; 5] = ["brass", "stainless", "beryllium-copper", "circuit-board", "unknown"];
const SEXES: [&str; 3] = ["pin", "socket", "neutral"];
const GRADES: [&str; 3] = ["metrology", "instrument", "production"];
const KINDS: [&str; 9] =
    ["standard", "guide", "book", "paper", "web", "dataset", "summary", "practice", "own"];
const SEEN: [&str; 4] = ["read", "in part", "secondary", "memory"];
const ACTIVITIES: [&str; 6] = ["mating", "parting", "cleaning", "gauging", "inspection", "damage"];
/// Quantities another source may be quoted for, with their units.
const ALSO: [(&str, &str); 6] = [
    ("upper_frequency", "GHz"),
    ("magnification", "1"),
    ("coupling_torque", "N.m"),
    ("inner_diameter", "mm"),
    ("pin_diameter", "mm"),
    ("permittivity", "1"),
];

/// Name and text of each file.
#[derive(Clone)]
pub(crate) struct Files<'a> {
    pub(crate) sources: (&'a str, &'a str),
    pub(crate) interfaces: &'a [(&'a str, &'a str)],
    pub(crate) pairs: (&'a str, &'a str),
    pub(crate) policy: (&'a str, &'a str),
    pub(crate) cautions: (&'a str, &'a str),
    pub(crate) procedures: (&'a str, &'a str),
    pub(crate) torque_tools: (&'a str, &'a str),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourcesFile {
    source: Vec<Source>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PairsFile {
    apart: Apart,
    pair: Vec<PairSheet>,
}

/// Groups of interfaces whose couplings do not go together.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Apart {
    groups: Vec<Vec<String>>,
    text: String,
    destroys: String,
    source: String,
    locator: String,
    evidence: Evidence,
    revision: u32,
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

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TorqueToolsFile {
    torque_tool: Vec<TorqueTool>,
}

pub(crate) fn read<T: DeserializeOwned>((name, text): (&str, &str)) -> Result<T, SheetError> {
    toml::from_str(text)
        .map_err(|e| SheetError::Form { file: name.to_owned(), message: e.to_string().trim_end().to_owned() })
}

pub(crate) fn sheets(files: &Files<'_>) -> Result<Sheets, SheetError> {
    let listed: SourcesFile = read(files.sources)?;
    let mut sources = BTreeMap::new();
    for source in listed.source {
        one_of(files.sources.0, &format!("source {}, kind", source.key), &source.kind, &KINDS)?;
        one_of(files.sources.0, &format!("source {}, seen", source.key), &source.seen, &SEEN)?;
        let key = source.key.clone();
        if sources.insert(key.clone(), source).is_some() {
            return refuse(files.sources.0, &key, "each source once", "it twice");
        }
    }
    let checker = |file| Checker { file, sources: &sources, lab_rows: false };

    let procedures: ProceduresFile = read(files.procedures)?;
    let check = checker(files.procedures.0);
    for row in &procedures.words {
        check.origin(&row.key, &row.source, &row.locator, row.evidence, row.revision)?;
    }
    let damage_words: Vec<&str> = procedures
        .words
        .iter()
        .filter(|w| w.key == "damage")
        .flat_map(|w| &w.list)
        .map(String::as_str)
        .collect();

    let mut interfaces = BTreeMap::new();
    for (name, text) in files.interfaces {
        let sheet: InterfaceSheet = read((name, text))?;
        checker(name).interface(&sheet)?;
        for word in &sheet.look_for {
            one_of(name, "look_for", word, &damage_words)?;
        }
        let key = sheet.key.clone();
        if interfaces.insert(key.clone(), sheet).is_some() {
            return refuse(name, &key, "each interface once", "it twice");
        }
    }

    let pairs: PairsFile = read(files.pairs)?;
    let pairs = with_rows_apart(files.pairs.0, pairs, &interfaces)?;
    for pair in &pairs {
        checker(files.pairs.0).pair(pair, &interfaces)?;
    }

    let policy: PolicySheet = read(files.policy)?;
    checker(files.policy.0).policy(&policy)?;

    let cautions: CautionsFile = read(files.cautions)?;
    let check = checker(files.cautions.0);
    for row in &cautions.caution {
        check.origin(&row.code, &row.source, &row.locator, row.evidence, row.revision)?;
        for activity in &row.during {
            one_of(check.file, &format!("{}, during", row.code), activity, &ACTIVITIES)?;
        }
    }
    let codes: Vec<&str> = cautions.caution.iter().map(|c| c.code.as_str()).collect();
    let check = checker(files.procedures.0);
    for row in &procedures.procedure {
        check.origin(&row.key, &row.source, &row.locator, row.evidence, row.revision)?;
        for code in &row.cautions {
            one_of(check.file, &format!("{}, cautions", row.key), code, &codes)?;
        }
    }
    let torque_tools: TorqueToolsFile = read(files.torque_tools)?;
    checker(files.torque_tools.0).torque_tools(&torque_tools.torque_tool)?;
    Ok(Sheets {
        interfaces,
        pairs,
        policy,
        cautions: cautions.caution,
        procedures: procedures.procedure,
        words: procedures.words,
        sources,
        torque_tools: torque_tools.torque_tool,
        gauge_lines: BTreeMap::new(),
        overrides: Vec::new(),
        own_revision: None,
    })
}

/// The listed rows, then one row for each pair from different groups that no
/// listed row names.
fn with_rows_apart(
    file: &str,
    listed: PairsFile,
    interfaces: &BTreeMap<String, InterfaceSheet>,
) -> Result<Vec<PairSheet>, SheetError> {
    let PairsFile { apart, pair: mut rows } = listed;
    let grouped: Vec<(usize, &String)> = apart
        .groups
        .iter()
        .enumerate()
        .flat_map(|(group, keys)| keys.iter().map(move |k| (group, k)))
        .collect();
    for (at, (_, key)) in grouped.iter().enumerate() {
        if !interfaces.contains_key(*key) {
            return refuse(file, "apart, groups", "keys of interface sheets", key);
        }
        if grouped.iter().take(at).any(|(_, earlier)| earlier == key) {
            return refuse(file, "apart, groups", "each interface in one group", &format!("{key} in two"));
        }
    }
    let mut apart_rows = Vec::new();
    for (at, (group, a)) in grouped.iter().enumerate() {
        for (other, b) in grouped.iter().skip(at + 1) {
            let named = |r: &PairSheet| (r.a == **a && r.b == **b) || (r.a == **b && r.b == **a);
            if group == other || rows.iter().any(named) {
                continue;
            }
            apart_rows.push(PairSheet {
                a: (*a).clone(),
                a_sex: "any".to_owned(),
                b: (*b).clone(),
                b_sex: "any".to_owned(),
                rule: Rule::Never,
                text: apart.text.clone(),
                destroys: Some(apart.destroys.clone()),
                upper_frequency: None,
                source: apart.source.clone(),
                locator: apart.locator.clone(),
                evidence: apart.evidence,
                revision: apart.revision,
            });
        }
    }
    rows.extend(apart_rows);
    Ok(rows)
}

fn refuse<T>(
    file: &str,
    place: &str,
    expected: &str,
    found: &(impl ToString + ?Sized),
) -> Result<T, SheetError> {
    Err(SheetError::Rule {
        file: file.to_owned(),
        place: place.to_owned(),
        expected: expected.to_owned(),
        found: found.to_string(),
    })
}

fn one_of(file: &str, place: &str, found: &str, allowed: &[&str]) -> Result<(), SheetError> {
    if allowed.contains(&found) {
        return Ok(());
    }
    refuse(file, place, &format!("one of {}", allowed.join(", ")), found)
}

/// The rules every row of one file must keep.
pub(crate) struct Checker<'a> {
    pub(crate) file: &'a str,
    pub(crate) sources: &'a BTreeMap<String, Source>,
    /// Whether rows of a lab's own file may be among them.
    pub(crate) lab_rows: bool,
}

impl Checker<'_> {
    fn refuse<T>(
        &self,
        place: &str,
        expected: &str,
        found: &(impl ToString + ?Sized),
    ) -> Result<T, SheetError> {
        refuse(self.file, place, expected, found)
    }

    /// A source that exists, a locator, a revision, and an evidence grade that
    /// the way the source was seen can carry.
    fn origin(
        &self,
        place: &str,
        source: &str,
        locator: &str,
        evidence: Evidence,
        revision: u32,
    ) -> Result<(), SheetError> {
        let Some(work) = self.sources.get(source) else {
            return self.refuse(&format!("{place}, source"), "a source listed in sources.toml", source);
        };
        if locator.trim().is_empty() {
            return self.refuse(&format!("{place}, locator"), "a locator", "nothing");
        }
        if revision == 0 {
            return self.refuse(&format!("{place}, revision"), "a revision of 1 or more", &0);
        }
        let carried = match evidence {
            Evidence::Normative => work.seen == "read" && work.kind == "standard",
            Evidence::Published | Evidence::OpenMeasurement => work.seen != "memory",
            Evidence::CommonPractice | Evidence::FromMemory => source != "lab",
            Evidence::Lab => self.lab_rows && source == "lab",
        };
        if !carried {
            return self.refuse(
                &format!("{place}, evidence"),
                "a grade that the source can carry (normative: a standard that was read; published: not from memory)",
                &format!("{} from {source}, seen: {}", evidence.word(), work.seen),
            );
        }
        if source == "memory" && evidence != Evidence::FromMemory {
            return self.refuse(
                &format!("{place}, evidence"),
                "from-memory for the source memory",
                evidence.word(),
            );
        }
        Ok(())
    }

    fn number(&self, place: &str, sourced: &Sourced, unit: &str) -> Result<(), SheetError> {
        self.origin(place, &sourced.source, &sourced.locator, sourced.evidence, sourced.revision)?;
        self.value(place, sourced.value, &sourced.unit, unit)
    }

    /// A yes or a no, with its source like any number.
    fn flag(&self, place: &str, sourced: &Sourced) -> Result<(), SheetError> {
        self.origin(place, &sourced.source, &sourced.locator, sourced.evidence, sourced.revision)?;
        if sourced.unit != "flag" {
            return self.refuse(&format!("{place}, unit"), "the unit flag", &sourced.unit);
        }
        let is_flag = sourced.value.to_bits() == 0 || sourced.value.to_bits() == 1.0_f64.to_bits();
        if is_flag { Ok(()) } else { self.refuse(&format!("{place}, value"), "0 or 1", &sourced.value) }
    }

    fn value(&self, place: &str, value: f64, unit: &str, expected_unit: &str) -> Result<(), SheetError> {
        if unit != expected_unit {
            return self.refuse(&format!("{place}, unit"), &format!("the unit {expected_unit}"), unit);
        }
        if !(value.is_finite() && value > 0.0) {
            return self.refuse(&format!("{place}, value"), "a finite number above zero", &value);
        }
        Ok(())
    }

    fn limit(&self, field: &str, sheet: &InterfaceSheet, limit: &Limit) -> Result<(), SheetError> {
        let place = format!("{field}, {}, {}", limit.sex, limit.grade);
        self.origin(&place, &limit.source, &limit.locator, limit.evidence, limit.revision)?;
        if limit.unit != "um" {
            return self.refuse(&format!("{place}, unit"), "the unit um", &limit.unit);
        }
        // A limit is a recession in words; a bare sign has no place here.
        if !(0.0 <= limit.recessed_min
            && limit.recessed_min < limit.recessed_max
            && limit.recessed_max.is_finite())
        {
            let found = format!("{} to {}", limit.recessed_min, limit.recessed_max);
            return self.refuse(&place, "0 <= recessed_min < recessed_max", &found);
        }
        one_of(self.file, &format!("{place}, sex"), &limit.sex, &SEXES)?;
        one_of(self.file, &format!("{place}, sex"), &limit.sex, sheet.sexes())?;
        one_of(self.file, &format!("{place}, grade"), &limit.grade, &GRADES)?;
        if limit.plane.trim().is_empty() {
            return self.refuse(&format!("{place}, plane"), "the plane in words", "nothing");
        }
        Ok(())
    }

    fn torque(&self, field: &str, row: &TorqueRow) -> Result<(), SheetError> {
        let place = format!("{field}, {}", row.body);
        self.origin(&place, &row.source, &row.locator, row.evidence, row.revision)?;
        self.value(&place, row.value, &row.unit, "N.m")?;
        if row.body != "any" {
            one_of(self.file, &format!("{place}, body"), &row.body, &BODIES)?;
        }
        if let Some(tolerance) = row.tolerance
            && !(0.0 < tolerance && tolerance < row.value)
        {
            return self.refuse(
                &format!("{place}, tolerance"),
                "more than zero, less than the value",
                &tolerance,
            );
        }
        Ok(())
    }

    pub(crate) fn torque_tools(&self, rows: &[TorqueTool]) -> Result<(), SheetError> {
        for (at, row) in rows.iter().enumerate() {
            let place = format!("torque_tool {}", row.tool_type);
            self.origin(&place, &row.source, &row.locator, row.evidence, row.revision)?;
            for (key, value) in [("up_to_border", row.up_to_border), ("above_border", row.above_border)] {
                self.value(&format!("{place}, {key}"), value, &row.unit, "%")?;
                if value >= 100.0 {
                    return self.refuse(&format!("{place}, {key}"), "less than 100 %", &value);
                }
            }
            self.value(&format!("{place}, border"), row.border, &row.border_unit, "N.m")?;
            if rows.iter().take(at).any(|earlier| earlier.tool_type == row.tool_type) {
                return self.refuse(&place, "each type once", "it twice");
            }
        }
        Ok(())
    }

    pub(crate) fn interface(&self, sheet: &InterfaceSheet) -> Result<(), SheetError> {
        self.number("impedance", &sheet.impedance, "ohm")?;
        self.number("magnification", &sheet.magnification, "1")?;
        for (place, value, unit) in [
            ("outer_diameter", &sheet.outer_diameter, "mm"),
            ("inner_diameter", &sheet.inner_diameter, "mm"),
            ("pin_diameter", &sheet.pin_diameter, "mm"),
            ("permittivity", &sheet.permittivity, "1"),
            ("upper_frequency", &sheet.upper_frequency, "GHz"),
            ("rated_mates", &sheet.rated_mates, "1"),
            ("plane_offset", &sheet.plane_offset, "mm"),
        ] {
            if let Some(value) = value {
                self.number(place, value, unit)?;
            }
        }
        for (place, wording) in
            [("thread", Some(&sheet.thread)), ("wrench_flats", sheet.wrench_flats.as_ref())]
        {
            if let Some(w) = wording {
                self.origin(place, &w.source, &w.locator, w.evidence, w.revision)?;
            }
        }
        if let (Some(outer), Some(inner)) = (&sheet.outer_diameter, &sheet.inner_diameter)
            && inner.value >= outer.value
        {
            return self.refuse("inner_diameter", "less than the outer diameter", &inner.value);
        }
        for (field, rows) in [("torque", &sheet.torque), ("upper_torque", &sheet.upper_torque)] {
            for row in rows {
                self.torque(field, row)?;
            }
        }
        if sheet.no_torque && !sheet.torque.is_empty() {
            return self.refuse("torque", "no torque row where no_torque is true", &sheet.torque.len());
        }
        if sheet.torque.is_empty() && sheet.torque_statement.as_ref().is_none_or(|s| s.trim().is_empty()) {
            return self.refuse("torque_statement", "a torque row, or why there is none", "neither");
        }
        for row in &sheet.pin_limit {
            self.limit("pin_limit", sheet, row)?;
        }
        for row in &sheet.dielectric_limit {
            self.limit("dielectric_limit", sheet, row)?;
        }
        for row in &sheet.also {
            let Some((_, unit)) = ALSO.iter().find(|(quantity, _)| *quantity == row.quantity) else {
                let known: Vec<&str> = ALSO.iter().map(|(quantity, _)| *quantity).collect();
                return self.refuse("also, quantity", &format!("one of {}", known.join(", ")), &row.quantity);
            };
            let place = format!("also, {}", row.quantity);
            self.origin(&place, &row.source, &row.locator, row.evidence, row.revision)?;
            self.value(&place, row.value, &row.unit, unit)?;
        }
        Ok(())
    }

    pub(crate) fn pair(
        &self,
        pair: &PairSheet,
        interfaces: &BTreeMap<String, InterfaceSheet>,
    ) -> Result<(), SheetError> {
        let place = format!("pair {} on {}", pair.a, pair.b);
        self.origin(&place, &pair.source, &pair.locator, pair.evidence, pair.revision)?;
        for (key, sex) in [(&pair.a, &pair.a_sex), (&pair.b, &pair.b_sex)] {
            let Some(sheet) = interfaces.get(key) else {
                return self.refuse(&place, "keys of interface sheets", key);
            };
            if sex != "any" {
                one_of(self.file, &format!("{place}, sex of {key}"), sex, sheet.sexes())?;
            }
        }
        if let Some(upper) = &pair.upper_frequency {
            self.number(&format!("{place}, upper_frequency"), upper, "GHz")?;
        }
        Ok(())
    }

    pub(crate) fn policy(&self, policy: &PolicySheet) -> Result<(), SheetError> {
        for (key, unit, value) in policy.rows() {
            let place = format!("policy.{key}");
            if unit == "flag" {
                self.flag(&place, value)?;
            } else {
                self.number(&place, value, unit)?;
            }
        }
        if policy.contact_passes.value > 1.0 {
            return self.refuse("policy.contact_passes", "at most 1", &policy.contact_passes.value);
        }
        for (key, value, below) in [
            ("protrusion_risk", &policy.protrusion_risk, 0.5),
            ("reflection_need", &policy.reflection_need, 1.0),
            ("wrench_deviation", &policy.wrench_deviation, 1.0),
        ] {
            if value.value >= below {
                return self.refuse(&format!("policy.{key}"), &format!("less than {below}"), &value.value);
            }
        }
        Ok(())
    }
}

/// FNV-1a, 64 bit: names a text so that a stored answer can say which data it
/// used. Not a protection against anybody.
pub(crate) fn checksum(text: &str) -> String {
    format!("{:016x}", text.bytes().fold(FNV_START, fnv))
}

/// Start value of [`fnv`].
pub(crate) const FNV_START: u64 = 0xcbf2_9ce4_8422_2325;

/// One step of FNV-1a.
pub(crate) const fn fnv(hash: u64, byte: u8) -> u64 {
    (hash ^ byte as u64).wrapping_mul(0x0000_0100_0000_01b3)
}
