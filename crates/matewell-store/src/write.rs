//! One batch on its way into the log.

use crate::{
    StoreError,
    append::hash_differs,
    chain::{Hash, Hashed, START, link},
    kept, mark,
    row::{COLUMNS, FROM, StoredFact, folded, integer, number, resolution_word},
};
use matewell_lab::{
    End, EndDisposition, EndId, Fact, FactBody, FactId, Inspected, Item, ItemId, MachineId, Moment,
    Registered, Subject, kind_word, standing_facts,
};
use matewell_record::{check_moments, payload_of};
use rusqlite::{CachedStatement, OptionalExtension as _, Transaction, params};
use std::collections::{BTreeSet, HashMap};

/// Where the chain of a machine ends.
#[derive(Debug, Clone, Copy)]
struct ChainEnd {
    machine_no: i64,
    machine_seq: i64,
    hash: Hash,
}

/// A row of a table of marks: whose, which mark, when, number of the fact.
type Mark = (i64, &'static str, i64, i64);

/// Writes a batch inside one transaction. Rows of the index tables are
/// gathered and written in the order of their keys: on a million mates over a
/// hundred thousand ends this touches each page of the index once per batch.
pub(crate) struct Writer<'t> {
    pub(crate) transaction: &'t Transaction<'t>,
    own: MachineId,
    ends: &'t mut HashMap<EndId, i64>,
    items: &'t mut HashMap<ItemId, i64>,
    chains: HashMap<MachineId, ChainEnd>,
    insert: CachedStatement<'t>,
    last_seq: i64,
    end_rows: Vec<(i64, i64, i64)>,
    item_rows: Vec<(i64, i64, i64)>,
    end_marks: Vec<Mark>,
    item_marks: Vec<Mark>,
    text: Vec<u8>,
}

impl<'t> Writer<'t> {
    pub(crate) fn new(
        transaction: &'t Transaction<'t>,
        own: MachineId,
        ends: &'t mut HashMap<EndId, i64>,
        items: &'t mut HashMap<ItemId, i64>,
    ) -> Result<Self, StoreError> {
        let insert = transaction.prepare_cached(
            "INSERT INTO fact (seq, id, machine_no, machine_seq, kind, happened_at, resolution, sequence, \
             recorded_at, person, source, note, payload, hash) \
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14) \
             ON CONFLICT (id) DO NOTHING",
        )?;
        let last_seq =
            transaction.query_row("SELECT coalesce(max(seq), 0) FROM fact", [], |row| row.get(0))?;
        Ok(Self {
            transaction,
            own,
            ends,
            items,
            chains: HashMap::new(),
            insert,
            last_seq,
            end_rows: Vec::new(),
            item_rows: Vec::new(),
            end_marks: Vec::new(),
            item_marks: Vec::new(),
            text: Vec::new(),
        })
    }

    /// Adds one fact, or finds that it is there, and returns its number.
    pub(crate) fn add(&mut self, fact: &Fact, place: Option<(u64, &Hash)>) -> Result<u64, StoreError> {
        let unwritable = |source| StoreError::Unwritable { fact: fact.id, source };
        check_moments(fact).map_err(unwritable)?;
        check_no_nul(fact)?;
        let payload = payload_of(&fact.body).map_err(unwritable)?;
        if (place.is_some() || fact.machine != self.own)
            && let Some(seq) = self.already_there(fact, &payload)?
        {
            return Ok(number(seq));
        }
        if place.is_none() && fact.machine != self.own {
            return Err(StoreError::ForeignMachine { expected: self.own, found: fact.machine });
        }
        let chain = self.chain_end(fact.machine)?;
        let machine_seq = chain.machine_seq + 1;
        let kind = kind_word(&fact.body);
        let hashed = Hashed {
            machine: fact.machine.bytes(),
            machine_seq,
            id: fact.id.bytes(),
            kind,
            happened_at: fact.happened_at.microseconds(),
            resolution: resolution_word(fact.resolution),
            sequence: i64::from(fact.sequence),
            recorded_at: fact.recorded_at.microseconds(),
            person: &fact.person,
            source: fact.source.word(),
            note: fact.note.as_deref(),
            payload: &payload,
        };
        let hash = link(&chain.hash, &hashed, &mut self.text);
        if let Some((given_seq, given_hash)) = place {
            if integer(given_seq) != machine_seq {
                return Err(StoreError::ChainGap {
                    machine: fact.machine,
                    expected: number(machine_seq),
                    found: given_seq,
                });
            }
            if *given_hash != hash {
                return Err(hash_differs(fact, &hash, given_hash));
            }
        }
        let seq = self.last_seq + 1;
        let added = self.insert.execute(params![
            seq,
            hashed.id,
            chain.machine_no,
            machine_seq,
            kind,
            hashed.happened_at,
            hashed.resolution,
            hashed.sequence,
            hashed.recorded_at,
            hashed.person,
            hashed.source,
            hashed.note,
            hashed.payload,
            hash,
        ])?;
        if added == 0 {
            let there = self.already_there(fact, &payload)?;
            return there.map(number).ok_or(StoreError::IdTaken { fact: fact.id });
        }
        self.last_seq = seq;
        self.chains.insert(fact.machine, ChainEnd { machine_seq, hash, ..chain });
        self.index(seq, fact)?;
        Ok(number(seq))
    }

    /// Writes the gathered rows of the index tables.
    pub(crate) fn finish(&mut self) -> Result<(), StoreError> {
        for (rows, statement) in [
            (
                &mut self.end_rows,
                "INSERT INTO fact_end (end_no, happened_at, seq) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
            ),
            (
                &mut self.item_rows,
                "INSERT INTO fact_item (item_no, happened_at, seq) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
            ),
        ] {
            rows.sort_unstable();
            rows.dedup();
            let mut insert = self.transaction.prepare_cached(statement)?;
            for row in rows.drain(..) {
                insert.execute(row)?;
            }
        }
        for (marks, statement) in [
            (
                &mut self.end_marks,
                "INSERT INTO end_mark (end_no, what, happened_at, seq) VALUES (?1, ?2, ?3, ?4) ON CONFLICT DO NOTHING",
            ),
            (
                &mut self.item_marks,
                "INSERT INTO item_mark (item_no, what, happened_at, seq) VALUES (?1, ?2, ?3, ?4) ON CONFLICT DO NOTHING",
            ),
        ] {
            marks.sort_unstable();
            marks.dedup();
            let mut insert = self.transaction.prepare_cached(statement)?;
            for mark in marks.drain(..) {
                insert.execute(mark)?;
            }
        }
        Ok(())
    }

    fn already_there(&self, fact: &Fact, payload: &str) -> Result<Option<i64>, StoreError> {
        let found = self
            .transaction
            .prepare_cached(&format!("SELECT {COLUMNS} FROM {FROM} WHERE f.id = ?1"))?
            .query_row([fact.id.bytes()], StoredFact::read)
            .optional()?;
        let Some(found) = found else { return Ok(None) };
        let same = found.machine == *fact.machine.bytes()
            && found.kind == kind_word(&fact.body)
            && found.happened_at == fact.happened_at.microseconds()
            && found.resolution == resolution_word(fact.resolution)
            && found.sequence == i64::from(fact.sequence)
            && found.recorded_at == fact.recorded_at.microseconds()
            && found.person == fact.person
            && found.source == fact.source.word()
            && found.note == fact.note
            && found.payload == payload;
        if same { Ok(Some(found.seq)) } else { Err(StoreError::IdTaken { fact: fact.id }) }
    }

    fn chain_end(&mut self, machine: MachineId) -> Result<ChainEnd, StoreError> {
        if let Some(known) = self.chains.get(&machine) {
            return Ok(*known);
        }
        self.transaction
            .prepare_cached("INSERT INTO machine (id, own) VALUES (?1, 0) ON CONFLICT (id) DO NOTHING")?
            .execute([machine.bytes()])?;
        let machine_no: i64 = self
            .transaction
            .prepare_cached("SELECT no FROM machine WHERE id = ?1")?
            .query_row([machine.bytes()], |row| row.get(0))?;
        let last = self
            .transaction
            .prepare_cached(
                "SELECT machine_seq, hash FROM fact WHERE machine_no = ?1 ORDER BY machine_seq DESC LIMIT 1",
            )?
            .query_row([machine_no], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        let (machine_seq, hash) = last.unwrap_or((0, START));
        let end = ChainEnd { machine_no, machine_seq, hash };
        self.chains.insert(machine, end);
        Ok(end)
    }

    /// Notes which ends, items and earlier facts a fact is about.
    fn index(&mut self, seq: i64, fact: &Fact) -> Result<(), StoreError> {
        match &fact.body {
            FactBody::Registered(registered) => self.register(seq, fact.id, registered)?,
            FactBody::Mated(mated) => {
                if let Some(earlier) = mated.overridden {
                    self.seq_of(earlier, seq, fact.id)?;
                }
            }
            FactBody::Released(released) => {
                if let Some(earlier) = released.evidence {
                    self.seq_of(earlier, seq, fact.id)?;
                }
            }
            FactBody::Overridden(overridden) => {
                let earlier = self.seq_of(overridden.refused, seq, fact.id)?;
                self.note_about(earlier, seq)?;
            }
            FactBody::SweepNoted(sweep) => {
                kept::check_kept(self.transaction, &sweep.sha256, sweep.bytes, fact.id)?;
            }
            FactBody::Inspected(Inspected { photo: Some(photo), .. }) => {
                kept::check_kept(self.transaction, &photo.sha256, photo.bytes, fact.id)?;
            }
            FactBody::SweepJudged(judged) => {
                for earlier in [judged.baseline, judged.sweep] {
                    self.seq_of(earlier, seq, fact.id)?;
                }
            }
            FactBody::Corrected(_) | FactBody::FollowedUp(_) => return self.index_about_earlier(seq, fact),
            FactBody::CaseOpened(opened) => {
                for earlier in opened.holds.iter().chain(&opened.results) {
                    self.seq_of(*earlier, seq, fact.id)?;
                }
            }
            FactBody::CaseChanged(_)
            | FactBody::EndDisposed(_)
            | FactBody::ResultDisposed(_)
            | FactBody::CaseClosed(_) => self.index_of_case(seq, fact)?,
            _ => {}
        }
        let happened_at = fact.happened_at.microseconds();
        // The bulk of any log, without the list that `subjects` makes.
        if let FactBody::Mated(mated) = &fact.body {
            for end in [mated.a, mated.b] {
                self.row_of(Subject::End(end), happened_at, seq, fact)?;
            }
            if let Some(wrench) = mated.wrench {
                self.row_of(Subject::Item(wrench), happened_at, seq, fact)?;
            }
            return Ok(());
        }
        for subject in fact.body.subjects() {
            self.row_of(subject, happened_at, seq, fact)?;
        }
        Ok(())
    }

    /// A later fact of a case speaks about the one that opened it, and names
    /// evidence, holds and results on record.
    fn index_of_case(&self, seq: i64, fact: &Fact) -> Result<(), StoreError> {
        let named: Vec<FactId> = match &fact.body {
            FactBody::CaseChanged(changed) => changed.holds.iter().chain(&changed.results).copied().collect(),
            FactBody::EndDisposed(d) => match d.disposition {
                EndDisposition::Cleared { evidence } => vec![evidence],
                EndDisposition::Damaged | EndDisposition::Waived { .. } => Vec::new(),
            },
            FactBody::ResultDisposed(d) => vec![d.result],
            _ => Vec::new(),
        };
        for earlier in named {
            self.seq_of(earlier, seq, fact.id)?;
        }
        if let Some(case) = fact.body.of_case() {
            self.note_about(self.seq_of(case, seq, fact.id)?, seq)?;
        }
        Ok(())
    }

    /// A correction or a follow-up is about everything that the facts it
    /// hangs together with are about, and they about what it names anew: then
    /// each end finds the whole story, whichever of them changed the end.
    fn index_about_earlier(&mut self, seq: i64, fact: &Fact) -> Result<(), StoreError> {
        let Some(earlier_id) = fact.body.earlier_fact() else { return Ok(()) };
        let earlier = self.seq_of(earlier_id, seq, fact.id)?;
        self.note_about(earlier, seq)?;
        let story = story_of(self.transaction, earlier)?;
        self.settle_registration(seq, fact, &story)?;
        let subjects: BTreeSet<Subject> = story.iter().flat_map(|(_, told)| told.body.subjects()).collect();
        for subject in subjects {
            for (told_seq, told) in &story {
                self.row_of(subject, told.happened_at.microseconds(), *told_seq, told)?;
            }
        }
        Ok(())
    }

    fn row_of(
        &mut self,
        subject: Subject,
        happened_at: i64,
        seq: i64,
        fact: &Fact,
    ) -> Result<(), StoreError> {
        match subject {
            Subject::End(end) => {
                let no = self.end_no(end)?.ok_or(StoreError::UnknownEnd { end, fact: fact.id })?;
                self.end_rows.push((no, happened_at, seq));
                self.end_marks
                    .extend(mark::on_ends(&fact.body).iter().map(|what| (no, *what, happened_at, seq)));
            }
            Subject::Item(item) => {
                let no = self.item_no(item)?.ok_or(StoreError::UnknownItem { item, fact: fact.id })?;
                self.item_rows.push((no, happened_at, seq));
                self.item_marks
                    .extend(mark::on_items(&fact.body).iter().map(|what| (no, *what, happened_at, seq)));
            }
        }
        Ok(())
    }

    fn register(&mut self, seq: i64, fact: FactId, registered: &Registered) -> Result<(), StoreError> {
        let item = registered.item.id;
        if self.item_no(item)?.is_some() {
            return Err(StoreError::ItemKnown { item, fact });
        }
        let Item { tag, kind, .. } = &registered.item;
        self.transaction
            .prepare_cached(
                "INSERT INTO item (id, tag, tag_folded, kind, registered_seq) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?
            .execute((item.bytes(), tag, folded(tag), kind.word(), seq))?;
        let item_no = self.transaction.last_insert_rowid();
        self.items.insert(item, item_no);
        for end in &registered.ends {
            self.register_end(seq, fact, item, item_no, end)?;
        }
        Ok(())
    }

    fn register_end(
        &mut self,
        seq: i64,
        fact: FactId,
        item: ItemId,
        item_no: i64,
        end: &End,
    ) -> Result<(), StoreError> {
        if end.item != item || self.end_no(end.id)?.is_some() {
            return Err(StoreError::EndElsewhere { end: end.id, fact });
        }
        self.transaction
            .prepare_cached(
                "INSERT INTO connector_end (id, item_no, tag, tag_folded, interface, sex, registered_seq) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            )?
            .execute((
                end.id.bytes(),
                item_no,
                &end.tag,
                folded(&end.tag),
                &end.interface,
                end.sex.word(),
                seq,
            ))?;
        self.ends.insert(end.id, self.transaction.last_insert_rowid());
        Ok(())
    }

    /// After a correction of a registration: the item and its ends as they
    /// now stand.
    fn settle_registration(
        &mut self,
        seq: i64,
        correction: &Fact,
        story: &[(i64, Fact)],
    ) -> Result<(), StoreError> {
        let Some((_, Fact { body: FactBody::Registered(first), .. })) = story.first() else { return Ok(()) };
        let item = first.item.id;
        let item_no = self.item_no(item)?.ok_or(StoreError::UnknownItem { item, fact: correction.id })?;
        let facts: Vec<Fact> = story.iter().map(|(_, fact)| fact.clone()).collect();
        let standing = standing_facts(&facts, Moment::from_microseconds(i64::MAX));
        let registered = standing.iter().find_map(|fact| match &fact.body {
            FactBody::Registered(registered) => Some(registered.as_ref()),
            _ => None,
        });
        self.transaction
            .prepare_cached("UPDATE connector_end SET struck = 1 WHERE item_no = ?1")?
            .execute([item_no])?;
        self.transaction.prepare_cached("UPDATE item SET struck = 1 WHERE no = ?1")?.execute([item_no])?;
        let Some(registered) = registered else { return Ok(()) };
        if registered.item.id != item {
            return Err(StoreError::UnknownItem { item: registered.item.id, fact: correction.id });
        }
        let Item { tag, kind, .. } = &registered.item;
        self.transaction
            .prepare_cached("UPDATE item SET tag = ?2, tag_folded = ?3, kind = ?4, struck = 0 WHERE no = ?1")?
            .execute((item_no, tag, folded(tag), kind.word()))?;
        for end in &registered.ends {
            let Some(end_no) = self.end_no(end.id)? else {
                self.register_end(seq, correction.id, item, item_no, end)?;
                continue;
            };
            let settled = self
                .transaction
                .prepare_cached(
                    "UPDATE connector_end SET tag = ?2, tag_folded = ?3, interface = ?4, sex = ?5, struck = 0 \
                     WHERE no = ?1 AND item_no = ?6",
                )?
                .execute((end_no, &end.tag, folded(&end.tag), &end.interface, end.sex.word(), item_no))?;
            if settled == 0 || end.item != item {
                return Err(StoreError::EndElsewhere { end: end.id, fact: correction.id });
            }
        }
        Ok(())
    }

    fn note_about(&self, earlier: i64, seq: i64) -> Result<(), StoreError> {
        self.transaction
            .prepare_cached("INSERT INTO fact_about (earlier_seq, seq) VALUES (?1, ?2)")?
            .execute((earlier, seq))?;
        Ok(())
    }

    /// Number of an earlier fact named by the fact `fact` with number `seq`.
    fn seq_of(&self, earlier: FactId, seq: i64, fact: FactId) -> Result<i64, StoreError> {
        seq_of(self.transaction, earlier)?
            .filter(|found| *found < seq)
            .ok_or(StoreError::UnknownFact { earlier, fact })
    }

    fn end_no(&mut self, end: EndId) -> Result<Option<i64>, StoreError> {
        if let Some(no) = self.ends.get(&end) {
            return Ok(Some(*no));
        }
        let found = self
            .transaction
            .prepare_cached("SELECT no FROM connector_end WHERE id = ?1")?
            .query_row([end.bytes()], |row| row.get(0))
            .optional()?;
        if let Some(no) = found {
            self.ends.insert(end, no);
        }
        Ok(found)
    }

    fn item_no(&mut self, item: ItemId) -> Result<Option<i64>, StoreError> {
        if let Some(no) = self.items.get(&item) {
            return Ok(Some(*no));
        }
        let found = self
            .transaction
            .prepare_cached("SELECT no FROM item WHERE id = ?1")?
            .query_row([item.bytes()], |row| row.get(0))
            .optional()?;
        if let Some(no) = found {
            self.items.insert(item, no);
        }
        Ok(found)
    }
}

/// Number of a fact.
pub(crate) fn seq_of(connection: &rusqlite::Connection, fact: FactId) -> Result<Option<i64>, StoreError> {
    Ok(connection
        .prepare_cached("SELECT seq FROM fact WHERE id = ?1")?
        .query_row([fact.bytes()], |row| row.get(0))
        .optional()?)
}

/// The fact that corrections and follow-ups lead back to, first, and all
/// corrections and follow-ups of it, of one another included.
pub(crate) fn story_of(connection: &rusqlite::Connection, seq: i64) -> Result<Vec<(i64, Fact)>, StoreError> {
    let mut read = connection.prepare_cached(&format!("SELECT {COLUMNS} FROM {FROM} WHERE f.seq = ?1"))?;
    let mut first = read.query_row([seq], StoredFact::read)?.fact()?;
    let mut first_seq = seq;
    // Each step goes to a smaller number, so this ends.
    while let Some(earlier) = first.body.earlier_fact() {
        let Some(earlier_seq) = seq_of(connection, earlier)?.filter(|found| *found < first_seq) else {
            break;
        };
        first_seq = earlier_seq;
        first = read.query_row([first_seq], StoredFact::read)?.fact()?;
    }
    let mut later = connection.prepare_cached(
        "WITH RECURSIVE told (seq) AS (
             SELECT ?1
             UNION
             SELECT a.seq FROM told t JOIN fact_about a ON a.earlier_seq = t.seq
                 JOIN fact f ON f.seq = a.seq AND f.kind IN ('corrected', 'followed-up')
         )
         SELECT seq FROM told WHERE seq <> ?1 ORDER BY seq",
    )?;
    let numbers = later.query_map([first_seq], |row| row.get(0))?.collect::<Result<Vec<i64>, _>>()?;
    let mut story = vec![(first_seq, first)];
    for told_seq in numbers {
        story.push((told_seq, read.query_row([told_seq], StoredFact::read)?.fact()?));
    }
    Ok(story)
}

/// Not every database can keep U+0000 in text, and a log must be able to move.
fn check_no_nul(fact: &Fact) -> Result<(), StoreError> {
    let refuse = |field| Err(StoreError::NulCharacter { field, fact: fact.id });
    if fact.person.contains('\0') {
        return refuse("the person");
    }
    if fact.note.as_ref().is_some_and(|note| note.contains('\0')) {
        return refuse("the note");
    }
    let registered = match &fact.body {
        FactBody::Registered(registered) => registered,
        FactBody::SweepNoted(sweep) => {
            let texts = [&sweep.cable_shape, &sweep.instrument, &sweep.layout];
            let nul = texts.into_iter().flatten().any(|t| t.contains('\0')) || sweep.file_name.contains('\0');
            return if nul { refuse("a text of the sweep") } else { Ok(()) };
        }
        FactBody::Corrected(corrected) => match &corrected.correction {
            matewell_lab::Correction::Body(body) => match body.as_ref() {
                FactBody::Registered(registered) => registered,
                _ => return Ok(()),
            },
            _ => return Ok(()),
        },
        _ => return Ok(()),
    };
    if registered.item.tag.contains('\0')
        || registered.ends.iter().any(|end| end.tag.contains('\0') || end.interface.contains('\0'))
    {
        return refuse("a tag or an interface");
    }
    Ok(())
}
