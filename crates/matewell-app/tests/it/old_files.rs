//! Files that programs of earlier levels wrote (`matewell-store/tests/old`),
//! opened by this one: every fact as it was, and the answers those of a lab
//! that was given the same facts today.

use matewell_app::{UuidV7, Workshop};
use matewell_lab::Moment;
use std::{collections::BTreeMap, fs, io::Read as _, path::PathBuf};

/// 2026-11-27T08:00:00Z; the facts are older.
const AT: Moment = Moment::from_microseconds(1_795_766_400_000_000);

fn old(name: &str) -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../matewell-store/tests/old")).join(name)
}

fn unpacked(name: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let packed = fs::File::open(old(&format!("level_{name}.db.gz"))).unwrap();
    flate2::read::GzDecoder::new(packed).read_to_end(&mut bytes).unwrap();
    bytes
}

/// Standing of each end in words, by its label; and the whole answers.
fn answers(shop: &Workshop) -> (BTreeMap<String, String>, Vec<String>) {
    let ends = shop.store().list_ends("", None, 0, 1000).unwrap();
    let mut words = BTreeMap::new();
    let mut whole = Vec::new();
    for hit in ends {
        let end = shop.end(&hit.end_tag, AT).unwrap();
        words.insert(hit.end_tag, end.standing.standing.clone());
        whole.push(serde_json::to_string(&end).unwrap());
    }
    (words, whole)
}

#[test]
fn a_file_of_every_level_keeps_its_facts_and_answers_as_a_lab_of_today() {
    let folder = tempfile::tempdir().unwrap();
    let levels = fs::read_to_string(old("levels.tsv")).unwrap();
    let mut told = String::from("level\tend\tstanding\n");
    let mut seen = 0;
    for line in levels.lines().skip(1) {
        let cells: Vec<&str> = line.split('\t').collect();
        let [name, facts, head] = cells[..] else { panic!("{line}") };
        let path = folder.path().join(format!("level_{name}.db"));
        fs::write(&path, unpacked(name)).unwrap();
        let mut shop = Workshop::open(&path, AT).unwrap();
        let found = shop.verify().unwrap();
        assert!(found.whole, "level {name}: {}", found.text);
        assert_eq!(shop.store().head().unwrap(), Some((facts.parse().unwrap(), head.to_owned())), "{name}");
        assert_eq!(shop.store().integrity().unwrap(), Vec::<String>::new(), "level {name}");
        // The same facts in a lab of today.
        let mut today = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
        let linked = shop.store().linked_facts(0, 10_000).unwrap();
        let linked: Vec<_> = linked.into_iter().map(|(_, fact)| fact).collect();
        today.store_mut().append_linked(&linked).unwrap();
        let (words, whole) = answers(&shop);
        assert_eq!(whole, answers(&today).1, "level {name}");
        for (end, standing) in &words {
            told += &format!("{name}\t{end}\t{standing}\n");
        }
        seen += words.len();
        assert_eq!(
            serde_json::to_string(&shop.due(None, AT).unwrap()).unwrap(),
            serde_json::to_string(&today.due(None, AT).unwrap()).unwrap()
        );
        // It goes on.
        let end = words.keys().next().unwrap();
        shop.hold(end, "odd", &crate::lab::said(), AT).unwrap();
        assert!(shop.verify().unwrap().whole, "level {name}");
        drop(shop);
        assert_eq!(Workshop::open(&path, AT).unwrap().end(end, AT).unwrap().standing.standing, "do-not-mate");
    }
    assert!(seen > 500, "{seen}");
    // Stored on 2026-11-27. A change of the data sheets or of a rule may change
    // a line: then the new file is stored, and the change is told in CHANGELOG.md.
    let stored = old("standings.tsv");
    if std::env::var_os("MATEWELL_STORE_STANDINGS").is_some() {
        fs::write(&stored, &told).unwrap();
    }
    assert_eq!(told, fs::read_to_string(stored).unwrap());
}
