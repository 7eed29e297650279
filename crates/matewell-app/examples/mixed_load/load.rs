//! Readers and writers at the same time.

use crate::{
    Order, Outcome, clock,
    lab::{Lab, Random, WRENCHES, moment_of, tag_of, tag_of_wrench},
    machine, quantile,
};
use matewell_app::{LoggedMate, Said, Workshop};
use matewell_lab::Moment;
use matewell_store::Place;
use std::{
    sync::atomic::{AtomicBool, AtomicU64, Ordering},
    thread,
    time::Duration,
};

/// Mates written one by one after each batch.
const SINGLES: u64 = 20;

#[derive(Default)]
struct Written {
    batches: Vec<f64>,
    singles: Vec<f64>,
    mates: u64,
}

/// Everybody's clock: the mates on record so far, at their pace.
fn now(count: &AtomicU64) -> Moment {
    moment_of(count.load(Ordering::Relaxed))
}

pub(crate) fn load(order: &Order, lab: Lab) -> Outcome<()> {
    let place = Place::from(&order.at);
    let size = machine::on_disk(&place)?;
    let load_before = machine::load();
    let first = {
        let shop = Workshop::open(&order.at, moment_of(0))?;
        shop.store().last_number()?
    };
    let count = AtomicU64::new(first);
    let stop = AtomicBool::new(false);
    let (mut checks, mut firsts, mut written, mut memory, mut took) =
        (Vec::new(), Vec::new(), Written::default(), 0, 0.0);
    thread::scope(|scope| -> Outcome<()> {
        let (count, stop) = (&count, &stop);
        let readers: Vec<_> =
            (0..order.readers).map(|n| scope.spawn(move || told(read(order, lab, n, count, stop)))).collect();
        let writers: Vec<_> = (0..order.writers)
            .map(|n| scope.spawn(move || told(write(order, lab, n, count, stop))))
            .collect();
        let start = clock();
        while start.elapsed().as_secs_f64() < order.seconds {
            thread::sleep(Duration::from_millis(500));
            memory = memory.max(machine::memory_of_sessions(&place));
        }
        stop.store(true, Ordering::Relaxed);
        took = start.elapsed().as_secs_f64();
        for reader in readers {
            let (first, more) = reader.join().map_err(|_| "a reader panicked")??;
            firsts.push(first);
            checks.extend(more);
        }
        for writer in writers {
            let more = writer.join().map_err(|_| "a writer panicked")??;
            written.batches.extend(more.batches);
            written.singles.extend(more.singles);
            written.mates += more.mates;
        }
        Ok(())
    })?;
    let facts = count.load(Ordering::Relaxed);
    println!("{}; load {load_before} before, {} after", machine::described(&place)?, machine::load());
    println!("{} ends, {first} facts before, {facts} after; {took:.0} s", order.ends);
    println!("| what | value |\n|---|---|");
    println!("| readers, writers | {}, {} |", order.readers, order.writers);
    println!("| checks a second | {:.0} |", checks.len() as f64 / took);
    println!("| check p50, p99 | {:.1} ms, {:.1} ms |", quantile(&mut checks, 50), quantile(&mut checks, 99));
    println!("| first check of a reader | {:.0} ms |", quantile(&mut firsts, 100));
    println!("| mates written a second | {:.0} |", written.mates as f64 / took);
    println!(
        "| batch of {} p50, p99 | {:.0} ms, {:.0} ms |",
        order.batch,
        quantile(&mut written.batches, 50),
        quantile(&mut written.batches, 99)
    );
    println!(
        "| one mate p50, p99 | {:.1} ms, {:.1} ms |",
        quantile(&mut written.singles, 50),
        quantile(&mut written.singles, 99)
    );
    println!("| on disk for a fact | {} bytes |", size / first.max(1));
    println!("| memory of this program, of the database | {} MB, {memory} MB |", machine::own_memory());
    if order.verify {
        let shop = Workshop::open(&order.at, now(&count))?;
        let (took, found) = crate::timed(|| Ok(shop.store().verify()?))?;
        println!("| verified | {} facts in {took:.0} s, whole: {} |", found.facts, found.whole());
    }
    Ok(())
}

/// Errors may not cross threads as they are.
fn told<T>(done: Outcome<T>) -> Result<T, String> {
    done.map_err(|error| error.to_string())
}

fn read(
    order: &Order,
    lab: Lab,
    number: u32,
    count: &AtomicU64,
    stop: &AtomicBool,
) -> Outcome<(f64, Vec<f64>)> {
    let shop = Workshop::open_to_read(&order.at)?;
    let mut random = Random(0x2545_f491_4f6c_dd1d ^ u64::from(number));
    let mut times = Vec::new();
    let mut first = None;
    while !stop.load(Ordering::Relaxed) || first.is_none() {
        let (a, b) = lab.pair(&mut random);
        let wrench = tag_of_wrench(random.below(WRENCHES));
        let start = clock();
        let check = shop.check(&tag_of(a), &tag_of(b), None, Some(&wrench), now(count))?;
        let bytes = serde_json::to_string(&check)?.len();
        let took = start.elapsed().as_secs_f64();
        if bytes < 100 {
            return Err("expected a whole answer".into());
        }
        if first.is_none() {
            first = Some(took);
        } else {
            times.push(took);
        }
    }
    Ok((first.unwrap_or_default(), times))
}

fn write(order: &Order, lab: Lab, number: u32, count: &AtomicU64, stop: &AtomicBool) -> Outcome<Written> {
    let mut shop = Workshop::open(&order.at, now(count))?;
    let mut random = Random(0xd1b5_4a32_d192_ed03 ^ u64::from(number));
    let mut said = Said::at_the_bench("rig-1");
    said.source = matewell_lab::FactSource::Program;
    let mut written = Written::default();
    while !stop.load(Ordering::Relaxed) {
        for size in std::iter::once(order.batch).chain((0..SINGLES).map(|_| 1)) {
            let from = count.fetch_add(size, Ordering::Relaxed);
            let mates: Vec<LoggedMate> = (from..from + size)
                .map(|n| {
                    let (a, b) = lab.pair(&mut random);
                    let wrench = Some(tag_of_wrench(random.below(WRENCHES)));
                    LoggedMate { a: tag_of(a), b: tag_of(b), happened_at: moment_of(n), wrench }
                })
                .collect();
            let start = clock();
            shop.log_mates(&mates, &said, now(count))?;
            let took = start.elapsed().as_secs_f64();
            if size == 1 {
                written.singles.push(took);
            } else {
                written.batches.push(took);
            }
            written.mates += size;
            if stop.load(Ordering::Relaxed) {
                break;
            }
        }
    }
    Ok(written)
}
