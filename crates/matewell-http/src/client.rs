//! Asking another machine: HTTP/1.1 over a plain connection or TLS, one
//! request a connection, no answer followed elsewhere.

use axum::http::Uri;
use std::{
    fs,
    io::{self, BufRead, BufReader, Read, Write},
    net::{IpAddr, SocketAddr, TcpStream, ToSocketAddrs as _},
    path::Path,
    sync::Arc,
    time::Duration,
};

/// How long connecting may take.
const CONNECT: Duration = Duration::from_secs(10);
/// Most bytes of the head of an answer, and of what a refusal says.
const MOST_HEAD: u64 = 64 * 1024;

/// A connection, plain or by TLS.
pub(crate) trait Stream: Read + Write + Send {}
impl<T: Read + Write + Send> Stream for T {}

/// Where to ask, and how.
#[derive(Debug, Clone)]
pub(crate) struct Peer {
    secure: bool,
    host: String,
    port: u16,
    /// As in the address, for the header `Host`.
    pub(crate) name: String,
    /// Path and query of the address.
    pub(crate) path: String,
}

impl Peer {
    pub(crate) fn new(url: &str) -> Result<Self, String> {
        let uri: Uri = url.parse().map_err(|e| format!("{url}: {e}"))?;
        let secure = match uri.scheme_str() {
            Some("https") => true,
            Some("http") => false,
            _ => return Err(format!("expected http:// or https://, found {url}")),
        };
        let host = uri.host().ok_or("the address has no host")?;
        let name = uri.authority().map_or(host, axum::http::uri::Authority::as_str);
        if name.contains('@') {
            return Err("expected an address without a name or password".to_owned());
        }
        let told = name.rsplit_once(':').is_some_and(|(_, port)| port.bytes().all(|b| b.is_ascii_digit()));
        if told && uri.port_u16().is_none() {
            return Err(format!("expected a port of 0 to 65535, found {name}"));
        }
        Ok(Self {
            secure,
            host: host.trim_matches(['[', ']']).to_owned(),
            port: uri.port_u16().unwrap_or(if secure { 443 } else { 80 }),
            name: name.to_owned(),
            path: uri.path_and_query().map_or("/", axum::http::uri::PathAndQuery::as_str).to_owned(),
        })
    }

    /// Connects. `step` is how long one read or write may take; `may` says
    /// which addresses may be connected to.
    pub(crate) fn connect(
        &self,
        tls: Option<&Arc<rustls::ClientConfig>>,
        step: Duration,
        may: impl Fn(IpAddr) -> bool,
    ) -> Result<Box<dyn Stream>, String> {
        let stream = connect(&self.host, self.port, step, may)?;
        if !self.secure {
            return Ok(Box::new(stream));
        }
        let config = match tls {
            Some(config) => Arc::clone(config),
            None => tls_of_the_system()?,
        };
        let server = self.host.clone().try_into().map_err(|_| "no name for TLS")?;
        let connection = rustls::ClientConnection::new(config, server).map_err(|e| e.to_string())?;
        Ok(Box::new(rustls::StreamOwned::new(connection, stream)))
    }
}

pub(crate) fn connect(
    host: &str,
    port: u16,
    step: Duration,
    may: impl Fn(IpAddr) -> bool,
) -> Result<TcpStream, String> {
    let found: Vec<SocketAddr> =
        (host, port).to_socket_addrs().map_err(|e| format!("{host}: {e}"))?.collect();
    let mut last = format!("{host} has no address");
    for address in found {
        if !may(address.ip()) {
            last = format!("{host} is at {}, which is not connected to", address.ip());
            continue;
        }
        match TcpStream::connect_timeout(&address, CONNECT) {
            Ok(stream) => {
                stream.set_read_timeout(Some(step)).map_err(|e| e.to_string())?;
                stream.set_write_timeout(Some(step)).map_err(|e| e.to_string())?;
                return Ok(stream);
            }
            Err(error) => last = format!("{host}: {error}"),
        }
    }
    Err(last)
}

fn tls_with(roots: rustls::RootCertStore) -> Result<Arc<rustls::ClientConfig>, String> {
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = rustls::ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(|e| e.to_string())?
        .with_root_certificates(roots)
        .with_no_client_auth();
    Ok(Arc::new(config))
}

/// The system's roots, so that a lab's own authority counts too.
fn tls_of_the_system() -> Result<Arc<rustls::ClientConfig>, String> {
    let mut roots = rustls::RootCertStore::empty();
    let found = rustls_native_certs::load_native_certs();
    roots.add_parsable_certificates(found.certs);
    tls_with(roots)
}

/// The roots in a file (PEM), and no others.
pub(crate) fn tls_of_file(path: &Path) -> Result<Arc<rustls::ClientConfig>, String> {
    use rustls::pki_types::{CertificateDer, pem::PemObject as _};
    let wrong = |message: String| format!("{}: {message}", path.display());
    let bytes = fs::read(path).map_err(|e| wrong(e.to_string()))?;
    let mut roots = rustls::RootCertStore::empty();
    for certificate in CertificateDer::pem_slice_iter(&bytes) {
        let certificate = certificate.map_err(|e| wrong(e.to_string()))?;
        roots.add(certificate).map_err(|e| wrong(e.to_string()))?;
    }
    if roots.is_empty() {
        return Err(wrong("expected a certificate in PEM, found none".to_owned()));
    }
    tls_with(roots)
}

/// The head of an answer, and its body as it comes.
pub(crate) struct Response<'a> {
    pub(crate) status: u16,
    pub(crate) body: Box<dyn BufRead + 'a>,
}

/// Reads the head of an answer of HTTP/1.
pub(crate) fn read_response<'a>(stream: impl Read + 'a) -> io::Result<Response<'a>> {
    let none = || io::Error::new(io::ErrorKind::InvalidData, "it gave no answer of HTTP");
    let mut from = BufReader::new(stream);
    let mut head = (&mut from).take(MOST_HEAD);
    let mut line = String::new();
    head.read_line(&mut line)?;
    let status = line
        .strip_prefix("HTTP/1.")
        .and_then(|rest| rest.get(2..5))
        .and_then(|s| s.parse().ok())
        .ok_or_else(none)?;
    let (mut length, mut chunked) = (None, false);
    loop {
        line.clear();
        if head.read_line(&mut line)? == 0 {
            return Err(none());
        }
        let Some((name, value)) = line.trim_end().split_once(':') else {
            if line.trim_end().is_empty() {
                break;
            }
            return Err(none());
        };
        match name.to_ascii_lowercase().as_str() {
            "content-length" => length = Some(value.trim().parse::<u64>().map_err(|_| none())?),
            "transfer-encoding" => chunked = value.trim().eq_ignore_ascii_case("chunked"),
            _ => {}
        }
    }
    let body: Box<dyn BufRead + 'a> = match length {
        _ if chunked => Box::new(BufReader::new(Chunked { from, left: 0, ended: false, first: true })),
        Some(length) => Box::new(BufReader::new(Counted { from, left: length })),
        None => Box::new(from),
    };
    Ok(Response { status, body })
}

/// A body of a length that was told.
struct Counted<R> {
    from: R,
    left: u64,
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.left == 0 {
            return Ok(0);
        }
        let most = usize::try_from(self.left).unwrap_or(usize::MAX).min(into.len());
        let read = self.from.read(&mut into[..most])?;
        if read == 0 && most > 0 {
            return Err(cut());
        }
        self.left -= read as u64;
        Ok(read)
    }
}

fn cut() -> io::Error {
    io::Error::new(io::ErrorKind::UnexpectedEof, "the connection was cut before the end of the answer")
}

/// A body in chunks (RFC 9112 section 7.1); trailers are passed over.
struct Chunked<R> {
    from: R,
    left: u64,
    ended: bool,
    first: bool,
}

impl<R: BufRead> Chunked<R> {
    fn line(&mut self) -> io::Result<String> {
        let mut line = String::new();
        (&mut self.from).take(MOST_HEAD).read_line(&mut line)?;
        if line.ends_with('\n') { Ok(line.trim_end().to_owned()) } else { Err(cut()) }
    }
}

impl<R: BufRead> Read for Chunked<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.left == 0 && !self.ended {
            if !self.first {
                self.line()?;
            }
            self.first = false;
            let line = self.line()?;
            let size = line.split(';').next().unwrap_or_default().trim();
            self.left = u64::from_str_radix(size, 16)
                .map_err(|_| io::Error::new(io::ErrorKind::InvalidData, "a chunk without a length"))?;
            if self.left == 0 {
                self.ended = true;
                while !self.line()?.is_empty() {}
            }
        }
        if self.ended || into.is_empty() {
            return Ok(0);
        }
        let most = usize::try_from(self.left).unwrap_or(usize::MAX).min(into.len());
        let read = self.from.read(&mut into[..most])?;
        if read == 0 {
            return Err(cut());
        }
        self.left -= read as u64;
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn body(answer: &str) -> io::Result<(u16, String)> {
        let mut response = read_response(answer.as_bytes())?;
        let mut text = String::new();
        response.body.read_to_string(&mut text)?;
        Ok((response.status, text))
    }

    /// The chunks are those of the example of RFC 9112 section 7.1.3's grammar:
    /// an extension, upper and lower case, a trailer.
    #[test]
    fn bodies_by_length_by_chunks_and_to_the_end() {
        for (answer, expected) in [
            ("HTTP/1.1 200 OK\r\nContent-Length: 5\r\n\r\nhello and more", "hello"),
            ("HTTP/1.1 200 OK\r\nContent-Length: 0\r\n\r\n", ""),
            ("HTTP/1.0 200 OK\r\n\r\nto the end", "to the end"),
            (
                "HTTP/1.1 200 OK\r\nTransfer-Encoding: Chunked\r\n\r\nA;x=1\r\n0123456789\r\n1\r\na\r\n0\r\nX: y\r\n\r\n",
                "0123456789a",
            ),
        ] {
            assert_eq!(body(answer).unwrap(), (200, expected.to_owned()), "{answer}");
        }
        assert_eq!(body("HTTP/1.1 503 \r\n\r\n").unwrap().0, 503);
    }

    #[test]
    fn what_was_cut_off_is_an_error() {
        for answer in [
            "",
            "HTTP/1.1",
            "SSH-2.0-x\r\n\r\n",
            "HTTP/1.1 200 OK\r\nContent-Length: 5\r\n",
            "HTTP/1.1 200 OK\r\nContent-Length: 5\r\n\r\nhell",
            "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\nA\r\n01234",
            "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabc\r\n",
            "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabc\r\n0\r\n",
            "HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\nabc\r\n",
        ] {
            assert!(body(answer).is_err(), "{answer}");
        }
    }
}
