//! A chain of joints seen from one end, when only magnitudes are known.

use crate::{Answer, Finding, LineError, mismatch::require_magnitude};
use matewell_uncertainty::Estimate;

/// One joint or part: what it reflects, and what passes to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// `|Γ|` of this link alone.
    pub reflection: Estimate,
    /// `|S21|` from this link to the next, 1 without loss.
    pub transmission: Estimate,
}

impl Link {
    /// A link from its reflection and the loss behind it in decibels.
    ///
    /// # Errors
    ///
    /// [`LineError::OutOfRange`] for a negative magnitude or loss.
    pub fn new(reflection: Estimate, loss_db: &Estimate) -> Result<Self, LineError> {
        require_magnitude(reflection.value())?;
        Ok(Self { reflection, transmission: crate::magnitude_from_return_loss(loss_db)? })
    }
}

/// Reflection of a chain as seen from its near end.
#[derive(Debug, Clone, PartialEq)]
pub struct ChainReflection {
    /// What each link contributes at the near end, in order.
    pub terms: Vec<Estimate>,
    /// All in phase: the sum.
    pub worst: Estimate,
    /// Phases independent and uniform: the root of the sum of squares.
    pub root_sum_square: Estimate,
}

/// Worst case and root sum of squares of a chain.
///
/// `Σ |Γ_i| Π_{j<i} |S21_j|²` and `√Σ(…)²`; first order, echoes between links
/// are left out (use [`crate::TwoPort::cascade`] where phases are known).
///
/// The root sum of squares needs independent phases. It is too small where two
/// like parts sit half a wavelength apart: pass `phases_independent` as false
/// when that is not excluded.
///
/// # Errors
///
/// [`LineError::TooFew`] for an empty chain.
///
/// # Source
///
/// Closed form; common practice for the root sum of squares.
pub fn chain_reflection(
    links: &[Link],
    phases_independent: bool,
) -> Result<Answer<ChainReflection>, LineError> {
    if links.is_empty() {
        return Err(LineError::TooFew { what: "links", at_least: 1, found: 0 });
    }
    let mut there_and_back = Estimate::exact(1.0)?;
    let mut terms: Vec<Estimate> = Vec::with_capacity(links.len());
    for link in links {
        terms.push(link.reflection.times(&there_and_back)?);
        there_and_back = there_and_back.times(&link.transmission)?.times(&link.transmission)?;
    }
    let sum: f64 = terms.iter().map(Estimate::value).sum();
    let each: Vec<(f64, &Estimate)> = terms.iter().map(|t| (1.0, t)).collect();
    let worst = Estimate::combine(sum, &each)?;
    let root = terms.iter().map(|t| t.value().powi(2)).sum::<f64>().sqrt();
    let weighted: Vec<(f64, &Estimate)> =
        terms.iter().map(|t| (if root > 0.0 { t.value() / root } else { 0.0 }, t)).collect();
    let root_sum_square = Estimate::combine(root, &weighted)?;
    let findings = if phases_independent { Vec::new() } else { vec![Finding::PhasesMayAlign] };
    Ok(Answer { value: ChainReflection { terms, worst, root_sum_square }, findings })
}
