//! What does a curve look like?
//!
//! Axes with round ticks, curves, bands and marks as SVG text. Nothing is
//! computed here and nothing is read or written.

mod chart;
mod svg;
mod ticks;

pub use chart::{Break, Chart, Draw, Series};
pub use ticks::round_ticks;

/// One axis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Axis {
    /// What it shows, with its unit.
    pub label: String,
}

/// A curve. Its place in the list gives its dash pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Its name in the key.
    pub name: String,
    /// The points in order; those that are not finite break the line.
    pub points: Vec<(f64, f64)>,
}

/// A shaded range of the horizontal axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Its name, written inside.
    pub name: String,
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

/// A horizontal line at a value, for example a need.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Its name, written at the line.
    pub name: String,
    /// The value.
    pub at: f64,
}

/// A diagram.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Shown above, and read aloud first.
    pub title: String,
    /// What the picture shows in words, for readers that cannot see it.
    pub description: String,
    /// The horizontal axis.
    pub x: Axis,
    /// The vertical axis, which always contains zero.
    pub y: Axis,
    /// The curves.
    pub curves: Vec<Curve>,
    /// Shaded ranges.
    pub bands: Vec<Band>,
    /// Horizontal lines.
    pub marks: Vec<Mark>,
}

impl Picture {
    /// The picture as SVG text. The same picture gives the same text.
    pub fn svg(&self) -> String {
        svg::write(self)
    }
}

/// The example of the read-me is a test.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct ReadMe;
