//! How quick is a trace over a large lab?
//!
//! `trace [MATES ENDS]` (10 million over 100 000 when left out) fills a lab in
//! one SQLite file, one fact in twenty a cleaning, and traces from one end near
//! the end of the history so that at most a thousand ends are exposed. Beside
//! it a plain recursive query answers the same question on the same file.
//! Times are wall clock and, where the system tells it, time on the processor:
//! on a busy machine only the second says what a trace costs.
//!
//! `MATEWELL_TRACE_DB=FILE` keeps the filled file and uses it again.

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
    let mut arguments = std::env::args().skip(1).peekable();
    if arguments.next_if(|word| word == "peak").is_some() {
        let data = arguments.next().ok_or("expected a file")?;
        let since = arguments.next().ok_or("expected a moment")?.parse()?;
        return peak(Path::new(&data), since, arguments.next().ok_or("expected a moment")?.parse()?);
    }
    let mates: u32 = arguments.next().map_or(Ok(10_000_000), |t| t.parse())?;
    let ends: u32 = arguments.next().map_or(Ok(100_000), |t| t.parse())?;
    if let Some(kept) = std::env::var_os("MATEWELL_TRACE_DB") {
        return run(Path::new(&kept), mates, ends);
    }
    let folder = std::env::temp_dir().join(format!("matewell-trace-{}", std::process::id()));
    std::fs::create_dir_all(&folder)?;
    let result = run(&folder.join("lab.db"), mates, ends);
    std::fs::remove_dir_all(&folder)?;
    result
}

fn run(data: &Path, mates: u32, ends: u32) -> Outcome<()> {
    let start = Instant::now();
    if !data.exists() {
        fill(data, mates, ends)?;
    }
    println!(
        "filled {mates} facts over {ends} ends in {:.0} s, {:.0} MB",
        start.elapsed().as_secs_f64(),
        std::fs::metadata(data)?.len() as f64 / 1e6
    );
    let last = START_US + STEP_US * i64::from(mates);
    let at = Moment::from_microseconds(last + 1);
    let shop = Workshop::open(data, at)?;
    // From one end the exposed grow e-fold with every half of all ends mated,
    // after a start that chance makes early or late: go back in steps of a
    // few in a hundred until there are too many.
    let step = i64::from(ends) / 40;
    let asked = |back: i64| {
        let since = Moment::from_microseconds(last - back * STEP_US);
        TraceOrder {
            tags: vec!["E7".to_owned()],
            since: Some(since),
            until: Some(since),
            kind: Some("particles".to_owned()),
            ..TraceOrder::default()
        }
    };
    let mut back = step * 20;
    while shop.trace(&asked(back + step), at)?.exposed.len() <= MOST_EXPOSED {
        back += step;
    }
    let order = asked(back);
    let timed = |name: &str, order: &TraceOrder| -> Outcome<()> {
        let (mut wall, mut cpu) = (Vec::new(), Vec::new());
        let (mut found, mut results) = (0, 0);
        for _ in 0..15 {
            let (start, before) = (Instant::now(), on_processor());
            let trace = shop.trace(order, at)?;
            wall.push(start.elapsed().as_secs_f64() * 1e3);
            cpu.push((on_processor() - before) * 1e3);
            (found, results) = (trace.exposed.len(), trace.results.len());
        }
        for times in [&mut wall, &mut cpu] {
            times.sort_by(f64::total_cmp);
        }
        println!(
            "{name}: {found} exposed, {results} results; wall median {:.1} ms, least {:.1} ms; processor median {:.1} ms; n {}",
            wall[wall.len() / 2],
            wall[0],
            cpu[cpu.len() / 2],
            wall.len(),
        );
        Ok(())
    };
    timed("trace, with the standing of each", &order)?;
    let found: BTreeMap<String, String> =
        shop.trace(&order, at)?.exposed.into_iter().map(|x| (x.end.tag, x.arrived_at)).collect();
    let since = order.since.map_or(0, Moment::microseconds);
    // In a process of its own: what the traces before left is not counted.
    let told = std::process::Command::new(std::env::current_exe()?)
        .args(["peak".as_ref(), data.as_os_str()])
        .args([since.to_string(), at.microseconds().to_string()])
        .output()?;
    print!("{}", String::from_utf8_lossy(&told.stdout));
    let connection = Connection::open(data)?;
    connection.pragma_update(None, "cache_size", -65_536)?;
    let (start, before) = (Instant::now(), on_processor());
    let (rows, plain) = query(&connection, since)?;
    let (wall, cpu) = (start.elapsed().as_secs_f64() * 1e3, (on_processor() - before) * 1e3);
    let same = plain.len() == found.len()
        && plain.iter().all(|(tag, at)| {
            found.get(tag).is_some_and(|text| {
                *text == matewell_wire::moment_text(Moment::from_microseconds(*at))
            })
        });
    println!(
        "plain recursive query: {} ends from {rows} rows, wall {wall:.0} ms, processor {cpu:.0} ms; the same answer: {same}",
        plain.len()
    );
    Ok(())
}

/// Every way to every end, cut where the end was cleaned; the earliest counts.
fn query(connection: &Connection, since: i64) -> Outcome<(i64, BTreeMap<String, i64>)> {
    let reached = "WITH RECURSIVE reached (no, since) AS (
             SELECT no, ?1 FROM connector_end WHERE tag_folded = 'e7'
             UNION
             SELECT o.no, x.happened_at FROM reached r
                 CROSS JOIN fact_end x ON x.end_no = r.no AND x.happened_at >= r.since
                 CROSS JOIN fact f ON f.seq = x.seq AND f.kind = 'mated'
                 CROSS JOIN connector_end o ON o.id IN (
                     unhex(replace(f.payload ->> 'a', '-', '')), unhex(replace(f.payload ->> 'b', '-', '')))
                     AND o.no <> r.no
             WHERE NOT EXISTS (
                 SELECT 1 FROM end_mark c WHERE c.end_no = r.no AND c.what = 'cares'
                     AND c.happened_at > r.since AND c.happened_at < x.happened_at)
         )";
    let mut statement = connection.prepare(&format!(
        "{reached} SELECT e.tag, min(r.since), count(*) FROM reached r JOIN connector_end e ON e.no = r.no GROUP BY r.no"
    ))?;
    let (mut rows, mut found) = (0, BTreeMap::new());
    let mut all = statement.query([since])?;
    while let Some(row) = all.next()? {
        found.insert(row.get(0)?, row.get(1)?);
        rows += row.get::<_, i64>(2)?;
    }
    Ok((rows, found))
}

/// How much one trace adds to the resident memory of a fresh process.
fn peak(data: &Path, since: i64, at: i64) -> Outcome<()> {
    let (since, at) = (Moment::from_microseconds(since), Moment::from_microseconds(at));
    let shop = Workshop::open(data, at)?;
    let order = TraceOrder {
        tags: vec!["E7".to_owned()],
        since: Some(since),
        until: Some(since),
        kind: Some("particles".to_owned()),
        ..TraceOrder::default()
    };
    let before = memory("VmRSS");
    let exposed = shop.trace(&order, at)?.exposed.len();
    println!("peak memory of one trace of {exposed}: + {} kB over {before} kB", memory("VmHWM") - before);
    Ok(())
}

/// Seconds on the processor so far, on Linux.
fn on_processor() -> f64 {
    let told = std::fs::read_to_string("/proc/self/schedstat").unwrap_or_default();
    told.split_whitespace().next().and_then(|ns| ns.parse::<f64>().ok()).map_or(f64::NAN, |ns| ns * 1e-9)
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
