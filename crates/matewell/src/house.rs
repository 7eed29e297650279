//! The lab as a whole: how it is, and moved to another place.

use crate::{run::Session, show};
use anyhow::Context as _;
use clap::{Args, ValueHint};
use matewell_app::AppError;
use matewell_http::HttpLab;
use std::{fs, io::Write, path::PathBuf};

#[derive(Debug, Args)]
pub(crate) struct Move {
    /// Where the lab is: a file or the URL of a database
    #[arg(long, value_hint = ValueHint::FilePath)]
    from: PathBuf,
    /// Where it goes: a file that is not there yet, or the URL of an empty database
    #[arg(long, value_hint = ValueHint::FilePath)]
    to: PathBuf,
}

pub(crate) fn move_lab(json: bool, order: &Move) -> anyhow::Result<u8> {
    let moved = matewell_app::move_lab(&order.from, &order.to)?;
    show::print(json, &moved, |out, m| writeln!(out, "{}", m.text))?;
    Ok(if moved.verification.whole { 0 } else { 5 })
}

#[derive(Debug, Args)]
pub(crate) struct Merge {
    /// The other lab: a file, the URL of a database, or http://… or https://… of another running Matewell
    #[arg(value_hint = ValueHint::FilePath)]
    from: PathBuf,
    /// File with the token of a program that may read there; for http://… and https://… only
    #[arg(long, value_hint = ValueHint::FilePath)]
    token_file: Option<PathBuf>,
    /// File with the certificates to trust (PEM); the system's when left out; for https://… only
    #[arg(long, value_hint = ValueHint::FilePath)]
    ca: Option<PathBuf>,
}

/// The lab at an address of HTTP, if it is one.
fn far(order: &Merge) -> anyhow::Result<Option<HttpLab>> {
    let address =
        order.from.to_str().filter(|text| text.starts_with("http://") || text.starts_with("https://"));
    let Some(address) = address else {
        for (given, field) in [(&order.token_file, "--token-file"), (&order.ca, "--ca")] {
            if given.is_some() {
                let message = "expected http://… or https://… with it, found another place".to_owned();
                return Err(AppError::Field { field, message }.into());
            }
        }
        return Ok(None);
    };
    let read = |path: &PathBuf| fs::read_to_string(path).with_context(|| path.display().to_string());
    let token = order.token_file.as_ref().map(read).transpose()?;
    Ok(Some(HttpLab::new(address, token.as_deref(), order.ca.as_deref())?))
}

pub(crate) fn merge(s: &mut Session, order: &Merge, now: matewell_lab::Moment) -> anyhow::Result<u8> {
    let merged = match far(order)? {
        Some(mut far) => s.shop.merge_far(&mut far, now)?,
        None => s.shop.merge(&order.from, now)?,
    };
    s.print(&merged, |out, m| {
        writeln!(out, "{}", m.text)?;
        for machine in &m.machines {
            let clock = machine.clock.as_deref().map(|c| format!("; {c}")).unwrap_or_default();
            writeln!(out, "  {} facts of the machine {}{clock}", machine.facts, machine.machine)?;
        }
        for question in &m.questions {
            writeln!(out, "? {}", question.text)?;
        }
        Ok(())
    })?;
    Ok(0)
}

pub(crate) fn health(s: &Session) -> anyhow::Result<u8> {
    s.print(&s.shop.health(s.at)?, |out, h| writeln!(out, "{}", h.text))?;
    Ok(0)
}
