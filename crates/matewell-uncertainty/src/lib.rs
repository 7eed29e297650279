//! How sure is a number?
//!
//! A value with its uncertainty split by the input it came from, so that two
//! results that share a gauge, a master or a certificate are correlated
//! exactly as far as they share it.

mod budget;
mod conformity;
mod covariance;
mod coverage;
mod error;
mod estimate;
pub mod gauging;
mod inputs;
mod magnitude;
mod monte_carlo;
mod numeric;
mod population_risk;
mod propagation;
pub mod published;
mod random;
mod sampling;
mod straight_line;

pub use budget::{Budget, BudgetLine, Evaluation};
pub use conformity::{
    GuardRule, Limits, Measured, Proof, ReadingsNeeded, Statement, cost_threshold, managed_multiple, proof,
    readings_needed, statement, worst_false_accept,
};
pub use covariance::CovarianceMatrix;
pub use coverage::{
    Belief, Expanded, coverage_factor, normal_below, normal_density, normal_quantile, student_t_below,
    student_t_quantile, type_b_degrees_of_freedom, welch_satterthwaite,
};
pub use error::UncertaintyError;
pub use estimate::{Component, Estimate, InputId};
pub use inputs::{Shape, Spread, mean_of};
pub use magnitude::{FIRST_ORDER_RATIO, SquaredMagnitude, first_order_is_enough};
pub use monte_carlo::{
    Adaptive, BLOCK, Interval, Settings, Simulation, compare_with_framework, numerical_tolerance, simulate,
    simulate_adaptively,
};
pub use population_risk::{PopulationRisk, Prior, population_risk, posterior, risk_by_accuracy_ratio};
pub use propagation::{Derivatives, SecondOrder, central_differences};
pub use random::GENERATOR;
pub use sampling::{Distribution, Inputs};
pub use straight_line::{CalibrationLine, Uncertain};

#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
