//! Sweeps: `matewell sweep …`.

use crate::{
    DONE, STOP, UNDECIDED,
    cli::When,
    run::{field, now},
    show, show_sweep,
};
use clap::{Args, Subcommand, ValueHint};
use matewell_app::{
    AppError, Said, UuidV7, Workshop,
    sweeps::{self, CompareOrder, MOST_SWEEP_BYTES, SweepFile, SweepGiven},
};
use matewell_lab::Moment;
use matewell_wire::{
    SweepAddAsked, SweepCableAsked, SweepCheckAsked, SweepCompareAsked, SweepMaskAsked, SweepReadAsked,
    SweepReconnectAsked, SweepTimeAsked, SweepTraceAsked, SweepTrendAsked, parse_moment,
};
use serde::Serialize;
use std::{
    fs,
    io::{self, Write},
    path::{Path, PathBuf},
};

#[derive(Debug, Args)]
pub(crate) struct SweepOrder {
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// What does this file hold? Example: matewell sweep read chain.s1p
    Read {
        /// A file, or the id of a sweep on record
        sweep: String,
        #[command(flatten)]
        asked: SweepReadAsked,
    },
    /// Can this sweep be believed? Example: matewell sweep check chain.s2p
    Check {
        /// A file, or the id of a sweep on record
        sweep: String,
        #[command(flatten)]
        asked: SweepCheckAsked,
    },
    /// One parameter over frequency. Example: matewell sweep trace chain.s2p --parameter S21 --json
    Trace {
        /// A file, or the id of a sweep on record
        sweep: String,
        #[command(flatten)]
        asked: SweepTraceAsked,
    },
    /// Where are the reflections? Example: matewell sweep time chain.s1p --velocity-factor 0.7 --to 2m
    Time {
        /// A file, or the id of a sweep on record
        sweep: String,
        #[command(flatten)]
        asked: SweepTimeAsked,
    },
    /// Does it keep a limit? Example: matewell sweep mask chain.s1p --mask "below 1GHz:-30 18GHz:-20" --uncertainty 0.5
    Mask {
        /// A file, or the id of a sweep on record
        sweep: String,
        #[command(flatten)]
        asked: SweepMaskAsked,
    },
    /// Keep a sweep as evidence. Example: matewell sweep add chain.s1p --chain IN-001P1,CB-014A,CB-014B,AD-002B --known-good yes
    Add {
        /// The file
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
        /// A file that says what lies between the joints (TOML)
        #[arg(long, value_hint = ValueHint::FilePath, conflicts_with = "layout")]
        layout_file: Option<PathBuf>,
        #[command(flatten)]
        asked: SweepAddAsked,
        #[command(flatten)]
        when: When,
    },
    /// Sweeps on record. Example: matewell sweep list
    List {
        /// Labels of the ends from the port outward, with commas; all when left out
        #[arg(long, default_value = "")]
        chain: String,
    },
    /// Give the file of a sweep back, byte for byte. Example: matewell sweep file 0192… --to chain.s1p
    File {
        /// Id of the sweep
        sweep: String,
        /// The new file; standard output when left out
        #[arg(long, value_hint = ValueHint::FilePath)]
        to: Option<PathBuf>,
    },
    /// Which joint of the chain changed? Example: matewell sweep compare now.s1p --baseline good.s1p --layout-file chain.toml
    Compare {
        /// A file, or the id of a sweep on record
        sweep: String,
        /// The good state: a file or an id; the latest good one of the same chain when left out
        #[arg(long)]
        baseline: Option<String>,
        /// A file that says what lies between the joints (TOML)
        #[arg(long, value_hint = ValueHint::FilePath, conflicts_with = "layout")]
        layout_file: Option<PathBuf>,
        #[command(flatten)]
        asked: SweepCompareAsked,
    },
    /// Compare two sweeps on record and keep what that says, for information. Example: matewell sweep keep-verdict 0192…
    KeepVerdict {
        /// Id of the sweep
        sweep: String,
        /// Id of the good state; the latest good one of the same chain when left out
        #[arg(long)]
        baseline: Option<String>,
        #[command(flatten)]
        when: When,
    },
    /// Does a joint scatter, or has it moved? Example: matewell sweep reconnect --first a1.s1p,a2.s1p,a3.s1p,a4.s1p
    Reconnect {
        /// Files or ids with commas, for example with the device
        #[arg(long, value_delimiter = ',', required = true)]
        first: Vec<String>,
        /// The second group, for example with a known good partner
        #[arg(long, value_delimiter = ',')]
        second: Vec<String>,
        /// The joint's history
        #[arg(long, value_delimiter = ',')]
        history: Vec<String>,
        #[command(flatten)]
        asked: StudyOptions,
    },
    /// Does a quantity of a chain drift? Example: matewell sweep trend --chain IN-001P1,CB-014A --at 18GHz
    Trend {
        #[command(flatten)]
        asked: SweepTrendAsked,
    },
    /// Is it the good cable? Example: matewell sweep cable before.s2p after.s2p
    Cable {
        /// A file, or the id of a sweep on record
        before: String,
        /// A file, or the id of a sweep on record
        after: String,
        #[command(flatten)]
        asked: SweepCableAsked,
    },
}

/// The options of the study without the groups, which are lists here.
#[derive(Debug, Args)]
struct StudyOptions {
    /// strict or lenient (the default)
    #[arg(long)]
    reading: Option<String>,
    /// For example S11; S11 when left out
    #[arg(long)]
    parameter: Option<String>,
    /// Frequency of the ellipse, for example 18GHz; the highest when left out
    #[arg(long)]
    at: Option<String>,
}

/// What the door knows beside the question.
pub(crate) struct Door<'a> {
    pub(crate) data: &'a Path,
    pub(crate) json: bool,
    pub(crate) person: &'a str,
    pub(crate) as_of: Option<&'a str>,
}

impl Door<'_> {
    fn print<T: Serialize>(
        &self,
        body: &T,
        human: impl FnOnce(&mut show::Out, &T) -> io::Result<()>,
    ) -> anyhow::Result<()> {
        show::print(self.json, body, human)
    }

    fn at(&self) -> Result<Moment, AppError> {
        self.as_of.map_or_else(|| Ok(now()), |t| parse_moment(t).map_err(field("--as-of")))
    }

    fn said(&self, when: &When) -> Result<Said, AppError> {
        let mut said = Said::at_the_bench(self.person);
        said.happened_at = when
            .happened_at
            .as_deref()
            .map(|t| parse_moment(t).map_err(field("--happened-at")))
            .transpose()?;
        said.note.clone_from(&when.note);
        Ok(said)
    }

    /// The file of that name, else of the sweep on record with that id. The lab
    /// is opened for an id only.
    fn file(&self, text: &str, called: Option<&str>) -> anyhow::Result<SweepFile> {
        match given(text, called)? {
            SweepGiven::File(file) => Ok(file),
            on_record @ SweepGiven::OnRecord(_) => Ok(self.to_ask()?.sweep_given(&on_record)?),
        }
    }

    fn files(&self, texts: &[String]) -> anyhow::Result<Vec<SweepFile>> {
        texts.iter().map(|t| t.trim()).filter(|t| !t.is_empty()).map(|t| self.file(t, None)).collect()
    }

    /// The lab, or an empty one: a question makes no file.
    fn to_ask(&self) -> Result<Workshop, AppError> {
        if matewell_app::lab_exists(self.data)? {
            Workshop::open(self.data, now())
        } else {
            Workshop::in_memory(Box::new(UuidV7::default()))
        }
    }
}

/// The bytes of a file, unless it is larger than any sweep that is taken.
fn read_file(path: &Path) -> anyhow::Result<SweepFile> {
    let failed =
        |e: std::io::Error| AppError::File { path: path.display().to_string(), message: e.to_string() };
    let found = fs::metadata(path).map_err(failed)?.len();
    if found > MOST_SWEEP_BYTES as u64 {
        return Err(AppError::TooLarge { most: MOST_SWEEP_BYTES as u64, found }.into());
    }
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    Ok(SweepFile { name, bytes: fs::read(path).map_err(failed)? })
}

/// A file when there is one of that name, else an id.
fn given(text: &str, called: Option<&str>) -> anyhow::Result<SweepGiven> {
    let path = Path::new(text);
    if path.is_file() {
        let mut file = read_file(path)?;
        if let Some(called) = called {
            called.clone_into(&mut file.name);
        }
        return Ok(SweepGiven::File(file));
    }
    let looks_like_an_id = text.len() == 36 && text.chars().all(|c| c.is_ascii_hexdigit() || c == '-');
    if looks_like_an_id {
        return Ok(SweepGiven::OnRecord(text.to_owned()));
    }
    let message = "expected a file, or the id of a sweep on record; there is no such file".to_owned();
    Err(AppError::File { path: text.to_owned(), message }.into())
}

fn layout(asked: &mut Option<String>, file: Option<&PathBuf>) -> anyhow::Result<()> {
    if let Some(path) = file {
        let text = String::from_utf8(read_file(path)?.bytes)
            .map_err(|_| field("--layout-file")("expected UTF-8 text, found other bytes"))?;
        *asked = Some(text);
    }
    Ok(())
}

pub(crate) fn sweep(door: &Door<'_>, order: SweepOrder) -> anyhow::Result<u8> {
    match order.question {
        Question::Read { sweep, asked } => {
            let file = door.file(&sweep, asked.file_name.as_deref())?;
            door.print(&sweeps::read(&file, &asked)?, show_sweep::read)?;
            Ok(DONE)
        }
        Question::Check { sweep, asked } => {
            let file = door.file(&sweep, asked.file_name.as_deref())?;
            door.print(&sweeps::check(&file, &asked)?, show_sweep::check)?;
            Ok(DONE)
        }
        Question::Trace { sweep, asked } => {
            let file = door.file(&sweep, asked.file_name.as_deref())?;
            door.print(&sweeps::trace(&file, &asked)?, |out, t| show_sweep::columns(out, &t.columns))?;
            Ok(DONE)
        }
        Question::Time { sweep, asked } => {
            let file = door.file(&sweep, asked.file_name.as_deref())?;
            door.print(&sweeps::time(&file, &asked)?, show_sweep::time)?;
            Ok(DONE)
        }
        Question::Mask { sweep, asked } => {
            let file = door.file(&sweep, asked.file_name.as_deref())?;
            let found = sweeps::mask(&file, &asked)?;
            door.print(&found, |out, m| writeln!(out, "{}", m.text))?;
            Ok(match found.kept.as_str() {
                "yes" => DONE,
                "no" => STOP,
                _ => UNDECIDED,
            })
        }
        Question::Cable { before, after, asked } => {
            let (before, after) = (door.file(&before, None)?, door.file(&after, None)?);
            door.print(&sweeps::cable(&before, &after, &asked)?, |out, c| writeln!(out, "{}", c.text))?;
            Ok(DONE)
        }
        Question::Reconnect { first, second, history, asked } => {
            let groups = [door.files(&first)?, door.files(&second)?, door.files(&history)?];
            let [first, second, history] = &groups;
            let asked = SweepReconnectAsked {
                reading: asked.reading,
                parameter: asked.parameter,
                at: asked.at,
                ..SweepReconnectAsked::default()
            };
            let found = sweeps::reconnect([first, second, history], &asked)?;
            door.print(&found, show_sweep::reconnect)?;
            Ok(DONE)
        }
        Question::Trend { asked } => {
            door.print(&door.to_ask()?.sweep_trend(&asked)?, show_sweep::trend)?;
            Ok(DONE)
        }
        Question::List { chain } => {
            door.print(&door.to_ask()?.sweeps(&chain)?, show_sweep::list)?;
            Ok(DONE)
        }
        Question::File { sweep, to } => {
            let file = door.to_ask()?.sweep_file(&sweep)?;
            match to {
                Some(path) => fs::write(&path, &file.bytes).map_err(|e| AppError::File {
                    path: path.display().to_string(),
                    message: e.to_string(),
                })?,
                None => std::io::stdout().write_all(&file.bytes)?,
            }
            Ok(DONE)
        }
        Question::Compare { sweep, baseline, layout_file, mut asked } => {
            layout(&mut asked.layout, layout_file.as_ref())?;
            let given_now = given(&sweep, None)?;
            let baseline = baseline.map(|b| given(&b, None)).transpose()?;
            let order = CompareOrder { now: &given_now, baseline: baseline.as_ref(), asked: &asked };
            let found = door.to_ask()?.sweep_compare(&order, door.at()?)?;
            door.print(&found, show_sweep::compare)?;
            Ok(match found.finding.as_str() {
                "nothing-seen" => DONE,
                "no-verdict" => UNDECIDED,
                _ => STOP,
            })
        }
        Question::KeepVerdict { sweep, baseline, when } => {
            let said = door.said(&when)?;
            let given_now = SweepGiven::OnRecord(sweep);
            let baseline = baseline.map(SweepGiven::OnRecord);
            let asked = SweepCompareAsked::default();
            let order = CompareOrder { now: &given_now, baseline: baseline.as_ref(), asked: &asked };
            let written = Workshop::open(door.data, now())?.sweep_keep_verdict(&order, &said, now())?;
            door.print(&written, show::written)?;
            Ok(DONE)
        }
        Question::Add { file, layout_file, mut asked, when } => {
            layout(&mut asked.layout, layout_file.as_ref())?;
            let mut file = read_file(&file)?;
            if let Some(called) = &asked.file_name {
                file.name.clone_from(called);
            }
            let said = door.said(&when)?;
            let written = Workshop::open(door.data, now())?.sweep_add(&file, &asked, &said, now())?;
            door.print(&written, show::written)?;
            Ok(DONE)
        }
    }
}
