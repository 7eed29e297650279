//! What touched, cared for, and was measured through what within stretches of
//! time, many stretches in one question.

use crate::{
    Store, StoreError, TouchedBy,
    row::{COLUMNS, StoredFact},
};
use matewell_lab::{
    EndId, Fact, FactBody, FactId, Item, ItemId, MICROSECONDS_PER_DAY, Moment, Resolution, standing_facts,
};
use std::collections::{BTreeMap, BTreeSet};

/// A stretch of time of one end or gauge: `from <= at < until`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// The end or gauge.
    pub of: TouchedBy,
    /// First moment.
    pub from: Moment,
    /// First moment past it.
    pub until: Moment,
}

/// Numbers kept for the next question: a few megabytes at most.
const MOST_MET: usize = 50_000;

/// The facts of one kind of question.
struct Wanted {
    of_ends: &'static str,
    of_items: Option<&'static str>,
    is: fn(&FactBody) -> bool,
}

// A CROSS JOIN keeps the order: each stretch is one range of an index.
const CONTACTS: Wanted = Wanted {
    of_ends: "JOIN fact_end x ON x.end_no = ask.no AND x.happened_at >= ask.first
                  AND x.happened_at < ask.past
              CROSS JOIN fact f ON f.seq = x.seq AND f.kind IN ('mated', 'gauged')",
    of_items: Some(
        "JOIN fact_item x ON x.item_no = ask.no AND x.happened_at >= ask.first
                  AND x.happened_at < ask.past
              CROSS JOIN fact f ON f.seq = x.seq AND f.kind = 'gauged'",
    ),
    is: |body| matches!(body, FactBody::Mated(_) | FactBody::Gauged(_)),
};

const CARES: Wanted = Wanted {
    of_ends: "JOIN end_mark x ON x.end_no = ask.no AND x.what = 'cares'
                  AND x.happened_at >= ask.first AND x.happened_at < ask.past
              CROSS JOIN fact f ON f.seq = x.seq AND f.kind <> 'corrected'",
    of_items: Some(
        "JOIN item_mark x ON x.item_no = ask.no AND x.what = 'checks'
                  AND x.happened_at >= ask.first AND x.happened_at < ask.past
              CROSS JOIN fact f ON f.seq = x.seq AND f.kind <> 'corrected'",
    ),
    is: |body| {
        matches!(
            body,
            FactBody::Gauged(_)
                | FactBody::Inspected(_)
                | FactBody::Cleaned { .. }
                | FactBody::Replaced(_)
                | FactBody::Released(_)
                | FactBody::ToolChecked(_)
        )
    },
};

const RESULTS: Wanted = Wanted {
    of_ends: "JOIN end_mark x ON x.end_no = ask.no AND x.what = 'results'
                  AND x.happened_at >= ask.first AND x.happened_at < ask.past
              CROSS JOIN fact f ON f.seq = x.seq AND f.kind <> 'corrected'",
    of_items: None,
    is: |body| matches!(body, FactBody::ResultNoted(_)),
};

impl Store {
    /// Mates of the ends, and gaugings with the gauges or of the ends, that
    /// happened within any of the stretches and not after `to`; corrections
    /// applied, each fact once, in no order.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn contacts_within(&self, stretches: &[Stretch], to: Moment) -> Result<Vec<Fact>, StoreError> {
        self.within(stretches, to, &CONTACTS)
    }

    /// Looks, gaugings, cleanings, new contacts and releases of the ends and
    /// checks of the gauges, as [`Store::contacts_within`].
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn cares_within(&self, stretches: &[Stretch], to: Moment) -> Result<Vec<Fact>, StoreError> {
        self.within(stretches, to, &CARES)
    }

    /// Results made through the ends, as [`Store::contacts_within`].
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn results_within(&self, stretches: &[Stretch], to: Moment) -> Result<Vec<Fact>, StoreError> {
        self.within(stretches, to, &RESULTS)
    }

    /// Ends about which a fact that happened within `from ..= to` may say
    /// that their contact is bad: damage seen, a pin that protrudes. What a
    /// correction changed may be among them.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn ends_with_harm(&self, from: Moment, to: Moment) -> Result<Vec<EndId>, StoreError> {
        Ok(self.connection.all(
            "SELECT id FROM connector_end WHERE no IN (
                 SELECT end_no FROM end_mark WHERE what = 'harms' AND happened_at BETWEEN ?1 AND ?2
             ) ORDER BY id",
            (from.microseconds(), to.microseconds()),
            |row| row.get(0).map(EndId::from_bytes),
        )?)
    }

    /// Number of the last fact; 0 in an empty log.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn last_number(&self) -> Result<u64, StoreError> {
        self.count("SELECT coalesce(max(seq), 0) FROM fact", ())
    }

    /// The latest moment at which any fact says it happened, before
    /// corrections.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn latest_happened(&self) -> Result<Option<Moment>, StoreError> {
        // The end of one range of the index for each kind.
        let kinds = format!("[\"{}\"]", crate::find::KINDS.join("\",\""));
        let sql = self.connection.either(
            "SELECT max((SELECT max(f.happened_at) FROM fact f WHERE f.kind = k.value)) FROM json_each(?1) k",
            "SELECT max((SELECT max(f.happened_at) FROM fact f WHERE f.kind = k.value)) \
             FROM json_array_elements_text(?1::text::json) k (value)",
        );
        let latest: Option<i64> = self.connection.only(sql, [kinds])?;
        Ok(latest.map(Moment::from_microseconds))
    }

    /// Whether any fact may say that an end is bad, dirty or held.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn has_findings(&self, end: EndId) -> Result<bool, StoreError> {
        self.has_mark(end, "finds")
    }

    /// Whether any fact may say that the contact of an end is bad.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn has_harm(&self, end: EndId) -> Result<bool, StoreError> {
        self.has_mark(end, "harms")
    }

    fn has_mark(&self, end: EndId, what: &str) -> Result<bool, StoreError> {
        Ok(self.connection.only(
            "SELECT EXISTS (SELECT 1 FROM end_mark k JOIN connector_end e ON e.no = k.end_no
                     WHERE e.id = ?1 AND k.what = ?2)",
            (end.bytes(), what),
        )?)
    }

    /// UTC days since 1970-01-01, from `from` to `until` inclusive, on which
    /// a contact or a care happened of which only the day is known, and which
    /// do not begin after `to`; ascending.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn unordered_days(&self, from: i64, until: i64, to: Moment) -> Result<Vec<i64>, StoreError> {
        let day_of = |at: Moment| at.microseconds().div_euclid(MICROSECONDS_PER_DAY);
        let first = from.saturating_mul(MICROSECONDS_PER_DAY);
        let last = until.saturating_add(1).saturating_mul(MICROSECONDS_PER_DAY).saturating_sub(1);
        let last = last.min(to.microseconds());
        // One step of the index for each day, however many facts it has. Named,
        // since without statistics the index by kind looks as good and reads all.
        let next = "SELECT happened_at FROM fact INDEXED BY fact_day WHERE resolution = 'day'
                 AND kind IN ('mated', 'gauged', 'inspected', 'cleaned', 'replaced', 'released', 'tool-checked')
                 AND happened_at BETWEEN ?1 AND ?2 ORDER BY happened_at LIMIT 1";
        let mut days = BTreeSet::new();
        let mut at = first;
        while at <= last
            && let Some(found) = self.connection.one(next, (at, last), |row| row.get::<i64>(0))?
        {
            let day = found.div_euclid(MICROSECONDS_PER_DAY);
            days.insert(day);
            at = day.saturating_add(1).saturating_mul(MICROSECONDS_PER_DAY);
        }
        let (corrected, standing) = self.corrected_days(first, last, to)?;
        if !corrected.is_empty() {
            let others = "SELECT seq FROM fact INDEXED BY fact_day WHERE resolution = 'day'
                     AND kind IN ('mated', 'gauged', 'inspected', 'cleaned', 'replaced', 'released', 'tool-checked')
                     AND happened_at BETWEEN ?1 AND ?2";
            let touched: BTreeSet<i64> = corrected.values().copied().collect();
            for day in touched {
                let begins = day.saturating_mul(MICROSECONDS_PER_DAY);
                let ends = begins.saturating_add(MICROSECONDS_PER_DAY - 1).min(last);
                let there: Vec<i64> = self.connection.all(others, (begins, ends), |row| row.get(0))?;
                if there.iter().all(|seq| corrected.contains_key(seq)) {
                    days.remove(&day);
                }
            }
        }
        let is_loose = |fact: &&Fact| (CONTACTS.is)(&fact.body) || (CARES.is)(&fact.body);
        days.extend(standing.iter().filter(is_loose).map(|fact| day_of(fact.happened_at)));
        Ok(days.into_iter().filter(|day| (from..=until).contains(day)).collect())
    }

    /// Facts known to the day that a correction speaks about and that were
    /// written under, or may have been moved into, a stretch: their numbers
    /// with the day they were written under, and those of them that stand.
    fn corrected_days(
        &self,
        first: i64,
        last: i64,
        to: Moment,
    ) -> Result<(BTreeMap<i64, i64>, Vec<Fact>), StoreError> {
        let rows = self.stored(
            &format!(
                "SELECT {COLUMNS} FROM fact c
                     JOIN fact_about a ON a.seq = c.seq
                     JOIN fact f ON f.seq = a.earlier_seq AND f.resolution = 'day'
                     JOIN machine m ON m.no = f.machine_no
                 WHERE c.kind = 'corrected' AND (
                     f.happened_at BETWEEN ?1 AND ?2 OR c.payload LIKE '%happened%'
                     OR EXISTS (SELECT 1 FROM fact_about b WHERE b.earlier_seq = c.seq))"
            ),
            (first, last),
        );
        let mut corrected = BTreeMap::new();
        let mut story = BTreeMap::new();
        for row in rows? {
            if row.kind == "corrected" {
                continue;
            }
            corrected.insert(row.seq, row.happened_at.div_euclid(MICROSECONDS_PER_DAY));
            for (_, told) in crate::write::story_of(&self.connection, row.seq)? {
                story.insert(told.id, told);
            }
        }
        let story: Vec<Fact> = story.into_values().collect();
        let standing =
            standing_facts(&story, to).into_iter().filter(|f| f.resolution == Resolution::Day).collect();
        Ok((corrected, standing))
    }

    /// An item as it is registered, corrections applied; none where a
    /// correction says that it never was.
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn registered(&self, item: ItemId) -> Result<Option<Item>, StoreError> {
        let seq =
            self.connection
                .one("SELECT registered_seq FROM item WHERE id = ?1", [item.bytes()], |row| row.get(0))?;
        let Some(seq) = seq else { return Ok(None) };
        let story: Vec<Fact> =
            crate::write::story_of(&self.connection, seq)?.into_iter().map(|(_, fact)| fact).collect();
        let standing = standing_facts(&story, Moment::from_microseconds(i64::MAX));
        Ok(standing.into_iter().find_map(|fact| match fact.body {
            FactBody::Registered(registered) if registered.item.id == item => Some(registered.item),
            _ => None,
        }))
    }

    fn within(&self, stretches: &[Stretch], to: Moment, wanted: &Wanted) -> Result<Vec<Fact>, StoreError> {
        let past = to.microseconds().saturating_add(1);
        let (mut ends, mut items) = (Vec::new(), Vec::new());
        for stretch in stretches {
            let until = stretch.until.microseconds().min(past);
            if let Some(no) = self.number_of(stretch.of)? {
                let ask = (no, stretch.from.microseconds(), until);
                match stretch.of {
                    TouchedBy::End(_) => ends.push(ask),
                    TouchedBy::Gauge(_) => items.push(ask),
                }
            }
        }
        let mut found: BTreeMap<FactId, Fact> = BTreeMap::new();
        for (asks, join) in [(&ends, Some(wanted.of_ends)), (&items, wanted.of_items)] {
            let Some(join) = join.filter(|_| !asks.is_empty()) else { continue };
            let sql =
                format!("SELECT {COLUMNS} FROM {{asks}} CROSS {join} JOIN machine m ON m.no = f.machine_no");
            for row in self.stored(&self.connection.asks(&sql), [triples(asks)])? {
                let fact = row.fact()?;
                found.insert(fact.id, fact);
            }
        }
        let (corrected, standing) = self.corrected_of(&ends, &items, to)?;
        found.retain(|id, _| !corrected.contains(id));
        for fact in standing {
            let inside = |s: &Stretch| s.from <= fact.happened_at && fact.happened_at < s.until;
            if (wanted.is)(&fact.body) && stretches.iter().any(|s| inside(s) && is_about(&fact, s.of)) {
                found.insert(fact.id, fact);
            }
        }
        Ok(found.into_values().collect())
    }

    /// Facts about these ends and items that a correction speaks about, and
    /// those of them that stand.
    fn corrected_of(
        &self,
        ends: &[(i64, i64, i64)],
        items: &[(i64, i64, i64)],
        to: Moment,
    ) -> Result<(BTreeSet<FactId>, Vec<Fact>), StoreError> {
        let mut story: BTreeMap<FactId, Fact> = BTreeMap::new();
        for (asks, table, key) in [(ends, "end_mark", "end_no"), (items, "item_mark", "item_no")] {
            if asks.is_empty() {
                continue;
            }
            let sql = format!(
                "SELECT {COLUMNS} FROM {{asks}}
                         CROSS JOIN {table} x ON x.{key} = ask.no AND x.what = 'corrects'
                         CROSS JOIN fact f ON f.seq = x.seq JOIN machine m ON m.no = f.machine_no"
            );
            let rows: Vec<StoredFact> = self.stored(&self.connection.asks(&sql), [triples(asks)])?;
            for row in rows {
                let fact = row.fact()?;
                story.insert(fact.id, fact);
            }
        }
        let named: Vec<FactId> = story.values().filter_map(|fact| fact.body.earlier_fact()).collect();
        for id in named {
            if !story.contains_key(&id)
                && let Some(earlier) = self.fact(id)?
            {
                story.insert(id, earlier.fact);
            }
        }
        let facts: Vec<Fact> = story.into_values().collect();
        let roots =
            facts.iter().filter(|f| !matches!(f.body, FactBody::Corrected(_))).map(|f| f.id).collect();
        Ok((roots, standing_facts(&facts, to)))
    }

    pub(crate) fn number_of(&self, of: TouchedBy) -> Result<Option<i64>, StoreError> {
        if let Some(no) = self.met.borrow().get(&of) {
            return Ok(Some(*no));
        }
        let (sql, id) = match &of {
            TouchedBy::End(end) => ("SELECT no FROM connector_end WHERE id = ?1", end.bytes()),
            TouchedBy::Gauge(item) => ("SELECT no FROM item WHERE id = ?1", item.bytes()),
        };
        let found = self.connection.one(sql, [id], |row| row.get(0))?;
        if let Some(no) = found {
            let mut met = self.met.borrow_mut();
            if met.len() >= MOST_MET {
                met.clear();
            }
            met.insert(of, no);
        }
        Ok(found)
    }
}

fn triples(asks: &[(i64, i64, i64)]) -> String {
    let rows: Vec<String> = asks.iter().map(|(no, from, until)| format!("[{no},{from},{until}]")).collect();
    format!("[{}]", rows.join(","))
}

fn is_about(fact: &Fact, of: TouchedBy) -> bool {
    fact.body.subjects().iter().any(|subject| match (subject, of) {
        (matewell_lab::Subject::End(end), TouchedBy::End(asked)) => *end == asked,
        (matewell_lab::Subject::Item(item), TouchedBy::Gauge(asked)) => *item == asked,
        _ => false,
    })
}
