//! Dossiers, cleaning and what is due at one place, at both doors.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

mod support;

use serde_json::Value;
use support::{Server, run};

const AS_OF: &str = "2026-11-25T09:00:00Z";

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn dossiers_and_cleaning_are_the_same_at_both_doors() {
    let server = Server::start();
    let case = "{\"ends\":[\"CB-009A\"],\"because\":\"for paper\",\"person\":\"lead-1\"}";
    let (status, _, opened) = server.post("/api/v1/cases", "", case);
    assert_eq!(status, 201, "{opened}");
    let name = json(&opened)["case"]["case"]["name"].as_str().unwrap().to_owned();
    let later = "2999-01-01T00:00:00Z";
    for (path, as_of, args) in [
        ("/api/v1/ends/CB-009A/clean-guide?", AS_OF, vec!["clean-guide", "CB-009A"]),
        ("/api/v1/ends/CB-009A/dossier?", AS_OF, vec!["dossier", "CB-009A"]),
        (&*format!("/api/v1/cases/{name}/dossier?"), later, vec!["dossier", "--case", &*name]),
    ] {
        let path = path.replace(' ', "%20");
        let (status, _, body) = server.get(&format!("{path}as_of={as_of}"));
        let mut all = vec!["--json", "--as-of", as_of];
        all.extend(args);
        let (_, out, errors) = run(&server.data, &all);
        assert_eq!(status, 200, "{path}: {body}");
        assert!(body == out, "{path}: the two doors differ: {errors}");
    }
}

#[test]
fn a_dossier_names_the_last_fact_of_the_log_and_every_reading() {
    let server = Server::start();
    let (_, _, before) = server.get("/api/v1/ends/CB-014A/dossier");
    let before = json(&before);
    let number = before["log"]["number"].as_u64().unwrap();
    assert_eq!(json(&server.get("/api/v1/verify").2)["facts"].as_u64(), Some(number));
    assert_eq!(before["log"]["hash"].as_str().map(str::len), Some(64));
    let gaugings = before["gaugings"].as_array().unwrap();
    assert!(!gaugings.is_empty());
    for gauging in gaugings {
        assert!(!gauging["readings"].as_array().unwrap().is_empty(), "{gauging}");
        assert!(gauging["person"].as_str().is_some_and(|who| !who.is_empty()), "{gauging}");
        let fact = gauging["point"]["fact"].as_str().unwrap();
        let history = before["end"]["history"].as_array().unwrap();
        assert!(history.iter().any(|event| event["fact"] == fact), "{fact}");
    }
    let (status, _, body) =
        server.post("/api/v1/cleanings", "", "{\"end\":\"CB-014A\",\"person\":\"technician-1\"}");
    assert_eq!(status, 201, "{body}");
    let after = json(&server.get("/api/v1/ends/CB-014A/dossier").2);
    assert_eq!(after["log"]["number"].as_u64(), Some(number + 1));
    assert_ne!(after["log"]["hash"], before["log"]["hash"]);
    assert!(json(&server.get("/api/v1/ends/CB-014A/clean-guide").2)["cleaned_at"].is_string());
}

#[test]
fn a_result_is_in_the_dossier_of_every_end_it_went_through() {
    let server = Server::start();
    let mut seen = 0;
    for end in ["CB-009A", "CB-014A", "CB-014B"] {
        let dossier = json(&server.get(&format!("/api/v1/ends/{end}/dossier")).2);
        for result in dossier["results"].as_array().unwrap() {
            assert!(result["chain"].as_array().unwrap().iter().any(|tag| tag == end), "{result}");
            seen += 1;
        }
    }
    assert!(seen > 0, "the demo lab notes results through these ends");
}

#[test]
fn a_caution_about_what_is_behind_an_end_is_there_only_where_it_applies() {
    let server = Server::start();
    let item = |sensitive: bool, n: u8| {
        format!(
            "{{\"tag\":\"QX-{n}\",\"kind\":\"adapter\",\"person\":\"lead-1\",\"ends\":[{{\"tag\":\"QX-{n}A\",\
             \"interface\":\"sma\",\"sex\":\"pin\",\"static_sensitive\":{sensitive}}}]}}"
        )
    };
    assert_eq!(server.post("/api/v1/items", "", &item(true, 1)).0, 201);
    assert_eq!(server.post("/api/v1/items", "", &item(false, 2)).0, 201);
    let codes = |end: &str| -> Vec<String> {
        let guide = json(&server.get(&format!("/api/v1/ends/{end}/clean-guide")).2);
        let cautions = guide["cautions"].as_array().unwrap().clone();
        cautions.iter().map(|c| c["code"].as_str().unwrap().to_owned()).collect()
    };
    let (sensitive, plain) = (codes("QX-1A"), codes("QX-2A"));
    assert!(sensitive.iter().any(|c| c == "static") && !plain.iter().any(|c| c == "static"));
    for always in ["solvent", "gas", "eyes"] {
        assert!(plain.iter().any(|c| c == always), "{always}");
    }
    assert_eq!(server.get("/api/v1/ends/NO-SUCH-END/clean-guide").0, 404);
}

#[test]
fn what_is_due_at_a_place_is_a_part_of_what_is_due_with_the_ranks_of_the_whole() {
    let server = Server::start();
    let all = json(&server.get(&format!("/api/v1/due?as_of={AS_OF}")).2);
    let places = all["locations"].as_array().unwrap();
    assert!(places.len() > 1, "{places:?}");
    let of = |value: &Value| value["due"].as_array().unwrap().clone();
    let mut found = 0;
    for place in places {
        let place = place.as_str().unwrap();
        let spelled = place.to_uppercase().replace(' ', "%20");
        let path = format!("/api/v1/due?as_of={AS_OF}&location={spelled}");
        let (status, _, body) = server.get(&path);
        assert_eq!(status, 200, "{body}");
        let (code, out, _) =
            run(&server.data, &["--json", "--as-of", AS_OF, "due", "--location", &place.to_uppercase()]);
        assert_eq!((code, &out), (0, &body), "the two doors differ");
        let there = of(&json(&body));
        assert!(there.iter().all(|row| of(&all).contains(row)), "rows and ranks of the whole lab");
        assert!(there.iter().all(|row| row["location"].as_str().map(str::trim) == Some(place)));
        found += there.len();
    }
    let placed = of(&all).iter().filter(|row| row["location"].is_string()).count();
    assert_eq!(found, placed, "every row with a place is at one of them");
    let (status, _, body) = server.get("/api/v1/due?location=nowhere");
    assert_eq!((status, json(&body)["field"].as_str().unwrap()), (422, "location"), "{body}");
    assert!(body.contains(places[0].as_str().unwrap()), "it says which places there are: {body}");
}

#[test]
fn the_register_page_by_page_is_the_same_at_both_doors() {
    let server = Server::start();
    let first = json(&server.get("/api/v1/ends?limit=7").2);
    let last = first["ends"][6]["end"]["id"].as_str().unwrap();
    for (path, args) in [
        (format!("after={last}&limit=7"), vec!["--after", last, "--limit", "7"]),
        (
            format!("filter=cb&after={last}&offset=2&limit=3"),
            vec!["cb", "--after", last, "--offset", "2", "--limit", "3"],
        ),
    ] {
        let (status, _, body) = server.get(&format!("/api/v1/ends?{path}"));
        assert_eq!(status, 200, "{body}");
        let mut all = vec!["--json", "ends"];
        all.extend(args);
        assert_eq!(run(&server.data, &all).1, body, "the two doors differ");
        assert!(!json(&body)["ends"].as_array().unwrap().is_empty());
    }
    let next = json(&server.get("/api/v1/ends?offset=7&limit=7").2);
    assert_eq!(json(&server.get(&format!("/api/v1/ends?after={last}&limit=7")).2)["ends"], next["ends"]);
    for wrong in ["CB-001A", "00000000-0000-0000-0000-000000000000"] {
        let (status, _, body) = server.get(&format!("/api/v1/ends?after={wrong}"));
        assert_eq!((status, json(&body)["field"].as_str().unwrap()), (422, "after"), "{body}");
    }
}
