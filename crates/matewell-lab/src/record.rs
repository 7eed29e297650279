//! The record of an end or a tool at a moment, folded from facts.
//!
//! The fold never depends on the order in which facts were entered: facts are
//! put in the order in which they happened, corrections applied, and ties
//! broken so that the worse reading of an unordered history counts (a mate
//! before the damage found at the same moment, a cleaning before the mate).

use crate::{
    Correction, End, EndId, Fact, FactBody, FactId, GaugeZero, Gauged, Held, InspectionOutcome, Item, ItemId,
    Mated, Moment, PinPosition, Released, Subject, ToolCheck, WrenchCheck, fact::Certificate,
};
use std::collections::{BTreeMap, BTreeSet};

/// Facts that count at `at`, corrected, in the order in which they happened.
///
/// A fact whose correction says it did not happen is left out; one whose time
/// was corrected appears at the right time; one whose content was corrected
/// appears with the right content. A correction can itself be corrected. Of
/// several corrections of one fact the one entered last counts. Facts that
/// happened after `at` are left out; corrections count whenever they were
/// entered, because they say what was true all along.
#[must_use]
pub fn standing_facts(facts: &[Fact], at: Moment) -> Vec<Fact> {
    let mut by_id: BTreeMap<FactId, &Fact> = BTreeMap::new();
    for fact in facts {
        by_id.insert(fact.id, fact);
    }
    // Last entered correction per fact. Same id twice is the same fact.
    let mut corrections: BTreeMap<FactId, Vec<&Fact>> = BTreeMap::new();
    for fact in by_id.values() {
        if let FactBody::Corrected(corrected) = &fact.body {
            corrections.entry(corrected.fact).or_default().push(fact);
        }
    }
    for list in corrections.values_mut() {
        list.sort_by_key(|f| (f.recorded_at, f.id));
    }
    let mut found: Vec<Fact> = by_id
        .values()
        .filter(|fact| !matches!(fact.body, FactBody::Corrected(_)))
        .filter_map(|fact| corrected_fact(fact, &corrections))
        .filter(|fact| fact.happened_at <= at)
        .collect();
    in_order(&mut found);
    found
}

/// The content of a correction after its own corrections, or `None` when it
/// was voided. Depth is bounded by the number of corrections because a
/// correction can only name a fact entered before it; a cycle in a broken log
/// ends at the visited set.
fn effective_correction(
    fact: &Fact,
    corrections: &BTreeMap<FactId, Vec<&Fact>>,
    visited: &mut BTreeSet<FactId>,
) -> Option<Correction> {
    if !visited.insert(fact.id) {
        return None;
    }
    let FactBody::Corrected(mine) = &fact.body else { return None };
    for later in corrections.get(&fact.id).into_iter().flatten().rev() {
        match effective_correction(later, corrections, visited) {
            Some(Correction::Void) => return None,
            Some(Correction::Body(body)) => {
                return match *body {
                    FactBody::Corrected(replacement) => Some(replacement.correction),
                    other => Some(Correction::Body(Box::new(other))),
                };
            }
            Some(Correction::HappenedAt(_)) | None => {}
        }
    }
    Some(mine.correction.clone())
}

fn corrected_fact(fact: &Fact, corrections: &BTreeMap<FactId, Vec<&Fact>>) -> Option<Fact> {
    let mut corrected = fact.clone();
    let mut content_settled = false;
    let mut time_settled = false;
    for correction in corrections.get(&fact.id).into_iter().flatten().rev() {
        match effective_correction(correction, corrections, &mut BTreeSet::new()) {
            Some(Correction::Void) => return None,
            Some(Correction::HappenedAt(moment)) if !time_settled => {
                corrected.happened_at = moment;
                time_settled = true;
            }
            Some(Correction::Body(body)) if !content_settled => {
                corrected.body = *body;
                content_settled = true;
            }
            Some(_) | None => {}
        }
    }
    Some(corrected)
}

/// Puts facts in the order in which they happened: by moment, then sequence,
/// then the pessimistic rank of their kind, then id.
pub fn in_order(facts: &mut [Fact]) {
    facts.sort_by_key(|f| (f.happened_at, f.sequence, rank(&f.body), f.id));
}

/// Within one moment: clearing first, contact next, findings last.
fn rank(body: &FactBody) -> u8 {
    match body {
        FactBody::Registered(_) => 0,
        FactBody::Replaced(_) => 1,
        FactBody::Released(_) => 2,
        FactBody::Cleaned { .. } => 3,
        FactBody::Inspected(i) => match i.outcome {
            InspectionOutcome::Good | InspectionOutcome::NormalWear => 4,
            InspectionOutcome::Dirty => 9,
            InspectionOutcome::Damaged => 10,
        },
        FactBody::Gauged(_) => 5,
        FactBody::Refused(_) => 6,
        FactBody::Overridden(_) => 7,
        FactBody::Mated(_) | FactBody::Parted(_) => 8,
        FactBody::Stored(_)
        | FactBody::ResultNoted(_)
        | FactBody::SweepNoted(_)
        | FactBody::SweepJudged(_)
        | FactBody::FollowedUp(_)
        | FactBody::ToolChecked(_)
        | FactBody::KitMade(_)
        | FactBody::KitChecked(_)
        | FactBody::Reserved(_)
        | FactBody::PolicyTakenUp(_) => 11,
        FactBody::Held(_) => 12,
        FactBody::Retired(_) => 13,
        FactBody::Corrected(_) => 14,
        FactBody::CaseOpened(_) => 15,
        FactBody::CaseChanged(_) => 16,
        FactBody::EndDisposed(_) | FactBody::ResultDisposed(_) => 17,
        FactBody::CaseClosed(_) => 18,
    }
}

/// A gauging as it counts.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugingOnRecord {
    /// The fact.
    pub fact: FactId,
    /// When.
    pub at: Moment,
    /// Who.
    pub person: String,
    /// Contacts of the end up to and with it, since the contact was new.
    pub contacts: u32,
    /// What was read.
    pub gauged: Gauged,
}

/// A look as it counts.
#[derive(Debug, Clone, PartialEq)]
pub struct InspectionOnRecord {
    /// The fact.
    pub fact: FactId,
    /// When.
    pub at: Moment,
    /// What was seen.
    pub outcome: InspectionOutcome,
    /// Words for it.
    pub seen: Vec<String>,
    /// Magnification, if recorded.
    pub magnification: Option<f64>,
}

/// A hold that was not released.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenHold {
    /// The fact.
    pub fact: FactId,
    /// When.
    pub at: Moment,
    /// Why.
    pub because: String,
    /// A later release that did not know of this hold: which, when, by whom.
    pub released_apart: Option<(FactId, Moment, String)>,
}

/// A mate of an end while a hold said that it may not be mated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MatedWhileHeld {
    /// The mate.
    pub fact: FactId,
    /// When.
    pub at: Moment,
    /// With whom.
    pub partner: EndId,
}

/// An end at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct EndRecord {
    /// As registered.
    pub end: End,
    /// Its item, as registered.
    pub item: Item,
    /// The moment this record describes.
    pub at: Moment,
    /// When the history that counts begins: registration or the last
    /// replacement of the contact.
    pub since: Moment,
    /// Contacts since then, gaugings included.
    pub contacts: u32,
    /// Contacts since the last gauging.
    pub contacts_since_gauging: u32,
    /// Contacts since the last cleaning or good look.
    pub contacts_since_clean: u32,
    /// The last gauging, if any.
    pub last_gauging: Option<GaugingOnRecord>,
    /// All gaugings since the history begins, oldest first.
    pub gaugings: Vec<GaugingOnRecord>,
    /// The last look, if any.
    pub last_inspection: Option<InspectionOnRecord>,
    /// The last cleaning, if any.
    pub last_cleaned: Option<Moment>,
    /// Contacts it had at each cleaning since the contact was new.
    pub cleaned_at_contacts: Vec<u32>,
    /// Damage found and not released.
    pub open_damage: Vec<InspectionOnRecord>,
    /// Dirt found and not cleaned since.
    pub open_dirt: Option<InspectionOnRecord>,
    /// Holds not released.
    pub open_holds: Vec<OpenHold>,
    /// Mates while held, since the first of the open holds.
    pub mated_while_held: Vec<MatedWhileHeld>,
    /// Retired, when and why.
    pub retired: Option<(Moment, String)>,
    /// When the contact was made anew, if ever, and why.
    pub replaced: Option<(Moment, String)>,
    /// The partner it is mated with now, if not parted since.
    pub mated_with: Option<(EndId, Moment)>,
    /// Last partner and time, parted or not.
    pub last_mate: Option<(EndId, Moment)>,
}

/// Folds the facts of one end. `None` when no registration of it is among
/// them at `at`.
///
/// Give all facts whose subjects contain the end or its item; others do no
/// harm. `at` is the moment asked about.
#[must_use]
pub fn end_record(end: EndId, facts: &[Fact], at: Moment) -> Option<EndRecord> {
    end_record_with(end, facts, &[], at)
}

/// As [`end_record`], with mates of which nothing but the moment is given, in
/// ascending order: an end has far more mates than anything else, and most
/// only count.
///
/// The record is the same as with these mates among the facts, as long as none
/// of them is the last mate, shares its moment with a fact, happened while the
/// end was held, or is spoken about by a correction: give those as facts.
#[must_use]
pub fn end_record_with(end: EndId, facts: &[Fact], mates: &[Moment], at: Moment) -> Option<EndRecord> {
    let ordered = standing_facts(facts, at);
    let (registered_at, item, own_end) = ordered.iter().find_map(|fact| match &fact.body {
        FactBody::Registered(r) => {
            r.ends.iter().find(|e| e.id == end).map(|e| (fact.happened_at, r.item.clone(), e.clone()))
        }
        _ => None,
    })?;
    let mut record = EndRecord {
        end: own_end,
        item,
        at,
        since: registered_at,
        contacts: 0,
        contacts_since_gauging: 0,
        contacts_since_clean: 0,
        last_gauging: None,
        gaugings: Vec::new(),
        last_inspection: None,
        last_cleaned: None,
        cleaned_at_contacts: Vec::new(),
        open_damage: Vec::new(),
        open_dirt: None,
        open_holds: Vec::new(),
        mated_while_held: Vec::new(),
        retired: None,
        replaced: None,
        mated_with: None,
        last_mate: None,
    };
    let mut mates = mates.iter().take_while(|mate| **mate <= at).peekable();
    for fact in &ordered {
        while mates.next_if(|mate| **mate < fact.happened_at).is_some() {
            record.count_a_mate();
        }
        record.take(fact);
    }
    mates.for_each(|_| record.count_a_mate());
    Some(record)
}

impl EndRecord {
    fn count_a_mate(&mut self) {
        self.contacts += 1;
        self.contacts_since_gauging += 1;
        self.contacts_since_clean += 1;
    }

    fn take(&mut self, fact: &Fact) {
        let me = self.end.id;
        match &fact.body {
            FactBody::Inspected(i) if i.end == me => self.take_inspection(fact, i),
            FactBody::Gauged(g) if g.end == me => {
                self.contacts += 1;
                self.contacts_since_clean += 1;
                self.contacts_since_gauging = 0;
                let on_record = GaugingOnRecord {
                    fact: fact.id,
                    at: fact.happened_at,
                    person: fact.person.clone(),
                    contacts: self.contacts,
                    gauged: g.clone(),
                };
                self.gaugings.push(on_record.clone());
                self.last_gauging = Some(on_record);
            }
            FactBody::Cleaned { end, .. } if *end == me => {
                self.last_cleaned = Some(fact.happened_at);
                self.cleaned_at_contacts.push(self.contacts);
                self.contacts_since_clean = 0;
                self.open_dirt = None;
            }
            FactBody::Mated(Mated { a, b, .. }) if *a == me || *b == me => {
                self.count_a_mate();
                let partner = if *a == me { *b } else { *a };
                self.mated_with = Some((partner, fact.happened_at));
                self.last_mate = self.mated_with;
                if !self.open_holds.is_empty() {
                    let at = fact.happened_at;
                    self.mated_while_held.push(MatedWhileHeld { fact: fact.id, at, partner });
                }
            }
            FactBody::Parted(p) if p.a == me || p.b == me => self.mated_with = None,
            FactBody::Held(Held { end, because }) if *end == me => {
                self.open_holds.push(OpenHold {
                    fact: fact.id,
                    at: fact.happened_at,
                    because: because.clone(),
                    released_apart: None,
                });
            }
            FactBody::Released(released) if released.end == me => self.release(fact, released),
            FactBody::Retired(r)
                if r.subject == Subject::End(me) || r.subject == Subject::Item(self.item.id) =>
            {
                self.retired = Some((fact.happened_at, r.because.clone()));
            }
            FactBody::Replaced(r) if r.end == me => self.start_again(fact.happened_at, &r.because),
            _ => {}
        }
    }

    /// A release lifts what the person who released knew of. A hold that came
    /// from another log, or was entered late, stays until somebody decides.
    fn release(&mut self, fact: &Fact, released: &Released) {
        let stays = |known: &FactId| !released.lifts.is_empty() && !released.lifts.contains(known);
        self.open_holds.retain(|hold| stays(&hold.fact));
        self.open_damage.retain(|seen| stays(&seen.fact));
        for hold in &mut self.open_holds {
            hold.released_apart = Some((fact.id, fact.happened_at, fact.person.clone()));
        }
        if self.open_holds.is_empty() {
            self.mated_while_held.clear();
        }
    }

    fn take_inspection(&mut self, fact: &Fact, inspected: &crate::Inspected) {
        let on_record = InspectionOnRecord {
            fact: fact.id,
            at: fact.happened_at,
            outcome: inspected.outcome,
            seen: inspected.seen.clone(),
            magnification: inspected.magnification,
        };
        match inspected.outcome {
            InspectionOutcome::Good | InspectionOutcome::NormalWear => {
                self.contacts_since_clean = 0;
                self.open_dirt = None;
            }
            InspectionOutcome::Dirty => self.open_dirt = Some(on_record.clone()),
            InspectionOutcome::Damaged => self.open_damage.push(on_record.clone()),
        }
        self.last_inspection = Some(on_record);
    }

    /// A new contact has no history: not its gaugings, not its looks, not its
    /// wear. Holds stay, because a hold is lifted by a person.
    fn start_again(&mut self, at: Moment, because: &str) {
        self.since = at;
        self.contacts = 0;
        self.contacts_since_gauging = 0;
        self.contacts_since_clean = 0;
        self.last_gauging = None;
        self.gaugings.clear();
        self.last_inspection = None;
        self.last_cleaned = None;
        self.cleaned_at_contacts.clear();
        self.open_damage.clear();
        self.open_dirt = None;
        self.mated_with = None;
        self.replaced = Some((at, because.to_owned()));
    }
}

/// Whether an item as a whole is retired at `at`.
#[must_use]
pub fn item_retired(item: ItemId, facts: &[Fact], at: Moment) -> bool {
    standing_facts(facts, at)
        .iter()
        .any(|f| matches!(&f.body, FactBody::Retired(r) if r.subject == Subject::Item(item)))
}

/// A gauge or a wrench at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolRecord {
    /// As registered.
    pub item: Item,
    /// The last check of its function, if any.
    pub last_check: Option<(FactId, Moment, ToolCheck)>,
    /// The last document, if any.
    pub last_certificate: Option<(FactId, Moment, Certificate)>,
    /// The last document that says where the pin of a master stands.
    pub last_position: Option<(Moment, Certificate)>,
    /// Uses (gaugings or tightenings) since the last check.
    pub uses_since_check: u32,
    /// Retired, when and why.
    pub retired: Option<(Moment, String)>,
}

/// Folds the facts of one tool. `None` when its registration is not among
/// them.
#[must_use]
pub fn tool_record(tool: ItemId, facts: &[Fact], at: Moment) -> Option<ToolRecord> {
    let ordered = standing_facts(facts, at);
    let item = ordered.iter().find_map(|fact| match &fact.body {
        FactBody::Registered(r) if r.item.id == tool => Some(r.item.clone()),
        _ => None,
    })?;
    let mut record = ToolRecord {
        item,
        last_check: None,
        last_certificate: None,
        last_position: None,
        uses_since_check: 0,
        retired: None,
    };
    for fact in &ordered {
        match &fact.body {
            FactBody::ToolChecked(t) if t.tool == tool => match &t.check {
                ToolCheck::Certificate(c) => {
                    record.last_certificate = Some((fact.id, fact.happened_at, c.clone()));
                    if c.position.is_some() {
                        record.last_position = Some((fact.happened_at, c.clone()));
                    }
                    record.last_check = Some((fact.id, fact.happened_at, t.check.clone()));
                    record.uses_since_check = 0;
                }
                ToolCheck::GaugeZero(GaugeZero { .. }) | ToolCheck::Wrench(WrenchCheck { .. }) => {
                    record.last_check = Some((fact.id, fact.happened_at, t.check.clone()));
                    record.uses_since_check = 0;
                }
            },
            FactBody::Gauged(g)
                if g.gauge == Some(tool) || g.session.as_ref().is_some_and(|s| s.master == Some(tool)) =>
            {
                record.uses_since_check += 1;
            }
            FactBody::Mated(m) if m.wrench == Some(tool) => record.uses_since_check += 1,
            FactBody::Retired(r) if r.subject == Subject::Item(tool) => {
                record.retired = Some((fact.happened_at, r.because.clone()));
            }
            _ => {}
        }
    }
    Some(record)
}

impl GaugingOnRecord {
    /// Mean recession in micrometres, positive behind the plane, as
    /// [`Gauged::recessions_um`] gives it. `None` without readings.
    #[must_use]
    pub fn mean_recession_um(&self) -> Option<f64> {
        mean(&self.gauged.recessions_um())
    }
}

impl Gauged {
    /// Each reading in micrometres behind the plane as it counts: by what the
    /// gauge showed on its master, and with what it turned out to be off taken
    /// out. `r - z + m - o`: reading, mean zero before, position of the
    /// master, offset; all positive behind the plane.
    #[must_use]
    pub fn recessions_um(&self) -> Vec<f64> {
        let shift = self.session.as_ref().map_or(0.0, |session| {
            let zero: Vec<f64> = session.zero_before.iter().map(|z| z.recession_um()).collect();
            let master = session.master_position.map_or(0.0, PinPosition::recession_um);
            let off = session.gauge_off.as_ref().map_or(0.0, |o| o.reads_more_recessed.micrometres());
            mean(&zero).map_or(0.0, |zero| master - zero) - off
        });
        self.readings.iter().map(|r| r.recession_um() + shift).collect()
    }
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        Body, Corrected, FactSource, Grade, Inspected, ItemKind, MachineId, Registered, Replaced, Resolution,
        Sex, Slots,
    };
    use matewell_quantity::Length;
    use proptest::prelude::*;

    fn id(n: u8) -> [u8; 16] {
        let mut bytes = [0; 16];
        bytes[15] = n;
        bytes
    }

    fn fact(n: u8, at: i64, body: FactBody) -> Fact {
        Fact {
            id: FactId::from_bytes(id(n)),
            machine: MachineId::from_bytes(id(1)),
            happened_at: Moment::from_microseconds(at),
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: Moment::from_microseconds(1000 + i64::from(n)),
            person: "p".to_owned(),
            source: FactSource::Bench,
            note: None,
            body,
        }
    }

    const END: EndId = EndId::from_bytes([7; 16]);
    const OTHER: EndId = EndId::from_bytes([8; 16]);

    fn registered() -> Fact {
        let item = Item {
            id: ItemId::from_bytes([5; 16]),
            tag: "CB-1".to_owned(),
            kind: ItemKind::Cable,
            description: String::new(),
            model: None,
            serial: None,
            location: None,
            cost: None,
            gauge: None,
            wrench: None,
            extra: Vec::new(),
        };
        let end = End {
            id: END,
            item: item.id,
            tag: "CB-1A".to_owned(),
            interface: "3.5mm".to_owned(),
            sex: Sex::Pin,
            grade: Grade::Instrument,
            body: Body::Stainless,
            slots: Slots::Unknown,
            static_sensitive: false,
            rf_live: false,
            biased: false,
            extra: Vec::new(),
        };
        fact(1, 0, FactBody::Registered(Box::new(Registered { item, ends: vec![end] })))
    }

    fn mate(n: u8, at: i64) -> Fact {
        fact(n, at, FactBody::Mated(Mated { a: END, b: OTHER, wrench: None, overridden: None }))
    }

    fn gauged(n: u8, at: i64) -> Fact {
        let reading = PinPosition::recessed(Length::from_micrometres(12.0).unwrap()).unwrap();
        fact(
            n,
            at,
            FactBody::Gauged(Gauged {
                end: END,
                gauge: None,
                readings: vec![reading],
                stated_standard_uncertainty: None,
                session: None,
            }),
        )
    }

    fn inspected(n: u8, at: i64, outcome: InspectionOutcome) -> Fact {
        fact(n, at, FactBody::Inspected(Inspected::plain(END, outcome, Vec::new(), None)))
    }

    fn corrected(n: u8, of: u8, correction: Correction) -> Fact {
        fact(
            n,
            500,
            FactBody::Corrected(Corrected {
                fact: FactId::from_bytes(id(of)),
                correction,
                because: String::new(),
            }),
        )
    }

    fn at(t: i64) -> Moment {
        Moment::from_microseconds(t)
    }

    #[test]
    fn gauging_counts_as_a_contact_and_starts_the_count_again() {
        let facts = [registered(), mate(2, 10), gauged(3, 20), mate(4, 30)];
        let record = end_record(END, &facts, at(100)).unwrap();
        assert_eq!((record.contacts, record.contacts_since_gauging), (3, 1));
        assert_eq!(record.last_mate, Some((OTHER, at(30))));
    }

    #[test]
    fn a_gauging_is_a_use_of_the_gauge_and_of_its_master() {
        let tool = |n: u8, kind| {
            let FactBody::Registered(mut r) = registered().body else { panic!("a registration") };
            r.item.id = ItemId::from_bytes([n; 16]);
            r.item.kind = kind;
            r.ends.clear();
            fact(n, 0, FactBody::Registered(r))
        };
        let (gauge, master) = (ItemId::from_bytes([50; 16]), ItemId::from_bytes([51; 16]));
        let FactBody::Gauged(mut g) = gauged(3, 20).body else { panic!("a gauging") };
        g.gauge = Some(gauge);
        g.session = Some(Box::new(crate::GaugingSession {
            master: Some(master),
            ..crate::GaugingSession::default()
        }));
        let facts =
            [tool(50, ItemKind::Gauge), tool(51, ItemKind::GaugeMaster), fact(3, 20, FactBody::Gauged(g))];
        for id in [gauge, master] {
            assert_eq!(tool_record(id, &facts, at(100)).unwrap().uses_since_check, 1);
        }
    }

    #[test]
    fn a_gauging_counts_as_it_was_zeroed_and_with_the_offset_taken_out() {
        let um = |v: f64| PinPosition::recessed(Length::from_micrometres(v).unwrap()).unwrap();
        let FactBody::Gauged(mut g) = gauged(3, 20).body else { panic!("a gauging") };
        g.session = Some(Box::new(crate::GaugingSession {
            zero_before: vec![um(1.0), um(2.0)],
            master_position: Some(um(0.25)),
            gauge_off: Some(crate::OffsetTakenOut {
                reads_more_recessed: Length::from_micrometres(3.0).unwrap(),
                standard_uncertainty: None,
                found_by: None,
            }),
            ..crate::GaugingSession::default()
        }));
        // 12 as read, less the mean zero 1.5, plus the master's 0.25, less 3.
        assert!((g.recessions_um()[0] - 7.75).abs() < 1e-9);
    }

    #[test]
    fn the_past_is_seen_as_it_was() {
        let facts = [registered(), mate(2, 10), gauged(3, 20), mate(4, 30)];
        assert_eq!(end_record(END, &facts, at(15)).unwrap().contacts, 1);
        assert!(end_record(END, &facts, at(-1)).is_none());
    }

    #[test]
    fn a_voided_fact_is_gone_and_a_voided_correction_brings_it_back() {
        let mut facts = vec![registered(), mate(2, 10), corrected(3, 2, Correction::Void)];
        assert_eq!(end_record(END, &facts, at(100)).unwrap().contacts, 0);
        facts.push(corrected(4, 3, Correction::Void));
        assert_eq!(end_record(END, &facts, at(100)).unwrap().contacts, 1);
    }

    #[test]
    fn a_corrected_time_moves_the_fact() {
        let facts =
            [registered(), mate(2, 10), gauged(3, 20), corrected(4, 2, Correction::HappenedAt(at(25)))];
        assert_eq!(end_record(END, &facts, at(100)).unwrap().contacts_since_gauging, 1);
    }

    #[test]
    fn a_new_contact_has_no_history() {
        let replaced =
            fact(4, 40, FactBody::Replaced(Replaced { end: END, because: "re-terminated".to_owned() }));
        let facts = [registered(), gauged(2, 10), inspected(3, 20, InspectionOutcome::Damaged), replaced];
        let record = end_record(END, &facts, at(100)).unwrap();
        assert!(record.last_gauging.is_none() && record.open_damage.is_empty());
        assert_eq!(record.contacts, 0);
    }

    #[test]
    fn a_release_lifts_only_what_it_knew_of() {
        let held = |n, t| fact(n, t, FactBody::Held(Held { end: END, because: "odd".to_owned() }));
        let released = |n, t, lifts: &[u8]| {
            let lifts = lifts.iter().map(|n| FactId::from_bytes(id(*n))).collect();
            let because = "looked at".to_owned();
            fact(n, t, FactBody::Released(Released { end: END, because, evidence: None, lifts }))
        };
        // Held at another bench at 20, which the release at 30 knew nothing of.
        let mut facts = vec![registered(), held(2, 10), held(3, 20), released(4, 30, &[2]), mate(5, 40)];
        let record = end_record(END, &facts, at(100)).unwrap();
        let open: Vec<_> =
            record.open_holds.iter().map(|hold| (hold.fact, hold.released_apart.clone())).collect();
        let fact_id = |n| FactId::from_bytes(id(n));
        assert_eq!(open, [(fact_id(3), Some((fact_id(4), at(30), "p".to_owned())))]);
        assert_eq!(record.mated_while_held.len(), 1);
        // Whoever knows of both settles it; an old release lifts everything.
        facts.push(released(6, 50, &[3]));
        assert!(end_record(END, &facts, at(100)).unwrap().open_holds.is_empty());
        facts.pop();
        facts.push(released(6, 50, &[]));
        assert!(end_record(END, &facts, at(100)).unwrap().mated_while_held.is_empty());
    }

    #[test]
    fn damage_stays_open_after_a_good_look() {
        let facts = [
            registered(),
            inspected(2, 10, InspectionOutcome::Damaged),
            inspected(3, 20, InspectionOutcome::Good),
        ];
        assert_eq!(end_record(END, &facts, at(100)).unwrap().open_damage.len(), 1);
    }

    proptest! {
        /// Invariant: the order of entry never changes the record for the same
        /// facts. Ties in time are common here on purpose.
        #[test]
        fn order_of_entry_never_changes_the_record(
            kinds in proptest::collection::vec((0u8..7, 0i64..4), 1..14),
            keys in proptest::collection::vec(any::<u32>(), 15),
        ) {
            let mut facts = vec![registered()];
            for (index, (kind, t)) in kinds.iter().enumerate() {
                let n = u8::try_from(index).unwrap() + 10;
                facts.push(match kind {
                    0 => mate(n, *t),
                    1 => gauged(n, *t),
                    2 => inspected(n, *t, InspectionOutcome::Damaged),
                    3 => inspected(n, *t, InspectionOutcome::Good),
                    4 => fact(n, *t, FactBody::Cleaned { end: END, method: None }),
                    5 => fact(n, *t, FactBody::Released(Released { end: END, because: String::new(), evidence: None, lifts: Vec::new() })),
                    _ => corrected(n, n.saturating_sub(3).max(10), Correction::Void),
                });
            }
            let expected = end_record(END, &facts, at(100));
            let mut shuffled: Vec<(u32, Fact)> =
                facts.iter().cloned().enumerate().map(|(i, f)| (keys[i], f)).collect();
            shuffled.sort_by_key(|(k, _)| *k);
            let shuffled: Vec<Fact> = shuffled.into_iter().map(|(_, f)| f).collect();
            prop_assert_eq!(end_record(END, &shuffled, at(100)), expected);
        }
    }
}
