//! Studies, drift and a lab's own values: `matewell study …`, `matewell
//! drift`, `matewell validation --file`.

use crate::{DONE, UNDECIDED, show_study};
use anyhow::Context;
use clap::{Args, Subcommand, ValueHint};
use matewell_app::{
    AppError, ValidationJson, Workshop, drift_picture, own_validation, sheets_beside,
    studies::{self, StudyFile},
};
use matewell_lab::Moment;
use matewell_wire::{
    ChartAsked, CompareAsked, DriftAsked, GaugeStudyAsked, NestedStudyAsked, StudyAnswerJson,
    TorqueStudyAsked, WindowAsked,
};
use serde::Serialize;
use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
};

#[derive(Debug, Args)]
pub(crate) struct StudyOrder {
    /// Write a picture to this file; - for standard output
    #[arg(long, global = true, value_hint = ValueHint::FilePath)]
    svg: Option<PathBuf>,
    #[command(subcommand)]
    question: Question,
}

/// A table, or the lab's facts.
#[derive(Debug, Args)]
struct Input {
    /// CSV, workbook or JSON with the readings; the lab's facts when left out
    #[arg(value_hint = ValueHint::FilePath)]
    file: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// Crossed gauge study. Example: matewell study gauge study.csv --pool 0.25 --f-over repeatability
    Gauge {
        #[command(flatten)]
        input: Input,
        #[command(flatten)]
        asked: GaugeStudyAsked,
    },
    /// Repeats within days within runs. Example: matewell study nested --end CB-014A
    Nested {
        #[command(flatten)]
        input: Input,
        #[command(flatten)]
        asked: NestedStudyAsked,
    },
    /// Charts of a check standard. Example: matewell study chart --tool GA-001
    Chart {
        #[command(flatten)]
        input: Input,
        #[command(flatten)]
        asked: ChartAsked,
    },
    /// Do two gauges or labs agree? Example: matewell study compare --end CB-014A --gauges GA-001,GA-002
    Compare {
        #[command(flatten)]
        input: Input,
        #[command(flatten)]
        asked: CompareAsked,
    },
    /// Deviation and uncertainty of a torque tool. Example: matewell study torque --set 0.9N.m --reads "0.905N.m 0.912N.m" --tool-type II-B
    Torque {
        #[command(flatten)]
        input: Input,
        #[command(flatten)]
        asked: TorqueStudyAsked,
    },
    /// What a set point means in torque. Example: matewell study window --set 0.9N.m --tool-type II-B
    Window(WindowAsked),
}

#[derive(Debug, Args)]
pub(crate) struct DriftOrder {
    /// Label of the end
    tag: String,
    #[command(flatten)]
    asked: DriftAsked,
    /// Write a picture to this file; - for standard output
    #[arg(long, value_hint = ValueHint::FilePath)]
    svg: Option<PathBuf>,
}

/// Where the answer goes.
struct Out<'a> {
    json: bool,
    svg: Option<&'a Path>,
}

impl Out<'_> {
    /// Writes the picture; true when that was all that was asked.
    fn picture(&self, svg: impl FnOnce() -> Result<String, AppError>) -> anyhow::Result<bool> {
        let Some(path) = self.svg else { return Ok(false) };
        let svg = svg()?;
        if path == Path::new("-") {
            std::io::stdout().write_all(svg.as_bytes())?;
            return Ok(true);
        }
        fs::write(path, svg).with_context(|| path.display().to_string())?;
        Ok(false)
    }

    fn show<T: Serialize>(
        &self,
        answer: &StudyAnswerJson<T>,
        picture: fn(&StudyAnswerJson<T>) -> String,
    ) -> anyhow::Result<u8> {
        let code = if answer.findings.iter().any(|f| f.weight == "open") { UNDECIDED } else { DONE };
        if self.picture(|| Ok(picture(answer)))? {
            return Ok(code);
        }
        let mut out = anstream::stdout();
        if self.json {
            writeln!(out, "{}", serde_json::to_string(answer)?)?;
        } else {
            show_study::answer(&mut out, answer)?;
        }
        Ok(code)
    }
}

/// A table in memory with its name.
struct Loaded {
    bytes: Vec<u8>,
    name: String,
}

impl Loaded {
    fn read(path: &Path) -> anyhow::Result<Self> {
        let bytes = fs::read(path).with_context(|| path.display().to_string())?;
        // Where the file is kept is no part of an answer.
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        Ok(Self { bytes, name })
    }

    fn file(&self) -> StudyFile<'_> {
        StudyFile { bytes: &self.bytes, name: &self.name }
    }
}

fn table(input: &Input) -> anyhow::Result<Option<Loaded>> {
    input.file.as_deref().map(Loaded::read).transpose()
}

/// Answers from a table without opening a lab, or from the facts of the lab.
pub(crate) fn study(
    data: &Path,
    json: bool,
    now: Moment,
    at: Moment,
    order: StudyOrder,
) -> anyhow::Result<u8> {
    let out = Out { json, svg: order.svg.as_deref() };
    let shop = || Workshop::open(data, now);
    match order.question {
        Question::Gauge { input, asked } => out.show(
            &match table(&input)? {
                Some(table) => studies::gauge_study(&table.file(), &asked)?,
                None => shop()?.gauge_study(&asked, at)?,
            },
            studies::gauge_picture,
        ),
        Question::Nested { input, asked } => out.show(
            &match table(&input)? {
                Some(table) => studies::nested_study(&table.file(), &asked)?,
                None => shop()?.nested_study(&asked, at)?,
            },
            studies::nested_picture,
        ),
        Question::Chart { input, asked } => out.show(
            &match table(&input)? {
                Some(table) => studies::chart_study(&table.file(), &asked)?,
                None => shop()?.chart_study(&asked, at)?,
            },
            studies::chart_picture,
        ),
        Question::Compare { input, asked } => out.show(
            &match table(&input)? {
                Some(table) => studies::compare_study(&table.file(), &asked)?,
                None => shop()?.compare_study(&asked, at)?,
            },
            studies::compare_picture,
        ),
        Question::Torque { input, asked } => {
            let table = table(&input)?;
            let file = table.as_ref().map(Loaded::file);
            out.show(
                &if asked.tool.is_some() && file.is_none() {
                    shop()?.torque_study(&asked, at)?
                } else {
                    studies::torque_study(&sheets_beside(data)?, file.as_ref(), &asked)?
                },
                studies::torque_picture,
            )
        }
        Question::Window(asked) => {
            let answer = shop()?.torque_windows(&asked, at)?;
            let mut out = anstream::stdout();
            if json {
                writeln!(out, "{}", serde_json::to_string(&answer)?)?;
            } else {
                show_study::answer(&mut out, &answer)?;
            }
            Ok(DONE)
        }
    }
}

pub(crate) fn drift(
    data: &Path,
    json: bool,
    now: Moment,
    at: Moment,
    order: &DriftOrder,
) -> anyhow::Result<u8> {
    let found = Workshop::open(data, now)?.drift(&order.tag, &order.asked, at)?;
    let out = Out { json, svg: order.svg.as_deref() };
    let refused = found.forecasts.iter().all(|f| f.forecast == "refused");
    let code = if refused { UNDECIDED } else { DONE };
    if out.picture(|| Ok(drift_picture(&found)))? {
        return Ok(code);
    }
    let mut stdout = anstream::stdout();
    if json {
        writeln!(stdout, "{}", serde_json::to_string(&found)?)?;
    } else {
        show_study::answer(&mut stdout, &found)?;
    }
    Ok(code)
}

/// Re-runs a lab's own values; files it names are read beside it.
pub(crate) fn own_values(data: &Path, path: &Path) -> anyhow::Result<ValidationJson> {
    let text = fs::read_to_string(path).with_context(|| path.display().to_string())?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let found = own_validation(&sheets_beside(data)?, &text, &|name| {
        fs::read(folder.join(name))
            .map_err(|e| AppError::File { path: name.to_owned(), message: e.to_string() })
    })?;
    Ok(found)
}
