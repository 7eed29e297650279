//! What happens at the door: one line of log for each request, and numbers for
//! Prometheus (text format 0.0.4).
//!
//! Only the pattern of a path is told, never what stands in its place: a path
//! may hold a secret address, and a query or body a person's words.

use crate::{AppState, answer};
use axum::{
    extract::{MatchedPath, Request, State},
    http::{StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Response},
};
use std::{
    collections::BTreeMap,
    fmt::Write as _,
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};
use utoipa_axum::{router::OpenApiRouter, routes};

/// Upper bounds of the histogram, in seconds.
const BOUNDS: [f64; 9] = [0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0];

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(metrics))
}

#[derive(Debug, Default, Clone)]
struct Times {
    within: [u64; BOUNDS.len()],
    count: u64,
    seconds: f64,
}

type Seen = (String, String);

/// Numbers since the start.
#[derive(Debug, Default)]
pub(crate) struct Watch {
    statuses: Mutex<BTreeMap<(Seen, u16), u64>>,
    times: Mutex<BTreeMap<Seen, Times>>,
}

/// Takes a line of log without its end.
pub type LogSink = Arc<dyn Fn(&str) + Send + Sync>;

/// How lines of log look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogFormat {
    /// Words for a person.
    Text,
    /// One JSON object each.
    Json,
}

/// Who a request was from, told on the way back.
#[derive(Debug, Clone)]
pub(crate) struct By(pub(crate) String);

impl Watch {
    fn note(&self, seen: &Seen, status: u16, took: Duration) {
        *self
            .statuses
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .entry((seen.clone(), status))
            .or_default() += 1;
        let mut times = self.times.lock().unwrap_or_else(PoisonError::into_inner);
        let times = times.entry(seen.clone()).or_default();
        let seconds = took.as_secs_f64();
        times.count += 1;
        times.seconds += seconds;
        for (within, bound) in times.within.iter_mut().zip(BOUNDS) {
            *within += u64::from(seconds <= bound);
        }
    }

    fn text(&self) -> String {
        let mut out = String::from(
            "# HELP matewell_http_requests_total Requests answered, by route and status.\n\
             # TYPE matewell_http_requests_total counter\n",
        );
        for (((method, route), status), count) in
            self.statuses.lock().unwrap_or_else(PoisonError::into_inner).iter()
        {
            let _ = writeln!(
                out,
                "matewell_http_requests_total{{method=\"{method}\",route=\"{route}\",status=\"{status}\"}} {count}"
            );
        }
        out.push_str(
            "# HELP matewell_http_request_seconds Time until the head of the answer, by route.\n\
             # TYPE matewell_http_request_seconds histogram\n",
        );
        for ((method, route), times) in self.times.lock().unwrap_or_else(PoisonError::into_inner).iter() {
            let labels = format!("method=\"{method}\",route=\"{route}\"");
            for (within, bound) in times.within.iter().zip(BOUNDS) {
                let _ =
                    writeln!(out, "matewell_http_request_seconds_bucket{{{labels},le=\"{bound}\"}} {within}");
            }
            let Times { count, seconds, .. } = times;
            let _ = writeln!(out, "matewell_http_request_seconds_bucket{{{labels},le=\"+Inf\"}} {count}");
            let _ = writeln!(out, "matewell_http_request_seconds_sum{{{labels}}} {seconds}");
            let _ = writeln!(out, "matewell_http_request_seconds_count{{{labels}}} {count}");
        }
        out
    }
}

/// Counts and logs what passes.
pub(crate) async fn watch(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let started = state.now().microseconds();
    let method = match request.method().as_str() {
        known @ ("GET" | "HEAD" | "POST" | "OPTIONS" | "PUT" | "DELETE" | "PATCH") => known.to_owned(),
        _ => "other".to_owned(),
    };
    let route = request
        .extensions()
        .get::<MatchedPath>()
        .map_or_else(|| "page".to_owned(), |path| path.as_str().to_owned());
    let response = next.run(request).await;
    let took = state.now().microseconds().saturating_sub(started);
    // A clock that was set back in between says nothing about the time.
    let took = Duration::from_micros(u64::try_from(took).unwrap_or(0));
    let status = response.status().as_u16();
    if let Some((format, sink)) = state.log() {
        let by = response.extensions().get::<By>().map(|by| by.0.as_str());
        let at = matewell_wire::moment_text(state.now());
        let milliseconds = took.as_secs_f64() * 1000.0;
        let line = match format {
            LogFormat::Json => serde_json::json!({
                "at": at, "event": "request", "method": method, "route": route, "status": status,
                "milliseconds": (milliseconds * 1000.0).round() / 1000.0, "person": by,
            })
            .to_string(),
            LogFormat::Text => {
                format!("{at} {method} {route} {status} {milliseconds:.1} ms {}", by.unwrap_or("-"))
            }
        };
        sink(&line);
    }
    state.watch().note(&(method, route), status, took);
    response
}

/// Numbers for Prometheus (text format 0.0.4): requests and times by route,
/// and how much the lab holds. A token with the right `read` may ask.
#[utoipa::path(get, path = "/api/v1/metrics", responses((status = 200, description = "The numbers", content_type = "text/plain")))]
pub(crate) async fn metrics(State(state): State<AppState>) -> Response {
    let replica = state.replica().cloned();
    let asked = state
        .run(move |shop| {
            let reads = match replica {
                Some(replica) => Some(replica.told(shop.store().position()?)),
                None => None,
            };
            Ok((shop.store().counts()?, reads))
        })
        .await;
    let (counts, reads) = match asked {
        Ok(found) => found,
        Err(error) => return answer::from_error(&error),
    };
    let mut text = state.watch().text();
    for (name, what, value) in [
        ("matewell_facts", "Facts on record.", counts.facts),
        ("matewell_items", "Items registered.", counts.items),
        ("matewell_ends", "Ends registered.", counts.ends),
    ] {
        let _ = write!(text, "# HELP {name} {what}\n# TYPE {name} gauge\n{name} {value}\n");
    }
    if let Some(reads) = reads {
        let up = u64::from(reads.behind_bytes.is_some());
        let mut rows = vec![
            ("matewell_replica_up", "Whether the replica can be asked.", "gauge", up),
            (
                "matewell_questions_by_replica_total",
                "Questions the replica answered.",
                "counter",
                reads.by_replica,
            ),
            (
                "matewell_questions_by_primary_total",
                "Questions the primary answered.",
                "counter",
                reads.by_primary,
            ),
        ];
        let lag = reads
            .behind_bytes
            .map(|bytes| ("matewell_replica_behind_bytes", "How far the replica is behind.", "gauge", bytes));
        let age = reads.lag_ms.map(|ms| {
            ("matewell_replica_lag_milliseconds", "Age of its newest write when it is behind.", "gauge", ms)
        });
        rows.extend(lag.into_iter().chain(age));
        for (name, what, kind, value) in rows {
            let _ = write!(text, "# HELP {name} {what}\n# TYPE {name} {kind}\n{name} {value}\n");
        }
    }
    (StatusCode::OK, [(header::CONTENT_TYPE, "text/plain; version=0.0.4; charset=utf-8")], text)
        .into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn buckets_count_up_and_end_with_all() {
        let watch = Watch::default();
        let seen = ("GET".to_owned(), "/api/v1/ends/{tag}".to_owned());
        for ms in [1, 2, 20, 20_000] {
            watch.note(&seen, if ms > 1000 { 500 } else { 200 }, Duration::from_millis(ms));
        }
        let text = watch.text();
        let labels = "method=\"GET\",route=\"/api/v1/ends/{tag}\"";
        for (le, count) in [("0.001", 1), ("0.003", 2), ("0.01", 2), ("0.03", 3), ("10", 3), ("+Inf", 4)] {
            let line = format!("matewell_http_request_seconds_bucket{{{labels},le=\"{le}\"}} {count}\n");
            assert!(text.contains(&line), "{line}{text}");
        }
        assert!(text.contains(&format!("matewell_http_request_seconds_sum{{{labels}}} 20.023\n")), "{text}");
        assert!(
            text.contains(&format!("matewell_http_requests_total{{{labels},status=\"500\"}} 1\n")),
            "{text}"
        );
    }
}
