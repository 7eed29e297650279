//! How fast a log fills and answers: a million mates over a hundred thousand
//! ends, against the `sqlite3` shell importing the same rows.
//!
//! ```text
//! cargo run --release -p matewell-store --example ingest -- 1000000
//! cargo run --release -p matewell-store --example ingest -- 1000000 postgresql://…
//! ```
//!
//! The second fills an empty database of PostgreSQL instead of a file.

use matewell_lab::{
    Body, End, EndId, Fact, FactBody, FactId, FactSource, Grade, Item, ItemId, ItemKind, MachineId, Mated,
    Moment, Registered, Resolution, Sex, Slots,
};
use matewell_store::{Place, Store, StoreError};
use std::{error::Error, path::Path, process::Command, time::Instant};

const ITEMS: u64 = 50_000;
const ENDS: u64 = 2 * ITEMS;
const CHUNK: u64 = 10_000;
const MINUTE: i64 = 60_000_000;
/// 2026-01-01T00:00:00Z.
const START: i64 = 1_767_225_600_000_000;

fn main() -> Result<(), Box<dyn Error>> {
    let mates: u64 = std::env::args().nth(1).map_or(Ok(1_000_000), |text| text.parse())?;
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("log.sqlite");
    let server = std::env::args().nth(2).map(std::path::PathBuf::from);
    let place = Place::from(server.as_ref().unwrap_or(&path));
    let mut store = Store::create_with_machine(&place, MachineId::from_bytes(bytes(9, 0)))?;

    let mut seconds = 0.0;
    for from in (0..ITEMS).step_by(5_000) {
        let facts: Vec<Fact> = (from..from + 5_000).map(registered).collect();
        seconds += timed(|| store.append(&facts).map(drop))?;
    }
    println!("register {ITEMS} items with {ENDS} ends: {seconds:.2} s");

    let mut seconds = 0.0;
    let mut random = 0x9e37_79b9_7f4a_7c15_u64;
    for from in (0..mates).step_by(usize::try_from(CHUNK)?) {
        let facts: Vec<Fact> =
            (from..(from + CHUNK).min(mates)).map(|count| mated(count, &mut random)).collect();
        seconds += timed(|| store.append(&facts).map(drop))?;
    }
    println!(
        "append {mates} mates in batches of {CHUNK}: {seconds:.2} s, {:.0} a second",
        mates as f64 / seconds
    );

    let one: Vec<Fact> = (mates..mates + 200).map(|count| mated(count, &mut random)).collect();
    let alone = timed(|| one.iter().try_for_each(|fact| store.append(std::slice::from_ref(fact)).map(drop)))?;
    println!("append one fact per transaction: {:.0} µs each", alone / 200.0 * 1e6);

    let mut facts = 0;
    let asked = timed(|| {
        for count in 0..1000 {
            facts += store.facts_of_end(end_id(count * 97 % ENDS))?.len();
        }
        Ok(())
    })?;
    println!(
        "facts_of_end: {:.1} µs each, {:.1} facts on average",
        asked * 1e3,
        f64::from(u32::try_from(facts)?) / 1e3
    );
    let (from, to) = (Moment::from_microseconds(START), Moment::from_microseconds(i64::MAX));
    let asked =
        timed(|| (0..1000).try_for_each(|n| store.touches(end_id(n * 97 % ENDS), from, to).map(drop)))?;
    println!("touches: {:.1} µs each", asked * 1e3);
    let asked = timed(|| (0..1000).try_for_each(|n| store.ends_by_tag(&format!("lw-{}", n * 37)).map(drop)))?;
    println!("ends_by_tag: {:.1} µs each", asked * 1e3);
    let asked = timed(|| store.list_ends("", None, ENDS - 100, 100).map(drop))?;
    println!("list_ends, last page by number: {:.1} ms", asked * 1e3);
    let asked = timed(|| store.list_ends("", Some(end_id(ENDS - 101)), 0, 100).map(drop))?;
    println!("list_ends, last page after an end: {:.2} ms", asked * 1e3);
    let asked = timed(|| store.list_ends("lw-4", None, 0, 200).map(drop))?;
    println!("list_ends, first page of a filter: {:.2} ms", asked * 1e3);
    let asked = timed(|| store.count_ends("lw-4").map(drop))?;
    println!("count_ends of a filter: {:.1} ms", asked * 1e3);
    let asked = timed(|| store.verify().map(|found| assert_eq!(found.first_broken, None)))?;
    println!("verify: {asked:.2} s");
    let asked = timed(|| store.back_up(&folder.path().join("copy.sqlite")).map(drop))?;
    println!("back_up, checked: {asked:.2} s");
    if matches!(place, Place::Server(_)) {
        return Ok(());
    }
    println!("file: {} MB", std::fs::metadata(&path)?.len() / 1_000_000);
    drop(store);
    shell(folder.path(), mates)
}

/// The same rows by the shell's `.import`: text ready made, ids and hashes as
/// hexadecimal text, no hashing, no references checked.
fn shell(folder: &Path, mates: u64) -> Result<(), Box<dyn Error>> {
    let fact = "SELECT seq, hex(id), machine_no, machine_seq, kind, happened_at, resolution, sequence, \
                recorded_at, person, source, note, payload, hex(hash) FROM fact WHERE kind = 'mated' ORDER BY seq";
    // The index rows in order of arrival, as a plain import would meet them.
    let rows = "SELECT end_no, happened_at, seq FROM fact_end WHERE seq > 50000 ORDER BY seq, end_no";
    let dump =
        format!(".mode csv\n.output fact.csv\n{fact};\n.output fact_end.csv\n{rows};\n.output stdout\n");
    sqlite(folder, "log.sqlite", &dump)?;
    let lay = "PRAGMA journal_mode = WAL;\nPRAGMA cache_size = -65536;\n\
        CREATE TABLE fact (seq INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, machine_no INTEGER NOT NULL, \
        machine_seq INTEGER NOT NULL, kind TEXT NOT NULL, happened_at INTEGER NOT NULL, resolution TEXT NOT NULL, \
        sequence INTEGER NOT NULL, recorded_at INTEGER NOT NULL, person TEXT NOT NULL, source TEXT NOT NULL, \
        note TEXT, payload TEXT NOT NULL, hash TEXT NOT NULL, UNIQUE (machine_no, machine_seq)) STRICT;\n\
        CREATE INDEX fact_kind ON fact (kind, happened_at);\n\
        CREATE TABLE fact_end (end_no INTEGER NOT NULL, happened_at INTEGER NOT NULL, seq INTEGER NOT NULL, \
        PRIMARY KEY (end_no, happened_at, seq)) STRICT, WITHOUT ROWID;\n";
    let import = format!(
        "{lay}PRAGMA synchronous = FULL;\n.import --csv fact.csv fact\n.import --csv fact_end.csv fact_end\n"
    );
    let mut done = Ok(());
    let seconds = timed(|| {
        done = sqlite(folder, "shell.sqlite", &import);
        Ok(())
    })?;
    done?;
    println!(
        "sqlite3 .import of the same rows: {seconds:.2} s, {:.0} mates a second",
        mates as f64 / seconds
    );
    Ok(())
}

fn sqlite(folder: &Path, file: &str, script: &str) -> Result<(), Box<dyn Error>> {
    std::fs::write(folder.join("script.sql"), script)?;
    let done = Command::new("sqlite3").current_dir(folder).arg(file).arg(".read script.sql").output()?;
    if done.status.success() {
        Ok(())
    } else {
        Err(String::from_utf8_lossy(&done.stderr).into_owned().into())
    }
}

#[expect(clippy::disallowed_methods, reason = "an example that measures needs a clock")]
fn timed(run: impl FnOnce() -> Result<(), StoreError>) -> Result<f64, StoreError> {
    let start = Instant::now();
    run()?;
    Ok(start.elapsed().as_secs_f64())
}

/// Sixteen bytes whose order is the order of `count`, as with UUIDv7.
fn bytes(kind: u8, count: u64) -> [u8; 16] {
    let mut bytes = [0; 16];
    for (to, from) in bytes.iter_mut().zip(count.to_be_bytes()) {
        *to = from;
    }
    let scrambled = count.wrapping_mul(0x9e37_79b9_7f4a_7c15).to_be_bytes();
    for (to, from) in bytes.iter_mut().skip(8).zip(scrambled) {
        *to = from;
    }
    bytes[15] = kind;
    bytes
}

fn end_id(count: u64) -> EndId {
    EndId::from_bytes(bytes(1, count))
}

fn fact(kind: u8, count: u64, body: FactBody) -> Fact {
    let at = Moment::from_microseconds(START + i64::try_from(count).unwrap_or(0) * MINUTE);
    Fact {
        id: FactId::from_bytes(bytes(kind, count)),
        machine: MachineId::from_bytes(bytes(9, 0)),
        happened_at: at,
        resolution: Resolution::Instant,
        sequence: 0,
        recorded_at: at,
        person: "bench-3".to_owned(),
        source: FactSource::Program,
        note: None,
        body,
    }
}

fn registered(count: u64) -> Fact {
    let item = ItemId::from_bytes(bytes(2, count));
    let end = |n: u64, sex| End {
        id: end_id(2 * count + n),
        item,
        tag: format!("LW-{count}-{n}"),
        interface: "3.5mm".to_owned(),
        sex,
        grade: Grade::Instrument,
        body: Body::Stainless,
        slots: Slots::Unknown,
        static_sensitive: false,
        rf_live: false,
        biased: false,
        extra: Vec::new(),
    };
    let registered = Registered {
        item: Item {
            id: item,
            tag: format!("LW-{count}"),
            kind: ItemKind::Cable,
            description: "test cable".to_owned(),
            model: None,
            serial: None,
            location: None,
            cost: None,
            gauge: None,
            wrench: None,
            extra: Vec::new(),
        },
        ends: vec![end(0, Sex::Pin), end(1, Sex::Socket)],
    };
    fact(3, count, FactBody::Registered(Box::new(registered)))
}

fn mated(count: u64, random: &mut u64) -> Fact {
    let mut next = || {
        *random ^= *random << 13;
        *random ^= *random >> 7;
        *random ^= *random << 17;
        *random % ENDS
    };
    let a = next();
    let b = (a + 1 + next() % (ENDS - 1)) % ENDS;
    let body = FactBody::Mated(Mated { a: end_id(a), b: end_id(b), wrench: None, overridden: None });
    fact(4, ITEMS + count, body)
}
