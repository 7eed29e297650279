//! What an end has touched.

use crate::{
    Store, StoreError, Touch, TouchedBy,
    row::{COLUMNS, StoredFact},
};
use matewell_lab::{EndId, Fact, FactBody, ItemId, Moment, standing_facts};

impl Store {
    /// Mates of an end, and gaugings with a known gauge, that happened within
    /// `from ..= to`, in the order in which they happened. Corrections are
    /// applied: a mate that did not happen is not there, one that happened at
    /// another time is there at the right time.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn touches(&self, end: EndId, from: Moment, to: Moment) -> Result<Vec<Touch>, StoreError> {
        let rows = self.stored(
            &format!(
                "SELECT {COLUMNS} FROM connector_end e JOIN fact_end fe ON fe.end_no = e.no
                     JOIN fact f ON f.seq = fe.seq JOIN machine m ON m.no = f.machine_no
                 WHERE e.id = ?1 AND (
                     (f.kind IN ('mated', 'gauged') AND fe.happened_at BETWEEN ?2 AND ?3)
                     OR f.kind = 'corrected'
                     OR EXISTS (SELECT 1 FROM fact_about a WHERE a.earlier_seq = fe.seq))"
            ),
            (end.bytes(), from.microseconds(), to.microseconds()),
        )?;
        let read = rows.into_iter().map(StoredFact::fact).collect::<Result<Vec<_>, _>>()?;
        let facts = standing_facts(&read, to);
        Ok(facts
            .iter()
            .filter(|fact| from <= fact.happened_at)
            .filter_map(|fact| touched(fact, end).map(|b| touch(fact, end, b)))
            .collect())
    }

    /// Ends that a gauge was put on within `from ..= to`, in the order in
    /// which it happened, corrections applied.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn touches_of_gauge(
        &self,
        gauge: ItemId,
        from: Moment,
        to: Moment,
    ) -> Result<Vec<Touch>, StoreError> {
        let facts = standing_facts(&self.facts_of_item(gauge)?, to);
        Ok(facts
            .iter()
            .filter(|fact| from <= fact.happened_at)
            .filter_map(|fact| match &fact.body {
                FactBody::Gauged(gauged) if gauged.gauge == Some(gauge) => {
                    Some(touch(fact, gauged.end, TouchedBy::Gauge(gauge)))
                }
                _ => None,
            })
            .collect())
    }
}

fn touched(fact: &Fact, end: EndId) -> Option<TouchedBy> {
    match &fact.body {
        FactBody::Mated(mated) if mated.a == end => Some(TouchedBy::End(mated.b)),
        FactBody::Mated(mated) if mated.b == end => Some(TouchedBy::End(mated.a)),
        FactBody::Gauged(gauged) if gauged.end == end => gauged.gauge.map(TouchedBy::Gauge),
        _ => None,
    }
}

fn touch(fact: &Fact, a: EndId, b: TouchedBy) -> Touch {
    Touch { a, b, at: fact.happened_at, sequence: fact.sequence, resolution: fact.resolution, fact: fact.id }
}
