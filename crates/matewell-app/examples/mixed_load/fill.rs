//! Fills a lab quickly: large transactions into a file, COPY into a database.
//!
//! COPY writes the rows that the store would write, hashes included, while the
//! references and the index by end are not there; then they are made again by
//! their own definitions, which checks every row. `verify` has to agree.

use crate::{
    Outcome,
    lab::{Lab, Random, cable, machine, moment_of, tool_checks, tools},
};
use matewell_lab::{Fact, FactBody};
use matewell_store::{Place, Store};
use postgres::{Client, NoTls};
use sha2::{Digest, Sha256};
use std::{collections::HashMap, fmt::Write as _, io::Write as _};

/// Mates of one transaction of a file, and of one COPY; after each the wrenches
/// are checked.
const CHUNK: u64 = 200_000;
/// Facts of a block of the database.
const BLOCK: u64 = 10_000_000;
/// Seed of the mates.
const SEED: u64 = 0x9e37_79b9_7f4a_7c15;

/// Makes the lab, or adds to one made before, until it has so many mates.
pub(crate) fn fill(place: &Place, lab: Lab, mates: u64) -> Outcome<()> {
    let (mut store, done) = if Store::exists(place)? {
        let Place::Server(url) = place else { return Err("expected no file, found one".into()) };
        let sql = "SELECT count(*) FROM fact WHERE kind = 'mated'";
        let done: i64 = Client::connect(url, NoTls)?.query_one(sql, &[])?.get(0);
        (Store::open(place)?, done.try_into()?)
    } else {
        let mut store = Store::create_with_machine(place, machine())?;
        register(&mut store, lab)?;
        (store, 0)
    };
    let mut random = Random(SEED ^ done);
    match place {
        Place::File(_) => by_transactions(&mut store, lab, mates, &mut random),
        Place::Server(url) => Copier::new(url, store, lab)?.fill(done, mates, &mut random),
    }
}

fn register(store: &mut Store, lab: Lab) -> Outcome<()> {
    store.append(&tools())?;
    let cables = lab.ends / 2;
    for from in (0..cables).step_by(20_000) {
        let facts: Vec<Fact> = (from..(from + 20_000).min(cables)).map(cable).collect();
        store.append(&facts)?;
    }
    let cares: Vec<Fact> = lab.cares().collect();
    for part in cares.chunks(20_000) {
        store.append(part)?;
    }
    Ok(())
}

/// What is written once the mates before `count` are: checks of the wrenches,
/// and at four fifths of the first fill what was found.
fn between(lab: Lab, count: u64, findings_at: Option<u64>) -> Vec<Fact> {
    let mut facts = tool_checks(count.div_ceil(CHUNK), moment_of(count));
    if findings_at.is_some_and(|at| count.saturating_sub(CHUNK) < at && at <= count) {
        facts.extend(lab.findings(moment_of(count)));
    }
    facts
}

fn by_transactions(store: &mut Store, lab: Lab, mates: u64, random: &mut Random) -> Outcome<()> {
    for from in (0..mates).step_by(CHUNK.try_into()?) {
        let until = (from + CHUNK).min(mates);
        let mut facts: Vec<Fact> = (from..until).map(|count| lab.mate(count, random)).collect();
        facts.extend(between(lab, until, Some(mates * 4 / 5)));
        store.append(&facts)?;
    }
    Ok(())
}

struct Copier {
    client: Client,
    store: Store,
    lab: Lab,
    machine_no: i64,
    ends: HashMap<[u8; 16], i64>,
    wrenches: HashMap<[u8; 16], i64>,
}

/// A reference or key that is not there while rows are copied.
struct Put {
    table: String,
    name: String,
    definition: String,
}

impl Copier {
    fn new(url: &str, store: Store, lab: Lab) -> Outcome<Self> {
        let mut client = Client::connect(url, NoTls)?;
        client.batch_execute("SET maintenance_work_mem = '1GB'; SET work_mem = '256MB'")?;
        let machine_no = client.query_one("SELECT no FROM machine WHERE own = 1", &[])?.get(0);
        let mut numbers = |sql: &str| -> Outcome<HashMap<[u8; 16], i64>> {
            let mut found = HashMap::new();
            for row in client.query(sql, &[])? {
                found.insert(row.get::<_, Vec<u8>>(0).as_slice().try_into()?, row.get(1));
            }
            Ok(found)
        };
        let ends = numbers("SELECT id, no FROM connector_end")?;
        let wrenches = numbers("SELECT id, no FROM item WHERE kind = 'torque-wrench'")?;
        Ok(Self { client, store, lab, machine_no, ends, wrenches })
    }

    fn fill(&mut self, done: u64, mates: u64, random: &mut Random) -> Outcome<()> {
        let put = self.take_down()?;
        let copied = self.copy(done, mates, random);
        // Whatever became of the rows, the tables get back what they had.
        for Put { table, name, definition } in &put {
            self.client.batch_execute(&format!("ALTER TABLE {table} ADD CONSTRAINT {name} {definition}"))?;
        }
        self.client.batch_execute("ANALYZE")?;
        copied
    }

    /// References of the tables that are copied into, and the keys of those
    /// whose rows do not come in the order of the key.
    fn take_down(&mut self) -> Outcome<Vec<Put>> {
        let sql = "SELECT c.conrelid::regclass::text, c.conname::text, pg_get_constraintdef(c.oid) \
             FROM pg_constraint c WHERE c.conparentid = 0 AND (c.contype = 'f' \
                 AND c.conrelid::regclass::text IN ('fact', 'fact_place', 'fact_end', 'fact_item') \
             OR c.contype = 'p' AND c.conrelid::regclass::text IN ('fact_end', 'fact_item')) \
             ORDER BY c.contype DESC, 1, 2";
        let mut found = Vec::new();
        for row in self.client.query(sql, &[])? {
            let put = Put { table: row.get(0), name: row.get(1), definition: row.get(2) };
            self.client.batch_execute(&format!("ALTER TABLE {} DROP CONSTRAINT {}", put.table, put.name))?;
            found.push(put);
        }
        Ok(found)
    }

    fn copy(&mut self, done: u64, mates: u64, random: &mut Random) -> Outcome<()> {
        let findings_at = (done == 0).then_some(mates * 4 / 5);
        let mut from = done;
        while from < mates {
            let last = self.store.last_number()?;
            // The store itself writes the first fact of a block: that makes the block.
            if (last + 1).is_multiple_of(BLOCK) {
                self.store.append(&[self.lab.mate(from, random)])?;
                from += 1;
                continue;
            }
            let until = (from + CHUNK - from % CHUNK).min(mates).min(from + BLOCK - 1 - last % BLOCK);
            self.copy_chunk(last, from..until, random)?;
            if until.is_multiple_of(CHUNK) || until == mates {
                self.store.append(&between(self.lab, until, findings_at))?;
            }
            from = until;
        }
        Ok(())
    }

    fn copy_chunk(&mut self, last: u64, counts: std::ops::Range<u64>, random: &mut Random) -> Outcome<()> {
        let end = self.client.query_one(
            "SELECT p.machine_seq, f.hash FROM fact_place p JOIN fact f ON f.seq = p.seq \
             WHERE p.machine_no = $1 ORDER BY p.machine_seq DESC LIMIT 1",
            &[&self.machine_no],
        )?;
        let (mut machine_seq, mut hash): (i64, Vec<u8>) = (end.get(0), end.get(1));
        let [mut facts, mut places, mut of_ends, mut of_items] = std::array::from_fn(|_| String::new());
        for (count, seq) in counts.zip(last + 1..) {
            let fact = self.lab.mate(count, random);
            machine_seq += 1;
            let FactBody::Mated(mated) = &fact.body else { continue };
            let payload = matewell_record::payload_of(&fact.body)?;
            hash = link(&hash, &fact, machine_seq, &payload);
            let (at, id) = (fact.happened_at.microseconds(), hex(fact.id.bytes()));
            let no = self.machine_no;
            writeln!(
                facts,
                "{seq}\t\\\\x{id}\t{no}\t{machine_seq}\tmated\t{at}\tinstant\t0\t{at}\t{}\tprogram\t\\N\t{payload}\t\\\\x{}",
                fact.person,
                hex(&hash)
            )?;
            writeln!(places, "\\\\x{id}\t{no}\t{machine_seq}\t{seq}")?;
            for end in [mated.a, mated.b] {
                let no = self.ends.get(end.bytes()).ok_or("expected an end on record")?;
                writeln!(of_ends, "{no}\t{at}\t{seq}")?;
            }
            if let Some(wrench) = mated.wrench {
                let no = self.wrenches.get(wrench.bytes()).ok_or("expected a wrench on record")?;
                writeln!(of_items, "{no}\t{at}\t{seq}")?;
            }
        }
        let mut transaction = self.client.transaction()?;
        for (into, text) in [
            (
                "fact (seq, id, machine_no, machine_seq, kind, happened_at, resolution, sequence, recorded_at, person, source, note, payload, hash)",
                &facts,
            ),
            ("fact_place (id, machine_no, machine_seq, seq)", &places),
            ("fact_end (end_no, happened_at, seq)", &of_ends),
            ("fact_item (item_no, happened_at, seq)", &of_items),
        ] {
            let mut copy = transaction.copy_in(&format!("COPY {into} FROM STDIN"))?;
            copy.write_all(text.as_bytes())?;
            copy.finish()?;
        }
        transaction.commit()?;
        Ok(())
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        // Writing to a String cannot fail.
        let _written = write!(text, "{byte:02x}");
        text
    })
}

/// The hash of a fact as the README of the store describes it.
fn link(before: &[u8], fact: &Fact, machine_seq: i64, payload: &str) -> Vec<u8> {
    let at = fact.happened_at.microseconds();
    let text = format!(
        "matewell-fact-1\nprevious {}\nmachine {}\nmachine-sequence {machine_seq}\nid {}\nkind mated\n\
         happened-at {at}\nresolution instant\nsequence 0\nrecorded-at {at}\nperson {} {}\nsource program\n\
         note -\npayload {} {payload}\n",
        hex(before),
        fact.machine,
        fact.id,
        fact.person.len(),
        fact.person,
        payload.len()
    );
    Sha256::digest(text.as_bytes()).to_vec()
}
