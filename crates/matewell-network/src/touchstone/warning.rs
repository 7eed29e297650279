//! Every doubt about a file, with its place.

use std::fmt;

/// A doubt about a file, and where it arose first.
#[derive(Debug, Clone, PartialEq)]
pub struct Warning {
    /// Line, from 1.
    pub line: usize,
    /// Byte column, from 1.
    pub column: usize,
    /// The doubt.
    pub kind: WarningKind,
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: {}", self.line, self.column, self.kind)
    }
}

/// The kinds of doubt.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum WarningKind {
    /// A byte order mark before the text.
    ByteOrderMark,
    /// A comment holds bytes outside ASCII.
    NotAscii,
    /// Lines end with a carriage return alone.
    CarriageReturnOnly,
    /// A tab between numbers.
    Tab,
    /// The last line has no end, so what it says may be cut short.
    NoFinalLineEnd,
    /// The option line leaves something out; the format's default applies.
    DefaultUsed {
        /// What is left out.
        what: &'static str,
        /// The default.
        value: &'static str,
    },
    /// A second option line, ignored.
    ExtraOptionLine,
    /// `[Version]` is not the first thing in the file.
    VersionNotFirst,
    /// The option line stands after other keywords.
    OptionLineLate,
    /// More numbers on a line than version 1 allows.
    LongLine {
        /// Pairs found on the line.
        pairs: usize,
    },
    /// A matrix row does not start on a line of its own.
    RowNotOnOwnLine,
    /// A frequency is not above the one before it.
    FrequencyNotRising {
        /// The frequency before it, in hertz.
        previous: f64,
        /// The frequency, in hertz.
        found: f64,
    },
    /// Minus infinity decibels, read as zero magnitude.
    MinusInfinityDecibel,
    /// A comment states port impedances or propagation constants; not used.
    ImpedanceInComment,
    /// The keyword `[End]` is missing.
    NoEnd,
    /// Something stands after `[End]`; not used.
    TextAfterEnd,
    /// A keyword that is of no use for this file.
    NeedlessKeyword {
        /// The keyword.
        keyword: &'static str,
    },
    /// The file stops in the middle of a frequency, which is left out.
    Truncated {
        /// Numbers expected.
        expected: usize,
        /// Numbers found.
        found: usize,
    },
    /// Fewer frequencies than announced.
    FewerFrequencies {
        /// Announced.
        expected: usize,
        /// Found.
        found: usize,
    },
    /// The number of ports was inferred from the counts of numbers alone.
    PortsInferred {
        /// The number.
        ports: usize,
    },
}

impl WarningKind {
    /// Whether the file breaks a rule of the format. Strict reading refuses
    /// such a file; other doubts are reported in both ways of reading.
    pub fn breaks_rule(&self) -> bool {
        !matches!(
            self,
            Self::Tab
                | Self::NotAscii
                | Self::CarriageReturnOnly
                | Self::NoFinalLineEnd
                | Self::DefaultUsed { .. }
                | Self::ExtraOptionLine
                | Self::ImpedanceInComment
                | Self::NeedlessKeyword { .. }
                | Self::PortsInferred { .. }
        )
    }
}

impl fmt::Display for WarningKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ByteOrderMark => write!(f, "expected ASCII text, found a byte order mark"),
            Self::NotAscii => write!(f, "a comment holds characters outside ASCII"),
            Self::CarriageReturnOnly => write!(f, "lines end with a carriage return alone"),
            Self::Tab => write!(f, "numbers are separated by tabs, which the format discourages"),
            Self::NoFinalLineEnd => {
                write!(f, "the last line has no line end; what it says may be cut short")
            }
            Self::DefaultUsed { what, value } => {
                write!(f, "the option line gives no {what}; the default {value} applies")
            }
            Self::ExtraOptionLine => write!(f, "a second option line is ignored"),
            Self::VersionNotFirst => write!(f, "[Version] is not the first line of the file"),
            Self::OptionLineLate => write!(f, "the option line stands after other keywords"),
            Self::LongLine { pairs } => {
                write!(f, "expected at most four complex pairs on a line, found {pairs}")
            }
            Self::RowNotOnOwnLine => write!(f, "a matrix row does not start on a line of its own"),
            Self::FrequencyNotRising { previous, found } => {
                write!(f, "expected a frequency above {previous} Hz, found {found} Hz")
            }
            Self::MinusInfinityDecibel => write!(f, "minus infinity decibels is read as zero magnitude"),
            Self::ImpedanceInComment => {
                write!(f, "a comment states port impedances or propagation constants; they are not used")
            }
            Self::NoEnd => write!(f, "expected the keyword [End], found the end of the text"),
            Self::TextAfterEnd => write!(f, "text after [End] is ignored"),
            Self::NeedlessKeyword { keyword } => write!(f, "[{keyword}] has no meaning for this file"),
            Self::Truncated { expected, found } => write!(
                f,
                "the file stops inside a frequency (expected {expected} numbers, found {found}); that frequency is left out"
            ),
            Self::FewerFrequencies { expected, found } => {
                write!(f, "expected {expected} frequencies as announced, found {found}")
            }
            Self::PortsInferred { ports } => {
                write!(f, "nothing states the number of ports; the counts of numbers say {ports}")
            }
        }
    }
}
