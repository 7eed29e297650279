use super::*;
use axum::{Router, body::Body};
use matewell_app::{Role, UuidV7, Workshop};
use matewell_lab::Moment;
use tower::ServiceExt as _;

const NOW: Moment = Moment::from_microseconds(1_800_000_000_000_000);
const PASSWORD: &str = "a password of the tests";

/// The smallest hash Argon2id allows: quick in tests.
const QUICK: &str = "$argon2id$v=19$m=8,t=1,p=1$c2FsdHNhbHRzYWx0$";

struct Lab {
    app: Router,
    /// Secret of a token or session by name.
    secrets: HashMap<&'static str, String>,
}

fn lab(served: Served, people: bool) -> Lab {
    let mut shop = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
    let mut secrets = HashMap::new();
    if people {
        let hash = || format!("{QUICK}0000000000000000000000");
        let admin = shop.first_administrator("", true, "Mara Lind", hash(), NOW).unwrap();
        secrets.insert("administrator", admin);
        for (name, role) in [("reader", Role::Reader), ("technician", Role::Technician), ("lead", Role::Lead)]
        {
            shop.add_person(name, &[role], None, "Mara Lind", NOW).unwrap();
            let token = shop.new_token(name, "tests", role.rights(), 30, "Mara Lind", NOW).unwrap();
            secrets.insert(name, token.secret);
        }
    }
    let state = AppState::new(shop, || NOW).served_as(served);
    Lab { app: crate::router(state), secrets }
}

const NETWORK: Served = Served { here: false, secure_cookie: true, behind_proxy: false };

async fn ask(
    app: &Router,
    request: axum::http::request::Builder,
    body: &str,
) -> (StatusCode, HeaderMap, String) {
    let response = app.clone().oneshot(request.body(Body::from(body.to_owned())).unwrap()).await.unwrap();
    let (parts, body) = response.into_parts();
    // A live stream has no end: its head is enough.
    let text = if parts.headers.get(header::CONTENT_TYPE).is_some_and(|t| t == "text/event-stream") {
        String::new()
    } else {
        String::from_utf8_lossy(&axum::body::to_bytes(body, 1 << 24).await.unwrap()).into_owned()
    };
    (parts.status, parts.headers, text)
}

fn request(method: &str, path: &str) -> axum::http::request::Builder {
    Request::builder().method(method).uri(path).header(header::HOST, "lab.example:7373")
}

/// Every method and path of the description, with something in the place of
/// each parameter.
fn described() -> Vec<(String, String, String)> {
    let document: serde_json::Value = serde_json::from_str(&crate::openapi_json()).unwrap();
    let mut all = Vec::new();
    for (path, item) in document["paths"].as_object().unwrap() {
        for method in item.as_object().unwrap().keys() {
            let filled: String = path
                .split('/')
                .map(|part| if part.starts_with('{') { "x" } else { part })
                .collect::<Vec<_>>()
                .join("/");
            all.push((method.to_uppercase(), path.clone(), filled));
        }
    }
    all
}

/// A request as this one: a session by cookie, the others by token.
fn by(lab: &Lab, who: &str, builder: axum::http::request::Builder) -> axum::http::request::Builder {
    let secret = &lab.secrets[who];
    if who == "administrator" {
        builder.header(header::COOKIE, format!("other=1; {COOKIE}={secret}"))
    } else {
        builder.header(header::AUTHORIZATION, format!("Bearer {secret}"))
    }
}

#[test]
fn every_described_route_is_in_the_table_and_every_row_is_described() {
    let described = described();
    for (method, path, _) in &described {
        let method = Method::from_bytes(method.as_bytes()).unwrap();
        assert!(
            matches!(needed(&method, path), Needed::Right(_)),
            "{method} {path} needs no right: add it to TABLE"
        );
    }
    let mut rows = 0;
    for (_, method, paths) in TABLE {
        for path in *paths {
            rows += 1;
            let known = described.iter().any(|(m, p, _)| m == method && p == path);
            assert!(known || *path == "/api/v1/openapi.json", "{method} {path} is no route");
        }
    }
    assert_eq!(rows, described.len() + 1, "a row is there twice");
    // What is open needs a reason; this list is where one is asked for.
    let open: Vec<&str> =
        TABLE.iter().filter(|(r, ..)| *r == Right::Open).flat_map(|(.., p)| p.iter().copied()).collect();
    assert_eq!(
        open,
        [
            "/api/v1/openapi.json",
            "/api/v1/session",
            "/api/v1/calendar/{secret}",
            "/api/v1/session",
            "/api/v1/session/first"
        ]
    );
}

#[tokio::test]
async fn without_a_right_every_route_refuses() {
    let lab = lab(NETWORK, true);
    let (mut shut, mut forbidden) = (0, 0);
    for (method, path, filled) in described() {
        let m = Method::from_bytes(method.as_bytes()).unwrap();
        let Needed::Right(right) = needed(&m, &path) else { panic!("{method} {path}") };
        if right == Right::Open {
            continue;
        }
        let (status, headers, body) = ask(&lab.app, request(&method, &filled), "{}").await;
        assert_eq!(status, StatusCode::UNAUTHORIZED, "{method} {path} without a sign-in: {body}");
        assert_eq!(headers[header::CONTENT_TYPE], "application/problem+json");
        assert!(headers.contains_key(header::WWW_AUTHENTICATE) && body.contains("\"code\":\"sign-in\""));
        let nobody = request(&method, &filled).header(header::AUTHORIZATION, "Bearer mw_nobody");
        assert_eq!(ask(&lab.app, nobody, "{}").await.0, StatusCode::UNAUTHORIZED, "{method} {path}");
        shut += 1;
        for who in ["reader", "technician", "lead", "administrator"] {
            let role = match who {
                "reader" => vec![Right::Read],
                "technician" => vec![Right::Read, Right::Work],
                "lead" => vec![Right::Read, Right::Work, Right::Decide],
                _ => Right::GIVEN.into_iter().chain([Right::Own]).collect(),
            };
            if role.contains(&right) {
                continue;
            }
            let (status, _, body) = ask(&lab.app, by(&lab, who, request(&method, &filled)), "{}").await;
            assert_eq!(status, StatusCode::FORBIDDEN, "{method} {path} by {who}: {body}");
            assert!(body.contains("\"code\":\"no-right\"") && body.contains(who), "{body}");
            forbidden += 1;
        }
    }
    assert!(shut > 110 && forbidden > 70, "{shut} {forbidden}");
}

#[tokio::test]
async fn with_the_right_a_route_is_reached() {
    let lab = lab(NETWORK, true);
    for (who, method, path, expected) in [
        ("reader", "GET", "/api/v1/due", 200),
        ("reader", "HEAD", "/api/v1/due", 200),
        ("reader", "GET", "/api/v1/events", 200),
        ("technician", "POST", "/api/v1/cleanings", 422),
        ("lead", "POST", "/api/v1/releases", 422),
        ("administrator", "GET", "/api/v1/people", 200),
        ("administrator", "POST", "/api/v1/due", 405),
        ("reader", "GET", "/api/v1/nothing", 404),
    ] {
        let (status, _, body) = ask(&lab.app, by(&lab, who, request(method, path)), "{}").await;
        assert_eq!(status.as_u16(), expected, "{who} {method} {path}: {body}");
    }
    let (status, headers, _) = ask(&lab.app, by(&lab, "reader", request("GET", "/api/v1/due")), "").await;
    assert_eq!(
        (status.as_u16(), &headers[header::CACHE_CONTROL]),
        (200, &HeaderValue::from_static("no-store"))
    );
}

#[tokio::test]
async fn one_person_alone_needs_no_sign_in_on_the_loopback_address_only() {
    let here = lab(Served::default(), false);
    let local = |method: &str, path: &str| {
        Request::builder().method(method).uri(path).header(header::HOST, "127.0.0.1:7373")
    };
    assert_eq!(ask(&here.app, local("GET", "/api/v1/due"), "").await.0, 200);
    let (_, _, body) = ask(&here.app, local("GET", "/api/v1/session"), "").await;
    assert!(body.contains("\"people\":false,\"alone\":true"), "{body}");
    assert_eq!(
        ask(&here.app, request("GET", "/api/v1/due"), "").await.0,
        403,
        "another name for this machine"
    );
    let wide = lab(NETWORK, false);
    let (status, _, body) = ask(&wide.app, request("GET", "/api/v1/due"), "").await;
    assert_eq!((status.as_u16(), body.contains("the code printed")), (401, true), "{body}");
    let staffed = lab(Served::default(), true);
    assert_eq!(
        ask(&staffed.app, local("GET", "/api/v1/due"), "").await.0,
        401,
        "with people nobody is alone"
    );
}

#[tokio::test]
async fn another_site_in_the_same_browser_may_not_ask() {
    let lab = lab(NETWORK, true);
    let hold = "{\"end\":\"CB-1A\",\"because\":\"odd\"}";
    for (name, value, expected) in [
        ("origin", "https://lab.example:7373", 404),
        ("origin", "https://evil.example", 403),
        ("origin", "null", 403),
        ("sec-fetch-site", "same-origin", 404),
        ("sec-fetch-site", "same-site", 403),
        ("sec-fetch-site", "cross-site", 403),
    ] {
        let request = by(&lab, "administrator", request("POST", "/api/v1/holds")).header(name, value);
        let (status, _, body) = ask(&lab.app, request, hold).await;
        assert_eq!(status.as_u16(), expected, "{name}: {value}: {body}");
    }
}

#[tokio::test]
async fn a_fact_is_by_whoever_is_signed_in() {
    let lab = lab(NETWORK, true);
    let item = |tag: &str, person: &str| {
        format!("{{\"tag\":\"{tag}\",\"kind\":\"cable\",\"description\":\"\",\"ends\":[]{person}}}")
    };
    let (status, _, body) =
        ask(&lab.app, by(&lab, "technician", request("POST", "/api/v1/items")), &item("CB-1", "")).await;
    assert_eq!(status, 201, "{body}");
    let other = item("CB-2", ",\"person\":\"Mara Lind\"");
    let (status, _, body) =
        ask(&lab.app, by(&lab, "technician", request("POST", "/api/v1/items")), &other).await;
    assert_eq!((status.as_u16(), body.contains("Mara Lind")), (403, true), "{body}");
    let (_, _, facts) = ask(&lab.app, by(&lab, "reader", request("GET", "/api/v1/export")), "").await;
    assert!(facts.contains("CB-1") && facts.contains("\"technician\"") && !facts.contains("CB-2"), "{facts}");
}

#[tokio::test]
async fn signing_in_sets_a_cookie_no_script_can_read_and_tries_are_counted() {
    let lab = lab(NETWORK, false);
    let first = format!("{{\"code\":\"\",\"name\":\"Mara Lind\",\"password\":\"{PASSWORD}\"}}");
    let (status, _, body) = ask(&lab.app, request("POST", "/api/v1/session/first"), &first).await;
    assert_eq!((status.as_u16(), body.contains("the code printed")), (401, true), "{body}");
    let here = super::tests::lab(Served::default(), false);
    let local = |path: &str| Request::builder().method("POST").uri(path).header(header::HOST, "localhost");
    let (status, headers, body) = ask(&here.app, local("/api/v1/session/first"), &first).await;
    assert_eq!(status, 200, "{body}");
    assert!(body.contains("\"administer\""), "{body}");
    let cookie = headers[header::SET_COOKIE].to_str().unwrap().to_owned();
    assert!(cookie.contains("; HttpOnly; SameSite=Strict;") && !cookie.contains("Secure"), "{cookie}");
    let wrong = "{\"name\":\"Mara Lind\",\"password\":\"not the password\"}";
    let (status, _, body) = ask(&here.app, local("/api/v1/session"), wrong).await;
    assert_eq!((status.as_u16(), body.contains("no such pair")), (401, true), "{body}");
    let right = format!("{{\"name\":\" mara lind\",\"password\":\"{PASSWORD}\"}}");
    let (status, headers, _) = ask(&here.app, local("/api/v1/session"), &right).await;
    assert_eq!(status, 200);
    let cookie = headers[header::SET_COOKIE].to_str().unwrap().split(';').next().unwrap().to_owned();
    let own = "{\"before\":\"a password of the tests\",\"password\":\"short\"}";
    let change = local("/api/v1/session/password").header(header::COOKIE, &cookie);
    assert_eq!(ask(&here.app, change, own).await.0, 422);
    let out = local("/api/v1/session/end").header(header::COOKIE, &cookie);
    assert_eq!(ask(&here.app, out, "").await.0, 200);
    let out = local("/api/v1/session/end").header(header::COOKIE, &cookie);
    assert_eq!(ask(&here.app, out, "").await.0, 401);
    let mut last = (StatusCode::OK, HeaderMap::new(), String::new());
    for _ in 0..20 {
        last = ask(&here.app, local("/api/v1/session"), "{\"name\":\"who\",\"password\":\"\"}").await;
    }
    assert_eq!(last.0, StatusCode::TOO_MANY_REQUESTS, "{}", last.2);
    assert!(last.1.contains_key(header::RETRY_AFTER));
    let behind = Served { behind_proxy: true, ..NETWORK };
    let mut headers = HeaderMap::new();
    headers.insert("x-forwarded-for", HeaderValue::from_static("10.0.0.9, 10.0.0.7"));
    assert_eq!(address(behind, &headers, None), "10.0.0.7");
    assert_eq!(address(NETWORK, &headers, None), "here");
    let _ = lab.secrets;
}
