//! What policy was in force when, across openings of one lab.

use crate::lab::REGISTER;
use matewell_app::{ImportOrder, Said, Workshop};
use matewell_lab::Moment;
use std::{fs, path::Path};

const DAY: i64 = 86_400_000_000;

fn at(day: i64) -> Moment {
    Moment::from_microseconds(1_790_000_000_000_000 + day * DAY)
}

fn opened(lab: &Path, day: i64) -> Workshop {
    Workshop::open(lab, at(day)).unwrap()
}

fn put_away(shop: &mut Workshop, day: i64) {
    let item = shop.ends("", None, 0, 1).unwrap().ends[0].item_tag.clone();
    shop.store_away(&item, "drawer 2", None, &Said::at_the_bench("R. Quill"), at(day)).unwrap();
}

#[test]
fn the_first_fact_of_a_lab_says_what_it_is_judged_by() {
    let folder = tempfile::tempdir().unwrap();
    let lab = folder.path().join("new.db");
    let mut shop = opened(&lab, 0);
    assert!(shop.policy().unwrap().history.is_empty(), "opening writes nothing");
    let said = Said::at_the_bench("R. Quill");
    shop.store_away("CB-014", "drawer 2", None, &said, at(0)).unwrap_err();
    assert!(shop.policy().unwrap().history.is_empty(), "nor does what is refused");
    let order = ImportOrder {
        bytes: REGISTER.as_bytes().to_vec(),
        file_name: "register.csv".to_owned(),
        ..ImportOrder::default()
    };
    let report = shop.import(&order, &said, at(0)).unwrap();
    assert!(report.written, "{}", report.text());
    let first = shop.store().all_facts(0, 1).unwrap();
    assert_eq!(matewell_lab::kind_word(&first[0].fact.body), "policy-taken-up");
    assert_eq!(shop.policy().unwrap().history[0].person, "R. Quill");
}

#[test]
fn a_policy_is_written_down_with_the_first_act_under_it_and_each_change_once() {
    let folder = tempfile::tempdir().unwrap();
    let lab = folder.path().join("lab.db");
    let own = folder.path().join("lab.sheets.toml");

    let mut shop = opened(&lab, 0);
    shop.demo(at(0)).unwrap();
    put_away(&mut shop, 1);
    put_away(&mut shop, 1);
    let history = shop.policy().unwrap().history;
    assert_eq!(history.len(), 1, "once, not with every act");
    assert!(history[0].first && history[0].on_this_machine && history[0].changes.is_empty());
    drop(shop);

    // Opened again, nothing changed.
    let mut shop = opened(&lab, 2);
    shop.take_up_policy("the server", at(2)).unwrap();
    put_away(&mut shop, 2);
    assert_eq!(shop.policy().unwrap().history.len(), 1);
    drop(shop);

    let text = fs::read_to_string(&own).unwrap();
    fs::write(
        &own,
        format!("{text}\n[policy]\nreadings = {{ value = 5, because = \"three were too few\" }}\n"),
    )
    .unwrap();
    let mut shop = opened(&lab, 3);
    shop.take_up_policy("the server", at(3)).unwrap();
    shop.take_up_policy("the server", at(3)).unwrap();
    let history = shop.policy().unwrap().history;
    assert_eq!(history.len(), 2);
    assert_eq!(history[0].person, "the server");
    assert_eq!(history[0].revision, shop.sheets().revision());
    let changes: Vec<_> = history[0]
        .changes
        .iter()
        .map(|c| (c.place.as_str(), c.before.as_deref(), c.now.as_deref(), c.because.as_deref()))
        .collect();
    assert_eq!(changes, [("readings", Some("3"), Some("5"), Some("three were too few"))]);
    drop(shop);

    // Back to what it was: a change of its own, and the log stays whole.
    fs::write(&own, text).unwrap();
    let mut shop = opened(&lab, 4);
    put_away(&mut shop, 4);
    let history = shop.policy().unwrap().history;
    assert_eq!(history.len(), 3);
    assert_eq!(history[0].person, "R. Quill");
    assert_eq!(history[0].changes.len(), 1);
    assert_eq!(history[0].changes[0].now.as_deref(), Some("3"));
    assert!(shop.verify().unwrap().whole);
}
