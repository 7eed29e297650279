//! One lab on both engines: the same answers, byte for byte.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

#[path = "../../matewell-store/tests/contract/cluster.rs"]
mod cluster;
mod support;

use assert_cmd::Command;
use cluster::{Cluster, cluster};
use std::{
    io::{BufRead as _, BufReader, Write as _},
    net::TcpStream,
    path::Path,
    time::Duration,
};
use support::Server;

const AS_OF: &str = "2026-11-25T09:00:00Z";

/// Questions of every kind.
const QUESTIONS: &[&[&str]] = &[
    &["check", "CB-014B", "IN-003P1", "--at", "18GHz"],
    &["check", "CB-031A", "AD-008A"],
    &["end", "CB-009A"],
    &["ends"],
    &["due"],
    &["tool", "list"],
    &["tool", "show", "GA-002"],
    &["trace", "CB-009A"],
    &["trace", "DU-008A", "--back"],
    &["trace", "GA-002", "--tool"],
    &["case", "list"],
    &["item", "CB-014"],
    &["pin", "CB-004A"],
    &["drift", "CB-014A"],
    &["kept", "CB-014A"],
    &["kept", "CB-015", "--item"],
    &["policy"],
    &["verify"],
    &["export"],
];

/// The lab's own sheet file belongs beside a file and into the working folder
/// for a database, so each lab has a folder that it is asked from.
fn ask(folder: &Path, data: &str, words: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("matewell")
        .unwrap()
        .current_dir(folder)
        .args(["--data", data, "--json", "--as-of", AS_OF])
        .args(words)
        .env_remove("MATEWELL_PERSON")
        .env_remove("MATEWELL_DATA")
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn moved(folder: &Path, from: &str, to: &str) -> (i32, String, String) {
    ask(folder, "unused.db", &["move", "--from", from, "--to", to])
}

fn head(folder: &Path, data: &str) -> String {
    let (code, out, errors) = ask(folder, data, &["health"]);
    assert_eq!(code, 0, "{errors}");
    out.split("\"head\":\"").nth(1).unwrap().split('"').next().unwrap().to_owned()
}

/// A database called "lab", as the file is: where the lab's own values come
/// from is part of an answer.
fn empty_lab(cluster: &Cluster) -> String {
    let name = "lab";
    let mut client = postgres::Client::connect(&cluster.url("postgres"), postgres::NoTls).unwrap();
    client.batch_execute(&format!("DROP DATABASE IF EXISTS {name} WITH (FORCE)")).unwrap();
    client.batch_execute(&format!("CREATE DATABASE {name}")).unwrap();
    cluster.url(name)
}

#[test]
fn a_lab_moves_to_a_server_and_back_and_every_answer_stays_the_same() {
    let Some(cluster) = cluster() else { return };
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let (here, there, back) = (folders[0].path(), folders[1].path(), folders[2].path());
    assert_eq!(ask(here, "lab.db", &["demo"]).0, 0);
    let url = empty_lab(cluster);
    let file = here.join("lab.db").display().to_string();
    let (code, out, errors) = moved(there, &file, &url);
    assert_eq!(code, 0, "{errors}");
    assert!(out.contains("\"whole\":true"), "{out}");
    assert!(there.join("lab.sheets.toml").is_file());
    assert_eq!(head(here, "lab.db"), head(there, &url));
    for question in QUESTIONS {
        let (of_file, of_server) = (ask(here, "lab.db", question), ask(there, &url, question));
        assert!(of_file.1.len() > 20, "{question:?}: {}", of_file.2);
        assert!(of_file == of_server, "{question:?} differs:\n{}\n{}", of_file.1, of_server.1);
    }
    // What is written on the server is there when it comes back.
    let written = ask(there, &url, &["hold", "CB-014A", "--because", "dropped"]);
    assert_eq!(written.0, 0, "{}", written.2);
    let target = back.join("lab.db").display().to_string();
    assert_eq!(moved(there, &url, &target).0, 0);
    assert_eq!(head(there, &url), head(back, "lab.db"));
    assert_ne!(head(here, "lab.db"), head(back, "lab.db"));
    for question in QUESTIONS {
        assert!(ask(there, &url, question) == ask(back, "lab.db", question), "{question:?} differs");
    }
    // Neither place is empty any more.
    let sheets = there.join("lab.sheets.toml");
    std::fs::remove_file(sheets).unwrap();
    std::fs::remove_file(back.join("lab.sheets.toml")).unwrap();
    for (from, to) in [(&target, &url), (&url, &target)] {
        let (code, _, errors) = moved(there, from, to);
        assert_eq!(code, 5, "{errors}");
        assert!(errors.contains("expected"), "{errors}");
        assert!(!errors.contains("user=postgres"), "no URL in a message: {errors}");
    }
    assert_eq!(head(there, &url), head(back, "lab.db"));
}

#[test]
fn two_servers_of_one_database_are_one_lab() {
    let Some(cluster) = cluster() else { return };
    let folder = tempfile::tempdir().unwrap();
    let url = cluster.new_database();
    let one = Server::start_on(Path::new(&url), folder.path());
    let two = Server::start_on(Path::new(&url), folder.path());
    let body = r#"{"a":"CB-014A","b":"AD-008B","person":"bench-1"}"#;
    let (status, _, first) = one.post("/api/v1/partings", "same-key", body);
    assert_eq!(status, 201, "{first}");
    // The same request sent to the other server is written once.
    let (status, _, second) = two.post("/api/v1/partings", "same-key", body);
    let id = |answer: &str| answer.split('"').nth(3).map(str::to_owned);
    assert_eq!((status, id(&second)), (201, id(&first)));
    let hold = r#"{"end":"CB-014A","because":"dropped","person":"bench-1"}"#;
    let (status, _, said) = two.post("/api/v1/holds", "", hold);
    assert_eq!(status, 201, "{said}");
    let asked = format!("/api/v1/ends/CB-014A?as_of={AS_OF}");
    let later = "/api/v1/ends/CB-014A?as_of=2099-01-01T00:00:00Z";
    assert_eq!(one.get(later).2, two.get(later).2);
    assert!(one.get(later).2.contains("do-not-mate"), "{}", one.get(later).2);
    let (_, out, _) = ask(folder.path(), &url, &["end", "CB-014A"]);
    assert_eq!(one.get(&asked).2, out, "the doors agree on a server too");
    let (_, out, _) = ask(folder.path(), &url, &["verify"]);
    assert!(out.contains("\"whole\":true"), "{out}");
    let health = one.get(&format!("/api/v1/health?as_of={AS_OF}")).2;
    assert_eq!(health, ask(folder.path(), &url, &["health"]).1);
}

/// A page open on one server hears what is written on the other.
#[test]
fn what_one_server_writes_the_other_announces() {
    let Some(cluster) = cluster() else { return };
    let folder = tempfile::tempdir().unwrap();
    let url = cluster.new_database();
    let one = Server::start_on(Path::new(&url), folder.path());
    let two = Server::start_on(Path::new(&url), folder.path());
    let mut stream = TcpStream::connect(&one.address).unwrap();
    write!(stream, "GET /api/v1/events HTTP/1.1\r\nHost: {}\r\n\r\n", one.address).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    let mut lines = BufReader::new(stream).lines();
    assert!(lines.next().unwrap().unwrap().contains("200"));
    let hold = r#"{"end":"CB-014A","because":"dropped","person":"bench-1"}"#;
    assert_eq!(two.post("/api/v1/holds", "", hold).0, 201);
    let told = lines.map_while(Result::ok).find(|line| line.starts_with("data:")).unwrap();
    assert!(told.contains("\"tag\":\"CB-014A\"") && told.contains("do-not-mate"), "{told}");
}

#[test]
fn a_back_up_is_verified_and_its_age_is_shown() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let mut labs = vec!["lab.db".to_owned()];
    labs.extend(cluster().map(Cluster::new_database));
    for (n, data) in labs.iter().enumerate() {
        assert_eq!(ask(here, data, &["demo"]).0, 0);
        let (_, out, _) = ask(here, data, &["health"]);
        assert!(
            out.contains("\"last_back_up\":null") && out.contains("No back-up was ever verified"),
            "{out}"
        );
        let copy = format!("copy-{n}.db");
        let (code, out, errors) = ask(here, data, &["back-up", &copy]);
        assert_eq!(code, 0, "{out}{errors}");
        let written = ask(here, data, &["hold", "CB-014A", "--because", "dropped"]);
        assert_eq!(written.0, 0, "{}", written.2);
        let shown = Command::cargo_bin("matewell")
            .unwrap()
            .current_dir(here)
            .args(["--data", data, "--json", "health"])
            .output()
            .unwrap();
        let shown = String::from_utf8(shown.stdout).unwrap();
        assert!(shown.contains(&format!("\"name\":\"{copy}\"")), "{shown}");
        assert!(shown.contains("\"age_min\":0") && shown.contains("\"facts_since\":1"), "{shown}");
        // Restored, it is the lab as it was: whole, and the same but for what came since.
        assert_eq!(ask(here, &copy, &["verify"]).0, 0);
        let (lab, restored) = (ask(here, data, &["export"]).1, ask(here, &copy, &["export"]).1);
        assert!(lab.starts_with(&restored), "every line of the copy is in the lab");
        assert_eq!(lab.lines().count(), restored.lines().count() + 1);
    }
}
