//! A tool was off between two moments.

use crate::{
    AppError, Said, Workshop,
    error::{bad, field},
    workshop::Remembered,
};
use matewell_lab::{
    Corrected, Correction, EndId, EndRecord, Fact, FactBody, FactId, GaugingOnRecord, ItemKind, Moment,
    OffsetTakenOut, ToolCheck, ToolRecord, end_record, standing_facts,
};
use matewell_quantity::{Length, Torque};
use matewell_uncertainty::gauging::GaugeOff;
use matewell_verdict::{JointInDoubt, PinKnowledge, pin_knowledge, rank_joints, recomputed, with_offset};
use matewell_wire::{
    EndNameJson, JointInDoubtJson, MateMeanwhileJson, PinJson, RecomputedJson, UntouchedJson, WasOffAsked,
    WasOffJson, moment_text, parse_moment,
};
use std::collections::BTreeMap;

/// The question understood.
struct Window {
    since: Moment,
    until: Moment,
    drift: bool,
    found: Option<(FactId, ToolCheck)>,
}

impl Window {
    fn read(asked: &WasOffAsked, facts: &[Fact]) -> Result<Self, AppError> {
        let since = parse_moment(asked.since.trim()).map_err(field("since"))?;
        let until = parse_moment(asked.until.trim()).map_err(field("until"))?;
        if since > until {
            return Err(bad("until", format!("expected a time after {}", moment_text(since))));
        }
        // The check that found it stands at the end of the window, or soon after.
        let found = facts
            .iter()
            .filter_map(|fact| match &fact.body {
                FactBody::ToolChecked(t) if !t.check.in_order() && fact.happened_at >= since => {
                    Some((fact.happened_at, fact.id, t.check.clone()))
                }
                _ => None,
            })
            .min_by_key(|(at, ..)| (at.microseconds().abs_diff(until.microseconds()), *at))
            .map(|(_, id, check)| (id, check));
        Ok(Self { since, until, drift: asked.drift, found })
    }

    /// What was off at a moment, of a whole `by` at the end.
    fn at(&self, moment: Moment, by: f64, from: f64, drift: bool) -> f64 {
        let (since, until) = (self.since.microseconds(), self.until.microseconds());
        let off = if drift {
            GaugeOff::Drift { since, until, offset_since: from, offset_until: by }
        } else {
            GaugeOff::Step { since, until, offset: by }
        };
        off.at(moment.microseconds()).unwrap_or(from)
    }
}

/// A gauging with what is known of it before, after, and the other way.
struct BeforeAfter {
    on_record: GaugingOnRecord,
    corrected: matewell_lab::Gauged,
    offset_um: f64,
    before: PinKnowledge,
    after: PinKnowledge,
    other: PinKnowledge,
}

impl BeforeAfter {
    fn flips(&self) -> bool {
        self.before.decision != self.after.decision
    }
}

impl Workshop {
    /// What a gauge or a wrench that was off between two moments changes.
    /// Nothing is written unless asked; written are corrections, and the
    /// originals stay.
    ///
    /// # Errors
    ///
    /// Unknown tags; a window that ends before it begins; an amount that is
    /// neither given nor on record. All or nothing is written.
    pub fn was_off(
        &mut self,
        tag: &str,
        asked: &WasOffAsked,
        said: &Said,
        now: Moment,
    ) -> Result<WasOffJson, AppError> {
        if asked.write
            && let Some(kept) = self.answered_before(said)?
        {
            return serde_json::from_str(&kept).map_err(|e| AppError::Conflict(e.to_string()));
        }
        let item = self.one_item("a gauge or wrench", tag)?;
        let facts = standing_facts(&self.store.facts_of_item(item)?, now);
        // Its uses are many and say nothing about the tool itself.
        let about: Vec<Fact> = facts
            .iter()
            .filter(|f| !matches!(f.body, FactBody::Gauged(_) | FactBody::Mated(_)))
            .cloned()
            .collect();
        let record = matewell_lab::tool_record(item, &about, now).ok_or_else(|| AppError::UnknownTag {
            what: "a gauge or wrench",
            found: tag.trim().to_owned(),
        })?;
        let window = Window::read(asked, &facts)?;
        let mut answer = WasOffJson {
            tool: record.item.tag.clone(),
            kind: record.item.kind.word().to_owned(),
            since: moment_text(window.since),
            until: moment_text(window.until),
            way: if window.drift { "drift" } else { "step" }.to_owned(),
            by_um: None,
            too: None,
            applied_n_m: None,
            found_by: window.found.as_ref().map(|(id, _)| id.to_string()),
            gaugings: Vec::new(),
            flips: 0,
            untouched: Vec::new(),
            joints: Vec::new(),
            written: false,
            facts: Vec::new(),
        };
        match record.item.kind {
            ItemKind::Gauge => {
                let corrections = self.gauge_was_off(&mut answer, &facts, &record, &window, asked, now)?;
                if asked.write {
                    self.write_corrections(&mut answer, corrections, asked, said, now)?;
                }
            }
            ItemKind::TorqueWrench => {
                if asked.write {
                    return Err(bad(
                        "write",
                        "a wrench that was off corrects no reading: there is nothing to write",
                    ));
                }
                self.wrench_was_off(&mut answer, &facts, &record, &window, asked, now)?;
            }
            other => {
                return Err(bad(
                    "tool",
                    format!(
                        "expected a gauge or a torque wrench, {} is registered as {}",
                        record.item.tag,
                        other.word()
                    ),
                ));
            }
        }
        Ok(answer)
    }

    fn gauge_was_off(
        &self,
        answer: &mut WasOffJson,
        facts: &[Fact],
        gauge: &ToolRecord,
        window: &Window,
        asked: &WasOffAsked,
        now: Moment,
    ) -> Result<Vec<(FactId, matewell_lab::Gauged)>, AppError> {
        let by_um = gauge_offset(window, asked)?;
        answer.by_um = Some(by_um.abs());
        answer.too = Some(if by_um < 0.0 { "protruding" } else { "recessed" }.to_owned());
        let u = asked.standard_uncertainty.as_deref().map(str::trim).filter(|t| !t.is_empty());
        let u: Option<Length> = u.map(|t| t.parse().map_err(field("standard_uncertainty"))).transpose()?;
        if u.is_some_and(|u| u.metres() < 0.0) {
            return Err(bad("standard_uncertainty", "expected a length of zero or more"));
        }
        let (book, names) = (self.book(), Remembered::new(&self.store));
        let policy = book.policy();
        let off = |um: f64| {
            Ok::<_, AppError>(OffsetTakenOut {
                reads_more_recessed: Length::from_micrometres(um).map_err(field("by"))?,
                standard_uncertainty: u,
                found_by: window.found.as_ref().map(|(id, _)| *id),
            })
        };
        let mut rows: Vec<BeforeAfter> = Vec::new();
        for fact in facts {
            let FactBody::Gauged(gauged) = &fact.body else { continue };
            let inside = window.since <= fact.happened_at && fact.happened_at <= window.until;
            if !inside || gauged.gauge != Some(gauge.item.id) {
                continue;
            }
            if !asked.even_if_zeroed && gauged.session.as_ref().is_some_and(|s| !s.zero_before.is_empty()) {
                answer.untouched.push(UntouchedJson {
                    fact: fact.id.to_string(),
                    end: EndNameJson::new(gauged.end, &names),
                    at: moment_text(fact.happened_at),
                    because: "It was zeroed on a gauge master in its own session, which took the error out."
                        .to_owned(),
                });
                continue;
            }
            let on_record = GaugingOnRecord {
                fact: fact.id,
                at: fact.happened_at,
                person: fact.person.clone(),
                contacts: 0,
                gauged: gauged.clone(),
            };
            let before = pin_knowledge(Some(&on_record), Some(gauge), &book, &policy)?;
            let offset_um = window.at(fact.happened_at, by_um, 0.0, window.drift);
            let other_um = window.at(fact.happened_at, by_um, 0.0, !window.drift);
            let corrected = with_offset(gauged, off(offset_um)?);
            let after = recomputed(&on_record, corrected.clone(), gauge, &book, &policy)?;
            let other = recomputed(&on_record, with_offset(gauged, off(other_um)?), gauge, &book, &policy)?;
            rows.push(BeforeAfter { on_record, corrected, offset_um, before, after, other });
        }
        rows.sort_by_key(|row| (!row.flips(), row.on_record.at, row.on_record.fact));
        let mut stories: BTreeMap<EndId, Vec<Fact>> = BTreeMap::new();
        for row in &rows {
            let end = row.on_record.gauged.end;
            let (mut mated_meanwhile, mut gauged_again_at) = (Vec::new(), None);
            if row.flips() {
                answer.flips += 1;
                let story = match stories.entry(end) {
                    std::collections::btree_map::Entry::Occupied(found) => found.into_mut(),
                    std::collections::btree_map::Entry::Vacant(place) => {
                        place.insert(standing_facts(&self.store.facts_of_end(end)?, now))
                    }
                };
                let again = next_gauging(story, end, row.on_record.at);
                gauged_again_at = again.map(moment_text);
                mated_meanwhile = mates(story, end, row.on_record.at, again.unwrap_or(now))
                    .map(|(other, fact)| MateMeanwhileJson {
                        end: EndNameJson::new(other, &names),
                        at: moment_text(fact.happened_at),
                        fact: fact.id.to_string(),
                    })
                    .collect();
            }
            answer.gaugings.push(RecomputedJson {
                fact: row.on_record.fact.to_string(),
                end: EndNameJson::new(end, &names),
                at: moment_text(row.on_record.at),
                offset_um: row.offset_um,
                before: PinJson::new(&row.before, &names),
                after: PinJson::new(&row.after, &names),
                after_other_way: PinJson::new(&row.other, &names),
                flips: row.flips(),
                gauged_again_at,
                mated_meanwhile,
            });
        }
        Ok(rows.into_iter().map(|row| (row.on_record.fact, row.corrected)).collect())
    }

    fn write_corrections(
        &mut self,
        answer: &mut WasOffJson,
        corrections: Vec<(FactId, matewell_lab::Gauged)>,
        asked: &WasOffAsked,
        said: &Said,
        now: Moment,
    ) -> Result<(), AppError> {
        let because = asked.because.as_deref().map(str::trim).filter(|t| !t.is_empty()).map_or_else(
            || {
                format!(
                    "{} read up to {:.1} µm too far {}, {}",
                    answer.tool,
                    answer.by_um.unwrap_or(0.0),
                    answer.too.as_deref().unwrap_or("recessed"),
                    if asked.drift { "a drift" } else { "a step" }
                )
            },
            str::to_owned,
        );
        let facts: Vec<Fact> = corrections
            .into_iter()
            .map(|(fact, gauged)| {
                let correction = Correction::Body(Box::new(FactBody::Gauged(gauged)));
                let body = Corrected { fact, correction, because: because.clone() };
                self.fact(said, now, FactBody::Corrected(body))
            })
            .collect();
        answer.written = true;
        answer.facts = facts.iter().map(|f| f.id.to_string()).collect();
        let kept = serde_json::to_string(answer).map_err(|e| AppError::Conflict(e.to_string()))?;
        self.append_answered(&facts, said, now, kept)
    }

    fn wrench_was_off(
        &self,
        answer: &mut WasOffJson,
        facts: &[Fact],
        wrench: &ToolRecord,
        window: &Window,
        asked: &WasOffAsked,
        now: Moment,
    ) -> Result<(), AppError> {
        let applied = wrench_torque(window, asked)?;
        let set = wrench.item.wrench.as_ref().map_or(applied, |s| s.set_point.newton_metres());
        answer.applied_n_m = Some(applied);
        let book = self.book();
        let names = Remembered::new(&self.store);
        let mut ends: BTreeMap<EndId, Option<EndRecord>> = BTreeMap::new();
        let mut joints = Vec::new();
        for fact in facts {
            let FactBody::Mated(mated) = &fact.body else { continue };
            let inside = window.since <= fact.happened_at && fact.happened_at <= window.until;
            if !inside || mated.wrench != Some(wrench.item.id) {
                continue;
            }
            for end in [mated.a, mated.b] {
                if let std::collections::btree_map::Entry::Vacant(place) = ends.entry(end) {
                    place.insert(end_record(end, &self.store.facts_of_end(end)?, now));
                }
            }
            let end = |id: &EndId| ends.get(id).and_then(Option::as_ref);
            let (Some(a), Some(b)) = (end(&mated.a), end(&mated.b)) else { continue };
            let torque = window.at(fact.happened_at, applied, set, window.drift);
            let torque = Torque::from_newton_metres(torque).map_err(field("by"))?;
            joints.push(JointInDoubt::new((fact.id, fact.happened_at), &a.end, &b.end, torque, &book));
        }
        rank_joints(&mut joints);
        answer.joints = joints
            .iter()
            .zip(1..)
            .map(|(joint, rank)| JointInDoubtJson {
                rank,
                fact: joint.fact.to_string(),
                at: moment_text(joint.at),
                a: EndNameJson::new(joint.a, &names),
                b: EndNameJson::new(joint.b, &names),
                body: joint.body.word().to_owned(),
                applied_n_m: joint.applied.newton_metres(),
                limit_n_m: joint.limit.map(Torque::newton_metres),
                over: joint.over(),
                gauged_since: [joint.a, joint.b]
                    .into_iter()
                    .filter(|id| {
                        let last =
                            ends.get(id).and_then(Option::as_ref).and_then(|r| r.last_gauging.as_ref());
                        last.is_some_and(|g| g.at > joint.at)
                    })
                    .map(|id| EndNameJson::new(id, &names))
                    .collect(),
                text: joint.text(),
            })
            .collect();
        Ok(())
    }
}

/// Micrometres too far recessed; negative for too far protruding.
fn gauge_offset(window: &Window, asked: &WasOffAsked) -> Result<f64, AppError> {
    let on_record = match &window.found {
        Some((_, ToolCheck::GaugeZero(zero))) => Some(zero.reads_more_recessed.micrometres()),
        _ => None,
    };
    let by = asked.by.as_deref().map(str::trim).filter(|t| !t.is_empty());
    let by: Option<Length> = by.map(|t| t.parse().map_err(field("by"))).transpose()?;
    if by.is_some_and(|by| by.metres() < 0.0) {
        return Err(bad("by", "expected a length of zero or more; say in too which way it was off"));
    }
    let too = asked.too.as_deref().map(str::trim).filter(|t| !t.is_empty());
    let sign = match too {
        Some("recessed") => Some(1.0),
        Some("protruding") => Some(-1.0),
        Some(other) => {
            return Err(bad("too", format!("expected the word recessed or protruding, found \"{other}\"")));
        }
        None => on_record.map(|um| if um < 0.0 { -1.0 } else { 1.0 }),
    };
    let size = by.map(Length::micrometres).or(on_record.map(f64::abs));
    match (size, sign) {
        (Some(size), Some(sign)) => Ok(sign * size),
        (Some(_), None) => {
            Err(bad("too", "did it read too far recessed or too far protruding? No check on record says it"))
        }
        (None, _) => Err(bad("by", "expected by how much it was off: no check on record says it")),
    }
}

/// Torque in newton metres that the wrench applied at the end of the window.
fn wrench_torque(window: &Window, asked: &WasOffAsked) -> Result<f64, AppError> {
    let by = asked.by.as_deref().map(str::trim).filter(|t| !t.is_empty());
    if let Some(text) = by {
        let torque: Torque = text.parse().map_err(field("by"))?;
        if torque.newton_metres() > 0.0 {
            return Ok(torque.newton_metres());
        }
        return Err(bad("by", format!("expected the torque it applied, above zero, found {text}")));
    }
    match &window.found {
        Some((_, ToolCheck::Wrench(check))) if !check.readings.is_empty() => {
            let sum: f64 = check.readings.iter().map(|r| r.newton_metres()).sum();
            Ok(sum / check.readings.len() as f64)
        }
        _ => Err(bad("by", "expected the torque it applied: no check on record says it")),
    }
}

fn next_gauging(story: &[Fact], end: EndId, after: Moment) -> Option<Moment> {
    story
        .iter()
        .filter(|f| f.happened_at > after)
        .find(|f| matches!(&f.body, FactBody::Gauged(g) if g.end == end))
        .map(|f| f.happened_at)
}

fn mates(story: &[Fact], end: EndId, from: Moment, to: Moment) -> impl Iterator<Item = (EndId, &Fact)> {
    story.iter().filter(move |f| from <= f.happened_at && f.happened_at <= to).filter_map(move |f| {
        match &f.body {
            FactBody::Mated(m) if m.a == end => Some((m.b, f)),
            FactBody::Mated(m) if m.b == end => Some((m.a, f)),
            _ => None,
        }
    })
}
