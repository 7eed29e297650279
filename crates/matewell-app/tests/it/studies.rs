//! Studies from the facts of a lab.

use crate::lab::{NOW, REGISTER, empty, said};
use matewell_app::{
    AppError, ImportOrder, Said, Workshop,
    studies::{StudyFile, chart_study, gauge_picture, gauge_study},
};
use matewell_lab::{Moment, PinPosition};
use matewell_quantity::Length;
use matewell_wire::{ChartAsked, CompareAsked, GaugeStudyAsked, NestedStudyAsked};
use proptest::prelude::*;

fn lab() -> Workshop {
    let mut shop = empty();
    let order = ImportOrder {
        bytes: REGISTER.as_bytes().to_vec(),
        file_name: "register.csv".to_owned(),
        kind: None,
        sheet: None,
        mapping: None,
        columns: Vec::new(),
        answers: Vec::new(),
        dry_run: false,
    };
    assert!(shop.import(&order, &said(), NOW).unwrap().written);
    shop
}

fn gauge(shop: &mut Workshop, who: &str, tag: &str, minute: i64, readings_um: &[f64], u_um: f64) {
    let readings = readings_um
        .iter()
        .map(|v| PinPosition::recessed(Length::from_micrometres(*v).unwrap()).unwrap())
        .collect();
    let at = Moment::from_microseconds(NOW.microseconds() - 3_600_000_000 + minute * 60_000_000);
    let said = Said { happened_at: Some(at), ..Said::at_the_bench(who) };
    shop.gauge(tag, readings, None, Some(Length::from_micrometres(u_um).unwrap()), &said, NOW).unwrap();
}

fn crossed(ends: &str) -> GaugeStudyAsked {
    GaugeStudyAsked {
        ends: Some(ends.to_owned()),
        pool: Some("keep".to_owned()),
        f_over: Some("repeatability".to_owned()),
        ..GaugeStudyAsked::default()
    }
}

/// Two by two by two, worked by hand: means 10 and 20 of the ends, the second
/// person 1 µm more, repeats ± 0.5 µm. Squares of appraisers: 4·2·0.5² = 2, of
/// ends 8·5² = 200, within 8·0.5² = 2, interaction 0.
#[test]
fn gaugings_of_several_ends_by_several_people_are_a_crossed_study() {
    let mut shop = lab();
    for (minute, who, end, base) in [
        (1, "ada", "CB-1A", 10.0),
        (2, "ada", "CB-1B", 20.0),
        (3, "ben", "CB-1A", 11.0),
        (4, "ben", "CB-1B", 21.0),
    ] {
        gauge(&mut shop, who, end, minute, &[base - 0.5, base + 0.5], 1.0);
    }
    let found = shop.gauge_study(&crossed("CB-1A,CB-1B"), NOW).unwrap();
    let squares = |name: &str| found.value.anova.iter().find(|r| r.name == name).unwrap().sum_of_squares;
    assert!((squares("appraisers") - 2.0).abs() < 1e-9 && (squares("parts") - 200.0).abs() < 1e-9);
    assert!((squares("repeatability") - 2.0).abs() < 1e-9 && squares("interaction").abs() < 1e-9);
    assert_eq!((found.unit.as_str(), found.readings), ("um", 8));
    // A third reading and a third person are left out, and that is said.
    gauge(&mut shop, "ben", "CB-1A", 5, &[11.0], 1.0);
    gauge(&mut shop, "cy", "CB-1A", 6, &[11.0], 1.0);
    let again = shop.gauge_study(&crossed("CB-1A,CB-1B"), NOW).unwrap();
    assert_eq!(again.value.anova, found.value.anova);
    let said: Vec<&str> = again.findings.iter().map(|f| f.code.as_str()).collect();
    assert!(said.contains(&"left-out") && said.contains(&"trials-cut"), "{said:?}");
    // A window that ends before the second person: no study.
    let early = GaugeStudyAsked { until: Some("2026-11-25T08:02:30Z".to_owned()), ..crossed("CB-1A,CB-1B") };
    let error = shop.gauge_study(&early, NOW).unwrap_err().to_string();
    assert!(error.contains("at least two of the kind person") && error.contains("ada"), "{error}");
    let error = shop.gauge_study(&crossed("CB-1A"), NOW).unwrap_err().to_string();
    assert!(error.contains("at least two ends") && error.contains("nested"), "{error}");
    let by = GaugeStudyAsked { by: Some("moon".to_owned()), ..crossed("CB-1A,CB-1B") };
    assert!(matches!(shop.gauge_study(&by, NOW), Err(AppError::Field { field: "by", .. })));
}

/// Readings ± 0.5 µm: level 1 is √0.5; gaugings 1 µm apart: level 2 is √0.5;
/// two people 2 µm apart: level 3 is √2. Closed form.
#[test]
fn gaugings_of_one_end_are_a_nested_study() {
    let mut shop = lab();
    for (minute, who, base) in [(1, "ada", 10.0), (2, "ada", 11.0), (3, "ben", 12.0), (4, "ben", 13.0)] {
        gauge(&mut shop, who, "CB-1A", minute, &[base - 0.5, base + 0.5], 1.0);
    }
    let asked = NestedStudyAsked { end: Some("CB-1A".to_owned()), ..NestedStudyAsked::default() };
    let found = shop.nested_study(&asked, NOW).unwrap().value;
    assert!((found.level_1.standard_deviation - 0.5f64.sqrt()).abs() < 1e-12);
    assert!((found.level_2.standard_deviation - 0.5f64.sqrt()).abs() < 1e-12);
    assert!((found.level_3.unwrap().standard_deviation - 2f64.sqrt()).abs() < 1e-12);
    assert_eq!((found.runs, found.days, found.repeats), (2, 2, 2));
    gauge(&mut shop, "cy", "CB-1A", 5, &[12.0, 13.0], 1.0);
    let with_cy = shop.nested_study(&asked, NOW).unwrap();
    assert!(with_cy.findings.iter().any(|f| f.code == "left-out" && f.text.contains("cy")));
    gauge(&mut shop, "ada", "CB-1A", 6, &[12.0], 1.0);
    let error = shop.nested_study(&asked, NOW).unwrap_err().to_string();
    assert!(error.contains("at least two readings") && error.contains("one with 1"), "{error}");
    let none = NestedStudyAsked { end: Some("CB-1B".to_owned()), ..NestedStudyAsked::default() };
    assert!(shop.nested_study(&none, NOW).unwrap_err().to_string().contains("found none"));
}

#[test]
fn a_comparison_of_gauges_needs_both_on_record() {
    let shop = crate::lab::demo();
    let asked = |gauges: &str| CompareAsked {
        end: Some("CB-014A".to_owned()),
        gauges: Some(gauges.to_owned()),
        ..CompareAsked::default()
    };
    let error = |gauges| shop.compare_study(&asked(gauges), NOW).unwrap_err().to_string();
    assert!(error("GA-001").contains("two gauges"));
    assert!(error("GA-001,GA-002").contains("with GA-002 on record, found none"));
    assert!(error("GA-001,GA-999").contains("GA-999"));
}

#[test]
fn the_last_gaugings_with_two_gauges_are_compared() {
    let mut shop = crate::lab::demo();
    let readings = |um: f64| vec![PinPosition::recessed(Length::from_micrometres(um).unwrap()).unwrap(); 3];
    shop.gauge("CB-014A", readings(12.0), Some("GA-002"), None, &said(), NOW).unwrap();
    shop.gauge("CB-014A", readings(10.0), Some("GA-001"), None, &said(), NOW).unwrap();
    let asked = CompareAsked {
        end: Some("CB-014A".to_owned()),
        gauges: Some("GA-001,GA-002".to_owned()),
        ..CompareAsked::default()
    };
    let found = shop.compare_study(&asked, NOW).unwrap();
    let result = &found.value.results[0];
    assert!((result.difference + 2.0).abs() < 1e-9, "{result:?}");
    assert!((result.normalised_error * result.difference_expanded_uncertainty + 2.0).abs() < 1e-9);
    // Two gauges of their own share nothing: the uncertainties add in quadrature, but for the degrees of freedom.
    let quadrature = result.first_expanded_uncertainty.hypot(result.second_expanded_uncertainty);
    assert!((result.difference_expanded_uncertainty / quadrature - 1.0).abs() < 0.1, "{result:?}");
    // A gauge beside itself: what is shared cancels, the readings do not.
    let same = CompareAsked { gauges: Some("GA-001,GA-001".to_owned()), ..asked };
    let same = shop.compare_study(&same, NOW).unwrap().value.results.remove(0);
    assert!(same.difference.abs() < 1e-12 && same.agrees);
    assert!(same.difference_expanded_uncertainty < same.first_expanded_uncertainty);
}

fn of_table(text: &str) -> Result<matewell_wire::StudyAnswerJson<matewell_wire::GaugeStudyJson>, AppError> {
    let asked = GaugeStudyAsked { ends: None, ..crossed("") };
    gauge_study(&StudyFile { bytes: text.as_bytes(), name: "table" }, &asked)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Neither the order of the rows, nor the unit, nor the decimal sign, nor
    /// a constant added to every reading changes what the gauge is worth.
    #[test]
    fn a_study_is_the_same_however_it_is_written(
        noise in prop::collection::vec(-3.0f64..3.0, 12),
        shift in -40.0f64..40.0,
        turn in 1usize..11,
    ) {
        let rows: Vec<(usize, usize, f64)> = noise
            .iter()
            .enumerate()
            .map(|(n, e)| (n / 6, (n / 2) % 3, 100.0 + 20.0 * ((n / 2) % 3) as f64 + 4.0 * (n / 6) as f64 + (e * 100.0).round() / 100.0))
            .collect();
        let write = |unit: &str, factor: f64, shift: f64, rows: &[(usize, usize, f64)]| {
            let body: Vec<String> = rows.iter().map(|(a, p, v)| format!("{a};{p};{:.6}\n", (v + shift) * factor)).collect();
            format!("person;end;reading ({unit})\n{}", body.concat())
        };
        let plain = of_table(&write("um", 1.0, 0.0, &rows));
        prop_assume!(plain.is_ok());
        let plain = plain.unwrap();
        let of = |a: &matewell_wire::StudyAnswerJson<matewell_wire::GaugeStudyJson>| {
            let gauge = a.value.components.iter().find(|c| c.name == "gauge").unwrap().standard_deviation;
            (gauge, a.value.gauge_percent_of_total)
        };
        let (gauge, share) = of(&plain);
        let mut turned = rows.clone();
        turned.rotate_left(turn);
        for other in [
            write("um", 1.0, 0.0, &turned),
            write("mm", 1e-3, 0.0, &rows),
            write("um", 1.0, shift, &rows),
            write("um", 1.0, 0.0, &rows).replace('.', ","),
        ] {
            let other = of_table(&other).unwrap();
            prop_assert!((of(&other).0 - gauge).abs() < 1e-6 * (1.0 + gauge), "{} {}", of(&other).0, gauge);
            prop_assert!((of(&other).1 - share).abs() < 1e-5 * (1.0 + share));
        }
        // Squares add up.
        let sum: f64 = plain.value.anova.iter().take(4).map(|r| r.sum_of_squares).sum();
        prop_assert!((sum - plain.value.anova[4].sum_of_squares).abs() < 1e-6 * sum);
        prop_assert!(!gauge_picture(&plain).contains("NaN"));
    }

    /// Every value stands on the chart once, phases lose nothing, and a larger
    /// reach never signals more single values.
    #[test]
    fn a_chart_loses_no_value(values in prop::collection::vec((-5.0f64..5.0, prop::bool::weighted(0.1)), 1..40)) {
        let body: Vec<String> =
            values.iter().map(|(v, e)| format!("{v:.4};{}\n", if *e { "cleaned" } else { "" })).collect();
        let text = format!("reading (um);event\n{}", body.concat());
        let chart = |reach: &str| {
            let asked = ChartAsked { reach: Some(reach.to_owned()), ..ChartAsked::default() };
            chart_study(&StudyFile { bytes: text.as_bytes(), name: "table" }, &asked).unwrap().value
        };
        let (near, far) = (chart("1"), chart("3"));
        prop_assert_eq!(near.points.len(), values.len());
        prop_assert_eq!(near.phases.iter().map(|p| p.values).sum::<usize>(), values.len());
        let single = |c: &matewell_wire::ChartJson| {
            c.points.iter().filter(|p| p.signals.iter().any(|s| s == "single value")).count()
        };
        prop_assert!(single(&far) <= single(&near));
    }
}
