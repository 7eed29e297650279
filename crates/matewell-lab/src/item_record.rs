//! An item at a moment: how it is registered, where it lies, which document
//! holds.

use crate::{
    Certificate, Fact, FactBody, FactId, ItemId, Moment, Registered, Subject, ToolCheck, standing_facts,
};

/// Where an item was put away last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PutAway {
    /// The fact.
    pub fact: FactId,
    /// When.
    pub at: Moment,
    /// By whom.
    pub person: String,
    /// Where.
    pub place: String,
    /// Whether clean caps were on, if recorded.
    pub capped: Option<bool>,
}

/// An item at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct ItemRecord {
    /// As registered, after corrections.
    pub registered: Registered,
    /// The fact that registered it.
    pub registered_by: FactId,
    /// Where it was put away last, if ever.
    pub put_away: Option<PutAway>,
    /// The last document about it, if any.
    pub certificate: Option<(FactId, Moment, Certificate)>,
    /// Retired as a whole, when and why.
    pub retired: Option<(Moment, String)>,
}

/// Folds the facts of one item. `None` when its registration is not among
/// them.
#[must_use]
pub fn item_record(item: ItemId, facts: &[Fact], at: Moment) -> Option<ItemRecord> {
    let ordered = standing_facts(facts, at);
    let mut record = ordered.iter().find_map(|fact| match &fact.body {
        FactBody::Registered(r) if r.item.id == item => Some(ItemRecord {
            registered: r.as_ref().clone(),
            registered_by: fact.id,
            put_away: None,
            certificate: None,
            retired: None,
        }),
        _ => None,
    })?;
    for fact in ordered {
        match fact.body {
            FactBody::Stored(stored) if stored.item == item => {
                record.put_away = Some(PutAway {
                    fact: fact.id,
                    at: fact.happened_at,
                    person: fact.person,
                    place: stored.place,
                    capped: stored.capped,
                });
            }
            FactBody::ToolChecked(checked) if checked.tool == item => {
                if let ToolCheck::Certificate(paper) = checked.check {
                    record.certificate = Some((fact.id, fact.happened_at, paper));
                }
            }
            FactBody::Retired(retired) if retired.subject == Subject::Item(item) => {
                record.retired = Some((fact.happened_at, retired.because));
            }
            _ => {}
        }
    }
    Some(record)
}
