//! The door: arguments, clock, files, the chosen store, the server.
//!
//! Every command calls one use case of `matewell-app`; with `--json` it prints
//! exactly what the HTTP interface answers.

mod case;
mod cli;
mod gauging;
mod house;
mod kits;
mod papers;
mod physics;
mod register;
mod run;
mod serve;
mod show;
mod show_case;
mod show_gauging;
mod show_line;
mod show_study;
mod show_sweep;
mod show_trace;
mod study;
mod sweeps;
mod trace;

use clap::Parser;
use matewell_app::AppError;
use std::{io::Write, process::ExitCode};

/// Done, go, or go with care.
pub(crate) const DONE: u8 = 0;
/// The answer is stop, a limit is broken, or a joint changed.
pub(crate) const STOP: u8 = 1;
/// The command cannot be understood.
const NOT_UNDERSTOOD: u8 = 2;
/// The answer is undecided.
pub(crate) const UNDECIDED: u8 = 3;
/// A tag is unknown or fits several ends.
const NOT_FOUND: u8 = 4;
/// A file or the store failed.
const FAILED: u8 = 5;

fn main() -> ExitCode {
    let cli = cli::Cli::parse();
    let json = cli.json;
    let code = match run::run(cli) {
        Ok(code) => code,
        Err(error) => report(&error, json),
    };
    ExitCode::from(code)
}

fn report(error: &anyhow::Error, json: bool) -> u8 {
    // A closed pipe (`matewell ends | head`) is not an error of ours.
    if error.downcast_ref::<std::io::Error>().is_some_and(|e| e.kind() == std::io::ErrorKind::BrokenPipe) {
        return DONE;
    }
    let mut err = anstream::stderr();
    let Some(app) = error.downcast_ref::<AppError>() else {
        drop(writeln!(err, "error: {error:#}"));
        return FAILED;
    };
    if let AppError::Refused { check, fact } = app {
        let mut out = anstream::stdout();
        if json {
            drop(writeln!(out, "{}", serde_json::to_string(check).unwrap_or_default()));
        } else {
            drop(show::check(&mut out, check));
        }
        drop(writeln!(
            err,
            "Not logged as mated; the refusal is fact {fact}. To go ahead all the same: --override-because \"…\""
        ));
        return answer_code(&check.answer);
    }
    if let AppError::NotYetClosed { name, missing } = app {
        drop(writeln!(err, "Not closed: the case {name} waits for {} things.", missing.len()));
        for one in missing {
            drop(writeln!(err, "  {}", one.text));
        }
        return UNDECIDED;
    }
    drop(writeln!(err, "error: {app}"));
    match app {
        AppError::UnknownTag { .. } | AppError::WhichEnd { .. } => NOT_FOUND,
        AppError::Store(_) | AppError::Sheets(_) | AppError::File { .. } => FAILED,
        _ => NOT_UNDERSTOOD,
    }
}

/// Exit code of a mate check's answer.
pub(crate) fn answer_code(answer: &str) -> u8 {
    match answer {
        "stop" => STOP,
        "undecided" => UNDECIDED,
        _ => DONE,
    }
}
