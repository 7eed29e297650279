//! A chart of readings: points, lines, limits, and where a series breaks.

use crate::{
    Axis, Band, Mark,
    svg::{COLOURS, DASHES, document, escaped, line, number, text},
    ticks::{decimals, round_ticks},
};

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 470.0;
const LEFT: f64 = 84.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 48.0;
const BOTTOM: f64 = 126.0;
/// Names that fit beside each other below the chart.
const NAMES_A_ROW: usize = 4;
/// More names than this below the axis would overlap.
const MOST_NAMES: usize = 24;

/// How a series is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Draw {
    /// A line through the points.
    Line,
    /// A sign at each point; its place in the list gives the shape.
    Signs,
    /// Both.
    LineAndSigns,
}

/// Points in order; those that are not finite break the line.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Its name in the key.
    pub name: String,
    /// The points.
    pub points: Vec<(f64, f64)>,
    /// How it is drawn.
    pub draw: Draw,
}

/// A vertical line where something happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Break {
    /// What happened.
    pub name: String,
    /// Where.
    pub at: f64,
}

/// A chart. Its vertical axis fits the values and need not contain zero.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Shown above, and read aloud first.
    pub title: String,
    /// What it shows in words.
    pub description: String,
    /// The horizontal axis.
    pub x: Axis,
    /// Names for 1, 2, 3, … on the horizontal axis instead of numbers.
    pub names: Vec<String>,
    /// The vertical axis.
    pub y: Axis,
    /// The series.
    pub series: Vec<Series>,
    /// Shaded ranges of the horizontal axis.
    pub bands: Vec<Band>,
    /// Horizontal lines: limits, means.
    pub marks: Vec<Mark>,
    /// Vertical lines.
    pub breaks: Vec<Break>,
}

impl Chart {
    /// The chart as SVG text. The same chart gives the same text.
    pub fn svg(&self) -> String {
        let frame = Frame::new(self);
        let mut out = document(WIDTH, HEIGHT, &self.title, &self.description);
        self.bands(&mut out, &frame);
        self.axes(&mut out, &frame);
        self.lines_across(&mut out, &frame);
        self.series(&mut out, &frame);
        line(&mut out, "</svg>");
        out
    }

    fn bands(&self, out: &mut String, frame: &Frame) {
        for band in self.bands.iter().filter(|b| b.from.is_finite() && b.to.is_finite()) {
            let (from, to) = (frame.x(band.from), frame.x(band.to));
            let height = HEIGHT - BOTTOM - TOP;
            line(
                out,
                &format!(
                    "<rect x=\"{from:.1}\" y=\"{TOP}\" width=\"{:.1}\" height=\"{height}\" fill=\"#ebebeb\"/>",
                    to - from
                ),
            );
            text(out, f64::midpoint(from, to), HEIGHT - BOTTOM - 6.0, "middle", &band.name);
        }
    }

    fn axes(&self, out: &mut String, frame: &Frame) {
        let (bottom, right) = (HEIGHT - BOTTOM, WIDTH - RIGHT);
        text(out, WIDTH / 2.0, 26.0, "middle", &self.title);
        let digits = decimals(&frame.x_ticks);
        let named = !self.names.is_empty() && self.names.len() <= MOST_NAMES;
        if named {
            for (at, name) in (1..).zip(&self.names) {
                let short: String = name.chars().take(9).collect();
                // Every other name one line lower, so that they do not touch.
                let lower = if self.names.len() > 8 && at % 2 == 0 { 15.0 } else { 0.0 };
                text(out, frame.x(f64::from(at)), bottom + 20.0 + lower, "middle", &short);
            }
        }
        for tick in &frame.x_ticks {
            let x = frame.x(*tick);
            line(
                out,
                &format!("<path d=\"M{x:.1} {TOP}V{:.1}\" stroke=\"#dddddd\" fill=\"none\"/>", bottom + 5.0),
            );
            if !named {
                text(out, x, bottom + 20.0, "middle", &number(*tick, digits));
            }
        }
        let digits = decimals(&frame.y_ticks);
        for tick in &frame.y_ticks {
            let y = frame.y(*tick);
            line(
                out,
                &format!(
                    "<path d=\"M{:.1} {y:.1}H{right:.1}\" stroke=\"#dddddd\" fill=\"none\"/>",
                    LEFT - 5.0
                ),
            );
            text(out, LEFT - 9.0, y + 4.0, "end", &number(*tick, digits));
        }
        line(out, &format!("<path d=\"M{LEFT} {TOP}V{bottom}H{right}\" stroke=\"#333333\" fill=\"none\"/>"));
        text(out, f64::midpoint(LEFT, right), bottom + 54.0, "middle", &self.x.label);
        let middle = f64::midpoint(TOP, bottom);
        line(
            out,
            &format!(
                "<text x=\"20\" y=\"{middle:.1}\" text-anchor=\"middle\" transform=\"rotate(-90 20 {middle:.1})\">{}</text>",
                escaped(&self.y.label)
            ),
        );
    }

    fn lines_across(&self, out: &mut String, frame: &Frame) {
        let right = WIDTH - RIGHT;
        for mark in self.marks.iter().filter(|m| m.at.is_finite()) {
            let y = frame.y(mark.at);
            line(
                out,
                &format!(
                    "<path d=\"M{LEFT} {y:.1}H{right:.1}\" stroke=\"#333333\" stroke-dasharray=\"1 4\" fill=\"none\"/>"
                ),
            );
            text(out, right - 4.0, y - 5.0, "end", &mark.name);
        }
        for (number, one) in self.breaks.iter().filter(|b| b.at.is_finite()).enumerate() {
            let x = frame.x(one.at);
            line(
                out,
                &format!(
                    "<path d=\"M{x:.1} {TOP}V{:.1}\" stroke=\"#333333\" stroke-dasharray=\"6 3 1 3\" fill=\"none\"/>",
                    HEIGHT - BOTTOM
                ),
            );
            text(out, x + 4.0, TOP + 14.0 + 15.0 * (number % 3) as f64, "start", &one.name);
        }
    }

    fn series(&self, out: &mut String, frame: &Frame) {
        let styles = DASHES.iter().zip(COLOURS).cycle();
        for (index, (series, (dash, colour))) in self.series.iter().zip(styles).enumerate() {
            let key_x = LEFT + 152.0 * (index % NAMES_A_ROW) as f64;
            let key_y = HEIGHT - 46.0 + 20.0 * (index / NAMES_A_ROW) as f64;
            if series.draw != Draw::Signs {
                let style = format!(
                    "stroke=\"{colour}\" stroke-width=\"2\" stroke-dasharray=\"{dash}\" fill=\"none\""
                );
                line(out, &format!("<path d=\"{}\" {style}/>", frame.path(&series.points)));
                line(out, &format!("<path d=\"M{key_x:.1} {key_y:.1}h32\" {style}/>"));
            }
            if series.draw != Draw::Line {
                for (x, y) in series.points.iter().filter(|(x, y)| x.is_finite() && y.is_finite()) {
                    sign(out, index, frame.x(*x), frame.y(*y), colour);
                }
                sign(out, index, key_x + 16.0, key_y, colour);
            }
            let short: String = series.name.chars().take(17).collect();
            text(out, key_x + 38.0, key_y + 4.0, "start", &short);
        }
    }
}

/// One shape a series: circle, square, triangle, cross.
fn sign(out: &mut String, index: usize, x: f64, y: f64, colour: &str) {
    let style = format!("stroke=\"{colour}\" stroke-width=\"2\" fill=\"none\"");
    let shape = match index % 4 {
        0 => format!("<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"4\" {style}/>"),
        1 => format!("<path d=\"M{:.2} {:.2}h8v8h-8z\" {style}/>", x - 4.0, y - 4.0),
        2 => format!("<path d=\"M{x:.2} {:.2}l5 8h-10z\" {style}/>", y - 5.0),
        _ => format!("<path d=\"M{:.2} {:.2}l8 8m0 -8l-8 8\" {style}/>", x - 4.0, y - 4.0),
    };
    line(out, &shape);
}

struct Frame {
    x_ticks: Vec<f64>,
    y_ticks: Vec<f64>,
}

/// Ends of the values, spread where there is one value only.
fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) =
        values.filter(|v| v.is_finite()).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (if v < low { v } else { low }, if v > high { v } else { high })
        });
    if low < high {
        return (low, high);
    }
    let half = if low.is_finite() && low != 0.0 { 0.1 * low.abs() } else { 1.0 };
    let middle = if low.is_finite() { low } else { 0.0 };
    (middle - half, middle + half)
}

fn scale(value: f64, ticks: &[f64], from: f64, to: f64) -> f64 {
    let (low, high) = (ticks.first().copied().unwrap_or(0.0), ticks.last().copied().unwrap_or(1.0));
    from + (value - low) / (high - low) * (to - from)
}

impl Frame {
    fn new(chart: &Chart) -> Self {
        let points = || chart.series.iter().flat_map(|s| &s.points);
        let across = chart.bands.iter().flat_map(|b| [b.from, b.to]).chain(chart.breaks.iter().map(|b| b.at));
        let x_ticks = if chart.names.is_empty() || chart.names.len() > MOST_NAMES {
            let (low, high) = range(points().map(|p| p.0).chain(across));
            round_ticks(low, high, 8)
        } else {
            // One tick a name, and half a step beside the outer ones.
            let last = chart.names.len() as f64;
            let mut ticks = vec![0.5];
            ticks.extend((1..=chart.names.len()).map(|n| n as f64));
            ticks.push(last + 0.5);
            ticks
        };
        let (low, high) = range(points().map(|p| p.1).chain(chart.marks.iter().map(|m| m.at)));
        Self { x_ticks, y_ticks: round_ticks(low, high, 6) }
    }

    fn x(&self, value: f64) -> f64 {
        scale(value, &self.x_ticks, LEFT, WIDTH - RIGHT)
    }

    fn y(&self, value: f64) -> f64 {
        scale(value, &self.y_ticks, HEIGHT - BOTTOM, TOP)
    }

    /// A point that is not finite lifts the pen.
    fn path(&self, points: &[(f64, f64)]) -> String {
        let mut path = String::new();
        let mut down = false;
        for (x, y) in points {
            if !(x.is_finite() && y.is_finite()) {
                down = false;
                continue;
            }
            let pen = if down { 'L' } else { 'M' };
            path.push_str(&format!("{pen}{:.2} {:.2}", self.x(*x), self.y(*y)));
            down = true;
        }
        path
    }
}
