//! Names and moments of a trace as JSON.

use super::{Bad, contacts::Part, window::Known};
use crate::{Workshop, workshop::Tags};
use matewell_contact::{EndIndex, Step};
use matewell_lab::Moment;
use matewell_store::TouchedBy;
use matewell_wire::{CarrierJson, KnownMomentJson, Names, TraceSourceJson, TraceStepJson, moment_text};
use std::{cell::RefCell, collections::HashMap};

pub(crate) fn text(microseconds: i64) -> String {
    moment_text(Moment::from_microseconds(microseconds))
}

pub(crate) fn carrier(of: TouchedBy, names: &Tags<'_>) -> CarrierJson {
    let (id, tag, what) = match of {
        TouchedBy::End(end) => (end.to_string(), names.end_tag(end), "end"),
        TouchedBy::Gauge(item) => (item.to_string(), names.item_tag(item), "gauge"),
    };
    CarrierJson { id, tag, what: what.to_owned() }
}

/// The names of a part, each looked up once: paths name the same ends again
/// and again.
pub(crate) struct Labels<'a> {
    part: &'a Part,
    shop: &'a Workshop,
    known: RefCell<HashMap<EndIndex, CarrierJson>>,
}

impl<'a> Labels<'a> {
    pub(crate) fn new(part: &'a Part, shop: &'a Workshop) -> Self {
        Self { part, shop, known: RefCell::default() }
    }

    /// A number that the part does not know cannot come out of it.
    pub(crate) fn of(&self, end: EndIndex) -> CarrierJson {
        let look_up = || {
            self.part.name(end).map_or_else(
                || CarrierJson {
                    id: String::new(),
                    tag: format!("number {}", end.0),
                    what: "end".to_owned(),
                },
                |of| carrier(of, &self.shop.tags()),
            )
        };
        self.known.borrow_mut().entry(end).or_insert_with(look_up).clone()
    }

    pub(crate) fn steps(&self, via: &[Step]) -> Vec<TraceStepJson> {
        via.iter()
            .map(|step| TraceStepJson {
                at: text(step.at),
                from: self.of(step.from),
                to: self.of(step.to),
                fact: self.part.touch(step.at, step.from, step.to).map(|fact| fact.to_string()),
            })
            .collect()
    }
}

pub(crate) fn known(known: &Known) -> KnownMomentJson {
    KnownMomentJson {
        at: moment_text(known.at),
        because: known.because.to_owned(),
        fact: known.fact.map(|fact| fact.to_string()),
    }
}

pub(crate) fn source(bad: &Bad, shop: &Workshop) -> TraceSourceJson {
    TraceSourceJson {
        end: carrier(TouchedBy::End(bad.end), &shop.tags()),
        last_known_good: known(&bad.window.good),
        first_evidence: known(&bad.window.evidence),
    }
}

/// `CB-1A`, `CB-1A and CB-2A`, `CB-1A, CB-2A and 3 more`.
pub(crate) fn listed(tags: &[String]) -> String {
    match tags {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [one, two] => format!("{one} and {two}"),
        [one, two, rest @ ..] => format!("{one}, {two} and {} more", rest.len()),
    }
}
