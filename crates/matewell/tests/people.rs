//! People and rights through the real program: over the network, by TLS, with
//! tokens, and nothing secret in what is logged.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod support;

use std::{
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::{Path, PathBuf},
    process::{Child, Stdio},
    sync::{Arc, Mutex},
    time::Duration,
};
use support::{matewell, run};

const PASSWORD: &str = "green cable, left drawer";

struct Served {
    child: Child,
    address: String,
    scheme: String,
    said: Arc<Mutex<String>>,
}

impl Served {
    fn start(data: &Path, more: &[&str]) -> Self {
        let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin("matewell"))
            .arg("--data")
            .arg(data)
            .args(["serve", "--port", "0"])
            .args(more)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let (scheme, address) = line.trim().rsplit_once(' ').unwrap().1.split_once("://").unwrap();
        let said = Arc::new(Mutex::new(String::new()));
        let (kept, stderr) = (Arc::clone(&said), child.stderr.take().unwrap());
        std::thread::spawn(move || {
            for line in BufReader::new(stderr).lines().map_while(Result::ok) {
                let mut kept = kept.lock().unwrap();
                kept.push_str(&line);
                kept.push('\n');
            }
        });
        Self { child, address: address.trim_end_matches('/').to_owned(), scheme: scheme.to_owned(), said }
    }

    fn request(head: &str, host: &str, extra: &str, body: &str) -> String {
        format!(
            "{head} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{extra}Content-Length: {}\r\n\r\n{body}",
            body.len()
        )
    }

    fn ask(&self, head: &str, extra: &str, body: &str) -> (u16, String, String) {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        stream.write_all(Self::request(head, &self.address, extra, body).as_bytes()).unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        split(&answer)
    }

    fn logged(&self) -> String {
        // The line is written before the answer leaves; the reader needs a moment.
        std::thread::sleep(Duration::from_millis(200));
        self.said.lock().unwrap().clone()
    }
}

fn split(answer: &[u8]) -> (u16, String, String) {
    let answer = String::from_utf8_lossy(answer).into_owned();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    (head.split(' ').nth(1).unwrap().parse().unwrap(), head.to_owned(), body.to_owned())
}

impl Drop for Served {
    fn drop(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

fn with_password(data: &Path, args: &[&str]) -> String {
    let output = matewell(data).args(args).write_stdin(format!("{PASSWORD}\n")).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    text.split_once(before).unwrap().1.split_once(after).unwrap().0
}

#[test]
fn the_first_administrator_comes_in_with_the_printed_code_and_no_secret_is_logged() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    let server = Served::start(&data, &["--behind-proxy", "--log", "json"]);
    let (status, _, body) = server.ask("GET /api/v1/due", "", "");
    assert_eq!((status, body.contains("the code printed")), (401, true), "{body}");
    assert_eq!(server.ask("GET /", "", "").0, 200, "the page itself shows nothing of the lab");
    let code = server.logged().lines().find(|l| l.starts_with("  ")).unwrap().trim().to_owned();
    assert_eq!(code.len(), 24, "{code}");
    let body = format!("{{\"code\":\"{code}\",\"name\":\"Mara Lind\",\"password\":\"{PASSWORD}\"}}");
    let (status, head, answer) = server.ask("POST /api/v1/session/first", "", &body);
    assert_eq!(status, 200, "{answer}");
    let cookie = between(&head, "set-cookie: ", "\r\n");
    assert!(cookie.contains("HttpOnly; SameSite=Strict") && cookie.ends_with("; Secure"), "{cookie}");
    let cookie = format!("Cookie: {}\r\n", cookie.split(';').next().unwrap());
    assert_eq!(server.ask("GET /api/v1/people", &cookie, "").0, 200);
    assert_eq!(server.ask("POST /api/v1/session/first", "", &body).0, 409);
    let wrong = "{\"name\":\"Mara Lind\",\"password\":\"this is not the password\"}";
    assert_eq!(server.ask("POST /api/v1/session", "", wrong).0, 401);
    let (status, _, made) = server.ask("POST /api/v1/session/calendars", &cookie, "{\"days\":9}");
    assert_eq!(status, 201, "{made}");
    let secret = between(&made, "\"secret\":\"", "\"").to_owned();
    let (status, head, calendar) = server.ask(&format!("GET /api/v1/calendar/{secret}.ics"), "", "");
    assert_eq!(status, 200, "{calendar}");
    assert!(head.contains("text/calendar") && calendar.starts_with("BEGIN:VCALENDAR\r\n"), "{calendar}");
    assert_eq!(server.ask("GET /api/v1/calendar/mw_0", "", "").0, 404);
    assert_eq!(server.ask(&format!("GET /api/v1/due?secret={secret}"), "", "").0, 401);

    let log = server.logged();
    let requests: Vec<&str> = log.lines().filter(|l| l.starts_with('{')).collect();
    assert!(requests.len() >= 9, "{log}");
    assert!(requests.iter().any(|l| l.contains("\"person\":\"Mara Lind\"") && l.contains("/api/v1/people")));
    assert!(requests.iter().any(|l| l.contains("\"route\":\"/api/v1/calendar/{secret}\"")), "{log}");
    let session = cookie.split('=').nth(1).unwrap().trim();
    for hidden in [PASSWORD, "this is not the password", &secret, session, "argon2"] {
        assert!(!log.contains(hidden), "{hidden} is logged:\n{log}");
    }
    let stored = run(&data, &["--json", "person", "changes"]).1;
    assert!(stored.contains("\"what\":\"added\"") && stored.contains("\"by\":\"first start\""), "{stored}");
    assert!(!stored.contains(PASSWORD) && !stored.contains(&secret), "{stored}");
    let bytes: Vec<u8> = ["", "-wal"]
        .iter()
        .flat_map(|end| std::fs::read(PathBuf::from(format!("{}{end}", data.display()))).unwrap_or_default())
        .collect();
    for hidden in [PASSWORD, &secret, session] {
        assert!(!bytes.windows(hidden.len()).any(|w| w == hidden.as_bytes()), "a secret stands in the file");
    }
}

#[test]
fn a_rig_posts_with_a_token_within_its_scope_and_under_its_name() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    let first = ["person", "add", "rig-1", "--role", "technician"];
    let (code, _, err) = run(&data, &first);
    assert_eq!((code, err.contains("the first person")), (2, true), "{err}");
    with_password(&data, &["person", "add", "Mara Lind", "--role", "administrator", "--password-stdin"]);
    assert_eq!(run(&data, &first).0, 0);
    let make = ["person", "token", "rig-1", "--label", "bench 3", "--scope", "work", "--days", "30"];
    let out = run(&data, &make).1;
    let token = between(&out, "Authorization: ", "\n");
    let header = format!("Authorization: {token}\r\n");
    let server = Served::start(&data, &[]);
    let mates = "{\"source\":\"program\",\"mates\":[{\"a\":\"CB-014B\",\"b\":\"IN-003P1\",\"happened_at\":\"2026-11-20T08:00:00Z\"}]}";
    let key = format!("{header}Idempotency-Key: run-7\r\n");
    let (status, _, written) = server.ask("POST /api/v1/mates/bulk", &key, mates);
    assert_eq!(status, 201, "{written}");
    let again = server.ask("POST /api/v1/mates/bulk", &key, mates).2;
    let fact = between(&written, "\"facts\":[\"", "\"");
    assert!(again.contains(fact), "the same key, the same fact: {again}");
    assert_eq!(server.ask("GET /api/v1/due", &header, "").0, 403, "the scope is work only");
    assert_eq!(server.ask("POST /api/v1/releases", &header, "{}").0, 403);
    assert_eq!(server.ask("POST /api/v1/mates/bulk", "", mates).0, 401);
    let facts = run(&data, &["export"]).1;
    assert!(
        facts.lines().last().unwrap().contains("\"person\":\"rig-1\""),
        "{}",
        facts.lines().last().unwrap()
    );
    let id = between(&out, "short name is ", ";");
    assert_eq!(run(&data, &["person", "end-token", "rig-1", id]).0, 0);
    assert_eq!(server.ask("POST /api/v1/mates/bulk", &header, mates).0, 401, "ended by another process");
}

#[test]
fn a_list_of_mates_is_checked_before_it_is_posted_at_both_doors() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    let server = Served::start(&data, &[]);
    let list = "{\"person\":\"rig-1\",\"mates\":[\
        {\"a\":\"CB-014B\",\"b\":\"IN-003P1\",\"happened_at\":\"2026-11-20T08:00:00Z\"},\
        {\"a\":\"CB-031A\",\"b\":\"AD-008A\",\"happened_at\":\"2026-11-20T08:00:00Z\"},\
        {\"a\":\"CB-031A\",\"b\":\"NOPE\",\"happened_at\":\"2026-11-20T08:00:00Z\"}]}";
    let before = run(&data, &["export"]).1.lines().count();
    let (status, _, answer) = server.ask("POST /api/v1/mates/bulk/check", "", list);
    assert_eq!(status, 200, "{answer}");
    let file = folder.path().join("list.json");
    std::fs::write(&file, list).unwrap();
    let (code, out, err) = run(&data, &["--json", "mates", file.to_str().unwrap(), "--dry-run"]);
    assert_eq!((code, out == answer), (1, true), "{err}");
    let read: serde_json::Value = serde_json::from_str(&answer).unwrap();
    assert_eq!(read["ready"], false);
    assert_eq!(read["mates"][1]["answer"], "stop");
    assert_eq!(read["mates"][2]["reasons"][0]["code"], "unknown-tag");
    let codes = read["mates"][1]["reasons"].as_array().unwrap();
    assert!(codes.iter().any(|r| r["weight"] == "forbids" && !r["code"].as_str().unwrap().contains(' ')));
    assert_eq!(server.ask("POST /api/v1/mates/bulk", "", list).0, 404, "all or none");
    assert_eq!(run(&data, &["export"]).1.lines().count(), before, "nothing was written");
    let good = list.split(",{\"a\":\"CB-031A\",\"b\":\"NOPE\"").next().unwrap().to_owned() + "]}";
    std::fs::write(&file, good).unwrap();
    assert_eq!(run(&data, &["mates", file.to_str().unwrap()]).0, 0);
    assert_eq!(run(&data, &["export"]).1.lines().count(), before + 2);
}

#[test]
fn an_authorisation_is_asked_for_at_the_command_line_too() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    with_password(&data, &["person", "add", "Mara Lind", "--role", "administrator", "--password-stdin"]);
    assert_eq!(run(&data, &["person", "add", "Pim Aster", "--role", "technician"]).0, 0);
    assert_eq!(run(&data, &["person", "require", "gauge", "--interface", "3.5mm"]).0, 0);
    let gauge = ["--person", "Pim Aster", "gauge", "CB-014A", "--recessed", "12um"];
    let (code, _, err) = run(&data, &gauge);
    assert_eq!((code, err.contains("the authorisation gauge for 3.5mm")), (6, true), "{err}");
    assert_eq!(run(&data, &["person", "authorise", "Pim Aster", "gauge", "--interface", "3.5mm"]).0, 0);
    let (code, _, err) = run(&data, &gauge);
    assert_eq!(code, 0, "{err}");
    assert_eq!(run(&data, &["person", "authorise", "Pim Aster", "gauge", "--interface", "banana"]).0, 2);
    assert_eq!(run(&data, &["person", "role", "nobody", "lead"]).0, 4);
    let out = run(&data, &["person", "list"]).1;
    assert!(
        out.contains("Pim Aster: technician, no password") && out.contains("Needs an authorisation"),
        "{out}"
    );
}

#[test]
fn an_address_that_others_reach_needs_tls_or_a_proxy() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    let (code, _, err) = run(&data, &["serve", "--listen", "0.0.0.0", "--port", "0"]);
    assert_eq!((code, err.contains("in the clear")), (2, true), "{err}");
    assert!(!data.exists());
}

/// A certificate made here; the client trusts it and nothing else.
#[test]
fn tls_serves_with_the_given_certificate_and_sets_a_cookie_for_tls_only() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    with_password(&data, &["person", "add", "Mara Lind", "--role", "administrator", "--password-stdin"]);
    let made = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    let (certificate, key) = (folder.path().join("cert.pem"), folder.path().join("key.pem"));
    std::fs::write(&certificate, made.cert.pem()).unwrap();
    std::fs::write(&key, made.signing_key.serialize_pem()).unwrap();
    let tls = ["--tls-cert", certificate.to_str().unwrap(), "--tls-key", key.to_str().unwrap()];
    let server = Served::start(&data, &tls);
    assert_eq!(server.scheme, "https");
    let mut roots = rustls::RootCertStore::empty();
    roots.add(made.cert.der().clone()).unwrap();
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = rustls::ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    let name = "localhost".try_into().unwrap();
    let connection = rustls::ClientConnection::new(Arc::new(config), name).unwrap();
    let mut stream = rustls::StreamOwned::new(connection, TcpStream::connect(&server.address).unwrap());
    let body = format!("{{\"name\":\"Mara Lind\",\"password\":\"{PASSWORD}\"}}");
    let host = server.address.replace("127.0.0.1", "localhost");
    stream.write_all(Served::request("POST /api/v1/session", &host, "", &body).as_bytes()).unwrap();
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    let (status, head, body) = split(&answer);
    assert_eq!(status, 200, "{body}");
    assert!(head.contains("; Secure"), "{head}");
    // Without TLS there is no answer that could be read.
    let mut plain = TcpStream::connect(&server.address).unwrap();
    plain.write_all(Served::request("GET /api/v1/session", &host, "", "").as_bytes()).unwrap();
    let mut answer = Vec::new();
    let _ = plain.read_to_end(&mut answer);
    assert!(!answer.starts_with(b"HTTP/1.1 200"));
    let missing = ["serve", "--port", "0", "--tls-cert", "none.pem", "--tls-key", "none.pem"];
    assert_eq!(run(&data, &missing).0, 5);
}

#[test]
fn numbers_for_prometheus_are_read_with_a_token() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    let server = Served::start(&data, &[]);
    for _ in 0..3 {
        server.ask("GET /api/v1/ends/CB-014A", "", "");
    }
    let (status, head, text) = server.ask("GET /api/v1/metrics", "", "");
    assert_eq!(status, 200);
    assert!(head.contains("text/plain; version=0.0.4"), "{head}");
    let route = "method=\"GET\",route=\"/api/v1/ends/{tag}\"";
    assert!(text.contains(&format!("matewell_http_requests_total{{{route},status=\"200\"}} 3\n")), "{text}");
    let facts = run(&data, &["export"]).1.lines().count();
    assert!(text.contains(&format!("\nmatewell_facts {facts}\n")), "{text}");
    assert!(!text.contains("CB-014A"), "only patterns are told");
}

#[test]
fn a_signed_dossier_is_the_same_at_both_doors_and_verifies_without_the_lab() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    let server = Served::start(&data, &[]);
    let at = "2030-01-01T00:00:00Z";
    let path = format!("/api/v1/ends/CB-014A/dossier/signed?as_of={at}");
    let (status, _, signed) = server.ask(&format!("GET {path}"), "", "");
    assert_eq!(status, 200, "{signed}");
    assert_eq!(run(&data, &["--as-of", at, "dossier", "CB-014A", "--sign"]).1, signed);
    let (_, _, plain) = server.ask(&format!("GET /api/v1/ends/CB-014A/dossier?as_of={at}"), "", "");
    let first: serde_json::Value = serde_json::from_str(signed.lines().next().unwrap()).unwrap();
    assert_eq!(first["dossier"], serde_json::from_str::<serde_json::Value>(&plain).unwrap());
    let (file, none) = (folder.path().join("d.jsonl"), folder.path().join("none.db"));
    std::fs::write(&file, &signed).unwrap();
    let (code, out, err) = run(&none, &["verify-dossier", file.to_str().unwrap()]);
    assert_eq!((code, out.starts_with("Whole:")), (0, true), "{out}{err}");
    assert!(!none.exists());
    std::fs::write(&file, signed.replace("CB-014A", "CB-014B")).unwrap();
    let (code, out, _) = run(&none, &["verify-dossier", file.to_str().unwrap()]);
    assert_eq!((code, out.starts_with("NOT AS SIGNED")), (1, true), "{out}");
    std::fs::write(&file, "{}").unwrap();
    assert_eq!(run(&none, &["verify-dossier", file.to_str().unwrap()]).0, 2);
}

#[test]
fn what_no_log_can_hold_and_what_is_too_deep_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    let server = Served::start(&data, &[]);
    for unwritable in
        ["\"person\":\"a\\u0000b\"", "\"person\":\"a\",\"happened_at\":\"-000001-01-01T00:00:00Z\""]
    {
        let body = format!("{{\"end\":\"CB-014A\",{unwritable}}}");
        let (status, _, answer) = server.ask("POST /api/v1/cleanings", "", &body);
        assert_eq!((status, answer.contains("bad-field")), (422, true), "{answer}");
    }
    let deep = format!("{{\"end\":\"CB-1A\",\"x\":{}", "[".repeat(200_000));
    let (status, _, body) = server.ask("POST /api/v1/cleanings", "", &deep);
    assert_eq!((status, body.contains("recursion")), (422, true), "{body}");
}

/// The example of `examples/python`, as a rig would run it.
#[test]
fn the_python_example_checks_posts_once_and_says_why_not() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    with_password(&data, &["person", "add", "Mara Lind", "--role", "administrator", "--password-stdin"]);
    run(&data, &["person", "add", "rig-1", "--role", "technician"]);
    let make =
        ["person", "token", "rig-1", "--label", "x", "--scope", "work", "--scope", "read", "--days", "1"];
    let out = run(&data, &make).1;
    let token = between(&out, "Bearer ", "\n").to_owned();
    let server = Served::start(&data, &[]);
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/python/report_mates.py");
    let list = folder.path().join("mates.csv");
    let report = |rows: &str, token: &str| {
        std::fs::write(&list, format!("a,b,happened_at,wrench\n{rows}")).unwrap();
        let output = std::process::Command::new("python3")
            .arg(&script)
            .arg(&list)
            .env("MATEWELL_URL", format!("http://{}", server.address))
            .env("MATEWELL_TOKEN", token)
            .output()
            .unwrap();
        let text = [output.stdout, output.stderr].concat();
        (output.status.code().unwrap(), String::from_utf8(text).unwrap())
    };
    let facts = || run(&data, &["export"]).1.lines().count();
    let before = facts();
    let rows = "CB-014B,IN-003P1,2026-11-20T08:00:00Z,\nCB-014B,IN-003P1,2026-11-20T09:00:00Z,TW-003\n";
    for _ in 0..2 {
        let (code, text) = report(rows, &token);
        assert_eq!((code, text.contains("Written: 2 facts.")), (0, true), "{text}");
        assert_eq!(facts(), before + 2, "sent twice, written once");
    }
    let (code, text) = report("CB-014B,NOPE,2026-11-20T08:00:00Z,\n", &token);
    assert_eq!((code, text.contains("problem unknown-tag")), (1, true), "{text}");
    let (code, text) = report(rows, "mw_nobody");
    assert_eq!((code, text.contains("refused (sign-in)")), (2, true), "{text}");
}

/// Reads one request and gives its head and body.
fn one_request(listener: &std::net::TcpListener, answer: &str) -> (String, String) {
    let (mut stream, _) = listener.accept().unwrap();
    let mut reader = BufReader::new(stream.try_clone().unwrap());
    let mut head = String::new();
    while !head.ends_with("\r\n\r\n") {
        reader.read_line(&mut head).unwrap();
    }
    let length = between(&head, "Content-Length: ", "\r\n").parse().unwrap();
    let mut body = vec![0; length];
    reader.read_exact(&mut body).unwrap();
    stream.write_all(answer.as_bytes()).unwrap();
    (head, String::from_utf8(body).unwrap())
}

/// The signature is checked with Python's own HMAC.
#[test]
fn a_webhook_is_told_of_facts_signed_and_again_until_it_takes_them() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("lab.db");
    run(&data, &["demo"]);
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let url = format!("http://{}/in?x=1", listener.local_addr().unwrap());
    let out = run(&data, &["--json", "person", "webhook", &url]).1;
    let secret = between(&out, "\"secret\":\"", "\"").to_owned();
    let _server = Served::start(&data, &[]);
    assert_eq!(run(&data, &["--person", "Pim Aster", "clean", "CB-014A"]).0, 0);
    let (head, body) = one_request(&listener, "HTTP/1.1 204 No Content\r\n\r\n");
    assert!(head.starts_with("POST /in?x=1 HTTP/1.1\r\n"), "{head}");
    assert!(body.contains("\"kind\":\"cleaned\"") && body.contains("Pim Aster"), "{body}");
    let check = "import hmac,sys; print(hmac.new(sys.argv[1].encode(), (sys.argv[2]+'.'+sys.argv[3]).encode(), 'sha256').hexdigest())";
    let time = between(&head, "Matewell-Timestamp: ", "\r\n");
    let python =
        std::process::Command::new("python3").args(["-c", check, &secret, time, &body]).output().unwrap();
    let expected = String::from_utf8(python.stdout).unwrap();
    assert_eq!(between(&head, "Matewell-Signature: sha256=", "\r\n"), expected.trim());
    assert_eq!(run(&data, &["clean", "CB-014B"]).0, 0);
    let (_, refused) = one_request(&listener, "HTTP/1.1 503 Service Unavailable\r\n\r\n");
    let (_, again) = one_request(&listener, "HTTP/1.1 200 OK\r\n\r\n");
    assert_eq!(refused, again, "the same facts, ten seconds later");
    std::thread::sleep(Duration::from_millis(500));
    let out = run(&data, &["person", "webhooks"]).1;
    assert!(out.contains("takes it"), "{out}");
}
