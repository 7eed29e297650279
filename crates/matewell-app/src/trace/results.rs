//! Results made through ends while they were exposed.

use super::{Traced, names};
use crate::{AppError, Workshop};
use matewell_contact::{DAY, Exposure};
use matewell_lab::{Fact, FactBody, Moment, Resolution, ResultNoted};
use matewell_store::{Stretch, TouchedBy};
use matewell_wire::{EndNameJson, ResultInDoubtJson, ThroughJson, moment_text};
use std::collections::BTreeMap;

/// Results whose chain held an end while it was exposed, oldest first. One
/// known to the day counts if any of its day does.
pub(crate) fn through_exposed(
    shop: &Workshop,
    traced: &Traced,
    at: Moment,
) -> Result<Vec<ResultInDoubtJson>, AppError> {
    let mut stretches = Vec::new();
    let mut exposures: BTreeMap<TouchedBy, &Exposure> = BTreeMap::new();
    for exposure in &traced.exposed {
        let Some(of @ TouchedBy::End(_)) = traced.name(exposure) else { continue };
        exposures.insert(of, exposure);
        for interval in &exposure.intervals {
            stretches.push(Stretch {
                of,
                from: Moment::from_microseconds(day(interval.since)),
                until: Moment::from_microseconds(
                    interval.until.map_or(i64::MAX, |until| day(until).saturating_add(DAY)),
                ),
            });
        }
    }
    let mut facts = shop.store.results_within(&stretches, at)?;
    facts.sort_by_key(|fact| (fact.happened_at, fact.sequence, fact.id));
    let mut found = Vec::new();
    for fact in &facts {
        let FactBody::ResultNoted(result) = &fact.body else { continue };
        let (first, last) = moments(fact);
        let through: Vec<ThroughJson> = result
            .chain
            .iter()
            .filter_map(|end| exposures.get(&TouchedBy::End(*end)).map(|x| (*end, *x)))
            .filter_map(|(end, x)| {
                let interval = x
                    .intervals
                    .iter()
                    .find(|i| i.since <= last && i.until.is_none_or(|until| first < until))?;
                let definite = x.definite_at.is_some_and(|definite| definite <= first);
                Some(ThroughJson {
                    end: names::carrier(TouchedBy::End(end), &shop.tags()),
                    since: names::text(interval.since),
                    certainty: if definite { "definite" } else { "possible" }.to_owned(),
                })
            })
            .collect();
        if !through.is_empty() {
            found.push(in_doubt(shop, fact, result, through));
        }
    }
    Ok(found)
}

pub(crate) fn in_doubt(
    shop: &Workshop,
    fact: &Fact,
    result: &ResultNoted,
    through: Vec<ThroughJson>,
) -> ResultInDoubtJson {
    let tags = shop.tags();
    ResultInDoubtJson {
        fact: fact.id.to_string(),
        uri: result.uri.clone(),
        sha256: result.sha256.clone(),
        device: result.device.clone(),
        at: moment_text(fact.happened_at),
        person: fact.person.clone(),
        chain: result.chain.iter().map(|end| EndNameJson::new(*end, &tags)).collect(),
        through,
    }
}

fn day(at: i64) -> i64 {
    at.div_euclid(DAY).saturating_mul(DAY)
}

/// First and last moment at which a fact may have happened.
fn moments(fact: &Fact) -> (i64, i64) {
    let at = fact.happened_at.microseconds();
    match fact.resolution {
        Resolution::Instant => (at, at),
        Resolution::Day => (day(at), day(at).saturating_add(DAY - 1)),
    }
}
