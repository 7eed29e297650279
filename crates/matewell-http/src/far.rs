//! A lab that runs elsewhere, asked over HTTP.

use crate::client::{Peer, Response, read_response, tls_of_file};
use matewell_app::{AppError, FarLab};
use matewell_wire::FactsAsked;
use std::{
    io::{BufRead, Read},
    path::Path,
    sync::Arc,
    time::Duration,
};

/// How long the other lab may be silent: it may be looking through its log.
const STEP: Duration = Duration::from_mins(1);
/// Most bytes read of a refusal.
const MOST_REFUSAL: u64 = 64 * 1024;

/// A lab at an address of HTTP.
pub struct HttpLab {
    address: String,
    peer: Peer,
    token: Option<String>,
    tls: Option<Arc<rustls::ClientConfig>>,
}

impl HttpLab {
    /// A lab at `http://…` or `https://…`. `token` is that of a program with
    /// the right to read; `ca` is a file with the roots to trust (PEM), else
    /// the system's are.
    ///
    /// # Errors
    ///
    /// What is no such address; a file that holds no certificates; a token
    /// that cannot stand in a header.
    pub fn new(address: &str, token: Option<&str>, ca: Option<&Path>) -> Result<Self, AppError> {
        let field = |field: &'static str| move |message: String| AppError::Field { field, message };
        let address = address.trim_end_matches('/').to_owned();
        let peer = Peer::new(&address).map_err(field("from"))?;
        let token = token.map(str::trim).filter(|token| !token.is_empty()).map(str::to_owned);
        if token.as_ref().is_some_and(|token| !token.chars().all(|c| c.is_ascii_graphic())) {
            return Err(field("--token-file")("expected one token, found other characters".to_owned()));
        }
        let tls = ca.map(tls_of_file).transpose().map_err(field("--ca"))?;
        Ok(Self { address, peer, token, tls })
    }

    fn ask(&self, head: &str, path: &str, body: &str) -> Result<Response<'static>, AppError> {
        let failed = |message: String| AppError::File { path: self.address.clone(), message };
        let mut stream = self.peer.connect(self.tls.as_ref(), STEP, |_| true).map_err(failed)?;
        let token =
            self.token.as_ref().map(|token| format!("Authorization: Bearer {token}\r\n")).unwrap_or_default();
        let request = format!(
            "{head} {}{path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nUser-Agent: matewell\r\n{token}\
             Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            self.peer.path.trim_end_matches('/'),
            self.peer.name,
            body.len()
        );
        stream
            .write_all(request.as_bytes())
            .and_then(|()| stream.flush())
            .map_err(|e| failed(e.to_string()))?;
        let mut response = read_response(stream).map_err(|e| failed(e.to_string()))?;
        if response.status == 200 {
            return Ok(response);
        }
        let mut said = Vec::new();
        let _cut_short = response.body.by_ref().take(MOST_REFUSAL).read_to_end(&mut said);
        let detail = serde_json::from_slice::<serde_json::Value>(&said)
            .ok()
            .and_then(|problem| problem["detail"].as_str().map(|detail| format!(": {detail}")))
            .unwrap_or_default();
        Err(failed(format!("it answered {}{detail}", response.status)))
    }
}

impl FarLab for HttpLab {
    fn address(&self) -> &str {
        &self.address
    }

    fn facts(&mut self, asked: &FactsAsked) -> Result<Box<dyn BufRead + '_>, AppError> {
        let body = serde_json::to_string(asked).map_err(|e| AppError::Conflict(e.to_string()))?;
        Ok(self.ask("POST", "/api/v1/facts/missing", &body)?.body)
    }

    fn file(&mut self, sha256: &str) -> Result<Box<dyn Read + '_>, AppError> {
        Ok(Box::new(self.ask("GET", &format!("/api/v1/kept-files/{sha256}"), "")?.body))
    }
}
