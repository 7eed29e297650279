//! Standings as they change, as Server-Sent Events.

use crate::AppState;
use axum::{
    extract::State,
    response::sse::{Event, KeepAlive, Sse},
};
use std::convert::Infallible;
use tokio_stream::{Stream, StreamExt, wrappers::BroadcastStream};

/// Standings of ends after each write; event name `standing`.
#[utoipa::path(get, path = "/api/v1/events", responses((status = 200, description = "text/event-stream of StandingEvent", content_type = "text/event-stream", body = crate::StandingEvent)))]
pub(crate) async fn events(
    State(state): State<AppState>,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let stream = BroadcastStream::new(state.subscribe()).filter_map(|event| {
        // A listener that fell behind skips what it missed and reloads anyway.
        let event = event.ok()?;
        Some(Ok(Event::default().event("standing").data(serde_json::to_string(&event).ok()?)))
    });
    Sse::new(stream).keep_alive(KeepAlive::default())
}
