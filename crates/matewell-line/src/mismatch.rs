//! What two reflections at one joint do to a power.

use crate::{Answer, Finding, LineError, twoport::TwoPort, uncertain::propagate};
use matewell_uncertainty::Estimate;
use num_complex::Complex64;

/// Highest and lowest change of a level in decibels.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelLimits {
    /// The upper limit, zero or more.
    pub upper_db: Estimate,
    /// The lower limit, zero or less; `None` when the waves could cancel
    /// entirely.
    pub lower_db: Option<Estimate>,
}

pub(crate) fn require_magnitude(found: f64) -> Result<(), LineError> {
    if found >= 0.0 {
        Ok(())
    } else {
        Err(LineError::OutOfRange { what: "reflection magnitude", expected: "of zero or more", found })
    }
}

/// Limits of the mismatch interaction of a source and a load.
///
/// `20 lg (1 ± |Γ_G||Γ_L|)` decibels, phases unknown.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a negative magnitude.
///
/// # Source
///
/// `harris-warner-1981`, re-examination of mismatch uncertainty; from memory.
pub fn interaction_limits(source: &Estimate, load: &Estimate) -> Result<Answer<LevelLimits>, LineError> {
    require_magnitude(source.value())?;
    require_magnitude(load.value())?;
    let product = source.value() * load.value();
    let upper_db = propagate([source, load], |[g, l]| 20.0 * (1.0 + g * l).log10())?;
    if product >= 1.0 {
        return Ok(Answer {
            value: LevelLimits { upper_db, lower_db: None },
            findings: vec![Finding::TotalReflection { magnitude: product }],
        });
    }
    let lower_db = Some(propagate([source, load], |[g, l]| 20.0 * (1.0 - g * l).log10())?);
    Ok(Answer::plain(LevelLimits { upper_db, lower_db }))
}

/// Limits of the error of an attenuation that is measured by inserting the
/// device between a source and a load that reflect, by magnitudes alone.
///
/// `20 lg [(1 ± M)/(1 ∓ |Γ_GΓ_L|)]`, `M = |Γ_G S11| + |Γ_L S22| +
/// |Γ_GΓ_L|(|S21|² + |S11S22|)`: the device in place over the device taken
/// out, all phases at their worst.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a negative magnitude, or for `|Γ_GΓ_L|` of
/// one or more.
///
/// # Source
///
/// Closed form of the flow graph, see [`insertion_error_db`].
pub fn insertion_limits(
    source: &Estimate,
    load: &Estimate,
    s11: &Estimate,
    s22: &Estimate,
    s21: &Estimate,
) -> Result<Answer<LevelLimits>, LineError> {
    let around = source.value() * load.value();
    if around >= 1.0 {
        return Err(LineError::OutOfRange {
            what: "product of the reflections of source and load",
            expected: "below one",
            found: around,
        });
    }
    let inputs = [source, load, s11, s22, s21];
    for input in inputs {
        require_magnitude(input.value())?;
    }
    let sum = |[g, l, a, b, t]: &[f64; 5]| g * a + l * b + g * l * (t * t + a * b);
    let upper_db = propagate(inputs, |x @ [g, l, ..]| 20.0 * ((1.0 + sum(x)) / (1.0 - g * l)).log10())?;
    let total = sum(&inputs.map(Estimate::value));
    if total >= 1.0 {
        return Ok(Answer {
            value: LevelLimits { upper_db, lower_db: None },
            findings: vec![Finding::TotalReflection { magnitude: total }],
        });
    }
    let lower_db = Some(propagate(inputs, |x @ [g, l, ..]| 20.0 * ((1.0 - sum(x)) / (1.0 + g * l)).log10())?);
    Ok(Answer::plain(LevelLimits { upper_db, lower_db }))
}

/// What is known about a reflection coefficient whose phase is not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Knowledge {
    /// Its magnitude is the given one.
    Magnitude,
    /// It lies anywhere in the disc below the given magnitude, all points
    /// alike.
    Disc,
}

/// Standard uncertainty of a power ratio from the mismatch of two
/// reflections, relative (0.01 is 1 %).
///
/// `u = √2 |Γ_G||Γ_L|` when both magnitudes are known (arcsine, U-shaped),
/// `|Γ_G||Γ_L|` when one is only bounded, `|Γ_G||Γ_L|/√2` when both are. The
/// divisor √2 belongs to the limit `2|Γ_GΓ_L|`; do not also divide by √3.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a negative magnitude.
///
/// # Source
///
/// `harris-warner-1981`; from memory, and recomputed here by simulation.
pub fn power_uncertainty(
    source: (&Estimate, Knowledge),
    load: (&Estimate, Knowledge),
) -> Result<Estimate, LineError> {
    require_magnitude(source.0.value())?;
    require_magnitude(load.0.value())?;
    // E|Γ|² of a uniform disc is half of its radius squared.
    let factor = [source.1, load.1]
        .iter()
        .map(|k| match k {
            Knowledge::Magnitude => 1.0,
            Knowledge::Disc => std::f64::consts::FRAC_1_SQRT_2,
        })
        .product::<f64>()
        * std::f64::consts::SQRT_2;
    propagate([source.0, load.0], |[g, l]| factor * g * l)
}

/// A relative power uncertainty in decibels, first order: `u · 10/ln 10`.
///
/// # Errors
///
/// Overflow.
pub fn power_uncertainty_db(relative: &Estimate) -> Result<Estimate, LineError> {
    Ok(relative.scaled(10.0 / std::f64::consts::LN_10)?)
}

/// Exact error of an insertion measured between a source and a load that
/// reflect, in decibels: `20 lg |(1 − Γ_GΓ_L)/((1 − Γ_GS11)(1 − Γ_LS22) −
/// Γ_GΓ_LS12S21)|` is what is read above `20 lg |S21|`.
///
/// # Errors
///
/// [`LineError::OutOfRange`] when the loop closes on itself and nothing is
/// finite.
///
/// # Source
///
/// Closed form of the flow graph.
pub fn insertion_error_db(source: Complex64, load: Complex64, device: &TwoPort) -> Result<f64, LineError> {
    let with =
        (1.0 - source * device.s11) * (1.0 - load * device.s22) - source * load * device.s12 * device.s21;
    let without = 1.0 - source * load;
    let ratio = without.norm() / with.norm();
    if ratio.is_finite() && ratio > 0.0 {
        Ok(20.0 * ratio.log10())
    } else {
        Err(LineError::OutOfRange {
            what: "loop gain of the insertion",
            expected: "below one",
            found: with.norm(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64;
    use std::f64::consts::PI;

    fn exact(v: f64) -> Estimate {
        Estimate::exact(v).unwrap()
    }

    /// The three factors by simulation of M = 2 Re Γ_GΓ_L.
    #[test]
    fn factors_of_the_three_cases_by_simulation() {
        let mut random = Pcg64::seed_from_u64(11);
        let cases = [
            (Knowledge::Magnitude, Knowledge::Magnitude),
            (Knowledge::Magnitude, Knowledge::Disc),
            (Knowledge::Disc, Knowledge::Disc),
        ];
        for (a, b) in cases {
            let n = 200_000;
            let mut sum = 0.0;
            for _ in 0..n {
                let mut draw = |k| {
                    let radius: f64 = match k {
                        Knowledge::Magnitude => 0.1,
                        Knowledge::Disc => 0.1 * random.random::<f64>().sqrt(),
                    };
                    Complex64::from_polar(radius, 2.0 * PI * random.random::<f64>())
                };
                sum += (2.0 * (draw(a) * draw(b)).re).powi(2);
            }
            let simulated = (sum / f64::from(n)).sqrt();
            let ours = power_uncertainty((&exact(0.1), a), (&exact(0.1), b)).unwrap().value();
            assert!((simulated / ours - 1.0).abs() < 0.01, "{a:?} {b:?}: {simulated} {ours}");
        }
    }

    #[test]
    fn waves_that_may_cancel_have_no_lower_limit() {
        let answer = interaction_limits(&exact(1.0), &exact(1.0)).unwrap();
        assert!(answer.value.lower_db.is_none());
        assert!(!answer.findings.is_empty());
        assert!(interaction_limits(&exact(-0.1), &exact(0.1)).is_err());
    }

    #[test]
    fn the_exact_error_stays_inside_the_limits() {
        let device = TwoPort {
            s11: Complex64::new(0.05, 0.0),
            s12: Complex64::new(0.5, 0.0),
            s21: Complex64::new(0.5, 0.0),
            s22: Complex64::new(0.05, 0.0),
        };
        let limits = insertion_limits(&exact(0.1), &exact(0.1), &exact(0.05), &exact(0.05), &exact(0.5))
            .unwrap()
            .value;
        let lower = limits.lower_db.unwrap().value();
        for i in 0..36 {
            for j in 0..36 {
                let turn = |k: i32| Complex64::from_polar(0.1, f64::from(k) * PI / 18.0);
                // An attenuation is read too large where the level is too low.
                let error = -insertion_error_db(turn(i), turn(j), &device).unwrap();
                assert!(error <= limits.upper_db.value() && error >= lower);
            }
        }
        assert!(
            insertion_error_db(Complex64::new(1.0, 0.0), Complex64::new(1.0, 0.0), &TwoPort::THROUGH)
                .is_err()
        );
    }
}
