//! Numbers to frequencies: a complex pair is never split over lines, so a
//! line with an odd count of numbers starts a frequency and one with an even
//! count continues it. That alone tells the number of ports.

use super::number::{Fault, decimal, leading};
use super::read::{Keywords, Place, readable, two_port_only};
use super::warning::WarningKind;
use super::{Format, Header, MatrixFormat, NoisePoint, Touchstone, TwoPortOrder};
use crate::error::{NetworkError, ReadError, ReadReason};
use crate::sweep::MOST_PORTS;

/// Most numbers a frequency can hold: itself and 32² pairs.
const MOST_NUMBERS: usize = 1 + 2 * MOST_PORTS * MOST_PORTS;

/// The token at `position`, up to white space or a comment.
pub(super) fn token(bytes: &[u8], position: usize) -> &[u8] {
    let rest = bytes.get(position..).unwrap_or_default();
    let end =
        rest.iter().position(|b| matches!(b, b' ' | b'\t' | b'\r' | b'\n' | b'!')).unwrap_or(rest.len());
    rest.get(..end).unwrap_or_default()
}

pub(super) struct Blocks {
    header: Header,
    ports: Option<usize>,
    ports_from: Option<&'static str>,
    announced: Option<usize>,
    announced_noise: Option<usize>,
    in_noise: bool,
    /// The frequency being collected; its first number in hertz.
    block: Vec<f64>,
    /// The numbers of the line being read.
    fresh: Vec<f64>,
    block_line: usize,
    line_pairs: Vec<usize>,
    layout_doubted: bool,
    frequencies: Vec<f64>,
    pairs: Vec<[f64; 2]>,
    noise: Vec<NoisePoint>,
}

impl Blocks {
    pub(super) fn new(header: Header, ports: Option<(usize, &'static str)>, keywords: &Keywords) -> Self {
        Self {
            header,
            ports: ports.map(|p| p.0),
            ports_from: ports.map(|p| p.1),
            announced: keywords.frequencies,
            announced_noise: keywords.noise_frequencies,
            in_noise: false,
            block: Vec::new(),
            fresh: Vec::new(),
            block_line: 0,
            line_pairs: Vec::new(),
            layout_doubted: false,
            frequencies: Vec::new(),
            pairs: Vec::new(),
            noise: Vec::new(),
        }
    }

    /// One line of numbers from `position`; gives the position after it.
    pub(super) fn line(
        &mut self,
        bytes: &[u8],
        position: usize,
        place: &mut Place,
    ) -> Result<usize, ReadError> {
        self.fresh.clear();
        let first = token(bytes, position);
        let mut at = position;
        loop {
            match bytes.get(at) {
                None | Some(b'\r' | b'\n' | b'!') => break,
                Some(b' ') => at += 1,
                Some(b'\t') => {
                    place.doubt(at, WarningKind::Tab)?;
                    at += 1;
                }
                Some(_) => {
                    let rest = bytes.get(at..).unwrap_or_default();
                    let (value, length) = match leading(rest) {
                        Some(found) => found,
                        None => self.careful(bytes, at, place)?,
                    };
                    self.fresh.push(value);
                    at += length;
                }
            }
            if self.fresh.len() > MOST_NUMBERS {
                let found = self.fresh.len();
                return Err(place.error(at, ReadReason::NoPortCount { found }));
            }
        }
        let count = self.fresh.len();
        if count % 2 == 1 {
            // This line starts a frequency: what was collected before is whole.
            self.finish_block(false, place)?;
            std::mem::swap(&mut self.block, &mut self.fresh);
            self.block_line = place.line;
            self.line_pairs.clear();
            let power = self.header.unit.power_of_ten();
            let hertz = match self.block.first() {
                Some(hertz) if power == 0 => *hertz,
                _ => decimal(first, power)
                    .map_err(|_| place.error(position, ReadReason::NotFinite { found: readable(first) }))?,
            };
            if hertz < 0.0 {
                return Err(place.error(position, ReadReason::NegativeFrequency { found: hertz }));
            }
            if let Some(slot) = self.block.first_mut() {
                *slot = hertz;
            }
        } else if self.block.is_empty() {
            return Err(place.error(position, ReadReason::EvenFirstLine { found: count }));
        } else {
            self.block.extend_from_slice(&self.fresh);
        }
        if self.block.len() > MOST_NUMBERS {
            return Err(place.error(position, ReadReason::NoPortCount { found: self.block.len() }));
        }
        if !self.layout_doubted {
            self.line_pairs.push(count / 2);
        }
        Ok(at)
    }

    /// A number that is not of the common kind, and its length.
    fn careful(&self, bytes: &[u8], at: usize, place: &mut Place) -> Result<(f64, usize), ReadError> {
        let text = token(bytes, at);
        let value = match decimal(text, 0) {
            Ok(value) => value,
            Err(fault) => self.explain(fault, bytes, at, place)?,
        };
        Ok((value, text.len()))
    }

    fn explain(&self, fault: Fault, bytes: &[u8], at: usize, place: &mut Place) -> Result<f64, ReadError> {
        let text = token(bytes, at);
        let found = readable(text);
        match fault {
            // A logarithmic magnitude of nothing; its place is an odd one in
            // the block (the frequency comes first).
            Fault::MinusInfinity if self.header.format == Format::DecibelAngle && !self.in_noise => {
                place.doubt(at, WarningKind::MinusInfinityDecibel)?;
                Ok(f64::NEG_INFINITY)
            }
            Fault::MinusInfinity | Fault::NotFinite => Err(place.error(at, ReadReason::NotFinite { found })),
            Fault::NotANumber => {
                let hint = if text.contains(&b',') {
                    "; Touchstone knows neither decimal commas nor comma separated columns"
                } else if text.iter().any(|b| matches!(b, b'D' | b'd')) {
                    "; an exponent is written with E"
                } else {
                    ""
                };
                Err(place.error(at, ReadReason::NotANumber { found, hint }))
            }
        }
    }

    pub(super) fn start_noise(&mut self, place: &mut Place) -> Result<(), ReadError> {
        self.finish_block(false, place)?;
        self.block.clear();
        self.in_noise = true;
        Ok(())
    }

    /// Takes the collected frequency; `last` when the text ends after it.
    fn finish_block(&mut self, last: bool, place: &mut Place) -> Result<(), ReadError> {
        if self.block.is_empty() {
            return Ok(());
        }
        let found = self.block.len();
        let at_block = |line, reason| Err(ReadError { line, column: 1, reason });
        if !self.in_noise && self.starts_noise() {
            self.in_noise = true;
        }
        if self.in_noise {
            return match self.block.as_slice() {
                &[
                    frequency,
                    minimum_noise_figure_db,
                    optimum_magnitude,
                    optimum_angle_degrees,
                    effective_resistance,
                ] => {
                    if let Some(previous) = self.noise.last().map(|n| n.frequency)
                        && frequency <= previous
                    {
                        let kind = WarningKind::FrequencyNotRising { previous, found: frequency };
                        place.doubt_at(self.block_line, 1, kind)?;
                    }
                    self.noise.push(NoisePoint {
                        frequency,
                        minimum_noise_figure_db,
                        optimum_magnitude,
                        optimum_angle_degrees,
                        effective_resistance,
                    });
                    self.block.clear();
                    Ok(())
                }
                _ if last => self.truncated(5, place),
                _ => at_block(self.block_line, ReadReason::BlockLength { expected: 5, found }),
            };
        }
        let ports = match self.ports {
            Some(ports) if !self.frequencies.is_empty() || self.announced.is_some() => ports,
            _ => self.settle_ports(place)?,
        };
        let expected = 1 + 2 * self.pairs_per_matrix(ports);
        if found != expected {
            return if last {
                self.truncated(expected, place)
            } else {
                at_block(self.block_line, ReadReason::BlockLength { expected, found })
            };
        }
        self.take_matrix(ports, place)
    }

    /// Version 1 marks the noise block by nothing but five numbers at a
    /// frequency that does not rise.
    fn starts_noise(&self) -> bool {
        self.announced.is_none()
            && self.ports == Some(2)
            && self.block.len() == 5
            && self.frequencies.last().is_some_and(|last| self.block.first().is_some_and(|f| f <= last))
    }

    /// The number of ports from the first frequency of a version 1 file.
    fn settle_ports(&mut self, place: &mut Place) -> Result<usize, ReadError> {
        let found = self.block.len();
        let error = |reason| ReadError { line: self.block_line, column: 1, reason };
        let Some(ports) = (1..=MOST_PORTS).find(|n| 1 + 2 * n * n == found) else {
            return Err(error(match self.ports {
                Some(n) => ReadReason::BlockLength { expected: 1 + 2 * n * n, found },
                None => ReadReason::NoPortCount { found },
            }));
        };
        match (self.ports, self.ports_from) {
            (Some(expected), Some(from)) if expected != ports => {
                return Err(error(ReadReason::PortsDisagree { from, expected, found: ports }));
            }
            (None, _) => place.doubt_at(self.block_line, 1, WarningKind::PortsInferred { ports })?,
            _ => {}
        }
        if ports != 2
            && let Some(what) = two_port_only(self.header.parameter, None)
        {
            return Err(error(ReadReason::TwoPortOnly { what, found: ports }));
        }
        if self.header.references.len() == 1 {
            self.header.references = self.header.references.repeat(ports);
        }
        self.ports = Some(ports);
        Ok(ports)
    }

    fn pairs_per_matrix(&self, ports: usize) -> usize {
        match self.header.matrix_format {
            MatrixFormat::Full => ports * ports,
            MatrixFormat::Lower | MatrixFormat::Upper => ports * (ports + 1) / 2,
        }
    }

    fn take_matrix(&mut self, ports: usize, place: &mut Place) -> Result<(), ReadError> {
        let Some((&frequency, numbers)) = self.block.split_first() else {
            return Ok(());
        };
        if let Some(&previous) = self.frequencies.last()
            && frequency <= previous
        {
            let kind = WarningKind::FrequencyNotRising { previous, found: frequency };
            place.doubt_at(self.block_line, 1, kind)?;
        }
        if !self.header.version.has_keywords() && !self.layout_doubted {
            let kind = match self.line_pairs.iter().find(|n| **n > 4) {
                Some(&pairs) => Some(WarningKind::LongLine { pairs }),
                None if rows_start_lines(&self.line_pairs, ports) => None,
                None => Some(WarningKind::RowNotOnOwnLine),
            };
            if let Some(kind) = kind {
                self.layout_doubted = true;
                place.doubt_at(self.block_line, 1, kind)?;
            }
        }
        let (printed, _) = numbers.as_chunks::<2>();
        let start = self.pairs.len();
        match self.header.matrix_format {
            MatrixFormat::Full => {
                self.pairs.extend_from_slice(printed);
                if ports == 2 && self.header.two_port_order == TwoPortOrder::ColumnByColumn {
                    self.pairs.swap(start + 1, start + 2);
                }
            }
            MatrixFormat::Lower | MatrixFormat::Upper => {
                self.pairs.resize(start + ports * ports, [0.0; 2]);
                let matrix = self.pairs.get_mut(start..).unwrap_or_default();
                let cells = triangle(self.header.matrix_format, ports);
                for ((row, column), pair) in cells.zip(printed) {
                    for cell in [row * ports + column, column * ports + row] {
                        if let Some(slot) = matrix.get_mut(cell) {
                            *slot = *pair;
                        }
                    }
                }
            }
        }
        self.frequencies.push(frequency);
        self.block.clear();
        Ok(())
    }

    fn truncated(&mut self, expected: usize, place: &mut Place) -> Result<(), ReadError> {
        let found = self.block.len();
        self.block.clear();
        place.doubt_at(self.block_line, 1, WarningKind::Truncated { expected, found })
    }

    /// Checks the counts and hands over the content and whether it is partial.
    pub(super) fn finish(
        mut self,
        position: usize,
        ended: bool,
        place: &mut Place,
    ) -> Result<(Touchstone, bool), ReadError> {
        self.finish_block(!ended, place)?;
        let mut partial = place.warnings.iter().any(|w| matches!(w.kind, WarningKind::Truncated { .. }));
        for (what, announced, found) in [
            ("network frequencies", self.announced, self.frequencies.len()),
            ("noise frequencies", self.announced_noise, self.noise.len()),
        ] {
            match announced {
                // A file cut short has too few and no end; any other
                // disagreement means one of the two statements is wrong.
                Some(expected) if found < expected && !ended => {
                    place.doubt(position, WarningKind::FewerFrequencies { expected, found })?;
                    partial = true;
                }
                Some(expected) if found != expected => {
                    return Err(place.error(position, ReadReason::FrequencyCount { what, expected, found }));
                }
                _ => {}
            }
        }
        if self.frequencies.is_empty() {
            return Err(place.error(position, ReadReason::NoData));
        }
        if self.announced.is_some() && self.announced_noise.is_none() && !self.noise.is_empty() {
            return Err(
                place.error(position, ReadReason::MissingKeyword { keyword: "Number of Noise Frequencies" })
            );
        }
        Touchstone::new(self.header, self.frequencies, self.pairs, self.noise)
            .map(|content| (content, partial))
            .map_err(|error| place.error(position, reason_of(&error)))
    }
}

fn reason_of(error: &NetworkError) -> ReadReason {
    match error {
        NetworkError::NotFinite { found, .. } => ReadReason::NotFinite { found: found.to_string() },
        NetworkError::NotDefined { .. } => ReadReason::BadArgument {
            keyword: "Mixed-Mode Order",
            expected: "each port once as S, or each pair once as D and once as C",
            found: "another list".to_owned(),
        },
        NetworkError::WrongCount { found, .. } => {
            ReadReason::TwoPortOnly { what: "noise data", found: *found }
        }
        _ => ReadReason::NoData,
    }
}

/// Row and column of the printed cells of a triangle, in print order.
pub(super) fn triangle(format: MatrixFormat, ports: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..ports).flat_map(move |row| {
        let columns = match format {
            MatrixFormat::Full => 0..ports,
            MatrixFormat::Lower => 0..row + 1,
            MatrixFormat::Upper => row..ports,
        };
        columns.map(move |column| (row, column))
    })
}

/// Version 1 layout: one- and two-ports on one line, else each row on lines of
/// its own.
fn rows_start_lines(line_pairs: &[usize], ports: usize) -> bool {
    let row = if ports <= 2 { ports * ports } else { ports };
    let mut in_row = 0;
    for &pairs in line_pairs {
        in_row += pairs;
        if in_row > row || (ports <= 2 && pairs != row) {
            return false;
        }
        if in_row == row {
            in_row = 0;
        }
    }
    in_row == 0
}
