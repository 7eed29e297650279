//! `matewell study …`, `matewell drift`, `matewell validation --file` and
//! their routes: the same bytes, and values from outside.
//!
//! - "AIAG": `aiag-msa-2010`, chapter III B, worked form; from memory, and the
//!   recomputation from its inputs reproduces every printed digit.
//! - "NIST": `nist-ehandbook`, read in a stored copy.
//! - "statsmodels": stored in `crosscheck/study` with version and script.

#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use assert_cmd::Command;
use axum::{body::Body, http::Request};
use matewell_app::Workshop;
use matewell_http::{AppState, router};
use matewell_lab::Moment;
use serde_json::Value;
use std::{fs, path::Path};
use tower::ServiceExt;

const AS_OF: &str = "2026-11-25T09:00:00Z";
const AIAG: &str = include_str!("data/aiag-study.csv");
const MPC61: &str = include_str!("../../matewell-study/data/mpc61.csv");

fn run_in(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("matewell")
        .unwrap()
        .env_clear()
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

/// Runs a study of a table in a folder of its own; no lab is made.
fn study(table: &str, arguments: &[&str]) -> (i32, String, String) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("table.csv"), table).unwrap();
    let mut all = vec!["study", arguments[0], "table.csv"];
    all.extend(&arguments[1..]);
    let found = run_in(folder.path(), &all);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "a study of a table made a file");
    found
}

#[track_caller]
fn json(table: &str, arguments: &[&str]) -> Value {
    let mut all = arguments.to_vec();
    all.push("--json");
    let (_, out, err) = study(table, &all);
    serde_json::from_str(&out).unwrap_or_else(|e| panic!("{e}: {err}"))
}

/// To half of the last printed digit, or to `within`.
#[track_caller]
fn close(found: &Value, printed: &str, within: Option<f64>) {
    let decimals = printed.split_once('.').map_or(0, |(_, d)| d.len());
    let half = within.unwrap_or(0.5 * 10f64.powi(-i32::try_from(decimals).unwrap()));
    let expected: f64 = printed.parse().unwrap();
    let found = found.as_f64().unwrap_or_else(|| panic!("no number: {found}"));
    assert!((found - expected).abs() <= half * 1.001, "expected {printed}, found {found}");
}

fn named<'a>(list: &'a Value, name: &str) -> &'a Value {
    list.as_array().unwrap().iter().find(|i| i["name"] == name).unwrap()
}

#[track_caller]
fn refused(table: &str, arguments: &[&str], parts: &[&str]) {
    let (code, out, err) = study(table, arguments);
    assert_eq!(code, 2, "{out}{err}");
    for part in parts {
        assert!(err.contains(part), "expected {part:?} in: {err}");
    }
}

#[test]
fn the_aiag_study_by_ranges_and_by_analysis_of_variance() {
    let found = json(AIAG, &["gauge", "--pool", "0.25", "--f-over", "repeatability"]);
    let ranges = &found["average_and_range"];
    close(&ranges["mean_range"], "0.3417", None);
    close(&ranges["appraiser_range"], "0.4447", None);
    close(&ranges["part_range"], "3.511", None);
    // DIFFERENCE: the form multiplies numbers rounded to four digits.
    let of = |name: &str| &named(&ranges["components"], name)["standard_deviation"];
    close(of("repeatability"), "0.20188", Some(1e-4));
    close(of("reproducibility"), "0.22963", Some(1e-4));
    close(of("gauge"), "0.30575", Some(1e-4));
    close(of("parts"), "1.10456", Some(1e-4));
    close(&ranges["gauge_percent_of_total"], "26.68", Some(0.01));
    close(&named(&found["anova"], "appraisers")["sum_of_squares"], "3.1673", None);
    close(&named(&found["anova"], "parts")["sum_of_squares"], "88.3619", None);
    close(&named(&found["anova"], "interaction")["f"], "0.4337", None);
    // statsmodels: probability of the interaction.
    close(&named(&found["anova"], "interaction")["probability"], "0.974", None);
    close(&named(&found["components"], "gauge")["standard_deviation"], "0.30237", None);
    close(&found["gauge_percent_of_total"], "27.9", None);
    assert_eq!((&found["pooled"], &found["verdict"]), (&Value::Bool(true), &Value::from("conditional")));
    // What was chosen changes the result, and both choices are in the answer.
    let kept = json(AIAG, &["gauge", "--pool", "keep", "--f-over", "interaction", "--tolerance", "6"]);
    close(&named(&kept["components"], "gauge")["standard_deviation"], "0.31322", Some(1e-5));
    // statsmodels: F over the interaction.
    close(&named(&kept["anova"], "appraisers")["f"], "79.41", None);
    close(&named(&kept["anova"], "parts")["f"], "492.29", None);
    assert_eq!((&kept["pool"], &kept["f_over"]), (&Value::from("keep"), &Value::from("interaction")));
    // Six standard deviations over a tolerance of six: definition.
    close(&kept["gauge_percent_of_tolerance"], "31.322", Some(1e-3));
}

#[test]
fn the_nist_nested_study() {
    let mut table = "wafer,run,day,mean (ohm.cm),standard deviation (ohm.cm)\n".to_owned();
    for line in MPC61.lines() {
        let fields: Vec<&str> = line.split(',').collect();
        if fields.get(2) == Some(&"2362") {
            table.push_str(&format!(
                "{},{},{}.{},{},{}\n",
                fields[1], fields[0], fields[3], fields[4], fields[7], fields[8]
            ));
        }
    }
    let found = json(&table, &["nested", "--repeats", "6"]);
    // NIST 2.4.4.3 prints the pooled level 3 from rounded run values: 1e-4.
    close(&found["level_3"]["standard_deviation"], "0.0197", Some(1e-4));
    close(&found["level_3"]["degrees_of_freedom"], "5", None);
    close(&found["level_2"]["degrees_of_freedom"], "50", None);
    close(&found["level_1"]["degrees_of_freedom"], "300", None);
    // Own values of the data file.
    close(&found["level_1"]["standard_deviation"], "0.072867", None);
    close(&found["level_2"]["standard_deviation"], "0.036168", None);
    assert_eq!(found["artefacts"].as_array().unwrap().len(), 5);
}

#[test]
fn the_nist_control_charts() {
    let table = |values: &[f64]| -> String {
        std::iter::once("value (1)\n".to_owned()).chain(values.iter().map(|v| format!("{v}\n"))).collect()
    };
    // NIST 6.3.2.2.
    let found = json(&table(&[49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]), &["chart"]);
    let phase = &found["phases"][0];
    close(&phase["centre"], "50.81", None);
    close(&phase["mean_moving_range"], "1.8778", None);
    close(&phase["upper"], "55.8041", None);
    close(&phase["lower"], "45.8159", None);
    // NIST 6.3.2.4: target 50, standard deviation 2.0539, weight 0.3.
    let series = [
        52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
        52.4, 53.6, 52.1,
    ];
    let found = json(&table(&series), &["chart", "--target", "50", "--sigma", "2.0539", "--lambda", "0.3"]);
    let points = found["points"].as_array().unwrap();
    close(&points[0]["weighted_mean"], "50.60", None);
    // Closed form of the first exact limit: 50 + 3·2.0539·0.3.
    close(&points[0]["weighted_upper"], "51.8485", None);
    close(&points[19]["weighted_mean"], "51.99", None);
    assert!(points.iter().all(|p| !p["signals"].to_string().contains("weighted")), "{found}");
    // NIST 6.3.2.3: target 325, K = 0.3175, H = 4.1959, here over 0.635.
    let series = [
        324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625,
        325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
    ];
    let h = (4.1959f64 / 0.635).to_string();
    let arguments = ["chart", "--target", "325", "--sigma", "0.635", "--cusum-k", "0.5", "--cusum-h", &h];
    let found = json(&table(&series), &arguments);
    let points = found["points"].as_array().unwrap();
    close(&points[13]["sum_up"], "4.94", Some(1e-4));
    close(&points[19]["sum_up"], "19.035", Some(1e-4));
    let first = points.iter().position(|p| p["signals"].to_string().contains("sum upwards"));
    assert_eq!(first, Some(13));
}

#[test]
fn a_break_begins_a_new_phase_and_a_signal_is_an_open_question() {
    let rows = "date;reading (um);event\n1;0,1;\n2;-0,1;\n3;0,1;\n4;5,0;certificate\n5;5,2;\n6;5,1;\n";
    let found = json(rows, &["chart"]);
    assert_eq!(found["phases"].as_array().unwrap().len(), 2);
    assert_eq!(found["phases"][1]["begun_by"], "certificate");
    assert_eq!(found["signals"], 0, "{found}");
    let (code, ..) =
        study(&rows.replace("certificate", ""), &["chart", "--sigma", "0.1um", "--target", "0um"]);
    assert_eq!(code, 3);
}

/// Sums of this project, and the definition solved.
#[test]
fn torque_tools_by_table_and_by_option() {
    let options =
        ["torque", "--set", "0.9N.m", "--tool-type", "ii-b", "--device", "0.25%", "--device-error", "0.1"];
    let table = include_str!("../../../docs/examples/studies/wrench.csv");
    let found = json(table, &[&options[..], &["--resolution", "0"]].concat());
    close(&found["mean_deviation_percent"], "-0.66225", None);
    close(&found["w_percent"], "0.47534", None);
    close(&found["expanded_w_percent"], "0.95069", None);
    close(&found["interval_w_percent"], "1.71294", None);
    assert_eq!((&found["conforms"], &found["permissible_percent"]), (&Value::Bool(true), &Value::from(6.0)));
    assert!(found["findings"].to_string().contains("limit-from-memory"));
    let folder = tempfile::tempdir().unwrap();
    let window = ["study", "window", "--set", "0.9N.m", "--tool-type", "II-B", "--json"];
    let (_, out, _) = run_in(folder.path(), &window);
    let found: Value = serde_json::from_str(&out).unwrap();
    close(&found["windows"][0]["low_n_m"], "0.8491", None);
    close(&found["windows"][0]["high_n_m"], "0.9574", None);
    assert_eq!(found["table"].as_array().unwrap().len(), 12);
    assert!(
        found["table"]
            .as_array()
            .unwrap()
            .iter()
            .all(|r| r["edition"] == "2017" && r["origin"]["evidence"] == "from memory")
    );
}

/// `E_n` of 1.0 and 2.0 with U = 0.3 and 0.4: 1/0.5, closed form.
#[test]
fn two_labs_are_compared_result_by_result() {
    let table =
        "lab,end,result (um),expanded uncertainty (um)\nA,1,1,0.3\nB,1,2,0.4\nA,2,5,0.3\nB,2,5.25,0.4\n";
    let found = json(table, &["compare"]);
    close(&found["results"][0]["normalised_error"], "-2", None);
    close(&found["results"][1]["normalised_error"], "-0.5", None);
    assert_eq!((&found["agreeing"], &found["results"][0]["agrees"]), (&Value::from(1), &Value::Bool(false)));
}

#[test]
fn bad_input_says_where_what_was_expected_and_found() {
    let ok = ["gauge", "--pool", "keep", "--f-over", "interaction"];
    refused(AIAG, &["gauge"], &["pool: expected keep, always", "0.25", "0.05", "found nothing"]);
    refused(AIAG, &["gauge", "--pool", "0.25"], &["f_over: expected repeatability", "interaction"]);
    refused(AIAG, &["gauge", "--pool", "1.5", "--f-over", "interaction"], &["found \"1.5\""]);
    refused("appraiser,part,reading\nA,1,2\n", &ok, &["unit", "row 1, column C", "option unit"]);
    refused(
        "appraiser,part,reading (um)\nA,1,x\n",
        &ok,
        &["row 2, column C", "expected a number", "found \"x\""],
    );
    refused("appraiser;part;reading (um)\nA;1;1,250\n", &ok, &["decimal", "read in one way", "1,250"]);
    refused("appraiser,part,reading (um)\nA,1,2\nA,1,2 mm\n", &ok, &["row 3", "in um", "2 mm"]);
    let short = AIAG.trim_end().rsplit_once('\n').unwrap().0;
    refused(short, &ok, &["appraiser C, part 10", "expected 3 readings", "found 2"]);
    refused("appraiser,part,reading (um)\nA,1,1\nA,1,2\nA,2,1\nA,2,2\n", &ok, &["2 appraisers", "found 1"]);
    refused("", &ok, &["empty file"]);
    refused(
        "lab,result (um),expanded uncertainty (um)\nA,1,1\nB,2,1\nC,1,1\n",
        &["compare"],
        &["row 4", "third", "\"C\""],
    );
    refused("lab,result (um),expanded uncertainty (um)\nA,1,0\nB,2,0\n", &["compare"], &["above zero"]);
    refused("reference (um)\n1\n2\n", &["torque", "--set", "1N.m"], &["expected torques", "um"]);
    refused(
        "reference (N.m),influence,series\n1,,\n1,grip,1\n",
        &["torque", "--set", "1N.m"],
        &["row 3, influence", "grip"],
    );
    refused("reference (N.m)\n1\n1\n", &["torque", "--set", "1"], &["set: expected a unit"]);
    refused(
        "reference (N.m)\n1\n1\n",
        &["torque", "--set", "1N.m", "--tool-type", "X"],
        &["one of I-A", "\"X\""],
    );
    refused(
        "day,reading (um)\n1,1\n1,2\n2,1\n",
        &["nested"],
        &["day \"2\"", "expected 2 readings", "found 1"],
    );
    refused("day,mean (um),sd (um)\n1,1,0.1\n", &["nested"], &["say repeats"]);
    refused(
        "reading (um)\n1\n",
        &["chart", "--lambda", "2"],
        &["lambda: expected a number above 0, at most 1, found 2"],
    );
}

/// A table whose names never repeat must not cost a table of their product.
#[test]
fn a_table_that_would_be_costly_is_refused_quickly() {
    let rows: Vec<String> = (0..19_000).map(|n| format!("a{n},p{n},1\n")).collect();
    let rows = rows.concat();
    refused(
        &format!("appraiser,part,reading (1)\n{rows}"),
        &["gauge", "--pool", "keep", "--f-over", "interaction"],
        &["19000"],
    );
    let many: String = (0..20_001).map(|_| "1\n").collect();
    refused(&format!("reading (1)\n{many}"), &["chart"], &["at most 20000 rows"]);
}

async fn send(shop: Workshop, method: &str, path: &str, body: &str) -> (u16, String, Vec<u8>) {
    let app = router(AppState::new(shop, || Moment::from_microseconds(0)));
    let request = Request::builder()
        .method(method)
        .uri(path)
        .header("host", "localhost")
        .body(Body::from(body.to_owned()))
        .unwrap();
    let response = app.oneshot(request).await.unwrap();
    let status = response.status().as_u16();
    let kind = response.headers()["content-type"].to_str().unwrap().to_owned();
    (status, kind, axum::body::to_bytes(response.into_body(), 1 << 24).await.unwrap().to_vec())
}

fn empty() -> Workshop {
    Workshop::in_memory(Box::new(matewell_app::UuidV7::default())).unwrap()
}

#[tokio::test]
async fn both_doors_give_the_same_bytes_for_tables() {
    let rows = |name: &str| {
        fs::read_to_string(format!("{}/../../docs/examples/studies/{name}", env!("CARGO_MANIFEST_DIR")))
            .unwrap()
    };
    let pairs: [(String, &str, &[&str]); 6] = [
        (
            AIAG.to_owned(),
            "gauge?pool=0.25&f_over=repeatability",
            &["gauge", "--pool", "0.25", "--f-over", "repeatability"],
        ),
        (
            rows("gauge-study.csv"),
            "gauge?pool=keep&f_over=interaction&tolerance=50um",
            &["gauge", "--pool", "keep", "--f-over", "interaction", "--tolerance", "50um"],
        ),
        (rows("nested-study.csv"), "nested", &["nested"]),
        (rows("check-standard.csv"), "chart?lambda=0.3", &["chart", "--lambda", "0.3"]),
        (rows("comparison.csv"), "compare", &["compare"]),
        (
            rows("wrench.csv"),
            "torque?set=0.9N.m&tool_type=II-B",
            &["torque", "--set", "0.9N.m", "--tool-type", "II-B"],
        ),
    ];
    for (table, path, arguments) in pairs {
        let (status, kind, bytes) = send(empty(), "POST", &format!("/api/v1/study/{path}"), &table).await;
        assert_eq!((status, kind.as_str()), (200, "application/json"), "{path}");
        let (_, out, _) = study(&table, &[arguments, &["--json"]].concat());
        assert_eq!(String::from_utf8(bytes).unwrap(), out, "{path}");
        let (question, options) = path.split_once('?').unwrap_or((path, ""));
        let (status, kind, bytes) =
            send(empty(), "POST", &format!("/api/v1/study/{question}/picture?{options}"), &table).await;
        assert_eq!((status, kind.as_str()), (200, "image/svg+xml"), "{path}");
        let (_, svg, _) = study(&table, &[arguments, &["--svg", "-"]].concat());
        assert_eq!(String::from_utf8(bytes).unwrap(), svg, "{path}");
        assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>\n") && !svg.contains("NaN"), "{path}");
    }
}

#[tokio::test]
async fn a_table_as_json_is_the_same_study() {
    let table =
        r#"{"columns":["lab","result (um)","expanded uncertainty (um)"],"rows":[["A",1,0.3],["B","2",0.4]]}"#;
    let (status, _, bytes) = send(empty(), "POST", "/api/v1/study/compare", table).await;
    let found: Value = serde_json::from_slice(&bytes).unwrap();
    assert_eq!(status, 200, "{found}");
    close(&found["results"][0]["normalised_error"], "-2", None);
    for (body, says) in [
        ("{\"columns\":[]", "expected {\"columns\""),
        (r#"{"columns":["lab"],"rows":[],"x":1}"#, "unknown field"),
        (r#"{"columns":["lab","result (um)","expanded uncertainty (um)"],"rows":[["A",true,1]]}"#, "found"),
    ] {
        let (status, kind, bytes) = send(empty(), "POST", "/api/v1/study/compare", body).await;
        let text = String::from_utf8(bytes).unwrap();
        assert_eq!((status, kind.as_str()), (422, "application/problem+json"), "{text}");
        assert!(
            text.contains(says) || text.contains(&says.replace('"', "\\\"")),
            "expected {says:?} in: {text}"
        );
    }
}

#[tokio::test]
async fn http_refuses_with_the_field_and_the_size() {
    let problem = |bytes: Vec<u8>| serde_json::from_slice::<Value>(&bytes).unwrap();
    let (status, _, bytes) = send(empty(), "POST", "/api/v1/study/gauge?f_over=interaction", AIAG).await;
    assert_eq!((status, problem(bytes)["field"].clone()), (422, Value::from("pool")));
    let (status, _, bytes) = send(empty(), "POST", "/api/v1/study/chart", "reading\n1\n2\n").await;
    assert_eq!((status, problem(bytes)["field"].clone()), (422, Value::from("unit")));
    let (status, ..) = send(empty(), "POST", "/api/v1/study/chart?colour=red", "reading (um)\n1\n2\n").await;
    assert_eq!(status, 422);
    let large = "1\n".repeat(1_000_001);
    let (status, _, bytes) = send(empty(), "POST", "/api/v1/study/chart", &large).await;
    assert_eq!((status, problem(bytes)["code"].clone()), (413, Value::from("too-large")));
    let (status, ..) = send(empty(), "GET", "/api/v1/study/chart?tool=GA-999", "").await;
    assert_eq!(status, 404);
    let (status, ..) = send(empty(), "GET", "/api/v1/ends/NO-SUCH/drift", "").await;
    assert_eq!(status, 404);
}

#[tokio::test]
async fn both_doors_give_the_same_bytes_for_facts() {
    let folder = tempfile::tempdir().unwrap();
    let (code, _, err) = run_in(folder.path(), &["demo", "--as-of", AS_OF]);
    assert_eq!(code, 0, "{err}");
    let data = folder.path().join("matewell.db");
    let pairs: [(&str, &[&str]); 8] = [
        ("study/chart?tool=GA-002", &["study", "chart", "--tool", "GA-002"]),
        ("study/torque?tool=TW-003", &["study", "torque", "--tool", "TW-003"]),
        ("study/window", &["study", "window"]),
        ("ends/CB-014A/drift", &["drift", "CB-014A"]),
        (
            "ends/CB-014A/drift?cleaning=keeps&limit=protruding%202um&gauge=GA-001",
            &["drift", "CB-014A", "--cleaning", "keeps", "--limit", "protruding 2um", "--gauge", "GA-001"],
        ),
        ("study/nested?end=CB-014A", &["study", "nested", "--end", "CB-014A"]),
        (
            "study/gauge?ends=CB-014A,CB-015A&pool=keep&f_over=interaction",
            &["study", "gauge", "--ends", "CB-014A,CB-015A", "--pool", "keep", "--f-over", "interaction"],
        ),
        (
            "study/compare?end=CB-014A&gauges=GA-001,GA-002",
            &["study", "compare", "--end", "CB-014A", "--gauges", "GA-001,GA-002"],
        ),
    ];
    for (path, arguments) in pairs {
        let mark = if path.contains('?') { '&' } else { '?' };
        let shop = Workshop::open(&data, Moment::from_microseconds(0)).unwrap();
        let (status, _, bytes) = send(shop, "GET", &format!("/api/v1/{path}{mark}as_of={AS_OF}"), "").await;
        let body = String::from_utf8(bytes).unwrap();
        let (code, out, err) = run_in(folder.path(), &[arguments, &["--json", "--as-of", AS_OF]].concat());
        if status == 200 {
            assert_eq!(body, out, "{path}");
        } else {
            // The demo lab may not hold such a study: both doors say so in the same words.
            let problem: Value = serde_json::from_str(&body).unwrap();
            assert_eq!((status, code), (422, 2), "{path}: {body}");
            assert_eq!(format!("error: {}\n", problem["detail"].as_str().unwrap()), err, "{path}");
        }
    }
    let (_, out, _) =
        run_in(folder.path(), &["study", "chart", "--tool", "GA-002", "--as-of", AS_OF, "--json"]);
    let found: Value = serde_json::from_str(&out).unwrap();
    // The story of the demo lab: this gauge was found 8 µm off.
    assert!(
        found["points"]
            .as_array()
            .unwrap()
            .iter()
            .any(|p| p["value"] == 8.0 && p["signals"][0] == "single value"),
        "{found}"
    );
}

#[test]
fn a_labs_own_values_are_run_again_and_a_wrong_one_is_named() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let file = "docs/examples/studies/own-values.toml";
    let (code, out, err) = run_in(&root, &["validation", "--file", file]);
    assert_eq!((code, out.trim()), (0, "7 own values hold, 0 fail."), "{err}");
    let text = fs::read_to_string(root.join(file)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    fs::copy(root.join("docs/examples/studies/wrench.csv"), folder.path().join("wrench.csv")).unwrap();
    let with = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        fs::write(folder.path().join("own.toml"), text.replacen(from, to, 1)).unwrap();
        run_in(folder.path(), &["validation", "--file", "own.toml"])
    };
    let (code, out, _) = with("-0.66225", "-0.66235");
    assert!(
        code == 1 && out.contains("FAILS worked by hand") && out.contains("6 own values hold, 1 fail."),
        "{out}"
    );
    let (code, out, _) = with("expanded_w_percent", "expanded_percent");
    assert!(code == 1 && out.contains("expected one of") && out.contains("interval_w_percent"), "{out}");
    let (code, _, err) = with("because = \"the certificate states U = 0.1 ohm\"\n", "");
    assert!(code == 2 && err.contains("our air line") && err.contains("expected because"), "{err}");
    let (code, _, err) = with("study torque", "study tork");
    assert!(code == 2 && err.contains("expected one of study gauge") && err.contains("study tork"), "{err}");
    let (code, _, err) = with("pool = \"always\"", "pol = \"always\"");
    assert!(code == 2 && err.contains("two readers") && err.contains("pol"), "{err}");
    let (code, _, err) = with("wrench.csv", "none.csv");
    assert!(code == 5 && err.contains("none.csv"), "{err}");
    let (code, out, _) = with("ada,A,12", "ada,A,x");
    assert!(code == 1 && out.contains("row 3") && out.contains("4 own values hold, 3 fail."), "{out}");
}

#[tokio::test]
async fn own_values_over_http_hold_their_tables_inside() {
    let text = fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../docs/examples/studies/own-values.toml"
    ))
    .unwrap();
    let (status, _, bytes) = send(empty(), "POST", "/api/v1/validation", &text).await;
    let body = String::from_utf8(bytes).unwrap();
    assert!(status == 422 && body.contains("only the command line reads files"), "{body}");
    let table = include_str!("../../../docs/examples/studies/wrench.csv");
    let inside = text.replace("input = \"wrench.csv\"", &format!("table = \"\"\"\n{table}\"\"\""));
    let (status, _, bytes) = send(empty(), "POST", "/api/v1/validation", &inside).await;
    assert_eq!(status, 200);
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("own.toml"), &inside).unwrap();
    let (_, out, _) = run_in(folder.path(), &["validation", "--file", "own.toml", "--json"]);
    assert_eq!(String::from_utf8(bytes).unwrap(), out);
}
