//! A lab's own file: values over the embedded ones, each with a reason.
//!
//! ```toml
//! [policy]
//! gauge_every_contacts = { value = 60, because = "half of our ends are SMA" }
//!
//! [interface."3.5mm"]
//! coupling_torque = { value = 0.9, body = "any", because = "our wrenches; the standard's copy is doubtful" }
//! rated_mates = { value = 2000, because = "our own trend" }
//! pin_limit = [
//!     { sex = "pin", grade = "instrument", recessed_min = 0, recessed_max = 50, because = "certificate of the kit" },
//! ]
//!
//! # Lines of the budget of a gauge: standard uncertainty in micrometres, for
//! # resolution the step, for zero-drift the half-width.
//! [gauge."GA-001"]
//! seating-and-residue = { value = 0.2, because = "study of last spring" }
//!
//! [torque_tool."II-B"]
//! up_to_border = 4.0
//! because = "the paper standard on our shelf"
//!
//! [[pair]]
//! a = "tnc"
//! b = "n50"
//! rule = "never"
//! because = "we tried"
//! ```

use crate::{
    Evidence, GaugeLine, InterfaceSheet, Limit, Override, PairSheet, Rule, SheetError, Sheets, Sourced,
    TorqueRow, TorqueTool, parse, policy::OwnPolicy,
};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct OwnFile {
    #[serde(default)]
    policy: OwnPolicy,
    #[serde(default)]
    interface: BTreeMap<String, OwnInterface>,
    #[serde(default)]
    gauge: BTreeMap<String, BTreeMap<String, OwnValue>>,
    #[serde(default)]
    torque_tool: BTreeMap<String, OwnTorqueTool>,
    #[serde(default)]
    pair: Vec<OwnPair>,
}

/// Permissible deviations in percent.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnTorqueTool {
    up_to_border: Option<f64>,
    above_border: Option<f64>,
    because: String,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(crate) struct OwnValue {
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
    /// For labs with a torque for each body.
    #[serde(default)]
    coupling_torques: Vec<OwnTorque>,
    upper_frequency: Option<OwnValue>,
    rated_mates: Option<OwnValue>,
    magnification: Option<OwnValue>,
    outer_diameter: Option<OwnValue>,
    inner_diameter: Option<OwnValue>,
    pin_diameter: Option<OwnValue>,
    permittivity: Option<OwnValue>,
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

/// The lab's file being applied, and what it replaced so far.
struct Pen<'a> {
    file: &'a str,
    text: &'a str,
    overrides: Vec<Override>,
}

pub(crate) fn apply(base: &Sheets, text: &str, file: &str) -> Result<Sheets, SheetError> {
    let own: OwnFile = parse::read((file, text))?;
    let mut sheets = base.clone();
    let mut pen = Pen { file, text, overrides: Vec::new() };
    for (key, value, slot) in own.policy.over(&mut sheets.policy) {
        pen.replace(&format!("policy.{key}"), value, slot)?;
    }
    for (key, own_interface) in own.interface {
        let Some(sheet) = sheets.interfaces.get_mut(&key) else {
            return pen.refuse(&format!("interface.{key}"), &key, "the key of an interface sheet", &key);
        };
        pen.interface(sheet, own_interface)?;
    }
    for (tool_type, own_tool) in own.torque_tool {
        pen.torque_tool(&mut sheets, &tool_type, &own_tool)?;
    }
    for own_pair in own.pair {
        let row = pen.pair(&sheets, own_pair)?;
        // First row found counts, so the lab's own come first.
        sheets.pairs.insert(0, row);
    }
    for (tag, own_lines) in own.gauge {
        let lines = pen.gauge(&tag, &own_lines)?;
        sheets.gauge_lines.insert(tag.trim().to_lowercase(), lines);
    }
    let checker = parse::Checker { file, sources: &sheets.sources, lab_rows: true };
    checker.policy(&sheets.policy)?;
    checker.torque_tools(&sheets.torque_tools)?;
    for sheet in sheets.interfaces.values() {
        checker.interface(sheet)?;
    }
    for row in &sheets.pairs {
        checker.pair(row, &sheets.interfaces)?;
    }
    sheets.own_revision = Some(match &base.own_revision {
        Some(earlier) => format!("{earlier}.{}", parse::checksum(text)),
        None => parse::checksum(text),
    });
    sheets.overrides.extend(pen.overrides);
    Ok(sheets)
}

impl Pen<'_> {
    /// A refusal with the line of the first occurrence of `needle`.
    fn refuse<T>(&self, place: &str, needle: &str, expected: &str, found: &str) -> Result<T, SheetError> {
        let line = self.text.lines().position(|l| l.contains(needle));
        let place = line.map_or_else(|| place.to_owned(), |at| format!("line {}, {place}", at + 1));
        Err(SheetError::Rule {
            file: self.file.to_owned(),
            place,
            expected: expected.to_owned(),
            found: found.to_owned(),
        })
    }

    fn note(
        &mut self,
        place: &str,
        now: String,
        before: Vec<String>,
        because: &str,
    ) -> Result<(), SheetError> {
        if because.trim().is_empty() {
            return self.refuse(place, "because", "a reason in because", "nothing");
        }
        self.overrides.push(Override {
            place: place.to_owned(),
            now,
            before,
            because: because.to_owned(),
            file: self.file.to_owned(),
        });
        Ok(())
    }

    fn lab_value(&self, own: &OwnValue, unit: &str, replaces: Option<f64>) -> Sourced {
        Sourced {
            value: own.value,
            unit: unit.to_owned(),
            source: "lab".to_owned(),
            locator: self.file.to_owned(),
            evidence: Evidence::Lab,
            revision: 1,
            note: None,
            because: Some(own.because.clone()),
            replaces,
        }
    }

    fn replace(&mut self, place: &str, own: &OwnValue, slot: &mut Sourced) -> Result<(), SheetError> {
        self.note(place, format!("{} {}", own.value, slot.unit), vec![told(slot)], &own.because)?;
        *slot = self.lab_value(own, &slot.unit, Some(slot.value));
        Ok(())
    }

    fn gauge(&mut self, tag: &str, own: &BTreeMap<String, OwnValue>) -> Result<Vec<GaugeLine>, SheetError> {
        let mut lines = Vec::new();
        for (key, value) in own {
            let place = format!("gauge.{tag}.{key}");
            if !(0.0..=1000.0).contains(&value.value) {
                let found = value.value.to_string();
                return self.refuse(&place, key, "0 to 1000 micrometres", &found);
            }
            self.note(&place, format!("{} um", value.value), Vec::new(), &value.because)?;
            lines.push(GaugeLine {
                name: key.replace('-', " "),
                value_um: value.value,
                because: value.because.clone(),
            });
        }
        Ok(lines)
    }

    fn torque_tool(
        &mut self,
        sheets: &mut Sheets,
        tool_type: &str,
        own: &OwnTorqueTool,
    ) -> Result<(), SheetError> {
        let place = format!("torque_tool.{tool_type}");
        let known: Vec<String> = sheets.torque_tools.iter().map(|t| t.tool_type.clone()).collect();
        let Some(row) = sheets.torque_tools.iter_mut().find(|t| t.tool_type == tool_type) else {
            return self.refuse(&place, tool_type, &format!("one of {}", known.join(", ")), tool_type);
        };
        let told = |row: &TorqueTool| {
            format!(
                "{} % to {} N.m, {} % above ({}, {})",
                row.up_to_border, row.border, row.above_border, row.source, row.locator
            )
        };
        let before = told(row);
        row.up_to_border = own.up_to_border.unwrap_or(row.up_to_border);
        row.above_border = own.above_border.unwrap_or(row.above_border);
        "lab".clone_into(&mut row.source);
        self.file.clone_into(&mut row.locator);
        row.evidence = Evidence::Lab;
        let now = told(row);
        self.note(&place, now, vec![before], &own.because)
    }

    fn interface(&mut self, sheet: &mut InterfaceSheet, own: OwnInterface) -> Result<(), SheetError> {
        let key = sheet.key.clone();
        let place = |field: &str| format!("interface.{key}.{field}");
        for torque in own.coupling_torque.into_iter().chain(own.coupling_torques) {
            self.torque(sheet, &place("coupling_torque"), torque)?;
        }
        for (field, value, slot, unit) in [
            ("upper_frequency", own.upper_frequency, &mut sheet.upper_frequency, "GHz"),
            ("rated_mates", own.rated_mates, &mut sheet.rated_mates, "1"),
            ("outer_diameter", own.outer_diameter, &mut sheet.outer_diameter, "mm"),
            ("inner_diameter", own.inner_diameter, &mut sheet.inner_diameter, "mm"),
            ("pin_diameter", own.pin_diameter, &mut sheet.pin_diameter, "mm"),
            ("permittivity", own.permittivity, &mut sheet.permittivity, "1"),
        ] {
            match (value, slot) {
                (None, _) => {}
                (Some(value), Some(slot)) => self.replace(&place(field), &value, slot)?,
                (Some(value), slot) => {
                    self.note(&place(field), format!("{} {unit}", value.value), Vec::new(), &value.because)?;
                    *slot = Some(self.lab_value(&value, unit, None));
                }
            }
        }
        if let Some(value) = own.magnification {
            self.replace(&place("magnification"), &value, &mut sheet.magnification)?;
        }
        for (field, own_rows, rows) in [
            ("pin_limit", own.pin_limit, &mut sheet.pin_limit),
            ("dielectric_limit", own.dielectric_limit, &mut sheet.dielectric_limit),
        ] {
            for own_row in own_rows {
                self.limit(&place(field), &sheet.reference_plane, rows, own_row)?;
            }
        }
        Ok(())
    }

    fn torque(&mut self, sheet: &mut InterfaceSheet, place: &str, own: OwnTorque) -> Result<(), SheetError> {
        if own.body != "any" && !parse::BODIES.contains(&own.body.as_str()) {
            return self.refuse(
                place,
                &own.body,
                &format!("any or one of {}", parse::BODIES.join(", ")),
                &own.body,
            );
        }
        let (mut kept, mut before) = (Vec::new(), Vec::new());
        for row in sheet.torque.drain(..) {
            if own.body == "any" || row.body == own.body {
                before.push(format!(
                    "{} for {}: {} {}",
                    row.value,
                    row.body,
                    row.unit,
                    cited(&row.source, &row.locator)
                ));
            } else if row.body == "any" {
                // A row for any body goes on counting for the other bodies.
                before.push(format!(
                    "{} for {}: {} {}",
                    row.value,
                    own.body,
                    row.unit,
                    cited(&row.source, &row.locator)
                ));
                kept.extend(
                    parse::BODIES
                        .iter()
                        .filter(|b| **b != own.body)
                        .map(|b| TorqueRow { body: (*b).to_owned(), ..row.clone() }),
                );
            } else {
                kept.push(row);
            }
        }
        sheet.torque = kept;
        self.note(place, format!("{} N.m for {}", own.value, own.body), before, &own.because)?;
        sheet.no_torque = false;
        sheet.torque.push(TorqueRow {
            value: own.value,
            unit: "N.m".to_owned(),
            body: own.body,
            tolerance: None,
            source: "lab".to_owned(),
            locator: self.file.to_owned(),
            evidence: Evidence::Lab,
            revision: 1,
            note: Some(own.because),
        });
        Ok(())
    }

    fn limit(
        &mut self,
        place: &str,
        reference_plane: &str,
        rows: &mut Vec<Limit>,
        own: OwnLimit,
    ) -> Result<(), SheetError> {
        let place = format!("{place}, {}, {}", own.sex, own.grade);
        let (replaced, kept): (Vec<Limit>, Vec<Limit>) =
            rows.drain(..).partition(|r| r.sex == own.sex && r.grade == own.grade);
        *rows = kept;
        let told = |lo: f64, hi: f64| format!("recessed {lo} to {hi} um");
        let before = replaced
            .iter()
            .map(|r| format!("{} {}", told(r.recessed_min, r.recessed_max), cited(&r.source, &r.locator)))
            .collect();
        self.note(&place, told(own.recessed_min, own.recessed_max), before, &own.because)?;
        // The row of the same sex knows the plane best.
        let plane = replaced
            .first()
            .or_else(|| rows.iter().find(|r| r.sex == own.sex))
            .map_or_else(|| reference_plane.to_owned(), |r| r.plane.clone());
        rows.push(Limit {
            sex: own.sex,
            grade: own.grade,
            recessed_min: own.recessed_min,
            recessed_max: own.recessed_max,
            unit: "um".to_owned(),
            plane,
            includes_gauge_uncertainty: own.includes_gauge_uncertainty,
            source: "lab".to_owned(),
            locator: self.file.to_owned(),
            evidence: Evidence::Lab,
            revision: 1,
            note: Some(own.because),
        });
        Ok(())
    }

    fn pair(&mut self, sheets: &Sheets, own: OwnPair) -> Result<PairSheet, SheetError> {
        let place = format!("pair {} {} on {} {}", own.a, own.a_sex, own.b, own.b_sex);
        for key in [&own.a, &own.b] {
            if !sheets.interfaces.contains_key(key) {
                return self.refuse(&place, &format!("\"{key}\""), "the key of an interface sheet", key);
            }
        }
        // Every earlier rule that the lab's row can hide, so that none
        // disappears from sight.
        let overlaps = |x: &str, y: &str| x == "any" || y == "any" || x == y;
        let replaced: Vec<&PairSheet> = sheets
            .pairs
            .iter()
            .filter(|row| {
                let straight = row.a == own.a
                    && row.b == own.b
                    && overlaps(&row.a_sex, &own.a_sex)
                    && overlaps(&row.b_sex, &own.b_sex);
                let crossed = row.a == own.b
                    && row.b == own.a
                    && overlaps(&row.a_sex, &own.b_sex)
                    && overlaps(&row.b_sex, &own.a_sex);
                straight || crossed
            })
            .collect();
        let before = replaced
            .iter()
            .map(|row| {
                let destroys = row.destroys.as_ref().map(|d| format!(" Destroys: {d}.")).unwrap_or_default();
                format!("{}: {}{destroys} {}", row.rule.word(), row.text, cited(&row.source, &row.locator))
            })
            .collect();
        self.note(&place, own.rule.word().to_owned(), before, &own.because)?;
        Ok(PairSheet {
            a: own.a,
            a_sex: own.a_sex,
            b: own.b,
            b_sex: own.b_sex,
            rule: own.rule,
            text: own.because,
            // What the lab does not say again still holds.
            destroys: own.destroys.or_else(|| replaced.iter().find_map(|r| r.destroys.clone())),
            upper_frequency: replaced.iter().find_map(|r| r.upper_frequency.clone()),
            source: "lab".to_owned(),
            locator: self.file.to_owned(),
            evidence: Evidence::Lab,
            revision: 1,
        })
    }
}

fn cited(source: &str, locator: &str) -> String {
    format!("({source}, {locator})")
}

fn told(sourced: &Sourced) -> String {
    format!("{} {} {}", sourced.value, sourced.unit, cited(&sourced.source, &sourced.locator))
}
