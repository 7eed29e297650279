//! What was gauged or tightened while a tool may have been off.

use super::{
    gauges::{EVER, Gauges},
    names, results,
    window::Known,
};
use crate::{AppError, Workshop, sentence};
use matewell_contact::{Resolution as How, ToolIndex, ToolUse, tool_uses};
use matewell_lab::{
    EndId, Fact, FactBody, FactId, ItemId, ItemKind, Mated, Moment, Resolution, Subject, standing_facts,
};
use matewell_store::{Stretch, TouchedBy};
use matewell_verdict::PinDecision;
use matewell_wire::{EndNameJson, ResultInDoubtJson, ThroughJson, ToolTraceJson, ToolUseJson, moment_text};
use std::collections::{BTreeMap, BTreeSet, btree_map::Entry};

pub(crate) fn tool(
    shop: &Workshop,
    tag: &str,
    since: Option<Moment>,
    until: Option<Moment>,
    at: Moment,
) -> Result<ToolTraceJson, AppError> {
    let id = shop.one_item("a tool", tag)?;
    let item = shop
        .store
        .registered(id)?
        .filter(|item| matches!(item.kind, ItemKind::Gauge | ItemKind::GaugeMaster | ItemKind::TorqueWrench))
        .ok_or_else(|| AppError::Field {
            field: "tool",
            message: format!("expected a gauge or a torque wrench, found {}", tag.trim()),
        })?;
    let facts = standing_facts(&shop.store.facts_of_item(id)?, at);
    let (good, evidence) = window_asked(&facts, id, (since, until), at)?;
    let doubts = doubts(shop, id, &facts, (good.at, evidence.at), at)?;
    let tags = shop.tags();
    let mut in_doubt: BTreeMap<(Moment, FactId), ResultInDoubtJson> = BTreeMap::new();
    let mut lines = Vec::with_capacity(doubts.len());
    for Doubt { fact, ends, off_by_then, results, .. } in &doubts {
        lines.push(ToolUseJson {
            fact: fact.id.to_string(),
            at: moment_text(fact.happened_at),
            person: fact.person.clone(),
            ends: ends.iter().map(|end| EndNameJson::new(*end, &tags)).collect(),
            off_by_then: *off_by_then,
            text: match (&fact.body, ends.first()) {
                (FactBody::Mated(_), Some(first)) => sentence::of(&fact.body, Subject::End(*first), &tags),
                (body, _) => sentence::of(body, Subject::Item(id), &tags),
            },
            results: results.iter().map(|(result, _)| result.id.to_string()).collect(),
        });
        for (result, through) in results {
            let FactBody::ResultNoted(noted) = &result.body else { continue };
            let line = in_doubt
                .entry((result.happened_at, result.id))
                .or_insert_with(|| results::in_doubt(shop, result, noted, Vec::new()));
            for end in through {
                let id = end.to_string();
                if line.through.iter().any(|known| known.end.id == id) {
                    continue;
                }
                line.through.push(ThroughJson {
                    end: names::carrier(TouchedBy::End(*end), &tags),
                    since: moment_text(fact.happened_at),
                    certainty: "possible".to_owned(),
                });
            }
        }
    }
    let text = format!(
        "{} used {} times since it was last in order ({}); {} results through what it gauged or tightened.",
        item.tag,
        lines.len(),
        moment_text(good.at),
        in_doubt.len(),
    );
    Ok(ToolTraceJson {
        at: moment_text(at),
        id: id.to_string(),
        tag: item.tag,
        tool_kind: item.kind.word().to_owned(),
        last_known_good: names::known(&good),
        first_evidence: names::known(&evidence),
        uses: lines,
        results: in_doubt.into_values().collect(),
        text,
    })
}

/// One use of a tool while it may have been off.
pub(crate) struct Doubt {
    /// The gauging or the mate.
    pub(crate) fact: Fact,
    /// What was gauged or tightened.
    pub(crate) ends: Vec<EndId>,
    /// Probability that the tool was off by then, if it went off at a moment
    /// uniform in the window.
    pub(crate) off_by_then: f64,
    /// Results that rest on it, each with the ends it went through.
    pub(crate) results: Vec<(Fact, Vec<EndId>)>,
    /// When each of the ends was shown in order after it; in the order of the ends.
    pub(crate) shown_in_order: Vec<Option<Moment>>,
}

/// Facts of ends as they stand, each end read once.
struct Ends<'a> {
    shop: &'a Workshop,
    at: Moment,
    read: BTreeMap<EndId, Vec<Fact>>,
}

impl Ends<'_> {
    fn standing(&mut self, end: EndId) -> Result<&[Fact], AppError> {
        Ok(match self.read.entry(end) {
            Entry::Occupied(read) => read.into_mut(),
            Entry::Vacant(place) => {
                place.insert(standing_facts(&self.shop.store.facts_of_end(end)?, self.at))
            }
        })
    }
}

/// Uses of a tool between its last known good and the first evidence that it
/// was off, oldest first. `facts`: those of the tool as they stand.
pub(crate) fn doubts(
    shop: &Workshop,
    tool: ItemId,
    facts: &[Fact],
    window: (Moment, Moment),
    at: Moment,
) -> Result<Vec<Doubt>, AppError> {
    let uses: Vec<(&Fact, Vec<EndId>)> =
        facts.iter().filter_map(|fact| Some((fact, used_on(fact, tool)?))).collect();
    let asked: Vec<ToolUse> = uses
        .iter()
        .zip(0_u64..)
        .map(|((fact, _), sequence)| ToolUse {
            tool: ToolIndex(0),
            at: fact.happened_at.microseconds(),
            sequence,
            resolution: match fact.resolution {
                Resolution::Instant => How::Instant,
                Resolution::Day => How::Day,
            },
        })
        .collect();
    let (good, evidence) = (window.0.microseconds(), window.1.microseconds());
    let found = tool_uses(&asked, ToolIndex(0), good, evidence).map_err(super::question)?;
    let in_window: BTreeSet<FactId> = found
        .iter()
        .filter_map(|doubt| uses.get(usize::try_from(doubt.used.sequence).ok()?))
        .map(|(fact, _)| fact.id)
        .collect();
    let mut gauges = Gauges::new(shop, at);
    let mut read = Ends { shop, at, read: BTreeMap::new() };
    let mut doubts = Vec::with_capacity(found.len());
    for doubt in &found {
        let place = usize::try_from(doubt.used.sequence).unwrap_or(usize::MAX);
        let Some((fact, ends)) = uses.get(place) else { continue };
        let mut shown_in_order = Vec::with_capacity(ends.len());
        for end in ends {
            shown_in_order.push(shown_after(
                read.standing(*end)?,
                fact.happened_at,
                &in_window,
                &mut gauges,
            )?);
        }
        let results = if let FactBody::Mated(mated) = &fact.body {
            through_joint(&mut read, fact, mated)?
        } else {
            let until = shown_in_order.first().copied().flatten().unwrap_or(EVER.1);
            through_ends(shop, ends, fact.happened_at, until, at)?
        };
        doubts.push(Doubt {
            fact: (*fact).clone(),
            ends: ends.clone(),
            off_by_then: doubt.off_by_then,
            results,
            shown_in_order,
        });
    }
    Ok(doubts)
}

/// When an end was next shown in order by a gauging that is not in doubt
/// itself, or its contact was made anew.
fn shown_after(
    facts: &[Fact],
    used_at: Moment,
    in_window: &BTreeSet<FactId>,
    gauges: &mut Gauges<'_>,
) -> Result<Option<Moment>, AppError> {
    for fact in facts {
        if fact.happened_at < used_at {
            continue;
        }
        let shows = match &fact.body {
            FactBody::Replaced(_) => fact.happened_at > used_at,
            FactBody::Gauged(gauged) => {
                let is_corrected = gauged.session.as_ref().is_some_and(|s| s.gauge_off.is_some());
                (is_corrected || !in_window.contains(&fact.id))
                    && gauges.decide(fact, gauged)? == PinDecision::ShownSafe
            }
            _ => false,
        };
        if shows {
            return Ok(Some(fact.happened_at));
        }
    }
    Ok(None)
}

/// The window as asked, else as the record has it.
pub(crate) fn window_asked(
    facts: &[Fact],
    tool: ItemId,
    (since, until): (Option<Moment>, Option<Moment>),
    at: Moment,
) -> Result<(Known, Known), AppError> {
    let (good, evidence) = window(facts, tool, at);
    let (good, evidence) = (since.map_or(good, Known::asked), until.map_or(evidence, Known::asked));
    if good.at <= evidence.at {
        return Ok((good, evidence));
    }
    Err(AppError::Field {
        field: if since.is_some() { "since" } else { "until" },
        message: format!(
            "expected a last known good no later than the first evidence, found {} and {}",
            moment_text(good.at),
            moment_text(evidence.at)
        ),
    })
}

/// From the last check in order before the last finding that it was off; up
/// to now where it was never found off.
fn window(facts: &[Fact], tool: ItemId, at: Moment) -> (Known, Known) {
    let registered = facts.iter().find_map(|fact| match &fact.body {
        FactBody::Registered(r) if r.item.id == tool => {
            Some(Known { at: fact.happened_at, because: "registered", fact: Some(fact.id) })
        }
        _ => None,
    });
    let mut good = registered.unwrap_or(Known { at: EVER.0, because: "registered", fact: None });
    let mut found = None;
    let mut is_off = false;
    for fact in facts {
        let FactBody::ToolChecked(checked) = &fact.body else { continue };
        if checked.tool != tool {
            continue;
        }
        if checked.check.in_order() {
            good = Known { at: fact.happened_at, because: "checked-in-order", fact: Some(fact.id) };
            is_off = false;
        } else if !is_off {
            found = Some((good, Known { at: fact.happened_at, because: "found-off", fact: Some(fact.id) }));
            is_off = true;
        }
    }
    found.unwrap_or((good, Known { at, because: "nothing-found", fact: None }))
}

fn used_on(fact: &Fact, tool: ItemId) -> Option<Vec<EndId>> {
    match &fact.body {
        FactBody::Gauged(gauged) if gauged.gauge == Some(tool) => Some(vec![gauged.end]),
        FactBody::Mated(mated) if mated.wrench == Some(tool) => Some(vec![mated.a, mated.b]),
        _ => None,
    }
}

/// Results through a joint from its mate until either end was parted or
/// touched again.
fn through_joint(
    read: &mut Ends<'_>,
    mate: &Fact,
    mated: &Mated,
) -> Result<Vec<(Fact, Vec<EndId>)>, AppError> {
    let mut until = EVER.1;
    for end in [mated.a, mated.b] {
        let ends_it = |fact: &&Fact| {
            fact.happened_at > mate.happened_at
                && match &fact.body {
                    FactBody::Parted(p) => p.a == end || p.b == end,
                    FactBody::Mated(m) => m.a == end || m.b == end,
                    FactBody::Gauged(g) => g.end == end,
                    _ => false,
                }
        };
        if let Some(ended) = read.standing(end)?.iter().find(ends_it) {
            until = until.min(ended.happened_at);
        }
    }
    through_ends(read.shop, &[mated.a, mated.b], mate.happened_at, until, read.at)
}

/// Results whose chain held one of these ends within a time, oldest first.
fn through_ends(
    shop: &Workshop,
    ends: &[EndId],
    from: Moment,
    until: Moment,
    at: Moment,
) -> Result<Vec<(Fact, Vec<EndId>)>, AppError> {
    let stretches: Vec<Stretch> =
        ends.iter().map(|end| Stretch { of: TouchedBy::End(*end), from, until }).collect();
    let mut facts = shop.store.results_within(&stretches, at)?;
    facts.sort_by_key(|fact| (fact.happened_at, fact.id));
    let through = |fact: &Fact| match &fact.body {
        FactBody::ResultNoted(result) => {
            ends.iter().copied().filter(|end| result.chain.contains(end)).collect()
        }
        _ => Vec::new(),
    };
    Ok(facts
        .into_iter()
        .map(|fact| {
            let through = through(&fact);
            (fact, through)
        })
        .collect())
}
