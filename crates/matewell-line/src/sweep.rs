//! The same over a band, at values without uncertainty: for pictures and
//! tables.

use crate::{
    JointGeometry, Line, LineError,
    gap::short_line,
    impedance::{impedance_ohm, off_centre_ohm},
    loss::{lossy, require_positive},
    section::{phase, recess_magnitude, section_magnitude},
    step::step_magnitude,
};
use matewell_quantity::{Frequency, Length};

/// Equally spaced frequencies, both ends included.
///
/// # Errors
///
/// [`LineError::TooFew`] below two points, [`LineError::OutOfRange`] unless `0 <
/// from < to`.
pub fn linear_frequencies(
    from: Frequency,
    to: Frequency,
    points: usize,
) -> Result<Vec<Frequency>, LineError> {
    if points < 2 {
        return Err(LineError::TooFew { what: "points", at_least: 2, found: points });
    }
    require_positive("first frequency in Hz", from.hertz())?;
    require_positive("span in Hz", to.hertz() - from.hertz())?;
    let step = (to.hertz() - from.hertz()) / (points - 1) as f64;
    (0..points).map(|i| Ok(Frequency::from_hertz(from.hertz() + step * i as f64)?)).collect()
}

/// `|Γ|` of a gap at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GapPoint {
    /// The estimate of [`crate::gap_reflection`].
    pub magnitude: f64,
    /// The short-line upper bound.
    pub upper: f64,
    /// Phase in degrees.
    pub phase_deg: f64,
}

/// Reflection of a gap over frequency. The caller draws no curve above
/// [`crate::te11_cutoff`].
pub fn sweep_gap(
    joint: &JointGeometry,
    gap: Length,
    frequencies: &[Frequency],
) -> Vec<(Frequency, GapPoint)> {
    let (outer, inner, er) = joint.line().numbers();
    let pin = joint.pin().value().metres();
    frequencies
        .iter()
        .map(|f| {
            let point = GapPoint {
                magnitude: joint.reflection_magnitude(gap, *f),
                upper: short_line(outer, inner, pin, er, gap.metres(), f.hertz()),
                phase_deg: joint.two_port(gap, *f).s11.arg().to_degrees(),
            };
            (*f, point)
        })
        .collect()
}

/// `|Γ|` of a dielectric recess over frequency.
pub fn sweep_dielectric_recess(
    filled: &Line,
    recess: Length,
    frequencies: &[Frequency],
) -> Vec<(Frequency, f64)> {
    let (outer, inner, er) = filled.numbers();
    frequencies.iter().map(|f| (*f, recess_magnitude(outer, inner, er, recess.metres(), f.hertz()))).collect()
}

/// `|Γ|` of a piece whose centre conductor lies off the axis, over frequency,
/// see [`crate::off_centre_reflection`].
pub fn sweep_off_centre(
    line: &Line,
    offset: Length,
    length: Length,
    frequencies: &[Frequency],
) -> Vec<(Frequency, f64)> {
    let (outer, inner, er) = line.numbers();
    let section = off_centre_ohm(outer, inner, er, offset.metres());
    let z0 = impedance_ohm(outer, inner, er);
    frequencies
        .iter()
        .map(|f| (*f, section_magnitude(section, z0, phase(length.metres(), er, f.hertz()))))
        .collect()
}

/// `|Γ|` of two interfaces that meet, over frequency, see
/// [`crate::interface_step`].
pub fn sweep_interface_step(one: &Line, other: &Line, frequencies: &[Frequency]) -> Vec<(Frequency, f64)> {
    frequencies.iter().map(|f| (*f, step_magnitude(one, other, f.hertz()))).collect()
}

/// Loss and impedance of a line at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LossPoint {
    /// Attenuation, in decibels per metre.
    pub attenuation_db_per_m: f64,
    /// Real part of the characteristic impedance, in ohms.
    pub impedance_real_ohm: f64,
    /// Imaginary part of the characteristic impedance, in ohms.
    pub impedance_imaginary_ohm: f64,
}

/// Loss of a line over frequency, see [`crate::lossy_line`].
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a conductivity or frequency not above zero.
pub fn sweep_loss(
    line: &Line,
    conductivity_s_per_m: f64,
    loss_tangent: f64,
    frequencies: &[Frequency],
) -> Result<Vec<(Frequency, LossPoint)>, LineError> {
    require_positive("conductivity in S/m", conductivity_s_per_m)?;
    let (outer, inner, er) = line.numbers();
    frequencies
        .iter()
        .map(|f| {
            require_positive("frequency in Hz", f.hertz())?;
            let l = lossy(outer, inner, er, f.hertz(), conductivity_s_per_m, loss_tangent);
            let point = LossPoint {
                attenuation_db_per_m: crate::constants::DECIBELS_PER_NEPER * l.gamma.re,
                impedance_real_ohm: l.impedance.re,
                impedance_imaginary_ohm: l.impedance.im,
            };
            Ok((*f, point))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sweep is the single answers side by side.
    #[test]
    fn sweeps_agree_with_the_single_answers() {
        let mm = |v| Length::from_millimetres(v).unwrap();
        let exact = |v| matewell_uncertainty::Estimate::exact(v).unwrap();
        let ghz = |v| Frequency::from_gigahertz(v).unwrap();
        let one = Line::new(mm(3.5), mm(1.52)).unwrap();
        let filled = Line::new(mm(4.13), mm(1.27)).unwrap().filled(exact(2.02)).unwrap();
        let joint = JointGeometry::new(one.clone(), mm(0.927)).unwrap();
        let band = linear_frequencies(ghz(1.0), ghz(20.0), 7).unwrap();
        let same = |a: f64, b: f64| assert!((a - b).abs() <= 1e-12 * b.abs(), "{a} {b}");
        for (f, point) in sweep_gap(&joint, mm(0.04), &band) {
            let single = crate::gap_reflection(&joint, mm(0.04), f, 1).unwrap().value;
            same(point.magnitude, single.magnitude.value());
            same(point.upper, single.upper.value());
            same(point.phase_deg, single.phase_deg);
        }
        for (f, value) in sweep_dielectric_recess(&filled, mm(0.1), &band) {
            let single = crate::dielectric_recess(&filled, mm(0.1), f, 1).unwrap().value;
            same(value, single.magnitude.value());
        }
        for (f, value) in sweep_interface_step(&filled, &one, &band) {
            same(value, crate::interface_step(&filled, &one, f).unwrap().value.magnitude.value());
        }
        for (f, point) in sweep_loss(&one, 1.3e7, 0.0, &band).unwrap() {
            let single = crate::lossy_line(&one, f, &exact(1.3e7), &exact(0.0)).unwrap().value;
            same(point.attenuation_db_per_m, single.attenuation_db_per_m.value());
            same(point.impedance_real_ohm, single.impedance_real_ohm.value());
            same(point.impedance_imaginary_ohm, single.impedance_imaginary_ohm.value());
        }
    }

    #[test]
    fn frequencies_include_both_ends() {
        let ghz = |v| Frequency::from_gigahertz(v).unwrap();
        let list = linear_frequencies(ghz(1.0), ghz(3.0), 5).unwrap();
        assert_eq!(list.len(), 5);
        assert!((list[4].gigahertz() - 3.0).abs() < 1e-12);
        assert!(linear_frequencies(ghz(1.0), ghz(1.0), 5).is_err());
        assert!(linear_frequencies(ghz(1.0), ghz(2.0), 1).is_err());
        assert!(linear_frequencies(ghz(0.0), ghz(2.0), 3).is_err());
    }
}
