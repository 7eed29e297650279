//! From the file's numbers to single-ended scattering parameters.

use nalgebra::DMatrix;
use num_complex::Complex64;

use super::{Format, Mode, Parameter, Touchstone};
use crate::error::NetworkError;
use crate::sweep::Sweep;

impl Touchstone {
    /// The scattering parameters of the single-ended ports.
    ///
    /// With `F = diag(√R_i)`: `z = F⁻¹ Z F⁻¹`, `S = (z + I)⁻¹ (z − I)`;
    /// `y = F Y F`, `S = (I + y)⁻¹ (I − y)`. Version 1 prints z, y, h, g
    /// (normalised), version 2 prints Z, Y, H, G. With `h11 = H11/R₁`,
    /// `h12 = H12 √(R₂/R₁)`, `h21 = H21 √(R₂/R₁)`, `h22 = H22 R₂` and
    /// `D = (h11+1)(h22+1) − h12 h21`: `S11 = ((h11−1)(h22+1) − h12 h21)/D`,
    /// `S12 = 2 h12/D`, `S21 = −2 h21/D`, `S22 = ((1+h11)(1−h22) + h12 h21)/D`;
    /// G likewise with current and voltage exchanged. H and G are converted
    /// directly because an ideal through has no Z matrix.
    ///
    /// A mixed-mode matrix becomes single-ended with the orthogonal matrix of
    /// `(a_p − a_q)/√2` and `(a_p + a_q)/√2`.
    ///
    /// # Errors
    ///
    /// Frequencies that do not rise, no S-parameters (singular matrix), version
    /// 1.1 with unequal references and normalised parameters, mixed mode with
    /// unequal references of a pair or with other parameters than S.
    ///
    /// # Source
    ///
    /// `touchstone-2.0`, examples 9 and 10 (normalisation); the H and G rules
    /// are from memory.
    pub fn to_sweep(&self) -> Result<Sweep, NetworkError> {
        let header = &self.header;
        let ports = self.ports();
        let mut values: Vec<Complex64> = self.pairs.iter().map(|p| complex(*p, header.format)).collect();
        if header.parameter == Parameter::S {
            if let Some(order) = &header.mode_order {
                let mixing = mixing_matrix(order, &header.references)?;
                for matrix in values.chunks_exact_mut(ports * ports) {
                    let s = DMatrix::from_row_slice(ports, ports, matrix);
                    write_back(matrix, &(mixing.transpose() * s * &mixing));
                }
            }
        } else {
            if header.mode_order.is_some() {
                return Err(NetworkError::NotDefined {
                    what: "mixed-mode order with other parameters than S: the conversion is not defined here",
                });
            }
            let scales = self.scales()?;
            for (matrix, &frequency) in values.chunks_exact_mut(ports * ports).zip(&self.frequencies) {
                scattering(matrix, header.parameter, &scales)
                    .ok_or(NetworkError::Singular { from: header.parameter.word(), frequency })?;
            }
        }
        Sweep::new(self.frequencies.clone(), header.references.clone(), values)
    }

    /// `√R` per port, or ones where the file holds normalised numbers.
    fn scales(&self) -> Result<Vec<f64>, NetworkError> {
        let references = &self.header.references;
        if self.header.version.has_keywords() {
            return Ok(references.iter().map(|r| r.sqrt()).collect());
        }
        let first = references.first().copied().unwrap_or(f64::NAN);
        #[expect(clippy::float_cmp, reason = "equal text on the option line gives equal bits")]
        let equal = references.iter().all(|r| *r == first);
        if equal {
            Ok(vec![1.0; references.len()])
        } else {
            Err(NetworkError::NotDefined {
                what: "version 1.1 with unequal references and normalised parameters: which reference normalises is not defined",
            })
        }
    }
}

/// One printed pair as a complex number; angles are degrees.
fn complex(pair: [f64; 2], format: Format) -> Complex64 {
    let [first, second] = pair;
    match format {
        Format::RealImaginary => Complex64::new(first, second),
        Format::MagnitudeAngle => Complex64::from_polar(first, second.to_radians()),
        Format::DecibelAngle => Complex64::from_polar(10_f64.powf(first / 20.0), second.to_radians()),
    }
}

/// The pair that prints a complex number.
pub(super) fn pair(value: Complex64, format: Format) -> [f64; 2] {
    let angle = value.im.atan2(value.re).to_degrees();
    match format {
        Format::RealImaginary => [value.re, value.im],
        Format::MagnitudeAngle => [value.norm(), angle],
        Format::DecibelAngle => [20.0 * value.norm().log10(), angle],
    }
}

fn write_back(target: &mut [Complex64], matrix: &DMatrix<Complex64>) {
    // nalgebra stores columns; the sweep stores rows.
    for (slot, value) in target.iter_mut().zip(matrix.transpose().iter()) {
        *slot = *value;
    }
}

fn scattering(matrix: &mut [Complex64], parameter: Parameter, scales: &[f64]) -> Option<()> {
    let one = Complex64::new(1.0, 0.0);
    match parameter {
        Parameter::S => {}
        Parameter::Z | Parameter::Y => {
            let ports = scales.len();
            for (row, cells) in matrix.chunks_exact_mut(ports).enumerate() {
                for (cell, column) in cells.iter_mut().zip(scales) {
                    let scale = scales.get(row)? * column;
                    *cell = if parameter == Parameter::Z { *cell / scale } else { *cell * scale };
                }
            }
            let x = DMatrix::from_row_slice(ports, ports, matrix);
            let identity = DMatrix::<Complex64>::identity(ports, ports);
            let right = if parameter == Parameter::Z { &x - &identity } else { &identity - &x };
            let s = (x + identity).lu().solve(&right)?;
            write_back(matrix, &s);
        }
        Parameter::H | Parameter::G => {
            let (&[x11, x12, x21, x22], &[f1, f2]) = (&*matrix, scales) else {
                return None;
            };
            let s = if parameter == Parameter::H {
                let (h11, h12, h21, h22) = (x11 / (f1 * f1), x12 * f2 / f1, x21 * f2 / f1, x22 * (f2 * f2));
                let d = (h11 + one) * (h22 + one) - h12 * h21;
                [
                    ((h11 - one) * (h22 + one) - h12 * h21) / d,
                    h12 * 2.0 / d,
                    h21 * -2.0 / d,
                    ((one + h11) * (one - h22) + h12 * h21) / d,
                ]
            } else {
                let (g11, g12, g21, g22) = (x11 * (f1 * f1), x12 * f1 / f2, x21 * f1 / f2, x22 / (f2 * f2));
                let d = (one + g11) * (one + g22) - g12 * g21;
                [
                    ((one - g11) * (one + g22) + g12 * g21) / d,
                    g12 * -2.0 / d,
                    g21 * 2.0 / d,
                    ((one + g11) * (g22 - one) - g12 * g21) / d,
                ]
            };
            matrix.copy_from_slice(&s);
        }
    }
    matrix.iter().all(|v| v.re.is_finite() && v.im.is_finite()).then_some(())
}

/// Rows: what each mode is made of.
fn mixing_matrix(order: &[Mode], references: &[f64]) -> Result<DMatrix<Complex64>, NetworkError> {
    let ports = references.len();
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let mut rows = vec![Complex64::new(0.0, 0.0); ports * ports];
    let mut set = |row: usize, port: usize, value: f64| {
        if let Some(slot) = rows.get_mut(row * ports + port - 1) {
            *slot = Complex64::new(value, 0.0);
        }
    };
    for (row, mode) in order.iter().enumerate() {
        match *mode {
            Mode::Single(p) => set(row, p, 1.0),
            Mode::Differential(p, q) | Mode::Common(p, q) => {
                let equal = references.get(p - 1) == references.get(q - 1);
                if !equal {
                    return Err(NetworkError::NotDefined {
                        what: "mixed mode of two ports with unequal references: the conversion is not defined here",
                    });
                }
                set(row, p, half);
                set(row, q, if matches!(mode, Mode::Differential(..)) { -half } else { half });
            }
        }
    }
    Ok(DMatrix::from_row_slice(ports, ports, &rows))
}
