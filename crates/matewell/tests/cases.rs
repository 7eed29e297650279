//! Cases through both doors.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod support;

use support::{Server, run};

/// After everything that these tests write.
const AS_OF: &str = "2036-01-01T00:00:00Z";

const OPEN: &str = "{\"ends\":[\"CB-009A\"],\"name\":\"Repair of CB-009\",\"because\":\"pin protrudes\",\"person\":\"technician-1\"}";

#[test]
fn both_doors_show_a_case_with_the_same_bytes_and_a_key_writes_once() {
    let server = Server::start();
    let (status, _, first) = server.post("/api/v1/cases", "c-1", OPEN);
    assert_eq!(status, 201, "{first}");
    let (status, _, again) = server.post("/api/v1/cases", "c-1", OPEN);
    let facts = |body: &str| body.split("\"facts\":[").nth(1).unwrap().split(']').next().unwrap().to_owned();
    assert_eq!((status, facts(&again)), (201, facts(&first)));
    assert_eq!(server.post("/api/v1/cases", "c-1", &OPEN.replace("pin", "it")).0, 409);
    // The path is part of what a key stands for.
    let because = "{\"ends\":[\"GA-002\"],\"because\":\"sent away\",\"person\":\"technician-1\"}";
    let aside = "/api/v1/cases/Repair%20of%20CB-009/set-aside";
    assert_eq!(server.post(aside, "c-2", because).0, 201);
    assert_eq!(server.post("/api/v1/cases/Repair%20of%20CB-009/ends", "c-2", because).0, 409);

    for (path, args) in [
        ("/api/v1/cases?", vec!["case", "list"]),
        ("/api/v1/cases/Repair%20of%20CB-009?", vec!["case", "show", "repair of cb-009"]),
        ("/api/v1/cases/CB-009A?", vec!["case", "show", "CB-009A"]),
    ] {
        let (status, _, body) = server.get(&format!("{path}as_of={AS_OF}"));
        assert_eq!(status, 200, "{body}");
        let mut all = vec!["--json", "--as-of", AS_OF];
        all.extend(args);
        assert!(body == run(&server.data, &all).1, "{path}: the two doors differ");
        assert!(body.contains("Repair of CB-009") && body.contains("\"state\":\"open\""), "{body}");
    }
    // The due list names it, by both doors.
    let (_, _, due) = server.get(&format!("/api/v1/due?as_of={AS_OF}"));
    assert!(due.contains("\"task\":\"case\""), "{due}");
}

#[test]
fn what_is_not_understood_says_what_was_expected() {
    let server = Server::start();
    assert_eq!(server.post("/api/v1/cases", "", OPEN).0, 201);
    let case = "/api/v1/cases/CB-009A";
    let who = "\"person\":\"technician-1\"";
    for (path, body, status, expected) in [
        ("/api/v1/cases", format!("{{\"ends\":[],\"because\":\"b\",{who}}}"), 422, "at least one end"),
        ("/api/v1/cases", format!("{{\"ends\":[\"CB-009A\"],{who}}}"), 422, "because"),
        ("/api/v1/cases", format!("{{\"ends\":[\"NOPE\"],\"because\":\"b\",{who}}}"), 404, "NOPE"),
        (
            "/api/v1/cases",
            "{\"ends\":[\"CB-009A\"],\"because\":\"b\",\"person\":\" \"}".to_owned(),
            422,
            "person",
        ),
        (
            "/api/v1/cases",
            format!("{{\"ends\":[\"CB-009A\"],\"because\":\"b\",\"taint\":\"rust\",{who}}}"),
            422,
            "deformation, particles, residue, unknown",
        ),
        (
            "/api/v1/cases",
            format!("{{\"ends\":[\"CB-009A\"],\"because\":\"b\",\"since\":\"yesterday\",{who}}}"),
            422,
            "since",
        ),
        (
            "/api/v1/cases/CB-009A/dispositions",
            format!("{{\"ends\":[\"IN-003P1\"],\"disposition\":\"fine\",\"because\":\"b\",{who}}}"),
            422,
            "expected cleared, damaged or waived, found \\\"fine\\\"",
        ),
        (
            "/api/v1/cases/CB-009A/dispositions",
            format!(
                "{{\"ends\":[\"IN-003P1\"],\"disposition\":\"cleared\",\"evidence\":\"12\",\"because\":\"b\",{who}}}"
            ),
            422,
            "evidence",
        ),
        (
            "/api/v1/cases/CB-009A/dispositions",
            format!(
                "{{\"ends\":[\"IN-003P1\"],\"disposition\":\"damaged\",\"until\":\"2040-01-01\",\"because\":\"b\",{who}}}"
            ),
            422,
            "until with waived only",
        ),
        (
            "/api/v1/cases/CB-009A/dispositions",
            format!("{{\"ends\":[\"IN-003P1\"],\"disposition\":\"cleared\",\"because\":\"b\",{who}}}"),
            422,
            "made after the hold",
        ),
        (
            "/api/v1/cases/CB-009A/results",
            format!("{{\"results\":[\"x\"],\"disposition\":\"ignore\",\"because\":\"b\",{who}}}"),
            422,
            "no-effect, re-measure, notify",
        ),
        ("/api/v1/cases/NOPE/close", format!("{{\"because\":\"b\",{who}}}"), 404, "a case"),
        ("/api/v1/cases/CB-009A/close", format!("{{\"because\":\" \",{who}}}"), 422, "because"),
        (
            "/api/v1/cases/CB-009A/close",
            format!("{{\"because\":\"b\",{who}}}"),
            409,
            "\"code\":\"case-not-ready\"",
        ),
        (
            "/api/v1/releases",
            format!("{{\"end\":\"IN-003P1\",\"because\":\"b\",{who}}}"),
            422,
            "the case Repair of CB-009 holds it",
        ),
    ] {
        let (found, _, answer) = server.post(path, "", &body);
        assert_eq!(found, status, "{path} {body}: {answer}");
        assert!(answer.contains(expected), "{path} {body}: {answer}");
    }
    let (_, _, answer) =
        server.post("/api/v1/cases/CB-009A/close", "", &format!("{{\"because\":\"b\",{who}}}"));
    assert!(answer.contains("\"missing\":[") && answer.contains("\"what\":\"end\""), "{answer}");
    // Nothing of all that was written.
    let (_, _, body) = server.get(case);
    assert_eq!(body.matches("\"kind\":\"").count(), 1, "{body}");
    assert_eq!(server.get("/api/v1/cases/NOPE").0, 404);
}

#[test]
fn a_case_on_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    let go = |args: &[&str]| run(&data, args);
    assert_eq!(go(&["demo"]).0, 0);
    assert!(go(&["case", "list"]).1.contains("There is no case."));
    let (code, out, err) = go(&["case", "open", "CB-009A", "--because", "pin protrudes", "--name", "Repair"]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("Repair: ") && out.contains("wait for a decision"), "{out}");
    let (_, shown, _) = go(&["case", "show", "repair"]);
    assert!(shown.contains("exposed is not damaged") && shown.contains("IN-003P1"), "{shown}");
    let (_, record, _) = go(&["case", "show", "repair", "--record"]);
    assert!(record.contains("7.10.1") && record.contains("6.4.9"), "{record}");

    let (code, _, err) = go(&["case", "close", "Repair", "--because", "done"]);
    assert_eq!(code, 3, "{err}");
    assert!(err.contains("IN-003P1: cleared, damaged or waived until a date?"), "{err}");
    let (code, _, err) = go(&["release", "IN-003P1", "--because", "needed"]);
    assert_eq!(code, 2);
    assert!(err.contains("the case Repair holds it"), "{err}");
    assert_eq!(go(&["case", "dispose", "Repair", "CB-009A", "--because", "b"]).0, 2, "no decision");
    assert_eq!(
        go(&["case", "dispose", "Repair", "CB-009A", "--damaged", "--until", "2040-01-01", "--because", "b"])
            .0,
        2
    );
    assert_eq!(go(&["case", "dispose", "Repair", "CB-009A", "--damaged", "--because", "seen"]).0, 0);
    assert_eq!(go(&["case", "dispose", "Repair", "--cleared", "--because", "verified on record"]).0, 0);
    // Gauged well: the release finds the gauging by itself.
    let readings = ["gauge", "IN-003P1", "--recessed", "20um,21um,19um", "--with", "GA-001"];
    let (code, out, err) = go(&readings);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("Part of the open case Repair: IN-003P1"), "{out}");
    assert_eq!(go(&["release", "IN-003P1", "--because", "gauged well"]).0, 0);
    let (code, _, err) = go(&[
        "case",
        "result",
        "Repair",
        "lab://larkmoor/results/du-007/0003",
        "--disposition",
        "re-measure",
        "--because",
        "gain fell",
    ]);
    assert_eq!(code, 0, "{err}");
    let (code, _, err) = go(&["case", "add", "Repair", "--because", "late"]);
    assert_eq!((code, err.contains("reaches nothing that it has not taken in")), (2, true), "{err}");
    assert_eq!(go(&["case", "show", "NOPE"]).0, 4);
    for command in ["open", "list", "show", "dispose", "result", "add", "set-aside", "close"] {
        let (code, text, _) = go(&["case", command, "--help"]);
        assert_eq!(code, 0);
        assert!(text.contains("Example: matewell case"), "{command}: {text}");
    }
}
