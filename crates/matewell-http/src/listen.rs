//! Listening: plain or by TLS, with patience that has an end.

use axum::Router;
use axum_server::{Server, tls_rustls::RustlsConfig};
use std::{
    io,
    net::{SocketAddr, TcpListener},
    path::Path,
    time::Duration,
};

/// How long the head of a request may take, and an idle connection stay open.
const HEAD: Duration = Duration::from_secs(15);
/// How often a connection of HTTP/2 is asked whether there is still somebody.
const PING: Duration = Duration::from_secs(20);

/// A certificate chain and its key.
#[derive(Debug, Clone)]
pub struct Tls(RustlsConfig);

/// Reads a certificate chain and its key, both PEM.
///
/// # Errors
///
/// A file that cannot be read or is no certificate or key.
pub async fn read_tls(certificate: &Path, key: &Path) -> io::Result<Tls> {
    // Another part of the program may have chosen the same provider before.
    drop(rustls::crypto::ring::default_provider().install_default());
    Ok(Tls(RustlsConfig::from_pem_file(certificate, key).await?))
}

/// Serves until the process ends.
///
/// # Errors
///
/// When the listener fails.
pub async fn serve(listener: TcpListener, app: Router, tls: Option<Tls>) -> io::Result<()> {
    listener.set_nonblocking(true)?;
    let app = app.into_make_service_with_connect_info::<SocketAddr>();
    match tls {
        None => patient(axum_server::from_tcp(listener)?).serve(app).await,
        Some(Tls(config)) => patient(axum_server::from_tcp_rustls(listener, config)?).serve(app).await,
    }
}

fn patient<A: axum_server::Address, Acceptor>(mut server: Server<A, Acceptor>) -> Server<A, Acceptor> {
    server.http_builder().http1().header_read_timeout(HEAD);
    server.http_builder().http2().keep_alive_interval(PING).keep_alive_timeout(HEAD);
    server.first_request_timeout(HEAD)
}
