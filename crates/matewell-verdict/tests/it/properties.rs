use crate::builder::{Bench, end};
use matewell_lab::{EndId, InspectionOutcome, Sex};
use matewell_verdict::{Answer, PinDecision, Standing};
use proptest::prelude::*;

fn history(steps: &[(u8, f64)]) -> (Bench, EndId, EndId) {
    let mut bench = Bench::new();
    let a = bench.end("A", &end("3.5mm", Sex::Pin));
    let b = bench.end("B", &end("3.5mm", Sex::Socket));
    let gauge = bench.gauge("GA-1", 1.0, 1.0);
    for (index, (kind, value)) in steps.iter().enumerate() {
        let day = 1.0 + f64::from(u32::try_from(index).unwrap()) / 10.0;
        let one = if *value < 20.0 { a } else { b };
        match kind {
            0 => bench.mated(day, a, b),
            1 => drop(bench.gauged(day, one, gauge, &[*value, value + 1.0, value - 1.0])),
            2 => drop(bench.looked(day, one, InspectionOutcome::Good)),
            3 => drop(bench.looked(day, one, InspectionOutcome::Dirty)),
            _ => drop(bench.looked(day, one, InspectionOutcome::Damaged)),
        }
    }
    (bench, a, b)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Invariant: same facts, same sheets, same moment, same answer; and facts
    /// that happened later or were entered in another order change nothing.
    #[test]
    fn the_judgement_depends_only_on_its_inputs(steps in proptest::collection::vec((0u8..5, -10.0f64..60.0), 0..12)) {
        let (mut bench, a, b) = history(&steps);
        let first = bench.check(a, b, 5.0, Some("18GHz"));
        prop_assert_eq!(&first, &bench.check(a, b, 5.0, Some("18GHz")));
        bench.facts.reverse();
        prop_assert_eq!(&first, &bench.check(a, b, 5.0, Some("18GHz")));
        bench.mated(6.0, a, b);
        prop_assert_eq!(&first, &bench.check(a, b, 5.0, Some("18GHz")));
    }

    /// Invariant: protrusion is never traded, and what is not shown is never
    /// usable.
    #[test]
    fn nothing_unknown_or_proud_ever_goes(steps in proptest::collection::vec((0u8..5, -10.0f64..60.0), 0..12)) {
        let (bench, a, b) = history(&steps);
        let check = bench.check(a, b, 5.0, None);
        for judged in [&check.a, &check.b] {
            match judged.pin.decision {
                PinDecision::Unknown => {
                    prop_assert!(judged.standing >= Standing::Undecided);
                    prop_assert!(check.answer >= Answer::Undecided);
                }
                PinDecision::Out => {
                    prop_assert!(judged.standing >= Standing::DoNotMate);
                    prop_assert_eq!(check.answer, Answer::Stop);
                }
                PinDecision::NotShownSafe | PinDecision::GaugeCannotDecide => {
                    prop_assert!(judged.standing >= Standing::Undecided);
                }
                PinDecision::ShownSafe => {}
            }
        }
        prop_assert_eq!(check.answer == Answer::Stop, check.findings.iter().any(|f| f.weight.word() == "forbids"));
        prop_assert_eq!(check.a.at, check.b.at);
    }
}
