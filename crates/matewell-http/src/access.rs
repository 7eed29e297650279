//! Who may ask what: one table of every route, and the gate in front of them.
//!
//! A route that is not in the table is refused to everybody, so that a new one
//! cannot be open by being forgotten.

use crate::{AppState, answer, watch::By};
use axum::{
    extract::{ConnectInfo, MatchedPath, Request, State},
    http::{HeaderMap, HeaderValue, Method, StatusCode, header},
    middleware::Next,
    response::Response,
};
use matewell_app::{Right, Way};
use serde_json::Map;
use std::{collections::HashMap, net::SocketAddr, sync::LazyLock};

/// Name of the cookie of a sign-in.
pub(crate) const COOKIE: &str = "matewell_session";

/// How the server stands in the network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Served {
    /// Only this machine can reach it: without people one person works alone,
    /// and requests must name the loopback host.
    pub here: bool,
    /// Browsers reach it by TLS, so the cookie is for TLS only.
    pub secure_cookie: bool,
    /// A reverse proxy is in front: the last address it added is the client's.
    pub behind_proxy: bool,
}

impl Default for Served {
    fn default() -> Self {
        Self { here: true, secure_cookie: false, behind_proxy: false }
    }
}

/// Every route with what it needs. A `HEAD` is a `GET`.
pub(crate) const TABLE: &[(Right, &str, &[&str])] = &[
    (Right::Open, "GET", &["/api/v1/openapi.json", "/api/v1/session", "/api/v1/calendar/{secret}"]),
    (Right::Open, "POST", &["/api/v1/session", "/api/v1/session/first"]),
    (Right::Own, "POST", &["/api/v1/session/end", "/api/v1/session/password", "/api/v1/session/calendars"]),
    (
        Right::Read,
        "GET",
        &[
            "/api/v1/cases",
            "/api/v1/cases/{case}",
            "/api/v1/cases/{case}/dossier",
            "/api/v1/check",
            "/api/v1/due",
            "/api/v1/ends",
            "/api/v1/ends/{tag}",
            "/api/v1/ends/{tag}/clean-guide",
            "/api/v1/ends/{tag}/dossier",
            "/api/v1/ends/{tag}/dossier/signed",
            "/api/v1/ends/{tag}/drift",
            "/api/v1/ends/{tag}/drift/picture",
            "/api/v1/ends/{tag}/kept",
            "/api/v1/ends/{tag}/look-guide",
            "/api/v1/ends/{tag}/pin",
            "/api/v1/events",
            "/api/v1/export",
            "/api/v1/health",
            "/api/v1/interfaces",
            "/api/v1/items/{tag}",
            "/api/v1/items/{tag}/kept",
            "/api/v1/kept-files/{sha256}",
            "/api/v1/kits",
            "/api/v1/kits/{tag}",
            "/api/v1/line/air",
            "/api/v1/line/chain",
            "/api/v1/line/convert",
            "/api/v1/line/cost",
            "/api/v1/line/cutoff",
            "/api/v1/line/gap",
            "/api/v1/line/gap/picture",
            "/api/v1/line/impedance",
            "/api/v1/line/loss",
            "/api/v1/line/loss/picture",
            "/api/v1/line/mismatch",
            "/api/v1/line/offcentre",
            "/api/v1/line/offcentre/picture",
            "/api/v1/line/recess",
            "/api/v1/line/recess/picture",
            "/api/v1/line/shift",
            "/api/v1/line/shift/picture",
            "/api/v1/line/slots",
            "/api/v1/line/step",
            "/api/v1/line/step/picture",
            "/api/v1/line/thermal",
            "/api/v1/line/usable",
            "/api/v1/looks/{fact}/photo",
            "/api/v1/metrics",
            "/api/v1/policy",
            "/api/v1/storage",
            "/api/v1/study/chart",
            "/api/v1/study/chart/picture",
            "/api/v1/study/compare",
            "/api/v1/study/compare/picture",
            "/api/v1/study/gauge",
            "/api/v1/study/gauge/picture",
            "/api/v1/study/nested",
            "/api/v1/study/nested/picture",
            "/api/v1/study/torque",
            "/api/v1/study/torque/picture",
            "/api/v1/study/window",
            "/api/v1/sweep/cable",
            "/api/v1/sweep/check",
            "/api/v1/sweep/compare",
            "/api/v1/sweep/mask",
            "/api/v1/sweep/read",
            "/api/v1/sweep/reconnect",
            "/api/v1/sweep/time",
            "/api/v1/sweep/trace",
            "/api/v1/sweep/trend",
            "/api/v1/sweeps",
            "/api/v1/sweeps/{sweep}/file",
            "/api/v1/tools",
            "/api/v1/tools/{tag}",
            "/api/v1/trace",
            "/api/v1/trace/back",
            "/api/v1/trace/common",
            "/api/v1/trace/tool",
            "/api/v1/verify",
        ],
    ),
    // Questions whose file or table is the body; they write nothing.
    (
        Right::Read,
        "POST",
        &[
            "/api/v1/facts/missing",
            "/api/v1/gaugings/budget",
            "/api/v1/mates/bulk/check",
            "/api/v1/study/chart",
            "/api/v1/study/chart/picture",
            "/api/v1/study/compare",
            "/api/v1/study/compare/picture",
            "/api/v1/study/gauge",
            "/api/v1/study/gauge/picture",
            "/api/v1/study/nested",
            "/api/v1/study/nested/picture",
            "/api/v1/study/torque",
            "/api/v1/study/torque/picture",
            "/api/v1/sweep/cable",
            "/api/v1/sweep/check",
            "/api/v1/sweep/compare",
            "/api/v1/sweep/mask",
            "/api/v1/sweep/read",
            "/api/v1/sweep/reconnect",
            "/api/v1/sweep/time",
            "/api/v1/sweep/trace",
            "/api/v1/validation",
        ],
    ),
    (
        Right::Work,
        "POST",
        &[
            "/api/v1/cleanings",
            "/api/v1/corrections",
            "/api/v1/follow-ups",
            "/api/v1/gaugings",
            "/api/v1/holds",
            "/api/v1/inspections",
            "/api/v1/items",
            "/api/v1/items/{tag}/reservations",
            "/api/v1/kits/{tag}/checks",
            "/api/v1/kits/{tag}/pieces",
            "/api/v1/looks",
            "/api/v1/mates",
            "/api/v1/mates/bulk",
            "/api/v1/partings",
            "/api/v1/put-aways",
            "/api/v1/sweeps",
            "/api/v1/sweeps/verdicts",
            "/api/v1/tools/{tag}/checks",
        ],
    ),
    (
        Right::Decide,
        "POST",
        &[
            "/api/v1/cases",
            "/api/v1/cases/{case}/close",
            "/api/v1/cases/{case}/dispositions",
            "/api/v1/cases/{case}/ends",
            "/api/v1/cases/{case}/results",
            "/api/v1/cases/{case}/set-aside",
            "/api/v1/import",
            "/api/v1/items/{tag}/amendments",
            "/api/v1/releases",
            "/api/v1/replacements",
            "/api/v1/retirements",
            "/api/v1/tools/{tag}/was-off",
        ],
    ),
    (Right::Administer, "GET", &["/api/v1/people", "/api/v1/people/changes", "/api/v1/webhooks"]),
    (
        Right::Administer,
        "POST",
        &[
            "/api/v1/people",
            "/api/v1/people/authorisations-required",
            "/api/v1/people/{name}/authorisations",
            "/api/v1/people/{name}/left",
            "/api/v1/people/{name}/password",
            "/api/v1/people/{name}/roles",
            "/api/v1/people/{name}/tokens",
            "/api/v1/people/{name}/tokens/{token}/end",
            "/api/v1/webhooks",
            "/api/v1/webhooks/{webhook}/end",
        ],
    ),
];

/// Paths that are answered with "no such route".
pub(crate) const NO_ROUTE: &str = "/api/{*rest}";

type Routes = HashMap<&'static str, Vec<(&'static str, Right)>>;
static ROUTES: LazyLock<Routes> = LazyLock::new(|| {
    let mut routes = Routes::new();
    for (right, method, paths) in TABLE {
        for path in *paths {
            routes.entry(path).or_default().push((method, *right));
        }
    }
    routes
});

/// What the table says of a request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Needed {
    /// The path is not in the table.
    NotThere,
    /// The path has no such method.
    NoMethod,
    /// This right.
    Right(Right),
}

/// What a request needs.
pub(crate) fn needed(method: &Method, path: &str) -> Needed {
    let method = if method == Method::HEAD { &Method::GET } else { method };
    let Some(methods) = ROUTES.get(path) else { return Needed::NotThere };
    let found = methods.iter().find(|(m, _)| *m == method.as_str());
    found.map_or(Needed::NoMethod, |(_, right)| Needed::Right(*right))
}

/// The secret that a request carries.
fn given(headers: &HeaderMap) -> Option<(String, Way)> {
    if let Some(value) = headers.get(header::AUTHORIZATION) {
        let text = value.to_str().ok()?;
        let (scheme, secret) = text.split_once(' ')?;
        return scheme.eq_ignore_ascii_case("bearer").then(|| (secret.trim().to_owned(), Way::Token));
    }
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(name, _)| *name == COOKIE)
        .map(|(_, secret)| (secret.to_owned(), Way::Session))
}

/// Where a request comes from, for counting tries.
pub(crate) fn address(served: Served, request_headers: &HeaderMap, peer: Option<SocketAddr>) -> String {
    let forwarded = request_headers.get_all("x-forwarded-for").iter().next_back();
    let last = forwarded.and_then(|v| v.to_str().ok()).and_then(|v| v.rsplit(',').next()).map(str::trim);
    match last.filter(|text| served.behind_proxy && !text.is_empty() && text.len() <= 64) {
        Some(text) => text.to_owned(),
        None => peer.map_or_else(|| "here".to_owned(), |peer| peer.ip().to_string()),
    }
}

fn refuse(status: StatusCode, code: &str, detail: &str) -> Response {
    answer::problem(status, code, detail, Map::new())
}

/// A page of another site, open in the same browser, may not ask in the name
/// of whoever is signed in; and while one person works alone, requests must
/// name this machine.
fn from_elsewhere(served: Served, request: &Request) -> Option<Response> {
    let headers = request.headers();
    let host = headers.get(header::HOST).and_then(|h| h.to_str().ok());
    let host = host.or_else(|| request.uri().authority().map(axum::http::uri::Authority::as_str));
    let host = host.unwrap_or("localhost");
    let name = host
        .rsplit_once(':')
        .map_or(host, |(name, port)| if port.chars().all(|c| c.is_ascii_digit()) { name } else { host });
    let named = !served.here || matches!(name, "localhost" | "127.0.0.1" | "[::1]");
    let own = headers.get(header::ORIGIN).is_none_or(|o| {
        o.to_str().ok().and_then(|o| o.split_once("://")).is_some_and(|(_, rest)| rest == host)
    });
    let same_site = request.method().is_safe()
        || headers
            .get("sec-fetch-site")
            .is_none_or(|site| site.as_bytes() == b"same-origin" || site.as_bytes() == b"none");
    (!(named && own && same_site)).then(|| {
        let detail = if served.here {
            "Only this machine and its own page may ask."
        } else {
            "Only the lab's own page and programs may ask, not a page of another site."
        };
        refuse(StatusCode::FORBIDDEN, "other-origin", detail)
    })
}

/// The gate in front of every route.
pub(crate) async fn gate(State(state): State<AppState>, mut request: Request, next: Next) -> Response {
    let served = state.served();
    if let Some(refusal) = from_elsewhere(served, &request) {
        return refusal;
    }
    let peer = request.extensions().get::<ConnectInfo<SocketAddr>>().map(|info| info.0);
    let from = Address(address(served, request.headers(), peer));
    request.extensions_mut().insert(from);
    // The page itself has no matched path: it shows nothing of the lab.
    let Some(path) = request.extensions().get::<MatchedPath>().map(|path| path.as_str().to_owned()) else {
        return next.run(request).await;
    };
    if path == NO_ROUTE {
        return next.run(request).await;
    }
    let right = match needed(request.method(), &path) {
        Needed::NotThere => {
            return refuse(StatusCode::FORBIDDEN, "no-right", "This route is open to nobody.");
        }
        Needed::NoMethod => {
            return refuse(
                StatusCode::METHOD_NOT_ALLOWED,
                "no-such-method",
                "There is no such method on this route.",
            );
        }
        Needed::Right(right) => right,
    };
    let given = given(request.headers());
    let carried = given.is_some();
    let now = state.now();
    let access = state
        .run(move |shop| shop.access(given.as_ref().map(|(secret, way)| (secret.as_str(), *way)), now))
        .await;
    let access = match access {
        Ok(access) => access,
        Err(error) => return answer::from_error(&error),
    };
    let alone = !access.people && served.here;
    if right != Right::Open && !(alone && right != Right::Own) {
        match &access.who {
            Some(who) if who.may(right) => {}
            Some(who) => {
                let detail = format!("{} may not do this: it needs the right {}.", who.name, right.word());
                return refuse(StatusCode::FORBIDDEN, "no-right", &detail);
            }
            None => return sign_in_first(access.people, carried),
        }
    }
    request.extensions_mut().insert(Alone(alone));
    let by = access.who.as_ref().map(|who| By(who.name.clone()));
    request.extensions_mut().insert(access);
    let mut response = next.run(request).await;
    if let Some(by) = by {
        response.extensions_mut().insert(by);
    }
    response.headers_mut().entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

fn sign_in_first(people: bool, carried: bool) -> Response {
    let detail = match (people, carried) {
        (false, _) => {
            "There are no people yet: make the first administrator with the code printed where the server was started."
        }
        (true, false) => "Sign in first, or send the token of a program.",
        (true, true) => "What was sent lets nobody in, or does so no more: sign in again.",
    };
    let mut response = refuse(StatusCode::UNAUTHORIZED, "sign-in", detail);
    response
        .headers_mut()
        .insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer realm=\"matewell\""));
    response
}

/// Where a request comes from.
#[derive(Debug, Clone)]
pub(crate) struct Address(pub(crate) String);

/// Whether one person works alone.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Alone(pub(crate) bool);

#[cfg(test)]
mod tests;
