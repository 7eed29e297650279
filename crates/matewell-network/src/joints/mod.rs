//! Which joint of a chain changed since the last good sweep?
//!
//! [`judge`] fits the difference of two reflection sweeps with one inductance
//! and one resistance per joint, the delay of every flexible cable, fitted joint
//! positions and a bounded calibration drift. It names a joint only when the
//! evidence separates it from the others, and it never releases or rejects
//! anything: good S-parameters do not show that an end is mechanically safe.

mod baseline;
mod decide;
mod model;
mod parts;
mod places;
mod say;

pub use baseline::{CableShape, Candidate, NoBaseline, choose_baseline};
pub use decide::{Finding, GapEquivalent, JointEstimate, Refusal, Verdict, judge};

use crate::error::NetworkError;

/// One joint of a chain.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// What people call it.
    pub name: String,
    /// Standard deviation of its series inductance from one make to the next,
    /// in henries.
    pub scatter_inductance: f64,
    /// The same of its contact resistance, in ohms.
    pub scatter_resistance: f64,
    /// Inductance per length of pin gap in henries per metre, when its line is
    /// known: `(µ₀/2π) ln(d/d_pin)`.
    pub inductance_per_gap: Option<f64>,
}

/// What lies between two joints.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Mechanical length, in metres.
    pub length: f64,
    /// Standard uncertainty of the length, in metres.
    pub length_uncertainty: f64,
    /// Speed in it over that in vacuum.
    pub velocity_factor: f64,
    /// Loss at 1 GHz in decibels per metre; it grows with the root of frequency.
    pub loss_at_1_ghz: f64,
    /// Whether its delay may change between sweeps (a cable that moves).
    pub flexible: bool,
}

/// Joints from the measuring port outward, with what lies between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    joints: Vec<Joint>,
    sections: Vec<Section>,
}

impl Chain {
    /// Checks and keeps a chain; `sections[k]` lies between joints k and k + 1.
    ///
    /// # Errors
    ///
    /// One to twelve joints with one section less; every number finite and in
    /// its range.
    pub fn new(joints: Vec<Joint>, sections: Vec<Section>) -> Result<Self, NetworkError> {
        if joints.is_empty() || joints.len() > 12 {
            return Err(NetworkError::WrongCount { what: "joints", expected: 12, found: joints.len() });
        }
        if sections.len() + 1 != joints.len() {
            return Err(NetworkError::WrongCount {
                what: "sections",
                expected: joints.len() - 1,
                found: sections.len(),
            });
        }
        let positive = |what, found: f64| {
            if found.is_finite() && found > 0.0 {
                Ok(())
            } else {
                Err(NetworkError::OutOfRange { what, expected: "a finite number above 0", found })
            }
        };
        for joint in &joints {
            positive("scatter of inductance", joint.scatter_inductance)?;
            positive("scatter of resistance", joint.scatter_resistance)?;
            if let Some(found) = joint.inductance_per_gap {
                positive("inductance per gap", found)?;
            }
        }
        for section in &sections {
            positive("section length", section.length)?;
            positive("velocity factor", section.velocity_factor)?;
            let found = section.length_uncertainty;
            if !(0.0..=0.02).contains(&found) {
                return Err(NetworkError::OutOfRange {
                    what: "length uncertainty",
                    expected: "0 to 20 mm",
                    found,
                });
            }
            if section.velocity_factor > 1.0 {
                return Err(NetworkError::OutOfRange {
                    what: "velocity factor",
                    expected: "at most 1",
                    found: section.velocity_factor,
                });
            }
            let found = section.loss_at_1_ghz;
            if !(0.0..100.0).contains(&found) {
                return Err(NetworkError::OutOfRange {
                    what: "loss at 1 GHz",
                    expected: "0 to 100 dB/m",
                    found,
                });
            }
        }
        Ok(Self { joints, sections })
    }

    /// The joints, from the port outward.
    pub fn joints(&self) -> &[Joint] {
        &self.joints
    }

    /// What lies between them.
    pub fn sections(&self) -> &[Section] {
        &self.sections
    }
}

/// What is known beside the sweeps, and where the decisions lie. There is no
/// default: limits of a decision belong to the lab.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Trace noise of one sweep: standard deviation of the real part, linear.
    pub noise: f64,
    /// What the model leaves unexplained, standard deviation, linear.
    pub model_floor: f64,
    /// Standard deviation of the residual directivity and match drift since the
    /// baseline, linear (0.001 is −60 dB).
    pub offset_drift: f64,
    /// Standard deviation of the tracking drift since the baseline, linear.
    pub tracking_drift: f64,
    /// Standard deviation expected of a cable's phase change at the highest
    /// frequency, in degrees one way.
    pub cable_phase: f64,
    /// Largest fitted cable phase change at which a verdict is given, in
    /// degrees one way at the highest frequency.
    pub largest_cable_phase: f64,
    /// Largest reduced χ² at which a verdict is given.
    pub largest_chi_square: f64,
    /// Probability of an alarm when nothing changed, for the whole chain.
    pub false_alarm: f64,
    /// Evidence (Δχ²) by which the best joint must lead to be named alone.
    pub separation: f64,
    /// The change of inductance that matters here, in henries. A joint whose
    /// smallest detectable change is larger could not be judged.
    pub change_of_interest: f64,
}

impl Settings {
    fn check(&self) -> Result<(), NetworkError> {
        for (what, found) in [
            ("noise", self.noise),
            ("model floor", self.model_floor),
            ("offset drift", self.offset_drift),
            ("tracking drift", self.tracking_drift),
            ("cable phase", self.cable_phase),
            ("largest cable phase", self.largest_cable_phase),
            ("largest reduced chi-square", self.largest_chi_square),
            ("separation", self.separation),
            ("change of interest", self.change_of_interest),
        ] {
            if !(found.is_finite() && found > 0.0) {
                return Err(NetworkError::OutOfRange { what, expected: "a finite number above 0", found });
            }
        }
        if !(self.false_alarm > 0.0 && self.false_alarm < 0.5) {
            return Err(NetworkError::OutOfRange {
                what: "false alarm probability",
                expected: "above 0, below 0.5",
                found: self.false_alarm,
            });
        }
        Ok(())
    }
}
