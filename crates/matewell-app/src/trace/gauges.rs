//! Gauges as a trace needs them: what each can show, and when it was off.

use super::taint::Care;
use crate::{AppError, Workshop};
use matewell_lab::{Fact, FactBody, Gauged, GaugingOnRecord, ItemId, Moment, ToolRecord, in_order};
use matewell_store::{Stretch, TouchedBy};
use matewell_verdict::{PinDecision, Policy, pin_knowledge};
use std::collections::HashMap;

/// The beginning and the end of time.
pub(crate) const EVER: (Moment, Moment) =
    (Moment::from_microseconds(i64::MIN), Moment::from_microseconds(i64::MAX));

struct Gauge {
    record: Option<ToolRecord>,
    /// After the last check in order, up to the next one: found off between.
    off: Vec<(Moment, Moment)>,
}

/// Gauges met so far.
pub(crate) struct Gauges<'a> {
    shop: &'a Workshop,
    at: Moment,
    policy: Policy,
    met: HashMap<ItemId, Gauge>,
}

impl<'a> Gauges<'a> {
    pub(crate) fn new(shop: &'a Workshop, at: Moment) -> Self {
        Self { shop, at, policy: shop.book().policy(), met: HashMap::new() }
    }

    /// What a gauging says of the pin: out, shown safe, or neither. A gauging
    /// with a gauge that was found off at its next check shows nothing safe,
    /// unless the offset has been taken out of it.
    pub(crate) fn decide(&mut self, fact: &Fact, gauged: &Gauged) -> Result<PinDecision, AppError> {
        if let Some(id) = gauged.gauge {
            self.meet(id)?;
        }
        let gauge = gauged.gauge.and_then(|id| self.met.get(&id));
        let on_record = GaugingOnRecord {
            fact: fact.id,
            at: fact.happened_at,
            person: String::new(),
            contacts: 0,
            gauged: gauged.clone(),
        };
        let is_corrected = gauged.session.as_ref().is_some_and(|s| s.gauge_off.is_some());
        let was_off = !is_corrected
            && gauge.is_some_and(|g| {
                g.off.iter().any(|(after, until)| *after < fact.happened_at && fact.happened_at < *until)
            });
        let record = gauge.and_then(|g| g.record.as_ref());
        let found = pin_knowledge(Some(&on_record), record, &self.shop.book(), &self.policy)?.decision;
        Ok(if was_off && found == PinDecision::ShownSafe { PinDecision::NotShownSafe } else { found })
    }

    fn meet(&mut self, id: ItemId) -> Result<(), AppError> {
        if !self.met.contains_key(&id) {
            let gauge = load(self.shop, id, self.at)?;
            self.met.insert(id, gauge);
        }
        Ok(())
    }
}

fn load(shop: &Workshop, id: ItemId, at: Moment) -> Result<Gauge, AppError> {
    let record = shop.store.registered(id)?.map(|item| ToolRecord {
        item,
        last_check: None,
        last_certificate: None,
        last_position: None,
        uses_since_check: 0,
        retired: None,
    });
    let ever = Stretch { of: TouchedBy::Gauge(id), from: EVER.0, until: EVER.1 };
    let mut checks = shop.store.cares_within(&[ever], at)?;
    in_order(&mut checks);
    Ok(Gauge { record, off: off_between(&checks, id) })
}

/// The times in which a tool may have been off: from the last check in order
/// before one that was not, to the next that was.
pub(crate) fn off_between(checks: &[Fact], tool: ItemId) -> Vec<(Moment, Moment)> {
    let mut found = Vec::new();
    let mut good = EVER.0;
    let mut off_since = None;
    for fact in checks {
        let FactBody::ToolChecked(checked) = &fact.body else { continue };
        if checked.tool != tool {
            continue;
        }
        if checked.check.in_order() {
            if let Some(since) = off_since.take() {
                found.push((since, fact.happened_at));
            }
            good = fact.happened_at;
        } else if off_since.is_none() {
            off_since = Some(good);
        }
    }
    found.extend(off_since.map(|since| (since, EVER.1)));
    found
}

/// What a check of a gauge clears on it.
pub(crate) fn care_of(check: &matewell_lab::ToolCheck) -> Option<Care> {
    use matewell_lab::ToolCheck;
    match check {
        ToolCheck::GaugeZero(zero) => zero.in_order.then_some(Care::ZeroInOrder),
        ToolCheck::Certificate(certificate) => certificate.in_order.then_some(Care::Certified),
        ToolCheck::Wrench(_) => None,
    }
}
