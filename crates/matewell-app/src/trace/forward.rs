//! A forward trace as the doors show it.

use super::{
    TraceOrder, Traced, names,
    odds::odds,
    results, taint,
    what_if::{self, is_open},
};
use crate::{AppError, Workshop, judge::ReadOnce};
use matewell_contact::{DAY, Exposure};
use matewell_lab::Moment;
use matewell_store::TouchedBy;
use matewell_wire::{
    CostOfItemJson, EndNameJson, ExposedJson, ProbabilityJson, StretchJson, TraceJson, moment_text,
};

pub(crate) fn json(
    shop: &Workshop,
    traced: &Traced,
    order: &TraceOrder,
    at: Moment,
) -> Result<TraceJson, AppError> {
    let (probabilities, model) = odds(shop, traced, order.contact_passes)?;
    let once = ReadOnce::default();
    let labels = names::Labels::new(&traced.part, shop);
    let mut exposed = Vec::with_capacity(traced.exposed.len());
    for (exposure, probability) in traced.exposed.iter().zip(probabilities) {
        let json = one(shop, traced, &labels, exposure, probability, &once, at)?;
        exposed.extend(json.map(|json| (exposure.arrived_at, json)));
    }
    exposed.sort_by(|(x_at, x), (y_at, y)| {
        (x_at, x.hops, &x.end.tag, &x.end.id).cmp(&(y_at, y.hops, &y.end.tag, &y.end.id))
    });
    let exposed: Vec<ExposedJson> = exposed.into_iter().map(|(_, json)| json).collect();
    let results = results::through_exposed(shop, traced, at)?;
    let exposed_now = exposed.iter().filter(|x| x.exposed_now).count();
    let tags: Vec<String> = traced.bad.iter().map(|b| names::source(b, shop).end.tag).collect();
    let reached = exposed.iter().filter(|x| x.hops > 0).count();
    let text = format!(
        "{reached} reached from {} ({}), {exposed_now} exposed still, sources included; {} in doubt. Exposed is not damaged.",
        names::listed(&tags),
        taint::word(traced.kind),
        if results.len() == 1 { "1 result".to_owned() } else { format!("{} results", results.len()) },
    );
    Ok(TraceJson {
        at: moment_text(at),
        kind: taint::word(traced.kind).to_owned(),
        sources: traced.bad.iter().map(|b| names::source(b, shop)).collect(),
        exposed_now,
        results,
        unordered_days: traced
            .part
            .history
            .unordered_days()
            .iter()
            .map(|day| names::text(day.saturating_mul(DAY)).chars().take(10).collect())
            .collect(),
        model,
        what_if: what_if::json(shop, traced, &order.what_if)?,
        text,
        exposed,
    })
}

fn one(
    shop: &Workshop,
    traced: &Traced,
    labels: &names::Labels<'_>,
    exposure: &Exposure,
    probability: ProbabilityJson,
    once: &ReadOnce,
    at: Moment,
) -> Result<Option<ExposedJson>, AppError> {
    let tags = shop.tags();
    let Some(of) = traced.name(exposure) else { return Ok(None) };
    let label = labels.label(exposure.end);
    let mut json = ExposedJson {
        end: label.carrier,
        arrived_at: names::text(exposure.arrived_at),
        definite_at: exposure.definite_at.map(names::text),
        certainty: if exposure.definite_at.is_some() { "definite" } else { "possible" }.to_owned(),
        hops: exposure.hops,
        via: labels.steps(&exposure.via),
        intervals: exposure
            .intervals
            .iter()
            .map(|i| StretchJson { since: names::text(i.since), until: i.until.map(names::text) })
            .collect(),
        exposed_now: is_open(exposure),
        order_unknown: exposure.order_unknown,
        probability,
        standing: None,
        item_tag: label.item_tag,
        item_kind: label.item_kind.to_owned(),
        location: None,
        cost: None,
        mated_with: None,
        waiting: Vec::new(),
    };
    match of {
        TouchedBy::End(end) => {
            let loaded = shop.load_to_judge(end, once, at)?;
            json.standing = Some(shop.judge(&loaded)?.standing.word().to_owned());
            let record = &loaded.record;
            json.location.clone_from(&record.item.location);
            json.cost = record
                .item
                .cost
                .as_ref()
                .map(|cost| CostOfItemJson { hundredths: cost.hundredths, currency: cost.currency.clone() });
            json.mated_with = record.mated_with.map(|(end, _)| EndNameJson::new(end, &tags));
            json.waiting = shop.waits_for(&loaded, once, at)?.into_iter().map(|w| w.json).collect();
        }
        TouchedBy::Gauge(item) => {
            if let Some(item) = shop.store.registered(item)? {
                let facts = shop.store.facts_of_item_but_uses(item.id)?;
                let waits = shop.item_waits(&item, &facts, once, at)?;
                json.waiting = waits.into_iter().map(|w| w.json).collect();
                json.location = item.location;
                json.cost = item
                    .cost
                    .map(|cost| CostOfItemJson { hundredths: cost.hundredths, currency: cost.currency });
            }
        }
    }
    Ok(Some(json))
}
