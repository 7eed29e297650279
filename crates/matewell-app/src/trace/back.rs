//! Backward: what could have made an end bad, and what several have in
//! common.

use super::{
    Bad, TraceOrder, names,
    taint::{self, transmits},
    window::Window,
};
use crate::{AppError, Workshop};
use matewell_contact::{backward, backward_batched, common_source};
use matewell_lab::{Moment, standing_facts};
use matewell_store::TouchedBy;
use matewell_wire::{
    BackStretchJson, BackTraceJson, CandidateJson, CommonJson, CommonTraceJson, KnownMomentJson, moment_text,
};

/// How far back is looked when nobody says: the lab's policy for exposures,
/// before the last known good of the end.
fn not_before(shop: &Workshop, order: &TraceOrder, bad: &[Bad]) -> Moment {
    order.not_before.unwrap_or_else(|| {
        let days = shop.sheets.policy().exposure_days.value;
        let evidence = bad.iter().map(|b| b.window.evidence.at).min();
        let good = bad.iter().map(|b| b.window.good.at).min();
        let by_policy = evidence.map_or(Moment::from_microseconds(i64::MIN), |at| at.plus_days(-days));
        good.map_or(by_policy, |good| good.min(by_policy))
    })
}

pub(crate) fn back(shop: &Workshop, order: &TraceOrder, at: Moment) -> Result<BackTraceJson, AppError> {
    let (bad, kind) = shop.bad_ends(order, at)?;
    let [bad] = bad.as_slice() else {
        return Err(AppError::Field {
            field: "ends",
            message: format!("expected one end to look back from, found {}", bad.len()),
        });
    };
    let from = not_before(shop, order, std::slice::from_ref(bad));
    let part = shop.part_before(bad, from, kind, at)?;
    let transmits = transmits(shop.sheets.policy());
    let source = super::numbered(std::slice::from_ref(bad), |of| {
        part.number(of).unwrap_or(matewell_contact::EndIndex(u32::MAX))
    });
    let mut candidates = Vec::new();
    let labels = names::Labels::new(&part, shop);
    for source in &source {
        for found in
            backward(&part.history, source, from.microseconds(), kind, transmits).map_err(super::question)?
        {
            let evidence = part
                .name(found.end)
                .map(|of| evidence(shop, of, Moment::from_microseconds(found.latest_departure), at))
                .transpose()?
                .flatten();
            candidates.push(CandidateJson {
                end: labels.of(found.end),
                latest_departure: names::text(found.latest_departure),
                hops: found.hops,
                via: labels.steps(&found.via),
                stretches: found
                    .stretches
                    .iter()
                    .map(|s| BackStretchJson { after: s.after.map(names::text), until: names::text(s.until) })
                    .collect(),
                order_unknown: found.order_unknown,
                evidence,
            });
        }
    }
    // Stable: the order of the contact room within each half.
    candidates.sort_by_key(|c| c.evidence.is_none());
    let known = candidates.iter().filter(|c| c.evidence.is_some()).count();
    let json = names::source(bad, shop);
    let text = format!(
        "{} could have made {} bad ({}) since {}; {known} with evidence of its own. Nothing says that one did.",
        counted(candidates.len()),
        json.end.tag,
        taint::word(kind),
        json.last_known_good.at,
    );
    Ok(BackTraceJson {
        at: moment_text(at),
        kind: taint::word(kind).to_owned(),
        bad: json,
        not_before: moment_text(from),
        candidates,
        text,
    })
}

pub(crate) fn common(shop: &Workshop, order: &TraceOrder, at: Moment) -> Result<CommonTraceJson, AppError> {
    let (bad, kind) = shop.bad_ends(order, at)?;
    if bad.len() < 2 {
        return Err(AppError::Field {
            field: "ends",
            message: format!(
                "expected at least two ends to find what they have in common, found {}",
                bad.len()
            ),
        });
    }
    let from = not_before(shop, order, &bad);
    let transmits = transmits(shop.sheets.policy());
    let mut contacts = super::Contacts::new(shop, at, None);
    for source in super::numbered(&bad, |of| contacts.number(of)) {
        backward_batched(&mut contacts, &source, from.microseconds(), kind, transmits)
            .map_err(super::batch)?;
    }
    let part = contacts.into_part()?;
    let sources = super::numbered(&bad, |of| part.number(of).unwrap_or(matewell_contact::EndIndex(u32::MAX)));
    let found = common_source(&part.history, &sources, from.microseconds(), kind, transmits)
        .map_err(super::question)?;
    let labels = names::Labels::new(&part, shop);
    let mut common = Vec::with_capacity(found.len());
    for one in &found {
        let evidence = match part.name(one.end) {
            Some(of) => {
                let by = one.together_until.map_or(at, Moment::from_microseconds);
                evidence(shop, of, by, at)?
            }
            None => None,
        };
        common.push(CommonJson {
            end: labels.of(one.end),
            explains: one.explains.iter().map(|end| labels.of(*end)).collect(),
            together_until: one.together_until.map(names::text),
            hops: one.hops,
            order_unknown: one.order_unknown,
            evidence,
        });
    }
    let labels: Vec<String> = bad.iter().map(|b| names::source(b, shop).end.tag).collect();
    let text = match common.first() {
        Some(first) => format!(
            "{} could explain {} of {}; {} in all explain at least two. Nothing says that one did.",
            first.end.tag,
            first.explains.len(),
            names::listed(&labels),
            counted(common.len()),
        ),
        None => format!("Nothing on record touched its way to two of {}.", names::listed(&labels)),
    };
    Ok(CommonTraceJson {
        at: moment_text(at),
        kind: taint::word(kind).to_owned(),
        bad: bad.iter().map(|b| names::source(b, shop)).collect(),
        not_before: moment_text(from),
        common,
        text,
    })
}

fn counted(count: usize) -> String {
    match count {
        1 => "1 end".to_owned(),
        n => format!("{n} ends or gauges"),
    }
}

/// Evidence that an end may have been bad at a moment: a finding whose window
/// reaches it.
fn evidence(
    shop: &Workshop,
    of: TouchedBy,
    by: Moment,
    at: Moment,
) -> Result<Option<KnownMomentJson>, AppError> {
    let TouchedBy::End(end) = of else { return Ok(None) };
    if !shop.store.has_findings(end)? {
        return Ok(None);
    }
    let facts = standing_facts(&shop.store.facts_of_end(end)?, at);
    let (windows, _) = super::window::windows(end, &facts, &mut super::gauges::Gauges::new(shop, at))?;
    let fits = |w: &&Window| w.good.at <= by && w.evidence.is_evidence() && w.evidence.because != "held";
    Ok(windows.iter().filter(fits).max_by_key(|w| w.evidence.at).map(|w| names::known(&w.evidence)))
}
