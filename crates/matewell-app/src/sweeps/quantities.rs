//! The lab's policy on sweeps, as the fit needs it and as an answer shows it.

use crate::Workshop;
use matewell_network::joints::Settings;
use matewell_sheets::{PolicySheet, Sourced};
use matewell_wire::{NumberJson, OriginJson};

/// One value of the policy with its origin.
pub(super) fn policy_number(name: &str, value: &Sourced) -> NumberJson {
    NumberJson {
        name: name.replace('_', " "),
        value: value.value,
        unit: value.unit.clone(),
        standard_uncertainty: None,
        no_uncertainty_because: Some("a rule of the lab".to_owned()),
        origin: OriginJson {
            source: value.source.clone(),
            locator: value.because.clone().unwrap_or_else(|| value.locator.clone()),
            evidence: value.evidence.word().to_owned(),
        },
    }
}

fn settings(policy: &PolicySheet) -> Settings {
    Settings {
        noise: policy.sweep_noise.value,
        model_floor: policy.sweep_model_floor.value,
        offset_drift: policy.sweep_offset_drift.value,
        tracking_drift: policy.sweep_tracking_drift.value,
        cable_phase: policy.sweep_cable_phase.value,
        largest_cable_phase: policy.sweep_largest_cable_phase.value,
        largest_chi_square: policy.sweep_largest_chi_square.value,
        false_alarm: policy.sweep_false_alarm.value,
        separation: policy.sweep_separation.value,
        change_of_interest: policy.sweep_change_of_interest.value * 1e-12,
    }
}

impl Workshop {
    /// The policy on sweeps, and how an answer shows it.
    pub(super) fn sweep_policy(&self) -> (Settings, Vec<NumberJson>) {
        let policy = self.sheets.policy();
        let shown = policy
            .rows()
            .into_iter()
            .filter(|(key, _, _)| key.starts_with("sweep_"))
            .map(|(key, _, value)| policy_number(key, value))
            .collect();
        (settings(policy), shown)
    }
}
