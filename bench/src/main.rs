//! How quick is it?
//!
//! `matewell-bench PATH-OF-MATEWELL [ENDS MATES]` times, in one run: the cold
//! command on the demo lab, bulk ingest, and checks over HTTP on a large
//! invented lab. Times are wall clock on this machine; the ingest twin is the
//! example `ingest` of the store, which runs the sqlite3 shell on the same rows.

use matewell_lab::{
    Body, End, EndId, Fact, FactBody, FactId, FactSource, Gauged, Grade, Item, ItemId, ItemKind, Mated, Moment,
    PinPosition, Registered, Resolution, Sex, Slots,
};
use matewell_quantity::Length;
use matewell_store::Store;
use std::{
    error::Error,
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::Path,
    process::{Command, Stdio},
    time::{Duration, Instant},
};

type Outcome<T> = Result<T, Box<dyn Error>>;

/// 2026-11-01T00:00:00Z in microseconds.
const START_US: i64 = 1_793_491_200_000_000;

fn main() -> Outcome<()> {
    let mut arguments = std::env::args().skip(1);
    let program = arguments.next().ok_or("expected the path of the matewell binary")?;
    let ends: u32 = arguments.next().map_or(Ok(100_000), |t| t.parse())?;
    let mates: u32 = arguments.next().map_or(Ok(1_000_000), |t| t.parse())?;
    let folder = std::env::temp_dir().join(format!("matewell-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder)?;
    let result = cold(&program, &folder).and_then(|()| large(&program, &folder, ends, mates));
    std::fs::remove_dir_all(&folder)?;
    result
}

fn shown(name: &str, mut times: Vec<Duration>) {
    times.sort();
    let at = |share: f64| {
        let index = ((times.len() - 1) as f64 * share).round() as usize;
        times[index].as_secs_f64() * 1e3
    };
    println!("{name}: n {}, median {:.3} ms, p99 {:.3} ms, max {:.3} ms", times.len(), at(0.5), at(0.99), at(1.0));
}

fn cold(program: &str, folder: &Path) -> Outcome<()> {
    let data = folder.join("demo.db");
    let run = |arguments: &[&str]| {
        Command::new(program).arg("--data").arg(&data).args(arguments).stdout(Stdio::null()).stderr(Stdio::null()).status()
    };
    run(&["demo"])?;
    let mut times = Vec::new();
    for _ in 0..50 {
        let start = Instant::now();
        run(&["check", "CB-014B", "IN-003P1", "--at", "18GHz"])?;
        times.push(start.elapsed());
    }
    shown("cold `matewell check` on the demo lab", times);
    Ok(())
}

fn id(kind: u8, n: u32) -> [u8; 16] {
    let mut bytes = [0; 16];
    // UUIDv7-shaped and rising, as ids are in use.
    bytes[..6].copy_from_slice(&(u64::from(n) + 1_793_491_200_000).to_be_bytes()[2..]);
    bytes[6] = 0x70 | kind;
    bytes[8] = 0x80;
    bytes[12..].copy_from_slice(&n.to_be_bytes());
    bytes
}

fn large(program: &str, folder: &Path, ends: u32, mates: u32) -> Outcome<()> {
    let data = folder.join("large.db");
    let machine = matewell_lab::MachineId::from_bytes(id(0, 0));
    let mut store = Store::create_with_machine(&data, machine)?;
    let mut number = 0_u32;
    let mut fact = |happened_us: i64, body: FactBody| {
        number += 1;
        Fact {
            id: FactId::from_bytes(id(1, number)),
            machine,
            happened_at: Moment::from_microseconds(happened_us),
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: Moment::from_microseconds(happened_us),
            person: "rig-1".to_owned(),
            source: FactSource::Program,
            note: None,
            body,
        }
    };
    let mut batch = Vec::with_capacity(10_000);
    let depth = PinPosition::recessed(Length::from_micrometres(12.0)?)?;
    for n in 0..ends {
        let item = ItemId::from_bytes(id(2, n));
        let sex = if n % 2 == 0 { Sex::Pin } else { Sex::Socket };
        batch.push(fact(START_US, registered(item, n, sex)));
        let end = EndId::from_bytes(id(3, n));
        let gauged = Gauged {
            end,
            gauge: None,
            readings: vec![depth; 3],
            stated_standard_uncertainty: Some(Length::from_micrometres(1.5)?),
            session: None,
        };
        batch.push(fact(START_US + 1, FactBody::Gauged(gauged)));
        if batch.len() >= 10_000 {
            store.append(&batch)?;
            batch.clear();
        }
    }
    store.append(&batch)?;
    batch.clear();
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut random = move |below: u32| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % u64::from(below)) as u32
    };
    let mut writing = Duration::ZERO;
    for n in 0..mates {
        let (a, b) = (random(ends / 2) * 2, random(ends / 2) * 2 + 1);
        let body = Mated { a: EndId::from_bytes(id(3, a)), b: EndId::from_bytes(id(3, b)), wrench: None, overridden: None };
        batch.push(fact(START_US + 1_000_000 * i64::from(n), FactBody::Mated(body)));
        if batch.len() == 10_000 || n + 1 == mates {
            let start = Instant::now();
            store.append(&batch)?;
            writing += start.elapsed();
            batch.clear();
        }
    }
    println!(
        "ingest of {mates} mates over {ends} ends: {:.2} s, {:.0} mates/s",
        writing.as_secs_f64(),
        f64::from(mates) / writing.as_secs_f64()
    );
    drop(store);

    let mut child = Command::new(program)
        .arg("--data")
        .arg(&data)
        .args(["serve", "--port", "0"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()?;
    let mut line = String::new();
    BufReader::new(child.stdout.take().ok_or("no output")?).read_line(&mut line)?;
    let address = line.trim().rsplit_once("http://").ok_or("no address")?.1.trim_end_matches('/').to_owned();
    let asked = checks(&address, ends, &mut random);
    child.kill()?;
    child.wait()?;
    shown("check over HTTP", asked?);
    println!("file {:.0} bytes a mate", std::fs::metadata(&data)?.len() as f64 / f64::from(mates));
    Ok(())
}

fn checks(address: &str, ends: u32, random: &mut impl FnMut(u32) -> u32) -> Outcome<Vec<Duration>> {
    let mut stream = TcpStream::connect(address)?;
    stream.set_nodelay(true)?;
    let mut times = Vec::new();
    let mut buffer = vec![0; 1 << 16];
    for round in 0..5_500 {
        let (a, b) = (random(ends / 2) * 2, random(ends / 2) * 2 + 1);
        let start = Instant::now();
        write!(stream, "GET /api/v1/check?a=E{a}&b=E{b}&at=18GHz HTTP/1.1\r\nHost: {address}\r\n\r\n")?;
        let mut have = Vec::new();
        loop {
            let read = stream.read(&mut buffer)?;
            have.extend_from_slice(&buffer[..read]);
            if let Some(end) = have.windows(4).position(|w| w == b"\r\n\r\n") {
                let head = String::from_utf8_lossy(&have[..end]).to_lowercase();
                let length: usize = head
                    .lines()
                    .find_map(|l| l.strip_prefix("content-length: "))
                    .ok_or("no content length")?
                    .trim()
                    .parse()?;
                if have.len() >= end + 4 + length {
                    if !head.starts_with("http/1.1 200") {
                        return Err(format!("{head} {}", String::from_utf8_lossy(&have[end..])).into());
                    }
                    break;
                }
            }
            if read == 0 {
                return Err("the server hung up".into());
            }
        }
        // The first requests warm the caches of file and statements.
        if round >= 500 {
            times.push(start.elapsed());
        }
    }
    Ok(times)
}

fn registered(item: ItemId, n: u32, sex: Sex) -> FactBody {
    let item = Item {
        id: item,
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
        sex,
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
