//! The server on the loopback address.

use crate::run::now;
use anyhow::Context;
use matewell_app::{Place, Workshop};
use std::{io::Write, net::Ipv4Addr, path::Path};

pub(crate) fn serve(data: &Path, port: u16, demo: bool) -> anyhow::Result<u8> {
    let mut shop = Workshop::open(data, now())?;
    let mut err = anstream::stderr();
    for found in shop.found_at_start(now())? {
        writeln!(err, "{found}")?;
    }
    if demo && shop.demo(now())? {
        writeln!(err, "Made the demo lab in {}: the Larkmoor Receiver Workshop.", Place::from(data))?;
    }
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port))
            .await
            .with_context(|| format!("port {port} on the loopback address; another is chosen with --port"))?;
        let address = listener.local_addr()?;
        writeln!(std::io::stdout(), "Matewell serves {} at http://{address}/", Place::from(data))?;
        writeln!(err, "Only this machine can reach it. Stop with Ctrl-C.")?;
        let state = matewell_http::AppState::new(shop, now);
        let (follower, place) = (state.clone(), data.to_owned());
        if let Err(error) = tokio::task::spawn_blocking(move || follower.follow_others(&place)).await? {
            writeln!(err, "Pages here do not hear of what other servers write: {error}")?;
        }
        let app = matewell_http::router(state);
        // Open event streams would keep a graceful stop waiting for ever, so
        // the server ends at once; every write is a transaction.
        tokio::select! {
            served = async { matewell_http::serve(listener, app).await } => served?,
            _ = tokio::signal::ctrl_c() => {}
        }
        anyhow::Ok(())
    })?;
    Ok(0)
}
