//! How quick is a trace over a large lab?
//!
//! `trace [MATES ENDS]` (10 million over 100 000 when left out) fills a lab in
//! one SQLite file, one fact in twenty a cleaning, and traces from one end near
//! the end of the history so that at most a thousand ends are exposed. Beside
//! it a plain recursive query answers the same question on the same file.
//! Times are wall clock on this machine.

use matewell_app::{TraceOrder, Workshop};
use matewell_lab::{
    Body, End, EndId, Fact, FactBody, FactId, FactSource, Grade, Item, ItemId, ItemKind, MachineId, Mated,
    Moment, Registered, Resolution, Sex, Slots,
};
use matewell_store::Store;
use rusqlite::Connection;
use std::{collections::BTreeMap, error::Error, path::Path, time::Instant};

type Outcome<T> = Result<T, Box<dyn Error>>;

/// 2026-01-01T00:00:00Z in microseconds.
const START_US: i64 = 1_767_225_600_000_000;
const STEP_US: i64 = 1_000_000;
const MOST_EXPOSED: usize = 1000;

fn main() -> Outcome<()> {
    let mut arguments = std::env::args().skip(1);
    let mates: u32 = arguments.next().map_or(Ok(10_000_000), |t| t.parse())?;
    let ends: u32 = arguments.next().map_or(Ok(100_000), |t| t.parse())?;
    let folder = std::env::temp_dir().join(format!("matewell-trace-{}", std::process::id()));
    std::fs::create_dir_all(&folder)?;
    let result = run(&folder.join("lab.db"), mates, ends);
    std::fs::remove_dir_all(&folder)?;
    result
}

fn run(data: &Path, mates: u32, ends: u32) -> Outcome<()> {
    let start = Instant::now();
    fill(data, mates, ends)?;
    println!(
        "filled {mates} facts over {ends} ends in {:.0} s, {:.0} MB",
        start.elapsed().as_secs_f64(),
        std::fs::metadata(data)?.len() as f64 / 1e6
    );
    let last = START_US + STEP_US * i64::from(mates);
    let at = Moment::from_microseconds(last + 1);
    let shop = Workshop::open(data, at)?;
    // From one end the exposed grow e-fold with every half of all ends mated.
    let growth = (MOST_EXPOSED as f64).ln() * f64::from(ends) / 2.0;
    let mut back = (growth * 0.97) as i64;
    let (mut order, mut exposed) = (TraceOrder::default(), usize::MAX);
    while exposed > MOST_EXPOSED {
        let since = Moment::from_microseconds(last - back * STEP_US);
        order = TraceOrder {
            tags: vec!["E7".to_owned()],
            since: Some(since),
            until: Some(since),
            kind: Some("particles".to_owned()),
            short_list: Some(0),
            ..TraceOrder::default()
        };
        exposed = shop.trace(&order, at)?.exposed.len();
        back -= ends as i64 / 20;
    }
    let timed = |name: &str, order: &TraceOrder| -> Outcome<()> {
        forget_peak();
        let before = memory("VmHWM");
        let mut times = Vec::new();
        let (mut found, mut results) = (0, 0);
        for _ in 0..15 {
            let start = Instant::now();
            let trace = shop.trace(order, at)?;
            times.push(start.elapsed().as_secs_f64() * 1e3);
            (found, results) = (trace.exposed.len(), trace.results.len());
        }
        times.sort_by(f64::total_cmp);
        println!(
            "{name}: {found} exposed, {results} results; median {:.1} ms, max {:.1} ms of {}; peak memory + {} kB",
            times[times.len() / 2],
            times[times.len() - 1],
            times.len(),
            memory("VmHWM").saturating_sub(before)
        );
        Ok(())
    };
    timed("trace", &order)?;
    timed("trace with the standing of 200", &TraceOrder { short_list: None, ..order.clone() })?;
    let found: BTreeMap<String, String> =
        shop.trace(&order, at)?.exposed.into_iter().map(|x| (x.end.tag, x.arrived_at)).collect();
    let since = order.since.map_or(0, Moment::microseconds);
    let connection = Connection::open(data)?;
    connection.pragma_update(None, "cache_size", -65_536)?;
    let start = Instant::now();
    let (rows, plain) = query(&connection, since)?;
    let wall = start.elapsed().as_secs_f64() * 1e3;
    let same = plain.len() == found.len()
        && plain.iter().all(|(tag, at)| {
            found.get(tag).is_some_and(|text| {
                *text == matewell_wire::moment_text(Moment::from_microseconds(*at))
            })
        });
    println!(
        "plain recursive query: {} ends from {rows} rows, {wall:.0} ms; the same answer: {same}",
        plain.len()
    );
    Ok(())
}

/// Every way to every end, cut where the end was cleaned; the earliest counts.
fn query(connection: &Connection, since: i64) -> Outcome<(u64, BTreeMap<String, i64>)> {
    let reached = "WITH RECURSIVE reached (no, since) AS (
             SELECT no, ?1 FROM connector_end WHERE tag = 'E7'
             UNION
             SELECT o.no, x.happened_at FROM reached r
                 JOIN fact_end x ON x.end_no = r.no AND x.happened_at >= r.since
                 JOIN fact f ON f.seq = x.seq AND f.kind = 'mated'
                 JOIN fact_end y ON y.end_no IN (
                     SELECT no FROM connector_end WHERE id IN (
                         unhex(replace(f.payload ->> 'a', '-', '')), unhex(replace(f.payload ->> 'b', '-', ''))))
                     AND y.happened_at = x.happened_at AND y.seq = x.seq AND y.end_no <> x.end_no
                 JOIN connector_end o ON o.no = y.end_no
             WHERE NOT EXISTS (
                 SELECT 1 FROM end_mark c WHERE c.end_no = r.no AND c.what = 'cares'
                     AND c.happened_at > r.since AND c.happened_at < x.happened_at)
         )";
    let rows: u64 =
        connection.query_row(&format!("{reached} SELECT count(*) FROM reached"), [since], |r| r.get(0))?;
    let mut statement = connection.prepare(&format!(
        "{reached} SELECT e.tag, min(r.since) FROM reached r JOIN connector_end e ON e.no = r.no GROUP BY r.no"
    ))?;
    let found = statement.query_map([since], |r| Ok((r.get(0)?, r.get(1)?)))?.collect::<Result<_, _>>()?;
    Ok((rows, found))
}

fn forget_peak() {
    // Linux: 5 resets the peak of the resident memory.
    drop(std::fs::write("/proc/self/clear_refs", "5"));
}

/// Kilobytes, 0 where the system does not say.
fn memory(key: &str) -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with(key)).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|kb| kb.parse().ok()).unwrap_or(0)
}

fn id(kind: u8, n: u32) -> [u8; 16] {
    let mut bytes = [0; 16];
    // UUIDv7-shaped and rising, as ids are in use.
    bytes[..6].copy_from_slice(&(u64::from(n) + 1_767_225_600_000).to_be_bytes()[2..]);
    bytes[6] = 0x70 | kind;
    bytes[8] = 0x80;
    bytes[12..].copy_from_slice(&n.to_be_bytes());
    bytes
}

fn fill(data: &Path, mates: u32, ends: u32) -> Outcome<()> {
    let machine = MachineId::from_bytes(id(0, 0));
    let mut store = Store::create_with_machine(data, machine)?;
    let fact = |n: u32, at: i64, body: FactBody| Fact {
        id: FactId::from_bytes(id(1, n)),
        machine,
        happened_at: Moment::from_microseconds(at),
        resolution: Resolution::Instant,
        sequence: 0,
        recorded_at: Moment::from_microseconds(at),
        person: "rig-1".to_owned(),
        source: FactSource::Program,
        note: None,
        body,
    };
    let mut batch = Vec::with_capacity(20_000);
    for n in 0..ends {
        batch.push(fact(n, START_US, registered(n)));
        if batch.len() == 20_000 || n + 1 == ends {
            store.append(&batch)?;
            batch.clear();
        }
    }
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut random = move |below: u32| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % u64::from(below)) as u32
    };
    for n in 0..mates {
        let a = random(ends);
        let end = |n: u32| EndId::from_bytes(id(3, n));
        let body = if random(20) == 0 {
            FactBody::Cleaned { end: end(a), method: None }
        } else {
            let b = (a + 1 + random(ends - 1)) % ends;
            FactBody::Mated(Mated { a: end(a), b: end(b), wrench: None, overridden: None })
        };
        batch.push(fact(ends + n, START_US + STEP_US * i64::from(n), body));
        if batch.len() == 20_000 || n + 1 == mates {
            store.append(&batch)?;
            batch.clear();
        }
    }
    Ok(())
}

fn registered(n: u32) -> FactBody {
    let item = Item {
        id: ItemId::from_bytes(id(2, n)),
        tag: format!("I{n}"),
        kind: ItemKind::Cable,
        description: String::new(),
        model: None,
        serial: None,
        location: None,
        cost: None,
        gauge: None,
        wrench: None,
        extra: Vec::new(),
    };
    let end = End {
        id: EndId::from_bytes(id(3, n)),
        item: item.id,
        tag: format!("E{n}"),
        interface: "3.5mm".to_owned(),
        sex: if n % 2 == 0 { Sex::Pin } else { Sex::Socket },
        grade: Grade::Instrument,
        body: Body::Stainless,
        slots: Slots::Unknown,
        static_sensitive: false,
        rf_live: false,
        biased: false,
        extra: Vec::new(),
    };
    FactBody::Registered(Box::new(Registered { item, ends: vec![end] }))
}
