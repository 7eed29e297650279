//! The two doors agree byte for byte, and the exit codes are as documented.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod support;

use std::path::Path;
use std::{
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
};
use support::{Server, run};

const AS_OF: &str = "2026-11-25T09:00:00Z";

#[test]
fn command_line_and_http_give_the_same_bytes() {
    let server = Server::start();
    for (path, args) in [
        (
            "/api/v1/check?a=CB-014B&b=IN-003P1&at=18GHz",
            vec!["check", "CB-014B", "IN-003P1", "--at", "18GHz"],
        ),
        ("/api/v1/check?a=CB-031A&b=AD-008A", vec!["check", "CB-031A", "AD-008A"]),
        ("/api/v1/ends/CB-009A?", vec!["end", "CB-009A"]),
        ("/api/v1/due?", vec!["due"]),
        ("/api/v1/tools?", vec!["tool", "list"]),
        ("/api/v1/tools/GA-002?", vec!["tool", "show", "GA-002"]),
        ("/api/v1/trace?ends=CB-009A", vec!["trace", "CB-009A"]),
        (
            "/api/v1/trace?ends=CB-009A,DU-008A&since=2026-10-30&until=2026-11-20&kind=particles&contact_passes=0.2\
             &what_if=verified%20CS-002A%202026-11-03T00:00:00Z;waived%20IN-003P1",
            vec![
                "trace",
                "CB-009A",
                "DU-008A",
                "--since",
                "2026-10-30",
                "--until",
                "2026-11-20",
                "--kind",
                "particles",
                "--contact-passes",
                "0.2",
                "--what-if",
                "verified CS-002A 2026-11-03T00:00:00Z",
                "--what-if",
                "waived IN-003P1",
            ],
        ),
        ("/api/v1/trace/back?ends=DU-008A", vec!["trace", "DU-008A", "--back"]),
        (
            "/api/v1/trace/common?ends=DU-008A,AT-002B&not_before=2026-10-01&since=2026-10-01&until=2026-11-20",
            vec![
                "trace",
                "DU-008A",
                "AT-002B",
                "--common",
                "--not-before",
                "2026-10-01",
                "--since",
                "2026-10-01",
                "--until",
                "2026-11-20",
            ],
        ),
        ("/api/v1/trace/tool?tool=GA-002", vec!["trace", "GA-002", "--tool"]),
    ] {
        let separator = if path.ends_with('?') { "" } else { "&" };
        let (status, _, body) = server.get(&format!("{path}{separator}as_of={AS_OF}"));
        assert_eq!(status, 200, "{path}: {body}");
        let mut all = vec!["--json", "--as-of", AS_OF];
        all.extend(args);
        let (_, out, _) = run(&server.data, &all);
        assert!(body == out, "{path}: the two doors differ");
        assert!(body.len() > 100, "{path}");
    }
    let (_, _, body) = server.get("/api/v1/verify");
    assert_eq!(body, run(&server.data, &["--json", "verify"]).1);
}

#[test]
fn http_refuses_in_problem_details_and_keeps_a_key() {
    let server = Server::start();
    let (status, headers, body) = server.get("/api/v1/ends/NOPE");
    assert_eq!(status, 404);
    assert!(headers.contains("application/problem+json"), "{headers}");
    assert!(body.contains("\"code\":\"unknown-tag\""), "{body}");
    let (status, _, body) = server.get("/api/v1/ends/CB-014");
    assert_eq!(status, 409);
    assert!(body.contains("CB-014A") && body.contains("CB-014B"), "{body}");
    assert_eq!(server.get("/api/v1/nothing").0, 404);
    assert_eq!(server.get("/api/v1/check?a=CB-014B&b=IN-003P1&at=18").0, 422);
    let (status, _, body) = server.post("/api/v1/cleanings", "", "{\"end\":\"CB-014B\"");
    assert_eq!((status, body.contains("bad-field")), (422, true), "{body}");
    let (status, _, body) = server.post("/api/v1/cleanings", "", "{\"end\":\"CB-014B\",\"person\":\" \"}");
    assert_eq!((status, body.contains("\"field\":\"person\"")), (422, true), "{body}");

    let clean = "{\"end\":\"CB-014B\",\"person\":\"technician-1\"}";
    let (status, _, first) = server.post("/api/v1/cleanings", "k-1", clean);
    assert_eq!(status, 201, "{first}");
    let fact = first.split("\"facts\":[\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let (status, _, again) = server.post("/api/v1/cleanings", "k-1", clean);
    assert_eq!((status, again.contains(&fact)), (201, true), "{again}");
    let other = "{\"end\":\"CB-014A\",\"person\":\"technician-1\"}";
    assert_eq!(server.post("/api/v1/cleanings", "k-1", other).0, 409);

    let mate = "{\"a\":\"CB-031A\",\"b\":\"AD-008A\",\"person\":\"technician-1\"}";
    let (status, _, body) = server.post("/api/v1/mates", "", mate);
    assert_eq!((status, body.contains("\"answer\":\"stop\"")), (409, true), "{body}");

    let bulk = "{\"person\":\"rig-1\",\"source\":\"program\",\"mates\":[\
                {\"a\":\"CB-014B\",\"b\":\"IN-003P1\",\"happened_at\":\"2026-11-20T08:00:00Z\"},\
                {\"a\":\"CB-014B\",\"b\":\"IN-003P1\",\"happened_at\":\"2026-11-20T08:01:00Z\"}]}";
    let (status, _, body) = server.post("/api/v1/mates/bulk", "", bulk);
    assert_eq!(status, 201, "{body}");
}

/// The same bytes mean another thing at another address: a key that came with
/// one is no key for the other, and nothing is answered as if it were done.
#[test]
fn a_key_stands_for_the_address_as_well_as_the_body() {
    let server = Server::start();
    let key = "k-address";
    let why = "{\"end\":\"CB-014B\",\"because\":\"looks bent\",\"person\":\"technician-1\"}";
    assert_eq!(server.post("/api/v1/holds", key, why).0, 201);
    let (status, _, body) = server.post("/api/v1/releases", key, why);
    assert_eq!(status, 409, "the answer of the hold for a release: {body}");
    assert_eq!(server.post("/api/v1/holds", key, why).0, 201, "the same request again");

    let key = "k-tool";
    let check = "{\"certificate\":\"C-1\",\"in_order\":true,\"person\":\"metrologist-1\"}";
    let (status, _, body) = server.post("/api/v1/tools/GA-001/checks", key, check);
    assert_eq!(status, 201, "{body}");
    let (status, _, body) = server.post("/api/v1/tools/GA-002/checks", key, check);
    assert_eq!(status, 409, "the answer of one gauge for another: {body}");
}

#[test]
fn a_trace_that_is_not_understood_says_what_was_expected() {
    let server = Server::start();
    for (query, status, expected) in [
        ("trace?ends=", 422, "expected the tag of at least one end, found none"),
        ("trace", 422, "missing field `ends`"),
        ("trace?ends=NOPE", 404, "NOPE"),
        ("trace?ends=CB-014", 409, "CB-014A"),
        ("trace?ends=CB-009A&kind=rust", 422, "expected one of deformation, particles, residue, unknown"),
        ("trace?ends=CB-009A&since=yesterday", 422, "since"),
        ("trace?ends=CB-009A&since=2026-11-20&until=2026-11-01", 422, "no later than the first evidence"),
        ("trace?ends=CB-009A&contact_passes=1.5", 422, "expected a probability from 0 to 1, found 1.5"),
        ("trace?ends=CB-009A&contact_passes=NaN", 422, "expected a probability from 0 to 1, found NaN"),
        (
            "trace?ends=CB-009A&what_if=polished%20CB-009A%202026-11-01",
            422,
            "expected \\\"inspected TAG TIME",
        ),
        ("trace?ends=CB-009A&what_if=waived%20NOPE", 404, "NOPE"),
        ("trace?ends=CB-009A&colour=red", 422, "colour"),
        ("trace/back?ends=CB-009A,DU-008A", 422, "expected one end to look back from, found 2"),
        ("trace/common?ends=CB-009A", 422, "expected at least two ends"),
        ("trace/common?ends=CB-009A,cb-009a", 422, "expected at least two ends"),
        ("trace/tool?tool=CB-009", 422, "expected a gauge or a torque wrench"),
        ("trace/tool?tool=NOPE", 404, "NOPE"),
    ] {
        let (found, _, body) = server.get(&format!("/api/v1/{query}"));
        assert_eq!(found, status, "{query}: {body}");
        assert!(body.contains(expected), "{query}: {body}");
    }
    assert_eq!(run(&server.data, &["trace"]).0, 2);
    assert_eq!(run(&server.data, &["trace", "NOPE"]).0, 4);
    assert_eq!(run(&server.data, &["trace", "CB-009A", "--back", "--common"]).0, 2);
    let (code, out, _) = run(&server.data, &["trace", "CB-009A", "--as-of", AS_OF]);
    assert_eq!(code, 0);
    assert!(out.contains("Exposed is not damaged.") && out.contains("CS-002A"), "{out}");
}

#[test]
fn only_this_machine_and_its_own_page_may_ask() {
    let server = Server::start();
    let mut stream = TcpStream::connect(&server.address).unwrap();
    write!(stream, "GET /api/v1/due HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n").unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 403"), "{answer}");
    let clean = "{\"end\":\"CB-014B\",\"person\":\"technician-1\"}";
    let (status, _, _) = server.ask("POST /api/v1/cleanings", "Origin: http://evil.example\r\n", clean);
    assert_eq!(status, 403);
    let own = format!("Origin: http://{}\r\n", server.address);
    assert_eq!(server.ask("POST /api/v1/cleanings", &own, clean).0, 201);
    let (_, headers, _) = server.get("/");
    assert!(headers.contains("content-security-policy: default-src 'none'"), "{headers}");
}

#[test]
fn a_standing_is_announced_to_listeners() {
    let server = Server::start();
    let mut stream = TcpStream::connect(&server.address).unwrap();
    write!(stream, "GET /api/v1/events HTTP/1.1\r\nHost: {}\r\n\r\n", server.address).unwrap();
    let mut reader = BufReader::new(stream);
    let mut line = String::new();
    while line != "\r\n" {
        line.clear();
        reader.read_line(&mut line).unwrap();
    }
    let hold = "{\"end\":\"CB-014B\",\"because\":\"looks odd\",\"person\":\"technician-1\"}";
    assert_eq!(server.post("/api/v1/holds", "", hold).0, 201);
    let mut seen = String::new();
    while !seen.contains("do-not-mate") {
        line.clear();
        assert_ne!(reader.read_line(&mut line).unwrap(), 0, "the stream ended: {seen}");
        seen.push_str(&line);
    }
    assert!(seen.contains("event: standing") && seen.contains("CB-014B"), "{seen}");
}

#[test]
fn exit_codes_are_as_documented() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    assert_eq!(run(&data, &["demo"]).0, 0);
    // The lab is made up to now, so now is asked about.
    let code = |args: &[&str]| run(&data, args).0;
    assert_eq!(code(&["check", "CB-008A", "IN-004P1"]), 0);
    assert_eq!(code(&["check", "CB-031A", "AD-008A"]), 1);
    assert_eq!(code(&["check", "CB-007A", "IN-004P1"]), 3);
    assert_eq!(code(&["check", "CB-014B"]), 2);
    assert_eq!(code(&["check", "CB-014B", "IN-003P1", "--at", "18"]), 2);
    assert_eq!(code(&["end", "NOPE"]), 4);
    assert_eq!(code(&["end", "CB-014"]), 4);
    assert_eq!(code(&["import", "/no/such/file.csv"]), 5);
    assert_eq!(code(&["verify"]), 0);
    let (code, out, err) = run(&data, &["mate", "CB-031A", "AD-008A"]);
    assert_eq!(code, 1);
    assert!(out.starts_with("STOP"), "{out}");
    assert!(err.contains("--override-because"), "{err}");
}

#[test]
fn a_back_up_is_verified_and_opens_as_a_lab() {
    let folder = tempfile::tempdir().unwrap();
    let (data, copy) = (folder.path().join("lab.db"), folder.path().join("copy.db"));
    run(&data, &["demo"]);
    let (code, out, err) = run(&data, &["back-up", copy.to_str().unwrap()]);
    assert_eq!(code, 0, "{out}{err}");
    let end = ["--json", "--as-of", AS_OF, "end", "CB-009A"];
    // The sheets of the demo lab stand beside its file, not in it.
    std::fs::copy(data.with_extension("sheets.toml"), copy.with_extension("sheets.toml")).unwrap();
    let (here, there) = (run(&data, &end).1, run(&copy, &end).1);
    assert!(here.len() > 500 && here == there, "the copy answers differently");
    assert_eq!(run(&data, &["back-up", copy.to_str().unwrap()]).0, 5);
}

#[test]
fn quantities_are_typed_with_units_and_a_slip_says_what_was_expected() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    let asked = ["gauge", "CB-007A", "--recessed", "0.5mil,12um,0.0125mm", "--with", "GA-001"];
    let (code, _, err) = run(&data, &asked);
    assert_eq!((code, err.contains("is each unit right?")), (2, true), "{err}");
    let sure: Vec<&str> = asked.into_iter().chain(["--sure", "mixed-units"]).collect();
    let (code, out, err) = run(&data, &sure);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("CB-007A"), "{out}");
    let (code, _, err) = run(&data, &["gauge", "CB-007A", "--recessed", "12"]);
    assert_eq!(code, 2);
    assert!(err.contains("expected a unit after 12"), "{err}");
    // A pin near its plane may read on either side of it.
    let (code, out, err) = run(&data, &["gauge", "CB-007A", "--recessed", "0.4um", "--protruding", "0.2um"]);
    assert_eq!((code, out.contains("One of the readings protrudes")), (0, true), "{err}");
    let (code, _, err) = run(&data, &["gauge", "CB-007A"]);
    assert_eq!(code, 2, "{err}");
}

#[test]
fn the_openapi_document_is_as_stored() {
    let folder = tempfile::tempdir().unwrap();
    let (_, out, _) = run(&folder.path().join("none.db"), &["openapi"]);
    assert!(out.contains("\"openapi\": \"3.1"), "{}", &out[..200]);
    let stored = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/reference/openapi.json");
    let stored = std::fs::read_to_string(stored).unwrap();
    assert!(
        stored == out,
        "docs/reference/openapi.json is stale: run `matewell openapi > docs/reference/openapi.json`"
    );
}

#[test]
fn completions_and_help_exist_for_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("none.db");
    assert!(run(&data, &["completions", "bash"]).1.contains("matewell"));
    let (_, help, _) = run(&data, &["--help"]);
    for command in [
        "check", "mate", "end", "inspect", "gauge", "clean", "hold", "release", "retire", "due", "import",
        "export", "verify", "back-up", "serve", "demo", "trace",
    ] {
        assert!(help.contains(command), "{command}");
        let (code, text, _) = run(&data, &[command, "--help"]);
        assert_eq!(code, 0);
        assert!(text.contains("Example: matewell"), "{command}: {text}");
    }
    assert!(!data.exists());
}

#[test]
fn the_validation_document_is_as_stored_and_every_check_holds() {
    let folder = tempfile::tempdir().unwrap();
    let (code, out, _) = run(&folder.path().join("none.db"), &["validation", "--markdown"]);
    assert_eq!(code, 0);
    let stored = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../VALIDATION.md");
    let stored = std::fs::read_to_string(stored).unwrap();
    assert!(stored == out, "VALIDATION.md is stale: run `make validation`");
    assert!(out.lines().filter(|l| l.starts_with("| ")).count() > 500);
}

#[test]
fn gaugings_and_tools_give_the_same_bytes_through_both_doors() {
    let server = Server::start();
    let pin = server.get(&format!("/api/v1/ends/CB-004A/pin?as_of={AS_OF}"));
    assert_eq!(pin.0, 200, "{}", pin.2);
    assert_eq!(pin.2, run(&server.data, &["--json", "--as-of", AS_OF, "pin", "CB-004A"]).1);
    let body = "{\"end\":\"CB-014A\",\"gauge\":\"GA-001\",\"master\":\"GM-001\",\"readings\":[\
                {\"word\":\"recessed\",\"distance\":\"12um\"},{\"word\":\"recessed\",\"distance\":\"11um\"},\
                {\"word\":\"recessed\",\"distance\":\"13um\"}],\"zero_before\":[{\"distance\":\"0um\"},\
                {\"word\":\"recessed\",\"distance\":\"0.5um\"}],\"zero_after\":[{\"distance\":\"0um\"}],\
                \"temperature\":\"23degC\"}";
    let (status, _, answer) = server.ask(&format!("POST /api/v1/gaugings/budget?as_of={AS_OF}"), "", body);
    assert_eq!(status, 200, "{answer}");
    let asked = [
        "gauge",
        "CB-014A",
        "--recessed",
        "12um,11um,13um",
        "--with",
        "GA-001",
        "--master",
        "GM-001",
        "--zero-before",
        "0um,recessed 0.5um",
        "--zero-after",
        "0um",
        "--temperature",
        "23degC",
        "--dry-run",
    ];
    let mut all = vec!["--json", "--as-of", AS_OF];
    all.extend(asked);
    assert_eq!(run(&server.data, &all).1, answer);
    assert!(answer.contains("\"decision\":\"shown-safe\""), "{answer}");

    let days = "{\"since\":\"2026-01-01T00:00:00Z\",\"until\":\"2030-01-01T00:00:00Z\",\"by\":\"8um\",\
                \"too\":\"recessed\",\"person\":\"metrologist-1\"}";
    let (status, _, answer) = server.post("/api/v1/tools/GA-002/was-off", "", days);
    assert_eq!(status, 200, "{answer}");
    let (code, out, err) = run(
        &server.data,
        &[
            "--json",
            "tool",
            "was-off",
            "GA-002",
            "--since",
            "2026-01-01T00:00:00Z",
            "--until",
            "2030-01-01T00:00:00Z",
            "--by",
            "8um",
            "--too",
            "recessed",
        ],
    );
    assert_eq!((code, out == answer), (0, true), "{err}");
    assert!(answer.contains("\"flips\":true") && answer.contains("\"written\":false"));
}

#[test]
fn a_slip_is_a_question_at_both_doors() {
    let server = Server::start();
    let body = "{\"end\":\"CB-014A\",\"person\":\"technician-1\",\"readings\":[\
                {\"word\":\"recessed\",\"distance\":\"12um\"},{\"word\":\"recessed\",\"distance\":\"0.5mil\"}]}";
    let (status, _, answer) = server.post("/api/v1/gaugings", "", body);
    assert_eq!(status, 422, "{answer}");
    assert!(answer.contains("\"code\":\"question\"") && answer.contains("mixed-units"), "{answer}");
    let gauge = |more: &[&str]| {
        let mut all = vec!["gauge", "CB-014A"];
        all.extend(more);
        run(&server.data, &all)
    };
    let (code, _, err) = gauge(&["--recessed", "12um,0.5mil"]);
    assert_eq!((code, err.contains("mixed-units")), (2, true), "{err}");
    let (code, _, err) = gauge(&["--recessed", "12,5um"]);
    assert_eq!((code, err.contains("decimal comma")), (2, true), "{err}");
    let (code, _, err) = gauge(&["--recessed=-12um"]);
    assert_eq!((code, err.contains("makers and tables disagree")), (2, true), "{err}");
    let (code, _, err) = gauge(&["--recessed", "12um,0.5mil", "--sure", "mixed-units"]);
    assert_eq!(code, 0, "{err}");
}
