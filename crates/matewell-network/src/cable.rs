//! Is it the good cable? Phase stability under bending, and where loss comes
//! from.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use crate::error::NetworkError;
use crate::transform::same_length;

/// Change of a cable's transmission phase between two sweeps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhaseChange {
    /// Change of delay, in seconds; positive is longer.
    pub delay: f64,
    /// The same as degrees at the highest frequency (a longer cable turns
    /// backward).
    pub degrees_at_highest: f64,
    /// Root mean square of what the delay does not explain, in degrees: a
    /// change of mismatch.
    pub ripple_degrees: f64,
    /// Largest step between neighbouring points of that remainder, in degrees: a
    /// bad contact jumps.
    pub largest_step_degrees: f64,
}

/// How many times the cable was passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passage {
    /// Transmission through it.
    Once,
    /// Reflection from a short or open at its far end.
    Twice,
}

/// Phase change between two sweeps of one cable.
///
/// The phase of `after/before`, unwrapped from the lowest frequency, is fitted
/// by `−360 f Δτ` degrees; the line goes through 0 at 0 Hz.
///
/// # Errors
///
/// Unequal lengths, fewer than three points, a zero, or a turn of more than 150
/// degrees between neighbours, which cannot be unwrapped.
///
/// # Source
///
/// Slope and remainder: common practice, no source; `iec-60966-1` holds the
/// bending and temperature tests themselves.
pub fn phase_change(
    frequencies: &[f64],
    before: &[Complex64],
    after: &[Complex64],
    passage: Passage,
) -> Result<PhaseChange, NetworkError> {
    same_length(frequencies, before)?;
    same_length(frequencies, after)?;
    if frequencies.len() < 3 {
        return Err(NetworkError::WrongCount { what: "frequencies", expected: 3, found: frequencies.len() });
    }
    let mut phase = Vec::with_capacity(frequencies.len());
    let mut previous: Option<f64> = None;
    for (index, (b, a)) in before.iter().zip(after).enumerate() {
        let raw = (a * b.conj()).arg().to_degrees();
        let dead = b.norm() == 0.0 || a.norm() == 0.0;
        if !raw.is_finite() || dead {
            return Err(NetworkError::NotFinite { what: "phase of a transmission", found: raw, index });
        }
        let value = match previous {
            None => raw,
            Some(p) => {
                let turn = raw - p;
                let turn = turn - 360.0 * (turn / 360.0).round();
                if turn.abs() > 150.0 {
                    return Err(NetworkError::OutOfRange {
                        what: "phase step between neighbouring frequencies",
                        expected: "at most 150 degrees",
                        found: turn,
                    });
                }
                p + turn
            }
        };
        previous = Some(value);
        phase.push(value);
    }
    let (mut fp, mut ff) = (0.0, 0.0);
    for (f, p) in frequencies.iter().zip(&phase) {
        fp += f * p;
        ff += f * f;
    }
    let slope = fp / ff;
    let left: Vec<f64> = frequencies.iter().zip(&phase).map(|(f, p)| p - slope * f).collect();
    let ripple = (left.iter().map(|r| r * r).sum::<f64>() / left.len() as f64).sqrt();
    let mut largest = 0.0;
    for pair in left.windows(2) {
        if let &[a, b] = pair
            && (b - a).abs() > largest
        {
            largest = (b - a).abs();
        }
    }
    let times = match passage {
        Passage::Once => 1.0,
        Passage::Twice => 2.0,
    };
    let slope = slope / times;
    Ok(PhaseChange {
        delay: -slope / 360.0,
        degrees_at_highest: slope * frequencies.last().copied().unwrap_or(f64::NAN),
        ripple_degrees: ripple / times,
        largest_step_degrees: largest / times,
    })
}

/// Where a change of insertion loss comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LossChange {
    /// Part that does not depend on frequency, in decibels: contacts.
    pub constant_db: f64,
    /// Part that grows with the root of frequency, in decibels at 1 GHz:
    /// conductors.
    pub root_db_at_1_ghz: f64,
    /// Part that grows with frequency, in decibels at 1 GHz: dielectric,
    /// moisture.
    pub linear_db_at_1_ghz: f64,
    /// Series resistance in ohms that would explain the constant part:
    /// `2 Z₀ (10^{a/20} − 1)`.
    pub contact_resistance: f64,
    /// Root mean square of what is left, in decibels.
    pub ripple_db: f64,
}

/// Fits `ΔIL(f) = a + b √f + c f` (f in gigahertz).
///
/// # Errors
///
/// Unequal lengths, fewer than four points, numbers that are not finite, or
/// frequencies too alike to tell the parts apart.
pub fn loss_change(
    frequencies: &[f64],
    loss_change_db: &[f64],
    impedance: f64,
) -> Result<LossChange, NetworkError> {
    if frequencies.len() != loss_change_db.len() || frequencies.len() < 4 {
        return Err(NetworkError::WrongCount {
            what: "loss values",
            expected: if frequencies.len() < 4 { 4 } else { frequencies.len() },
            found: loss_change_db.len(),
        });
    }
    for (index, &found) in frequencies.iter().chain(loss_change_db).enumerate() {
        if !found.is_finite() {
            return Err(NetworkError::NotFinite { what: "loss", found, index });
        }
    }
    let row = |f: f64| [1.0, (f * 1e-9).sqrt(), f * 1e-9];
    let a = DMatrix::from_row_iterator(frequencies.len(), 3, frequencies.iter().flat_map(|f| row(*f)));
    let y = DVector::from_column_slice(loss_change_db);
    let svd = a.clone().svd(true, true);
    let x = svd.solve(&y, 1e-9).map_err(|_| NetworkError::NotDefined {
        what: "loss decomposition: the frequencies are too alike",
    })?;
    let left = &y - &a * &x;
    let &[constant, root, linear] = x.as_slice() else {
        return Err(NetworkError::NotDefined { what: "loss decomposition: no solution" });
    };
    Ok(LossChange {
        constant_db: constant,
        root_db_at_1_ghz: root,
        linear_db_at_1_ghz: linear,
        contact_resistance: 2.0 * impedance * (10_f64.powf(constant / 20.0) - 1.0),
        ripple_db: (left.norm_squared() / frequencies.len() as f64).sqrt(),
    })
}

/// Spacing in metres of two reflections that ripple with period `period` in
/// hertz: `d = v/(2 δf)`.
pub fn ripple_spacing(period: f64, velocity_factor: f64) -> f64 {
    velocity_factor * crate::transform::SPEED_OF_LIGHT / (2.0 * period)
}

/// Peak-to-peak ripple in decibels of two reflections: `20 log₁₀((1+x)/(1−x))`,
/// `x = |Γ_a Γ_b|`; near `17.37 x` for small ones.
pub fn ripple_peak_to_peak(first: f64, second: f64) -> f64 {
    let x = first * second;
    20.0 * ((1.0 + x) / (1.0 - x)).log10()
}
