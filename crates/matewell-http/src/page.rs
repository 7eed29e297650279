//! The embedded page. Unknown paths without a dot get the page itself, which
//! knows its own routes.

use axum::{
    http::{StatusCode, Uri, header},
    response::{IntoResponse, Response},
};

pub(crate) async fn serve(uri: Uri) -> Response {
    let path = uri.path().trim_start_matches('/');
    let (name, found) = match matewell_web::file(path) {
        Some(found) if !path.is_empty() => (path, Some(found)),
        _ if path.contains('.') => (path, None),
        _ => ("index.html", matewell_web::file("index.html")),
    };
    let Some(bytes) = found else {
        return (StatusCode::NOT_FOUND, "There is no such page.\n").into_response();
    };
    let kind = match name.rsplit_once('.').map(|(_, e)| e) {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript",
        Some("css") => "text/css",
        Some("svg") => "image/svg+xml",
        Some("webmanifest") => "application/manifest+json",
        Some("json") => "application/json",
        _ => "application/octet-stream",
    };
    // File names under assets/ carry a hash of their content.
    let keep = if name.starts_with("assets/") { "public, max-age=31536000, immutable" } else { "no-cache" };
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, keep)], bytes).into_response()
}
