//! Against networkx on the time-expanded graph (`crosscheck/contact`).
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use std::collections::BTreeMap;

use matewell_contact::{
    EndIndex, Event, EventKind, History, Resolution, Source, TaintKind, TaintSet, backward, forward,
};
use serde_json::Value;

const KIND: TaintKind = TaintKind::Residue;
const FILM: TaintSet = TaintSet::NONE.with(TaintKind::Residue);

fn number(value: &Value) -> i64 {
    value.as_i64().unwrap()
}

fn end(value: &Value) -> EndIndex {
    EndIndex(u32::try_from(number(value)).unwrap())
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().unwrap()
}

fn history(case: &Value) -> History {
    let event = |(sequence, row): (u64, &Value)| {
        let kind = if row[1] == "clear" {
            EventKind::Clear { end: end(&row[2]), clears: FILM }
        } else {
            EventKind::Touch { a: end(&row[1]), b: end(&row[2]) }
        };
        Event { at: number(&row[0]), sequence, resolution: Resolution::Instant, kind }
    };
    let events = (0..).zip(list(&case["events"])).map(event).collect();
    History::new(end(&case["ends"]).0, events).unwrap()
}

fn cases() -> Value {
    serde_json::from_str(include_str!("../../../crosscheck/contact/cases.json")).unwrap()
}

#[test]
fn forward_agrees_with_networkx() {
    let mut compared = 0;
    for (index, case) in list(&cases()["cases"]).iter().enumerate() {
        let since = number(&case["since"]);
        let source = Source { end: end(&case["source"]), last_known_good: since, first_evidence: since };
        let found = forward(&history(case), &[source], KIND, FILM).unwrap();
        let ours: BTreeMap<_, _> = found
            .iter()
            .map(|x| (x.end, (x.arrived_at, i64::from(x.hops), x.intervals.last().unwrap().until.is_none())))
            .collect();
        let theirs: BTreeMap<_, _> = list(&case["forward"])
            .iter()
            .map(|row| (end(&row[0]), (number(&row[1]), number(&row[2]), row[3].as_bool().unwrap())))
            .collect();
        assert_eq!(ours, theirs, "case {index}");
        compared += theirs.len();
    }
    assert_eq!(compared, 376);
}

#[test]
fn backward_agrees_with_networkx() {
    let mut compared = 0;
    for (index, case) in list(&cases()["cases"]).iter().enumerate() {
        // Good long before the log began.
        let bad =
            Source { end: end(&case["bad"]), last_known_good: -1, first_evidence: number(&case["evidence"]) };
        let found = backward(&history(case), &bad, -1, KIND, FILM).unwrap();
        let ours: BTreeMap<_, _> = found.iter().map(|c| (c.end, c.latest_departure)).collect();
        let theirs: BTreeMap<_, _> =
            list(&case["backward"]).iter().map(|row| (end(&row[0]), number(&row[1]))).collect();
        assert_eq!(ours, theirs, "case {index}");
        compared += theirs.len();
    }
    assert_eq!(compared, 285);
}
