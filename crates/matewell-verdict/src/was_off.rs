//! A tool turns out to have been off: what a gauging says with that taken
//! out, and which joints a wrench may have hurt.

use crate::{
    answer::PinKnowledge,
    book::{Book, Policy},
    pin::pin_knowledge,
};
use matewell_lab::{Body, End, EndId, FactId, Gauged, GaugingOnRecord, Moment, OffsetTakenOut, ToolRecord};
use matewell_quantity::Torque;
use matewell_uncertainty::UncertaintyError;
use std::cmp::Ordering;

/// The same gauging with an offset of the gauge taken out. The readings stay
/// as they were read; an offset noted earlier is replaced.
#[must_use]
pub fn with_offset(gauged: &Gauged, off: OffsetTakenOut) -> Gauged {
    let mut corrected = gauged.clone();
    corrected.session.get_or_insert_default().gauge_off = Some(off);
    corrected
}

/// What a gauging says when its content is `gauged` instead.
///
/// # Errors
///
/// Only for numbers that are not finite, which constructors exclude.
pub fn recomputed(
    on_record: &GaugingOnRecord,
    gauged: Gauged,
    gauge: &ToolRecord,
    book: &Book<'_>,
    policy: &Policy,
) -> Result<PinKnowledge, UncertaintyError> {
    let other = GaugingOnRecord {
        fact: on_record.fact,
        at: on_record.at,
        person: on_record.person.clone(),
        contacts: on_record.contacts,
        gauged,
    };
    pin_knowledge(Some(&other), Some(gauge), book, policy)
}

/// A joint tightened with a wrench that was off.
#[derive(Debug, Clone, PartialEq)]
pub struct JointInDoubt {
    /// The mate.
    pub fact: FactId,
    /// When.
    pub at: Moment,
    /// One end.
    pub a: EndId,
    /// The other end.
    pub b: EndId,
    /// Body of the end that limits the torque.
    pub body: Body,
    /// Torque it was most likely tightened to.
    pub applied: Torque,
    /// The most it should have seen by the sheets.
    pub limit: Option<Torque>,
}

impl JointInDoubt {
    /// The joint of two ends; the weaker partner limits it. The limit is the
    /// upper torque of the sheets, else the coupling torque.
    #[must_use]
    pub fn new((fact, at): (FactId, Moment), a: &End, b: &End, applied: Torque, book: &Book<'_>) -> Self {
        let limit = |end: &End| {
            book.upper_torque(&end.interface, end.body).map(|(torque, _)| torque).or_else(|| {
                book.torques(&end.interface, end.body).rows.into_iter().map(|(t, _)| t).reduce(least)
            })
        };
        let limits = [(a, limit(a)), (b, limit(b))];
        let weakest = limits.iter().filter_map(|(end, torque)| torque.map(|t| (*end, t))).min_by(|x, y| {
            x.1.newton_metres().total_cmp(&y.1.newton_metres()).then(soft(x.0.body).cmp(&soft(y.0.body)))
        });
        let softer = if soft(b.body) < soft(a.body) { b } else { a };
        Self {
            fact,
            at,
            a: a.id,
            b: b.id,
            body: weakest.map_or(softer.body, |(end, _)| end.body),
            applied,
            limit: weakest.map(|(_, torque)| torque),
        }
    }

    /// Applied torque over the limit.
    #[must_use]
    pub fn over(&self) -> Option<f64> {
        self.limit.map(|limit| self.applied.newton_metres() / limit.newton_metres())
    }

    /// In words.
    #[must_use]
    pub fn text(&self) -> String {
        let body = self.body.word();
        match (self.limit, self.over()) {
            (Some(limit), Some(over)) if over > 1.0 => format!(
                "Tightened to about {} on {body}; the sheets allow {limit}. Look and gauge both ends.",
                self.applied
            ),
            (Some(limit), _) => {
                format!("Tightened to about {} on {body}, not above {limit}: it may be loose.", self.applied)
            }
            (None, _) => format!(
                "Tightened to about {} on {body}; no sheet says how much it may see. Look and gauge both ends.",
                self.applied
            ),
        }
    }
}

/// Puts joints in the order of gauging again: most over its limit first, then
/// those whose limit nobody knows, softer bodies first, then by time.
pub fn rank_joints(joints: &mut [JointInDoubt]) {
    joints.sort_by(|x, y| {
        class(x)
            .cmp(&class(y))
            .then_with(|| y.over().unwrap_or(0.0).total_cmp(&x.over().unwrap_or(0.0)))
            .then_with(|| soft(x.body).cmp(&soft(y.body)))
            .then_with(|| (x.at, x.fact).cmp(&(y.at, y.fact)))
    });
}

fn class(joint: &JointInDoubt) -> u8 {
    match joint.over().map(|over| over.total_cmp(&1.0)) {
        Some(Ordering::Greater) => 0,
        None => 1,
        Some(_) => 2,
    }
}

fn least(a: Torque, b: Torque) -> Torque {
    if b < a { b } else { a }
}

/// Softer first: common practice, no source.
fn soft(body: Body) -> u8 {
    match body {
        Body::CircuitBoard => 0,
        Body::Brass => 1,
        Body::Unknown => 2,
        Body::BerylliumCopper => 3,
        Body::Stainless => 4,
    }
}
