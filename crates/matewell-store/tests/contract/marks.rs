//! The marks beside the log, and what is found by them.

use crate::bench::{
    MACHINE, at, corrected, damaged, end, fact, gauged, held, item, mated, registrations, stored,
};
use matewell_lab::{
    Correction, FactBody, GaugeZero, Moment, Resolution, ResultNoted, ToolCheck, ToolChecked,
};
use matewell_quantity::Length;
use matewell_store::{Store, Stretch, TouchedBy};

/// A log with every kind of mark.
pub(crate) fn fill(mut store: Store) -> Store {
    store.append(&registrations()).unwrap();
    let zero = GaugeZero { reads_more_recessed: Length::from_micrometres(0.0).unwrap(), in_order: true };
    let result = ResultNoted {
        uri: "lab://results/1".to_owned(),
        sha256: None,
        device: None,
        chain: vec![end(0, 0), end(1, 1)],
    };
    let mut by_day = mated(16, end(2, 0), end(3, 1));
    by_day.resolution = Resolution::Day;
    store
        .append(&[
            mated(10, end(0, 0), end(1, 1)),
            gauged(11, end(0, 0)),
            damaged(12, end(1, 1)),
            held(13, end(1, 1)),
            stored(14, item(0)),
            fact(15, FactBody::ToolChecked(ToolChecked { tool: item(4), check: ToolCheck::GaugeZero(zero) })),
            by_day,
            fact(17, FactBody::ResultNoted(result)),
            fact(18, FactBody::Cleaned { end: end(2, 0), method: None }),
            corrected(19, 12, Correction::Void),
            corrected(20, 10, Correction::Body(Box::new(mated(10, end(0, 0), end(2, 1)).body))),
            corrected(21, 19, Correction::Void),
        ])
        .unwrap();
    store
}

#[test]
fn what_happened_within_stretches_is_found_once_and_corrected() {
    let store = fill(super::engine::fresh(MACHINE));
    let ever = Moment::from_microseconds(i64::MAX);
    let stretch = |of, from, until| Stretch { of: TouchedBy::End(of), from: at(from), until: at(until) };
    let ids = |facts: Vec<matewell_lab::Fact>| facts.into_iter().map(|f| f.id).collect::<Vec<_>>();
    // The mate was with another end; both stretches find it, once.
    let both = [stretch(end(0, 0), 0, 99), stretch(end(2, 1), 0, 99)];
    assert_eq!(
        ids(store.contacts_within(&both, ever).unwrap()),
        [crate::bench::id(10), crate::bench::id(11)]
    );
    assert!(store.contacts_within(&[stretch(end(1, 1), 0, 99)], ever).unwrap().is_empty());
    // Until is not included, and nothing after `to` is told.
    assert!(store.contacts_within(&[stretch(end(0, 0), 0, 10)], ever).unwrap().is_empty());
    assert_eq!(store.contacts_within(&[stretch(end(0, 0), 0, 99)], at(10)).unwrap().len(), 1);
    // The voided finding was brought back.
    let looks = store.cares_within(&[stretch(end(1, 1), 0, 99)], ever).unwrap();
    assert_eq!(ids(looks), [crate::bench::id(12)]);
    assert_eq!(
        ids(store.results_within(&[stretch(end(1, 1), 0, 99)], ever).unwrap()),
        [crate::bench::id(17)]
    );
    let gauge = Stretch { of: TouchedBy::Gauge(item(4)), from: at(0), until: at(99) };
    assert_eq!(ids(store.cares_within(&[gauge], ever).unwrap()), [crate::bench::id(15)]);
    assert_eq!(ids(store.contacts_within(&[gauge], ever).unwrap()), [crate::bench::id(11)]);
    assert_eq!(store.unordered_days(0, 1, ever).unwrap(), [0]);
    assert!(store.unordered_days(1, 2, ever).unwrap().is_empty());
    assert!(store.has_harm(end(1, 1)).unwrap() && !store.has_harm(end(3, 0)).unwrap());
    assert!(store.ends_with_harm(at(0), at(99)).unwrap().contains(&end(1, 1)));
    assert_eq!(store.last_number().unwrap(), store.counts().unwrap().facts);
    assert!(store.latest_happened().unwrap().unwrap() >= at(21));
    assert_eq!(store.registered(item(0)).unwrap().unwrap().id, item(0));
    assert!(store.registered(item(77)).unwrap().is_none());
}
