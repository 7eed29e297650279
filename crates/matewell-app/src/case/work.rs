//! The work list of a case: what to look at first, and what to do.

use super::{
    load::LoadedCase,
    reach::{Reach, Reached},
    show::decision_of_end,
};
use crate::{AppError, Workshop, judge::ReadOnce, kits::Waits, sentence};
use matewell_lab::{CaseEnd, Cost, EndState, Grade, ItemKind, Moment, Subject};
use matewell_sheets::PolicySheet;
use matewell_wire::{CaseAlarmJson, CaseEndJson, CaseEvidenceJson, EndNameJson, moment_text};

/// What the rank of a line follows from.
struct Urgency {
    factor: f64,
    because: Vec<String>,
    /// Damage was seen and not released since.
    is_damaged: bool,
}

impl Urgency {
    fn add(&mut self, by: f64, because: impl Into<String>) {
        if by > 0.0 {
            self.factor += by;
            self.because.push(because.into());
        }
    }

    /// Planned work that is far off is told and ranks nothing.
    fn add_waits(&mut self, waits: Vec<Waits>, policy: &PolicySheet) {
        for wait in waits {
            match wait.json.what.as_str() {
                "mated" => self.add(policy.urgency_mated.value, wait.json.text),
                "kit" => self.add(policy.urgency_kit.value, wait.json.text),
                _ if wait.is_soon => self.add(policy.urgency_reserved.value, wait.json.text),
                _ => self.because.push(wait.json.text),
            }
        }
    }
}

impl Workshop {
    /// The work list: alarms and what is open first, by cost at risk times
    /// urgency; what is decided after it, what is set aside last.
    ///
    /// Cost at risk is the cost of the item anew times the probability that
    /// the fewest contacts all passed something on (`contact_passes` of the
    /// policy to the power of the contacts); an exposure that is only possible
    /// counts for a share. It ranks and says nothing else.
    pub(crate) fn work_list(
        &self,
        loaded: &LoadedCase,
        reach: Option<&Reach>,
        at: Moment,
    ) -> Result<Vec<CaseEndJson>, AppError> {
        let mut lines = Vec::with_capacity(loaded.record.ends.len());
        let once = ReadOnce::default();
        for end in &loaded.record.ends {
            lines.push((group(end), self.line(loaded, reach, end, &once, at)?));
        }
        lines.sort_by(|(x_group, x), (y_group, y)| {
            x_group
                .cmp(y_group)
                .then_with(|| y.pressure.total_cmp(&x.pressure))
                .then_with(|| (&x.tag, &x.id).cmp(&(&y.tag, &y.id)))
        });
        Ok(lines
            .into_iter()
            .zip(1..)
            .map(|((_, mut line), rank)| {
                line.rank = rank;
                line
            })
            .collect())
    }

    fn line(
        &self,
        loaded: &LoadedCase,
        reach: Option<&Reach>,
        end: &CaseEnd,
        once: &ReadOnce,
        at: Moment,
    ) -> Result<CaseEndJson, AppError> {
        let now = reach.and_then(|r| r.of(end.on));
        let tag = self.label(end.on);
        let (id, what) = self.id_and_what(end.on)?;
        let certainty = match &end.reach {
            _ if end.source.is_some() => None,
            Some(known) => Some(now.map_or(known.definite_at, |n| n.definite_at).is_some()),
            None => None,
        };
        let mut urgency = Urgency { factor: 1.0, because: Vec::new(), is_damaged: false };
        let mut line = CaseEndJson {
            rank: 0,
            id,
            what,
            item_tag: String::new(),
            item_kind: String::new(),
            location: None,
            found_bad: end.source.is_some() || end.tool.is_some(),
            state: end.state.word().to_owned(),
            certainty: certainty.map(|definite| if definite { "definite" } else { "possible" }.to_owned()),
            arrived_at: end.reach.as_ref().map(|r| moment_text(r.arrived_at)),
            hops: end.reach.as_ref().map_or(0, |r| r.hops),
            way: now.map(|n| n.way.clone()),
            held: end.hold.is_some(),
            standing: None,
            cost_hundredths: None,
            currency: None,
            pressure: 0.0,
            urgent_because: Vec::new(),
            to_do: String::new(),
            evidence: Vec::new(),
            alarms: end
                .mated_while_held
                .iter()
                .map(|mate| CaseAlarmJson {
                    fact: mate.fact.to_string(),
                    at: moment_text(mate.at),
                    partner: EndNameJson::new(mate.partner, &self.tags()),
                })
                .collect(),
            decision: end.decided.as_ref().map(decision_of_end),
            tag,
        };
        let cost = self.about(end.on, &mut line, &mut urgency, once, at)?;
        let policy = self.sheets.policy();
        let results = loaded.record.results.iter().filter(|r| {
            let through = reach.and_then(|known| known.results.iter().find(|d| d.result == r.result));
            r.decided.is_none() && through.is_some_and(|d| d.through.contains(&end.on))
        });
        let results = u32::try_from(results.count()).unwrap_or(u32::MAX);
        if results > 0 {
            let many = if results == 1 { "1 result".to_owned() } else { format!("{results} results") };
            urgency.add(
                policy.urgency_result.value * f64::from(results),
                format!("{many} in doubt went through it"),
            );
        }
        let unknown = policy.unknown_item_cost.value;
        let amount = cost.map_or(unknown, |cost| cost.hundredths as f64 / 100.0);
        let passed = policy.contact_passes.value.powi(i32::try_from(line.hops).unwrap_or(i32::MAX));
        let share = if certainty == Some(false) { policy.urgency_possible_share.value } else { 1.0 };
        line.pressure = amount * passed * share * urgency.factor;
        line.urgent_because = urgency.because;
        if !matches!(end.state, EndState::Cleared | EndState::SetAside) {
            for fact in self.evidence_for(loaded, end, reach)? {
                line.evidence.push(CaseEvidenceJson {
                    fact: fact.id.to_string(),
                    at: moment_text(fact.happened_at),
                    text: sentence::of(&fact.body, end.on, &self.tags()),
                });
            }
        }
        let clear = self.would_clear(loaded.record.opened.taint, end.on);
        line.to_do = match end.state {
            EndState::Open if urgency.is_damaged => "Damage was seen: decide damaged.".to_owned(),
            _ => to_do(&clear, end, &line, now),
        };
        Ok(line)
    }

    /// What the item is, what waits for it, and its cost.
    fn about(
        &self,
        on: Subject,
        line: &mut CaseEndJson,
        urgency: &mut Urgency,
        once: &ReadOnce,
        at: Moment,
    ) -> Result<Option<Cost>, AppError> {
        let policy = self.sheets.policy();
        let item = match on {
            Subject::End(end) => {
                let end = self.load_to_judge(end, once, at)?;
                line.standing = Some(self.judge(&end)?.standing.word().to_owned());
                urgency.add_waits(self.waits_for(&end, once, at)?, policy);
                let record = end.record;
                urgency.is_damaged = !record.open_damage.is_empty();
                if record.end.grade == Grade::Metrology {
                    urgency.add(policy.urgency_metrology.value, "metrology grade");
                }
                record.item
            }
            Subject::Item(item) => match self.store.registered(item)? {
                Some(item) => {
                    let facts = self.store.facts_of_item_but_uses(item.id)?;
                    urgency.add_waits(self.item_waits(&item, &facts, once, at)?, policy);
                    item
                }
                None => return Ok(None),
            },
        };
        match item.kind {
            ItemKind::CalibrationStandard => {
                urgency.add(policy.urgency_standard.value, "calibration standard of a set");
            }
            ItemKind::Gauge => urgency.add(policy.urgency_standard.value, "gauge: it touches many ends"),
            ItemKind::Instrument => urgency.add(policy.urgency_instrument.value, "port of an instrument"),
            _ => {}
        }
        line.item_tag = item.tag;
        item.kind.word().clone_into(&mut line.item_kind);
        line.location = item.location;
        line.cost_hundredths = item.cost.as_ref().map(|c| c.hundredths);
        line.currency = item.cost.as_ref().map(|c| c.currency.clone());
        Ok(item.cost)
    }
}

fn group(end: &CaseEnd) -> u8 {
    match end.state {
        EndState::Open if !end.mated_while_held.is_empty() => 0,
        EndState::Open | EndState::WaiverRanOut { .. } => 1,
        EndState::Waived { .. } | EndState::Cleared | EndState::Damaged => 2,
        EndState::SetAside => 3,
    }
}

fn to_do(clear: &str, end: &CaseEnd, line: &CaseEndJson, now: Option<&Reached>) -> String {
    if let Some(alarm) = line.alarms.last().filter(|_| end.state == EndState::Open) {
        return format!(
            "Mated with {} while held: look at both, take in what it reached, and decide anew.",
            alarm.partner.tag
        );
    }
    match end.state {
        EndState::SetAside => "Nothing: set aside.".to_owned(),
        EndState::Cleared => match now.filter(|n| super::open::exposed_again(end, n)) {
            Some(now) => format!(
                "Exposed again on {}, after it was cleared: take it in anew.",
                sentence::when(now.exposed_since)
            ),
            None => "Nothing: cleared.".to_owned(),
        },
        EndState::Damaged => {
            "Keep it out of use: retire it, or have the contact made anew by a licensed workshop.".to_owned()
        }
        EndState::Waived { until } => {
            format!("Verify it by {}: {clear} clears it.", sentence::when(until))
        }
        EndState::WaiverRanOut { until } => format!(
            "The waiver ran out on {}: {clear} clears it; or waive it again with a reason.",
            sentence::when(until)
        ),
        EndState::Open if !line.evidence.is_empty() => {
            "Verified on record: decide cleared, or say why not.".to_owned()
        }
        EndState::Open if end.source.is_some() => {
            format!("Decide damaged; or, once it is set right, {clear} clears it.")
        }
        EndState::Open => match end.on {
            Subject::Item(_) if end.tool.is_some() => {
                format!("It was off: keep it out of use until it is set right; {clear} clears it.")
            }
            Subject::Item(_) => format!("Check it on its master: {clear} clears it."),
            Subject::End(_) if end.reach.as_ref().is_some_and(|r| r.hops == 0) => {
                format!(
                    "In doubt by a tool that was off. Look, clean, look, gauge with another: {clear} clears it."
                )
            }
            Subject::End(_) => format!("Look, clean, look, gauge: {clear} clears it. Then decide."),
        },
    }
}
