//! Facts and papers as the doors tell them: the same lines for ends, items,
//! tools and cases.

use crate::sentence;
use matewell_lab::{
    Certificate, Fact, FactBody, FactId, Moment, PinPosition, Resolution, Subject, kind_word, standing_facts,
};
use matewell_quantity::Length;
use matewell_wire::{CertificateInForceJson, EventJson, Names, PositionAsked, moment_text};
use std::collections::BTreeSet;

/// A fact as a line with this sentence.
pub(crate) fn event(fact: &Fact, text: String, corrected: bool) -> EventJson {
    EventJson {
        fact: fact.id.to_string(),
        kind: kind_word(&fact.body).to_owned(),
        happened_at: moment_text(fact.happened_at),
        resolution: if fact.resolution == Resolution::Day { "day" } else { "instant" }.to_owned(),
        recorded_at: moment_text(fact.recorded_at),
        person: fact.person.clone(),
        text,
        note: fact.note.clone(),
        corrected,
    }
}

/// The facts of a subject that are told, newest first.
pub(crate) fn history(
    facts: &[Fact],
    subject: Subject,
    at: Moment,
    names: &dyn Names,
    is_told: impl Fn(&FactBody) -> bool,
) -> Vec<EventJson> {
    let standing: BTreeSet<_> = standing_facts(facts, at).iter().map(|fact| fact.id).collect();
    let mut lines: Vec<EventJson> = facts
        .iter()
        .filter(|fact| fact.happened_at <= at && is_told(&fact.body))
        .map(|fact| {
            let corrected = !standing.contains(&fact.id) && !matches!(fact.body, FactBody::Corrected(_));
            event(fact, sentence::of(&fact.body, subject, names), corrected)
        })
        .collect();
    lines.sort_by(|x, y| (&y.happened_at, &y.fact).cmp(&(&x.happened_at, &x.fact)));
    lines
}

/// The last document about an item.
pub(crate) fn certificate((fact, when, paper): &(FactId, Moment, Certificate)) -> CertificateInForceJson {
    CertificateInForceJson {
        fact: fact.to_string(),
        document: paper.document.clone(),
        at: moment_text(*when),
        valid_until: paper.valid_until.map(moment_text),
        position: paper.position.map(worded),
        standard_uncertainty_um: paper.standard_uncertainty.map(Length::micrometres),
    }
}

fn worded(position: PinPosition) -> PositionAsked {
    let um = position.recession_um();
    let word = if um < 0.0 { "protruding" } else { "recessed" };
    PositionAsked { word: word.to_owned(), distance: format!("{}um", um.abs()) }
}
