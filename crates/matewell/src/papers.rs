//! `matewell ends`, `due`, `clean-guide` and `dossier`: the register page by
//! page, what is due at a bench, how an end is cleaned, and what is put on paper.

use crate::{DONE, run::Session, show, show::Out};
use clap::Args;
use matewell_wire::{CaseDossierJson, CleanGuideJson, EndDossierJson, LogHeadJson, PositionJson};
use std::io::{self, Write};

#[derive(Debug, Args)]
pub(crate) struct Ends {
    /// Part of a label
    #[arg(default_value = "")]
    filter: String,
    /// Id of an end: only what comes after it
    #[arg(long)]
    after: Option<String>,
    /// Rows to skip
    #[arg(long, default_value_t = 0)]
    offset: u64,
    /// Rows to give, at most 1000
    #[arg(long, default_value_t = 1000)]
    limit: u64,
}

#[derive(Debug, Args)]
pub(crate) struct Due {
    /// Only what is due on items whose usual place this is
    #[arg(long)]
    location: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Dossier {
    /// Label of the end
    #[arg(required_unless_present = "case")]
    tag: Option<String>,
    /// Id or name of a case instead, or the label of an end found bad
    #[arg(long, conflicts_with = "tag")]
    case: Option<String>,
}

pub(crate) fn ends(s: &Session, asked: &Ends) -> anyhow::Result<u8> {
    s.print(&s.shop.ends(&asked.filter, asked.after.as_deref(), asked.offset, asked.limit)?, show::ends)?;
    Ok(DONE)
}

pub(crate) fn due(s: &Session, asked: &Due) -> anyhow::Result<u8> {
    s.print(&s.shop.due(asked.location.as_deref(), s.at)?, show::due)?;
    Ok(DONE)
}

pub(crate) fn clean_guide(s: &Session, tag: &str) -> anyhow::Result<u8> {
    s.print(&s.shop.clean_guide(tag, s.at)?, show_guide)?;
    Ok(DONE)
}

pub(crate) fn dossier(s: &Session, asked: &Dossier) -> anyhow::Result<u8> {
    match (&asked.tag, &asked.case) {
        (Some(tag), _) => s.print(&s.shop.end_dossier(tag, s.at)?, show_end)?,
        (None, case) => {
            let case = case.as_deref().unwrap_or_default();
            s.print(&s.shop.case_dossier(case, s.at)?, show_case)?;
        }
    }
    Ok(DONE)
}

fn show_guide(out: &mut Out, guide: &CleanGuideJson) -> io::Result<()> {
    writeln!(out, "{} {} {}", guide.end.tag, guide.interface, guide.sex)?;
    for caution in &guide.cautions {
        writeln!(out, "  caution: {}", caution.text)?;
    }
    for (step, number) in guide.steps.iter().zip(1..) {
        writeln!(out, "  {number}. {step}")?;
    }
    writeln!(out, "  because: {}", guide.because)?;
    match &guide.cleaned_at {
        Some(at) => writeln!(out, "  cleaned last {at}"),
        None => writeln!(out, "  never cleaned on record"),
    }
}

fn head(out: &mut Out, at: &str, log: Option<&LogHeadJson>, sheets: &str) -> io::Result<()> {
    writeln!(out, "As of {at}, by the data sheets {sheets}")?;
    match log {
        Some(log) => writeln!(out, "Last fact of the log: number {}, hash {}", log.number, log.hash),
        None => writeln!(out, "The log is empty."),
    }
}

fn worded(readings: &[PositionJson]) -> String {
    let each = readings.iter().map(|r| format!("{} {:.1} um", r.word, r.distance_um));
    each.collect::<Vec<_>>().join(", ")
}

fn show_end(out: &mut Out, dossier: &EndDossierJson) -> io::Result<()> {
    show::end(out, &dossier.end)?;
    for one in &dossier.gaugings {
        let u = one.point.pin.u_distance_um.map(|u| format!(", u = {u:.2} um")).unwrap_or_default();
        writeln!(out, "gauged {} by {}: {}{u}", one.point.at, one.person, worded(&one.readings))?;
    }
    for case in &dossier.kept.cases {
        writeln!(out, "case {}: {}", case.name, case.because)?;
    }
    for result in &dossier.results {
        writeln!(out, "result {} {} {}", result.at, result.uri, result.chain.join(" - "))?;
    }
    head(out, &dossier.at, dossier.log.as_ref(), &dossier.sheets)
}

fn show_case(out: &mut Out, dossier: &CaseDossierJson) -> io::Result<()> {
    writeln!(out, "{}: {}", dossier.case.case.name, dossier.case.case.text)?;
    for part in &dossier.case.record {
        writeln!(out, "{} {}", part.clause, part.heading)?;
        for line in &part.lines {
            writeln!(out, "  {line}")?;
        }
    }
    head(out, &dossier.at, dossier.log.as_ref(), &dossier.sheets)
}
