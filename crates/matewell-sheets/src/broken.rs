//! Broken data is refused, with the file and the field.

use crate::{
    SheetError, Sheets,
    embedded::FILES,
    parse::{self, Files},
};

fn load_with<'a>(change: impl FnOnce(&mut Files<'a>)) -> Result<Sheets, SheetError> {
    let mut files: Files<'a> = FILES;
    change(&mut files);
    parse::sheets(&files)
}

/// The SMA sheet with one text replaced by another.
#[track_caller]
fn sma(from: &str, to: &str, expected: &[&str]) {
    let (name, text) = FILES.interfaces[11];
    assert!(text.contains(from), "{name} does not contain {from}");
    let broken = text.replacen(from, to, 1);
    let mut interfaces = FILES.interfaces.to_vec();
    interfaces[11] = (name, &broken);
    refused(load_with(|files| files.interfaces = &interfaces), &["interfaces/sma.toml"], expected);
}

type File = (&'static str, &'static str);
type Pick = for<'a> fn(&'a mut Files<'static>) -> &'a mut File;

#[track_caller]
fn file(pick: Pick, from: &str, to: &str, expected: &[&str]) {
    let mut files = FILES;
    let slot = pick(&mut files);
    assert!(slot.1.contains(from), "{} does not contain {from}", slot.0);
    let name = slot.0;
    slot.1 = slot.1.replacen(from, to, 1).leak();
    refused(parse::sheets(&files), &[name], expected);
}

#[track_caller]
fn refused(result: Result<Sheets, SheetError>, names: &[&str], expected: &[&str]) {
    let text = result.unwrap_err().to_string();
    for part in names.iter().chain(expected) {
        assert!(text.contains(part), "expected {part:?} in: {text}");
    }
}

#[test]
fn a_number_without_its_origin_is_refused() {
    sma("unit = \"mm\", ", "", &["missing field `unit`"]);
    sma("source = \"iec-61169-15-2021\", ", "", &["missing field `source`"]);
    sma("locator = \"scope\", ", "", &["missing field `locator`"]);
    sma(", evidence = \"published\"", "", &["missing field `evidence`"]);
    sma(", revision = 1", "", &["missing field `revision`"]);
    sma("value = 4.13, ", "", &["missing field `value`"]);
    sma("locator = \"interface dimensions\"", "locator = \" \"", &["inner_diameter, locator", "nothing"]);
    sma("revision = 2", "revision = 0", &["pin_limit, pin, metrology, revision"]);
}

#[test]
fn a_word_or_key_that_the_form_does_not_know_is_refused() {
    sma("evidence = \"published\"", "evidence = \"certain\"", &["certain", "line"]);
    sma("neutral = false", "neutral = false\ncolour = \"gold\"", &["colour"]);
    sma("iec-61169-15-2021", "iec-61169-15-2031", &["source listed in sources.toml", "iec-61169-15-2031"]);
    sma("body = \"brass\"", "body = \"tin\"", &["torque, tin", "brass"]);
    sma("grade = \"metrology\"", "grade = \"best\"", &["pin_limit, pin, best, grade"]);
    sma("sex = \"socket\"", "sex = \"neutral\"", &["pin_limit, neutral", "one of pin, socket"]);
    sma("\"bent-finger\"", "\"sad-finger\"", &["look_for", "sad-finger"]);
    sma("quantity = \"permittivity\"", "quantity = \"colour\"", &["also, quantity", "colour"]);
}

#[test]
fn a_number_out_of_order_is_refused() {
    sma("value = 4.13", "value = -4.13", &["outer_diameter, value", "-4.13"]);
    sma("value = 4.13", "value = nan", &["outer_diameter, value", "NaN"]);
    sma("value = 4.13", "value = 1.0", &["inner_diameter", "less than the outer diameter"]);
    sma("unit = \"GHz\"", "unit = \"MHz\"", &["upper_frequency, unit", "MHz"]);
    sma(
        "recessed_max = 76.2",
        "recessed_max = 0.0",
        &["pin_limit, pin, metrology", "recessed_min < recessed_max"],
    );
    sma("recessed_min = 0.0", "recessed_min = -5.0", &["pin_limit, pin, metrology", "-5 to 76.2"]);
    sma("tolerance = 0.15", "tolerance = 1.5", &["torque, brass, tolerance"]);
    sma("unit = \"um\"", "unit = \"mil\"", &["pin_limit, pin, metrology, unit", "mil"]);
}

/// The grade must fit the way the work was seen.
#[test]
fn an_evidence_grade_that_the_source_cannot_carry_is_refused() {
    sma("evidence = \"from-memory\"", "evidence = \"published\"", &["inner_diameter, evidence", "memory"]);
    sma("evidence = \"from-memory\"", "evidence = \"common-practice\"", &["inner_diameter, evidence"]);
    sma("evidence = \"common-practice\"", "evidence = \"published\"", &["torque, brass, evidence"]);
    sma("evidence = \"published\"", "evidence = \"normative\"", &["thread, evidence", "normative"]);
    sma("evidence = \"published\"", "evidence = \"lab\"", &["thread, evidence", "lab"]);
}

#[test]
fn an_interface_without_torque_says_why() {
    let (name, text) = FILES.interfaces[8];
    let broken = text.replacen("torque_statement = \"Bayonet coupling: no torque.\"\n", "", 1);
    let mut interfaces = FILES.interfaces.to_vec();
    interfaces[8] = (name, &broken);
    refused(load_with(|files| files.interfaces = &interfaces), &[name], &["torque_statement", "neither"]);
}

#[test]
fn broken_pairs_are_refused() {
    let pairs: Pick = |f| &mut f.pairs;
    file(pairs, "b = \"3.5mm\"", "b = \"3.6mm\"", &["pair sma on 3.6mm", "3.6mm"]);
    file(pairs, "a_sex = \"pin\"", "a_sex = \"neutral\"", &["pair n50 on n75, sex of n50"]);
    file(pairs, "rule = \"never\"", "rule = \"rarely\"", &["rarely"]);
    file(pairs, "[\"bnc\"]", "[\"tnc\"]", &["apart, groups", "tnc in two"]);
    file(pairs, "[\"bnc\"]", "[\"bnx\"]", &["apart, groups", "bnx"]);
}

#[test]
fn broken_policy_cautions_procedures_and_sources_are_refused() {
    file(|f| &mut f.policy, "value = 0.025", "value = 0.5", &["policy.protrusion_risk", "less than 0.5"]);
    file(|f| &mut f.policy, "unit = \"d\"", "unit = \"week\"", &["policy.gauge_every_days, unit", "week"]);
    file(|f| &mut f.policy, "readings =", "reading =", &["reading"]);
    file(|f| &mut f.cautions, "\"mating\"", "\"dancing\"", &["rf-power, during", "dancing"]);
    file(|f| &mut f.procedures, "\"eyes\"", "\"nose\"", &["inspection, cautions", "nose"]);
    file(|f| &mut f.procedures, "makers-manuals-summary", "someone", &["order-of-work, source", "someone"]);
    file(|f| &mut f.sources, "seen = \"memory\"", "seen = \"heard\"", &["source memory, seen", "heard"]);
    file(|f| &mut f.sources, "key = \"own\"", "key = \"memory\"", &["memory", "each source once"]);
}

#[test]
fn a_torque_tool_without_edition_or_beyond_reason_is_refused() {
    let pick: Pick = |f| &mut f.torque_tools;
    file(pick, "edition = \"2017\"\n", "", &["missing field `edition`"]);
    file(pick, "up_to_border = 6.0", "up_to_border = 106.0", &["torque_tool I-A", "less than 100 %"]);
    file(pick, "border_unit = \"N.m\"", "border_unit = \"N\"", &["torque_tool I-A, border, unit"]);
    file(pick, "tool_type = \"I-B\"", "tool_type = \"I-A\"", &["each type once"]);
    file(pick, "evidence = \"from-memory\"", "evidence = \"normative\"", &["evidence"]);
}

#[test]
fn a_labs_own_permissible_deviation_takes_the_place_of_the_table() {
    let base = Sheets::embedded().unwrap();
    let own = "[torque_tool.\"II-B\"]\nup_to_border = 4.0\nbecause = \"read in the paper standard\"\n";
    let sheets = base.with_lab_file(own, "own.toml").unwrap();
    let row = sheets.torque_tool("ii-b").unwrap();
    assert_eq!((row.permissible_percent(0.9), row.permissible_percent(20.0)), (4.0, 4.0));
    assert_eq!((row.evidence.word(), row.source.as_str()), ("lab", "lab"));
    assert!(
        sheets.overrides()[0].before[0].contains("6 % to 10 N.m") && sheets.revision() != base.revision()
    );
    refused(
        base.with_lab_file(&own.replace("II-B", "II-X"), "own.toml"),
        &["own.toml"],
        &["line 1", "one of I-A", "II-X"],
    );
    refused(base.with_lab_file(&own.replace("4.0", "-4.0"), "own.toml"), &["own.toml"], &["above zero"]);
    refused(
        base.with_lab_file(&own.replace("read in the paper standard", ""), "own.toml"),
        &["own.toml"],
        &["a reason"],
    );
}
