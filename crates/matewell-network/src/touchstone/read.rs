//! Bytes to content, line by line, with every doubt named.

use super::blocks::Blocks;
use super::warning::{Warning, WarningKind};
use super::{Format, FrequencyUnit, MatrixFormat, Mode, Parameter, Touchstone, TwoPortOrder, Version};
use crate::error::{ReadError, ReadReason};
use crate::sweep::MOST_PORTS;

/// What to do with a file that breaks a rule of the format but whose numbers
/// are clear.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Strictness {
    /// Refuse it.
    Strict,
    /// Read it and say what is wrong.
    Lenient,
}

/// How to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadOptions {
    /// Refuse or report broken rules.
    pub strictness: Strictness,
    /// Number of ports promised by the file's name, see
    /// [`ports_from_file_name`]; a disagreement is refused.
    pub ports_from_name: Option<usize>,
}

/// A file's content and every doubt about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The content.
    pub content: Touchstone,
    /// The doubts, in the order of their lines; each kind at its first place.
    pub warnings: Vec<Warning>,
    /// Whether part of the promised data is missing.
    pub partial: bool,
}

/// Number of ports promised by a file name: `.s2p`, `.S12P`. `.ts` promises
/// none.
pub fn ports_from_file_name(name: &str) -> Option<usize> {
    let extension = name.rsplit_once('.')?.1.to_ascii_lowercase();
    let digits = extension.strip_prefix('s')?.strip_suffix('p')?;
    if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    digits.parse().ok()
}

/// Reads the bytes of a Touchstone file.
///
/// # Errors
///
/// [`ReadError`] with line and column: an unknown version, unit or keyword, a
/// count that fits nothing, a number that is not one, and in strict reading
/// every broken rule. Never a guess.
pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<Reading, ReadError> {
    let mut reader = Reader::new(bytes, options);
    reader.run()?;
    reader.finish()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Section {
    Header,
    References,
    Information,
    Network,
    Noise,
    End,
}

pub(super) struct Keywords {
    pub(super) version: Option<Version>,
    pub(super) ports: Option<usize>,
    pub(super) two_port_order: Option<TwoPortOrder>,
    pub(super) frequencies: Option<usize>,
    pub(super) noise_frequencies: Option<usize>,
    pub(super) references: Option<Vec<f64>>,
    pub(super) matrix_format: Option<MatrixFormat>,
    pub(super) mode_order: Option<Vec<Mode>>,
}

pub(super) struct OptionLine {
    pub(super) unit: FrequencyUnit,
    pub(super) parameter: Parameter,
    pub(super) format: Format,
    pub(super) references: Vec<f64>,
}

/// Where the reader stands, and the doubts so far.
pub(super) struct Place {
    pub(super) line: usize,
    pub(super) line_start: usize,
    pub(super) strictness: Strictness,
    pub(super) warnings: Vec<Warning>,
}

impl Place {
    pub(super) fn column(&self, position: usize) -> usize {
        position.saturating_sub(self.line_start) + 1
    }

    pub(super) fn error(&self, position: usize, reason: ReadReason) -> ReadError {
        ReadError { line: self.line, column: self.column(position), reason }
    }

    /// Notes a doubt once per kind; in strict reading a broken rule ends it.
    pub(super) fn doubt(&mut self, position: usize, kind: WarningKind) -> Result<(), ReadError> {
        let (line, column) = (self.line, self.column(position));
        self.doubt_at(line, column, kind)
    }

    pub(super) fn doubt_at(
        &mut self,
        line: usize,
        column: usize,
        kind: WarningKind,
    ) -> Result<(), ReadError> {
        let known = std::mem::discriminant(&kind);
        let repeated = self.warnings.iter().any(|w| std::mem::discriminant(&w.kind) == known);
        if repeated && !matches!(kind, WarningKind::DefaultUsed { .. } | WarningKind::NeedlessKeyword { .. })
        {
            return Ok(());
        }
        let warning = Warning { line, column, kind };
        if self.strictness == Strictness::Strict && warning.kind.breaks_rule() {
            return Err(ReadError { line, column, reason: ReadReason::Strict(warning) });
        }
        self.warnings.push(warning);
        Ok(())
    }
}

struct Reader<'a> {
    bytes: &'a [u8],
    position: usize,
    place: Place,
    section: Section,
    keywords: Keywords,
    option_line: Option<OptionLine>,
    something_before: bool,
    comments: Vec<String>,
    blocks: Option<Blocks>,
    reference_numbers: Vec<f64>,
    ports_from_name: Option<usize>,
}

impl<'a> Reader<'a> {
    fn new(bytes: &'a [u8], options: &ReadOptions) -> Self {
        Self {
            bytes,
            position: 0,
            place: Place { line: 1, line_start: 0, strictness: options.strictness, warnings: Vec::new() },
            section: Section::Header,
            keywords: Keywords {
                version: None,
                ports: None,
                two_port_order: None,
                frequencies: None,
                noise_frequencies: None,
                references: None,
                matrix_format: None,
                mode_order: None,
            },
            option_line: None,
            something_before: false,
            comments: Vec::new(),
            blocks: None,
            reference_numbers: Vec::new(),
            ports_from_name: options.ports_from_name,
        }
    }

    fn run(&mut self) -> Result<(), ReadError> {
        self.refuse_other_files()?;
        if self.bytes.starts_with(&[0xEF, 0xBB, 0xBF]) {
            self.place.doubt(0, WarningKind::ByteOrderMark)?;
            self.position = 3;
        }
        while let Some(&byte) = self.bytes.get(self.position) {
            match byte {
                b' ' => self.position += 1,
                b'\t' => {
                    self.place.doubt(self.position, WarningKind::Tab)?;
                    self.position += 1;
                }
                b'\r' | b'\n' => self.end_of_line()?,
                b'!' => self.comment()?,
                _ if self.section == Section::Information => self.information(),
                _ if self.section == Section::End => {
                    self.place.doubt(self.position, WarningKind::TextAfterEnd)?;
                    self.position = self.line_end();
                }
                b'#' => self.option_line()?,
                b'[' => self.keyword()?,
                _ => self.numbers()?,
            }
        }
        let unfinished = !self.bytes.ends_with(b"\n") && !self.bytes.ends_with(b"\r");
        if unfinished {
            self.place.doubt(self.position, WarningKind::NoFinalLineEnd)?;
        }
        Ok(())
    }

    fn refuse_other_files(&self) -> Result<(), ReadError> {
        let found = match self.bytes {
            [] => "nothing",
            [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => "UTF-16 text",
            [b'P', b'K', 3, 4, ..] => "a ZIP archive",
            [0x1F, 0x8B, ..] => "a gzip archive",
            bytes if bytes.contains(&0) => "a zero byte",
            _ => return Ok(()),
        };
        Err(self.place.error(0, ReadReason::NotText { found }))
    }

    fn line_end(&self) -> usize {
        let rest = self.bytes.get(self.position..).unwrap_or_default();
        self.position + rest.iter().position(|&b| b == b'\n' || b == b'\r').unwrap_or(rest.len())
    }

    fn end_of_line(&mut self) -> Result<(), ReadError> {
        let two = self.bytes.get(self.position..self.position + 2);
        if self.bytes.get(self.position) == Some(&b'\r') {
            if two == Some(b"\r\n") {
                self.position += 1;
            } else {
                self.place.doubt(self.position, WarningKind::CarriageReturnOnly)?;
            }
        }
        self.position += 1;
        self.place.line += 1;
        self.place.line_start = self.position;
        Ok(())
    }

    fn comment(&mut self) -> Result<(), ReadError> {
        let end = self.line_end();
        let text = self.bytes.get(self.position + 1..end).unwrap_or_default();
        if !text.is_ascii() {
            self.place.doubt(self.position, WarningKind::NotAscii)?;
        }
        if contains_ignoring_case(text, b"port impedance") || contains_ignoring_case(text, b"gamma") {
            self.place.doubt(self.position, WarningKind::ImpedanceInComment)?;
        }
        let whole_line = self
            .bytes
            .get(self.place.line_start..self.position)
            .is_some_and(|before| before.iter().all(|b| matches!(b, b' ' | b'\t' | 0xEF | 0xBB | 0xBF)));
        if whole_line && self.blocks.is_none() && self.section == Section::Header {
            self.comments.push(readable(text).trim_end().to_owned());
        }
        self.position = end;
        Ok(())
    }

    fn information(&mut self) {
        let end = self.line_end();
        let text = self.bytes.get(self.position..end).unwrap_or_default();
        if contains_ignoring_case(text, b"[end information]") {
            self.section = Section::Header;
        }
        self.position = end;
    }

    /// The text from here to a comment or the line's end.
    fn rest_of_line(&self) -> &'a [u8] {
        let line = self.bytes.get(self.position..self.line_end()).unwrap_or_default();
        line.split(|&b| b == b'!').next().unwrap_or_default()
    }

    fn option_line(&mut self) -> Result<(), ReadError> {
        let start = self.position;
        let text = self.rest_of_line();
        self.position += text.len();
        if self.option_line.is_some() {
            return self.place.doubt(start, WarningKind::ExtraOptionLine);
        }
        self.leave_references()?;
        if self.something_before && self.keywords.version.is_some() && self.keywords.ports.is_some() {
            self.place.doubt(start, WarningKind::OptionLineLate)?;
        }
        self.something_before = true;
        self.option_line = Some(super::option_line::parse(text, start, &mut self.place)?);
        Ok(())
    }

    fn keyword(&mut self) -> Result<(), ReadError> {
        let start = self.position;
        let text = self.rest_of_line();
        self.position += text.len();
        let Some(close) = text.iter().position(|&b| b == b']') else {
            let found = readable(text);
            return Err(self
                .place
                .error(start, ReadReason::Keyword { expected: "expected a closing bracket", found }));
        };
        let name = squeezed(text.get(1..close).unwrap_or_default());
        // 32 ports in mixed modes take 224 characters and what stands between.
        let argument = readable_within(text.get(close + 1..).unwrap_or_default(), 2000).trim().to_owned();
        let refuse = |place: &Place, expected| {
            Err(place.error(start, ReadReason::Keyword { expected, found: name.clone() }))
        };
        if name != "version" && self.keywords.version.is_none() {
            return refuse(&self.place, "expected [Version] before any other keyword");
        }
        let in_data = matches!(self.section, Section::Network | Section::Noise);
        match name.as_str() {
            "end" => {
                self.leave_references()?;
                if self.blocks.is_none() {
                    return refuse(&self.place, "expected [Network Data] before it");
                }
                self.section = Section::End;
            }
            "noise data" if self.section == Section::Network => {
                self.section = Section::Noise;
                if let Some(blocks) = &mut self.blocks {
                    blocks.start_noise(&mut self.place)?;
                }
            }
            _ if in_data => return refuse(&self.place, "expected no such keyword among the data"),
            "network data" => {
                self.leave_references()?;
                self.section = Section::Network;
                self.start_blocks(start)?;
            }
            "begin information" => {
                self.leave_references()?;
                self.section = Section::Information;
            }
            _ => {
                self.leave_references()?;
                if name == "version" && self.something_before {
                    self.place.doubt(start, WarningKind::VersionNotFirst)?;
                }
                let lists_references =
                    super::keywords::apply(&name, &argument, start, &self.place, &mut self.keywords)?;
                if lists_references {
                    self.section = Section::References;
                    // The list may start on this very line.
                    self.position = start + close + 1;
                }
            }
        }
        if !argument.is_empty() && matches!(name.as_str(), "end" | "network data" | "noise data") {
            return Err(self.place.error(
                start + close + 1,
                ReadReason::BadArgument {
                    keyword: "data keyword",
                    expected: "nothing after it",
                    found: argument,
                },
            ));
        }
        self.something_before = true;
        Ok(())
    }

    fn leave_references(&mut self) -> Result<(), ReadError> {
        if self.section == Section::References {
            self.section = Section::Header;
            let list = std::mem::take(&mut self.reference_numbers);
            if let Some(found) = list.iter().find(|z| **z <= 0.0) {
                return Err(self
                    .place
                    .error(self.position, ReadReason::BadReference { found: found.to_string() }));
            }
            self.keywords.references = Some(list);
        }
        Ok(())
    }

    fn numbers(&mut self) -> Result<(), ReadError> {
        if self.section == Section::References {
            let token = super::blocks::token(self.bytes, self.position);
            match super::number::decimal(token, 0) {
                Ok(z) if self.reference_numbers.len() < MOST_PORTS => self.reference_numbers.push(z),
                _ => {
                    return Err(self
                        .place
                        .error(self.position, ReadReason::BadReference { found: readable(token) }));
                }
            }
            self.position += token.len();
            return Ok(());
        }
        if self.blocks.is_none() {
            if self.keywords.version.is_some() {
                let found = readable(super::blocks::token(self.bytes, self.position));
                return Err(self.place.error(
                    self.position,
                    ReadReason::Keyword {
                        expected: "expected [Network Data] before the first number",
                        found,
                    },
                ));
            }
            self.start_blocks(self.position)?;
        }
        if let Some(blocks) = &mut self.blocks {
            self.position = blocks.line(self.bytes, self.position, &mut self.place)?;
        }
        Ok(())
    }

    /// Fixes what the header says; from here on only numbers follow.
    fn start_blocks(&mut self, position: usize) -> Result<(), ReadError> {
        let Some(option_line) = &self.option_line else {
            return Err(self.place.error(position, ReadReason::NoOptionLine));
        };
        let header =
            super::keywords::header(&self.keywords, option_line, &self.comments, position, &self.place)?;
        let ports = match (self.keywords.ports, option_line.references.len()) {
            (Some(ports), _) => Some((ports, "keyword [Number of Ports]")),
            (None, several) if several > 1 => Some((several, "option line's references")),
            _ => self.ports_from_name.map(|ports| (ports, "file name")),
        };
        if let (Some(expected), Some((found, _))) = (self.ports_from_name, ports)
            && expected != found
        {
            return Err(self
                .place
                .error(position, ReadReason::PortsDisagree { from: "file name", expected, found }));
        }
        if let Some((ports, _)) = ports
            && (ports == 0 || ports > MOST_PORTS)
        {
            return Err(self.place.error(position, ReadReason::TooManyPorts { found: ports }));
        }
        if let Some((ports, _)) = ports
            && ports != 2
            && let Some(what) = two_port_only(header.parameter, self.keywords.noise_frequencies)
        {
            return Err(self.place.error(position, ReadReason::TwoPortOnly { what, found: ports }));
        }
        self.blocks = Some(Blocks::new(header, ports, &self.keywords));
        Ok(())
    }

    fn finish(mut self) -> Result<Reading, ReadError> {
        let position = self.position;
        if self.section == Section::Information {
            return Err(self.place.error(
                position,
                ReadReason::Keyword {
                    expected: "expected [End Information], found the end of the text",
                    found: "begin information".to_owned(),
                },
            ));
        }
        let Some(blocks) = self.blocks else {
            let reason =
                if self.option_line.is_none() { ReadReason::NoOptionLine } else { ReadReason::NoData };
            return Err(self.place.error(position, reason));
        };
        let ended = self.section == Section::End;
        if self.keywords.version.is_some() && !ended {
            self.place.doubt(position, WarningKind::NoEnd)?;
        }
        let (content, partial) = blocks.finish(position, ended, &mut self.place)?;
        Ok(Reading { content, warnings: self.place.warnings, partial })
    }
}

pub(super) fn two_port_only(parameter: Parameter, noise: Option<usize>) -> Option<&'static str> {
    match parameter {
        Parameter::H => Some("H parameters"),
        Parameter::G => Some("G parameters"),
        _ => noise.map(|_| "noise data"),
    }
}

/// Text for a message or a comment: UTF-8, else Latin-1; long text is cut.
pub(super) fn readable(bytes: &[u8]) -> String {
    readable_within(bytes, 200)
}

fn readable_within(bytes: &[u8], longest: usize) -> String {
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|&b| char::from(b)).collect(),
    };
    text.chars().take(longest).map(|c| if c.is_control() && c != '\t' { '\u{fffd}' } else { c }).collect()
}

/// A keyword's name: lower case, single spaces.
fn squeezed(bytes: &[u8]) -> String {
    readable(bytes).to_ascii_lowercase().split_whitespace().collect::<Vec<_>>().join(" ")
}

fn contains_ignoring_case(text: &[u8], pattern: &[u8]) -> bool {
    text.windows(pattern.len()).any(|w| w.eq_ignore_ascii_case(pattern))
}
