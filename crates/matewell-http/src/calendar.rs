//! What is due, for a calendar that knows a secret address.

use crate::{AppState, access::Address, answer};
use axum::{
    extract::{Extension, Path, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use matewell_app::{AppError, Right, Way};
use serde_json::Map;
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(calendar))
}

/// What is due, as a calendar (RFC 5545). Calendars send no password, so the
/// address is the secret; `.ics` may follow it.
#[utoipa::path(get, path = "/api/v1/calendar/{secret}", params(("secret" = String, Path, description = "Secret of the address")), responses(
    (status = 200, description = "The calendar", content_type = "text/calendar"),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 429, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn calendar(
    State(state): State<AppState>,
    Extension(from): Extension<Address>,
    Path(secret): Path<String>,
) -> Response {
    let now = state.now();
    let given = secret.strip_suffix(".ics").unwrap_or(&secret).to_owned();
    let let_in = state.run(move |shop| Ok(shop.access(Some((&given, Way::Calendar)), now)?.who)).await;
    let result = match let_in {
        Ok(Some(who)) if who.may(Right::Read) => {
            state.ask(move |shop| shop.due_calendar(now)).await.map(Some)
        }
        Ok(_) => Ok(None),
        Err(error) => Err(error),
    };
    match result {
        Ok(Some(text)) => ([(header::CONTENT_TYPE, "text/calendar; charset=utf-8")], text).into_response(),
        // An address that lets nobody in looks like one that does not exist;
        // only those are counted.
        Ok(None) => match state.tries().count(&from.0, now) {
            Ok(()) => answer::problem(
                StatusCode::NOT_FOUND,
                "no-such-route",
                "There is no such calendar.",
                Map::new(),
            ),
            Err(seconds) => answer::from_error(&AppError::TooMany { seconds }),
        },
        Err(error) => answer::from_error(&error),
    }
}
