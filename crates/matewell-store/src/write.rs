//! One batch on its way into the log.

use crate::{
    StoreError,
    append::hash_differs,
    chain::{Hash, Hashed, START, link},
    engine::{Column, Connection, DatabaseError, Prepared, Value},
    kept,
    listen::CHANNEL,
    mark,
    pending::{BLOCK, MOST_PENDING, Pending, PendingEnd, PendingItem},
    row::{COLUMNS, FROM, StoredFact, folded, integer, number, resolution_word},
};
use matewell_lab::{
    End, EndDisposition, EndId, Fact, FactBody, FactId, Inspected, Item, ItemId, MachineId, Moment,
    Registered, Subject, kind_word, standing_facts,
};
use matewell_record::{check_moments, payload_of};
use std::{
    borrow::Cow,
    collections::{BTreeSet, HashMap, HashSet},
};

/// Where the chain of a machine ends.
#[derive(Debug, Clone, Copy)]
struct ChainEnd {
    machine_no: i64,
    machine_seq: i64,
    hash: Hash,
}

/// A row of the log.
struct Row<'r> {
    seq: i64,
    fact: &'r Fact,
    machine_no: i64,
    machine_seq: i64,
    payload: &'r str,
    hash: Hash,
}

/// A row of a file; on a server whole lists are sent instead.
const INSERT: &str = "INSERT INTO fact (seq, id, machine_no, machine_seq, kind, happened_at, resolution, sequence, \
     recorded_at, person, source, note, payload, hash) \
     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14) ON CONFLICT (id) DO NOTHING";

/// Rows of an index that are there already stay as they are.
const PASS_OVER: &str = "ON CONFLICT DO NOTHING";
/// A row of a table of marks: whose, which mark, when, number of the fact.
type Mark = (i64, &'static str, i64, i64);

/// Writes a batch inside one transaction. Rows of the index tables are
/// gathered and written in the order of their keys: on a million mates over a
/// hundred thousand ends this touches each page of the index once per batch.
pub(crate) struct Writer<'t> {
    pub(crate) connection: &'t Connection,
    pub(crate) own: MachineId,
    pub(crate) ends: &'t mut HashMap<EndId, i64>,
    pub(crate) items: &'t mut HashMap<ItemId, i64>,
    chains: HashMap<MachineId, ChainEnd>,
    insert: Prepared<'t>,
    /// Facts on their way to a server, which is asked as seldom as possible;
    /// a file takes each at once.
    pub(crate) pending: Vec<Pending>,
    pub(crate) pending_items: Vec<PendingItem>,
    pub(crate) pending_ends: Vec<PendingEnd>,
    /// Numbers drawn ahead for items and ends to be registered; on a server.
    pub(crate) drawn: [Vec<i64>; 2],
    /// What was looked up together; what of it is not known is not on record.
    pub(crate) looked_up: HashSet<Subject>,
    /// Which of the facts that were announced are on record; on a server only.
    pub(crate) foreseen: HashMap<FactId, bool>,
    /// Number of the last fact before this batch, and now.
    first_seq: i64,
    last_seq: i64,
    end_rows: Vec<(i64, i64, i64)>,
    item_rows: Vec<(i64, i64, i64)>,
    end_marks: Vec<Mark>,
    item_marks: Vec<Mark>,
    text: Vec<u8>,
}

impl<'t> Writer<'t> {
    pub(crate) fn new(
        connection: &'t Connection,
        own: MachineId,
        ends: &'t mut HashMap<EndId, i64>,
        items: &'t mut HashMap<ItemId, i64>,
    ) -> Result<Self, StoreError> {
        let last_seq = connection.only("SELECT coalesce(max(seq), 0) FROM fact", ())?;
        Ok(Self {
            connection,
            own,
            ends,
            items,
            chains: HashMap::new(),
            insert: connection.prepared(INSERT)?,
            pending: Vec::new(),
            pending_items: Vec::new(),
            pending_ends: Vec::new(),
            drawn: [Vec::new(), Vec::new()],
            looked_up: HashSet::new(),
            foreseen: HashMap::new(),
            first_seq: last_seq,
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
        self.add_as(fact, place, None)
    }

    /// As [`Writer::add`], with the payload in the bytes another log has.
    pub(crate) fn add_as(
        &mut self,
        fact: &Fact,
        place: Option<(u64, &Hash)>,
        bytes: Option<&str>,
    ) -> Result<u64, StoreError> {
        let unwritable = |source| StoreError::Unwritable { fact: fact.id, source };
        check_moments(fact).map_err(unwritable)?;
        check_no_nul(fact)?;
        let payload = match bytes {
            Some(bytes) => Cow::Borrowed(bytes),
            None => Cow::Owned(payload_of(&fact.body).map_err(unwritable)?),
        };
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
        let row = Row { seq, fact, machine_no: chain.machine_no, machine_seq, payload: &payload, hash };
        if !self.insert(&row)? {
            let there = self.already_there(fact, &payload)?;
            return there.map(number).ok_or(StoreError::IdTaken { fact: fact.id });
        }
        self.last_seq = seq;
        self.chains.insert(fact.machine, ChainEnd { machine_seq, hash, ..chain });
        self.index(seq, fact)?;
        Ok(number(seq))
    }

    /// Writes a row of the log, or finds that its id is on record.
    fn insert(&mut self, row: &Row<'_>) -> Result<bool, StoreError> {
        let Row { fact, .. } = row;
        if let Prepared::Sqlite(_) = self.insert {
            let added = self.insert.run((
                row.seq,
                fact.id.bytes(),
                row.machine_no,
                row.machine_seq,
                kind_word(&fact.body),
                fact.happened_at.microseconds(),
                resolution_word(fact.resolution),
                i64::from(fact.sequence),
                fact.recorded_at.microseconds(),
                &fact.person,
                fact.source.word(),
                &fact.note,
                row.payload,
                row.hash,
            ))?;
            return Ok(added > 0);
        }
        let there = match self.foreseen.get(&fact.id) {
            Some(there) => *there,
            None => seq_of(self.connection, fact.id)?.is_some(),
        };
        if there {
            return Ok(false);
        }
        self.foreseen.insert(fact.id, true);
        if row.seq % BLOCK == 0 {
            self.begin_block(row.seq)?;
        }
        self.pending.push(Pending {
            seq: row.seq,
            id: fact.id,
            machine_no: row.machine_no,
            machine_seq: row.machine_seq,
            kind: kind_word(&fact.body),
            happened_at: fact.happened_at.microseconds(),
            resolution: resolution_word(fact.resolution),
            sequence: i64::from(fact.sequence),
            recorded_at: fact.recorded_at.microseconds(),
            person: fact.person.clone(),
            source: fact.source.word(),
            note: fact.note.clone(),
            payload: row.payload.to_owned(),
            hash: row.hash,
        });
        if self.pending.len() >= MOST_PENDING {
            self.flush()?;
        }
        Ok(true)
    }

    /// Tells other servers of the same database that there is more, once it
    /// is kept.
    pub(crate) fn announce(&self) -> Result<(), StoreError> {
        if self.last_seq > self.first_seq && matches!(self.connection, Connection::Postgres(_)) {
            let notify = "SELECT CAST(pg_notify(?1, ?2) AS TEXT)";
            self.connection.one(notify, (CHANNEL, self.last_seq.to_string()), |_| Ok(()))?;
        }
        Ok(())
    }

    /// Writes the gathered rows of the index tables.
    pub(crate) fn finish(&mut self) -> Result<(), StoreError> {
        self.flush()?;
        for (rows, table, key) in
            [(&mut self.end_rows, "fact_end", "end_no"), (&mut self.item_rows, "fact_item", "item_no")]
        {
            rows.sort_unstable();
            rows.dedup();
            let values: Vec<Value<'_>> = rows
                .drain(..)
                .flat_map(|(no, at, seq)| [Value::Integer(no), Value::Integer(at), Value::Integer(seq)])
                .collect();
            let columns =
                &[(key, Column::Integer), ("happened_at", Column::Integer), ("seq", Column::Integer)];
            self.connection.insert_rows(table, columns, &values, PASS_OVER)?;
        }
        for (marks, table, key) in
            [(&mut self.end_marks, "end_mark", "end_no"), (&mut self.item_marks, "item_mark", "item_no")]
        {
            marks.sort_unstable();
            marks.dedup();
            let values: Vec<Value<'_>> = marks
                .drain(..)
                .flat_map(|(no, what, at, seq)| {
                    [Value::Integer(no), Value::Text(what), Value::Integer(at), Value::Integer(seq)]
                })
                .collect();
            let columns = &[
                (key, Column::Integer),
                ("what", Column::Text),
                ("happened_at", Column::Integer),
                ("seq", Column::Integer),
            ];
            self.connection.insert_rows(table, columns, &values, PASS_OVER)?;
        }
        Ok(())
    }

    fn already_there(&mut self, fact: &Fact, payload: &str) -> Result<Option<i64>, StoreError> {
        if self.foreseen.get(&fact.id) == Some(&false) {
            return Ok(None);
        }
        self.flush()?;
        let found = self.connection.one(
            &format!("SELECT {COLUMNS} FROM {FROM} WHERE f.id = ?1"),
            [fact.id.bytes()],
            StoredFact::read,
        )?;
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
        self.connection.run(
            "INSERT INTO machine (id, own) VALUES (?1, 0) ON CONFLICT (id) DO NOTHING",
            [machine.bytes()],
        )?;
        let machine_no: i64 =
            self.connection.only("SELECT no FROM machine WHERE id = ?1", [machine.bytes()])?;
        let newest = self.connection.either(
            "SELECT machine_seq, hash FROM fact WHERE machine_no = ?1 ORDER BY machine_seq DESC LIMIT 1",
            "SELECT p.machine_seq, f.hash FROM fact_place p JOIN fact f ON f.seq = p.seq \
             WHERE p.machine_no = ?1 ORDER BY p.machine_seq DESC LIMIT 1",
        );
        let last = self.connection.one(newest, [machine_no], |row| Ok((row.get(0)?, row.get(1)?)))?;
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
                kept::check_kept(self.connection, &sweep.sha256, sweep.bytes, fact.id)?;
            }
            FactBody::Inspected(Inspected { photo: Some(photo), .. }) => {
                kept::check_kept(self.connection, &photo.sha256, photo.bytes, fact.id)?;
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
    fn index_of_case(&mut self, seq: i64, fact: &Fact) -> Result<(), StoreError> {
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
            let case_seq = self.seq_of(case, seq, fact.id)?;
            self.note_about(case_seq, seq)?;
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
        let story = self.story_of(earlier)?;
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
        let item_no = if let Some(no) = self.drawn[0].pop() {
            self.pending_items.push(PendingItem {
                no,
                id: item,
                tag: tag.clone(),
                folded: folded(tag),
                kind: kind.word(),
                registered_seq: seq,
            });
            no
        } else {
            self.flush()?;
            self.connection.only(
                "INSERT INTO item (id, tag, tag_folded, kind, registered_seq) VALUES (?1, ?2, ?3, ?4, ?5) \
             RETURNING no",
                (item.bytes(), tag, folded(tag), kind.word(), seq),
            )?
        };
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
        if let Some(no) = self.drawn[1].pop() {
            self.pending_ends.push(PendingEnd {
                no,
                id: end.id,
                item_no,
                tag: end.tag.clone(),
                folded: folded(&end.tag),
                interface: end.interface.clone(),
                sex: end.sex.word(),
                registered_seq: seq,
            });
            self.ends.insert(end.id, no);
            return Ok(());
        }
        self.flush()?;
        let end_no = self.connection.only(
            "INSERT INTO connector_end (id, item_no, tag, tag_folded, interface, sex, registered_seq) \
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) RETURNING no",
            (end.id.bytes(), item_no, &end.tag, folded(&end.tag), &end.interface, end.sex.word(), seq),
        )?;
        self.ends.insert(end.id, end_no);
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
        self.connection.run("UPDATE connector_end SET struck = 1 WHERE item_no = ?1", [item_no])?;
        self.connection.run("UPDATE item SET struck = 1 WHERE no = ?1", [item_no])?;
        let Some(registered) = registered else { return Ok(()) };
        if registered.item.id != item {
            return Err(StoreError::UnknownItem { item: registered.item.id, fact: correction.id });
        }
        let Item { tag, kind, .. } = &registered.item;
        self.connection.run(
            "UPDATE item SET tag = ?2, tag_folded = ?3, kind = ?4, struck = 0 WHERE no = ?1",
            (item_no, tag, folded(tag), kind.word()),
        )?;
        for end in &registered.ends {
            let Some(end_no) = self.end_no(end.id)? else {
                self.register_end(seq, correction.id, item, item_no, end)?;
                continue;
            };
            let settled = self.connection.run(
                "UPDATE connector_end SET tag = ?2, tag_folded = ?3, interface = ?4, sex = ?5, struck = 0 \
                 WHERE no = ?1 AND item_no = ?6",
                (end_no, &end.tag, folded(&end.tag), &end.interface, end.sex.word(), item_no),
            )?;
            if settled == 0 || end.item != item {
                return Err(StoreError::EndElsewhere { end: end.id, fact: correction.id });
            }
        }
        Ok(())
    }

    fn note_about(&mut self, earlier: i64, seq: i64) -> Result<(), StoreError> {
        self.flush()?;
        self.connection.run("INSERT INTO fact_about (earlier_seq, seq) VALUES (?1, ?2)", (earlier, seq))?;
        Ok(())
    }

    /// Number of an earlier fact named by the fact `fact` with number `seq`.
    fn seq_of(&mut self, earlier: FactId, seq: i64, fact: FactId) -> Result<i64, StoreError> {
        self.flush()?;
        seq_of(self.connection, earlier)?
            .filter(|found| *found < seq)
            .ok_or(StoreError::UnknownFact { earlier, fact })
    }

    fn story_of(&mut self, earlier: i64) -> Result<Vec<(i64, Fact)>, StoreError> {
        self.flush()?;
        story_of(self.connection, earlier)
    }

    fn end_no(&mut self, end: EndId) -> Result<Option<i64>, StoreError> {
        if let Some(no) = self.ends.get(&end) {
            return Ok(Some(*no));
        }
        let found =
            self.connection
                .one("SELECT no FROM connector_end WHERE id = ?1", [end.bytes()], |row| row.get(0))?;
        if let Some(no) = found {
            self.ends.insert(end, no);
        }
        Ok(found)
    }

    fn item_no(&mut self, item: ItemId) -> Result<Option<i64>, StoreError> {
        if let Some(no) = self.items.get(&item) {
            return Ok(Some(*no));
        }
        if self.looked_up.contains(&Subject::Item(item)) {
            return Ok(None);
        }
        let found =
            self.connection.one("SELECT no FROM item WHERE id = ?1", [item.bytes()], |row| row.get(0))?;
        if let Some(no) = found {
            self.items.insert(item, no);
        }
        Ok(found)
    }
}

/// Number of a fact.
pub(crate) fn seq_of(connection: &Connection, fact: FactId) -> Result<Option<i64>, StoreError> {
    Ok(connection.one("SELECT seq FROM fact WHERE id = ?1", [fact.bytes()], |row| row.get(0))?)
}

/// The fact that corrections and follow-ups lead back to, first, and all
/// corrections and follow-ups of it, of one another included.
pub(crate) fn story_of(connection: &Connection, seq: i64) -> Result<Vec<(i64, Fact)>, StoreError> {
    let sql = format!("SELECT {COLUMNS} FROM {FROM} WHERE f.seq = ?1");
    let read = |seq: i64| -> Result<Fact, StoreError> {
        let gone = DatabaseError::Cell { column: 0, expected: "a fact" };
        connection.one(&sql, [seq], StoredFact::read)?.ok_or(gone)?.fact()
    };
    let mut first = read(seq)?;
    let mut first_seq = seq;
    // Each step goes to a smaller number, so this ends.
    while let Some(earlier) = first.body.earlier_fact() {
        let Some(earlier_seq) = seq_of(connection, earlier)?.filter(|found| *found < first_seq) else {
            break;
        };
        first_seq = earlier_seq;
        first = read(first_seq)?;
    }
    let numbers: Vec<i64> = connection.all(
        "WITH RECURSIVE told (seq) AS (
             SELECT CAST(?1 AS BIGINT)
             UNION
             SELECT a.seq FROM told t JOIN fact_about a ON a.earlier_seq = t.seq
                 JOIN fact f ON f.seq = a.seq AND f.kind IN ('corrected', 'followed-up')
         )
         SELECT seq FROM told WHERE seq <> ?1 ORDER BY seq",
        [first_seq],
        |row| row.get(0),
    )?;
    let mut story = vec![(first_seq, first)];
    for told_seq in numbers {
        story.push((told_seq, read(told_seq)?));
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
