//! Constants of nature, with year and exactness.

use std::f64::consts::PI;

/// Speed of light in vacuum, in metres per second; exact.
///
/// Source: `codata-2022`, "speed of light in vacuum".
pub const SPEED_OF_LIGHT_M_PER_S: f64 = 299_792_458.0;

/// Vacuum magnetic permeability, in newtons per ampere squared. Relative
/// standard uncertainty 1.6e-10: measured since 2019, no longer 4π × 10⁻⁷
/// exactly.
///
/// Source: `codata-2022`, "vacuum mag. permeability".
pub const MU_0_N_PER_A2: f64 = 1.256_637_061_27e-6;

/// Vacuum electric permittivity `1/(µ₀c²)`, in farads per metre.
///
/// Source: `codata-2022`, "vacuum electric permittivity", prints
/// 8.854 187 8188 e-12.
pub const EPSILON_0_F_PER_M: f64 = 1.0 / (MU_0_N_PER_A2 * SPEED_OF_LIGHT_M_PER_S * SPEED_OF_LIGHT_M_PER_S);

/// Characteristic impedance of vacuum `µ₀c`, in ohms.
///
/// Source: `codata-2022`, "characteristic impedance of vacuum", prints
/// 376.730 313 412.
pub const ETA_0_OHM: f64 = MU_0_N_PER_A2 * SPEED_OF_LIGHT_M_PER_S;

/// `η₀/2π`, the factor in front of `ln(D/d)`, in ohms.
pub const K_OHM: f64 = ETA_0_OHM / (2.0 * PI);

/// Decibels per neper, `20/ln 10`; exact by definition.
pub const DECIBELS_PER_NEPER: f64 = 20.0 / std::f64::consts::LN_10;
