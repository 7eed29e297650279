//! Torque on the coupling nut: preload, and what the grip does to the click.

use crate::{Answer, Finding, IntoUncertain, LineError, loss::require_positive, uncertain::propagate};
use matewell_quantity::{Length, Torque};
use matewell_uncertainty::Estimate;

/// Axial force of a tightened coupling nut, in newtons.
///
/// `F = T/(K d)`, `d` the nominal thread diameter, `K` the nut factor: about
/// 0.2 dry, 0.12 to 0.30 between lubricated and dirty. Torque is poor evidence
/// of force: give `K` an uncertainty that says so.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a diameter or nut factor not above zero.
///
/// # Source
///
/// Short form of the torque equation, `vdi-2230`; from memory.
pub fn preload_n(
    torque: impl IntoUncertain<Torque>,
    thread: impl IntoUncertain<Length>,
    nut_factor: &Estimate,
) -> Result<Answer<Estimate>, LineError> {
    let (torque, thread) = (torque.into_uncertain()?, thread.into_uncertain()?);
    require_positive("thread diameter in m", thread.value().metres())?;
    require_positive("nut factor", nut_factor.value())?;
    let value = propagate([torque.estimate(), thread.estimate(), nut_factor], |[t, d, k]| t / (k * d))?;
    let findings = if (0.12..=0.30).contains(&nut_factor.value()) {
        Vec::new()
    } else {
        vec![Finding::OutsideClaimedRange { what: "nut factor", found: nut_factor.value() }]
    };
    Ok(Answer { value, findings })
}

/// How the torque at the nut follows from where and how the wrench is held.
#[derive(Debug, Clone)]
pub enum Grip {
    /// A wrench that breaks over at a pivot `pivot` away from the nut: it
    /// gives way at a fixed moment about the pivot.
    BreakOver {
        /// From nut to the mark for the hand.
        marked: Length,
        /// From nut to the hand.
        held: Length,
        /// From nut to the pivot.
        pivot: Length,
    },
    /// A beam read at its own scale: torque in proportion to the lever.
    Beam {
        /// From nut to the mark for the hand.
        marked: Length,
        /// From nut to the hand.
        held: Length,
    },
    /// An extension at an angle to the handle.
    Extension {
        /// From drive to hand.
        lever: Length,
        /// From drive to nut.
        extension: Length,
        /// Angle between them, in degrees; 90 changes nothing.
        angle_deg: f64,
    },
    /// A pull tilted out of the plane of the nut.
    Tilt {
        /// Angle in degrees.
        angle_deg: f64,
    },
}

/// Torque at the nut over the torque set.
///
/// - break-over: `[L₂/(L₂ − p)]·[(L₁ − p)/L₁]`; beam: `L₂/L₁`; extension: `(L +
///   E cos θ)/L`; tilt: `cos a`.
///
/// # Errors
///
/// [`LineError::OutOfRange`] for a length not above zero, or a hand at or
/// inside the pivot.
///
/// # Source
///
/// Closed form: equilibrium of moments.
pub fn grip_factor(grip: &Grip) -> Result<f64, LineError> {
    let positive = |what, l: Length| require_positive(what, l.metres()).map(|()| l.metres());
    match grip {
        Grip::BreakOver { marked, held, pivot } => {
            let p = pivot.metres();
            require_positive("distance from pivot to mark in m", marked.metres() - p)?;
            require_positive("distance from pivot to hand in m", held.metres() - p)?;
            let (l1, l2) = (positive("lever in m", *marked)?, positive("lever in m", *held)?);
            Ok(l2 / (l2 - p) * (l1 - p) / l1)
        }
        Grip::Beam { marked, held } => Ok(positive("lever in m", *held)? / positive("lever in m", *marked)?),
        Grip::Extension { lever, extension, angle_deg } => {
            let l = positive("lever in m", *lever)?;
            Ok((l + extension.metres() * angle_deg.to_radians().cos()) / l)
        }
        Grip::Tilt { angle_deg } => {
            let factor = angle_deg.to_radians().cos();
            require_positive("cosine of the tilt", factor)?;
            Ok(factor)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn held_at_the_mark_nothing_changes() {
        let mm = |v| Length::from_millimetres(v).unwrap();
        let factor =
            grip_factor(&Grip::BreakOver { marked: mm(100.0), held: mm(100.0), pivot: mm(20.0) }).unwrap();
        assert!((factor - 1.0).abs() < 1e-15);
        assert!(
            grip_factor(&Grip::BreakOver { marked: mm(100.0), held: mm(20.0), pivot: mm(20.0) }).is_err()
        );
        assert!(grip_factor(&Grip::Tilt { angle_deg: 90.1 }).is_err());
        assert!(grip_factor(&Grip::Beam { marked: mm(0.0), held: mm(1.0) }).is_err());
    }
}
