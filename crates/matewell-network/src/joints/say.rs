//! The verdict as sentences a technician reads.

use std::fmt::Write as _;

use super::decide::{Finding, JointEstimate, Refusal, Verdict};

impl Verdict {
    /// Sentences: what was seen, how large, what was not judged, what to do
    /// next. It suggests gauging and never releases or rejects an end.
    pub fn sentences(&self) -> String {
        let mut text = String::new();
        let name = |k: usize| self.joints.get(k).map_or("?", |j| j.name.as_str());
        let names = |list: &[usize]| list.iter().map(|&k| name(k)).collect::<Vec<_>>().join(", ");
        match &self.finding {
            Finding::NothingSeen => {
                text.push_str("No change beyond the joints' own scatter.");
                for joint in &self.joints {
                    let _ = write!(
                        text,
                        " At {} a change of {:.1} pH would have been seen.",
                        joint.name,
                        joint.smallest_detectable * 1e12
                    );
                }
                text.push_str(" This does not show that any end is mechanically safe.");
            }
            Finding::Joint(k) => {
                if let Some(joint) = self.joints.get(*k) {
                    describe(&mut text, joint);
                }
                let _ = write!(
                    text,
                    " Chance of such evidence with nothing changed: {}. Gauge {} before deciding.",
                    chance(self.chance),
                    name(*k)
                );
            }
            Finding::OneOf(list) => {
                let _ = write!(
                    text,
                    "Something changed, but this sweep cannot tell which: {}. Gauge these before deciding, \
                     or sweep from the other end.",
                    names(list)
                );
            }
            Finding::Several(list) => {
                for joint in list.iter().filter_map(|&k| self.joints.get(k)) {
                    describe(&mut text, joint);
                    text.push(' ');
                }
                let _ = write!(text, "Gauge {} before deciding.", names(list));
            }
            Finding::Refused(refusal) => refuse(&mut text, refusal, &name),
        }
        let unjudged: Vec<&str> = self.joints.iter().filter(|j| !j.judged).map(|j| j.name.as_str()).collect();
        if !unjudged.is_empty() && !matches!(self.finding, Finding::Refused(_)) {
            let _ = write!(text, " Could not be judged for the change of interest: {}.", unjudged.join(", "));
        }
        text
    }
}

fn describe(text: &mut String, joint: &JointEstimate) {
    let _ = write!(
        text,
        "{} ({:.2} m from the port) changed: {:+.1} pH (standard uncertainty {:.1} pH), {:+.0} mΩ ({:.0} mΩ), \
         reflection there {:+.1} dB.",
        joint.name,
        joint.distance,
        joint.inductance * 1e12,
        joint.inductance_uncertainty * 1e12,
        joint.resistance * 1e3,
        joint.resistance_uncertainty * 1e3,
        joint.reflection_change_db
    );
    if let Some(gap) = joint.gap {
        let _ = write!(
            text,
            " If a gap is the cause, it changed by about {:+.0} µm ({:.0} to {:.0}).",
            gap.change * 1e6,
            gap.low * 1e6,
            gap.high * 1e6
        );
    }
}

fn chance(p: f64) -> String {
    if p < 1e-4 { "below 1 in 10 000".to_owned() } else { format!("{:.2} %", 100.0 * p) }
}

fn refuse<'a>(text: &mut String, refusal: &Refusal, name: &dyn Fn(usize) -> &'a str) {
    let _ = match refusal {
        Refusal::CableMoved { section, degrees } => write!(
            text,
            "No verdict: the cable after {} changed its phase by {degrees:.1} degrees. Hold the cables as in \
             the baseline and sweep again.",
            name(*section)
        ),
        Refusal::Unexplained { reduced_chi_square } => write!(
            text,
            "No verdict: the change is not of the kind a joint, a cable or slow drift makes (reduced \
             chi-square {reduced_chi_square:.1}). Check the calibration, the layout and the load."
        ),
        Refusal::StrongMismatch { joint, magnitude } => write!(
            text,
            "No verdict: {} already reflected {magnitude:.2} in the baseline and hides what lies behind it.",
            name(*joint)
        ),
        Refusal::Drifted { ratio } => write!(
            text,
            "No verdict: the calibration seems to have drifted {ratio:.0} times as far as expected, or more. \
             Calibrate again and sweep again."
        ),
        Refusal::NoSolution => write!(text, "No verdict: the equations have no solution."),
    };
}
