//! `matewell dossier --sign` and `verify-dossier`.

use crate::{DONE, STOP, run::Session, run::now, show};
use anyhow::Context;
use clap::{Args, ValueHint};
use matewell_app::{by_command_line, verify_dossier};
use std::{fs, io::Write, path::PathBuf};

#[derive(Debug, Args)]
pub(crate) struct VerifyDossier {
    /// The two lines
    #[arg(value_hint = ValueHint::FilePath)]
    file: PathBuf,
    /// The key that is expected, 64 hexadecimal digits
    #[arg(long)]
    key: Option<String>,
}

pub(crate) fn dossier(s: &mut Session, tag: &str) -> anyhow::Result<()> {
    let by = by_command_line(s.person());
    let at = s.at;
    write!(std::io::stdout(), "{}", s.shop.signed_dossier(tag, at, &by, now())?)?;
    Ok(())
}

pub(crate) fn verify(json: bool, order: &VerifyDossier) -> anyhow::Result<u8> {
    let text = fs::read_to_string(&order.file).with_context(|| order.file.display().to_string())?;
    let found = verify_dossier(&text, order.key.as_deref())?;
    show::print(json, &found, |out, found| writeln!(out, "{}", found.text))?;
    Ok(if found.whole { DONE } else { STOP })
}
