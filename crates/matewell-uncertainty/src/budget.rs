//! An uncertainty budget, line by line.

use crate::{
    Estimate, InputId, UncertaintyError,
    inputs::Shape,
    numeric::{degrees_of_freedom, finite},
};
use std::fmt;

/// Whether a standard uncertainty comes from a series of observations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Evaluation {
    /// From statistics of readings.
    TypeA,
    /// From anything else.
    TypeB,
}

/// One line of a budget.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetLine {
    /// What it is.
    pub name: String,
    /// Which source of uncertainty it is: lines and budgets that share the id
    /// are correlated.
    pub input: InputId,
    /// Estimate of the input, for the table.
    pub value: f64,
    /// Type A or B.
    pub evaluation: Evaluation,
    /// Shape that the stated number belongs to.
    pub shape: Shape,
    /// Half-width, step, standard deviation of the mean or expanded
    /// uncertainty, as stated.
    pub stated: f64,
    /// Sensitivity of the result to this input.
    pub sensitivity: f64,
    /// Degrees of freedom of the standard uncertainty.
    pub degrees_of_freedom: f64,
    /// Where the number comes from, in words: a certificate, a study, common
    /// practice.
    pub source: String,
}

impl BudgetLine {
    /// Standard uncertainty of the input.
    ///
    /// # Errors
    ///
    /// As [`Shape::standard_uncertainty`].
    pub fn standard_uncertainty(&self) -> Result<f64, UncertaintyError> {
        self.shape.standard_uncertainty(self.stated)
    }

    /// Signed share in the result, `c u`.
    ///
    /// # Errors
    ///
    /// As [`Shape::standard_uncertainty`].
    pub fn contribution(&self) -> Result<f64, UncertaintyError> {
        Ok(self.sensitivity * self.standard_uncertainty()?)
    }

    fn estimate(&self) -> Result<Estimate, UncertaintyError> {
        Estimate::input(self.input.clone(), self.value, self.standard_uncertainty()?, self.degrees_of_freedom)
    }
}

/// All lines of one result.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    title: String,
    unit: String,
    value: f64,
    lines: Vec<BudgetLine>,
    estimate: Estimate,
}

impl Budget {
    /// A budget of `value` with its lines; `unit` is only printed.
    ///
    /// # Errors
    ///
    /// A number that is not finite, a shape that does not exist, bad degrees
    /// of freedom.
    pub fn new(
        title: impl Into<String>,
        unit: impl Into<String>,
        value: f64,
        lines: Vec<BudgetLine>,
    ) -> Result<Self, UncertaintyError> {
        finite("value", value)?;
        for line in &lines {
            finite("sensitivity", line.sensitivity)?;
            degrees_of_freedom(line.degrees_of_freedom)?;
        }
        let inputs = lines.iter().map(BudgetLine::estimate).collect::<Result<Vec<_>, _>>()?;
        let terms: Vec<(f64, &Estimate)> = lines.iter().map(|l| l.sensitivity).zip(inputs.iter()).collect();
        let estimate = Estimate::combine(value, &terms)?;
        Ok(Self { title: title.into(), unit: unit.into(), value, lines, estimate })
    }

    /// The lines, in the order given.
    pub fn lines(&self) -> &[BudgetLine] {
        &self.lines
    }

    /// The title.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The unit as printed.
    pub fn unit(&self) -> &str {
        &self.unit
    }

    /// The result with components by input id.
    pub fn estimate(&self) -> &Estimate {
        &self.estimate
    }
}

impl fmt::Display for Budget {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}: {:.4} {}", self.title, self.value, self.unit)?;
        writeln!(
            f,
            "{:<34} {:>10} {:<22} {:>10} {:>7} {:>8} {:>10} {:>8} {:>6}  source",
            "input", "value", "type, shape", "stated", "divisor", "c", "u", "dof", "share"
        )?;
        let variance = self.estimate.variance();
        for line in &self.lines {
            let u = line.standard_uncertainty().map_err(|_| fmt::Error)?;
            let divisor =
                if u > 0.0 { line.stated / u } else { line.shape.divisor().map_err(|_| fmt::Error)? };
            let share = if variance > 0.0 { 100.0 * (line.sensitivity * u).powi(2) / variance } else { 0.0 };
            let kind = format!(
                "{}, {}",
                match line.evaluation {
                    Evaluation::TypeA => "A",
                    Evaluation::TypeB => "B",
                },
                line.shape.word()
            );
            writeln!(
                f,
                "{:<34} {:>10.4} {:<22} {:>10.4} {:>7.3} {:>8.3} {:>10.4} {:>8} {:>5.1}%  {}",
                line.name,
                line.value,
                kind,
                line.stated,
                divisor,
                line.sensitivity,
                u,
                dof_text(line.degrees_of_freedom),
                share,
                line.source
            )?;
        }
        let u = self.estimate.standard_uncertainty();
        writeln!(
            f,
            "combined u = {:.4} {unit}, effective dof = {}, U (k = 2) = {:.4} {unit}",
            u,
            dof_text(self.estimate.degrees_of_freedom()),
            2.0 * u,
            unit = self.unit
        )
    }
}

fn dof_text(dof: f64) -> String {
    if dof.is_finite() { format!("{dof:.1}") } else { "∞".to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(id: &str, stated: f64, sensitivity: f64) -> BudgetLine {
        BudgetLine {
            name: id.to_owned(),
            input: InputId::new(id),
            value: 0.0,
            evaluation: Evaluation::TypeB,
            shape: Shape::Rectangular,
            stated,
            sensitivity,
            degrees_of_freedom: f64::INFINITY,
            source: "common practice, no source".to_owned(),
        }
    }

    #[test]
    fn lines_of_one_source_add_linearly() {
        let budget =
            Budget::new("gap", "µm", 1.0, vec![line("a", 3f64.sqrt(), 1.0), line("a", 3f64.sqrt(), 1.0)])
                .unwrap();
        assert!((budget.estimate().standard_uncertainty() - 2.0).abs() < 1e-12);
    }

    #[test]
    fn the_printed_table_names_every_line_and_the_sum() {
        let budget =
            Budget::new("pin", "µm", -3.0, vec![line("tilt", 2.0, 1.0), line("thermal", 0.12, -1.0)])
                .unwrap();
        let text = budget.to_string();
        for part in ["tilt", "thermal", "rectangular", "common practice", "combined u = 1.1568 µm", "∞"] {
            assert!(text.contains(part), "{part} missing in\n{text}");
        }
        assert!(Budget::new("x", "µm", f64::NAN, vec![]).is_err());
        assert!(Budget::new("x", "µm", 1.0, vec![line("a", -1.0, 1.0)]).is_err());
    }
}
