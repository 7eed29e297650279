//! Is it inside its limits, and how sure is that? Decision rules for one item.

use crate::{
    Belief, UncertaintyError,
    coverage::normal_below,
    numeric::{finite, not_negative, positive, probability},
};

/// One or two limits of a quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    lower: Option<f64>,
    upper: Option<f64>,
}

impl Limits {
    /// From what the specification names.
    ///
    /// # Errors
    ///
    /// No limit, a limit that is not finite, or limits that cross.
    pub fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Self, UncertaintyError> {
        for limit in [lower, upper].into_iter().flatten() {
            finite("limit", limit)?;
        }
        match (lower, upper) {
            (None, None) => Err(UncertaintyError::NoLimit),
            (Some(lower), Some(upper)) if lower >= upper => {
                Err(UncertaintyError::LimitsCross { lower, upper })
            }
            _ => Ok(Self { lower, upper }),
        }
    }

    /// Lower limit.
    pub fn lower(&self) -> Option<f64> {
        self.lower
    }

    /// Upper limit.
    pub fn upper(&self) -> Option<f64> {
        self.upper
    }

    /// Whether a value lies inside, ends included.
    pub fn contain(&self, value: f64) -> bool {
        self.lower.is_none_or(|l| l <= value) && self.upper.is_none_or(|u| value <= u)
    }

    /// The same limits moved inwards by a guard band; outwards when negative.
    ///
    /// # Errors
    ///
    /// A guard band that makes the limits cross: nothing could be accepted.
    pub fn guarded(&self, width: f64) -> Result<Self, UncertaintyError> {
        finite("guard band", width)?;
        Self::new(self.lower.map(|l| l + width), self.upper.map(|u| u - width))
    }
}

/// A measured value with its standard uncertainty and the shape of what is
/// known about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    value: f64,
    standard_uncertainty: f64,
    belief: Belief,
}

impl Measured {
    /// # Errors
    ///
    /// A value that is not finite, an uncertainty not above zero, bad degrees
    /// of freedom.
    pub fn new(value: f64, standard_uncertainty: f64, belief: Belief) -> Result<Self, UncertaintyError> {
        finite("value", value)?;
        positive("standard uncertainty", standard_uncertainty)?;
        if let Belief::StudentT(dof) = belief {
            crate::numeric::degrees_of_freedom(dof)?;
        }
        Ok(Self { value, standard_uncertainty, belief })
    }

    /// The value.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// The standard uncertainty.
    pub fn standard_uncertainty(&self) -> f64 {
        self.standard_uncertainty
    }

    /// Probability that the true value is below `limit`.
    ///
    /// # Errors
    ///
    /// A limit that is not finite.
    pub fn below(&self, limit: f64) -> Result<f64, UncertaintyError> {
        self.belief.below((finite("limit", limit)? - self.value) / self.standard_uncertainty)
    }

    /// Probability that the true value is above `limit`.
    ///
    /// # Errors
    ///
    /// A limit that is not finite.
    pub fn above(&self, limit: f64) -> Result<f64, UncertaintyError> {
        self.belief.below((self.value - finite("limit", limit)?) / self.standard_uncertainty)
    }

    /// Conformance probability: that the true value lies within the limits.
    ///
    /// # Errors
    ///
    /// Never for limits and values that exist; the type carries the errors of
    /// the distribution functions.
    ///
    /// # Source
    ///
    /// `jcgm-106-2012`, 7.3 to 7.5.
    pub fn conformance_probability(&self, limits: Limits) -> Result<f64, UncertaintyError> {
        let below = limits.lower.map_or(Ok(0.0), |l| self.below(l))?;
        let above = limits.upper.map_or(Ok(0.0), |u| self.above(u))?;
        Ok(1.0 - below - above)
    }
}

/// How wide the guard band is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GuardRule {
    /// None: simple acceptance, shared risk.
    Simple,
    /// A multiple `r` of the expanded uncertainty `U = 2u`. Negative: accept
    /// unless proven bad.
    ///
    /// Source: `ilac-g8-2019`, 4.2 and table 1.
    MultipleOfExpanded(f64),
    /// One-sided quantile of the given conformance probability, normal. The
    /// default of the standard is 0.95, a guard of 1.65 u (from memory).
    ///
    /// Source: `iso-14253-1-2017`, 5.
    ProofOfConformity(f64),
    /// The same with the t quantile for the measurement's degrees of freedom.
    SpecificRisk(f64),
    /// Accept only when the probability of a bad item is below the threshold
    /// at which both decisions cost the same.
    CostBalanced {
        /// Cost of rejecting one item.
        reject: f64,
        /// Cost of the damage by one bad item accepted, besides.
        damage: f64,
    },
    /// Managed guard band for a given ratio of tolerance to expanded
    /// uncertainty: `w = U·(1.04 − e^(0.38 ln TUR − 0.54))`, keeps the
    /// probability of false accept at 2 % or less (formula from memory).
    ///
    /// Source: `dobbert-2008`.
    Managed {
        /// Half-width of the tolerance.
        tolerance: f64,
    },
}

impl GuardRule {
    /// Width of the guard band for a measurement, in its unit.
    ///
    /// # Errors
    ///
    /// A parameter outside its range.
    pub fn width(self, measured: Measured) -> Result<f64, UncertaintyError> {
        let u = measured.standard_uncertainty;
        match self {
            Self::Simple => Ok(0.0),
            Self::MultipleOfExpanded(r) => Ok(2.0 * u * finite("multiple", r)?),
            Self::ProofOfConformity(p) => Ok(u * Belief::Normal.quantile(p)?),
            Self::SpecificRisk(risk) => Ok(-u * measured.belief.quantile(risk)?),
            Self::CostBalanced { reject, damage } => {
                Ok(-u * measured.belief.quantile(cost_threshold(reject, damage)?)?)
            }
            Self::Managed { tolerance } => {
                let ratio = positive("tolerance", tolerance)? / (2.0 * u);
                Ok(2.0 * u * managed_multiple(ratio)?)
            }
        }
    }
}

/// Largest probability of a bad item at which accepting is not dearer than
/// rejecting: `C_reject / (C_reject + C_damage)`.
///
/// # Errors
///
/// A cost not above zero.
///
/// # Source
///
/// Own: expected costs set equal.
pub fn cost_threshold(reject: f64, damage: f64) -> Result<f64, UncertaintyError> {
    positive("cost of rejecting", reject)?;
    positive("cost of damage", damage)?;
    Ok(reject / (reject + damage))
}

/// Guard band as a multiple of `U` in the managed rule; 0 where the ratio is
/// high enough for none.
///
/// # Errors
///
/// A ratio not above zero.
///
/// # Source
///
/// `dobbert-2008`, from memory.
pub fn managed_multiple(ratio: f64) -> Result<f64, UncertaintyError> {
    positive("ratio of tolerance to expanded uncertainty", ratio)?;
    Ok(crate::numeric::greater(1.04 - (0.38 * ratio.ln() - 0.54).exp(), 0.0))
}

/// Largest probability of a wrong acceptance under a guard band of `r U`: the
/// value exactly at the acceptance limit, `Φ(−2r)`.
///
/// # Errors
///
/// A multiple that is not finite.
///
/// # Source
///
/// `ilac-g8-2019`, table 1.
pub fn worst_false_accept(multiple: f64) -> Result<f64, UncertaintyError> {
    Ok(normal_below(-2.0 * finite("multiple", multiple)?))
}

/// Statement of a non-binary decision rule.
///
/// # Source
///
/// `ilac-g8-2019`, 4.2.3.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Statement {
    /// Inside the guarded limits.
    Pass,
    /// Inside the limits, within a guard band.
    ConditionalPass,
    /// Outside the limits, within a guard band.
    ConditionalFail,
    /// Outside by more than the guard band.
    Fail,
}

/// Non-binary statement with a guard band on both sides of each limit.
///
/// # Errors
///
/// A value that is not finite, a negative guard band.
pub fn statement(value: f64, limits: Limits, guard: f64) -> Result<Statement, UncertaintyError> {
    finite("value", value)?;
    not_negative("guard band", guard)?;
    // Distance inside the nearer limit, negative outside.
    let inside = [limits.lower.map(|l| value - l), limits.upper.map(|u| u - value)]
        .into_iter()
        .flatten()
        .fold(f64::INFINITY, crate::numeric::lesser);
    Ok(if inside >= guard {
        Statement::Pass
    } else if inside >= 0.0 {
        Statement::ConditionalPass
    } else if inside >= -guard {
        Statement::ConditionalFail
    } else {
        Statement::Fail
    })
}

/// What one party can prove about an item.
///
/// # Source
///
/// `iso-14253-1-2017`, 5 and 6.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// Conformity is proven: what a supplier must show.
    Conforms,
    /// Neither can be proven.
    Undecided,
    /// Non-conformity is proven: what a complaint must show.
    DoesNotConform,
}

/// Which of the two is proven at the given probability (0.95 by default of the
/// standard, from memory).
///
/// # Errors
///
/// A probability not between 0 and 1.
pub fn proof(measured: Measured, limits: Limits, conformance: f64) -> Result<Proof, UncertaintyError> {
    let guard = GuardRule::ProofOfConformity(conformance).width(measured)?;
    Ok(match statement(measured.value, limits, guard)? {
        Statement::Pass => Proof::Conforms,
        Statement::Fail => Proof::DoesNotConform,
        Statement::ConditionalPass | Statement::ConditionalFail => Proof::Undecided,
    })
}

/// How many readings decide.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadingsNeeded {
    /// The mean of this many would be far enough from the limit, if it stays
    /// where it is.
    Total(u32),
    /// More than the largest number asked for.
    MoreThan(u32),
    /// No number would: the rest of the budget alone is too wide.
    NoneWould,
}

/// Smallest number of readings whose mean, at the present distance inside the
/// limit, is shown to conform: `z √(u_B² + s²/N) ≤ distance`.
///
/// `quantile` is the factor `z` for the accepted risk.
///
/// # Errors
///
/// A negative uncertainty, a factor not above zero, a distance that is not
/// finite.
///
/// # Source
///
/// Own: the guard band solved for `N`.
pub fn readings_needed(
    distance: f64,
    rest_of_budget: f64,
    spread_of_one: f64,
    quantile: f64,
    most: u32,
) -> Result<ReadingsNeeded, UncertaintyError> {
    finite("distance to the limit", distance)?;
    not_negative("standard uncertainty of the rest of the budget", rest_of_budget)?;
    not_negative("standard deviation of one reading", spread_of_one)?;
    positive("quantile", quantile)?;
    let room = distance / quantile;
    let left = room * room - rest_of_budget * rest_of_budget;
    if distance <= 0.0 || left <= 0.0 {
        return Ok(ReadingsNeeded::NoneWould);
    }
    let needed = (spread_of_one * spread_of_one / left * (1.0 - 1e-12)).ceil();
    if needed > f64::from(most) {
        return Ok(ReadingsNeeded::MoreThan(most));
    }
    let mut count = 1;
    while f64::from(count) < needed {
        count += 1;
    }
    Ok(ReadingsNeeded::Total(count))
}

/// Checks a risk given by a policy.
pub(crate) fn checked_risk(risk: f64) -> Result<f64, UncertaintyError> {
    probability("accepted risk", risk)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn measured(value: f64) -> Measured {
        Measured::new(value, 1.0, Belief::Normal).unwrap()
    }

    #[test]
    fn four_statements_around_each_limit() {
        let limits = Limits::new(Some(0.0), Some(10.0)).unwrap();
        let say = |value| statement(value, limits, 1.0).unwrap();
        assert_eq!(say(5.0), Statement::Pass);
        assert_eq!(say(9.5), Statement::ConditionalPass);
        assert_eq!(say(10.5), Statement::ConditionalFail);
        assert_eq!(say(-0.5), Statement::ConditionalFail);
        assert_eq!(say(12.0), Statement::Fail);
        assert!(statement(f64::NAN, limits, 1.0).is_err());
        assert!(limits.guarded(5.0).is_err());
    }

    #[test]
    fn who_proves_what() {
        let limits = Limits::new(None, Some(0.0)).unwrap();
        assert_eq!(proof(measured(-1.7), limits, 0.95).unwrap(), Proof::Conforms);
        assert_eq!(proof(measured(-1.6), limits, 0.95).unwrap(), Proof::Undecided);
        assert_eq!(proof(measured(1.6), limits, 0.95).unwrap(), Proof::Undecided);
        assert_eq!(proof(measured(1.7), limits, 0.95).unwrap(), Proof::DoesNotConform);
    }

    #[test]
    fn crossing_or_missing_limits_are_refused() {
        assert!(Limits::new(None, None).is_err());
        assert!(Limits::new(Some(1.0), Some(1.0)).is_err());
        assert!(Limits::new(Some(f64::NAN), None).is_err());
        assert!(Measured::new(1.0, 0.0, Belief::Normal).is_err());
        assert!(cost_threshold(0.0, 1.0).is_err());
    }

    proptest! {
        /// Slow twin: count up until the guard band fits.
        #[test]
        fn readings_needed_is_the_smallest(d in 0.1f64..10.0, b in 0.0f64..3.0, s in 0.1f64..5.0) {
            let fits = |n: u32| 1.96 * (b * b + s * s / f64::from(n)).sqrt() <= d;
            match readings_needed(d, b, s, 1.96, 500).unwrap() {
                ReadingsNeeded::Total(n) => prop_assert!(fits(n) && (n == 1 || !fits(n - 1))),
                ReadingsNeeded::MoreThan(n) => prop_assert!(!fits(n)),
                ReadingsNeeded::NoneWould => prop_assert!(1.96 * b >= d),
            }
        }

        /// A value at the acceptance limit of the specific-risk rule carries
        /// exactly that risk.
        #[test]
        fn the_guard_band_meets_its_risk(risk in 0.001f64..0.3, dof in 2.0f64..100.0, u in 0.1f64..3.0) {
            let at = |value| Measured::new(value, u, Belief::StudentT(dof)).unwrap();
            let width = GuardRule::SpecificRisk(risk).width(at(0.0)).unwrap();
            prop_assert!((at(-width).above(0.0).unwrap() - risk).abs() < 1e-9);
        }
    }
}
