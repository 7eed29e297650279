//! The lab's policy: one list of keys for the sheet, the lab's own file and
//! the checker.

use crate::{Sourced, own::OwnValue};
use serde::Deserialize;

macro_rules! policy {
    ($($(#[$doc:meta])* $key:ident: $unit:literal,)+) => {
        /// The lab's policy.
        #[derive(Debug, Clone, PartialEq, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct PolicySheet {
            $($(#[$doc])* pub $key: Sourced,)+
        }

        impl PolicySheet {
            /// Every value with its key and the unit it must have.
            pub fn rows(&self) -> Vec<(&'static str, &'static str, &Sourced)> {
                vec![$((stringify!($key), $unit, &self.$key),)+]
            }

            /// One value by key.
            pub fn get(&self, key: &str) -> Option<&Sourced> {
                match key {
                    $(stringify!($key) => Some(&self.$key),)+
                    _ => None,
                }
            }
        }

        /// The same keys in a lab's own file, all optional.
        #[derive(Deserialize, Default)]
        #[serde(deny_unknown_fields)]
        pub(crate) struct OwnPolicy {
            $($key: Option<OwnValue>,)+
        }

        impl OwnPolicy {
            /// The values given, each with its key and the value it replaces.
            pub(crate) fn over<'a>(&'a self, policy: &'a mut PolicySheet)
                -> Vec<(&'static str, &'a OwnValue, &'a mut Sourced)>
            {
                let mut given = Vec::new();
                $(if let Some(value) = &self.$key {
                    given.push((stringify!($key), value, &mut policy.$key));
                })+
                given
            }
        }
    };
}

policy! {
    /// Contacts after which an end is gauged again.
    gauge_every_contacts: "1",
    /// Days after which an end is gauged again.
    gauge_every_days: "d",
    /// Days after which an end is looked at again.
    look_every_days: "d",
    /// Mates after which an end is looked at again.
    look_every_mates: "1",
    /// Readings of a gauging, at least.
    readings: "1",
    /// Zero readings on the master, at least, before and after a session.
    zero_readings: "1",
    /// Standard deviations the zero may move within a session.
    zero_drift_ratio: "1",
    /// Accepted probability that a pin protrudes.
    protrusion_risk: "1",
    /// Largest reflection a joint may add.
    reflection_need: "1",
    /// Joint gap below which metrology mates are minded.
    smallest_gap: "um",
    /// Days after which a wrench is checked again.
    wrench_every_days: "d",
    /// Uses after which a wrench is checked again.
    wrench_every_uses: "1",
    /// Permissible relative deviation of a wrench.
    wrench_deviation: "1",
    /// Days after which a gauge's zero is checked again.
    gauge_check_every_days: "d",
    /// Share of the rated mates from which a replacement is thought of.
    life_notice_share: "1",
    /// Days a waiver lasts.
    waiver_days: "d",
    /// Temperature gauging and measuring is done at.
    room_temperature: "degC",
    /// Half-width of the temperature range.
    room_temperature_within: "K",
    /// Whether a deformed contact passes harm on by touch.
    touch_passes_deformation: "flag",
    /// Whether particles pass by touch.
    touch_passes_particles: "flag",
    /// Whether films pass by touch.
    touch_passes_residue: "flag",
    /// Whether cleaning clears particles.
    clean_clears_particles: "flag",
    /// Whether cleaning clears films.
    clean_clears_residue: "flag",
    /// Whether a good look clears particles.
    look_clears_particles: "flag",
    /// Whether a good look clears films.
    look_clears_residue: "flag",
    /// Whether a good look clears deformation.
    look_clears_deformation: "flag",
    /// Whether a gauging that shows the pin safe clears deformation.
    gauging_clears_deformation: "flag",
    /// Whether a gauging that shows the pin safe clears a taint of unknown kind.
    gauging_clears_unknown: "flag",
    /// Whether a zero check in order clears deformation of the gauge.
    zero_check_clears_deformation: "flag",
    /// Probability that one touch passes a taint on, for the labelled model.
    contact_passes: "1",
    /// Days back for which the standing of an end looks for findings on others.
    exposure_days: "d",
    /// Rounds of contacts the standing of an end looks through.
    exposure_rounds: "1",
    /// Ends reached by one finding after which a standing stops looking.
    exposure_ends: "1",
    /// Trace noise of a sweep: standard deviation of the real part.
    sweep_noise: "1",
    /// What the model of a chain leaves unexplained, standard deviation.
    sweep_model_floor: "1",
    /// Drift of directivity and match since the baseline, standard deviation.
    sweep_offset_drift: "1",
    /// Drift of tracking since the baseline, standard deviation.
    sweep_tracking_drift: "1",
    /// Phase change expected of a cable, one way at the highest frequency.
    sweep_cable_phase: "deg",
    /// Largest fitted phase change of a cable at which a verdict is given.
    sweep_largest_cable_phase: "deg",
    /// Largest reduced chi-square at which a verdict is given.
    sweep_largest_chi_square: "1",
    /// Probability of an alarm when nothing changed, for a whole chain.
    sweep_false_alarm: "1",
    /// Evidence by which the best joint must lead to be named alone.
    sweep_separation: "1",
    /// Change of inductance of a joint that matters.
    sweep_change_of_interest: "pH",
    /// Inductance of a joint from one make to the next, standard deviation.
    sweep_inductance_scatter: "pH",
    /// Resistance of a joint from one make to the next, standard deviation.
    sweep_resistance_scatter: "mohm",
    /// Standard uncertainty of a length between joints.
    sweep_length_uncertainty: "mm",
    /// Share of a difference's energy that may arrive before it can.
    sweep_early_energy: "1",
    /// Work list of a case: urgency a calibration standard adds.
    urgency_standard: "1",
    /// Work list of a case: urgency an instrument adds.
    urgency_instrument: "1",
    /// Work list of a case: urgency of an end that is mated now.
    urgency_mated: "1",
    /// Work list of a case: urgency each result in doubt adds.
    urgency_result: "1",
    /// Work list of a case: urgency metrology grade adds.
    urgency_metrology: "1",
    /// Work list of a case: urgency of planned work that begins soon.
    urgency_reserved: "1",
    /// Work list of a case: urgency of a kit that is not whole without it.
    urgency_kit: "1",
    /// Days before planned work from which it counts as soon.
    reserved_soon_days: "d",
    /// Days after which a kit is looked through again.
    kit_check_every_days: "d",
    /// Work list of a case: share that an only possible exposure counts.
    urgency_possible_share: "1",
    /// Work list of a case: cost that stands in for one nobody entered.
    unknown_item_cost: "1",
}
