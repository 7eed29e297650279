//! Many readers and writers on one large lab, on either engine.
//!
//! ```text
//! cargo run --release -p matewell-app --example mixed_load -- fill --at lab.db --ends 10000 --mates 100000
//! cargo run --release -p matewell-app --example mixed_load -- load --at lab.db --ends 10000 --seconds 30
//! cargo run --release -p matewell-app --example mixed_load -- ask --at postgresql://… --ends 1000000
//! ```
//!
//! `fill` makes the lab, or adds mates to one that it made. `load` lets
//! `--readers` make whole mate checks of random pairs while `--writers` write
//! mates, in batches of `--batch` and then twenty singly, each with the use
//! cases of the program. `ask` takes the times of single questions.

mod ask;
mod fill;
mod lab;
mod load;
mod machine;

use lab::Lab;
use matewell_store::Place;
use std::{error::Error, path::PathBuf, time::Instant};

type Outcome<T> = Result<T, Box<dyn Error>>;

/// What was asked for, with what is taken when left out.
#[derive(Debug, Clone)]
struct Order {
    at: PathBuf,
    ends: u64,
    mates: u64,
    seconds: f64,
    readers: u32,
    writers: u32,
    batch: u64,
    verify: bool,
}

fn order(words: impl Iterator<Item = String>) -> Outcome<Order> {
    let mut order = Order {
        at: PathBuf::new(),
        ends: 10_000,
        mates: 100_000,
        seconds: 20.0,
        readers: 4,
        writers: 1,
        batch: 500,
        verify: false,
    };
    let mut words = words;
    while let Some(word) = words.next() {
        let mut value = || words.next().ok_or(format!("expected a value after {word}"));
        match word.as_str() {
            "--at" => order.at = value()?.into(),
            "--ends" => order.ends = value()?.parse()?,
            "--mates" => order.mates = value()?.parse()?,
            "--seconds" => order.seconds = value()?.parse()?,
            "--readers" => order.readers = value()?.parse()?,
            "--writers" => order.writers = value()?.parse()?,
            "--batch" => order.batch = value()?.parse()?,
            "--verify" => order.verify = true,
            _ => return Err(format!("expected an option of mixed_load, found {word}").into()),
        }
    }
    if order.at.as_os_str().is_empty() {
        return Err("expected --at FILE or --at postgresql://…".into());
    }
    Ok(order)
}

fn main() -> Outcome<()> {
    let mut words = std::env::args().skip(1);
    let act = words.next().unwrap_or_default();
    let order = order(words)?;
    let lab = Lab { ends: order.ends };
    let place = Place::from(&order.at);
    match act.as_str() {
        "fill" => {
            let (took, ()) = timed(|| fill::fill(&place, lab, order.mates))?;
            println!("filled {} mates over {} ends: {took:.0} s", order.mates, order.ends);
            Ok(())
        }
        "load" => load::load(&order, lab),
        "ask" => ask::ask(&order, lab),
        _ => Err(format!("expected fill, load or ask, found \"{act}\"").into()),
    }
}

#[expect(clippy::disallowed_methods, reason = "an example that measures needs a clock")]
fn clock() -> Instant {
    Instant::now()
}

fn timed<T>(run: impl FnOnce() -> Outcome<T>) -> Outcome<(f64, T)> {
    let start = clock();
    let done = run()?;
    Ok((start.elapsed().as_secs_f64(), done))
}

/// The time that so many of a hundred took at most, in milliseconds.
fn quantile(times: &mut [f64], percent: usize) -> f64 {
    times.sort_by(f64::total_cmp);
    times.get((times.len() * percent / 100).min(times.len().saturating_sub(1))).map_or(f64::NAN, |s| s * 1e3)
}
