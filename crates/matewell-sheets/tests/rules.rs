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
fn every_interface_says_how_tight_or_why_there_is_no_torque() {
    let sheets = Sheets::embedded().unwrap();
    let silent: Vec<&str> =
        sheets.interfaces().filter(|i| i.torque.is_empty()).map(|i| i.key.as_str()).collect();
    assert_eq!(silent, ["1.35mm", "bnc"]);
    for key in silent {
        assert!(sheets.interface(key).unwrap().torque_statement.is_some());
    }
}

/// The copy of IEEE 287-2007 against daily practice (`ieee-287-2007`, read on
/// a secondary page), and a tutorial against memory.
#[test]
fn conflicting_torques_are_both_kept_and_can_be_seen() {
    let sheets = Sheets::embedded().unwrap();
    let values: Vec<f64> = sheets.interface("3.5mm").unwrap().torque.iter().map(|t| t.value).collect();
    assert_eq!(values, [0.9, 1.5]);
    let mut keys: Vec<&str> = sheets.torque_conflicts().iter().map(|c| c.interface).collect();
    keys.dedup();
    assert_eq!(keys, ["3.5mm", "7-16"]);
    let settled = "[interface.\"3.5mm\"]\n\
        coupling_torque = { value = 0.9, body = \"stainless\", because = \"ours\" }\n";
    let settled = sheets.with_lab_file(settled, "own.toml").unwrap();
    let open: Vec<&str> =
        settled.torque_conflicts().iter().filter(|c| c.interface == "3.5mm").map(|c| c.body).collect();
    assert_eq!(open, ["brass", "beryllium-copper", "circuit-board", "unknown"]);
}

/// Ends with one thread can be screwed together, so each such pair needs a
/// row of its own and may not be covered by "couplings differ".
#[test]
fn interfaces_that_share_a_thread_have_a_row_of_their_own() {
    let sheets = Sheets::embedded().unwrap();
    let all: Vec<_> = sheets.interfaces().collect();
    let mut shared = Vec::new();
    for (at, a) in all.iter().enumerate() {
        for b in all.iter().skip(at + 1).filter(|b| b.thread.value == a.thread.value) {
            for (a_sex, b_sex) in [("pin", "socket"), ("socket", "pin")] {
                let Some(PairRule::Row(row)) = sheets.pair_rule(&a.key, a_sex, &b.key, b_sex) else {
                    panic!("{} on {}: no row", a.key, b.key)
                };
                assert!(!row.text.contains("couplings differ"), "{} on {}", a.key, b.key);
            }
            shared.push((a.key.as_str(), b.key.as_str()));
        }
    }
    assert_eq!(
        shared,
        [("1.85mm", "2.4mm"), ("2.92mm", "3.5mm"), ("2.92mm", "sma"), ("3.5mm", "sma"), ("n50", "n75")]
    );
}

#[test]
fn what_is_not_stated_has_no_rule() {
    let sheets = Sheets::embedded().unwrap();
    assert_eq!(sheets.pair_rule("sma", "pin", "optical", "socket"), None);
    let Some(PairRule::Row(row)) = sheets.pair_rule("7-16", "pin", "1.0mm", "socket") else {
        panic!("no row")
    };
    assert_eq!((row.rule, row.locator.as_str()), (Rule::Never, "different couplings, no source"));
}

#[test]
fn an_interface_meets_itself_and_tnc_variants_are_gauged_first() {
    let sheets = Sheets::embedded().unwrap();
    assert_eq!(sheets.pair_rule("n50", "pin", "n50", "socket"), Some(PairRule::SameInterface));
    assert_eq!(sheets.pair_rule("7mm", "neutral", "7mm", "neutral"), Some(PairRule::SameInterface));
    let Some(PairRule::Row(row)) = sheets.pair_rule("tnc", "pin", "tnc", "socket") else { panic!("no row") };
    assert_eq!(row.rule, Rule::AllowedIfGauged);
}

#[test]
fn limits_are_found_by_sex_and_grade() {
    let sheets = Sheets::embedded().unwrap();
    let limits = sheets.pin_limits("sma", "socket", "metrology");
    assert_eq!((limits.len(), limits[0].evidence), (1, Evidence::Published));
    assert_eq!(sheets.dielectric_limits("sma", "pin", "metrology").len(), 1);
    assert!(sheets.pin_limits("1.35mm", "pin", "metrology").is_empty());
    assert!(sheets.pin_limits("sma", "pin", "unknown").is_empty());
    // Every pin position limit but that of the SMA test grade is remembered.
    for sheet in sheets.interfaces() {
        for limit in sheet.pin_limit.iter().filter(|l| l.evidence != Evidence::FromMemory) {
            assert_eq!((sheet.key.as_str(), limit.grade.as_str()), ("sma", "metrology"));
        }
    }
}

#[test]
fn type_n_says_its_datum_for_pin_and_socket_apart() {
    let sheets = Sheets::embedded().unwrap();
    for key in ["n50", "n75"] {
        let sheet = sheets.interface(key).unwrap();
        for limit in &sheet.pin_limit {
            let side = if limit.sex == "pin" { "5.258 mm behind" } else { "5.258 mm in front" };
            assert!(limit.plane.contains(side), "{key} {}", limit.plane);
        }
    }
}

#[test]
fn every_caution_and_procedure_is_reachable() {
    let sheets = Sheets::embedded().unwrap();
    for code in ["rf-power", "static", "bias", "solvent", "gas", "beryllium-copper", "eyes", "mass"] {
        assert!(sheets.caution(code).is_some(), "{code}");
    }
    for key in ["order-of-work", "inspection", "cleaning", "gauging", "mating", "parting", "damage-found"] {
        assert!(sheets.procedure(key).is_some(), "{key}");
    }
    assert_eq!(sheets.procedure("order-of-work").unwrap().steps, ["Look", "Clean", "Look again", "Gauge"]);
    let cleaning: Vec<&str> = sheets.cautions_during("cleaning").iter().map(|c| c.code.as_str()).collect();
    assert!(cleaning.contains(&"solvent") && cleaning.contains(&"gas") && cleaning.contains(&"eyes"));
    // Normal wear is no damage: no word is in both lists.
    let wear = &sheets.words("normal-wear").unwrap().list;
    assert!(sheets.words("damage").unwrap().list.iter().all(|w| !wear.contains(w)));
}

/// 0.003 in is 76.2 µm exactly (closed form): the row was converted right.
#[test]
fn the_inch_rows_were_converted_right() {
    let sheets = Sheets::embedded().unwrap();
    let limit = &sheets.interface("sma").unwrap().pin_limit[0];
    assert!((limit.recessed_max - 0.003 * 25_400.0).abs() < 1e-9);
    let dielectric = &sheets.interface("sma").unwrap().dielectric_limit[0];
    assert!((dielectric.recessed_max - 0.002 * 25_400.0).abs() < 1e-9);
    // Type N, general grade: shoulder 0.208 to 0.230 in and finger tip 0.187
    // to 0.207 in, both against the datum 0.207 in.
    let n = sheets.pin_limits("n50", "pin", "production")[0];
    assert!((n.recessed_min - (0.208 - 0.207) * 25_400.0).abs() < 1e-6);
    assert!((n.recessed_max - (0.230 - 0.207) * 25_400.0).abs() < 1e-6);
    let n = sheets.pin_limits("n50", "socket", "production")[0];
    assert!((n.recessed_max - (0.207 - 0.187) * 25_400.0).abs() < 1e-6);
}

/// 8 in.lbf is 0.9039 N.m (closed form, `nist-sp811-2008`): the row in N.m is
/// the same wrench to half a per cent.
#[test]
fn the_notes_in_inch_pounds_agree_with_the_rows() {
    let sheets = Sheets::embedded().unwrap();
    let mut seen = 0;
    for sheet in sheets.interfaces() {
        for row in &sheet.torque {
            let Some(inch_pounds) = row
                .note
                .as_deref()
                .and_then(|n| n.split_once(" in.lbf"))
                .and_then(|(n, _)| n.parse::<f64>().ok())
            else {
                continue;
            };
            let torque = matewell_quantity::Torque::from_inch_pounds_force(inch_pounds).unwrap();
            let off = torque.newton_metres() / row.value - 1.0;
            // 5 in.lbf is 0.5649 and the trade writes 0.56: 0.9 %.
            assert!(off.abs() < 0.01, "{} {off}", sheet.key);
            seen += 1;
        }
    }
    assert!(seen >= 8, "{seen}");
}

#[test]
fn names_as_people_write_them() {
    let sheets = Sheets::embedded().unwrap();
    for (text, key) in [
        ("3.5 mm", "3.5mm"),
        ("3,5mm", "3.5mm"),
        ("SMA", "sma"),
        ("Type N 50", "n50"),
        ("N 75 Ω", "n75"),
        ("n50", "n50"),
        ("2.4", "2.4mm"),
    ] {
        assert_eq!(sheets.find_interface(text), Lookup::Found(key.to_owned()), "{text}");
    }
    for text in ["banana plug", "RP-SMA", "75 ohm BNC", ""] {
        assert_eq!(sheets.find_interface(text), Lookup::Unknown, "{text}");
    }
}

/// A 50 ohm pin ruins a 75 ohm socket, so the impedance is never guessed.
#[test]
fn type_n_without_an_impedance_means_two_interfaces() {
    let sheets = Sheets::embedded().unwrap();
    for text in ["N", "type n", "N-Type"] {
        let both = Lookup::Ambiguous(vec!["n50".to_owned(), "n75".to_owned()]);
        assert_eq!(sheets.find_interface(text), both, "{text}");
    }
}

#[test]
fn no_name_means_two_interfaces_except_type_n() {
    let sheets = Sheets::embedded().unwrap();
    for sheet in sheets.interfaces() {
        for text in sheet.aliases.iter().chain([&sheet.key, &sheet.name]) {
            match sheets.find_interface(text) {
                Lookup::Found(key) => assert_eq!(key, sheet.key, "{text}"),
                Lookup::Ambiguous(keys) => assert_eq!(keys, ["n50", "n75"], "{text}"),
                Lookup::Unknown => panic!("{text} is lost"),
            }
        }
    }
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
    let [policy, torque] = with.overrides() else { panic!("{:?}", with.overrides()) };
    assert_eq!((policy.place.as_str(), policy.now.as_str()), ("policy.gauge_every_contacts", "60 1"));
    assert!(policy.before[0].starts_with("100 1 (makers-manuals-summary"), "{:?}", policy.before);
    assert!(torque.before.len() == 2 && torque.before[1].contains("ieee-287-2007"), "{:?}", torque.before);
}

/// A torque for one body leaves the other bodies as they were.
#[test]
fn a_torque_for_one_body_leaves_the_others() {
    let sheets = Sheets::embedded().unwrap();
    let own =
        "[interface.n50]\ncoupling_torque = { value = 1.1, body = \"brass\", because = \"old stock\" }\n";
    let with = sheets.with_lab_file(own, "own.toml").unwrap();
    let values = |sheets: &Sheets, body: &str| -> Vec<f64> {
        sheets.coupling_torques("n50", body).iter().map(|r| r.value).collect()
    };
    assert_eq!(values(&with, "brass"), [1.1]);
    for body in ["stainless", "beryllium-copper", "circuit-board", "unknown"] {
        assert_eq!(values(&with, body), values(&sheets, body), "{body}");
    }
}

#[test]
fn a_labs_limit_replaces_one_row_and_keeps_its_plane() {
    let sheets = Sheets::embedded().unwrap();
    let own = "[interface.n50]\npin_limit = [{ sex = \"socket\", grade = \"instrument\", recessed_min = 0, \
               recessed_max = 60, because = \"certificate\" }]\n";
    let with = sheets.with_lab_file(own, "own.toml").unwrap();
    let [limit] = with.pin_limits("n50", "socket", "instrument")[..] else { panic!("not one") };
    assert_eq!((limit.recessed_max, limit.evidence), (60.0, Evidence::Lab));
    assert!(limit.plane.contains("in front"), "{}", limit.plane);
    assert!(with.overrides()[0].before[0].contains("76"), "{:?}", with.overrides());
    assert_eq!(with.pin_limits("n50", "pin", "instrument"), sheets.pin_limits("n50", "pin", "instrument"));
}

/// A lab may overrule "never", and what the pair destroys stays in sight.
#[test]
fn a_labs_pair_row_comes_first_and_keeps_what_the_pair_destroys() {
    let own = "[[pair]]\na = \"n50\"\na_sex = \"pin\"\nb = \"n75\"\nb_sex = \"socket\"\nrule = \"by-waiver\"\nbecause = \"scrap\"\n";
    let with = Sheets::embedded().unwrap().with_lab_file(own, "own.toml").unwrap();
    let Some(PairRule::Row(row)) = with.pair_rule("n75", "socket", "n50", "pin") else { panic!("no row") };
    assert_eq!((row.rule, row.destroys.as_deref()), (Rule::ByWaiver, Some("the 75 ohm socket")));
    assert!(with.overrides()[0].before[0].starts_with("never: "), "{:?}", with.overrides());
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
    refused("[policy]\ncoffee = { value = 3, because = \"x\" }\n", "coffee");
    refused("[policy]\n\ncoffee = { value = 3, because = \"x\" }\n", "line 3");
    refused("[policy]\nprotrusion_risk = { value = 0.7, because = \"x\" }\n", "less than 0.5");
    refused("[policy]\nreadings = { value = -3, because = \"x\" }\n", "above zero");
    refused("[interface.nope]\nrated_mates = { value = 3, because = \"x\" }\n", "interface.nope");
    refused("[[pair]]\na = \"sma\"\nb = \"nope\"\nrule = \"never\"\nbecause = \"x\"\n", "nope");
    refused("[[pair]]\na = \"sma\"\nb = \"bnc\"\nrule = \"sometimes\"\nbecause = \"x\"\n", "sometimes");
    refused("\n[interface.nope]\nrated_mates = { value = 3, because = \"x\" }\n", "line 2");
    refused("[interface.sma]\nfrequency = { value = 3, because = \"x\" }\n", "frequency");
    refused("[interface.sma]\nimpedance = { value = 3, because = \"x\" }\n", "impedance");
    refused("[interface.sma]\ncoupling_torque = { value = 3, body = \"gold\", because = \"x\" }\n", "gold");
    let limit = |lo: &str, hi: &str, sex: &str| {
        format!(
            "[interface.sma]\npin_limit = [{{ sex = \"{sex}\", grade = \"instrument\", recessed_min = {lo}, \
             recessed_max = {hi}, because = \"x\" }}]\n"
        )
    };
    refused(&limit("50", "0", "pin"), "recessed_min < recessed_max");
    refused(&limit("-50", "0", "pin"), "recessed_min < recessed_max");
    refused(&limit("0", "nan", "pin"), "recessed_min < recessed_max");
    refused(&limit("0", "50", "neutral"), "one of pin, socket");
    refused(
        "[[pair]]\na = \"sma\"\na_sex = \"left\"\nb = \"bnc\"\nrule = \"never\"\nbecause = \"x\"\n",
        "left",
    );
    refused("not toml", "own.toml");
}

/// The example of the data's read-me is a file a lab can use.
#[test]
fn the_example_in_the_read_me_loads() {
    let readme = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/README.md"));
    let example = readme.split("```toml").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    let with = Sheets::embedded().unwrap().with_lab_file(example, "example.toml").unwrap();
    assert_eq!(with.overrides().len(), 6);
    let Some(PairRule::Row(row)) = with.pair_rule("tnc", "pin", "tnc", "socket") else { panic!("no row") };
    assert_eq!((row.rule, row.evidence), (Rule::Allowed, Evidence::Lab));
}
