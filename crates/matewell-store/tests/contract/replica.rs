//! Two servers of one lab, a synchronous standby, and the primary killed.

use crate::{
    bench::{MACHINE, end, held, registrations},
    cluster::{Cluster, programs},
};
use matewell_lab::FactId;
use matewell_store::{Place, Store};
use std::{
    sync::{
        Mutex,
        atomic::{AtomicBool, Ordering},
    },
    time::Duration,
};

/// Writes batches of three until told to stop; what was answered is noted.
fn write(place: &Place, from: u32, stop: &AtomicBool, answered: &Mutex<Vec<FactId>>) -> u32 {
    let mut store = Store::open(place).unwrap();
    let mut refused = 0;
    for n in (from..).step_by(3) {
        if stop.load(Ordering::Relaxed) {
            break;
        }
        let batch: Vec<_> = (n..n + 3).map(|count| held(count, end(count % 4, 0))).collect();
        match store.append(&batch) {
            Ok(_) => answered.lock().unwrap().extend(batch.iter().map(|fact| fact.id)),
            Err(_) => refused += 1,
        }
    }
    refused
}

fn wait_until(what: &str, mut is_so: impl FnMut() -> bool) {
    for _ in 0..600 {
        if is_so() {
            return;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("waited 30 s for {what}");
}

/// The primary is killed under load and the standby promoted: both servers go
/// on with the new one, everything they had answered is there, and no batch is
/// half there.
#[test]
fn a_killed_primary_loses_nothing_that_was_answered() {
    let Some(programs) = programs() else { return };
    let primary = Cluster::new(&programs, "");
    let url = primary.new_database();
    let database = url.split(['/', '?']).nth(3).unwrap().to_owned();
    let mut store = Store::create_with_machine(Place::Server(url), MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    drop(store);
    let standby = primary.standby();
    primary.ask("postgres", "ALTER SYSTEM SET synchronous_standby_names = '*'");
    primary.ask("postgres", "SELECT pg_reload_conf()");
    let mut watch = postgres::Client::connect(&primary.url("postgres"), postgres::NoTls).unwrap();
    wait_until("the standby to be synchronous", || {
        let states = watch.query("SELECT sync_state FROM pg_stat_replication", &[]).unwrap();
        states.iter().any(|row| row.get::<_, &str>(0) == "sync")
    });
    drop(watch);
    // Questions may go to the standby; it refuses to write.
    let mut replica = Store::open(Place::Server(standby.url(&database))).unwrap();
    wait_until("the standby to have everything", || replica.counts().unwrap().facts == 6);
    assert!(replica.verify().unwrap().whole());
    assert_eq!(replica.facts_of_end(end(0, 0)).unwrap().len(), 1);
    assert!(replica.append(&[held(900, end(0, 0))]).is_err());
    drop(replica);
    let both = Place::Server(format!(
        "postgresql:///{database}?host={}&host={}&user=postgres&target_session_attrs=read-write",
        primary.folder.display(),
        standby.folder.display()
    ));
    let stop = AtomicBool::new(false);
    let answered = Mutex::new(Vec::new());
    let count = || answered.lock().unwrap().len();
    let refused = std::thread::scope(|scope| {
        let servers = [1_000, 1_000_000].map(|from| {
            let (both, stop, answered) = (&both, &stop, &answered);
            scope.spawn(move || write(both, from, stop, answered))
        });
        wait_until("answers of the primary", || count() > 60);
        primary.control(&["-m", "immediate", "stop"]);
        let before = count();
        standby.control(&["promote"]);
        wait_until("answers of the promoted standby", || count() > before + 60);
        stop.store(true, Ordering::Relaxed);
        servers.map(|server| server.join().unwrap()).iter().sum::<u32>()
    });
    let store = Store::open(Place::Server(standby.url(&database))).unwrap();
    let answered = answered.into_inner().unwrap();
    for id in &answered {
        assert!(store.fact(*id).unwrap().is_some(), "fact {id} was answered as written");
    }
    let found = store.verify().unwrap();
    assert!(found.whole(), "{found:?}");
    assert_eq!((found.facts - 6) % 3, 0, "half a batch");
    // Between two writes the kill meets none, and both go on with the standby.
    println!("writes cut by the kill: {refused}");
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new());
}
