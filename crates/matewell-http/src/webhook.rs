//! Telling addresses of facts: the routes, and the loop that sends.
//!
//! Only addresses that an administrator wrote are asked, no answer is followed
//! elsewhere or shown, and none of link-local, multicast or unspecified
//! addresses is connected to, which is where services of the machine's host
//! answer.

use crate::{
    AppState, answer,
    asked::{Posted, respond},
    client::Peer,
};
use axum::{
    extract::{Extension, Path, State},
    http::StatusCode,
    response::Response,
};
use matewell_app::{Access, Telling};
use matewell_wire::{NewWebhookJson, WebhooksJson};
use serde::Deserialize;
use std::{
    io::{Read, Write},
    net::IpAddr,
    time::Duration,
};
use utoipa::ToSchema;
use utoipa_axum::{router::OpenApiRouter, routes};

/// How long one step of an attempt may take.
const STEP: Duration = Duration::from_secs(10);
/// How often is looked for facts that were not told.
const LOOK: Duration = Duration::from_secs(2);

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(list, add)).routes(routes!(end))
}

/// Addresses that are or were told.
#[utoipa::path(get, path = "/api/v1/webhooks", responses((status = 200, body = WebhooksJson)))]
pub(crate) async fn list(State(state): State<AppState>) -> Response {
    respond(StatusCode::OK, state.run(|shop| shop.webhooks()).await)
}

/// An address to be told.
#[derive(Deserialize, ToSchema)]
pub(crate) struct WebhookBody {
    /// `https://…`, or `http://…` inside the lab.
    url: String,
}

fn by(access: &Access) -> String {
    access.who.as_ref().map_or_else(|| "one person alone".to_owned(), |who| who.name.clone())
}

/// Tells an address of every fact from now on. Each body is signed: the header
/// `Matewell-Signature` is `sha256=` and the HMAC-SHA-256 of `Matewell-Timestamp`,
/// a dot and the body. What is not taken with 2xx is sent again.
#[utoipa::path(post, path = "/api/v1/webhooks", request_body = WebhookBody, responses(
    (status = 201, body = NewWebhookJson),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn add(
    State(state): State<AppState>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    let now = state.now();
    let by = by(&access);
    let result = match posted.read::<WebhookBody>() {
        Ok(body) => state.run(move |shop| shop.new_webhook(&body.url, &by, now)).await,
        Err(error) => Err(error),
    };
    respond(StatusCode::CREATED, result)
}

/// Tells an address no more.
#[utoipa::path(post, path = "/api/v1/webhooks/{webhook}/end", params(("webhook" = String, Path, description = "Short name of the address")), responses(
    (status = 201, body = WebhooksJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn end(
    State(state): State<AppState>,
    Path(webhook): Path<String>,
    Extension(access): Extension<Access>,
) -> Response {
    let now = state.now();
    let by = by(&access);
    let result = state
        .run(move |shop| {
            shop.end_webhook(&webhook, &by, now)?;
            shop.webhooks()
        })
        .await;
    respond(StatusCode::CREATED, result)
}

/// Sends what is to be told, for as long as the server runs.
pub async fn tell(state: AppState) {
    loop {
        let now = state.now();
        let next = state.run(move |shop| shop.to_tell(now)).await;
        let Ok(Some(telling)) = next else {
            tokio::time::sleep(LOOK).await;
            continue;
        };
        let sent = telling.clone();
        let result = tokio::task::spawn_blocking(move || send(&sent))
            .await
            .unwrap_or_else(|error| Err(format!("the attempt was not finished: {error}")));
        let now = state.now();
        if state.run(move |shop| shop.told(&telling, result, now)).await.is_err() {
            tokio::time::sleep(LOOK).await;
        }
    }
}

/// Services of the machine's host answer at link-local addresses; none of
/// these is an address of the lab.
fn is_no_address_of_a_lab(ip: IpAddr) -> bool {
    match ip.to_canonical() {
        IpAddr::V4(v4) => v4.is_link_local() || v4.is_multicast() || v4.is_unspecified() || v4.is_broadcast(),
        IpAddr::V6(v6) => v6.is_unicast_link_local() || v6.is_multicast() || v6.is_unspecified(),
    }
}

fn send(telling: &Telling) -> Result<(), String> {
    let peer = Peer::new(&telling.url)?;
    let head = format!(
        "POST {} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nUser-Agent: matewell\r\n\
         Content-Type: application/json\r\nMatewell-Timestamp: {}\r\nMatewell-Signature: {}\r\n\
         Content-Length: {}\r\n\r\n",
        peer.path,
        peer.name,
        telling.timestamp,
        telling.signature,
        telling.body.len()
    );
    let stream = peer.connect(None, STEP, |ip| !is_no_address_of_a_lab(ip))?;
    exchange(stream, &head, &telling.body)
}

/// Sends the request and reads the status; the rest of the answer is nobody's
/// business here.
fn exchange(mut stream: impl Read + Write, head: &str, body: &str) -> Result<(), String> {
    let said = |e: std::io::Error| e.to_string();
    stream.write_all(head.as_bytes()).and_then(|()| stream.write_all(body.as_bytes())).map_err(said)?;
    stream.flush().map_err(said)?;
    let mut answer = Vec::new();
    while answer.len() < 12 {
        let mut piece = [0; 12];
        match stream.read(&mut piece).map_err(said)? {
            0 => break,
            read => answer.extend_from_slice(&piece[..read]),
        }
    }
    let text = String::from_utf8_lossy(&answer);
    let status =
        text.strip_prefix("HTTP/1.").and_then(|rest| rest.get(2..5)).and_then(|s| s.parse::<u16>().ok());
    match status {
        Some(200..=299) => Ok(()),
        Some(status) => Err(format!("it answered {status}")),
        None => Err("it gave no answer of HTTP".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_of_the_machines_host_are_not_connected_to() {
        for (ip, refused) in [
            ("169.254.169.254", true),
            ("::ffff:169.254.169.254", true),
            ("fe80::1", true),
            ("0.0.0.0", true),
            ("224.0.0.1", true),
            ("127.0.0.1", false),
            ("10.1.2.3", false),
            ("2001:db8::1", false),
        ] {
            assert_eq!(is_no_address_of_a_lab(ip.parse().unwrap()), refused, "{ip}");
        }
        let peer = Peer::new("http://169.254.169.254/").unwrap();
        let error = peer.connect(None, STEP, |ip| !is_no_address_of_a_lab(ip)).map(drop).unwrap_err();
        assert!(error.contains("not connected to"), "{error}");
    }

    #[test]
    fn only_a_status_of_the_two_hundreds_is_taken() {
        struct Peer(std::io::Cursor<Vec<u8>>);
        impl Read for Peer {
            fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
                let most = into.len().min(5);
                self.0.read(&mut into[..most])
            }
        }
        impl Write for Peer {
            fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
                Ok(bytes.len())
            }
            fn flush(&mut self) -> std::io::Result<()> {
                Ok(())
            }
        }
        for (answer, taken) in [
            ("HTTP/1.1 204 No Content\r\n\r\n", true),
            ("HTTP/1.0 200 OK\r\n", true),
            ("HTTP/1.1 302 Found\r\nLocation: http://169.254.169.254/\r\n", false),
            ("HTTP/1.1 503\r\n", false),
            ("ü", false),
            ("", false),
        ] {
            let peer = Peer(std::io::Cursor::new(answer.as_bytes().to_vec()));
            assert_eq!(exchange(peer, "", "").is_ok(), taken, "{answer}");
        }
    }
}
