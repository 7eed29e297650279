//! Clients that are slow or send too much, over raw sockets: each is cut after
//! a stated time, and nobody else waits for it.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]
#![expect(clippy::disallowed_methods, reason = "what is tested is how long something takes")]

mod support;

use std::{
    io::{Read as _, Write as _},
    net::TcpStream,
    thread,
    time::{Duration, Instant},
};
use support::{Server, run};

/// What the documents say.
const STATED: Duration = Duration::from_secs(15);
const PATIENCE: Duration = Duration::from_secs(12);

/// Sends a beginning at once and the rest in pieces, until the server has had
/// enough. What it answered, and after how long.
fn drip(address: &str, at_once: &[u8], rest: &[u8], piece: usize, pause: Duration) -> (String, Duration) {
    let begun = Instant::now();
    let mut stream = TcpStream::connect(address).unwrap();
    let mut reader = stream.try_clone().unwrap();
    let answered = thread::spawn(move || {
        reader.set_read_timeout(Some(STATED + PATIENCE + STATED)).unwrap();
        let mut answer = Vec::new();
        let mut buffer = [0; 4096];
        // A reset after the answer is an end too.
        while let Ok(read @ 1..) = reader.read(&mut buffer) {
            answer.extend_from_slice(&buffer[..read]);
        }
        (String::from_utf8_lossy(&answer).into_owned(), begun.elapsed())
    });
    let _closed = stream.write_all(at_once);
    for bytes in rest.chunks(piece) {
        thread::sleep(pause);
        if answered.is_finished() || stream.write_all(bytes).is_err() {
            break;
        }
    }
    answered.join().unwrap()
}

fn post(path: &str, more: &str) -> String {
    format!("POST /api/v1/{path} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n{more}\r\n")
}

#[test]
fn slow_clients_are_cut_after_the_stated_time_and_hold_nobody_up() {
    let server = Server::start();
    let before = run(&server.data, &["export"]).1.lines().count();
    let byte_by_byte = |at_once: String, rest: String| {
        let address = server.address.clone();
        thread::spawn(move || {
            drip(&address, at_once.as_bytes(), rest.as_bytes(), 1, Duration::from_millis(300))
        })
    };
    let hold = "{\"end\":\"CB-014A\",\"because\":\"odd\",\"person\":\"bench-1\",\"note\":\"";
    let length = format!("Content-Length: {}\r\n", 4000);
    let heads = [
        ("silent", byte_by_byte(String::new(), String::new())),
        (
            "a head",
            byte_by_byte(
                "GET /api/v1/due HTTP/1.1\r\nHost: localhost\r\nX-Slow: ".to_owned(),
                "x".repeat(200),
            ),
        ),
        ("a preface", byte_by_byte(String::new(), "PRI * HTTP/2.0\r\n\r\n".to_owned())),
    ];
    let bodies = [
        ("a body", byte_by_byte(post("holds", &length) + hold, "x".repeat(200))),
        ("chunks", byte_by_byte(post("holds", "Transfer-Encoding: chunked\r\n"), "1\r\nx\r\n".repeat(40))),
        (
            "a form",
            byte_by_byte(
                post("sweep/compare", &length).replace("application/json", "multipart/form-data; boundary=b")
                    + "--b\r\nContent-Disposition: form-data; name=\"now\"; filename=\"a.s1p\"\r\n\r\n",
                "x".repeat(200),
            ),
        ),
    ];
    // Many more of them, and one at a pace of about 40 kB a second for 18 s.
    let crowd: Vec<_> =
        (0..40).map(|_| byte_by_byte(post("holds", &length) + hold, "y".repeat(200))).collect();
    let steady = {
        let (address, size) = (server.address.clone(), 720_000);
        thread::spawn(move || {
            let head = post("holds", &format!("Content-Length: {size}\r\nConnection: close\r\n"));
            drip(&address, head.as_bytes(), &vec![b' '; size], 4_000, Duration::from_millis(100))
        })
    };
    // Meanwhile everybody else is answered.
    let begun = Instant::now();
    let mut longest = Duration::ZERO;
    while begun.elapsed() < STATED {
        let asked = Instant::now();
        assert_eq!(server.get("/api/v1/ends?limit=1").0, 200);
        longest = longest.max(asked.elapsed());
        thread::sleep(Duration::from_millis(200));
    }
    assert!(longest < Duration::from_secs(5), "somebody waited for {longest:?}");
    let stated = |what: &str, took: Duration| {
        let early = STATED.checked_sub(Duration::from_secs(1)).unwrap();
        assert!(took > early && took < STATED + PATIENCE, "{what}: {took:?}");
    };
    for (what, client) in heads {
        let (answer, took) = client.join().unwrap();
        assert!(answer.is_empty() || answer.starts_with("HTTP/1.1 408"), "{what}: {answer}");
        stated(what, took);
    }
    for (what, client) in bodies.into_iter().chain(crowd.into_iter().map(|client| ("one of many", client))) {
        let (answer, took) = client.join().unwrap();
        assert!(
            answer.starts_with("HTTP/1.1 408 ") && answer.contains("\"code\":\"too-slow\""),
            "{what}: {answer}"
        );
        assert!(answer.to_lowercase().contains("\r\nconnection: close\r\n"), "{what}: {answer}");
        stated(what, took);
    }
    let (answer, took) = steady.join().unwrap();
    assert!(answer.starts_with("HTTP/1.1 422 ") && answer.contains("bad-field"), "{answer}");
    assert!(took > STATED, "{took:?}");
    assert_eq!(run(&server.data, &["export"]).1.lines().count(), before, "nothing of them was written");
}

#[test]
fn what_is_too_large_is_refused_before_it_is_read() {
    let server = Server::start();
    // Only the head is sent: whoever answers has not read the body.
    for (path, most) in [
        ("holds", 33_554_432_u64),
        ("mates/bulk", 33_554_432),
        ("import", 33_554_432),
        ("looks", 16_777_216),
        ("validation", 2_000_000),
        ("sweeps", 67_108_864),
        ("sweep/compare", 134_217_728),
    ] {
        for length in [most + 1, 99_999_999_999] {
            let head = post(path, &format!("Content-Length: {length}\r\n"));
            let (answer, took) = drip(&server.address, head.as_bytes(), &[], 1, Duration::ZERO);
            assert!(answer.starts_with("HTTP/1.1 413 "), "{path}: {answer}");
            assert!(answer.contains(&format!("at most {most} bytes, found {length}")), "{path}: {answer}");
            assert!(took < PATIENCE, "{path}: {took:?}");
        }
    }
    // Without a length it is refused as soon as it is too large.
    let head = post("validation", "Transfer-Encoding: chunked\r\n");
    let chunk = format!("10000\r\n{}\r\n", "z".repeat(0x1_0000));
    let (answer, took) =
        drip(&server.address, head.as_bytes(), chunk.repeat(40).as_bytes(), chunk.len(), Duration::ZERO);
    assert!(answer.starts_with("HTTP/1.1 413 ") && took < PATIENCE, "{took:?}: {answer}");
    // A head too long is refused too.
    let head = format!("GET /api/v1/due HTTP/1.1\r\nHost: localhost\r\nX-Long: {}", "x".repeat(1_000_000));
    let (answer, _) = drip(&server.address, head.as_bytes(), &[], 1, Duration::ZERO);
    assert!(answer.is_empty() || answer.starts_with("HTTP/1.1 431 "), "{answer}");
    assert_eq!(server.get("/api/v1/due").0, 200);
}
