//! A sweep as it is given: a file, or the id of one on record.

use super::typed::{bad, network};
use crate::{AppError, Workshop};
use matewell_lab::{Fact, FactBody, FactId, SweepNoted};
use matewell_network::{
    Sweep, sanity,
    touchstone::{ReadOptions, Reading, Strictness, Warning, WarningKind, ports_from_file_name, read},
};
use matewell_store::{MOST_FILE_BYTES, hash_text, sha256_of};
use matewell_wire::{SweepFileJson, SweepGridJson, SweepRefJson, SweepWarningJson, moment_text};

/// A file by name and bytes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SweepFile {
    /// What it is called; `.s2p` promises two ports.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// A sweep as it is given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SweepGiven {
    /// A file.
    File(SweepFile),
    /// Id of a fact on record.
    OnRecord(String),
}

/// A sweep with its bytes, and its fact when it is on record.
#[derive(Debug, Clone)]
pub(super) struct Loaded {
    pub(super) file: SweepFile,
    pub(super) fact: Option<Fact>,
}

/// A file that was read, and its S-parameters.
pub(super) struct Parsed {
    pub(super) reading: Reading,
    pub(super) sweep: Sweep,
}

impl Loaded {
    pub(super) fn noted(&self) -> Option<&SweepNoted> {
        self.fact.as_ref().and_then(noted_of)
    }

    pub(super) fn file_json(&self) -> SweepFileJson {
        file_json(&self.file)
    }

    pub(super) fn reference(&self) -> SweepRefJson {
        SweepRefJson {
            fact: self.fact.as_ref().map(|f| f.id.to_string()),
            file: self.file_json(),
            happened_at: self.fact.as_ref().map(|f| moment_text(f.happened_at)),
        }
    }

    pub(super) fn parse(&self, reading: Option<&str>) -> Result<Parsed, AppError> {
        parse_file(&self.file, reading)
    }
}

/// What a fact says about its sweep.
pub(super) fn noted_of(fact: &Fact) -> Option<&SweepNoted> {
    match &fact.body {
        FactBody::SweepNoted(noted) => Some(noted),
        _ => None,
    }
}

pub(super) fn file_json(file: &SweepFile) -> SweepFileJson {
    SweepFileJson {
        name: file.name.clone(),
        bytes: file.bytes.len() as u64,
        sha256: hash_text(&sha256_of(&file.bytes)),
    }
}

pub(super) fn parse_file(file: &SweepFile, reading: Option<&str>) -> Result<Parsed, AppError> {
    let reading = read_file(file, reading)?;
    let sweep = reading.content.to_sweep().map_err(network("file"))?;
    Ok(Parsed { reading, sweep })
}

pub(super) fn read_file(file: &SweepFile, reading: Option<&str>) -> Result<Reading, AppError> {
    if file.bytes.len() > MOST_FILE_BYTES {
        return Err(AppError::TooLarge { most: MOST_FILE_BYTES as u64, found: file.bytes.len() as u64 });
    }
    let strictness = match reading.map(str::trim) {
        None | Some("" | "lenient") => Strictness::Lenient,
        Some("strict") => Strictness::Strict,
        Some(other) => return Err(bad("reading")(format!("expected strict or lenient, found \"{other}\""))),
    };
    let options = ReadOptions { strictness, ports_from_name: ports_from_file_name(&file.name) };
    read(&file.bytes, &options)
        .map_err(|error| AppError::Touchstone { name: file.name.clone(), error: Box::new(error) })
}

impl Workshop {
    /// The bytes of a sweep as it is given.
    pub(super) fn load_sweep(&self, given: &SweepGiven) -> Result<Loaded, AppError> {
        let id = match given {
            SweepGiven::File(file) => return Ok(Loaded { file: file.clone(), fact: None }),
            SweepGiven::OnRecord(id) => id.trim(),
        };
        let unknown =
            || AppError::UnknownTag { what: "a sweep, by its id", found: id.chars().take(80).collect() };
        let fact: FactId = id.parse().map_err(|_| unknown())?;
        let fact = self.store.sweeps()?.into_iter().find(|f| f.id == fact).ok_or_else(unknown)?;
        self.sweep_on_record(fact)
    }

    pub(super) fn sweep_on_record(&self, fact: Fact) -> Result<Loaded, AppError> {
        let Some(noted) = noted_of(&fact) else {
            return Err(AppError::Conflict(format!("fact {} is no sweep", fact.id)));
        };
        let name = noted.file_name.clone();
        let bytes = self.store.kept_file(&noted.sha256)?.ok_or_else(|| {
            AppError::Conflict(format!("the file {} of sweep {} is not kept any more", name, fact.id))
        })?;
        Ok(Loaded { file: SweepFile { name, bytes }, fact: Some(fact) })
    }

    /// The file of a sweep as it is given. What is asked about it then needs
    /// no lab, so that a large file keeps nobody at the bench waiting.
    ///
    /// # Errors
    ///
    /// An unknown sweep; a store that cannot be read.
    pub fn sweep_given(&self, given: &SweepGiven) -> Result<SweepFile, AppError> {
        Ok(self.load_sweep(given)?.file)
    }

    /// The file of a sweep on record, as it came.
    ///
    /// # Errors
    ///
    /// An unknown sweep; a store that cannot be read.
    pub fn sweep_file(&self, id: &str) -> Result<SweepFile, AppError> {
        Ok(self.load_sweep(&SweepGiven::OnRecord(id.to_owned()))?.file)
    }
}

pub(super) fn warnings(reading: &Reading) -> Vec<SweepWarningJson> {
    reading.warnings.iter().map(warning).collect()
}

fn warning(warning: &Warning) -> SweepWarningJson {
    SweepWarningJson {
        line: warning.line as u64,
        column: warning.column as u64,
        code: code(&warning.kind).to_owned(),
        breaks_rule: warning.kind.breaks_rule(),
        text: warning.kind.to_string(),
    }
}

fn code(kind: &WarningKind) -> &'static str {
    match kind {
        WarningKind::ByteOrderMark => "byte-order-mark",
        WarningKind::NotAscii => "not-ascii",
        WarningKind::CarriageReturnOnly => "carriage-return-only",
        WarningKind::Tab => "tab",
        WarningKind::NoFinalLineEnd => "no-final-line-end",
        WarningKind::DefaultUsed { .. } => "default-used",
        WarningKind::ExtraOptionLine => "extra-option-line",
        WarningKind::VersionNotFirst => "version-not-first",
        WarningKind::OptionLineLate => "option-line-late",
        WarningKind::LongLine { .. } => "long-line",
        WarningKind::RowNotOnOwnLine => "row-not-on-own-line",
        WarningKind::FrequencyNotRising { .. } => "frequency-not-rising",
        WarningKind::MinusInfinityDecibel => "minus-infinity-decibel",
        WarningKind::ImpedanceInComment => "impedance-in-comment",
        WarningKind::NoEnd => "no-end",
        WarningKind::TextAfterEnd => "text-after-end",
        WarningKind::NeedlessKeyword { .. } => "needless-keyword",
        WarningKind::Truncated { .. } => "truncated",
        WarningKind::FewerFrequencies { .. } => "fewer-frequencies",
        WarningKind::PortsInferred { .. } => "ports-inferred",
        _ => "other",
    }
}

pub(super) fn grid_json(sweep: &Sweep) -> SweepGridJson {
    let grid = sanity::grid(sweep);
    SweepGridJson {
        points: grid.points as u64,
        first_hz: grid.first,
        last_hz: grid.last,
        step_hz: grid.step,
        harmonic: grid.harmonic,
    }
}
