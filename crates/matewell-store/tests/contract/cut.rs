//! Connections cut and servers restarted.

use super::engine::Lab;
use crate::{
    bench::{MACHINE, end, held, registrations},
    cluster::{Cluster, cluster, programs},
};
use matewell_store::{Place, Store};
use std::{
    sync::atomic::{AtomicBool, Ordering},
    time::Duration,
};

fn cut_all(url: &str) {
    let mut client = postgres::Client::connect(url, postgres::NoTls).unwrap();
    client
        .batch_execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
             WHERE application_name = 'matewell' AND datname = current_database()",
        )
        .unwrap();
}

/// A connection that was cut between two questions is made again unseen.
#[test]
fn a_connection_cut_at_rest_is_made_again() {
    let Some(cluster) = cluster() else { return };
    let url = cluster.new_database();
    let place = Place::Server(url.clone());
    let mut store = Store::create_with_machine(&place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    cut_all(&url);
    assert_eq!(store.counts().unwrap().facts, 6);
    cut_all(&url);
    store.append(&[held(40, end(0, 0))]).unwrap();
    assert!(store.verify().unwrap().whole());
}

/// Cut while it writes: what was answered is there, what was not may be, and
/// never half of a batch.
#[test]
fn a_connection_cut_while_writing_loses_nothing_that_was_answered() {
    let Some(cluster) = cluster() else { return };
    let url = cluster.new_database();
    let place = Place::Server(url.clone());
    let mut store = Store::create_with_machine(&place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let stop = AtomicBool::new(false);
    let (mut answered, mut refused) = (Vec::new(), 0);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            for pause in (0..).map(|n: u64| n * 7 % 23) {
                if stop.load(Ordering::Relaxed) {
                    break;
                }
                std::thread::sleep(Duration::from_millis(pause));
                cut_all(&url);
            }
        });
        let mut n = 100;
        while n < 20_000 && (refused < 20 || answered.len() < 100) {
            let batch: Vec<_> = (n..n + 5).map(|count| held(count, end(count % 4, 0))).collect();
            match store.append(&batch) {
                Ok(_) => answered.extend(batch.iter().map(|fact| fact.id)),
                Err(_) => refused += 1,
            }
            n += 5;
        }
        stop.store(true, Ordering::Relaxed);
    });
    drop(store);
    let store = Store::open(&place).unwrap();
    for id in &answered {
        assert!(store.fact(*id).unwrap().is_some(), "fact {id} was answered as written");
    }
    let found = store.verify().unwrap();
    assert!(found.whole());
    assert_eq!((found.facts - 6) % 5, 0, "half a batch");
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
    assert!(refused > 0 && !answered.is_empty(), "{refused} refused, {} answered", answered.len());
}

/// A server stopped at once, as by a power cut of the machine it runs on, and
/// started again: the same connection goes on.
#[test]
fn a_restarted_server_has_everything_that_was_answered() {
    let Some(programs) = programs() else { return };
    // Its own cluster: others would notice. `fsync` stays off, since only the
    // process is killed and not the system.
    let own = Cluster::new(&programs, "");
    let place = Place::Server(own.new_database());
    let mut store = Store::create_with_machine(&place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    for round in 0..3 {
        store.append(&[held(40 + round, end(0, 0))]).unwrap();
        let head = store.head().unwrap();
        own.control(&["-m", "immediate", "restart"]);
        assert_eq!(store.head().unwrap(), head);
        assert!(store.verify().unwrap().whole());
    }
}

/// A client dropped on a thread of an async runtime would panic or wait for
/// ever; it is ended elsewhere.
#[test]
fn a_log_may_be_dropped_on_an_async_thread() {
    if cluster().is_none() {
        return;
    }
    let lab = Lab::new();
    let store = Store::create_with_machine(&lab.place, MACHINE).unwrap();
    let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
    runtime.block_on(async move { drop(store) });
    assert!(Store::exists(&lab.place).unwrap());
}
