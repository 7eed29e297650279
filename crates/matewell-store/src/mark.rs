//! Marks: which facts a trace looks for beside the many mates.

use matewell_lab::{FactBody, InspectionOutcome, PinPosition};

/// Marks of a fact on the ends it is about. More than needed may be marked,
/// never less: who reads a mark reads the fact. Every fact but a mate has one,
/// so that what is not marked is a mate.
pub(crate) fn on_ends(body: &FactBody) -> &'static [&'static str] {
    match body {
        FactBody::Gauged(g)
            if g.readings.iter().any(|r| matches!(r, PinPosition::Protruding(_)))
                || g.recessions_um().iter().any(|um| *um < 0.0) =>
        {
            &["cares", "finds", "harms"]
        }
        FactBody::Inspected(i) if i.outcome == InspectionOutcome::Damaged => &["cares", "finds", "harms"],
        FactBody::Inspected(i) if i.outcome == InspectionOutcome::Dirty => &["cares", "finds"],
        FactBody::Gauged(_)
        | FactBody::Inspected(_)
        | FactBody::Cleaned { .. }
        | FactBody::Replaced(_)
        | FactBody::Released(_) => &["cares"],
        FactBody::Held(_) => &["finds"],
        FactBody::Corrected(_) => &["corrects", "finds", "harms"],
        FactBody::ResultNoted(_) => &["results"],
        FactBody::Mated(_) => &[],
        _ => &["other"],
    }
}

/// Marks of a fact on the items it is about. Every fact but a use of a tool has
/// one, so that what is not marked is a use.
pub(crate) fn on_items(body: &FactBody) -> &'static [&'static str] {
    match body {
        FactBody::ToolChecked(_) => &["checks"],
        FactBody::Corrected(_) => &["corrects"],
        FactBody::Mated(_) | FactBody::Gauged(_) => &[],
        _ => &["other"],
    }
}
