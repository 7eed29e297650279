//! One gauging: readings between two zero checks, and its budget.

use crate::{
    Budget, BudgetLine, Estimate, Evaluation, InputId, Shape, Spread, UncertaintyError,
    gauging::{GaugeModel, Scope},
    inputs::check_readings,
    numeric::{greater, mean, positive},
};
use statrs::function::beta::checked_beta_reg;

/// Who and what took part, for the correlation between sessions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SessionIds {
    /// The gauge under its certificate.
    pub gauge: InputId,
    /// The gauge master under its certificate.
    pub master: InputId,
    /// The zeroing.
    pub zero: InputId,
    /// The operator.
    pub operator: InputId,
    /// This session.
    pub session: InputId,
}

impl SessionIds {
    fn scope(&self, scope: Scope) -> &InputId {
        match scope {
            Scope::Gauge => &self.gauge,
            Scope::Master => &self.master,
            Scope::Zero => &self.zero,
            Scope::Operator => &self.operator,
            Scope::Session => &self.session,
        }
    }

    fn input(&self, scope: Scope, name: &str) -> InputId {
        InputId::new(format!("{}/{name}", self.scope(scope)))
    }
}

/// The raw readings of one gauging.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// Readings on the connector, re-seated and turned.
    pub readings: Vec<f64>,
    /// Zero readings on the master before, re-seated.
    pub zero_before: Vec<f64>,
    /// Zero readings after; empty when nobody checked.
    pub zero_after: Vec<f64>,
    /// Who and what took part.
    pub ids: SessionIds,
}

/// How far the zero moved between the two checks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZeroMove {
    /// Mean after less mean before.
    pub moved: f64,
    /// Standard deviation of one zero reading.
    pub spread: f64,
}

impl ZeroMove {
    /// Whether the zero moved by more than `multiple` spreads: then the
    /// session says nothing.
    pub fn voids(&self, multiple: f64) -> bool {
        self.moved.abs() > multiple * self.spread
    }
}

/// A gauging with its budget.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauging {
    budget: Budget,
    singles: Vec<f64>,
    zero_move: Option<ZeroMove>,
    spread_probability: Option<f64>,
    reading_spread: f64,
}

impl Gauging {
    /// Position and budget of a session:
    /// `p = (x̄ − z̄)(1 + ε) + m`, with `z̄` the mean of the zero readings
    /// before, and the move of the zero as a rectangular half-width.
    ///
    /// - `x̄`, `z̄`: mean readings on connector and master.
    /// - `ε`: scale correction; `m`: certified position of the master.
    ///
    /// The unit text is only printed.
    ///
    /// # Errors
    ///
    /// No reading, no zero before, a number that is not finite, a term that
    /// makes no standard uncertainty.
    ///
    /// # Source
    ///
    /// Common practice for the procedure; `jcgm-100-2008`, 4 and 5 for the
    /// evaluation.
    pub fn evaluate(session: &Session, gauge: &GaugeModel, unit: &str) -> Result<Self, UncertaintyError> {
        check_readings(&session.readings, 1)?;
        check_readings(&session.zero_before, 1)?;
        check_readings(&session.zero_after, 0)?;
        gauge.check()?;
        let scale = positive("scale factor", 1.0 + gauge.scale_correction)?;
        let zero = mean(&session.zero_before);
        let position = |reading: f64| (reading - zero) * scale + gauge.master_position;
        let reading = mean(&session.readings);
        let zero_move = (!session.zero_after.is_empty()).then(|| ZeroMove {
            moved: mean(&session.zero_after) - zero,
            spread: gauge.zero.standard_deviation(),
        });
        let drift = zero_move.map_or(gauge.drift, |z| greater(z.moved.abs(), gauge.drift));
        let mut lines = fixed_lines(session, gauge, [reading, zero, drift], scale)?;
        lines.extend(gauge.terms.iter().map(|term| BudgetLine {
            name: term.name.clone(),
            input: session.ids.input(term.scope, &term.name),
            value: 0.0,
            evaluation: term.evaluation,
            shape: term.shape,
            stated: term.stated,
            sensitivity: 1.0,
            degrees_of_freedom: term.degrees_of_freedom,
            source: term.source.clone(),
        }));
        Ok(Self {
            budget: Budget::new("pin position (above zero: protruding)", unit, position(reading), lines)?,
            singles: session.readings.iter().map(|r| position(*r)).collect(),
            zero_move,
            spread_probability: spread_probability(&session.readings, gauge.repeatability)?,
            reading_spread: scale * gauge.repeatability.standard_deviation(),
        })
    }

    /// The budget.
    pub fn budget(&self) -> &Budget {
        &self.budget
    }

    /// The position with its components.
    pub fn estimate(&self) -> &Estimate {
        self.budget.estimate()
    }

    /// Position by each single reading.
    pub fn single_positions(&self) -> &[f64] {
        &self.singles
    }

    /// How far the zero moved; `None` when it was not checked after.
    pub fn zero_move(&self) -> Option<ZeroMove> {
        self.zero_move
    }

    /// Probability that readings of the pooled spread scatter at least as much
    /// as these; `None` for a single reading or a pooled spread of zero.
    pub fn spread_probability(&self) -> Option<f64> {
        self.spread_probability
    }

    pub(crate) fn replace_budget(&mut self, budget: Budget) {
        self.budget = budget;
    }

    /// Standard deviation of one reading in the position's scale.
    pub fn reading_spread(&self) -> f64 {
        self.reading_spread
    }

    /// Standard uncertainty of everything but the repeatability of the mean.
    pub fn rest_of_budget(&self) -> f64 {
        let mean = self.reading_spread.powi(2) / self.singles.len() as f64;
        greater(self.estimate().variance() - mean, 0.0).sqrt()
    }
}

fn fixed_lines(
    session: &Session,
    gauge: &GaugeModel,
    [reading, zero, drift]: [f64; 3],
    scale: f64,
) -> Result<Vec<BudgetLine>, UncertaintyError> {
    let line = |name: &str, scope, value, (evaluation, shape, stated, dof), sensitivity| BudgetLine {
        name: name.to_owned(),
        input: session.ids.input(scope, name),
        value,
        evaluation,
        shape,
        stated,
        sensitivity,
        degrees_of_freedom: dof,
        source: gauge.source_of(name).to_owned(),
    };
    let mean_of = |spread: Spread, n| {
        Ok::<_, UncertaintyError>((
            Evaluation::TypeA,
            Shape::Normal,
            spread.of_mean(n)?,
            spread.degrees_of_freedom(),
        ))
    };
    let b = |shape, stated| (Evaluation::TypeB, shape, stated, f64::INFINITY);
    Ok(vec![
        line(
            "repeatability of the mean",
            Scope::Session,
            reading,
            mean_of(gauge.repeatability, session.readings.len())?,
            scale,
        ),
        line(
            "zero on the master",
            Scope::Zero,
            zero,
            mean_of(gauge.zero, session.zero_before.len())?,
            -scale,
        ),
        line("resolution, reading", Scope::Session, 0.0, b(Shape::Resolution, gauge.resolution), scale),
        line("resolution, zero", Scope::Zero, 0.0, b(Shape::Resolution, gauge.resolution), -scale),
        line("zero drift", Scope::Zero, 0.0, b(Shape::Rectangular, drift), -scale),
    ])
}

/// Upper tail of F for the readings' variance against the pooled one.
///
/// # Source
///
/// `nist-ehandbook`, 2.6.2 (precision chart: F test on the standard
/// deviations).
fn spread_probability(readings: &[f64], pooled: Spread) -> Result<Option<f64>, UncertaintyError> {
    if readings.len() < 2 || pooled.standard_deviation() <= 0.0 {
        return Ok(None);
    }
    let found = Spread::of_readings(readings)?;
    let ratio = (found.standard_deviation() / pooled.standard_deviation()).powi(2);
    let (d1, d2) = (found.degrees_of_freedom(), pooled.degrees_of_freedom());
    let upper = if d2.is_finite() {
        // P(F > f) = I_x(d2/2, d1/2), x = d2/(d2 + d1 f).
        checked_beta_reg(0.5 * d2, 0.5 * d1, d2 / (d2 + d1 * ratio)).ok()
    } else {
        statrs::function::gamma::checked_gamma_ur(0.5 * d1, 0.5 * d1 * ratio).ok()
    };
    Ok(if ratio > 0.0 { upper } else { Some(1.0) })
}
