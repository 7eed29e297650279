//! `matewell line …` and its route: the same bytes, and values from outside.
//!
//! "mpmath", "scikit-rf": stored in `crosscheck/line/values.csv` with versions
//! and script.

#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use assert_cmd::Command;
use axum::{body::Body, http::Request};
use matewell_app::{UuidV7, Workshop};
use matewell_http::{AppState, router};
use matewell_lab::Moment;
use serde_json::Value;
use tower::ServiceExt;

fn run(arguments: &[&str]) -> std::process::Output {
    // A folder of its own, so that no lab's file beside the test is read.
    let folder = tempfile::tempdir().unwrap();
    let output = Command::cargo_bin("matewell")
        .unwrap()
        .env_clear()
        .current_dir(folder.path())
        .arg("line")
        .args(arguments)
        .output()
        .unwrap();
    let made: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert!(made.is_empty(), "physics made a file: {made:?}");
    output
}

fn text(arguments: &[&str]) -> String {
    let output = run(arguments);
    String::from_utf8(output.stdout).unwrap()
}

#[track_caller]
fn json(arguments: &[&str]) -> Value {
    let mut all = arguments.to_vec();
    all.push("--json");
    let output = run(&all);
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&output.stderr)))
}

/// Compares to half of the last printed digit.
#[track_caller]
fn check(arguments: &[&str], key: &str, scale: f64, printed: &str) {
    let answer = json(arguments);
    let found = answer[key].as_f64().unwrap_or_else(|| panic!("no {key} in {answer}")) / scale;
    let decimals = printed.split_once('.').map_or(0, |(_, d)| d.len());
    let half = 0.5 * 10f64.powi(-i32::try_from(decimals).unwrap());
    let expected: f64 = printed.parse().unwrap();
    assert!((found - expected).abs() <= half * 1.001, "{key}: expected {printed}, found {found}");
}

fn codes(answer: &Value) -> Vec<&str> {
    answer["findings"].as_array().unwrap().iter().map(|f| f["code"].as_str().unwrap()).collect()
}

#[test]
fn lines_agree_with_mpmath_and_the_closed_form() {
    let line = ["--outer", "3.5mm", "--inner", "1.52mm"];
    let with = |first: &'static str, more: &[&'static str]| [&[first][..], &line, more].concat();
    check(&with("impedance", &[]), "impedance_ohm", 1.0, "50.008537821");
    check(&with("impedance", &["--permittivity", "1.000649"]), "impedance_ohm", 1.0, "49.9923179454");
    check(&with("impedance", &["--permittivity", "air"]), "impedance_ohm", 1.0, "49.9923179454");
    check(&with("cutoff", &[]), "te11_cutoff_hz", 1e9, "38.808702340");
    check(&with("offcentre", &["--offset", "100um"]), "off_centre_impedance_ohm", 1.0, "49.766531666");
}

#[test]
fn gaps_and_recesses_agree_with_scikit_rf() {
    // The stored value is of exactly 50 ohm: 3.5 mm over 2.302 303 717 84.
    let inner = "1.520216456621mm";
    let gap = ["gap", "--interface", "3.5mm", "--inner", inner, "--gap", "25um", "--at", "26.5GHz"];
    check(&gap, "reflection_magnitude", 1.0, "0.00420985742");
    check(&gap, "reflection_magnitude_upper", 1.0, "0.00670258496");
    let recess = [
        "recess",
        "--outer",
        "4.13mm",
        "--inner",
        "1.27mm",
        "--permittivity",
        "2.02",
        "--recess",
        "100um",
        "--at",
        "18GHz",
    ];
    check(&recess, "reflection_magnitude", 1.0, "0.0135326663");
}

#[test]
fn loss_agrees_with_scikit_rf() {
    let loss = ["loss", "--outer", "3.5mm", "--inner", "1.52mm", "--conductivity", "13MS/m", "--at", "1GHz"];
    // DIFFERENCE: printed to seven digits; scikit-rf adds the surface impedance
    // of a flat conductor, so only the first four are shared.
    let found = json(&loss)["attenuation_db_per_m"].as_f64().unwrap();
    assert!((found - 0.454_174_2).abs() < 5e-5, "{found}");
}

/// Closed forms.
#[test]
fn matches_convert_and_chains_add() {
    check(&["convert", "--vswr", "1.1"], "return_loss_db", 1.0, "26.4443859");
    check(&["convert", "--return-loss", "10dB"], "mismatch_loss_db", 1.0, "0.457574906");
    check(&["convert", "--magnitude", "0.1"], "vswr", 1.0, "1.22222222");
    // |75 − 50|/(75 + 50).
    check(&["convert", "--impedance", "75ohm"], "reflection_magnitude", 1.0, "0.2");
    let chain = ["chain", "--links", "0.02:0.1dB 0.03:0.2dB 0.05", "--phases-independent", "yes"];
    check(&chain, "reflection_magnitude_worst", 1.0, "0.0959798317");
    check(&chain, "reflection_magnitude_root_sum_square", 1.0, "0.0586250996");
    let mismatch = ["mismatch", "--source", "0.1", "--load", "0.1"];
    // √2 · 0.1 · 0.1: harris-warner-1981, from memory.
    check(&mismatch, "u_power_ratio", 1.0, "0.014142136");
    // 20 lg(1 − 0.0002).
    check(&["mismatch", "--source", "0.02", "--load", "0.01"], "interaction_lower_db", 1.0, "-0.00173735");
    let shift = ["shift", "--length", "10um", "--at", "26.5GHz"];
    check(&shift, "reflection_phase_deg", 1.0, "0.636440294");
}

/// `(1 + |Γ_d|)² |Γ_j|/√2` with |Γ_j| = 0.01, |Γ_d| = 0.1: closed form.
#[test]
fn a_joint_becomes_a_budget_line() {
    let cost = [
        "cost",
        "--measurand",
        "reflection",
        "--joint-reflection",
        "0.01",
        "--device",
        "0.1",
        "--wanted",
        "0.02",
    ];
    check(&cost, "standard_uncertainty", 1.0, "0.008556");
    let answer = json(&cost);
    assert_eq!(answer["distribution"], "arcsine");
    assert!(answer["degrees_of_freedom"].is_null());
    let gap = [
        "cost",
        "--measurand",
        "transmission",
        "--interface",
        "3.5mm",
        "--inner",
        "1.520216456621mm",
        "--gap",
        "25um",
        "--at",
        "26.5GHz",
        "--device",
        "0.1",
    ];
    // The half-width carries the model's 15 %/√3 in quadrature.
    let half = 0.004_209_857_42 * (1.0 + 0.15f64.powi(2) / 3.0).sqrt();
    let found = json(&gap)["half_width"].as_f64().unwrap();
    assert!((found - half).abs() < 1e-8, "{found} {half}");
}

#[test]
fn usable_up_to_stops_at_need_rating_or_cutoff() {
    let with =
        |need: &'static str| json(&["usable", "--interface", "3.5mm", "--gap", "60um", "--need", need]);
    let by_need = with("0.005");
    assert_eq!(by_need["limited_by"], "need");
    // |Γ| there is the need, to the tolerance of the root.
    assert!((by_need["reflection_magnitude"].as_f64().unwrap() - 0.005).abs() < 1e-9, "{by_need}");
    let by_rating = with("0.5");
    assert_eq!(by_rating["limited_by"], "rated");
    assert_eq!(by_rating["usable_up_to_hz"], 26.5e9);
    // Without a need the lab's policy is used and named.
    let policy = json(&["usable", "--interface", "3.5mm", "--gap", "60um"]);
    assert!(policy["inputs"].to_string().contains("a joint may add"), "{policy}");
}

/// Closed forms; air by the refractivity formula of `itu-r-p453`, from memory:
/// the room's published checks hold the digits.
#[test]
fn warmth_weather_and_slots_have_their_numbers() {
    let thermal = [
        "thermal",
        "--outer-length",
        "8mm",
        "--outer-expansion",
        "17.3ppm/K",
        "--inner-length",
        "8mm",
        "--inner-expansion",
        "16.7ppm/K",
        "--rise",
        "10K",
        "--u-rise",
        "1K",
        "--gap",
        "0.02um",
        "--u-gap",
        "0.06um",
    ];
    // 8 mm · 0.6e-6/K · 10 K.
    check(&thermal, "gap_change_um", 1.0, "0.0480");
    check(&thermal, "u_gap_change_um", 1.0, "0.0048");
    assert!(codes(&json(&thermal)).contains(&"pins-may-touch"));
    let cooled = [&thermal[..10], &["-10K", "--gap", "0.04um"]].concat();
    assert!(codes(&json(&cooled)).contains(&"pins-would-touch"));
    let air = ["air", "--temperature", "23degC", "--pressure", "1013.25hPa", "--humidity", "50%"];
    check(&air, "relative_permittivity", 1.0, "1.000651");
    // (eta0/2pi)/pi^2 · 4 · (0.2/1.52)^2.
    let slots = ["slots", "--interface", "3.5mm", "--slots", "4", "--slot-width", "0.2mm"];
    check(&slots, "impedance_change_ohm", 1.0, "0.42071");
    check(&slots, "reflection_magnitude", 1.0, "0.0042064");
}

#[test]
fn the_interfaces_of_the_sheets_are_listed_with_their_sources() {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::cargo_bin("matewell")
        .unwrap()
        .env_clear()
        .current_dir(folder.path())
        .args(["interfaces", "--json"])
        .output()
        .unwrap();
    let list: Value = serde_json::from_slice(&output.stdout).unwrap();
    let interfaces = list["interfaces"].as_array().unwrap();
    assert_eq!(interfaces.len(), 13);
    for interface in interfaces {
        for number in interface["numbers"].as_array().unwrap() {
            assert!(!number["origin"]["source"].as_str().unwrap().is_empty(), "{number}");
            assert!(!number["unit"].as_str().unwrap().is_empty(), "{number}");
        }
    }
    let has_gap = |name: &str| {
        interfaces.iter().find(|i| i["interface"] == name).unwrap()["has_gap_dimensions"].as_bool().unwrap()
    };
    assert!(has_gap("3.5mm") && !has_gap("bnc"));
}

#[test]
fn every_input_may_carry_an_uncertainty() {
    // dZ/dd = −39.446 mΩ/µm: closed form −K/d.
    let answer = json(&["impedance", "--outer", "3.5mm", "--inner", "1.52mm", "--u-inner", "2um"]);
    let u = answer["u_impedance_ohm"].as_f64().unwrap();
    assert!((u - 0.078_892).abs() < 2e-6, "{u}");
    assert!((answer["inner_sensitivity_ohm_per_um"].as_f64().unwrap() + 0.039_446).abs() < 5e-7);
    // A gap that is not clear of zero is simulated, and says so.
    let tight = json(&["gap", "--interface", "3.5mm", "--gap", "6um", "--u-gap", "4um", "--at", "18GHz"]);
    assert_eq!(tight["uncertainty_by"], "monte-carlo");
    assert!(codes(&tight).contains(&"first-order-fails"), "{tight}");
    assert!(tight["reflection_magnitude_low_95"].as_f64().unwrap() >= 0.0);
}

#[test]
fn what_was_used_is_said_with_units_and_evidence() {
    let answer = json(&["gap", "--interface", "3.5mm", "--gap", "60um", "--u-gap", "2um", "--at", "18GHz"]);
    assert_eq!(answer["question"], "gap");
    assert!(codes(&answer).contains(&"dimensions-from-memory"), "{answer}");
    let inputs = answer["inputs"].as_array().unwrap();
    let input = |name: &str| inputs.iter().find(|i| i["name"] == name).unwrap();
    assert_eq!(input("gap")["value"], 60.0);
    assert_eq!(input("gap")["unit"], "um");
    assert_eq!(input("gap")["standard_uncertainty"], 2.0);
    assert_eq!(input("pin")["value"], 0.927);
    assert_eq!(input("pin")["origin"]["evidence"], "from memory");
    assert_eq!(input("at")["value"], 18e9);
    assert!(!answer["model"].as_str().unwrap().is_empty() && !answer["source"].as_str().unwrap().is_empty());
}

#[test]
fn a_number_outside_validity_is_never_silent() {
    let above = ["gap", "--interface", "3.5mm", "--gap", "60um", "--at", "40GHz", "--json"];
    let output = run(&above);
    assert_eq!(output.status.code(), Some(3));
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert!(codes(&answer).contains(&"above-te11") && codes(&answer).contains(&"above-rated"), "{answer}");
    let negative = json(&["gap", "--interface", "3.5mm", "--gap", "-5um", "--at", "18GHz"]);
    assert!(codes(&negative).contains(&"pins-interfere"), "{negative}");
    // The sheets know no outer diameter of BNC: no number at all.
    let unknown = ["gap", "--interface", "bnc", "--gap", "60um", "--at", "1GHz", "--json"];
    let output = run(&unknown);
    assert_eq!(output.status.code(), Some(3));
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(codes(&answer).last(), Some(&"unknown-dimension"));
    assert!(answer.get("reflection_magnitude").is_none(), "{answer}");
    // The same interface with its diameters typed has one.
    let typed = [
        "gap",
        "--interface",
        "bnc",
        "--outer",
        "7mm",
        "--inner",
        "3.04mm",
        "--pin",
        "1.65mm",
        "--gap",
        "60um",
        "--at",
        "1GHz",
    ];
    assert!(json(&typed)["reflection_magnitude"].as_f64().unwrap() > 0.0);
}

#[track_caller]
fn refused(arguments: &[&str], says: &[&str]) {
    let output = run(arguments);
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{error}");
    assert!(output.stdout.is_empty());
    for part in says {
        assert!(error.contains(part), "expected \"{part}\" in: {error}");
    }
}

#[test]
fn bad_input_says_what_was_expected_and_found() {
    refused(&["gap", "--interface", "3.5mm", "--gap", "60", "--at", "18GHz"], &["gap:", "unit after 60"]);
    refused(&["gap", "--interface", "3.5mm", "--gap", "60GHz", "--at", "18GHz"], &["units", "\"GHz\""]);
    refused(&["gap", "--interface", "4mm", "--gap", "60um", "--at", "18GHz"], &["3.5mm", "\"4mm\""]);
    refused(&["gap", "--interface", "3.5mm", "--at", "18GHz"], &["--gap"]);
    refused(&["gap", "--interface", "3.5mm", "--gap", "60um"], &["frequency such as 18GHz"]);
    refused(&["gap", "--interface", "3.5mm", "--gap", "60um", "--at", "0Hz"], &["above zero"]);
    refused(&["impedance", "--outer", "3.5mm"], &["inner:", "1.52mm"]);
    refused(&["impedance", "--outer", "1mm", "--inner", "2mm"], &["inner < outer", "2000"]);
    refused(
        &["impedance", "--outer", "3.5mm", "--inner", "1.52mm", "--permittivity", "0.5"],
        &["one or more", "0.5"],
    );
    refused(&["impedance", "--outer", "3.5mm", "--inner", "1.52mm", "--u-inner", "-2um"], &["inner:"]);
    refused(&["convert"], &["expected one of", "found 0"]);
    refused(&["convert", "--vswr", "0.9"], &["VSWR", "0.9"]);
    refused(&["convert", "--return-loss", "20"], &["dB", "\"20\""]);
    refused(&["recess", "--interface", "3.5mm", "--recess", "50um", "--at", "18GHz"], &["filled line"]);
    let warm = ["thermal", "--outer-length", "8mm", "--outer-expansion", "17.3", "--inner-length", "8mm"];
    refused(
        &[&warm[..], &["--inner-expansion", "16ppm/K", "--rise", "10K"]].concat(),
        &["outer_expansion:", "ppm/K", "\"17.3\""],
    );
    refused(
        &["air", "--temperature", "23degC", "--pressure", "1013hPa", "--humidity", "150%"],
        &["between 0 and 1", "1.5"],
    );
    refused(
        &["slots", "--interface", "3.5mm", "--slots", "2.5", "--slot-width", "0.2mm"],
        &["slots:", "whole number", "2.5"],
    );
    refused(
        &["offcentre", "--interface", "3.5mm", "--offset", "40um", "--sweep", "1GHz:2GHz:5"],
        &["length:", "found nothing"],
    );
    refused(&["mismatch", "--source", "0.1", "--load", "x"], &["load:", "\"x\""]);
    refused(&["loss", "--interface", "3.5mm", "--conductivity", "16", "--at", "18GHz"], &["MS/m", "\"16\""]);
    let sweep = |text| ["gap", "--interface", "3.5mm", "--gap", "60um", "--sweep", text];
    refused(&sweep("1GHz"), &["FROM:TO:POINTS", "\"1GHz\""]);
    refused(&sweep("2GHz:1GHz:10"), &["sweep:", "above zero"]);
    refused(&sweep("1GHz:2GHz:1000000"), &["at most 2001"]);
    refused(
        &["gap", "--interface", "3.5mm", "--gap", "60um", "--at", "18GHz", "--svg", "-"],
        &["expected a sweep"],
    );
}

#[test]
fn a_sweep_gives_a_table_that_ends_below_the_cutoff() {
    let answer =
        json(&["gap", "--interface", "3.5mm", "--gap", "60um", "--at", "18GHz", "--sweep", "2GHz:50GHz:25"]);
    let rows = answer["sweep"]["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 19, "2 to 38 GHz in steps of 2");
    assert!(codes(&answer).contains(&"sweep-ends-at-cutoff"));
    assert_eq!(answer["sweep"]["columns"][0], "frequency_hz");
    // The table and the number are one formula.
    let at_18 = rows.iter().find(|r| r[0].as_f64() == Some(18e9)).unwrap();
    let (row, number) = (at_18[1].as_f64().unwrap(), answer["reflection_magnitude"].as_f64().unwrap());
    assert!((row - number).abs() < 1e-15, "{row} {number}");
}

#[test]
fn a_sweep_gives_a_picture() {
    let sweep = ["gap", "--interface", "3.5mm", "--gap", "60um", "--sweep", "1GHz:26.5GHz:50", "--svg", "-"];
    let svg = text(&sweep);
    assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
    assert!(svg.contains("<title id=\"title\">") && svg.contains("<desc id=\"desc\">predicted: "));
    assert!(svg.contains(">upper bound</text>") && svg.contains("stroke-dasharray=\"8 4\""));
    assert!(!svg.contains("NaN"));
}

#[test]
fn a_person_reads_value_uncertainty_and_findings() {
    let shown = text(&["gap", "--interface", "3.5mm", "--gap", "60um", "--at", "18GHz"]);
    for part in
        ["reflection magnitude", "(u = ", "te11 cutoff", "38.8087 GHz", "from memory", "model:", "source:"]
    {
        assert!(shown.contains(part), "expected \"{part}\" in: {shown}");
    }
}

async fn get(path: &str) -> (u16, String, Vec<u8>) {
    let shop = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
    let app = router(AppState::new(shop, || Moment::from_microseconds(0)));
    let request = Request::get(path).header("host", "localhost").body(Body::empty()).unwrap();
    let response = app.oneshot(request).await.unwrap();
    let status = response.status().as_u16();
    let kind = response.headers()["content-type"].to_str().unwrap().to_owned();
    (status, kind, axum::body::to_bytes(response.into_body(), 1 << 24).await.unwrap().to_vec())
}

#[tokio::test]
async fn both_doors_give_the_same_bytes() {
    let pairs = [
        (
            "impedance?outer=3.5mm&inner=1.52mm&u_inner=2um",
            "impedance --outer 3.5mm --inner 1.52mm --u-inner 2um",
        ),
        ("cutoff?interface=2.4mm", "cutoff --interface 2.4mm"),
        (
            "gap?interface=3.5mm&gap=6um&u_gap=4um&at=18GHz&sweep=1GHz:20GHz:7",
            "gap --interface 3.5mm --gap 6um --u-gap 4um --at 18GHz --sweep 1GHz:20GHz:7",
        ),
        (
            "offcentre?interface=3.5mm&offset=40um&length=2mm&at=18GHz",
            "offcentre --interface 3.5mm --offset 40um --length 2mm --at 18GHz",
        ),
        (
            "loss?interface=n50&conductivity=16MS/m&at=10GHz",
            "loss --interface n50 --conductivity 16MS/m --at 10GHz",
        ),
        (
            "mismatch?source=0.1&load=0.05&load_known=disc",
            "mismatch --source 0.1 --load 0.05 --load-known disc",
        ),
        ("chain?links=0.02:0.3dB", "chain --links 0.02:0.3dB"),
        ("convert?return_loss=26dB&u=1dB", "convert --return-loss 26dB --u 1dB"),
        ("recess?interface=sma&recess=100um&at=18GHz", "recess --interface sma --recess 100um --at 18GHz"),
        (
            "step?interface=3.5mm&other_interface=2.92mm&at=10GHz",
            "step --interface 3.5mm --other-interface 2.92mm --at 10GHz",
        ),
        ("shift?length=100um&at=18GHz", "shift --length 100um --at 18GHz"),
        ("usable?interface=3.5mm&gap=60um&u_gap=3um", "usable --interface 3.5mm --gap 60um --u-gap 3um"),
        (
            "cost?measurand=transmission&interface=3.5mm&gap=60um&at=18GHz&device=0.1&wanted=0.01dB",
            "cost --measurand transmission --interface 3.5mm --gap 60um --at 18GHz --device 0.1 --wanted 0.01dB",
        ),
        ("gap?interface=bnc&gap=60um&at=1GHz", "gap --interface bnc --gap 60um --at 1GHz"),
        (
            "thermal?outer_length=8mm&outer_expansion=17.3ppm/K&inner_length=8mm&inner_expansion=16.7ppm/K&rise=10K&u_rise=1K",
            "thermal --outer-length 8mm --outer-expansion 17.3ppm/K --inner-length 8mm --inner-expansion 16.7ppm/K --rise 10K --u-rise 1K",
        ),
        (
            "air?temperature=23degC&pressure=1013.25hPa&humidity=50%25&u_humidity=5%25",
            "air --temperature 23degC --pressure 1013.25hPa --humidity 50% --u-humidity 5%",
        ),
        (
            "slots?interface=3.5mm&slots=4&slot_width=0.2mm",
            "slots --interface 3.5mm --slots 4 --slot-width 0.2mm",
        ),
        (
            "offcentre?interface=3.5mm&offset=40um&length=2mm&sweep=1GHz:20GHz:5",
            "offcentre --interface 3.5mm --offset 40um --length 2mm --sweep 1GHz:20GHz:5",
        ),
    ];
    for (query, command) in pairs {
        let (status, kind, body) = get(&format!("/api/v1/line/{query}")).await;
        let mut arguments: Vec<&str> = command.split(' ').collect();
        arguments.push("--json");
        let output = run(&arguments);
        let (http, cli) = (String::from_utf8(body).unwrap(), String::from_utf8(output.stdout).unwrap());
        assert_eq!((status, kind.as_str()), (200, "application/json"), "{query}: {http}");
        assert_eq!(http, cli, "{query}");
    }
}

#[tokio::test]
async fn a_bad_parameter_is_a_problem_that_names_it() {
    for (query, says) in [
        ("gap?interface=3.5mm&gap=60&at=18GHz", "expected a unit after 60"),
        ("gap?interface=3.5mm&at=18GHz", "missing field `gap`"),
        ("gap?interface=3.5mm&gap=60um&at=18GHz&depth=3um", "unknown field `depth`"),
        ("convert?vswr=0.9", "found 0.9"),
        ("shift/picture?length=1mm&at=1GHz", "expected a sweep"),
    ] {
        let (status, kind, body) = get(&format!("/api/v1/line/{query}")).await;
        let problem: Value = serde_json::from_slice(&body).unwrap();
        assert_eq!((status, kind.as_str()), (422, "application/problem+json"), "{query}");
        assert_eq!(problem["code"], "bad-field");
        assert!(problem["detail"].as_str().unwrap().contains(says), "{query}: {problem}");
    }
    let (_, _, body) = get("/api/v1/line/gap?interface=3.5mm&gap=60&at=18GHz").await;
    assert_eq!(serde_json::from_slice::<Value>(&body).unwrap()["field"], "gap");
}

#[tokio::test]
async fn the_picture_is_the_same_at_both_doors_and_the_routes_are_described() {
    let (status, kind, body) =
        get("/api/v1/line/gap/picture?interface=3.5mm&gap=60um&sweep=1GHz:26.5GHz:50").await;
    assert_eq!((status, kind.as_str()), (200, "image/svg+xml"));
    let sweep = ["gap", "--interface", "3.5mm", "--gap", "60um", "--sweep", "1GHz:26.5GHz:50", "--svg", "-"];
    assert_eq!(String::from_utf8(body).unwrap(), text(&sweep));
    let (status, _, body) = get("/api/v1/interfaces").await;
    assert_eq!(status, 200);
    let list: Value = serde_json::from_slice(&body).unwrap();
    assert_eq!(list["interfaces"].as_array().unwrap().len(), 13);
    let (_, _, body) = get("/api/v1/openapi.json").await;
    let document: Value = serde_json::from_slice(&body).unwrap();
    let gap = &document["paths"]["/api/v1/line/gap"]["get"];
    let names: Vec<&str> =
        gap["parameters"].as_array().unwrap().iter().map(|p| p["name"].as_str().unwrap()).collect();
    assert!(names.contains(&"u_gap") && names.contains(&"sweep"), "{names:?}");
    let described =
        document["paths"].as_object().unwrap().keys().filter(|p| p.starts_with("/api/v1/line/")).count();
    assert_eq!(described, 22, "16 questions and 6 pictures");
    assert!(document["components"]["schemas"].to_string().contains("reflection_magnitude_upper"));
}
