//! Listening: plain or by TLS, with patience that has an end.

use axum::{Router, body::Body};
use axum_server::tls_rustls::RustlsConfig;
use std::{
    io,
    net::{SocketAddr, TcpListener},
    path::Path,
    time::Duration,
};
use tower_http::{map_request_body::MapRequestBodyLayer, timeout::RequestBodyTimeoutLayer};

/// How long the head of a request may take, and an idle connection stay open.
const HEAD: Duration = Duration::from_secs(15);
/// How long the next piece of a body may take.
const BODY: Duration = Duration::from_secs(30);

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
    let app = app
        .layer(MapRequestBodyLayer::new(Body::new))
        .layer(RequestBodyTimeoutLayer::new(BODY))
        .into_make_service_with_connect_info::<SocketAddr>();
    match tls {
        None => {
            let mut server = axum_server::from_tcp(listener)?;
            server.http_builder().http1().header_read_timeout(HEAD);
            server.serve(app).await
        }
        Some(Tls(config)) => {
            let mut server = axum_server::from_tcp_rustls(listener, config)?;
            server.http_builder().http1().header_read_timeout(HEAD);
            server.serve(app).await
        }
    }
}
