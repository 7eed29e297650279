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
    known: RefCell<HashMap<EndIndex, Label>>,
}

/// What a label says, and whose it is.
#[derive(Clone)]
pub(crate) struct Label {
    pub(crate) carrier: CarrierJson,
    pub(crate) item_tag: String,
    pub(crate) item_kind: &'static str,
}

impl<'a> Labels<'a> {
    pub(crate) fn new(part: &'a Part, shop: &'a Workshop) -> Self {
        Self { part, shop, known: RefCell::default() }
    }

    pub(crate) fn of(&self, end: EndIndex) -> CarrierJson {
        self.label(end).carrier
    }

    /// A number that the part does not know cannot come out of it, and an end
    /// that the store does not know has only its id.
    pub(crate) fn label(&self, end: EndIndex) -> Label {
        let look_up = || {
            let store = &self.shop.store;
            let (of, item_tag, item_kind) = match self.part.name(end) {
                Some(TouchedBy::End(id)) => match store.end(id).ok().flatten() {
                    Some(hit) => {
                        (Some((id.to_string(), hit.end_tag, "end")), hit.item_tag, hit.item_kind.word())
                    }
                    None => (Some((id.to_string(), id.to_string(), "end")), String::new(), ""),
                },
                Some(TouchedBy::Gauge(id)) => match store.item(id).ok().flatten() {
                    Some(hit) => (Some((id.to_string(), hit.tag.clone(), "gauge")), hit.tag, hit.kind.word()),
                    None => (Some((id.to_string(), id.to_string(), "gauge")), String::new(), ""),
                },
                None => (None, String::new(), ""),
            };
            let (id, tag, what) = of.unwrap_or_else(|| (String::new(), format!("number {}", end.0), "end"));
            Label { carrier: CarrierJson { id, tag, what: what.to_owned() }, item_tag, item_kind }
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
