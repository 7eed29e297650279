//! Databases that programs of earlier levels laid, and files of every level
//! (`tests/old`), opened by this one.

use crate::{bench::held, cluster::cluster};
use matewell_store::{Place, Store};
use sha2::{Digest, Sha256};
use std::{fs, io::Read as _, path::PathBuf};

fn unpacked(name: &str) -> Vec<u8> {
    let path = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/old")).join(name);
    let mut bytes = Vec::new();
    flate2::read::GzDecoder::new(fs::File::open(path).unwrap()).read_to_end(&mut bytes).unwrap();
    bytes
}

fn head_of(name: &str) -> Option<(u64, String)> {
    let levels = include_str!("../old/levels.tsv");
    let cells =
        levels.lines().map(|line| line.split('\t').collect::<Vec<_>>()).find(|cells| cells[0] == name);
    cells.map(|cells| (cells[1].parse().unwrap(), cells[2].to_owned()))
}

fn goes_on(store: &mut Store, name: &str) {
    assert!(store.verify().unwrap().whole(), "{name}");
    assert_eq!(store.head().unwrap(), head_of(name), "{name}");
    assert_eq!(store.integrity().unwrap(), Vec::<String>::new(), "{name}");
    let end = store.list_ends("", None, 0, 1).unwrap()[0].end;
    let mut next = held(900_000, end);
    next.machine = store.machine();
    store.append(&[next]).unwrap();
    assert!(store.verify().unwrap().whole(), "{name}");
}

#[test]
fn a_database_of_an_earlier_level_keeps_every_fact() {
    let Some(cluster) = cluster() else { return };
    for name in ["6", "8b", "10"] {
        let url = cluster.new_database();
        let dump = String::from_utf8(unpacked(&format!("level_{name}.sql.gz"))).unwrap();
        postgres::Client::connect(&url, postgres::NoTls).unwrap().batch_execute(&dump).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file.db");
        fs::write(&path, unpacked(&format!("level_{name}.db.gz"))).unwrap();
        let file = Store::open(path.as_path()).unwrap();
        let mut store = Store::open(Place::Server(url)).unwrap();
        assert_eq!(store.linked_facts(0, 1000).unwrap(), file.linked_facts(0, 1000).unwrap());
        assert_eq!(store.list_ends("", None, 0, 99).unwrap(), file.list_ends("", None, 0, 99).unwrap());
        assert_eq!(store.mapping("stores").unwrap(), file.mapping("stores").unwrap());
        assert_eq!(store.written_response("key-1").unwrap(), file.written_response("key-1").unwrap());
        assert!(store.written_response("key-1").unwrap().is_some());
        goes_on(&mut store, name);
    }
}

/// No file of level 5 is left; a program of that level would have made it of
/// one of level 4 with this text.
#[test]
fn a_file_of_level_5_keeps_every_fact() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.db");
    fs::write(&path, unpacked("level_4.db.gz")).unwrap();
    let text = include_str!("../../migrations/0005_other_marks.sql");
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.execute_batch(&format!("BEGIN; {text}")).unwrap();
    let sha: [u8; 32] = Sha256::digest(text.as_bytes()).into();
    raw.execute("INSERT INTO schema_version (version, sha256) VALUES (5, ?1)", [sha]).unwrap();
    raw.execute_batch("COMMIT").unwrap();
    drop(raw);
    goes_on(&mut Store::open(path.as_path()).unwrap(), "4");
}

/// One byte of an old file changed: it is opened, brought up to date, and the
/// fact is named.
#[test]
fn a_changed_byte_in_an_old_file_is_found() {
    let mut bytes = unpacked("level_1.db.gz");
    let word = b"\"outcome\":\"good\"";
    let at = bytes.windows(word.len()).position(|w| w == word).unwrap();
    bytes[at + word.len() - 2] = b'b';
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.db");
    fs::write(&path, bytes).unwrap();
    let found = Store::open(path.as_path()).unwrap().verify().unwrap();
    assert!(found.first_broken.is_some(), "{found:?}");
}
