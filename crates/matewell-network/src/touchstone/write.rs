//! Content to text, in every version.

use std::fmt::Write as _;

use super::blocks::triangle;
use super::convert::pair;
use super::number::print;
use super::{
    Format, FrequencyUnit, Header, MatrixFormat, Mode, Parameter, Touchstone, TwoPortOrder, Version,
};
use crate::error::{NetworkError, WriteError};
use crate::sweep::Sweep;

/// The form of a file made from a sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Form {
    /// Version; unequal references need 1.1 or later.
    pub version: Version,
    /// Unit of the frequency column.
    pub unit: FrequencyUnit,
    /// Format of complex numbers; real and imaginary parts lose nothing.
    pub format: Format,
}

impl Touchstone {
    /// The content of a file that holds a sweep's S-parameters.
    ///
    /// # Errors
    ///
    /// As [`Touchstone::new`].
    pub fn from_sweep(sweep: &Sweep, form: Form, comments: Vec<String>) -> Result<Self, NetworkError> {
        let header = Header {
            version: form.version,
            unit: form.unit,
            parameter: Parameter::S,
            format: form.format,
            references: sweep.references().to_vec(),
            two_port_order: TwoPortOrder::ColumnByColumn,
            matrix_format: MatrixFormat::Full,
            mode_order: None,
            comments,
        };
        let pairs = sweep.values().iter().map(|v| pair(*v, form.format)).collect();
        Self::new(header, sweep.frequencies().to_vec(), pairs, Vec::new())
    }
}

/// Writes the content; reading it again gives the identical content.
///
/// # Errors
///
/// [`WriteError::FormCannotCarry`] when the version cannot say it: unequal
/// references in 1.0, triangles or mixed mode in version 1, a triangle of an
/// asymmetric matrix, version 1 noise that starts above the network data,
/// frequencies that do not rise, or a comment of several lines.
pub fn write(content: &Touchstone) -> Result<String, WriteError> {
    let header = content.header();
    refuse(content)?;
    let mut text = String::with_capacity(content.pairs().len() * 40 + 200);
    for comment in &header.comments {
        text.push('!');
        text.push_str(comment);
        text.push('\n');
    }
    match header.version {
        Version::V1_0 | Version::V1_1 => {}
        Version::V2_0 => text.push_str("[Version] 2.0\n"),
        Version::V2_1 => text.push_str("[Version] 2.1\n"),
    }
    option_line(&mut text, header);
    if header.version.has_keywords() {
        keywords(&mut text, content);
    }
    let power = header.unit.power_of_ten();
    let ports = content.ports();
    for (frequency, matrix) in content.frequencies().iter().zip(content.pairs().chunks_exact(ports * ports)) {
        text.push_str(&print(*frequency, power));
        network_line(&mut text, matrix, header);
        text.push('\n');
    }
    if !content.noise().is_empty() && header.version.has_keywords() {
        text.push_str("[Noise Data]\n");
    }
    for n in content.noise() {
        text.push_str(&print(n.frequency, power));
        for value in
            [n.minimum_noise_figure_db, n.optimum_magnitude, n.optimum_angle_degrees, n.effective_resistance]
        {
            text.push(' ');
            text.push_str(&print(value, 0));
        }
        text.push('\n');
    }
    if header.version.has_keywords() {
        text.push_str("[End]\n");
    }
    Ok(text)
}

fn refuse(content: &Touchstone) -> Result<(), WriteError> {
    let header = content.header();
    let no = |what, why| Err(WriteError::FormCannotCarry { what, why });
    let first = header.references.first().copied().unwrap_or(f64::NAN);
    #[expect(clippy::float_cmp, reason = "version 1.0 prints one number for all ports")]
    let equal = header.references.iter().all(|r| *r == first);
    if header.version == Version::V1_0 && !equal {
        return no("references", "version 1.0 has one for all ports; use 1.1 or later");
    }
    if header.version == Version::V1_1 && content.ports() == 1 {
        return no("version 1.1", "with one port it is the same text as version 1.0; use 1.0");
    }
    if !header.version.has_keywords() {
        if header.matrix_format != MatrixFormat::Full {
            return no("matrix format", "version 1 prints full matrices only");
        }
        if header.mode_order.is_some() {
            return no("mixed-mode order", "version 1 has no word for it");
        }
        if header.two_port_order == TwoPortOrder::RowByRow {
            return no("two-port order", "version 1 prints 11, 21, 12, 22");
        }
        if let (Some(noise), Some(last)) = (content.noise().first(), content.frequencies().last())
            && noise.frequency > *last
        {
            return no("noise", "version 1 finds it by its first frequency not being above the network data");
        }
    }
    let noise: Vec<f64> = content.noise().iter().map(|n| n.frequency).collect();
    if !content.frequencies().is_sorted_by(|a, b| a < b) || !noise.is_sorted_by(|a, b| a < b) {
        return no("frequencies", "the format requires them to rise");
    }
    if header.comments.iter().any(|c| c.contains(['\n', '\r', '\0'])) {
        return no("comment", "a comment is one line of text");
    }
    if header.matrix_format != MatrixFormat::Full {
        let ports = content.ports();
        for matrix in content.pairs().chunks_exact(ports * ports) {
            for (row, column) in triangle(MatrixFormat::Lower, ports) {
                if matrix.get(row * ports + column) != matrix.get(column * ports + row) {
                    return no("matrix format", "a triangle stands for a symmetric matrix, this one is not");
                }
            }
        }
    }
    Ok(())
}

fn option_line(text: &mut String, header: &Header) {
    let _ = write!(text, "# {} {} {} R", header.unit.word(), header.parameter.word(), header.format.word());
    let printed = if header.version == Version::V1_1 { header.references.len() } else { 1 };
    for reference in header.references.iter().take(printed) {
        let _ = write!(text, " {}", print(*reference, 0));
    }
    text.push('\n');
}

fn keywords(text: &mut String, content: &Touchstone) {
    let header = content.header();
    let ports = content.ports();
    let _ = writeln!(text, "[Number of Ports] {ports}");
    if ports == 2 {
        let order = match header.two_port_order {
            TwoPortOrder::RowByRow => "12_21",
            TwoPortOrder::ColumnByColumn => "21_12",
        };
        let _ = writeln!(text, "[Two-Port Data Order] {order}");
    }
    let _ = writeln!(text, "[Number of Frequencies] {}", content.frequencies().len());
    if !content.noise().is_empty() {
        let _ = writeln!(text, "[Number of Noise Frequencies] {}", content.noise().len());
    }
    text.push_str("[Reference]");
    for reference in &header.references {
        let _ = write!(text, " {}", print(*reference, 0));
    }
    text.push('\n');
    match header.matrix_format {
        MatrixFormat::Full => {}
        MatrixFormat::Lower => text.push_str("[Matrix Format] Lower\n"),
        MatrixFormat::Upper => text.push_str("[Matrix Format] Upper\n"),
    }
    if let Some(order) = &header.mode_order {
        text.push_str("[Mixed-Mode Order]");
        for mode in order {
            let _ = match mode {
                Mode::Single(p) => write!(text, " S{p}"),
                Mode::Differential(p, q) => write!(text, " D{p},{q}"),
                Mode::Common(p, q) => write!(text, " C{p},{q}"),
            };
        }
        text.push('\n');
    }
    text.push_str("[Network Data]\n");
}

/// The numbers after the frequency: rows on lines of their own and at most
/// four pairs on a line, which every version accepts.
fn network_line(text: &mut String, matrix: &[[f64; 2]], header: &Header) {
    let ports = header.references.len();
    let column_first = ports == 2
        && header.matrix_format == MatrixFormat::Full
        && header.two_port_order == TwoPortOrder::ColumnByColumn;
    let mut on_line = 0;
    let mut last_row = 0;
    for (row, column) in triangle(header.matrix_format, ports) {
        let cell = if column_first { column * ports + row } else { row * ports + column };
        let new_row = ports > 2 && row != last_row;
        if new_row || on_line == 4 {
            text.push('\n');
            on_line = 0;
        }
        last_row = row;
        on_line += 1;
        for value in matrix.get(cell).into_iter().flatten() {
            text.push(' ');
            text.push_str(&print(*value, 0));
        }
    }
}
