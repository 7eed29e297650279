//! What would other facts have changed?

use super::{
    Traced, names,
    taint::{ALL, Care, cleared_by},
};
use crate::{AppError, Workshop};
use matewell_contact::{Change, Exposure, TaintSet, difference, what_if};
use matewell_lab::Moment;
use matewell_store::TouchedBy;
use matewell_wire::{WhatIfChangedJson, WhatIfJson, moment_text, parse_moment};

/// What might have been done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SupposedAct {
    /// Looked at and found good.
    Inspected(Moment),
    /// Cleaned.
    Cleaned(Moment),
    /// Gauged and shown safe.
    Gauged(Moment),
    /// Looked at, cleaned, looked at and gauged: everything cleared.
    Verified(Moment),
    /// Taken for harmless: neither exposed nor passing on.
    Waived,
}

/// What might have been done to one end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supposed {
    /// Tag of the end.
    pub tag: String,
    /// What.
    pub act: SupposedAct,
}

impl Supposed {
    /// Reads `inspected CB-014B 2026-10-01`, `cleaned …`, `gauged …`,
    /// `verified …` or `waived CB-014B`.
    ///
    /// # Errors
    ///
    /// Says what was expected and found.
    pub fn read(text: &str) -> Result<Self, AppError> {
        let refuse = || AppError::Field {
            field: "what_if",
            message: format!(
                "expected \"inspected TAG TIME\", \"cleaned TAG TIME\", \"gauged TAG TIME\", \
                 \"verified TAG TIME\" or \"waived TAG\", found \"{}\"",
                text.chars().take(120).collect::<String>()
            ),
        };
        let (word, rest) = text.trim().split_once(char::is_whitespace).ok_or_else(refuse)?;
        let rest = rest.trim();
        if word == "waived" {
            return Ok(Self { tag: rest.to_owned(), act: SupposedAct::Waived });
        }
        let (tag, time) = rest.rsplit_once(char::is_whitespace).ok_or_else(refuse)?;
        let at = parse_moment(time).map_err(|message| AppError::Field { field: "what_if", message })?;
        let act = match word {
            "inspected" => SupposedAct::Inspected(at),
            "cleaned" => SupposedAct::Cleaned(at),
            "gauged" => SupposedAct::Gauged(at),
            "verified" => SupposedAct::Verified(at),
            _ => return Err(refuse()),
        };
        Ok(Self { tag: tag.trim().to_owned(), act })
    }

    /// In words.
    #[must_use]
    pub fn text(&self) -> String {
        let when = |word: &str, at: Moment| format!("{} {word} at {}", self.tag, moment_text(at));
        match self.act {
            SupposedAct::Inspected(at) => when("inspected and found good", at),
            SupposedAct::Cleaned(at) => when("cleaned", at),
            SupposedAct::Gauged(at) => when("gauged and shown safe", at),
            SupposedAct::Verified(at) => when("looked at, cleaned and gauged, all good", at),
            SupposedAct::Waived => format!("{} taken for harmless", self.tag),
        }
    }
}

/// Whether it lasts to the end of the history.
pub(crate) fn is_open(exposure: &Exposure) -> bool {
    exposure.intervals.last().is_some_and(|i| i.until.is_none())
}

pub(crate) fn json(
    shop: &Workshop,
    traced: &Traced,
    supposed: &[Supposed],
) -> Result<Option<WhatIfJson>, AppError> {
    if supposed.is_empty() {
        return Ok(None);
    }
    let policy = shop.sheets.policy();
    let mut changes = Vec::new();
    for (one, sequence) in supposed.iter().zip(1_u64..) {
        let end = shop.one_end(&one.tag)?.end;
        // An end the trace never met changes nothing.
        let Some(end) = traced.part.number(TouchedBy::End(end)) else { continue };
        let clear = |at: Moment, clears: TaintSet| Change::Clear {
            end,
            at: at.microseconds(),
            // Before whatever else happened at that moment.
            sequence,
            clears,
        };
        changes.push(match one.act {
            SupposedAct::Inspected(at) => clear(at, cleared_by(Care::LookedGood, policy)),
            SupposedAct::Cleaned(at) => clear(at, cleared_by(Care::Cleaned, policy)),
            SupposedAct::Gauged(at) => clear(at, cleared_by(Care::GaugedSafe, policy)),
            SupposedAct::Verified(at) => clear(at, ALL),
            SupposedAct::Waived => Change::WaiveEnd { end },
        });
    }
    let transmits = super::taint::transmits(policy);
    let after = what_if(&traced.part.history, &traced.sources, traced.kind, transmits, &changes)
        .map_err(super::question)?;
    let changed = difference(&traced.exposed, &after);
    let labels = names::Labels::new(&traced.part, shop);
    Ok(Some(WhatIfJson {
        changes: supposed.iter().map(Supposed::text).collect(),
        exposed: after.len(),
        exposed_now: after.iter().filter(|x| is_open(x)).count(),
        spared: changed.removed.iter().map(|x| labels.of(x.end)).collect(),
        changed: changed
            .changed
            .iter()
            .filter(|(before, after)| {
                before.arrived_at != after.arrived_at || before.intervals != after.intervals
            })
            .map(|(before, after)| WhatIfChangedJson {
                end: labels.of(before.end),
                arrived_at: names::text(before.arrived_at),
                would_arrive_at: names::text(after.arrived_at),
                would_be_exposed_now: is_open(after),
            })
            .collect(),
    }))
}
