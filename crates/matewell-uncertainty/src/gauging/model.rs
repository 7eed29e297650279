//! What is known about a gauge and its master.

use crate::{Evaluation, Shape, Spread, UncertaintyError, numeric::not_negative};

/// How far an influence is shared: sessions with the same thing of that scope
/// have the same error of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Scope {
    /// All sessions with this gauge.
    Gauge,
    /// All sessions with this gauge master.
    Master,
    /// All sessions on one zeroing.
    Zero,
    /// All sessions by one operator.
    Operator,
    /// One session only.
    Session,
}

/// One influence besides the readings and the zero.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// What it is; also the key within its scope.
    pub name: String,
    /// How far it is shared.
    pub scope: Scope,
    /// Type A or B.
    pub evaluation: Evaluation,
    /// Shape that the stated number belongs to.
    pub shape: Shape,
    /// Half-width, step or stated uncertainty.
    pub stated: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
    /// Where the number comes from.
    pub source: String,
}

/// A gauge with its master, as the lab knows them.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeModel {
    /// Spread of one reading on a connector, re-seated and turned: pooled from
    /// a study, not from the few readings of one session.
    pub repeatability: Spread,
    /// Spread of one zero reading on the master, re-seated.
    pub zero: Spread,
    /// Smallest step of the indication.
    pub resolution: f64,
    /// Half-width of the zero's drift within a session that the lab reckons
    /// with even when the two zero checks agree by luck.
    pub drift: f64,
    /// Where these four come from, unless [`Self::own_sources`] says otherwise.
    pub source: String,
    /// Sources of single ones of them, by the name of the budget line.
    pub own_sources: Vec<(&'static str, String)>,
    /// Relative correction of the scale: a true change over the indicated
    /// change, less one.
    pub scale_correction: f64,
    /// Position of the master's step as certified, in the sense of a pin:
    /// protruding above zero.
    pub master_position: f64,
    /// Certificates, linearity, flatness, tilt, thermal, seating, force,
    /// operator and whatever else the lab names.
    pub terms: Vec<Term>,
}

const COMMON_PRACTICE: &str = "common practice, no source";

impl GaugeModel {
    /// Typical values of a screw-on gauge with a digital indicator of 1 µm
    /// step: common practice, no source. Replace every line by what the lab
    /// knows about its own gauge.
    ///
    /// `micrometre` is one micrometre in the caller's unit, for example 1e-6
    /// for metres.
    ///
    /// # Errors
    ///
    /// A micrometre not above zero.
    pub fn typical_screw_on(micrometre: f64) -> Result<Self, UncertaintyError> {
        let um = crate::numeric::positive("micrometre", micrometre)?;
        let b = |name: &str, scope, shape, stated: f64| type_b(name, scope, shape, stated * um);
        let rectangular = Shape::Rectangular;
        Ok(Self {
            repeatability: Spread::new(1.0 * um, 30.0)?,
            zero: Spread::new(0.6 * um, 30.0)?,
            resolution: 1.0 * um,
            drift: 0.5 * um,
            source: COMMON_PRACTICE.to_owned(),
            own_sources: Vec::new(),
            scale_correction: 0.0,
            master_position: 0.0,
            terms: vec![
                b("gauge certificate", Scope::Gauge, Shape::Expanded { factor: 2.0 }, 1.0),
                b("residual linearity", Scope::Gauge, rectangular, 1.0),
                b("master step certificate", Scope::Master, Shape::Expanded { factor: 2.0 }, 0.5),
                b("master flatness and parallelism", Scope::Master, rectangular, 0.25),
                b("thermal expansion", Scope::Session, rectangular, 0.12),
                b("seating and residue", Scope::Session, rectangular, 0.5),
                b("probe force", Scope::Session, rectangular, 0.2),
                operator(0.3 * um),
            ],
        })
    }

    /// Typical values of a push-on gauge with a dial of 2.54 µm (0.0001 in)
    /// division: common practice, no source.
    ///
    /// # Errors
    ///
    /// A micrometre not above zero.
    pub fn typical_push_on(micrometre: f64) -> Result<Self, UncertaintyError> {
        let um = crate::numeric::positive("micrometre", micrometre)?;
        let b = |name: &str, scope, shape, stated: f64| type_b(name, scope, shape, stated * um);
        let rectangular = Shape::Rectangular;
        Ok(Self {
            repeatability: Spread::new(2.5 * um, 30.0)?,
            zero: Spread::new(1.5 * um, 30.0)?,
            resolution: 2.54 * um,
            drift: 1.27 * um,
            source: COMMON_PRACTICE.to_owned(),
            own_sources: Vec::new(),
            scale_correction: 0.0,
            master_position: 0.0,
            terms: vec![
                b("gauge certificate", Scope::Gauge, Shape::Expanded { factor: 2.0 }, 2.5),
                b("residual linearity", Scope::Gauge, rectangular, 2.5),
                b("master step certificate", Scope::Master, Shape::Expanded { factor: 2.0 }, 1.0),
                b("master flatness and parallelism", Scope::Master, rectangular, 0.5),
                b("tilt and centring", Scope::Session, rectangular, 2.0),
                b("thermal expansion", Scope::Session, rectangular, 0.12),
                b("seating and residue", Scope::Session, rectangular, 1.0),
                operator(1.0 * um),
            ],
        })
    }

    /// Typical values of a caliper or depth gauge of 10 µm step held on the
    /// face by hand: common practice, no source. A coarse gauge: its
    /// uncertainty is that of many pins' whole range.
    ///
    /// # Errors
    ///
    /// A micrometre not above zero.
    pub fn typical_caliper(micrometre: f64) -> Result<Self, UncertaintyError> {
        let um = crate::numeric::positive("micrometre", micrometre)?;
        let b = |name: &str, scope, stated: f64| type_b(name, scope, Shape::Rectangular, stated * um);
        Ok(Self {
            repeatability: Spread::new(10.0 * um, 10.0)?,
            zero: Spread::new(10.0 * um, 10.0)?,
            resolution: 10.0 * um,
            drift: 5.0 * um,
            source: COMMON_PRACTICE.to_owned(),
            own_sources: Vec::new(),
            scale_correction: 0.0,
            master_position: 0.0,
            terms: vec![
                b("gauge certificate", Scope::Gauge, 20.0),
                b("tilt and centring", Scope::Session, 20.0),
                b("seating and residue", Scope::Session, 10.0),
                b("probe force", Scope::Session, 10.0),
                operator(10.0 * um),
            ],
        })
    }

    /// Where the number of one of the five fixed lines comes from.
    pub(crate) fn source_of(&self, line: &str) -> &str {
        self.own_sources.iter().find(|(name, _)| *name == line).map_or(&self.source, |(_, source)| source)
    }

    /// Puts a term in the place of the one of the same name, or behind the
    /// others.
    #[must_use]
    pub fn with_term(mut self, term: Term) -> Self {
        match self.terms.iter_mut().find(|t| t.name == term.name) {
            Some(place) => *place = term,
            None => self.terms.push(term),
        }
        self
    }

    pub(crate) fn check(&self) -> Result<(), UncertaintyError> {
        not_negative("resolution", self.resolution)?;
        not_negative("zero drift", self.drift)?;
        crate::numeric::finite("scale correction", self.scale_correction)?;
        crate::numeric::finite("position of the master", self.master_position)?;
        Ok(())
    }
}

fn type_b(name: &str, scope: Scope, shape: Shape, stated: f64) -> Term {
    Term {
        name: name.to_owned(),
        scope,
        evaluation: Evaluation::TypeB,
        shape,
        stated,
        degrees_of_freedom: f64::INFINITY,
        source: COMMON_PRACTICE.to_owned(),
    }
}

fn operator(stated: f64) -> Term {
    Term {
        name: "operator".to_owned(),
        scope: Scope::Operator,
        evaluation: Evaluation::TypeA,
        shape: Shape::Normal,
        stated,
        degrees_of_freedom: 4.0,
        source: COMMON_PRACTICE.to_owned(),
    }
}
