//! The list of many open cases: each row as its case says it by itself, and as
//! the whole log says it.

use crate::lab::{NOW, demo, said};
use matewell_app::{CaseOrder, EndDecision, MateOrder, Workshop};
use matewell_lab::{Fact, Missing, Moment, case_record};
use matewell_wire::{CaseListJson, CaseRowJson};

fn at(minutes: u32) -> Moment {
    NOW.plus_days(f64::from(minutes) / 1440.0)
}

/// Open cases whose ends overlap, and what happens to some of them.
fn with_cases(most: usize) -> Workshop {
    let mut shop = demo();
    let ends = shop.store().list_ends("", None, 0, 500).unwrap();
    let mut opened = Vec::new();
    for hit in ends {
        let order = CaseOrder {
            tags: vec![hit.end_tag.clone()],
            since: Some(NOW.plus_days(-60.0)),
            until: Some(NOW.plus_days(-50.0)),
            because: "looked odd".to_owned(),
            ..CaseOrder::default()
        };
        if shop.open_case(&order, &said(), at(1)).is_ok() {
            opened.push(hit.end_tag);
        }
        if opened.len() == most {
            break;
        }
    }
    let id = |shop: &Workshop, n: usize| shop.cases(at(2)).unwrap().cases[n].id.clone();
    let (one, two, three) = (id(&shop, 0), id(&shop, 1), id(&shop, 2));
    let tag = |shop: &Workshop, case: &str| shop.case(case, at(2)).unwrap().starts[0].end.tag.clone();
    let (first, second, third) = (tag(&shop, &one), tag(&shop, &two), tag(&shop, &three));
    shop.dispose_ends(&one, std::slice::from_ref(&first), EndDecision::Damaged, "bent", &said(), at(3))
        .unwrap();
    let until = Some(at(5));
    shop.dispose_ends(&three, &[third], EndDecision::Waived { until }, "for now", &said(), at(3)).unwrap();
    let pair =
        MateOrder { a: &first, b: &second, override_because: Some("only a minute"), ..MateOrder::default() };
    let mated = shop.mate(&pair, &said(), at(6)).unwrap();
    // A correction brings the end in whole.
    shop.take_back(mated.facts[0].parse().unwrap(), "typed twice", &said(), at(7)).unwrap();
    shop
}

fn rows(list: CaseListJson) -> Vec<CaseRowJson> {
    let mut rows = list.cases;
    rows.sort_by(|x, y| x.id.cmp(&y.id));
    rows
}

#[test]
fn the_list_says_of_each_case_what_the_case_and_the_whole_log_say() {
    let shop = with_cases(3);
    let now = at(10);
    let every: Vec<Fact> =
        shop.store().all_facts(0, 100_000).unwrap().into_iter().map(|numbered| numbered.fact).collect();
    let rows = rows(shop.cases(now).unwrap());
    assert_eq!(rows.len(), 3);
    let (mut ends, mut alarms, mut ran_out) = (0, 0, 0);
    for row in &rows {
        assert_eq!(shop.case(&row.id, now).unwrap().case, *row);
        let record = case_record(row.id.parse().unwrap(), &every, now).unwrap();
        let missing = record.missing();
        let count = |which: fn(&Missing) -> bool| missing.iter().filter(|m| which(m)).count();
        assert_eq!(row.alarms, count(|m| matches!(m, Missing::MatedWhileHeld(..))), "{}", row.name);
        assert_eq!(row.waivers_ran_out, count(|m| matches!(m, Missing::WaiverRanOut(..))), "{}", row.name);
        assert_eq!(row.results_open, count(|m| matches!(m, Missing::Result(_))), "{}", row.name);
        assert_eq!(row.ends_open, missing.len() - row.results_open, "{}", row.name);
        assert_eq!((row.ends, row.results), (record.ends.len(), record.results.len()), "{}", row.name);
        (ends, alarms, ran_out) = (ends + row.ends, alarms + row.alarms, ran_out + row.waivers_ran_out);
    }
    assert!(ends > 30 && alarms > 0 && ran_out > 0, "{ends} ends, {alarms} alarms, {ran_out} ran out");
}
