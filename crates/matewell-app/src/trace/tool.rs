//! What was gauged or tightened while a tool may have been off.

use super::{gauges::EVER, names, results, window::Known};
use crate::{AppError, Workshop, sentence};
use matewell_contact::{Resolution as How, ToolIndex, ToolUse, tool_uses};
use matewell_lab::{
    EndId, Fact, FactBody, FactId, ItemId, ItemKind, Mated, Moment, Resolution, Subject, standing_facts,
};
use matewell_store::{Stretch, TouchedBy};
use matewell_wire::{EndNameJson, ResultInDoubtJson, ThroughJson, ToolTraceJson, ToolUseJson, moment_text};
use std::collections::BTreeMap;

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
    let (mut good, mut evidence) = window(&facts, id, at);
    good = since.map_or(good, Known::asked);
    evidence = until.map_or(evidence, Known::asked);
    if good.at > evidence.at {
        return Err(AppError::Field {
            field: if since.is_some() { "since" } else { "until" },
            message: format!(
                "expected a last known good no later than the first evidence, found {} and {}",
                moment_text(good.at),
                moment_text(evidence.at)
            ),
        });
    }
    let uses: Vec<(&Fact, Vec<EndId>)> =
        facts.iter().filter_map(|fact| Some((fact, used_on(fact, id)?))).collect();
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
    let found = tool_uses(&asked, ToolIndex(0), good.at.microseconds(), evidence.at.microseconds())
        .map_err(super::question)?;
    let tags = shop.tags();
    let mut in_doubt: BTreeMap<(Moment, FactId), ResultInDoubtJson> = BTreeMap::new();
    let mut lines = Vec::with_capacity(found.len());
    for doubt in &found {
        let place = usize::try_from(doubt.used.sequence).unwrap_or(usize::MAX);
        let Some((fact, ends)) = uses.get(place) else { continue };
        let results = match &fact.body {
            FactBody::Mated(mated) => through_joint(shop, fact, mated, at)?,
            _ => Vec::new(),
        };
        lines.push(ToolUseJson {
            fact: fact.id.to_string(),
            at: moment_text(fact.happened_at),
            person: fact.person.clone(),
            ends: ends.iter().map(|end| EndNameJson::new(*end, &tags)).collect(),
            off_by_then: doubt.off_by_then,
            text: match (&fact.body, ends.first()) {
                (FactBody::Mated(_), Some(first)) => sentence::of(&fact.body, Subject::End(*first), &tags),
                (body, _) => sentence::of(body, Subject::Item(id), &tags),
            },
            results: results.iter().map(|(result, _)| result.id.to_string()).collect(),
        });
        for (result, through) in results {
            let FactBody::ResultNoted(noted) = &result.body else { continue };
            in_doubt
                .entry((result.happened_at, result.id))
                .or_insert_with(|| results::in_doubt(shop, &result, noted, Vec::new()))
                .through
                .extend(through);
        }
    }
    let text = format!(
        "{} used {} times since it was last in order ({}); {} results through what it tightened.",
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
    shop: &Workshop,
    mate: &Fact,
    mated: &Mated,
    at: Moment,
) -> Result<Vec<(Fact, Vec<ThroughJson>)>, AppError> {
    let mut until = EVER.1;
    for end in [mated.a, mated.b] {
        let facts = standing_facts(&shop.store.facts_of_end(end)?, at);
        let ends_it = |fact: &&Fact| {
            fact.happened_at > mate.happened_at
                && match &fact.body {
                    FactBody::Parted(p) => p.a == end || p.b == end,
                    FactBody::Mated(m) => m.a == end || m.b == end,
                    FactBody::Gauged(g) => g.end == end,
                    _ => false,
                }
        };
        if let Some(ended) = facts.iter().find(ends_it) {
            until = until.min(ended.happened_at);
        }
    }
    let stretch = |end| Stretch { of: TouchedBy::End(end), from: mate.happened_at, until };
    let mut facts = shop.store.results_within(&[stretch(mated.a), stretch(mated.b)], at)?;
    facts.sort_by_key(|fact| (fact.happened_at, fact.id));
    let tags = shop.tags();
    let through = |fact: &Fact| {
        let FactBody::ResultNoted(result) = &fact.body else { return Vec::new() };
        [mated.a, mated.b]
            .into_iter()
            .filter(|end| result.chain.contains(end))
            .map(|end| ThroughJson {
                end: names::carrier(TouchedBy::End(end), &tags),
                since: moment_text(mate.happened_at),
                certainty: "possible".to_owned(),
            })
            .collect()
    };
    Ok(facts
        .into_iter()
        .map(|fact| {
            let through = through(&fact);
            (fact, through)
        })
        .collect())
}
