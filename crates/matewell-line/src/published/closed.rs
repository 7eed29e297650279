//! Closed forms, definitions and limits.

use super::{exact, ghz, line, mm, or_nan, um};
use crate::{
    Grip, Knowledge, Line, LineError, Link, Member, TwoPort, Uncertain, air_permittivity, chain_reflection,
    characteristic_impedance, grip_factor, insertion_limits, interaction_limits, magnitude_from_return_loss,
    magnitude_from_vswr, match_forms, off_centre_impedance, plane_shift, power_uncertainty, preload_n,
    te11_cutoff, te11_cutoff_approximate, thermal_growth,
};
use matewell_published::{Check, Grade};
use matewell_quantity::{TemperatureCelsius, Torque};
use num_complex::Complex64;

fn closed(locator: &'static str, quantity: &'static str, printed: &'static str, ours: f64) -> Check {
    Check::printed("closed form", locator, quantity, printed, ours, Grade::ClosedForm)
}

/// VSWR and mismatch loss of a return loss.
fn forms(return_loss: f64) -> Result<(f64, f64, f64), LineError> {
    let gamma = magnitude_from_return_loss(&exact(return_loss)?)?;
    let forms = match_forms(&gamma, 0)?.value;
    Ok((
        gamma.value(),
        forms.vswr.map_or(f64::NAN, |v| v.value()),
        forms.mismatch_loss_db.map_or(f64::NAN, |v| v.value()),
    ))
}

fn conversions() -> Vec<Check> {
    let from_rl = |rl: f64, pick: fn((f64, f64, f64)) -> f64| or_nan(forms(rl).map(pick));
    let from_vswr = |s: f64| {
        or_nan((|| {
            let gamma = magnitude_from_vswr(&exact(s)?)?;
            Ok(match_forms(&gamma, 0)?.value.return_loss_db.map_or(f64::NAN, |v| v.value()))
        })())
    };
    vec![
        closed("10^(-RL/20)", "|Gamma| of 10 dB", "0.316227766", from_rl(10.0, |x| x.0)),
        closed("(1+G)/(1-G)", "VSWR of 10 dB", "1.92495059", from_rl(10.0, |x| x.1)),
        closed("-10 lg(1-G^2)", "mismatch loss of 10 dB, in dB", "0.457574906", from_rl(10.0, |x| x.2)),
        closed("(1+G)/(1-G)", "VSWR of 20 dB", "1.22222222", from_rl(20.0, |x| x.1)),
        closed("-10 lg(1-G^2)", "mismatch loss of 20 dB, in dB", "0.043648054", from_rl(20.0, |x| x.2)),
        closed("(1+G)/(1-G)", "VSWR of 26 dB", "1.10552629", from_rl(26.0, |x| x.1)),
        closed("(1+G)/(1-G)", "VSWR of 30 dB", "1.06531086", from_rl(30.0, |x| x.1)),
        closed("-10 lg(1-G^2)", "mismatch loss of 40 dB, in dB", "0.000434316", from_rl(40.0, |x| x.2)),
        closed("-20 lg G", "return loss of VSWR 1.05, in dB", "32.2556771", from_vswr(1.05)),
        closed("-20 lg G", "return loss of VSWR 1.10, in dB", "26.4443859", from_vswr(1.10)),
        closed("-20 lg G", "return loss of VSWR 1.20, in dB", "20.8278537", from_vswr(1.20)),
        closed("-20 lg G", "return loss of VSWR 1.5, in dB", "13.9794001", from_vswr(1.5)),
    ]
}

fn mismatch() -> Vec<Check> {
    let limits = |g: f64, l: f64| {
        let answer = (|| interaction_limits(&exact(g)?, &exact(l)?))();
        answer.map_or((f64::NAN, f64::NAN), |a| {
            (a.value.upper_db.value(), a.value.lower_db.map_or(f64::NAN, |v| v.value()))
        })
    };
    let u =
        |a, b| or_nan((|| Ok(power_uncertainty((&exact(0.1)?, a), (&exact(0.1)?, b))?.value() * 100.0))());
    let inserted =
        (|| insertion_limits(&exact(0.1)?, &exact(0.1)?, &exact(0.05)?, &exact(0.05)?, &exact(0.5)?))()
            .map_or((f64::NAN, f64::NAN), |a| {
                (a.value.upper_db.value(), a.value.lower_db.map_or(f64::NAN, |v| v.value()))
            });
    let chain = (|| {
        let links = [
            Link::new(exact(0.02)?, &exact(0.1)?)?,
            Link::new(exact(0.03)?, &exact(0.2)?)?,
            Link::new(exact(0.05)?, &exact(0.0)?)?,
        ];
        chain_reflection(&links, true)
    })()
    .map_or((f64::NAN, f64::NAN), |a| (a.value.worst.value(), a.value.root_sum_square.value()));
    let remembered = |quantity, printed, ours| {
        Check::printed(
            "harris-warner-1981",
            "the three cases of what is known",
            quantity,
            printed,
            ours,
            Grade::FromMemory,
        )
    };
    vec![
        closed("20 lg(1+GG)", "upper interaction of 0.2 and 0.2, in dB", "0.340666786", limits(0.2, 0.2).0),
        closed("20 lg(1-GG)", "lower interaction of 0.2 and 0.2, in dB", "-0.354575339", limits(0.2, 0.2).1),
        closed(
            "20 lg(1+GG)",
            "upper interaction of 0.02 and 0.01, in dB",
            "0.00173700",
            limits(0.02, 0.01).0,
        ),
        closed(
            "20 lg(1-GG)",
            "lower interaction of 0.02 and 0.01, in dB",
            "-0.00173735",
            limits(0.02, 0.01).1,
        ),
        remembered(
            "both magnitudes 0.1 known, u in %",
            "1.4142136",
            u(Knowledge::Magnitude, Knowledge::Magnitude),
        ),
        remembered("one magnitude bounded, u in %", "1.0", u(Knowledge::Magnitude, Knowledge::Disc))
            .within(1e-12, "exact; the tolerance is narrower than the printed digit"),
        remembered("both bounded, u in %", "0.70710678", u(Knowledge::Disc, Knowledge::Disc)),
        closed("flow graph", "upper error of an inserted attenuation, in dB", "0.19541121", inserted.0),
        closed("flow graph", "lower error of an inserted attenuation, in dB", "-0.195905288", inserted.1),
        closed("sum", "three links seen from one end, worst", "0.0959798317", chain.0),
        closed("root sum of squares", "three links seen from one end, RSS", "0.0586250996", chain.1),
        closed(
            "quarter-wave transformer",
            "reflection of a quarter wave of 70.710678 ohm before 100 ohm in 50 ohm",
            "0.000000000",
            TwoPort::section(Complex64::from(2f64.sqrt()), Complex64::new(0.0, std::f64::consts::FRAC_PI_2))
                .input_reflection(Complex64::from(1.0 / 3.0))
                .norm(),
        ),
    ]
}

fn lines_and_air() -> Vec<Check> {
    let air = |t: f64, p: f64, h: f64| {
        or_nan((|| {
            let t = TemperatureCelsius::from_degrees(t)?;
            Ok(air_permittivity(t, &exact(p)?, &exact(h)?)?.value.value())
        })())
    };
    let shortfall = |outer: f64, inner: f64| {
        or_nan((|| {
            let line = line(outer, inner, 1.0)?;
            let (near, exact) = (te11_cutoff_approximate(&line)?, te11_cutoff(&line)?);
            Ok(100.0 * (near.value().hertz() / exact.value().hertz() - 1.0))
        })())
    };
    vec![
        Check::printed(
            "itu-r-p453",
            "refractivity formula, 23 degC, 1013.25 hPa, 50 %",
            "permittivity of air",
            "1.000649",
            air(23.0, 1013.25, 0.5),
            Grade::FromMemory,
        )
        .within(5e-6, "handbook constant, remembered; formulas for air differ by some 1e-6"),
        Check::printed(
            "itu-r-p453",
            "refractivity formula, 20 degC, 1013.25 hPa, dry",
            "permittivity of air",
            "1.000536509",
            air(20.0, 1013.25, 0.0),
            Grade::FromMemory,
        ),
        closed(
            "eccentric line with the axes together",
            "impedance of 3.5/1.52 mm, in ohms",
            "50.008537821",
            or_nan((|| Ok(off_centre_impedance(&line(3.5, 1.52, 1.0)?, mm(0.0)?)?.value().ohms()))()),
        ),
        closed(
            "4 K e^2/(D^2 - d^2)",
            "change by 5 um off centre in 3.5/1.52 mm, in mohm",
            "-0.6032",
            or_nan((|| {
                let line = line(3.5, 1.52, 1.0)?;
                let off = off_centre_impedance(&line, um(5.0)?)?.value().milliohms();
                Ok(off - characteristic_impedance(&line)?.value().milliohms())
            })()),
        ),
        closed(
            "dZ/dd = -K/d",
            "sensitivity of 3.5/1.52 mm to the inner diameter, in mohm/um",
            "-39.446",
            or_nan((|| Ok(crate::impedance_sensitivities_ohm_per_m(&line(3.5, 1.52, 1.0)?).1 * 1e-3))()),
        ),
        closed(
            "dZ/dD = K/D",
            "sensitivity of 3.5/1.52 mm to the outer diameter, in mohm/um",
            "17.131",
            or_nan((|| Ok(crate::impedance_sensitivities_ohm_per_m(&line(3.5, 1.52, 1.0)?).0 * 1e-3))()),
        ),
        closed("2/(a+b) against the root", "shortfall of 7/3.04 mm, in %", "-2.036", shortfall(7.0, 3.04)),
    ]
}

fn mechanics() -> Vec<Check> {
    let shift = |l: f64, f: f64| (|| plane_shift(um(l)?, ghz(f)?, &exact(1.0)?))();
    let degrees = |l, f| shift(l, f).map_or(f64::NAN, |s| s.reflection_deg.value());
    let change = |l, f| shift(l, f).map_or(f64::NAN, |s| s.total_reflection_change.value());
    let preload = |t: f64, d: f64, k: f64| {
        or_nan((|| Ok(preload_n(Torque::from_newton_metres(t)?, mm(d)?, &exact(k)?)?.value.value()))())
    };
    let grip = |g: Result<Grip, LineError>| or_nan(g.and_then(|g| grip_factor(&g)));
    let over = |held: f64| {
        grip((|| Ok(Grip::BreakOver { marked: mm(100.0)?, held: mm(held)?, pivot: mm(20.0)? }))())
    };
    let crow = |angle_deg: f64| {
        1.0 / grip((|| Ok(Grip::Extension { lever: mm(200.0)?, extension: mm(50.0)?, angle_deg }))())
    };
    let slots = |n: u32, w: f64, d: f64| {
        or_nan((|| Ok(crate::slotted_contact_impedance_change(n, mm(w)?, mm(d)?)?.value().ohms()))())
    };
    vec![
        closed(
            "720 f l/c",
            "reflection phase of 10 um at 26.5 GHz, in deg",
            "0.636440294",
            degrees(10.0, 26.5),
        ),
        closed("720 f l/c", "reflection phase of 25 um at 50 GHz, in deg", "3.00207686", degrees(25.0, 50.0)),
        closed(
            "720 f l/c",
            "reflection phase of 1 um at 110 GHz, in deg",
            "0.264182763",
            degrees(1.0, 110.0),
        ),
        closed("2 sin", "|dS11| of 10 um at 26.5 GHz", "0.0111079", change(10.0, 26.5)),
        closed("2 sin", "|dS11| of 25 um at 50 GHz", "0.0523901", change(25.0, 50.0)),
        closed(
            "2 l/c",
            "reflection delay of 1 mm, in ps",
            "6.671281904",
            shift(1000.0, 1.0).map_or(f64::NAN, |s| s.reflection_delay_ps.value()),
        ),
        closed("T/(K d)", "preload of 0.9 N m, 6.35 mm, K 0.2, in N", "708.661417", preload(0.9, 6.35, 0.2)),
        closed(
            "T/(K d)",
            "preload of 0.56 N m, 6.35 mm, K 0.2, in N",
            "440.944882",
            preload(0.56, 6.35, 0.2),
        ),
        closed("T/(K d)", "preload of 0.9 N m, 7 mm, K 0.15, in N", "857.142857", preload(0.9, 7.0, 0.15)),
        closed("moments about the pivot", "break-over wrench held at 70 of 100 mm", "1.12", over(70.0))
            .within(1e-14, "exact; the tolerance is narrower than the printed digit"),
        closed(
            "moments about the pivot",
            "break-over wrench held at 130 of 100 mm",
            "0.945454545",
            over(130.0),
        ),
        closed("moments about the pivot", "break-over wrench held at 40 of 100 mm", "1.6", over(40.0))
            .within(1e-14, "exact; the tolerance is narrower than the printed digit"),
        closed("L/(L + E cos)", "setting for 50 mm extension on 200 mm at 45 deg", "0.849778895", crow(45.0)),
        closed(
            "1 - cos",
            "torque lost by a tilt of 20 deg, in %",
            "6.03",
            100.0 * (1.0 - grip(Ok(Grip::Tilt { angle_deg: 20.0 }))),
        ),
        closed(
            "a L dT",
            "growth of 50 mm, 17e-6 per K, 5 K, in um",
            "4.25",
            or_nan((|| {
                let member = Member { length: Uncertain::exact(mm(50.0)?)?, expansion_per_k: exact(17e-6)? };
                Ok(thermal_growth(&member, &exact(5.0)?)?.value().micrometres())
            })()),
        )
        .within(1e-12, "exact; the tolerance is narrower than the printed digit"),
        closed(
            "K/pi^2 N (w/d)^2",
            "4 slots of 0.2 mm in 1.5199 mm, in ohms",
            "0.4207",
            slots(4, 0.2, 1.5199),
        )
        .within(1e-4, "the diameter of the vector is rounded to 0.1 um"),
        closed(
            "K/pi^2 N (w/d)^2",
            "6 slots of 0.2 mm in 3.0401 mm, in ohms",
            "0.1578",
            slots(6, 0.2, 3.0401),
        ),
        closed(
            "Line::new",
            "impedance of D/d = e, over K",
            "1.000000000000",
            or_nan((|| {
                let line = Line::new(mm(std::f64::consts::E)?, mm(1.0)?)?;
                Ok(characteristic_impedance(&line)?.value().ohms() / crate::constants::K_OHM)
            })()),
        ),
    ]
}

pub(super) fn checks() -> Vec<Check> {
    let mut all = conversions();
    all.extend(mismatch());
    all.extend(lines_and_air());
    all.extend(mechanics());
    all
}
