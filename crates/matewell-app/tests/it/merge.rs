//! A laptop that worked alone comes home: facts join as a set.

use crate::lab::{NOW, REGISTER, said};
use matewell_app::{AppError, ImportOrder, Said, Workshop};
use matewell_lab::{InspectionOutcome, Moment, PinPosition};
use matewell_quantity::Length;
use matewell_wire::ItemAsked;
use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
};
use tempfile::TempDir;

fn at(minutes: u32) -> Moment {
    NOW.plus_days(f64::from(minutes) / 1440.0)
}

struct Labs {
    _folder: TempDir,
    lab: PathBuf,
    laptops: [PathBuf; 2],
}

/// A lab with two items, and two laptops that took its facts along.
fn labs() -> Labs {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let (lab, laptops) = (path("lab.db"), [path("one.db"), path("two.db")]);
    let mut shop = Workshop::open(&lab, NOW).unwrap();
    let order = ImportOrder {
        bytes: REGISTER.into(),
        file_name: "register.csv".to_owned(),
        ..ImportOrder::default()
    };
    assert!(shop.import(&order, &said(), NOW).unwrap().written);
    for laptop in &laptops {
        let merged = Workshop::open(laptop, NOW).unwrap().merge(&lab, at(1)).unwrap();
        assert_eq!((merged.taken, merged.known, merged.questions.len()), (3, 0, 0), "policy, two items");
    }
    Labs { _folder: folder, lab, laptops }
}

fn look(path: &Path, tag: &str, outcome: InspectionOutcome, when: Moment) {
    let mut shop = Workshop::open(path, when).unwrap();
    shop.inspect(tag, outcome, Vec::new(), None, &said(), when).unwrap();
}

fn gauge(path: &Path, tag: &str, when: Moment) {
    let um = |v| Length::from_micrometres(v).unwrap();
    let readings = (0..3).map(|_| PinPosition::recessed(um(12.0)).unwrap()).collect();
    Workshop::open(path, when).unwrap().gauge(tag, readings, None, Some(um(1.0)), &said(), when).unwrap();
}

fn facts(path: &Path) -> BTreeSet<String> {
    let shop = Workshop::open(path, at(60)).unwrap();
    shop.store().all_facts(0, 1000).unwrap().into_iter().map(|n| n.fact.id.to_string()).collect()
}

fn answers(path: &Path) -> Vec<String> {
    let shop = Workshop::open(path, at(60)).unwrap();
    assert!(shop.verify().unwrap().whole);
    ["CB-1A", "CB-1B", "IN-1P1", "IN-1P2"]
        .iter()
        .map(|tag| serde_json::to_string(&shop.end(tag, at(60)).unwrap()).unwrap())
        .chain([serde_json::to_string(&shop.check("CB-1A", "IN-1P2", None, None, at(60)).unwrap()).unwrap()])
        .collect()
}

#[test]
fn any_order_any_number_of_times_one_result() {
    let labs = labs();
    let [one, two] = &labs.laptops;
    look(&labs.lab, "CB-1B", InspectionOutcome::Good, at(5));
    gauge(one, "CB-1A", at(6));
    look(one, "IN-1P1", InspectionOutcome::Dirty, at(9));
    gauge(two, "IN-1P2", at(7));
    look(two, "CB-1A", InspectionOutcome::NormalWear, at(8));
    // Round and round: each takes from the others, some of it twice.
    for (into, from) in [
        (&labs.lab, two),
        (one, two),
        (two, &labs.lab),
        (&labs.lab, one),
        (two, one),
        (one, &labs.lab),
        (&labs.lab, one),
    ] {
        Workshop::open(into, at(50)).unwrap().merge(from, at(50)).unwrap();
    }
    let again = Workshop::open(two, at(55)).unwrap().merge(one, at(55)).unwrap();
    // Two items, five acts, and of each machine the policy that it judged by.
    assert_eq!((again.taken, again.known), (0, 10));
    let history = Workshop::open(two, at(55)).unwrap().policy().unwrap().history;
    let own: Vec<bool> = history.iter().map(|taken| taken.on_this_machine).collect();
    assert_eq!((own.len(), own.iter().filter(|own| **own).count()), (3, 1));
    assert!(history.iter().all(|taken| taken.first && taken.changes.is_empty()));
    assert_eq!(facts(one), facts(&labs.lab));
    assert_eq!(facts(two), facts(&labs.lab));
    assert_eq!(answers(one), answers(&labs.lab));
    assert_eq!(answers(two), answers(&labs.lab));
}

#[test]
fn a_release_that_did_not_know_of_a_hold_leaves_it_held_and_asks() {
    let labs = labs();
    let [one, two] = &labs.laptops;
    Workshop::open(one, at(10)).unwrap().hold("CB-1A", "dropped", &said(), at(10)).unwrap();
    let mut shop = Workshop::open(two, at(20)).unwrap();
    shop.hold("CB-1A", "looks odd", &said(), at(15)).unwrap();
    let by = Said::at_the_bench("lead-1");
    shop.inspect("CB-1A", InspectionOutcome::Good, Vec::new(), None, &by, at(18)).unwrap();
    shop.release("CB-1A", "looked good", None, &by, at(20)).unwrap();
    drop(shop);
    let mut lab = Workshop::open(&labs.lab, at(30)).unwrap();
    assert!(lab.merge(two, at(30)).unwrap().questions.is_empty());
    let merged = lab.merge(one, at(31)).unwrap();
    assert_eq!(merged.questions.len(), 1, "{merged:?}");
    assert_eq!(
        (merged.questions[0].what.as_str(), merged.questions[0].tag.as_str()),
        ("held-and-released", "CB-1A")
    );
    assert!(merged.questions[0].text.contains("lead-1"), "{}", merged.questions[0].text);
    let end = lab.end("CB-1A", at(31)).unwrap();
    assert_eq!(end.standing.standing, "do-not-mate");
    let held = end.standing.findings.iter().find(|f| f.code == "held").unwrap();
    assert!(held.text.contains("dropped") && held.text.contains("lead-1"), "{}", held.text);
    // A person who sees both settles it.
    lab.release("CB-1A", "asked both", None, &by, at(40)).unwrap();
    assert_ne!(lab.end("CB-1A", at(40)).unwrap().standing.standing, "do-not-mate");
}

#[test]
fn one_label_on_two_things_is_asked_and_never_chosen() {
    let labs = labs();
    let [one, two] = &labs.laptops;
    for (path, kind) in [(one, "cable"), (two, "adapter")] {
        let asked = ItemAsked { tag: "NEW-7".to_owned(), kind: kind.to_owned(), ..ItemAsked::default() };
        Workshop::open(path, at(10)).unwrap().register_item(&asked, &said(), at(10)).unwrap();
    }
    let mut lab = Workshop::open(&labs.lab, at(30)).unwrap();
    lab.merge(one, at(30)).unwrap();
    let merged = lab.merge(two, at(30)).unwrap();
    assert_eq!(merged.questions.iter().map(|q| q.what.as_str()).collect::<Vec<_>>(), ["label-given-twice"]);
    let AppError::WhichEnd { candidates, .. } = lab.item("NEW-7", at(31)).unwrap_err() else {
        panic!("chosen")
    };
    assert_eq!(candidates.len(), 2);
    let is_due = |lab: &Workshop| {
        lab.due(None, at(31)).unwrap().due.iter().any(|d| d.task == "label-twice" && d.tag == "NEW-7")
    };
    assert!(is_due(&lab));
    // By its id one of them gets another label.
    let id = candidates[1].split_whitespace().nth(1).unwrap();
    let asked = ItemAsked { tag: "NEW-8".to_owned(), kind: "adapter".to_owned(), ..ItemAsked::default() };
    lab.amend_item(id, &asked, "both benches chose the label", &said(), at(31)).unwrap();
    assert!(!is_due(&lab));
    assert!(lab.item("NEW-7", at(31)).is_ok() && lab.item("NEW-8", at(31)).is_ok());
}

#[test]
fn a_clock_that_went_back_or_is_ahead_is_told() {
    let labs = labs();
    let [one, two] = &labs.laptops;
    look(one, "CB-1A", InspectionOutcome::Good, at(300));
    look(one, "CB-1B", InspectionOutcome::Good, at(10));
    look(two, "CB-1A", InspectionOutcome::Good, at(30_000));
    let mut lab = Workshop::open(&labs.lab, at(400)).unwrap();
    let clock = |merged: matewell_wire::MergeJson| merged.machines[0].clock.clone().unwrap_or_default();
    assert!(clock(lab.merge(one, at(400)).unwrap()).contains("went back"));
    assert!(clock(lab.merge(two, at(400)).unwrap()).contains("ahead"));
}

#[test]
fn a_log_that_went_on_in_two_places_is_refused_whole() {
    let labs = labs();
    let [one, _] = &labs.laptops;
    let copy = one.with_file_name("copy.db");
    Workshop::open(one, at(5)).unwrap().back_up(&copy, at(5)).unwrap();
    look(one, "CB-1A", InspectionOutcome::Good, at(10));
    look(&copy, "CB-1A", InspectionOutcome::Damaged, at(11));
    look(&copy, "CB-1B", InspectionOutcome::Damaged, at(12));
    let mut lab = Workshop::open(&labs.lab, at(30)).unwrap();
    lab.merge(one, at(30)).unwrap();
    let before = lab.store().counts().unwrap();
    let error = lab.merge(&copy, at(30)).unwrap_err();
    assert!(matches!(error, AppError::Store(_) | AppError::Conflict(_)), "{error}");
    assert_eq!(lab.store().counts().unwrap(), before);
}
