//! Single questions, one after the other.

use crate::{
    Order, Outcome,
    lab::{Lab, Random, WRENCHES, end_id, moment_of, tag_of, tag_of_wrench},
    machine, quantile, timed,
};
use matewell_app::{TraceOrder, Workshop};
use matewell_store::{Place, Store};

/// Questions of each kind.
const TIMES: usize = 500;

pub(crate) fn ask(order: &Order, lab: Lab) -> Outcome<()> {
    let place = Place::from(&order.at);
    println!("{}; load {}", machine::described(&place)?, machine::load());
    let (opened, shop) = timed(|| Ok(Workshop::open_to_read(&order.at)?))?;
    let facts = shop.store().last_number()?;
    let at = moment_of(facts);
    let size = machine::on_disk(&place)?;
    println!("{} ends, {facts} facts, {:.2} GB, {} bytes a fact", lab.ends, size as f64 / 1e9, size / facts);
    for (table, heap, indexes) in machine::tables(&place)? {
        println!("  {table}: {} bytes a fact, its indexes {}", heap / facts, indexes / facts);
    }
    println!("| question | p50 | p99 |\n|---|---|---|\n| open | {:.1} ms | |", opened * 1e3);
    let mut random = Random(0x9e6c_63d0_876a_3f6b);
    let (first, _) = timed(|| Ok(shop.check(&tag_of(0), &tag_of(5), None, None, at)?))?;
    println!("| first check | {:.1} ms | |", first * 1e3);
    let mut ask = |name: &str, question: &mut dyn FnMut(u64) -> Outcome<()>| -> Outcome<()> {
        let mut times = Vec::with_capacity(TIMES);
        for _ in 0..TIMES {
            let end = random.below(lab.ends);
            times.push(timed(|| question(end))?.0);
        }
        println!("| {name} | {:.2} ms | {:.2} ms |", quantile(&mut times, 50), quantile(&mut times, 99));
        Ok(())
    };
    let store: &Store = shop.store();
    let mut read = 0;
    ask("facts of an end", &mut |end| {
        read += store.facts_of_end(end_id(end))?.len();
        Ok(())
    })?;
    println!("| facts of an end, on average | {} | |", read / TIMES);
    ask("an end by its label", &mut |end| Ok(store.ends_by_tag(&tag_of(end)).map(drop)?))?;
    let mut pairs = Random(0x6a09_e667_f3bc_c909);
    ask("whole check", &mut |_| {
        let (a, b) = lab.pair(&mut pairs);
        let wrench = tag_of_wrench(pairs.below(WRENCHES));
        Ok(shop.check(&tag_of(a), &tag_of(b), None, Some(&wrench), at).map(drop)?)
    })?;
    let (mut times, mut exposed) = (Vec::new(), 0);
    for end in lab.damaged() {
        let order = TraceOrder { tags: vec![tag_of(end)], ..TraceOrder::default() };
        let (took, trace) = timed(|| Ok(shop.trace(&order, at)?))?;
        times.push(took);
        exposed += trace.exposed.len();
    }
    let (mean, p50, p99) = (exposed / times.len(), quantile(&mut times, 50), quantile(&mut times, 99));
    println!("| trace of a damaged end, {mean} exposed | {p50:.1} ms | {p99:.1} ms |");
    println!("memory of this program: {} MB", machine::own_memory());
    if order.verify {
        let (took, found) = timed(|| Ok(store.verify()?))?;
        let rate = found.facts as f64 / took;
        println!(
            "verified {} facts in {took:.0} s, {rate:.0} a second, whole: {}",
            found.facts,
            found.whole()
        );
    }
    Ok(())
}
