//! The server: on the loopback address, or for the lab's network with people.

use crate::run::now;
use anyhow::Context;
use clap::{Args, ValueHint};
use matewell_app::{AppError, Place, Workshop};
use matewell_http::{AppState, LogFormat, LogSink, Served};
use std::{
    io::Write,
    net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener},
    path::{Path, PathBuf},
    sync::Arc,
};

#[derive(Debug, Args)]
pub(crate) struct Serve {
    /// Port
    #[arg(long, default_value_t = 7373)]
    port: u16,
    /// Make the invented demo lab first if there is no data yet
    #[arg(long)]
    demo: bool,
    /// Address to listen on; other than loopback it needs people, and TLS here or in front
    #[arg(long, default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    listen: IpAddr,
    /// Certificate chain (PEM) to serve by TLS
    #[arg(long, value_hint = ValueHint::FilePath, requires = "tls_key")]
    tls_cert: Option<PathBuf>,
    /// Key of the certificate (PEM)
    #[arg(long, value_hint = ValueHint::FilePath, requires = "tls_cert")]
    tls_key: Option<PathBuf>,
    /// A reverse proxy in front does TLS, passes Host on, and adds X-Forwarded-For
    #[arg(long, conflicts_with = "tls_cert")]
    behind_proxy: bool,
    /// Answer questions from this replica of the database: a URL as for --data
    #[arg(long, value_name = "URL")]
    read_from: Option<PathBuf>,
    /// Write a line for each request to standard error: text or json
    #[arg(long, value_parser = ["text", "json"])]
    log: Option<String>,
}

impl Serve {
    fn served(&self) -> Result<Served, AppError> {
        let here = self.listen.is_loopback() && !self.behind_proxy;
        if !here && self.tls_cert.is_none() && !self.behind_proxy {
            let message = format!(
                "expected --tls-cert and --tls-key, or --behind-proxy, with the address {}: passwords would cross the network in the clear",
                self.listen
            );
            return Err(AppError::Field { field: "--listen", message });
        }
        Ok(Served {
            here,
            secure_cookie: self.tls_cert.is_some() || self.behind_proxy,
            behind_proxy: self.behind_proxy,
        })
    }
}

pub(crate) fn serve(data: &Path, person: &str, order: &Serve) -> anyhow::Result<u8> {
    let served = order.served()?;
    if order.read_from.is_some() && matches!(Place::from(data), Place::File(_)) {
        let message = "expected a database of PostgreSQL as --data beside it, found a file".to_owned();
        return Err(AppError::Field { field: "--read-from", message }.into());
    }
    let mut shop = Workshop::open(data, now())?;
    let mut err = anstream::stderr();
    for found in shop.found_at_start(now())? {
        writeln!(err, "{found}")?;
    }
    if order.demo && shop.demo(now())? {
        writeln!(err, "Made the demo lab in {}: the Larkmoor Receiver Workshop.", Place::from(data))?;
    }
    if let Err(error) = shop.take_up_policy(person, now()) {
        writeln!(err, "Which policy is in force could not be written down: {error}")?;
    }
    if !served.here
        && let Some(code) = shop.first_start_code(now())?
    {
        writeln!(
            err,
            "There are no people yet. Within a day, the first administrator signs in with this code:"
        )?;
        writeln!(err, "  {code}")?;
    }
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        let tls = match (&order.tls_cert, &order.tls_key) {
            (Some(certificate), Some(key)) => Some(
                matewell_http::read_tls(certificate, key)
                    .await
                    .with_context(|| format!("{} and {}", certificate.display(), key.display()))?,
            ),
            _ => None,
        };
        let asked = SocketAddr::new(order.listen, order.port);
        let listener = TcpListener::bind(asked)
            .with_context(|| format!("{asked}; another port is chosen with --port"))?;
        let address = listener.local_addr()?;
        let scheme = if tls.is_some() { "https" } else { "http" };
        writeln!(std::io::stdout(), "Matewell serves {} at {scheme}://{address}/", Place::from(data))?;
        if served.here {
            writeln!(err, "Only this machine can reach it. Stop with Ctrl-C.")?;
        }
        let mut state = AppState::new(shop, now).served_as(served).asked_beside(data);
        if let Some(replica) = &order.read_from {
            let place = replica.clone();
            let (reading, trouble) = tokio::task::spawn_blocking(move || state.read_from(&place)).await??;
            state = reading;
            if let Some(trouble) = trouble {
                writeln!(err, "The primary answers questions until the replica can: {trouble}")?;
            }
        }
        if let Some(log) = &order.log {
            let format = if log == "json" { LogFormat::Json } else { LogFormat::Text };
            let sink: LogSink = Arc::new(|line: &str| drop(writeln!(std::io::stderr(), "{line}")));
            state = state.logged(format, sink);
        }
        tokio::spawn(matewell_http::tell(state.clone()));
        let (follower, place) = (state.clone(), data.to_owned());
        if let Err(error) = tokio::task::spawn_blocking(move || follower.follow_others(&place)).await? {
            writeln!(err, "Pages here do not hear of what other servers write: {error}")?;
        }
        let app = matewell_http::router(state);
        // Open event streams would keep a graceful stop waiting for ever, so
        // the server ends at once; every write is a transaction.
        tokio::select! {
            served = async { matewell_http::serve(listener, app, tls).await } => served?,
            _ = tokio::signal::ctrl_c() => {}
        }
        anyhow::Ok(())
    })?;
    Ok(0)
}
