//! What must hold for every line, joint and chain.

#![expect(clippy::unwrap_used, reason = "helpers of tests may stop at the first surprise")]

use matewell_line::{
    Finding, JointGeometry, Line, LineError, TwoPort, UsableLimits, characteristic_impedance,
    dielectric_recess, gap_reflection, gap_usable_up_to, interaction_limits, interface_step, lossy_line,
    off_centre_impedance, te11_cutoff,
};
use matewell_quantity::{Frequency, Length};
use matewell_uncertainty::Estimate;
use num_complex::Complex64;
use proptest::prelude::*;

fn mm(v: f64) -> Length {
    Length::from_millimetres(v).unwrap()
}
fn ghz(v: f64) -> Frequency {
    Frequency::from_gigahertz(v).unwrap()
}
fn exact(v: f64) -> Estimate {
    Estimate::exact(v).unwrap()
}

/// A joint, a gap below one and a half steps, and a frequency below cut-off.
#[derive(Debug, Clone)]
struct Case {
    outer: f64,
    inner: f64,
    pin: f64,
    gap: f64,
    f_ghz: f64,
}

impl Case {
    fn joint(&self) -> JointGeometry {
        JointGeometry::new(Line::new(mm(self.outer), mm(self.inner)).unwrap(), mm(self.pin)).unwrap()
    }
    fn s(&self) -> TwoPort {
        self.joint().two_port(mm(self.gap), ghz(self.f_ghz))
    }
    fn magnitude(&self) -> f64 {
        self.joint().reflection_magnitude(mm(self.gap), ghz(self.f_ghz))
    }
}

prop_compose! {
    fn cases()(outer in 0.5f64..16.0, ratio in 1.6f64..4.0, pin in 0.3f64..0.95, g in 0.001f64..1.0, f in 0.001f64..0.95)
        -> Case {
        let inner = outer / ratio;
        let pin = inner * pin;
        let cutoff = te11_cutoff(&Line::new(mm(outer), mm(inner)).unwrap()).unwrap().value().gigahertz();
        Case { outer, inner, pin, gap: g * 1.5 * (inner - pin) / 2.0, f_ghz: f * cutoff }
    }
}

fn passive_port() -> impl Strategy<Value = TwoPort> {
    let resistance = 0.0f64..3.0;
    let reactance = -3.0f64..3.0;
    (0u8..3, resistance, reactance, 0.2f64..3.0).prop_map(|(kind, r, x, z)| match kind {
        0 => TwoPort::series(Complex64::new(r, x)),
        1 => TwoPort::shunt(Complex64::new(r, x)),
        _ => TwoPort::section(Complex64::from(z), Complex64::new(r * 0.1, x)),
    })
}

proptest! {
    /// Reciprocity, symmetry and power balance of the lossless gap.
    #[test]
    fn a_gap_is_lossless_and_symmetric(case in cases()) {
        let s = case.s();
        prop_assert!(s.dissipated().abs() < 1e-12);
        prop_assert!(s.is_reciprocal(1e-12));
        prop_assert!((s.s11.norm() - s.reversed().s11.norm()).abs() < 1e-14);
        prop_assert!(s.is_passive(1e-12));
    }

    #[test]
    fn a_wider_gap_and_a_higher_frequency_reflect_more(case in cases()) {
        let wider = Case { gap: case.gap * 1.01, ..case.clone() };
        let higher = Case { f_ghz: case.f_ghz * 1.01, ..case.clone() };
        prop_assert!(wider.magnitude() > case.magnitude());
        prop_assert!(higher.magnitude() > case.magnitude());
    }

    /// Also across the place where the short line takes over, g = 2h.
    #[test]
    fn more_gap_never_reflects_less_where_the_model_changes(case in cases(), times in 1.5f64..3.0) {
        let step = (case.inner - case.pin) / 2.0;
        let low = Case { gap: step * 1.99, f_ghz: case.f_ghz * 0.3, ..case.clone() };
        let high = Case { gap: step * 2.0 * times, ..low.clone() };
        prop_assert!(high.magnitude() > low.magnitude());
    }

    /// Scaling all lengths by s and the frequency by 1/s changes nothing.
    #[test]
    fn scaling_invariance(case in cases(), s in 0.1f64..10.0) {
        let scaled = Case {
            outer: case.outer * s, inner: case.inner * s, pin: case.pin * s, gap: case.gap * s,
            f_ghz: case.f_ghz / s,
        };
        prop_assert!((scaled.magnitude() / case.magnitude() - 1.0).abs() < 1e-9);
        let line = |c: &Case| Line::new(mm(c.outer), mm(c.inner)).unwrap();
        let (a, b) = (te11_cutoff(&line(&case)).unwrap(), te11_cutoff(&line(&scaled)).unwrap());
        prop_assert!((a.value().hertz() / b.value().hertz() / s - 1.0).abs() < 1e-11);
    }

    /// At low frequency: first order below the closed form, below the shipped
    /// estimate, below the short line.
    #[test]
    fn the_models_keep_their_order(case in cases()) {
        let small = Case { gap: case.gap * 0.2, ..case };
        let answer = gap_reflection(&small.joint(), mm(small.gap), ghz(small.f_ghz * 0.1), 1).unwrap().value;
        let (first, closed) = (answer.first_order.value(), answer.closed_form.value());
        let (shipped, upper) = (answer.magnitude.value(), answer.upper.value());
        // The denominator, left out of the first order, is 1 + |Γ|²/2 at most.
        prop_assert!(first <= closed * (1.0 + closed * closed), "{first} {closed}");
        prop_assert!(closed <= shipped * (1.0 + 1e-9), "{closed} {shipped}");
        prop_assert!(shipped <= upper, "{shipped} {upper}");
    }

    /// |Γ|/g tends to a constant.
    #[test]
    fn a_vanishing_gap_reflects_in_proportion(case in cases()) {
        let tiny = Case { gap: case.gap * 1e-5, ..case.clone() };
        let half = Case { gap: case.gap * 0.5e-5, ..case };
        prop_assert!((tiny.magnitude() / half.magnitude() - 2.0).abs() < 1e-3);
    }

    #[test]
    fn cascades_of_passive_reciprocal_parts_stay_so(parts in prop::collection::vec(passive_port(), 1..8)) {
        for part in &parts {
            prop_assert!(part.is_passive(1e-9));
        }
        let chain = TwoPort::cascade(&parts).unwrap();
        prop_assert!(chain.is_passive(1e-9), "{}", chain.largest_power_gain());
        prop_assert!(chain.is_reciprocal(1e-9));
        // The other way round: reversed parts in reversed order.
        let mirrored: Vec<TwoPort> = parts.iter().rev().map(TwoPort::reversed).collect();
        let back = TwoPort::cascade(&mirrored).unwrap();
        prop_assert!((back.s11 - chain.s22).norm() < 1e-9);
    }

    #[test]
    fn a_load_seen_through_a_passive_chain_stays_passive(
        parts in prop::collection::vec(passive_port(), 1..5), r in 0.0f64..1.0, turn in 0.0f64..6.3,
    ) {
        let seen = TwoPort::cascade(&parts).unwrap().input_reflection(Complex64::from_polar(r, turn));
        prop_assert!(seen.norm() <= 1.0 + 1e-9);
    }

    #[test]
    fn the_limits_do_not_care_which_side_is_the_source(g in 0.0f64..0.99, l in 0.0f64..0.99) {
        let a = interaction_limits(&exact(g), &exact(l)).unwrap();
        prop_assert_eq!(&a, &interaction_limits(&exact(l), &exact(g)).unwrap());
        let (up, down) = (a.value.upper_db.value(), a.value.lower_db.unwrap().value());
        prop_assert!(up >= 0.0 && down <= 0.0 && -down >= up);
    }

    /// Off centre lowers the impedance, the more the further; none is the
    /// centred line.
    #[test]
    fn the_off_centre_line_goes_to_the_centred_one(outer in 0.5f64..16.0, ratio in 1.1f64..6.0, e in 0.01f64..0.99) {
        let line = Line::new(mm(outer), mm(outer / ratio)).unwrap();
        let wall = (outer - outer / ratio) / 2.0;
        let centred = characteristic_impedance(&line).unwrap().value().ohms();
        let z = |x: f64| off_centre_impedance(&line, mm(x)).unwrap().value().ohms();
        prop_assert!((z(0.0) / centred - 1.0).abs() < 1e-12);
        prop_assert!(z(e * wall) < centred);
        prop_assert!(z(e * wall) < z(0.99 * e * wall));
        let touching = matches!(off_centre_impedance(&line, mm(wall * 1.000_001)), Err(LineError::ConductorsTouch { .. }));
        prop_assert!(touching);
    }

    #[test]
    fn real_metal_loses_and_slows(outer in 0.8f64..16.0, ratio in 1.6f64..4.0, f in 0.01f64..1.0, sigma in 1e6f64..6e7) {
        let line = Line::new(mm(outer), mm(outer / ratio)).unwrap();
        let cutoff = te11_cutoff(&line).unwrap().value().gigahertz();
        let at = |f: f64| lossy_line(&line, ghz(f * cutoff), &exact(sigma), &exact(0.0)).unwrap().value;
        let here = at(f);
        prop_assert!(here.attenuation_db_per_m.value() > 0.0);
        prop_assert!(here.impedance_imaginary_ohm.value() < 0.0);
        prop_assert!(here.impedance_real_ohm.value() > characteristic_impedance(&line).unwrap().value().ohms());
        prop_assert!(at(f * 1.1).attenuation_db_per_m.value() > here.attenuation_db_per_m.value());
    }

    #[test]
    fn a_stricter_need_or_a_wider_gap_never_gives_more_band(case in cases(), need in 0.001f64..0.1) {
        let joint = case.joint();
        let band = |gap: f64, need: f64| {
            let limits = UsableLimits { need, rated: None };
            gap_usable_up_to(&joint, mm(gap), limits, 1).unwrap().value.frequency_hz.value()
        };
        prop_assert!(band(case.gap, need * 0.9) <= band(case.gap, need) * (1.0 + 1e-9));
        prop_assert!(band(case.gap * 1.1, need) <= band(case.gap, need) * (1.0 + 1e-9));
    }

    #[test]
    fn above_cut_off_there_is_always_a_finding(case in cases(), times in 1.001f64..3.0) {
        let line = case.joint().line().clone();
        let at = ghz(te11_cutoff(&line).unwrap().value().gigahertz() * times);
        let above = |findings: &[Finding]| findings.iter().any(|f| matches!(f, Finding::AboveTe11 { .. }));
        prop_assert!(above(&gap_reflection(&case.joint(), mm(case.gap), at, 1).unwrap().findings));
        prop_assert!(above(&lossy_line(&line, at, &exact(1e7), &exact(0.0)).unwrap().findings));
        prop_assert!(above(&dielectric_recess(&line, mm(0.1), at, 1).unwrap().findings));
        prop_assert!(above(&interface_step(&line, &line, at).unwrap().findings));
    }
}
