//! Touchstone text, versions 1.0, 1.1, 2.0 and 2.1, in and out.
//!
//! The numbers are kept exactly as the file holds them (same parameter, same
//! format, same normalisation), so that writing and reading again gives the
//! identical content; [`Touchstone::to_sweep`] converts, and refuses what no
//! standard defines.
//!
//! # Source
//!
//! `touchstone-2.1` (option line, version 1.1 references, defaults),
//! `touchstone-2.0` (keywords, numbered examples), `ibis-tsird` (issues 4.1,
//! 5.1, 6 and 8), and for the rule of odd and even lines the IBIS-interconnect
//! list, 16 February 2022.

mod blocks;
mod convert;
mod keywords;
mod number;
mod option_line;
mod read;
mod warning;
mod write;

pub use read::{ReadOptions, Reading, Strictness, ports_from_file_name, read};
pub use warning::{Warning, WarningKind};
pub use write::{Form, write};

use crate::error::NetworkError;
use crate::sweep::MOST_PORTS;

/// Version of the format.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Version {
    /// No version keyword, one reference impedance.
    V1_0,
    /// No version keyword, one reference impedance per port on the option line.
    V1_1,
    /// `[Version] 2.0`.
    V2_0,
    /// `[Version] 2.1`.
    V2_1,
}

impl Version {
    /// Whether keywords structure the file.
    pub fn has_keywords(self) -> bool {
        matches!(self, Self::V2_0 | Self::V2_1)
    }
}

/// Unit of the frequency column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FrequencyUnit {
    /// Hertz.
    Hz,
    /// Kilohertz.
    Khz,
    /// Megahertz.
    Mhz,
    /// Gigahertz, the default.
    Ghz,
}

impl FrequencyUnit {
    /// Power of ten that turns a value in this unit into hertz.
    pub fn power_of_ten(self) -> i32 {
        match self {
            Self::Hz => 0,
            Self::Khz => 3,
            Self::Mhz => 6,
            Self::Ghz => 9,
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Hz => "Hz",
            Self::Khz => "kHz",
            Self::Mhz => "MHz",
            Self::Ghz => "GHz",
        }
    }
}

/// Network parameter of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Parameter {
    /// Scattering, the default.
    S,
    /// Admittance.
    Y,
    /// Impedance.
    Z,
    /// Hybrid H, two ports only.
    H,
    /// Hybrid G, two ports only.
    G,
}

impl Parameter {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::S => "S",
            Self::Y => "Y",
            Self::Z => "Z",
            Self::H => "H",
            Self::G => "G",
        }
    }
}

/// How a complex number is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Format {
    /// Real and imaginary part.
    RealImaginary,
    /// Magnitude and angle in degrees, the default.
    MagnitudeAngle,
    /// `20 log10` of the magnitude, and angle in degrees.
    DecibelAngle,
}

impl Format {
    fn word(self) -> &'static str {
        match self {
            Self::RealImaginary => "RI",
            Self::MagnitudeAngle => "MA",
            Self::DecibelAngle => "DB",
        }
    }
}

/// Order of the four entries of a two-port in version 2.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TwoPortOrder {
    /// 11, 12, 21, 22.
    RowByRow,
    /// 11, 21, 12, 22, the only order of version 1.
    ColumnByColumn,
}

/// Which part of each matrix is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MatrixFormat {
    /// All entries.
    Full,
    /// The lower triangle with the diagonal of a symmetric matrix.
    Lower,
    /// The upper triangle with the diagonal of a symmetric matrix.
    Upper,
}

/// Meaning of one row and column of a mixed-mode matrix; ports from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mode {
    /// `S1`: a single-ended port.
    Single(usize),
    /// `D2,3`: the difference of two ports.
    Differential(usize, usize),
    /// `C2,3`: what two ports have in common.
    Common(usize, usize),
}

/// One line of the noise block, numbers as printed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoisePoint {
    /// Frequency, in hertz.
    pub frequency: f64,
    /// Minimum noise figure, in decibels.
    pub minimum_noise_figure_db: f64,
    /// Magnitude of the source reflection that gives it.
    pub optimum_magnitude: f64,
    /// Its angle, in degrees.
    pub optimum_angle_degrees: f64,
    /// Effective noise resistance: normalised to the reference in version 1,
    /// in ohms in version 2. [`Touchstone::noise_resistance`] gives ohms.
    pub effective_resistance: f64,
}

/// Everything a file says before its numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Header {
    /// Version of the format.
    pub version: Version,
    /// Unit of the frequency column.
    pub unit: FrequencyUnit,
    /// Network parameter.
    pub parameter: Parameter,
    /// Format of complex numbers.
    pub format: Format,
    /// Reference impedance of each port, in ohms.
    pub references: Vec<f64>,
    /// Order of a two-port's entries; of no meaning for other port counts.
    pub two_port_order: TwoPortOrder,
    /// Printed part of the matrices.
    pub matrix_format: MatrixFormat,
    /// Meaning of rows and columns when it is not port by port.
    pub mode_order: Option<Vec<Mode>>,
    /// Comment lines before the data, without the mark.
    pub comments: Vec<String>,
}

impl Header {
    /// A header for `ports` equal references with the format's other defaults.
    pub fn with_defaults(version: Version, ports: usize, reference: f64) -> Self {
        Self {
            version,
            unit: FrequencyUnit::Ghz,
            parameter: Parameter::S,
            format: Format::MagnitudeAngle,
            references: vec![reference; ports],
            two_port_order: TwoPortOrder::ColumnByColumn,
            matrix_format: MatrixFormat::Full,
            mode_order: None,
            comments: Vec::new(),
        }
    }
}

/// The content of a Touchstone file, numbers as the file holds them.
#[derive(Debug, Clone, PartialEq)]
pub struct Touchstone {
    header: Header,
    frequencies: Vec<f64>,
    pairs: Vec<[f64; 2]>,
    noise: Vec<NoisePoint>,
}

impl Touchstone {
    /// Checks and keeps the content of a file.
    ///
    /// - `frequencies`: in hertz. They need not rise: a doubtful file is kept
    ///   as it is, and [`Self::to_sweep`] refuses it.
    /// - `pairs`: full matrices row by row in the header's format.
    ///
    /// # Errors
    ///
    /// Wrong counts, a number that is not finite (minus infinity decibels is
    /// zero magnitude and stays), a reference that is not positive, H, G or
    /// noise with other than two ports, or a mode order that is not a
    /// permutation of the ports.
    pub fn new(
        header: Header,
        frequencies: Vec<f64>,
        pairs: Vec<[f64; 2]>,
        noise: Vec<NoisePoint>,
    ) -> Result<Self, NetworkError> {
        let ports = header.references.len();
        if ports == 0 || ports > MOST_PORTS {
            return Err(NetworkError::WrongCount { what: "ports", expected: MOST_PORTS, found: ports });
        }
        let expected = frequencies.len() * ports * ports;
        if pairs.len() != expected || frequencies.is_empty() {
            return Err(NetworkError::WrongCount { what: "complex pairs", expected, found: pairs.len() });
        }
        for &found in &header.references {
            if !found.is_finite() || found <= 0.0 {
                return Err(NetworkError::OutOfRange {
                    what: "reference impedance",
                    expected: "a finite number of ohms above 0",
                    found,
                });
            }
        }
        if ports != 2 && (matches!(header.parameter, Parameter::H | Parameter::G) || !noise.is_empty()) {
            return Err(NetworkError::WrongCount {
                what: "ports of H, G or noise data",
                expected: 2,
                found: ports,
            });
        }
        for (index, &found) in frequencies.iter().enumerate() {
            if !found.is_finite() || found < 0.0 {
                return Err(NetworkError::NotFinite { what: "frequency of zero or more", found, index });
            }
        }
        let decibel = header.format == Format::DecibelAngle;
        for (index, pair) in pairs.iter().enumerate() {
            let [first, second] = *pair;
            let first_is_fine = first.is_finite() || (decibel && first == f64::NEG_INFINITY);
            if !first_is_fine || !second.is_finite() {
                let found = if first_is_fine { second } else { first };
                return Err(NetworkError::NotFinite { what: "network parameter", found, index });
            }
        }
        for (index, n) in noise.iter().enumerate() {
            for found in [
                n.frequency,
                n.minimum_noise_figure_db,
                n.optimum_magnitude,
                n.optimum_angle_degrees,
                n.effective_resistance,
            ] {
                if !found.is_finite() {
                    return Err(NetworkError::NotFinite { what: "noise parameter", found, index });
                }
            }
        }
        if let Some(order) = &header.mode_order
            && !is_complete(order, ports)
        {
            return Err(NetworkError::NotDefined {
                what: "mixed-mode order: expected each port once as S, or each pair once as D and once as C",
            });
        }
        Ok(Self { header, frequencies, pairs, noise })
    }

    /// What the file says before its numbers.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// Number of ports (rows of the matrices).
    pub fn ports(&self) -> usize {
        self.header.references.len()
    }

    /// Network frequencies, in hertz.
    pub fn frequencies(&self) -> &[f64] {
        &self.frequencies
    }

    /// Full matrices row by row, in the header's format and normalisation.
    pub fn pairs(&self) -> &[[f64; 2]] {
        &self.pairs
    }

    /// The noise block.
    pub fn noise(&self) -> &[NoisePoint] {
        &self.noise
    }

    /// Effective noise resistance in ohms.
    ///
    /// Version 1 prints it divided by the reference impedance, version 2 in
    /// ohms.
    ///
    /// # Source
    ///
    /// `touchstone-2.0`, examples 17 and 18.
    pub fn noise_resistance(&self, point: &NoisePoint) -> f64 {
        if self.header.version.has_keywords() {
            point.effective_resistance
        } else {
            point.effective_resistance * self.header.references.first().copied().unwrap_or(f64::NAN)
        }
    }
}

/// Each port exactly once, differences and sums of the same pairs.
fn is_complete(order: &[Mode], ports: usize) -> bool {
    let mut seen = vec![0_u8; ports + 1];
    let mut differential = Vec::new();
    let mut common = Vec::new();
    for mode in order {
        match *mode {
            Mode::Single(p) => match seen.get_mut(p) {
                Some(n) => *n += 2,
                None => return false,
            },
            Mode::Differential(p, q) | Mode::Common(p, q) => {
                for port in [p, q] {
                    match seen.get_mut(port) {
                        Some(n) => *n += 1,
                        None => return false,
                    }
                }
                if matches!(mode, Mode::Differential(..)) {
                    differential.push((p, q));
                } else {
                    common.push((p, q));
                }
            }
        }
    }
    differential.sort_unstable();
    common.sort_unstable();
    order.len() == ports
        && differential == common
        && differential.iter().all(|(p, q)| p != q)
        && seen.iter().skip(1).all(|&n| n == 2)
        && seen.first() == Some(&0)
}
