//! The marks beside the log are the same whether written with the facts or
//! drawn from a file that is older than they are.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

#[expect(dead_code, reason = "shared with the tests of the contract")]
#[path = "contract/bench/mod.rs"]
mod bench;

use bench::{MACHINE, corrected, damaged, end, fact, gauged, held, item, mated, registrations, stored};
use matewell_lab::{Correction, FactBody, GaugeZero, Resolution, ResultNoted, ToolCheck, ToolChecked};
use matewell_quantity::Length;
use matewell_store::Store;
use rusqlite::Connection;
use std::path::Path;

type Rows = Vec<(i64, String, i64, i64)>;

fn marks(path: &Path) -> (Rows, Rows) {
    let raw = Connection::open(path).unwrap();
    let rows = |table: &str, key: &str| -> Rows {
        raw.prepare(&format!("SELECT {key}, what, happened_at, seq FROM {table} ORDER BY 1, 2, 3, 4"))
            .unwrap()
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
            .unwrap()
            .collect::<Result<_, _>>()
            .unwrap()
    };
    (rows("end_mark", "end_no"), rows("item_mark", "item_no"))
}

fn fill(path: &Path) -> Store {
    let mut store = Store::create_with_machine(path, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let zero = GaugeZero { reads_more_recessed: Length::from_micrometres(0.0).unwrap(), in_order: true };
    let result = ResultNoted {
        uri: "lab://results/1".to_owned(),
        sha256: None,
        device: None,
        chain: vec![end(0, 0), end(1, 1)],
    };
    let mut by_day = mated(16, end(2, 0), end(3, 1));
    by_day.resolution = Resolution::Day;
    store
        .append(&[
            mated(10, end(0, 0), end(1, 1)),
            gauged(11, end(0, 0)),
            damaged(12, end(1, 1)),
            held(13, end(1, 1)),
            stored(14, item(0)),
            fact(15, FactBody::ToolChecked(ToolChecked { tool: item(4), check: ToolCheck::GaugeZero(zero) })),
            by_day,
            fact(17, FactBody::ResultNoted(result)),
            fact(18, FactBody::Cleaned { end: end(2, 0), method: None }),
            corrected(19, 12, Correction::Void),
            corrected(20, 10, Correction::Body(Box::new(mated(10, end(0, 0), end(2, 1)).body))),
            corrected(21, 19, Correction::Void),
        ])
        .unwrap();
    store
}

#[test]
fn an_older_file_gets_the_marks_it_would_have_had() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    drop(fill(&path));
    let expected = marks(&path);
    assert!(expected.0.len() > 15 && expected.1.len() > 2, "{expected:?}");
    let raw = Connection::open(&path).unwrap();
    raw.execute_batch("DELETE FROM end_mark; DELETE FROM item_mark").unwrap();
    // What the migrations do to a file that was filled before them.
    let texts = [
        include_str!("../migrations/0002_marks.sql"),
        include_str!("../migrations/0005_other_marks.sql"),
        include_str!("../migrations/0010_item_marks.sql"),
    ];
    let draws: Vec<&str> =
        texts.iter().flat_map(|text| text.split(';')).filter(|part| part.contains("INSERT INTO")).collect();
    assert_eq!(draws.len(), 9);
    raw.execute_batch(&draws.join(";")).unwrap();
    drop(raw);
    assert_eq!(marks(&path), expected);
}
