//! A lab on several servers of PostgreSQL: questions answered by a replica, and
//! a primary that is killed.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

#[path = "../../matewell-store/tests/contract/cluster.rs"]
mod cluster;
mod support;

use cluster::{Cluster, programs};
use serde_json::Value;
use std::{
    collections::BTreeMap,
    path::Path,
    sync::{
        Mutex,
        atomic::{AtomicBool, AtomicU32, Ordering},
    },
    time::Duration,
};
use support::{Server, matewell, run};

fn wait_until(what: &str, mut is_so: impl FnMut() -> bool) {
    for _ in 0..1200 {
        if is_so() {
            return;
        }
        std::thread::sleep(Duration::from_millis(25));
    }
    panic!("waited 30 s for {what}");
}

fn number(cluster: &Cluster, sql: &str) -> i64 {
    let mut client = postgres::Client::connect(&cluster.url("postgres"), postgres::NoTls).unwrap();
    client.query_one(sql, &[]).unwrap().get(0)
}

fn database_of(url: &str) -> String {
    url.split(['/', '?']).nth(3).unwrap().to_owned()
}

/// A primary with the demo lab, and a standby that has it too.
fn pair(folder: &Path) -> Option<(Cluster, Cluster, String)> {
    let primary = Cluster::new(&programs()?, "");
    let url = primary.new_database();
    // The lab's own sheets lie where its servers run.
    let made = matewell(Path::new(&url)).current_dir(folder).arg("demo").output().unwrap();
    assert!(made.status.success(), "{made:?}");
    let standby = primary.standby();
    Some((primary, standby, url))
}

fn reads(server: &Server) -> Value {
    let health: Value = serde_json::from_str(&server.get("/api/v1/health").2).unwrap();
    health["reads"].clone()
}

fn is_held(server: &Server, tag: &str) -> bool {
    let (status, _, body) = server.get(&format!("/api/v1/ends/{tag}"));
    assert_eq!(status, 200, "{body}");
    let end: Value = serde_json::from_str(&body).unwrap();
    end["history"].as_array().unwrap().iter().any(|line| line.to_string().contains("on purpose"))
}

fn hold(server: &Server, tag: &str) {
    let body = format!(r#"{{"end":"{tag}","because":"on purpose","person":"bench-1"}}"#);
    let (status, _, said) = server.post("/api/v1/holds", "", &body);
    assert_eq!(status, 201, "{said}");
}

#[test]
fn questions_go_to_the_replica_and_no_answer_is_older_than_the_one_before() {
    let folder = tempfile::tempdir().unwrap();
    let Some((primary, standby, url)) = pair(folder.path()) else { return };
    let replica = standby.url(&database_of(&url));
    let server = Server::start_with(Path::new(&url), folder.path(), &["--demo", "--read-from", &replica]);
    let other = Server::start_on(Path::new(&url), folder.path());

    // They land there: counted, seen in its list of sessions, and below.
    wait_until("the replica to answer", || {
        assert!(!is_held(&server, "CB-014A"));
        reads(&server)["by_replica"].as_u64().unwrap() >= 20
    });
    let sessions = "SELECT count(*) FROM pg_stat_activity WHERE application_name = 'matewell replica'";
    assert!(number(&standby, sessions) > 0);
    assert_eq!(number(&primary, sessions), 0);

    // An answer after a write has the write.
    let ends: Vec<String> = (1..=12).map(|n| format!("CB-{n:03}A")).collect();
    for tag in &ends {
        hold(&server, tag);
        assert!(is_held(&server, tag), "{tag}");
    }
    wait_until("the replica to have everything", || reads(&server)["behind_bytes"] == 0);

    // A replica that stands still: what another server wrote is not seen, which
    // shows who answers; what this one wrote is, from the primary.
    primary.ask("postgres", "SELECT 1");
    standby.ask("postgres", "SELECT pg_wal_replay_pause()");
    wait_until("the pause", || {
        number(&standby, "SELECT CAST(pg_get_wal_replay_pause_state() = 'paused' AS INT)::bigint") == 1
    });
    hold(&other, "CB-014A");
    assert!(is_held(&other, "CB-014A"));
    assert!(!is_held(&server, "CB-014A"), "the primary answered");
    let before = reads(&server)["by_primary"].as_u64().unwrap();
    hold(&server, "CB-013A");
    assert!(is_held(&server, "CB-013A"), "older than the write that was answered");
    assert!(is_held(&server, "CB-014A"), "older than the answer before");
    let now = reads(&server);
    assert_eq!(now["by_primary"].as_u64().unwrap(), before + 2, "{now}");
    assert!(now["behind_bytes"].as_u64().unwrap() > 0 && now["lag_ms"].is_u64(), "{now}");
    assert!(now["note"].as_str().unwrap().contains("bytes behind what was answered"), "{now}");
    let metrics = server.get("/api/v1/metrics").2;
    assert!(
        metrics.contains("\nmatewell_replica_behind_bytes ") && metrics.contains("matewell_replica_up 1")
    );

    standby.ask("postgres", "SELECT pg_wal_replay_resume()");
    let by_replica = || reads(&server)["by_replica"].as_u64().unwrap();
    let before = by_replica();
    wait_until("the replica to answer again", || is_held(&server, "CB-014A") && by_replica() > before);

    // The replica is lost: nobody sees it but in the note. And found again.
    standby.control(&["-m", "immediate", "stop"]);
    for tag in &ends {
        assert!(is_held(&server, tag), "{tag}");
    }
    let now = reads(&server);
    assert!(now["behind_bytes"].is_null(), "{now}");
    assert!(now["text"].as_str().unwrap().starts_with("The replica cannot be asked"), "{now}");
    assert!(now["note"].as_str().unwrap().contains("replica"), "{now}");
    hold(&server, "CB-015A");
    assert!(is_held(&server, "CB-015A"));
    standby.control(&["start"]);
    let before = by_replica();
    wait_until("the replica to be found again", || is_held(&server, "CB-015A") && by_replica() > before);
}

#[test]
fn what_is_no_replica_of_this_lab_is_not_asked() {
    let Some(cluster) = cluster::cluster() else { return };
    let folder = tempfile::tempdir().unwrap();
    let url = cluster.new_database();
    let server = Server::start_with(Path::new(&url), folder.path(), &["--demo", "--read-from", &url]);
    assert!(!is_held(&server, "CB-014A"));
    let now = reads(&server);
    assert_eq!(now["by_replica"], 0, "{now}");
    assert!(
        now["note"].as_str().unwrap().contains("expected a replica that follows another server"),
        "{now}"
    );
    let file = folder.path().join("lab.db");
    assert_eq!(run(&file, &["demo"]).0, 0);
    let (code, _, errors) = run(&file, &["serve", "--port", "0", "--read-from", &url]);
    assert_eq!(code, 2, "{errors}");
    assert!(errors.contains("--read-from") && errors.contains("expected"), "{errors}");
}

/// Sends holds with keys until told to stop, each as long as it takes to be
/// answered as written, to whichever server is its own.
fn work(server: &Server, name: &str, stop: &AtomicBool, answered: &Mutex<BTreeMap<String, String>>) -> u32 {
    let mut tried_again = 0;
    for n in 0.. {
        if stop.load(Ordering::Relaxed) {
            break;
        }
        let key = format!("{name}-{n}");
        let body = format!(r#"{{"end":"CB-014A","because":"key {key}.","person":"{name}"}}"#);
        loop {
            let (status, _, said) = server.post("/api/v1/holds", &key, &body);
            if status == 201 {
                let written: Value = serde_json::from_str(&said).unwrap();
                answered.lock().unwrap().insert(key, written["facts"][0].as_str().unwrap().to_owned());
                break;
            }
            assert!(status >= 500, "{status} {said}");
            tried_again += 1;
            std::thread::sleep(Duration::from_millis(50));
        }
    }
    tried_again
}

/// Two servers under load, the primary killed at once, the standby promoted:
/// both go on by themselves, and everything that was answered is there once.
#[test]
fn two_servers_lose_nothing_that_was_answered_when_the_primary_is_killed() {
    let folder = tempfile::tempdir().unwrap();
    let Some((primary, standby, url)) = pair(folder.path()) else { return };
    let database = database_of(&url);
    primary.ask("postgres", "ALTER SYSTEM SET synchronous_standby_names = '*'");
    primary.ask("postgres", "SELECT pg_reload_conf()");
    wait_until("the standby to be synchronous", || {
        number(&primary, "SELECT count(*) FROM pg_stat_replication WHERE sync_state = 'sync'") == 1
    });
    let both = format!(
        "postgresql:///{database}?host={}&host={}&user=postgres&target_session_attrs=read-write",
        primary.folder.display(),
        standby.folder.display()
    );
    let servers = [(); 2].map(|()| Server::start_on(Path::new(&both), folder.path()));
    let (stop, answered) = (AtomicBool::new(false), Mutex::new(BTreeMap::new()));
    let count = || answered.lock().unwrap().len();
    let tried_again = AtomicU32::new(0);
    std::thread::scope(|scope| {
        for (number, server) in servers.iter().enumerate() {
            for worker in 0..2 {
                let (stop, answered, tried_again) = (&stop, &answered, &tried_again);
                scope.spawn(move || {
                    let tried = work(server, &format!("rig-{number}-{worker}"), stop, answered);
                    tried_again.fetch_add(tried, Ordering::Relaxed);
                });
            }
        }
        wait_until("answers of the primary", || count() > 40);
        primary.kill();
        let before = count();
        standby.control(&["promote"]);
        wait_until("answers of the promoted standby", || count() > before + 40);
        stop.store(true, Ordering::Relaxed);
    });
    let answered = answered.into_inner().unwrap();
    println!("{} answered, {} sent again", answered.len(), tried_again.load(Ordering::Relaxed));
    let (code, exported, errors) = run(Path::new(&standby.url(&database)), &["export"]);
    assert_eq!(code, 0, "{errors}");
    for (key, fact) in &answered {
        assert_eq!(exported.matches(&format!("key {key}.")).count(), 1, "{key}");
        assert_eq!(
            exported.lines().filter(|line| line.contains(&format!("\"id\":\"{fact}\""))).count(),
            1,
            "{key}"
        );
    }
    let (code, said, errors) = run(Path::new(&standby.url(&database)), &["verify"]);
    assert_eq!(code, 0, "{said}{errors}");
    for server in &servers {
        assert_eq!(server.get("/api/v1/verify").0, 200);
    }
}
