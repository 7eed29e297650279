//! How a body arrives: no larger than its route takes, and at a pace.

use crate::{BODY_LIMIT_BYTES, answer, sweep::SEVERAL_LIMIT_BYTES};
use axum::{
    body::{Body, BodyDataStream, Bytes},
    extract::{MatchedPath, Request},
    http::{HeaderValue, StatusCode, header},
    middleware::Next,
    response::Response,
};
use matewell_app::{MOST_PHOTO_BYTES, OWN_VALIDATION_BYTES, sweeps::MOST_SWEEP_BYTES};
use serde_json::Map;
use std::{
    io,
    pin::Pin,
    sync::{
        Arc,
        atomic::{AtomicU8, Ordering},
    },
    task::{Context, Poll},
    time::Duration,
};
use tokio::time::{Instant, Sleep};
use tokio_stream::Stream;

/// Every body may take this long.
const GRACE: Duration = Duration::from_secs(15);
/// And a second more for so many bytes: slower than any network of a lab.
const BYTES_A_SECOND: u64 = 16 * 1024;

/// Most bytes of a body of this route.
fn most_bytes(path: &str) -> usize {
    match path.trim_start_matches("/api/v1/") {
        "sweep/compare" | "sweep/cable" | "sweep/reconnect" => SEVERAL_LIMIT_BYTES,
        "looks" => MOST_PHOTO_BYTES,
        "validation" => OWN_VALIDATION_BYTES,
        rest if rest.starts_with("sweep") => MOST_SWEEP_BYTES,
        _ => BODY_LIMIT_BYTES,
    }
}

const ARRIVES: u8 = 0;
const TOO_SLOW: u8 = 1;
const TOO_LARGE: u8 = 2;

/// Refuses a body that says beforehand that it is too large before any of it
/// is read, and watches how the others arrive.
pub(crate) async fn watch_over(request: Request, next: Next) -> Response {
    let Some(path) = request.extensions().get::<MatchedPath>() else { return next.run(request).await };
    let most = most_bytes(path.as_str()) as u64;
    let told = request.headers().get(header::CONTENT_LENGTH);
    let told = told.and_then(|length| length.to_str().ok()?.parse::<u64>().ok());
    if told == Some(0) {
        return next.run(request).await;
    }
    if let Some(length) = told.filter(|length| *length > most) {
        return too_large(most, Some(length));
    }
    let how = Arc::new(AtomicU8::new(ARRIVES));
    let watched = Arc::clone(&how);
    let request = request.map(|body| {
        let body = body.into_data_stream();
        Body::from_stream(Arriving { body, most, how: watched, read: 0, started: None, until: None })
    });
    let response = next.run(request).await;
    match how.load(Ordering::Relaxed) {
        TOO_SLOW => {
            let seconds = GRACE.as_secs();
            let detail = format!(
                "expected the body within {seconds} s and a second more for each {BYTES_A_SECOND} bytes of it"
            );
            last(answer::problem(StatusCode::REQUEST_TIMEOUT, "too-slow", &detail, Map::new()))
        }
        TOO_LARGE => too_large(most, None),
        _ => response,
    }
}

fn too_large(most: u64, found: Option<u64>) -> Response {
    let found = found.map_or_else(|| "more".to_owned(), |found| found.to_string());
    let detail = format!("expected a body of at most {most} bytes, found {found}");
    last(answer::problem(StatusCode::PAYLOAD_TOO_LARGE, "too-large", &detail, Map::new()))
}

/// The rest of the body is not waited for.
fn last(mut response: Response) -> Response {
    response.headers_mut().insert(header::CONNECTION, HeaderValue::from_static("close"));
    response
}

/// A body on its way.
struct Arriving {
    body: BodyDataStream,
    most: u64,
    how: Arc<AtomicU8>,
    read: u64,
    started: Option<Instant>,
    until: Option<Pin<Box<Sleep>>>,
}

impl Arriving {
    fn stop(&self, how: u8) -> Poll<Option<io::Result<Bytes>>> {
        self.how.store(how, Ordering::Relaxed);
        Poll::Ready(Some(Err(io::Error::from(io::ErrorKind::TimedOut))))
    }
}

impl Stream for Arriving {
    type Item = io::Result<Bytes>;

    fn poll_next(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        let this = &mut *self;
        let started = *this.started.get_or_insert_with(Instant::now);
        match Pin::new(&mut this.body).poll_next(context) {
            Poll::Ready(Some(Ok(bytes))) => {
                this.read += bytes.len() as u64;
                if this.read > this.most {
                    return this.stop(TOO_LARGE);
                }
                // A pace that is kept is looked at also while bytes keep coming.
                if started.elapsed() > time_for(this.read) {
                    return this.stop(TOO_SLOW);
                }
                this.until = None;
                Poll::Ready(Some(Ok(bytes)))
            }
            Poll::Ready(end) => Poll::Ready(end.map(|piece| piece.map_err(io::Error::other))),
            Poll::Pending => {
                let end = started + time_for(this.read);
                let until = this.until.get_or_insert_with(|| Box::pin(tokio::time::sleep_until(end)));
                match until.as_mut().poll(context) {
                    Poll::Ready(()) => this.stop(TOO_SLOW),
                    Poll::Pending => Poll::Pending,
                }
            }
        }
    }
}

/// How long so many bytes may take.
fn time_for(bytes: u64) -> Duration {
    GRACE + Duration::from_secs(bytes / BYTES_A_SECOND)
}
