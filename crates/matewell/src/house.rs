//! The lab as a whole: how it is, and moved to another place.

use crate::{run::Session, show};
use clap::{Args, ValueHint};
use std::{io::Write, path::PathBuf};

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
    /// The other lab: a file or the URL of a database
    #[arg(value_hint = ValueHint::FilePath)]
    from: PathBuf,
}

pub(crate) fn merge(s: &mut Session, order: &Merge, now: matewell_lab::Moment) -> anyhow::Result<u8> {
    let merged = s.shop.merge(&order.from, now)?;
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
