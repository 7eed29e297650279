//! Gauging sessions: what one says before it is written down, writing it, and
//! the pin of an end over its contacts.

pub(crate) mod entry;
mod show;

use crate::{AppError, Said, Workshop, WrittenJson, workshop::Tags};
use entry::Entry;
use matewell_lab::{EndRecord, FactBody, FactId, GaugingOnRecord, ItemId, Moment, ToolRecord, tool_record};
use matewell_verdict::{Known, judge_end, judge_gauging, order_of_work, pin_knowledge};
use matewell_wire::{
    EndNameJson, FindingJson, GaugingAsked, GaugingBudgetJson, Names, PinHistoryJson, PinJson, PinPointJson,
    PositionJson, moment_text,
};
use std::collections::BTreeMap;

/// The fact that a gauging not yet written would be.
const DRAFT: FactId = FactId::from_bytes([0; 16]);

impl Workshop {
    /// What a gauging says, line by line, without writing anything.
    ///
    /// # Errors
    ///
    /// Unknown tags; fields that cannot be understood; no reading. What only
    /// looks like a slip comes back as a question of the answer.
    pub fn gauging_budget(
        &self,
        asked: &GaugingAsked,
        person: &str,
        at: Moment,
    ) -> Result<GaugingBudgetJson, AppError> {
        let entry = self.entry(asked, at)?;
        let (book, names) = (self.book(), Tags(&self.store));
        let policy = book.policy();
        let before = self.load(entry.gauged.end, at)?.record;
        let mut findings = order_of_work(&before, &policy);
        findings.extend(entry.findings);
        let draft = GaugingOnRecord {
            fact: DRAFT,
            at,
            person: person.to_owned(),
            contacts: before.contacts + 1,
            gauged: entry.gauged,
        };
        let lines = entry.gauge.as_ref().map_or(&[][..], |g| book.gauge_lines(&g.item.tag));
        let judged = judge_gauging(&draft, entry.gauge.as_ref(), lines, &policy)?;
        let after = EndRecord { last_gauging: Some(draft.clone()), contacts_since_gauging: 0, ..before };
        let known = Known { record: &after, gauge: entry.gauge.as_ref(), exposures: &[] };
        let judgement = judge_end(&known, &book)?;
        findings.extend(judgement.findings.into_iter().filter(|f| of_the_pin(f.code, &f.facts)));
        findings.sort_by_key(|f| std::cmp::Reverse(f.weight));
        for finding in &mut findings {
            finding.end = Some(after.end.id);
            finding.facts.retain(|fact| *fact != DRAFT);
        }
        let session = draft.gauged.session.as_deref();
        let dielectric: Vec<f64> =
            session.map_or_else(Vec::new, |s| s.dielectric.iter().map(|p| p.recession_um()).collect());
        let estimate = judged.as_ref().map(|j| j.gauging.estimate());
        let zero = judged.as_ref().and_then(|j| j.gauging.zero_move());
        let limits =
            self.sheets.pin_limits(&after.end.interface, after.end.sex.word(), after.end.grade.word());
        Ok(GaugingBudgetJson {
            end: EndNameJson::new(after.end.id, &names),
            at: moment_text(at),
            gauge: draft.gauged.gauge.map(|g| names.item_tag(g)),
            master: session.and_then(|s| s.master).map(|m| names.item_tag(m)),
            pin: PinJson::new(&judgement.pin, &names),
            guard_band_um: judged.as_ref().map(|j| j.decision.guard_band),
            accepted_risk: policy.protrusion_risk,
            u_um: estimate.map(matewell_uncertainty::Estimate::standard_uncertainty),
            degrees_of_freedom: estimate
                .map(matewell_uncertainty::Estimate::degrees_of_freedom)
                .filter(|d| d.is_finite()),
            expanded_um: estimate.map(|e| 2.0 * e.standard_uncertainty()),
            lines: judged.as_ref().map_or_else(|| Ok(Vec::new()), |j| show::lines(j.gauging.budget()))?,
            zero_moved_um: zero.map(|z| z.moved.abs()),
            zero_move_allowed_um: zero.map(|z| z.spread * policy.zero_drift_ratio),
            void: judgement.pin.is_void(),
            dielectric: (!dielectric.is_empty())
                .then(|| PositionJson::recessed_by(dielectric.iter().sum::<f64>() / dielectric.len() as f64)),
            usable_up_to_hz: judgement.usable_up_to.map(matewell_quantity::Frequency::hertz),
            findings: findings.iter().map(|f| FindingJson::new(f, &names)).collect(),
            questions: entry.questions,
            picture: judged.as_ref().map(|j| show::picture(j, &limits)).transpose()?,
        })
    }

    /// Writes a gauging session down. Counts as one contact of the end.
    ///
    /// # Errors
    ///
    /// As [`Workshop::gauging_budget`]; [`AppError::Questions`] while a
    /// question is not answered. Nothing is written then.
    pub fn gauge_session(
        &mut self,
        asked: &GaugingAsked,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let entry = self.entry(asked, said.happened_at.unwrap_or(now))?;
        if !entry.questions.is_empty() {
            return Err(AppError::Questions(entry.questions));
        }
        if let Some(end) = self.store.end(entry.gauged.end)? {
            self.authorised(crate::Act::Gauge, &end.interface, &said.person)?;
        }
        self.write_one(FactBody::Gauged(entry.gauged), said, now)
    }

    fn entry(&self, asked: &GaugingAsked, at: Moment) -> Result<Entry, AppError> {
        Entry::read(self, asked, at)
    }

    pub(crate) fn tool(&self, item: ItemId, at: Moment) -> Result<Option<ToolRecord>, AppError> {
        Ok(tool_record(item, &self.store.facts_of_item(item)?, at))
    }

    /// The pin of an end over its contacts: every gauging since the contact
    /// was new, corrections applied.
    ///
    /// # Errors
    ///
    /// Unknown or ambiguous tags; a store that cannot be read.
    pub fn pin_history(&self, tag: &str, at: Moment) -> Result<PinHistoryJson, AppError> {
        let record = self.load(self.one_end(tag)?.end, at)?.record;
        let (book, names) = (self.book(), Tags(&self.store));
        let policy = book.policy();
        let mut gauges: BTreeMap<ItemId, Option<ToolRecord>> = BTreeMap::new();
        let mut points = Vec::with_capacity(record.gaugings.len());
        for gauging in &record.gaugings {
            if let Some(gauge) = gauging.gauged.gauge
                && let std::collections::btree_map::Entry::Vacant(place) = gauges.entry(gauge)
            {
                place.insert(self.tool(gauge, at)?);
            }
            let gauge = gauging.gauged.gauge.and_then(|g| gauges.get(&g)).and_then(Option::as_ref);
            let pin = pin_knowledge(Some(gauging), gauge, &book, &policy)?;
            points.push(PinPointJson {
                fact: gauging.fact.to_string(),
                at: moment_text(gauging.at),
                contacts: gauging.contacts,
                void: pin.is_void(),
                gauge_was_off: gauging.gauged.session.as_ref().is_some_and(|s| s.gauge_off.is_some()),
                pin: PinJson::new(&pin, &names),
            });
        }
        Ok(PinHistoryJson {
            end: EndNameJson::new(record.end.id, &names),
            at: moment_text(at),
            points,
            cleaned_at_contacts: record.cleaned_at_contacts,
        })
    }
}

/// Findings of a judgement that a gauging can be about.
fn of_the_pin(code: &str, facts: &[FactId]) -> bool {
    facts.contains(&DRAFT)
        || matches!(
            code,
            "few-readings"
                | "recess-limits-band"
                | "recessed-beyond-limit"
                | "no-sheet"
                | "gauge-not-in-order"
        )
}
