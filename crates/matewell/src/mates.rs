//! `matewell mates`: a list of mates that a program wrote down.

use crate::{DONE, STOP, run::Session, run::field, show::Out};
use anyhow::Context;
use clap::{Args, ValueHint};
use matewell_app::{AppError, LoggedMate};
use matewell_lab::{FactSource, Moment};
use matewell_wire::{RigCheckJson, parse_moment};
use serde::Deserialize;
use std::{
    fs,
    io::{self, Write},
    path::PathBuf,
};

#[derive(Debug, Args)]
pub(crate) struct Mates {
    /// JSON as posted to /api/v1/mates/bulk: {"mates": [{"a", "b", "happened_at", "wrench"}, …]}
    #[arg(value_hint = ValueHint::FilePath)]
    file: PathBuf,
    /// Say what would be written and what a mate check says; write nothing
    #[arg(long)]
    dry_run: bool,
}

#[derive(Deserialize)]
struct Listed {
    mates: Vec<OneMate>,
}

#[derive(Deserialize)]
struct OneMate {
    a: String,
    b: String,
    happened_at: String,
    #[serde(default)]
    wrench: Option<String>,
}

pub(crate) fn mates(s: &mut Session, order: &Mates, now: Moment) -> anyhow::Result<u8> {
    let text = fs::read_to_string(&order.file).with_context(|| order.file.display().to_string())?;
    let listed: Listed = serde_json::from_str(&text).map_err(field("FILE"))?;
    let mates = listed
        .mates
        .into_iter()
        .map(|m| {
            let happened_at = parse_moment(&m.happened_at).map_err(field("happened_at"))?;
            Ok(LoggedMate { a: m.a, b: m.b, happened_at, wrench: m.wrench })
        })
        .collect::<Result<Vec<_>, AppError>>()?;
    if order.dry_run {
        let check = s.shop.check_mates(&mates, s.person())?;
        s.print(&check, show)?;
        return Ok(if check.ready { DONE } else { STOP });
    }
    let mut said = s.plain();
    said.source = FactSource::Program;
    let written = s.shop.log_mates(&mates, &said, now)?;
    s.wrote(&written)
}

fn show(out: &mut Out, check: &RigCheckJson) -> io::Result<()> {
    for mate in &check.mates {
        let answer = mate.answer.as_deref().unwrap_or("cannot be written");
        writeln!(out, "{:>5}  {} on {}: {answer}", mate.number, mate.a, mate.b)?;
        for reason in &mate.reasons {
            writeln!(out, "       {:<8} {} ({})", reason.weight, reason.text, reason.code)?;
        }
    }
    writeln!(out, "{}", if check.ready { "All would be written." } else { "Nothing would be written." })
}
