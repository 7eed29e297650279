#![doc = include_str!("../README.md")]

#[cfg(test)]
mod broken;
mod embedded;
mod error;
mod own;
mod parse;
mod policy;
mod sheet;

pub use error::SheetError;
pub use policy::PolicySheet;
pub use sheet::{
    AlsoSaid, Caution, Evidence, GaugeLine, InterfaceSheet, Limit, Override, PairRule, PairSheet, Procedure,
    Rule, Source, Sourced, TorqueConflict, TorqueRow, TorqueTool, Wording, Words,
};

use std::collections::BTreeMap;

/// Every sheet, with the lab's own values where it has them.
#[derive(Debug, Clone)]
pub struct Sheets {
    pub(crate) sources: BTreeMap<String, Source>,
    pub(crate) interfaces: BTreeMap<String, InterfaceSheet>,
    pub(crate) pairs: Vec<PairSheet>,
    pub(crate) policy: PolicySheet,
    pub(crate) cautions: Vec<Caution>,
    pub(crate) procedures: Vec<Procedure>,
    pub(crate) words: Vec<Words>,
    pub(crate) torque_tools: Vec<TorqueTool>,
    pub(crate) gauge_lines: BTreeMap<String, Vec<GaugeLine>>,
    pub(crate) overrides: Vec<Override>,
    pub(crate) own_revision: Option<String>,
}

/// What a name of an interface can mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lookup {
    /// One interface, by key.
    Found(String),
    /// Several, by key.
    Ambiguous(Vec<String>),
    /// None.
    Unknown,
}

impl Sheets {
    /// The sheets that come with the program.
    ///
    /// # Errors
    ///
    /// [`SheetError`] when the data broke its own rules; the tests prevent it.
    pub fn embedded() -> Result<Self, SheetError> {
        embedded::load()
    }

    /// These sheets with a lab's own file over them. `name` is for messages.
    ///
    /// # Errors
    ///
    /// [`SheetError`] naming the file, the place and what was expected.
    pub fn with_lab_file(&self, text: &str, name: &str) -> Result<Self, SheetError> {
        own::apply(self, text, name)
    }

    /// One interface by key.
    pub fn interface(&self, key: &str) -> Option<&InterfaceSheet> {
        self.interfaces.get(key)
    }

    /// All interfaces in the order of their keys.
    pub fn interfaces(&self) -> impl Iterator<Item = &InterfaceSheet> {
        self.interfaces.values()
    }

    /// What people write, looked up: key, name or alias, without regard to
    /// case, spaces, and the word "ohm" in its spellings.
    pub fn find_interface(&self, text: &str) -> Lookup {
        let wanted = folded(text);
        let mut keys: Vec<String> = self
            .interfaces
            .values()
            .filter(|i| {
                folded(&i.key) == wanted
                    || folded(&i.name) == wanted
                    || i.aliases.iter().any(|a| folded(a) == wanted)
            })
            .map(|i| i.key.clone())
            .collect();
        match keys.len() {
            0 => Lookup::Unknown,
            1 => Lookup::Found(keys.remove(0)),
            _ => Lookup::Ambiguous(keys),
        }
    }

    /// The rule for two ends. Same interface with itself is allowed. A pair
    /// that no row names has no rule.
    pub fn pair_rule(&self, a: &str, a_sex: &str, b: &str, b_sex: &str) -> Option<PairRule<'_>> {
        let fits = |row: &PairSheet, x: &str, x_sex: &str, y: &str, y_sex: &str| {
            row.a == x && row.b == y && matches(&row.a_sex, x_sex) && matches(&row.b_sex, y_sex)
        };
        self.pairs
            .iter()
            .find(|row| fits(row, a, a_sex, b, b_sex) || fits(row, b, b_sex, a, a_sex))
            .map(PairRule::Row)
            .or_else(|| (a == b && self.interfaces.contains_key(a)).then_some(PairRule::SameInterface))
    }

    /// Pin position limits of a sex and grade; several are sources beside
    /// each other, none means that nothing is known.
    pub fn pin_limits(&self, key: &str, sex: &str, grade: &str) -> Vec<&Limit> {
        self.interface(key).map_or_else(Vec::new, |i| of_sex_and_grade(&i.pin_limit, sex, grade))
    }

    /// Dielectric position limits of a sex and grade, as [`Self::pin_limits`].
    pub fn dielectric_limits(&self, key: &str, sex: &str, grade: &str) -> Vec<&Limit> {
        self.interface(key).map_or_else(Vec::new, |i| of_sex_and_grade(&i.dielectric_limit, sex, grade))
    }

    /// Coupling torques for a body material, all sources.
    pub fn coupling_torques(&self, key: &str, body: &str) -> Vec<&TorqueRow> {
        self.interface(key).map_or_else(Vec::new, |i| of_body(&i.torque, body))
    }

    /// Torques never to be exceeded for a body material.
    pub fn upper_torques(&self, key: &str, body: &str) -> Vec<&TorqueRow> {
        self.interface(key).map_or_else(Vec::new, |i| of_body(&i.upper_torque, body))
    }

    /// Where no single torque lies within what every source allows. A caller
    /// shows all rows and picks none.
    pub fn torque_conflicts(&self) -> Vec<TorqueConflict<'_>> {
        let mut conflicts = Vec::new();
        for sheet in self.interfaces() {
            for body in parse::BODIES {
                let rows = of_body(&sheet.torque, body);
                let agreed = |value: f64| {
                    rows.iter()
                        .all(|r| (value - r.value).abs() <= r.tolerance.unwrap_or(0.0) + 1e-9 * r.value)
                };
                // Intervals share a point exactly when some lower edge lies in all.
                let shared =
                    rows.iter().any(|r| agreed(r.value - r.tolerance.unwrap_or(0.0)) || agreed(r.value));
                if !rows.is_empty() && !shared {
                    conflicts.push(TorqueConflict { interface: &sheet.key, body, rows });
                }
            }
        }
        conflicts
    }

    /// What the lab's own file put in place of embedded values.
    pub fn overrides(&self) -> &[Override] {
        &self.overrides
    }

    /// The lab's policy.
    pub fn policy(&self) -> &PolicySheet {
        &self.policy
    }

    /// A caution by code.
    pub fn caution(&self, code: &str) -> Option<&Caution> {
        self.cautions.iter().find(|c| c.code == code)
    }

    /// All cautions.
    pub fn cautions(&self) -> &[Caution] {
        &self.cautions
    }

    /// The cautions of an activity: `mating`, `parting`, `cleaning`,
    /// `gauging`, `inspection` or `damage`.
    pub fn cautions_during(&self, activity: &str) -> Vec<&Caution> {
        self.cautions.iter().filter(|c| c.during.iter().any(|d| d == activity)).collect()
    }

    /// All procedures.
    pub fn procedures(&self) -> &[Procedure] {
        &self.procedures
    }

    /// A procedure by key.
    pub fn procedure(&self, key: &str) -> Option<&Procedure> {
        self.procedures.iter().find(|p| p.key == key)
    }

    /// Types of torque tools with their permissible deviations.
    pub fn torque_tools(&self) -> &[TorqueTool] {
        &self.torque_tools
    }

    /// A type of torque tool by key, without regard to case.
    pub fn torque_tool(&self, tool_type: &str) -> Option<&TorqueTool> {
        self.torque_tools.iter().find(|t| t.tool_type.eq_ignore_ascii_case(tool_type.trim()))
    }

    /// Words for what a look shows: `damage`, `normal-wear` or `dirt`.
    pub fn words(&self, key: &str) -> Option<&Words> {
        self.words.iter().find(|w| w.key == key)
    }

    /// All works, in the order of their keys.
    pub fn sources(&self) -> impl Iterator<Item = &Source> {
        self.sources.values()
    }

    /// A work by key.
    pub fn source(&self, key: &str) -> Option<&Source> {
        self.sources.get(key)
    }

    /// What the lab's own file says about lines of the budget of a gauge, by
    /// the gauge's label.
    pub fn gauge_lines(&self, tag: &str) -> &[GaugeLine] {
        self.gauge_lines.get(&tag.trim().to_lowercase()).map_or(&[], Vec::as_slice)
    }

    /// Names the data set: the embedded one, and the lab's own file by the
    /// checksum of its text.
    pub fn revision(&self) -> String {
        match &self.own_revision {
            Some(own) => format!("{}+lab.{own}", embedded::REVISION),
            None => embedded::REVISION.to_owned(),
        }
    }
}

fn matches(rule: &str, sex: &str) -> bool {
    rule == "any" || rule == sex
}

fn of_sex_and_grade<'a>(rows: &'a [Limit], sex: &str, grade: &str) -> Vec<&'a Limit> {
    rows.iter().filter(|r| r.sex == sex && r.grade == grade).collect()
}

fn of_body<'a>(rows: &'a [TorqueRow], body: &str) -> Vec<&'a TorqueRow> {
    rows.iter().filter(|r| r.body == "any" || r.body == body).collect()
}

fn folded(text: &str) -> String {
    text.to_lowercase()
        .replace(['\u{3a9}', '\u{2126}', '\u{3c9}'], "ohm")
        .replace(',', ".")
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '-' && *c != '_')
        .collect()
}
