//! The register, looks and the policy at both doors.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod support;

use support::{Server, run};

const AS_OF: &str = "2026-11-25T09:00:00Z";
const CSV: &str = "Item,Kind,End tag,Interface,Sex,Hook\nQX-1,adapter,QX-1A,SMA,male,left drawer\n";

#[test]
fn register_kept_and_policy_are_the_same_at_both_doors() {
    let server = Server::start();
    for (path, args) in [
        ("/api/v1/items/CB-009?", vec!["item", "CB-009"]),
        ("/api/v1/items/GA-002?", vec!["item", "GA-002"]),
        ("/api/v1/ends/CB-009A/kept?", vec!["kept", "CB-009A"]),
        ("/api/v1/items/CB-015/kept?", vec!["kept", "CB-015", "--item"]),
        ("/api/v1/ends/CB-009A/look-guide?", vec!["look-guide", "CB-009A"]),
    ] {
        let (status, _, body) = server.get(&format!("{path}as_of={AS_OF}"));
        assert_eq!(status, 200, "{path}: {body}");
        let mut all = vec!["--json", "--as-of", AS_OF];
        all.extend(args);
        assert!(body == run(&server.data, &all).1, "{path}: the two doors differ");
        assert!(body.len() > 100, "{path}");
    }
    let (status, _, body) = server.get("/api/v1/policy");
    assert_eq!(status, 200);
    assert_eq!(body, run(&server.data, &["--json", "policy"]).1);
    assert!(body.contains("\"in_force\":true") && body.contains("gauge_every_contacts"), "{body}");
}

#[test]
fn an_import_is_looked_at_corrected_and_written_once_at_both_doors() {
    let server = Server::start();
    let address = |rest: &str| format!("/api/v1/import?file_name=new.csv&person=lead-1{rest}");
    let dry = server.post(&address("&dry_run=yes"), "", CSV);
    assert_eq!(dry.0, 200, "{}", dry.2);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("new.csv");
    std::fs::write(&file, CSV).unwrap();
    let path = file.to_str().unwrap();
    let (code, out, _) = run(&server.data, &["--json", "--person", "lead-1", "import", path, "--dry-run"]);
    assert_eq!(code, 0);
    assert_eq!(dry.2, out.replace(path, "new.csv"), "the two doors differ");
    assert_eq!(server.get("/api/v1/items/QX-1").0, 404, "a dry run writes nothing");

    let wrong = server.post(&address("&columns=Nope%3Dlocation"), "", CSV);
    assert_eq!((wrong.0, wrong.2.contains("Hook")), (422, true), "{}", wrong.2);
    let corrected = address("&columns=Hook%3Dlocation");
    let first = server.post(&corrected, "k-import", CSV);
    assert_eq!((first.0, first.2.contains("\"written\":true")), (201, true), "{}", first.2);
    let again = server.post(&corrected, "k-import", CSV);
    assert_eq!((again.0, &again.2), (201, &first.2), "the same key answers the same");
    assert_eq!(server.post(&address(""), "k-import", CSV).0, 409, "another request under the key");
    let (_, _, item) = server.get("/api/v1/items/QX-1");
    assert!(item.contains("\"location\":\"left drawer\""), "{item}");

    let bad = CSV.replace("SMA", "banana").replace("QX-1", "QX-2");
    let refused = server.post(&address(""), "", &bad);
    assert_eq!((refused.0, refused.2.contains("\"written\":false")), (200, true), "{}", refused.2);
    assert_eq!(server.get("/api/v1/items/QX-2").0, 404, "all or nothing");
}

#[test]
fn an_item_is_written_down_and_set_right_by_a_correction() {
    let server = Server::start();
    let end = "{\"tag\":\"QX-9A\",\"interface\":\"sma\",\"sex\":\"pin\"}";
    let item = |ends: &str, more: &str| {
        format!("{{\"tag\":\"QX-9\",\"kind\":\"adapter\",\"ends\":[{ends}],\"person\":\"lead-1\"{more}}}")
    };
    assert_eq!(server.post("/api/v1/items", "", &item(&end.replace("sma", "banana"), "")).0, 422);
    assert_eq!(server.get("/api/v1/items/QX-9").0, 404, "nothing half written");
    let (status, _, body) = server.post("/api/v1/items", "", &item(end, ""));
    assert_eq!(status, 201, "{body}");
    assert_eq!(server.post("/api/v1/items", "", &item(end, "")).0, 422, "the label is taken");
    let lost = item("", ",\"because\":\"x\"");
    let (status, _, body) = server.post("/api/v1/items/QX-9/amendments", "", &lost);
    assert_eq!((status, body.contains("retired")), (422, true), "{body}");
    let right = item(end, ",\"serial\":\"S-7\",\"because\":\"read it on the body\"");
    assert_eq!(server.post("/api/v1/items/QX-9/amendments", "", &right).0, 201);
    let (_, _, body) = server.get("/api/v1/items/QX-9");
    assert!(body.contains("\"serial\":\"S-7\"") && body.contains("read it on the body"), "{body}");
    let (code, _, errors) = run(
        &server.data,
        &["--person", "lead-1", "register", "QX-10", "--kind", "adapter", "--end", "QX-10A,sma,pin,brass"],
    );
    assert_eq!(code, 0, "{errors}");
    assert!(server.get("/api/v1/items/QX-10A").2.contains("\"body\":\"brass\""));
}

#[test]
fn a_look_keeps_its_marks_and_its_photo_and_refuses_what_is_no_picture() {
    let server = Server::start();
    let look = "/api/v1/looks?end=CB-014A&outcome=normal-wear&person=t-1&marks=3%3Amating-plane%3Adented-rim";
    let (status, _, body) = server.post(look, "", "<svg/>");
    assert_eq!((status, body.contains("\"field\":\"photo\"")), (422, true), "{body}");
    let (status, _, body) = server.post(&look.replace("3%3A", "13%3A"), "", "");
    assert_eq!((status, body.contains("\"field\":\"marks\"")), (422, true), "{body}");
    assert_eq!(server.post(look, "", "GIF89a").0, 422);

    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("face.png");
    std::fs::write(&file, b"\x89PNG\r\n\x1a\n and the rest").unwrap();
    let args = ["--json", "--person", "t-1", "inspect", "CB-014A", "--outcome", "good", "--mark"];
    let mut all = args.to_vec();
    all.extend(["9:coupling", "--photo", file.to_str().unwrap()]);
    let (code, out, errors) = run(&server.data, &all);
    assert_eq!(code, 0, "{errors}");
    let fact = out.split("\"facts\":[\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let (_, _, kept) = server.get("/api/v1/ends/CB-014A/kept");
    assert!(kept.contains("\"clock\":9") && kept.contains("image/png"), "{kept}");
    assert!(
        server.get("/api/v1/items/CB-014/kept").2.contains(&fact),
        "the item shows the looks of its ends"
    );
    assert!(server.get("/api/v1/items/CB-014B/kept").2.contains(&fact), "also asked by its other end");
    assert!(!server.get("/api/v1/ends/CB-014B/kept").2.contains(&fact), "the other end was not looked at");
    let (code, _, _) = run(&server.data, &["verify"]);
    assert_eq!(code, 0);
    assert_eq!(server.get(&format!("/api/v1/looks/{fact}/nothing")).0, 404);
    let mut bytes = Vec::new();
    let mut stream = std::net::TcpStream::connect(&server.address).unwrap();
    std::io::Write::write_all(
        &mut stream,
        format!(
            "GET /api/v1/looks/{fact}/photo HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            server.address
        )
        .as_bytes(),
    )
    .unwrap();
    std::io::Read::read_to_end(&mut stream, &mut bytes).unwrap();
    assert!(bytes.ends_with(b"\x89PNG\r\n\x1a\n and the rest"));
    let head = String::from_utf8_lossy(&bytes).to_lowercase();
    assert!(head.contains("content-type: image/png") && head.contains("nosniff"), "{head}");
}
