//! JCGM 106, ILAC-G8 and relatives.

use super::{number, rows};
use crate::{
    Belief, GuardRule, Limits, Measured, Prior, UncertaintyError, cost_threshold, managed_multiple,
    normal_quantile, population_risk, posterior, risk_by_accuracy_ratio, worst_false_accept,
};
use matewell_published::{
    Check,
    Grade::{ClosedForm, FromMemory, Own, Published},
};

const G8: &str = "ilac-g8-2019";
const JCGM_106: &str = "jcgm-106-2012";

pub(super) fn checks() -> Vec<Check> {
    let mut all = specific().unwrap_or_else(|_| failed());
    all.extend(population().unwrap_or_else(|_| failed()));
    all.extend(guard_bands());
    all.extend(accuracy_ratio().unwrap_or_else(|_| failed()));
    all
}

fn failed() -> Vec<Check> {
    vec![Check::printed(JCGM_106, "all", "computation", "0", f64::NAN, ClosedForm)]
}

fn specific() -> Result<Vec<Check>, UncertaintyError> {
    let z = |p| number(normal_quantile(p));
    let conforming = |value, u, lower, upper| {
        Measured::new(value, u, Belief::Normal)?.conformance_probability(Limits::new(lower, upper)?)
    };
    let zener = conforming(-5.47, 0.05, None, Some(-5.40))?;
    let container = conforming(509.7, 8.6, Some(490.0), None)?;
    let two_sided = |y| conforming(y, 1.4, Some(-12.7), Some(0.0));
    let (mean, u) = posterior(-5.0, 2.0, -1.0, 1.4)?;
    let above = Measured::new(mean, u, Belief::Normal)?.above(0.0)?;
    let mut all = rows(
        JCGM_106,
        [
            ("table 1", "z for 0.80", "0.84", z(0.80), FromMemory),
            ("table 1", "z for 0.90", "1.28", z(0.90), FromMemory),
            ("table 1", "z for 0.95", "1.64", z(0.95), FromMemory),
            ("table 1", "z for 0.99", "2.33", z(0.99), FromMemory),
            ("table 1", "z for 0.999", "3.09", z(0.999), FromMemory),
            ("7.3, breakdown voltage", "conformance probability", "0.9192", zener, FromMemory),
            ("7.3, container", "conformance probability", "0.99", container, FromMemory),
            ("7.4", "two limits of 12.7, value 1 inside", "0.76247", two_sided(-1.0)?, Own),
            ("7.4", "two limits of 12.7, value 3 inside", "0.98394", two_sided(-3.0)?, Own),
            ("7.4", "two limits of 12.7, value 6 inside", "0.99999", two_sided(-6.0)?, Own),
            ("7.4", "two limits of 12.7, value 10 inside", "0.97311", two_sided(-10.0)?, Own),
            ("7.4", "two limits of 12.7, at the lower", "0.50000", two_sided(-12.7)?, Own),
            ("annex A", "posterior mean of N(-5, 2) and -1 with u 1.4", "-2.31544", mean, ClosedForm),
            ("annex A", "posterior u", "1.14692", u, ClosedForm),
            ("annex A", "probability above zero with that prior", "0.02175", above, ClosedForm),
        ],
    );
    all.extend(rows(
        "matewell",
        [
            (
                "cost rule",
                "threshold for 200 against 10 000",
                "0.0196",
                cost_threshold(200.0, 10_000.0)?,
                ClosedForm,
            ),
            ("cost rule", "z for it", "2.062", -z(cost_threshold(200.0, 10_000.0)?), ClosedForm),
            (
                "cost rule",
                "threshold for 100 against 1000",
                "0.0909",
                cost_threshold(100.0, 1000.0)?,
                ClosedForm,
            ),
            ("cost rule", "z for it", "1.335", -z(cost_threshold(100.0, 1000.0)?), ClosedForm),
        ],
    ));
    Ok(all)
}

fn population() -> Result<Vec<Check>, UncertaintyError> {
    let resistors = Prior::Normal { mean: 1500.0, standard_deviation: 0.12 };
    let tolerance = Limits::new(Some(1499.8), Some(1500.2))?;
    let risk = |guard| population_risk(resistors, 0.04, tolerance, tolerance.guarded(guard)?);
    let bearings = Prior::Gamma { mean: 1.0, standard_deviation: 0.5 };
    let upper = Limits::new(None, Some(2.0))?;
    let (none, full, half) = (risk(0.0)?, risk(0.08)?, risk(0.04)?);
    let (minus_half, minus_full) = (risk(-0.04)?, risk(-0.08)?);
    let bearing = population_risk(bearings, 0.25, upper, upper)?;
    Ok(rows(
        JCGM_106,
        [
            (
                "9.5 (inputs), share that conforms",
                "resistors",
                "0.90442",
                resistors.conforming(tolerance)?,
                Own,
            ),
            ("9.5 (inputs)", "consumer's risk, no guard", "0.018942", none.consumer, Own),
            ("9.5 (inputs)", "producer's risk, no guard", "0.037208", none.producer, Own),
            ("9.5 (inputs)", "consumer's risk, guard U", "0.000469", full.consumer, Own),
            ("9.5 (inputs)", "producer's risk, guard U", "0.24767", full.producer, Own),
            ("9.5 (inputs)", "consumer's risk, guard U/2", "0.004334", half.consumer, Own),
            ("9.5 (inputs)", "producer's risk, guard U/2", "0.11466", half.producer, Own),
            ("9.5 (inputs)", "consumer's risk, guard -U/2", "0.044898", minus_half.consumer, Own),
            ("9.5 (inputs)", "producer's risk, guard -U/2", "0.007097", minus_half.producer, Own),
            ("9.5 (inputs)", "consumer's risk, guard -U", "0.069405", minus_full.consumer, Own),
            ("9.5 (inputs)", "producer's risk, guard -U", "0.000681", minus_full.producer, Own),
            ("9.5 (type)", "gamma prior, share beyond", "0.042380", 1.0 - bearings.conforming(upper)?, Own),
            ("9.5 (type)", "gamma prior, consumer's risk", "0.008019", bearing.consumer, Own),
            ("9.5 (type)", "gamma prior, producer's risk", "0.017445", bearing.producer, Own),
        ],
    ))
}

fn guard_bands() -> Vec<Check> {
    let percent = |r| 100.0 * number(worst_false_accept(r));
    let measured = |u| Measured::new(0.0, u, Belief::Normal);
    let width = |rule: GuardRule, u| number(measured(u).and_then(|m| rule.width(m)));
    let mut all = rows(
        G8,
        [
            ("table 1", "worst false accept, r = 0 / %", "50", percent(0.0), FromMemory),
            ("table 1", "worst false accept, r = 0.83 / %", "4.85", percent(0.83), ClosedForm),
            ("table 1", "worst false accept, r = 1 / %", "2.28", percent(1.0), Published),
            ("table 1", "worst false accept, r = 1.25 / %", "0.62", percent(1.25), ClosedForm),
            ("table 1", "worst false accept, r = 1.5 / %", "0.135", percent(1.5), ClosedForm),
        ],
    );
    all.push(Check::printed(
        "iso-14253-1-2017",
        "default conformance probability 95 %",
        "guard band / u",
        "1.64",
        width(GuardRule::ProofOfConformity(0.95), 1.0),
        FromMemory,
    ));
    let specific = |risk| width(GuardRule::SpecificRisk(risk), 1.25);
    all.extend(rows(
        "matewell",
        [
            ("guard for u = 1.25 µm", "risk 5 % / µm", "2.06", specific(0.05), Own),
            ("guard for u = 1.25 µm", "risk 2.5 % / µm", "2.45", specific(0.025), Own),
            ("guard for u = 1.25 µm", "risk 1 % / µm", "2.91", specific(0.01), Own),
            ("guard for u = 1.25 µm", "risk 0.1 % / µm", "3.86", specific(0.001), Own),
        ],
    ));
    all
}

fn accuracy_ratio() -> Result<Vec<Check>, UncertaintyError> {
    let risk = |ratio| risk_by_accuracy_ratio(ratio, 0.95, 1.0);
    let (one, three_halves, two, three, four, ten) =
        (risk(1.0)?, risk(1.5)?, risk(2.0)?, risk(3.0)?, risk(4.0)?, risk(10.0)?);
    let acceptance = 1.0 - managed_multiple(2.0)? / 2.0;
    let managed = risk_by_accuracy_ratio(2.0, 0.95, acceptance)?;
    let mut all = rows(
        "matewell",
        [
            (
                "95 % in tolerance, simple acceptance",
                "TUR 1, false accept / %",
                "1.80",
                100.0 * one.consumer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 1, false reject / %",
                "12.96",
                100.0 * one.producer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 1.5, false accept / %",
                "1.54",
                100.0 * three_halves.consumer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 1.5, false reject / %",
                "6.62",
                100.0 * three_halves.producer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 2, false accept / %",
                "1.34",
                100.0 * two.consumer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 2, false reject / %",
                "4.18",
                100.0 * two.producer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 3, false accept / %",
                "1.05",
                100.0 * three.consumer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 3, false reject / %",
                "2.29",
                100.0 * three.producer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 4, false accept / %",
                "0.858",
                100.0 * four.consumer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 4, false reject / %",
                "1.55",
                100.0 * four.producer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 10, false accept / %",
                "0.406",
                100.0 * ten.consumer,
                Own,
            ),
            (
                "95 % in tolerance, simple acceptance",
                "TUR 10, false reject / %",
                "0.516",
                100.0 * ten.producer,
                Own,
            ),
        ],
    );
    all.extend(rows(
        "dobbert-2008",
        [
            ("managed guard band", "TUR 2, acceptance limit / tolerance", "0.8592", acceptance, FromMemory),
            ("managed guard band", "TUR 2, false accept / %", "0.654", 100.0 * managed.consumer, Own),
            ("managed guard band", "TUR 2, false reject / %", "8.70", 100.0 * managed.producer, Own),
        ],
    ));
    Ok(all)
}
