//! A checked sweep: scattering parameters over rising frequencies.

use num_complex::Complex64;

use crate::error::NetworkError;

/// Most ports a sweep may have.
pub const MOST_PORTS: usize = 32;

/// Scattering parameters of an N-port over strictly rising frequencies, with
/// one positive real reference impedance per port.
///
/// Whoever holds one knows that every number in it is finite and that the
/// lengths agree.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    ports: usize,
    frequencies: Vec<f64>,
    references: Vec<f64>,
    s: Vec<Complex64>,
}

impl Sweep {
    /// Checks and keeps a sweep.
    ///
    /// - `frequencies`: in hertz, zero or more, strictly rising.
    /// - `references`: one per port, in ohms.
    /// - `s`: all of the first frequency row by row, then the next frequency.
    ///
    /// # Errors
    ///
    /// A wrong count, a number that is not finite, a reference that is not
    /// positive, or frequencies that do not rise.
    pub fn new(frequencies: Vec<f64>, references: Vec<f64>, s: Vec<Complex64>) -> Result<Self, NetworkError> {
        let ports = references.len();
        if ports == 0 || ports > MOST_PORTS {
            return Err(NetworkError::WrongCount {
                what: "reference impedances",
                expected: MOST_PORTS,
                found: ports,
            });
        }
        let expected = frequencies.len() * ports * ports;
        if s.len() != expected || frequencies.is_empty() {
            return Err(NetworkError::WrongCount { what: "S-parameters", expected, found: s.len() });
        }
        for (index, &found) in references.iter().enumerate() {
            if !found.is_finite() {
                return Err(NetworkError::NotFinite { what: "reference impedance", found, index });
            }
            if found <= 0.0 {
                return Err(NetworkError::OutOfRange {
                    what: "reference impedance",
                    expected: "more than 0 ohm",
                    found,
                });
            }
        }
        let mut previous = None;
        for (index, &found) in frequencies.iter().enumerate() {
            if !found.is_finite() {
                return Err(NetworkError::NotFinite { what: "frequency", found, index });
            }
            if found < 0.0 {
                return Err(NetworkError::OutOfRange { what: "frequency", expected: "0 Hz or more", found });
            }
            if let Some(previous) = previous
                && found <= previous
            {
                return Err(NetworkError::FrequencyOrder { index, previous, found });
            }
            previous = Some(found);
        }
        for (index, value) in s.iter().enumerate() {
            for found in [value.re, value.im] {
                if !found.is_finite() {
                    return Err(NetworkError::NotFinite { what: "S-parameter", found, index });
                }
            }
        }
        Ok(Self { ports, frequencies, references, s })
    }

    /// Number of ports.
    pub fn ports(&self) -> usize {
        self.ports
    }

    /// Number of frequencies.
    pub fn points(&self) -> usize {
        self.frequencies.len()
    }

    /// The frequencies, in hertz.
    pub fn frequencies(&self) -> &[f64] {
        &self.frequencies
    }

    /// The reference impedances, in ohms.
    pub fn references(&self) -> &[f64] {
        &self.references
    }

    /// All S-parameters: frequency by frequency, row by row.
    pub fn values(&self) -> &[Complex64] {
        &self.s
    }

    /// The matrices, one per frequency, each row by row.
    pub fn matrices(&self) -> impl Iterator<Item = &[Complex64]> {
        self.s.chunks_exact(self.ports * self.ports)
    }

    /// `S(to, from)` over frequency; ports count from 1, as people count them.
    ///
    /// # Errors
    ///
    /// [`NetworkError::NoSuchPort`].
    pub fn trace(&self, to: usize, from: usize) -> Result<Vec<Complex64>, NetworkError> {
        for port in [to, from] {
            if port == 0 || port > self.ports {
                return Err(NetworkError::NoSuchPort { port, ports: self.ports });
            }
        }
        let offset = (to - 1) * self.ports + from - 1;
        Ok(self.matrices().filter_map(|m| m.get(offset).copied()).collect())
    }

    /// The step of a uniform grid, in hertz.
    ///
    /// Uniform means: no point is further than a millionth of the step from its
    /// place, which is coarser than any decimal print and finer than any
    /// effect on a transform.
    ///
    /// # Errors
    ///
    /// [`NetworkError::GridNotUniform`], or a wrong count below two points.
    pub fn uniform_step(&self) -> Result<f64, NetworkError> {
        uniform_step(&self.frequencies)
    }

    /// Whether both sweeps stand on the same frequencies, to a millionth of the
    /// local step.
    ///
    /// # Errors
    ///
    /// [`NetworkError::GridsDiffer`] with the first point that differs.
    pub fn same_grid(&self, other: &Self) -> Result<(), NetworkError> {
        same_frequencies(&self.frequencies, &other.frequencies)
    }
}

/// See [`Sweep::same_grid`].
pub(crate) fn same_frequencies(a: &[f64], b: &[f64]) -> Result<(), NetworkError> {
    if a.len() != b.len() {
        return Err(NetworkError::GridsDiffer { index: a.len().min(b.len()) });
    }
    let span = a.last().copied().unwrap_or(0.0) - a.first().copied().unwrap_or(0.0);
    let slack = 1e-6 * span / a.len() as f64;
    for (index, (x, y)) in a.iter().zip(b).enumerate() {
        if (x - y).abs() > slack {
            return Err(NetworkError::GridsDiffer { index });
        }
    }
    Ok(())
}

/// See [`Sweep::uniform_step`].
pub(crate) fn uniform_step(frequencies: &[f64]) -> Result<f64, NetworkError> {
    let (Some(&first), Some(&last)) = (frequencies.first(), frequencies.last()) else {
        return Err(NetworkError::WrongCount { what: "frequencies", expected: 2, found: 0 });
    };
    if frequencies.len() < 2 {
        return Err(NetworkError::WrongCount { what: "frequencies", expected: 2, found: 1 });
    }
    let step = (last - first) / (frequencies.len() - 1) as f64;
    let mut worst = (0, 0.0);
    for (index, f) in frequencies.iter().enumerate() {
        let off = (f - (first + step * index as f64)).abs();
        if off > worst.1 {
            worst = (index, off);
        }
    }
    if worst.1 > 1e-6 * step {
        return Err(NetworkError::GridNotUniform { step, index: worst.0, found: worst.1 });
    }
    Ok(step)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one_port(frequencies: &[f64], s: &[Complex64]) -> Result<Sweep, NetworkError> {
        Sweep::new(frequencies.to_vec(), vec![50.0], s.to_vec())
    }

    #[test]
    fn a_nan_never_becomes_a_sweep() {
        let fine = Complex64::new(0.1, 0.0);
        assert!(one_port(&[1.0, 2.0], &[fine, fine]).is_ok());
        assert!(one_port(&[1.0, 2.0], &[fine, Complex64::new(f64::NAN, 0.0)]).is_err());
        assert!(one_port(&[1.0, f64::NAN], &[fine, fine]).is_err());
        assert!(Sweep::new(vec![1.0], vec![f64::NAN], vec![fine]).is_err());
        assert!(Sweep::new(vec![1.0], vec![0.0], vec![fine]).is_err());
    }

    #[test]
    fn frequencies_rise_strictly() {
        let fine = Complex64::new(0.1, 0.0);
        let found = one_port(&[1.0, 1.0], &[fine, fine]);
        assert_eq!(found, Err(NetworkError::FrequencyOrder { index: 1, previous: 1.0, found: 1.0 }));
    }

    #[test]
    fn a_trace_counts_ports_from_one() {
        let s: Vec<Complex64> = [11.0, 12.0, 21.0, 22.0].iter().map(|&x| Complex64::new(x, 0.0)).collect();
        let sweep = Sweep::new(vec![1.0], vec![50.0, 50.0], s).unwrap();
        assert_eq!(sweep.trace(2, 1).unwrap(), vec![Complex64::new(21.0, 0.0)]);
        assert!(sweep.trace(0, 1).is_err());
        assert!(sweep.trace(3, 1).is_err());
    }
}
