//! Every error of the room: what was expected, what was found, and where.

use thiserror::Error;

use crate::touchstone::Warning;

/// Why no answer is possible.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum NetworkError {
    /// A value that must be a finite number is not.
    #[error("{what}: expected a finite number, found {found} at index {index}")]
    NotFinite {
        /// The quantity.
        what: &'static str,
        /// The value.
        found: f64,
        /// Position in the list that was given.
        index: usize,
    },
    /// A value lies outside the range in which the method holds.
    #[error("{what}: expected {expected}, found {found}")]
    OutOfRange {
        /// The quantity.
        what: &'static str,
        /// The accepted range, in words.
        expected: &'static str,
        /// The value.
        found: f64,
    },
    /// A list has the wrong length.
    #[error("{what}: expected {expected} values, found {found}")]
    WrongCount {
        /// The list.
        what: &'static str,
        /// Length needed.
        expected: usize,
        /// Length given.
        found: usize,
    },
    /// Frequencies must rise strictly.
    #[error("frequency {index}: expected more than {previous} Hz, found {found} Hz")]
    FrequencyOrder {
        /// Position of the offending frequency.
        index: usize,
        /// The frequency before it, in hertz.
        previous: f64,
        /// The offending frequency, in hertz.
        found: f64,
    },
    /// A port number outside the network.
    #[error("port {port}: expected 1 to {ports}")]
    NoSuchPort {
        /// The port asked for, from 1.
        port: usize,
        /// Ports of the network.
        ports: usize,
    },
    /// Two sweeps, or a sweep and a limit, do not share a frequency grid.
    #[error("frequency grid: expected the same grid on both sides, found a difference at point {index}")]
    GridsDiffer {
        /// First point that differs, from 0.
        index: usize,
    },
    /// The frequency step is not constant.
    #[error(
        "frequency grid: expected a constant step of {step} Hz, point {index} is {found} Hz off its place"
    )]
    GridNotUniform {
        /// Mean step, in hertz.
        step: f64,
        /// Worst point, from 0.
        index: usize,
        /// Distance from its place, in hertz.
        found: f64,
    },
    /// The points below the first frequency cannot be filled honestly.
    #[error(
        "extrapolation to DC refused: {reason} (first frequency {first} Hz, step {step} Hz); use band-pass or the joint fit"
    )]
    DcRefused {
        /// First measured frequency, in hertz.
        first: f64,
        /// Step, in hertz.
        step: f64,
        /// Why, in words.
        reason: &'static str,
    },
    /// A matrix that must be inverted is singular.
    #[error("conversion from {from} at {frequency} Hz: the matrix has no inverse, so no S-parameters exist")]
    Singular {
        /// The parameter converted.
        from: &'static str,
        /// Where, in hertz.
        frequency: f64,
    },
    /// A combination that no standard defines.
    #[error("{what}")]
    NotDefined {
        /// What is not defined.
        what: &'static str,
    },
}

/// Why a Touchstone text was refused, and where.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("line {line}, column {column}: {reason}")]
pub struct ReadError {
    /// Line, from 1.
    pub line: usize,
    /// Byte column, from 1.
    pub column: usize,
    /// What was expected and found.
    pub reason: ReadReason,
}

/// What was expected and what was found.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ReadReason {
    /// The bytes are not Touchstone text at all.
    #[error("expected plain text, found {found}")]
    NotText {
        /// What the bytes look like.
        found: &'static str,
    },
    /// No option line before the data.
    #[error("expected an option line starting with # before the first number, found none")]
    NoOptionLine,
    /// An option nobody defined.
    #[error("option line: expected a unit, a parameter, a format or R, found {found:?}")]
    UnknownOption {
        /// The text.
        found: String,
    },
    /// The same kind of option twice.
    #[error("option line: expected one {what}, found a second one: {found:?}")]
    RepeatedOption {
        /// Kind of option.
        what: &'static str,
        /// The text.
        found: String,
    },
    /// Reference impedance missing, not a number, or not positive.
    #[error("reference impedance: expected a positive real number of ohms, found {found:?}")]
    BadReference {
        /// The text.
        found: String,
    },
    /// Number of references and ports disagree.
    #[error("reference impedances: expected {expected} for as many ports, found {found}")]
    ReferenceCount {
        /// Ports.
        expected: usize,
        /// References.
        found: usize,
    },
    /// A version this reader does not know.
    #[error("[Version]: expected 2.0 or 2.1 (or no keyword for 1.0 and 1.1), found {found:?}")]
    UnknownVersion {
        /// The text.
        found: String,
    },
    /// A keyword this reader does not know, or one that does not belong here.
    #[error("keyword [{found}]: {expected}")]
    Keyword {
        /// What was expected, in words.
        expected: &'static str,
        /// The keyword.
        found: String,
    },
    /// A keyword's argument is not one of the allowed ones.
    #[error("[{keyword}]: expected {expected}, found {found:?}")]
    BadArgument {
        /// The keyword.
        keyword: &'static str,
        /// What was expected, in words.
        expected: &'static str,
        /// The text.
        found: String,
    },
    /// A keyword the format requires is missing.
    #[error("expected the keyword [{keyword}] before the data, found none")]
    MissingKeyword {
        /// The keyword.
        keyword: &'static str,
    },
    /// Not a number.
    #[error("expected a number, found {found:?}{hint}")]
    NotANumber {
        /// The text.
        found: String,
        /// What it may be, or nothing.
        hint: &'static str,
    },
    /// NaN, infinity or overflow.
    #[error("expected a finite number, found {found:?}")]
    NotFinite {
        /// The text.
        found: String,
    },
    /// A negative frequency.
    #[error("frequency: expected zero or more, found {found} Hz")]
    NegativeFrequency {
        /// The value, in hertz.
        found: f64,
    },
    /// The first line of data holds an even count of numbers.
    #[error(
        "expected a frequency followed by whole complex pairs (an odd count of numbers), found {found} numbers"
    )]
    EvenFirstLine {
        /// Numbers on the line.
        found: usize,
    },
    /// The count of numbers fits no number of ports.
    #[error("expected 1 + 2 N² numbers per frequency for some N from 1 to 32, found {found}")]
    NoPortCount {
        /// Numbers of the first frequency.
        found: usize,
    },
    /// More ports than supported.
    #[error("number of ports: expected 1 to 32, found {found}")]
    TooManyPorts {
        /// What was asked for.
        found: usize,
    },
    /// File name, keyword and data disagree about the number of ports.
    #[error("number of ports: expected {expected} from the {from}, the data hold {found}")]
    PortsDisagree {
        /// Where the expectation comes from.
        from: &'static str,
        /// Ports expected.
        expected: usize,
        /// Ports found.
        found: usize,
    },
    /// A frequency with too few or too many numbers.
    #[error("expected {expected} numbers for this frequency, found {found}")]
    BlockLength {
        /// Numbers expected, the frequency included.
        expected: usize,
        /// Numbers found.
        found: usize,
    },
    /// The announced count of frequencies is not the one in the data.
    #[error("expected {expected} {what} as announced, found {found}")]
    FrequencyCount {
        /// Network or noise frequencies.
        what: &'static str,
        /// Announced.
        expected: usize,
        /// Found.
        found: usize,
    },
    /// H and G exist for two ports only, noise too.
    #[error("{what}: expected two ports, found {found}")]
    TwoPortOnly {
        /// The thing.
        what: &'static str,
        /// Ports.
        found: usize,
    },
    /// No data at all.
    #[error("expected network data, found none")]
    NoData,
    /// Strict reading turned a doubt into a refusal.
    #[error("refused in strict reading: {0}")]
    Strict(Warning),
}

/// Why a network cannot be written in the form asked for.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum WriteError {
    /// The form cannot carry this content.
    #[error("{what}: {why}")]
    FormCannotCarry {
        /// The content.
        what: &'static str,
        /// Why not.
        why: &'static str,
    },
    /// The content itself is not valid.
    #[error(transparent)]
    Content(#[from] NetworkError),
}
