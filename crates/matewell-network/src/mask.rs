//! Does a trace keep a limit, and is that certain?

use crate::error::NetworkError;

/// Which side of the limit is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The trace stays below.
    Below,
    /// The trace stays above.
    Above,
}

/// How a limit runs between its corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// Straight over frequency.
    Linear,
    /// Straight over the logarithm of frequency.
    Logarithmic,
}

/// A piecewise limit over frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Mask {
    side: Side,
    between: Between,
    corners: Vec<(f64, f64)>,
}

/// Whether the limit is kept, with the uncertainty as a guard band on both
/// sides of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// Everywhere by more than the uncertainty.
    Yes,
    /// Somewhere the distance to the limit is within the uncertainty.
    Undecided,
    /// Somewhere broken by more than the uncertainty.
    No,
}

/// The judgement and its worst place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judgement {
    /// The answer.
    pub kept: Kept,
    /// Smallest margin to the limit, positive on the good side.
    pub worst_margin: f64,
    /// Its frequency, in hertz.
    pub at: f64,
    /// Points of the trace that the mask covers.
    pub covered: usize,
}

impl Mask {
    /// A limit from corners (frequency in hertz, value).
    ///
    /// # Errors
    ///
    /// Fewer than two corners, numbers that are not finite, frequencies that
    /// fall, more than two corners at one frequency, or 0 Hz on a logarithmic
    /// mask. Two corners at one frequency make a step.
    pub fn new(side: Side, between: Between, corners: Vec<(f64, f64)>) -> Result<Self, NetworkError> {
        if corners.len() < 2 {
            return Err(NetworkError::WrongCount { what: "mask corners", expected: 2, found: corners.len() });
        }
        for (index, (f, v)) in corners.iter().enumerate() {
            for &found in [f, v] {
                if !found.is_finite() {
                    return Err(NetworkError::NotFinite { what: "mask corner", found, index });
                }
            }
            let least = if between == Between::Logarithmic { f64::MIN_POSITIVE } else { 0.0 };
            if *f < least {
                return Err(NetworkError::OutOfRange {
                    what: "mask frequency",
                    expected: "0 Hz or more, above 0 on a logarithmic mask",
                    found: *f,
                });
            }
        }
        for (index, pair) in corners.windows(2).enumerate() {
            if let &[(previous, _), (found, _)] = pair
                && found < previous
            {
                return Err(NetworkError::FrequencyOrder { index: index + 1, previous, found });
            }
        }
        for triple in corners.windows(3) {
            if let &[(a, _), _, (c, _)] = triple
                && c <= a
            {
                return Err(NetworkError::NotDefined {
                    what: "mask corners: expected at most two at one frequency",
                });
            }
        }
        Ok(Self { side, between, corners })
    }

    /// The limits at a frequency: two at a step, none outside the mask.
    fn limits(&self, frequency: f64) -> Vec<f64> {
        let mut found = Vec::new();
        for pair in self.corners.windows(2) {
            let &[(f1, v1), (f2, v2)] = pair else { continue };
            if frequency < f1 || frequency > f2 {
                continue;
            }
            let share = if f2 > f1 {
                match self.between {
                    Between::Linear => (frequency - f1) / (f2 - f1),
                    Between::Logarithmic => (frequency / f1).ln() / (f2 / f1).ln(),
                }
            } else {
                // A step: both ends bind.
                found.push(v2);
                0.0
            };
            found.push(v1 + share * (v2 - v1));
        }
        found
    }

    /// Judges a trace.
    ///
    /// - `uncertainty`: expanded uncertainty of the trace's values, the guard
    ///   band on both sides of the limit.
    ///
    /// # Errors
    ///
    /// Unequal lengths, numbers that are not finite, a negative uncertainty, or
    /// no point under the mask.
    ///
    /// # Source
    ///
    /// `jcgm-106-2012`, clause 8 (guard bands).
    pub fn judge(
        &self,
        frequencies: &[f64],
        values: &[f64],
        uncertainty: f64,
    ) -> Result<Judgement, NetworkError> {
        if frequencies.len() != values.len() {
            return Err(NetworkError::WrongCount {
                what: "values",
                expected: frequencies.len(),
                found: values.len(),
            });
        }
        if !(uncertainty.is_finite() && uncertainty >= 0.0) {
            return Err(NetworkError::OutOfRange {
                what: "uncertainty",
                expected: "0 or more",
                found: uncertainty,
            });
        }
        let mut worst: Option<(f64, f64)> = None;
        let mut covered = 0;
        for (index, (&f, &value)) in frequencies.iter().zip(values).enumerate() {
            // A measured zero has minus infinity decibels: far below.
            let usable = value.is_finite() || value == f64::NEG_INFINITY;
            if !f.is_finite() || !usable {
                return Err(NetworkError::NotFinite { what: "value under a mask", found: value, index });
            }
            let limits = self.limits(f);
            covered += usize::from(!limits.is_empty());
            for limit in limits {
                let margin = match self.side {
                    Side::Below => limit - value,
                    Side::Above => value - limit,
                };
                if worst.is_none_or(|(m, _)| margin < m) {
                    worst = Some((margin, f));
                }
            }
        }
        let Some((worst_margin, at)) = worst else {
            return Err(NetworkError::WrongCount {
                what: "points under the mask",
                expected: 1,
                found: covered,
            });
        };
        let kept = if worst_margin > uncertainty {
            Kept::Yes
        } else if worst_margin < -uncertainty {
            Kept::No
        } else {
            Kept::Undecided
        };
        Ok(Judgement { kept, worst_margin, at, covered })
    }
}
