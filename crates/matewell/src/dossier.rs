//! `matewell dossier` and `verify-dossier`.

use crate::{DONE, STOP, run::Session, run::now, show};
use anyhow::Context;
use clap::{Args, ValueHint};
use matewell_app::{by_command_line, verify_dossier};
use std::{fs, io::Write, path::PathBuf};

#[derive(Debug, Args)]
pub(crate) struct Dossier {
    /// Label of the end
    tag: String,
    /// Add a line with the signature of this lab
    #[arg(long)]
    sign: bool,
}

#[derive(Debug, Args)]
pub(crate) struct VerifyDossier {
    /// The two lines
    #[arg(value_hint = ValueHint::FilePath)]
    file: PathBuf,
    /// The key that is expected, 64 hexadecimal digits
    #[arg(long)]
    key: Option<String>,
}

pub(crate) fn dossier(s: &mut Session, order: &Dossier) -> anyhow::Result<u8> {
    let mut out = std::io::stdout();
    if order.sign {
        let by = by_command_line(s.person());
        let at = s.at;
        write!(out, "{}", s.shop.signed_dossier(&order.tag, at, &by, now())?)?;
    } else {
        writeln!(out, "{}", serde_json::to_string(&s.shop.dossier(&order.tag, s.at)?)?)?;
    }
    Ok(DONE)
}

pub(crate) fn verify(json: bool, order: &VerifyDossier) -> anyhow::Result<u8> {
    let text = fs::read_to_string(&order.file).with_context(|| order.file.display().to_string())?;
    let found = verify_dossier(&text, order.key.as_deref())?;
    show::print(json, &found, |out, found| writeln!(out, "{}", found.text))?;
    Ok(if found.whole { DONE } else { STOP })
}
