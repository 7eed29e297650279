//! The rules of `data/`, as tests.

#![expect(clippy::unwrap_used, reason = "broken data should stop the test")]

use matewell_sheets::{Evidence, Lookup, PairRule, Rule, SheetError, Sheets};

#[test]
fn every_sheet_loads_and_every_interface_is_there() {
    let sheets = Sheets::embedded().unwrap();
    let keys: Vec<&str> = sheets.interfaces().map(|i| i.key.as_str()).collect();
    let expected = [
        "1.0mm", "1.35mm", "1.85mm", "2.4mm", "2.92mm", "3.5mm", "7-16", "7mm", "bnc", "n50", "n75", "sma",
        "tnc",
    ];
    assert_eq!(keys, expected);
}

#[test]
fn every_pair_of_interfaces_has_a_rule() {
    let sheets = Sheets::embedded().unwrap();
    let keys: Vec<String> = sheets.interfaces().map(|i| i.key.clone()).collect();
    for a in &keys {
        for b in &keys {
            // The 50 and 75 ohm rules name the sexes: pin on pin is refused as
            // same sex before any pair rule is asked.
            assert!(sheets.pair_rule(a, "pin", b, "socket").is_some(), "{a} on {b}");
        }
    }
}

#[test]
fn what_destroys_is_said_and_refused() {
    let sheets = Sheets::embedded().unwrap();
    let Some(PairRule::Row(row)) = sheets.pair_rule("n75", "socket", "n50", "pin") else { panic!("no row") };
    assert_eq!(row.rule, Rule::Never);
    assert!(row.destroys.as_deref().unwrap().contains("75 ohm socket"));
    let Some(PairRule::Row(row)) = sheets.pair_rule("3.5mm", "socket", "sma", "pin") else {
        panic!("no row")
    };
    assert_eq!(row.rule, Rule::AllowedIfGauged);
}

#[test]
fn every_interface_says_how_tight_or_that_it_takes_no_torque_or_that_nobody_knows() {
    let sheets = Sheets::embedded().unwrap();
    for sheet in sheets.interfaces() {
        let silent = sheet.torque.is_empty() && !sheet.no_torque;
        // No torque of 1.35 mm was found anywhere; the sheet stays silent and
        // the mate check says so.
        assert_eq!(silent, sheet.key == "1.35mm", "{}", sheet.key);
    }
}

#[test]
fn conflicting_torques_are_both_kept() {
    let sheets = Sheets::embedded().unwrap();
    let values: Vec<f64> = sheets.interface("3.5mm").unwrap().torque.iter().map(|t| t.value).collect();
    assert_eq!(values, [0.9, 1.5]);
}

/// 0.003 in is 76.2 µm exactly (closed form): the row was converted right.
#[test]
fn the_inch_rows_were_converted_right() {
    let sheets = Sheets::embedded().unwrap();
    let limit = &sheets.interface("sma").unwrap().pin_limit[0];
    assert!((limit.recessed_max - 0.003 * 25_400.0).abs() < 1e-9);
}

#[test]
fn names_as_people_write_them() {
    let sheets = Sheets::embedded().unwrap();
    for (text, key) in [
        ("3.5 mm", "3.5mm"),
        ("3,5mm", "3.5mm"),
        ("SMA", "sma"),
        ("Type N", "n50"),
        ("N 75 Ω", "n75"),
        ("n50", "n50"),
        ("2.4", "2.4mm"),
    ] {
        assert_eq!(sheets.find_interface(text), Lookup::Found(key.to_owned()), "{text}");
    }
    assert_eq!(sheets.find_interface("banana plug"), Lookup::Unknown);
}

#[test]
fn a_labs_own_value_counts_and_shows_what_it_replaces() {
    let own = "[policy]\ngauge_every_contacts = { value = 60, because = \"mostly SMA\" }\n\
               [interface.\"3.5mm\"]\ncoupling_torque = { value = 0.9, body = \"any\", because = \"our wrenches\" }\n";
    let sheets = Sheets::embedded().unwrap();
    let with = sheets.with_lab_file(own, "own.toml").unwrap();
    let value = &with.policy().gauge_every_contacts;
    assert_eq!((value.value, value.replaces, value.evidence), (60.0, Some(100.0), Evidence::Lab));
    assert_eq!(with.interface("3.5mm").unwrap().torque.len(), 1);
    assert_ne!(with.revision(), sheets.revision());
}

#[track_caller]
fn refused(own: &str, part: &str) {
    let error: SheetError = Sheets::embedded().unwrap().with_lab_file(own, "own.toml").unwrap_err();
    let text = error.to_string();
    assert!(text.contains("own.toml") && text.contains(part), "{text}");
}

#[test]
fn a_labs_own_file_with_a_slip_is_refused_with_its_place() {
    refused("[policy]\nreadings = { value = 3 }\n", "because");
    refused("[policy]\nreadings = { value = 3, because = \" \" }\n", "a reason");
    refused("[policy]\ncoffee = { value = 3, because = \"x\" }\n", "policy.coffee");
    refused("[policy]\nprotrusion_risk = { value = 0.7, because = \"x\" }\n", "less than 0.5");
    refused("[policy]\nreadings = { value = -3, because = \"x\" }\n", "above zero");
    refused("[interface.nope]\nrated_mates = { value = 3, because = \"x\" }\n", "interface.nope");
    refused("[[pair]]\na = \"sma\"\nb = \"nope\"\nrule = \"never\"\nbecause = \"x\"\n", "nope");
    refused("[[pair]]\na = \"sma\"\nb = \"bnc\"\nrule = \"sometimes\"\nbecause = \"x\"\n", "sometimes");
    refused("not toml", "own.toml");
}
