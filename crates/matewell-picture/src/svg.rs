//! The picture as text.

use crate::{
    Picture,
    ticks::{decimals, round_ticks},
};

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 440.0;
const LEFT: f64 = 84.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 48.0;
const BOTTOM: f64 = 96.0;

/// One pattern a curve, so that print and colour-blind eyes tell them apart.
pub(crate) const DASHES: [&str; 4] = ["none", "8 4", "2 3", "10 3 2 3"];
/// Colours of equal darkness on white; contrast above 4.5 to 1.
pub(crate) const COLOURS: [&str; 4] = ["#0b5394", "#a64d00", "#38761d", "#741b47"];

struct Frame {
    x_ticks: Vec<f64>,
    y_ticks: Vec<f64>,
}

fn ends(ticks: &[f64]) -> (f64, f64) {
    (ticks.first().copied().unwrap_or(0.0), ticks.last().copied().unwrap_or(1.0))
}

fn scale(value: f64, (low, high): (f64, f64), from: f64, to: f64) -> f64 {
    from + (value - low) / (high - low) * (to - from)
}

impl Frame {
    fn new(picture: &Picture) -> Self {
        let points =
            || picture.curves.iter().flat_map(|c| &c.points).filter(|(x, y)| x.is_finite() && y.is_finite());
        let range = |values: &mut dyn Iterator<Item = f64>| {
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                (if v < low { v } else { low }, if v > high { v } else { high })
            })
        };
        let bands = picture.bands.iter().flat_map(|b| [b.from, b.to]);
        let (x_low, x_high) = range(&mut points().map(|p| p.0).chain(bands));
        let marks = picture.marks.iter().map(|m| m.at);
        let (y_low, y_high) = range(&mut points().map(|p| p.1).chain(marks).chain([0.0]));
        Self { x_ticks: round_ticks(x_low, x_high, 8), y_ticks: round_ticks(y_low, y_high, 6) }
    }

    fn x(&self, value: f64) -> f64 {
        scale(value, ends(&self.x_ticks), LEFT, WIDTH - RIGHT)
    }

    fn y(&self, value: f64) -> f64 {
        scale(value, ends(&self.y_ticks), HEIGHT - BOTTOM, TOP)
    }
}

/// Text that may stand in XML; control characters are not allowed there.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

pub(crate) fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        return text.trim_start_matches('-').to_owned();
    }
    text.replace('-', "\u{2212}")
}

pub(crate) fn text(out: &mut String, x: f64, y: f64, anchor: &str, body: &str) {
    line(out, &format!("<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{}</text>", escaped(body)));
}

pub(crate) fn line(out: &mut String, body: &str) {
    out.push_str(body);
    out.push('\n');
}

/// The beginning of a picture: its size, what is read aloud, white paper.
pub(crate) fn document(width: f64, height: f64, title: &str, description: &str) -> String {
    let mut out = String::new();
    line(
        &mut out,
        &format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" role=\"img\" aria-labelledby=\"title desc\" font-family=\"sans-serif\" font-size=\"13\">"
        ),
    );
    line(&mut out, &format!("<title id=\"title\">{}</title>", escaped(title)));
    line(&mut out, &format!("<desc id=\"desc\">{}</desc>", escaped(description)));
    line(&mut out, &format!("<rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>"));
    out
}

pub(crate) fn write(picture: &Picture) -> String {
    let frame = Frame::new(picture);
    let mut out = document(WIDTH, HEIGHT, &picture.title, &picture.description);
    bands(&mut out, picture, &frame);
    axes(&mut out, picture, &frame);
    curves(&mut out, picture, &frame);
    line(&mut out, "</svg>");
    out
}

fn bands(out: &mut String, picture: &Picture, frame: &Frame) {
    for band in &picture.bands {
        let (x, end) = (frame.x(band.from), frame.x(band.to));
        let height = HEIGHT - BOTTOM - TOP;
        line(
            out,
            &format!(
                "<rect x=\"{x:.1}\" y=\"{TOP}\" width=\"{:.1}\" height=\"{height}\" fill=\"#e6e6e6\"/>",
                end - x
            ),
        );
        text(out, f64::midpoint(x, end), TOP + 16.0, "middle", &band.name);
    }
}

fn axes(out: &mut String, picture: &Picture, frame: &Frame) {
    let (bottom, right) = (HEIGHT - BOTTOM, WIDTH - RIGHT);
    text(out, WIDTH / 2.0, 26.0, "middle", &picture.title);
    let digits = decimals(&frame.x_ticks);
    for tick in &frame.x_ticks {
        let x = frame.x(*tick);
        line(
            out,
            &format!("<path d=\"M{x:.1} {TOP}V{:.1}\" stroke=\"#cccccc\" fill=\"none\"/>", bottom + 5.0),
        );
        text(out, x, bottom + 20.0, "middle", &number(*tick, digits));
    }
    let digits = decimals(&frame.y_ticks);
    for tick in &frame.y_ticks {
        let y = frame.y(*tick);
        line(
            out,
            &format!("<path d=\"M{:.1} {y:.1}H{right:.1}\" stroke=\"#cccccc\" fill=\"none\"/>", LEFT - 5.0),
        );
        text(out, LEFT - 9.0, y + 4.0, "end", &number(*tick, digits));
    }
    line(out, &format!("<path d=\"M{LEFT} {TOP}V{bottom}H{right}\" stroke=\"#333333\" fill=\"none\"/>"));
    text(out, f64::midpoint(LEFT, right), bottom + 42.0, "middle", &picture.x.label);
    let middle = f64::midpoint(TOP, bottom);
    line(
        out,
        &format!(
            "<text x=\"20\" y=\"{middle:.1}\" text-anchor=\"middle\" transform=\"rotate(-90 20 {middle:.1})\">{}</text>",
            escaped(&picture.y.label)
        ),
    );
}

fn curves(out: &mut String, picture: &Picture, frame: &Frame) {
    for mark in picture.marks.iter().filter(|m| m.at.is_finite()) {
        let y = frame.y(mark.at);
        line(
            out,
            &format!(
                "<path d=\"M{LEFT} {y:.1}H{:.1}\" stroke=\"#333333\" stroke-dasharray=\"1 4\" fill=\"none\"/>",
                WIDTH - RIGHT
            ),
        );
        text(out, WIDTH - RIGHT - 4.0, y - 5.0, "end", &mark.name);
    }
    let key_y = HEIGHT - 24.0;
    let styles = DASHES.iter().zip(COLOURS).cycle();
    for (index, (curve, (dash, colour))) in picture.curves.iter().zip(styles).enumerate() {
        let style =
            format!("stroke=\"{colour}\" stroke-width=\"2\" stroke-dasharray=\"{dash}\" fill=\"none\"");
        line(out, &format!("<path d=\"{}\" {style}/>", path(&curve.points, frame)));
        let x = LEFT + 150.0 * index as f64;
        line(out, &format!("<path d=\"M{x:.1} {key_y:.1}h32\" {style}/>"));
        text(out, x + 38.0, key_y + 4.0, "start", &curve.name);
    }
}

/// A point that is not finite lifts the pen.
fn path(points: &[(f64, f64)], frame: &Frame) -> String {
    let mut path = String::new();
    let mut down = false;
    for (x, y) in points {
        if !(x.is_finite() && y.is_finite()) {
            down = false;
            continue;
        }
        let pen = if down { 'L' } else { 'M' };
        path.push_str(&format!("{pen}{:.2} {:.2}", frame.x(*x), frame.y(*y)));
        down = true;
    }
    path
}
