//! Facts on their way to a server, which is asked as seldom as possible.

use crate::{
    StoreError,
    chain::{Hash, push_hex},
    engine::{AsValue as _, Column, Connection, Value},
    row::integer,
    write::Writer,
};
use matewell_lab::{EndId, Fact, FactBody, FactId, ItemId, Subject};
use std::collections::BTreeSet;

/// A row of the log on its way to a server.
pub(crate) struct Pending {
    pub(crate) seq: i64,
    pub(crate) id: FactId,
    pub(crate) machine_no: i64,
    pub(crate) machine_seq: i64,
    pub(crate) kind: &'static str,
    pub(crate) happened_at: i64,
    pub(crate) resolution: &'static str,
    pub(crate) sequence: i64,
    pub(crate) recorded_at: i64,
    pub(crate) person: String,
    pub(crate) source: &'static str,
    pub(crate) note: Option<String>,
    pub(crate) payload: String,
    pub(crate) hash: Hash,
}

/// Columns of the log in the order in which [`Writer::flush`] gives them.
const FACT_COLUMNS: &[(&str, Column)] = &[
    ("seq", Column::Integer),
    ("id", Column::Bytes),
    ("machine_no", Column::Integer),
    ("machine_seq", Column::Integer),
    ("kind", Column::Text),
    ("happened_at", Column::Integer),
    ("resolution", Column::Text),
    ("sequence", Column::Integer),
    ("recorded_at", Column::Integer),
    ("person", Column::Text),
    ("source", Column::Text),
    ("note", Column::Text),
    ("payload", Column::Text),
    ("hash", Column::Bytes),
];

/// Facts of a block on a server; as in its migration 1.
pub(crate) const BLOCK: i64 = 10_000_000;
/// Facts sent to a server at once.
pub(crate) const MOST_PENDING: usize = 1_000;

/// An item on its way to a server.
pub(crate) struct PendingItem {
    pub(crate) no: i64,
    pub(crate) id: ItemId,
    pub(crate) tag: String,
    pub(crate) folded: String,
    pub(crate) kind: &'static str,
    pub(crate) registered_seq: i64,
}

/// An end on its way to a server.
pub(crate) struct PendingEnd {
    pub(crate) no: i64,
    pub(crate) id: EndId,
    pub(crate) item_no: i64,
    pub(crate) tag: String,
    pub(crate) folded: String,
    pub(crate) interface: String,
    pub(crate) sex: &'static str,
    pub(crate) registered_seq: i64,
}

const ITEM_COLUMNS: &[(&str, Column)] = &[
    ("no", Column::Integer),
    ("id", Column::Bytes),
    ("tag", Column::Text),
    ("tag_folded", Column::Text),
    ("kind", Column::Text),
    ("registered_seq", Column::Integer),
];

const END_COLUMNS: &[(&str, Column)] = &[
    ("no", Column::Integer),
    ("id", Column::Bytes),
    ("item_no", Column::Integer),
    ("tag", Column::Text),
    ("tag_folded", Column::Text),
    ("interface", Column::Text),
    ("sex", Column::Text),
    ("registered_seq", Column::Integer),
];

impl Writer<'_> {
    /// Looks up at once what facts to come name, so that a server is not
    /// asked for each of them.
    pub(crate) fn foresee<'f>(&mut self, facts: impl Iterator<Item = &'f Fact>) -> Result<(), StoreError> {
        if matches!(self.connection, Connection::Sqlite(_)) {
            return Ok(());
        }
        let mut ids = Vec::new();
        let (mut ends, mut items) = (BTreeSet::new(), BTreeSet::new());
        let mut to_register = [0, 0];
        for fact in facts {
            if let FactBody::Registered(registered) = &fact.body {
                to_register[0] += 1;
                to_register[1] += integer(registered.ends.len() as u64);
            }
            ids.push(hex(fact.id.bytes()));
            self.foreseen.insert(fact.id, false);
            for subject in fact.body.subjects() {
                match subject {
                    Subject::End(end) if !self.ends.contains_key(&end) => ends.insert(hex(end.bytes())),
                    Subject::Item(item) if !self.items.contains_key(&item) => items.insert(hex(item.bytes())),
                    Subject::End(_) | Subject::Item(_) => false,
                };
                self.looked_up.insert(subject);
            }
        }
        for (table, count, drawn) in [("item", to_register[0], 0), ("connector_end", to_register[1], 1)] {
            if count > 1 {
                let sql = format!(
                    "SELECT nextval(pg_get_serial_sequence('{table}', 'no')) FROM generate_series(1, ?1::bigint)"
                );
                let mut numbers: Vec<i64> = self.connection.all(&sql, [count], |row| row.get(0))?;
                numbers.sort_unstable_by(|a, b| b.cmp(a));
                self.drawn[drawn] = numbers;
            }
        }
        let listed = |ids: &[String]| format!("[{}]", ids.join(","));
        let within = "id IN (SELECT decode(x, 'hex') FROM json_array_elements_text(?1::text::json) x)";
        let known = format!("SELECT id FROM fact WHERE {within}");
        for id in self.connection.all(&known, [listed(&ids)], |row| row.get(0).map(FactId::from_bytes))? {
            self.foreseen.insert(id, true);
        }
        if !ends.is_empty() {
            let sql = format!("SELECT id, no FROM connector_end WHERE {within}");
            let ends = listed(&ends.into_iter().collect::<Vec<_>>());
            self.ends.extend(
                self.connection.all(&sql, [ends], |row| Ok((EndId::from_bytes(row.get(0)?), row.get(1)?)))?,
            );
        }
        if !items.is_empty() {
            let sql = format!("SELECT id, no FROM item WHERE {within}");
            let items = listed(&items.into_iter().collect::<Vec<_>>());
            self.items.extend(
                self.connection
                    .all(&sql, [items], |row| Ok((ItemId::from_bytes(row.get(0)?), row.get(1)?)))?,
            );
        }
        Ok(())
    }

    /// Makes room for the facts from a number on: a block of its own.
    pub(crate) fn begin_block(&mut self, from: i64) -> Result<(), StoreError> {
        self.flush()?;
        let until = from.saturating_add(BLOCK);
        self.connection.batch(&format!(
            "CREATE TABLE facts_from_{from} PARTITION OF fact FOR VALUES FROM ({from}) TO ({until});
             CREATE TRIGGER fact_is_not_emptied BEFORE TRUNCATE ON facts_from_{from} FOR EACH STATEMENT
                 EXECUTE FUNCTION matewell_never('a fact is never deleted; add a correction')"
        ))?;
        Ok(())
    }

    /// Sends the facts that wait.
    pub(crate) fn flush(&mut self) -> Result<(), StoreError> {
        if self.pending.is_empty() {
            // An item may wait alone: its fact was the last of a full list.
            return self.flush_registered();
        }
        let mut values = Vec::with_capacity(self.pending.len() * FACT_COLUMNS.len());
        for row in &self.pending {
            values.extend([
                Value::Integer(row.seq),
                row.id.bytes().value(),
                Value::Integer(row.machine_no),
                Value::Integer(row.machine_seq),
                Value::Text(row.kind),
                Value::Integer(row.happened_at),
                Value::Text(row.resolution),
                Value::Integer(row.sequence),
                Value::Integer(row.recorded_at),
                row.person.value(),
                Value::Text(row.source),
                row.note.value(),
                row.payload.value(),
                row.hash.value(),
            ]);
        }
        self.connection.insert_rows("fact", FACT_COLUMNS, &values, "")?;
        let places: Vec<Value<'_>> = self
            .pending
            .iter()
            .flat_map(|row| {
                [
                    row.id.bytes().value(),
                    Value::Integer(row.machine_no),
                    Value::Integer(row.machine_seq),
                    Value::Integer(row.seq),
                ]
            })
            .collect();
        let columns = &[
            ("id", Column::Bytes),
            ("machine_no", Column::Integer),
            ("machine_seq", Column::Integer),
            ("seq", Column::Integer),
        ];
        self.connection.insert_rows("fact_place", columns, &places, "")?;
        self.pending.clear();
        self.flush_registered()?;
        Ok(())
    }

    /// Sends the items and ends that wait, behind the facts that registered them.
    fn flush_registered(&mut self) -> Result<(), StoreError> {
        let mut items = Vec::new();
        for item in &self.pending_items {
            items.extend([
                Value::Integer(item.no),
                item.id.bytes().value(),
                item.tag.value(),
                item.folded.value(),
                Value::Text(item.kind),
                Value::Integer(item.registered_seq),
            ]);
        }
        self.connection.insert_rows("item", ITEM_COLUMNS, &items, "")?;
        let mut ends = Vec::new();
        for end in &self.pending_ends {
            ends.extend([
                Value::Integer(end.no),
                end.id.bytes().value(),
                Value::Integer(end.item_no),
                end.tag.value(),
                end.folded.value(),
                end.interface.value(),
                Value::Text(end.sex),
                Value::Integer(end.registered_seq),
            ]);
        }
        self.connection.insert_rows("connector_end", END_COLUMNS, &ends, "")?;
        self.pending_items.clear();
        self.pending_ends.clear();
        Ok(())
    }
}

/// Bytes as a string of JSON.
fn hex(bytes: &[u8; 16]) -> String {
    let mut text = vec![b'"'];
    push_hex(bytes, &mut text);
    text.push(b'"');
    String::from_utf8(text).unwrap_or_default()
}
