//! Named mistakes that parsers make, each with the right answer.

#![expect(
    clippy::unwrap_used,
    reason = "tests build their inputs in plain functions and compare stored bits"
)]

use matewell_network::touchstone::{
    FrequencyUnit, Mode, Parameter, ReadOptions, Reading, Strictness, Version, WarningKind,
    ports_from_file_name, read,
};
use matewell_network::{NetworkError, Sweep, error::ReadError, error::ReadReason};
use num_complex::Complex64;

fn lenient(text: impl AsRef<[u8]>) -> Result<Reading, ReadError> {
    read(text.as_ref(), &ReadOptions { strictness: Strictness::Lenient, ports_from_name: None })
}

fn strict(text: impl AsRef<[u8]>) -> Result<Reading, ReadError> {
    read(text.as_ref(), &ReadOptions { strictness: Strictness::Strict, ports_from_name: None })
}

fn named(text: impl AsRef<[u8]>, ports: usize) -> Result<Reading, ReadError> {
    read(text.as_ref(), &ReadOptions { strictness: Strictness::Lenient, ports_from_name: Some(ports) })
}

fn sweep(text: &str) -> Sweep {
    lenient(text).unwrap().content.to_sweep().unwrap()
}

fn close(found: Complex64, re: f64, im: f64) {
    assert!((found - Complex64::new(re, im)).norm() < 1e-12, "found {found}, expected {re}+{im}i");
}

fn has(reading: &Reading, kind: &WarningKind) -> bool {
    reading.warnings.iter().any(|w| std::mem::discriminant(&w.kind) == std::mem::discriminant(kind))
}

const V2: &str = "[Version] 2.0\n# GHz S RI R 50\n[Number of Ports] 2\n[Two-Port Data Order] 12_21\n\
                  [Number of Frequencies] 1\n[Network Data]\n1 11 0 12 0 21 0 22 0\n[End]\n";

#[test]
fn options_stand_in_any_order() {
    // scikit-rf 2.2.0 refuses this order.
    let found = sweep("# R 75 RI S MHz\n100 0.1 0.2\n");
    assert_eq!(found.references(), [75.0]);
    assert_eq!(found.frequencies(), [1e8]);
    close(found.values()[0], 0.1, 0.2);
}

#[test]
fn a_lone_mark_means_all_defaults_and_says_so() {
    let reading = lenient("#\n1 0.5 90\n").unwrap();
    let header = reading.content.header();
    assert_eq!((header.unit, header.parameter), (FrequencyUnit::Ghz, Parameter::S));
    let defaults = reading.warnings.iter().filter(|w| matches!(w.kind, WarningKind::DefaultUsed { .. }));
    assert_eq!(defaults.count(), 4);
    close(reading.content.to_sweep().unwrap().values()[0], 0.0, 0.5);
}

#[test]
fn a_missing_option_is_not_read_from_the_next_place() {
    assert_eq!(lenient("# MHz RI\n1 0.5 0\n").unwrap().content.header().parameter, Parameter::S);
}

#[test]
fn a_comment_may_follow_the_option_line() {
    close(sweep("# GHz S RI R 50 ! fresh\n1 0.5 0\n").values()[0], 0.5, 0.0);
}

#[test]
fn a_two_port_is_printed_column_by_column_in_version_1() {
    let s = sweep("# GHz S RI R 50\n1 11 0 21 0 12 0 22 0\n");
    close(s.trace(2, 1).unwrap()[0], 21.0, 0.0);
    close(s.trace(1, 2).unwrap()[0], 12.0, 0.0);
}

#[test]
fn a_version_2_two_port_without_its_order_is_refused_not_guessed() {
    let text = V2.replace("[Two-Port Data Order] 12_21\n", "");
    let error = lenient(text).unwrap_err();
    assert_eq!(error.reason, ReadReason::MissingKeyword { keyword: "Two-Port Data Order" });
    close(sweep(V2).trace(2, 1).unwrap()[0], 21.0, 0.0);
    close(sweep(&V2.replace("12_21", "21_12")).trace(2, 1).unwrap()[0], 12.0, 0.0);
}

#[test]
fn ragged_three_port_lines_are_joined_by_the_odd_and_even_rule() {
    // scikit-rf 2.2.0 silently reads garbage from this.
    let text = "# GHz S RI R 50\n1\n11 0 12 0 13 0\n21 0 22 0\n23 0\n31 0 32 0 33 0\n2\n1 0 2 0 3 0\n4 0 5 0 6 0\n7 0 8 0 9 0\n";
    let reading = lenient(text).unwrap();
    assert_eq!(reading.content.ports(), 3);
    let s = reading.content.to_sweep().unwrap();
    assert_eq!(s.frequencies(), [1e9, 2e9]);
    close(s.trace(2, 3).unwrap()[0], 23.0, 0.0);
    close(s.trace(3, 1).unwrap()[1], 7.0, 0.0);
}

#[test]
fn line_ends_marks_and_other_scripts_change_nothing() {
    let plain = "! caf\n# GHz S RI R 50\n1 0.1 0.2\n2 0.3 0.4\n";
    let expected = lenient(plain).unwrap().content;
    for end in ["\r", "\r\n"] {
        let reading = lenient(plain.replace('\n', end)).unwrap();
        assert_eq!(reading.content, expected);
        assert_eq!(has(&reading, &WarningKind::CarriageReturnOnly), end == "\r");
    }
    let marked = lenient(format!("\u{feff}{plain}")).unwrap();
    assert_eq!(marked.content, expected);
    assert!(has(&marked, &WarningKind::ByteOrderMark));
    let mut latin = plain.as_bytes().to_vec();
    latin.insert(5, 0xE9);
    let reading = lenient(latin).unwrap();
    assert_eq!(reading.content.header().comments, [" café"]);
    assert!(has(&reading, &WarningKind::NotAscii));
}

#[test]
fn a_noise_block_may_start_at_the_last_network_frequency() {
    for start in ["1", "2"] {
        let text = format!(
            "# GHz S RI R 50\n1 0 0 1 0 1 0 0 0\n2 0 0 1 0 1 0 0 0\n{start} 0.7 0.64 69 0.38\n3 2.7 .46 -33 .40\n"
        );
        let content = lenient(text).unwrap().content;
        assert_eq!((content.frequencies().len(), content.noise().len()), (2, 2));
        let ohms = content.noise_resistance(&content.noise()[0]);
        assert!((ohms - 19.0).abs() < 1e-12);
    }
    // A rising frequency with five numbers is a broken two-port line.
    let text = "# GHz S RI R 50\n1 0 0 1 0 1 0 0 0\n3 0.7 0.64 69 0.38\n4 0 0 1 0 1 0 0 0\n";
    assert_eq!(lenient(text).unwrap_err().reason, ReadReason::BlockLength { expected: 9, found: 5 });
}

#[test]
fn normalised_parameters_of_version_1_become_a_match() {
    // y = 1 and z = 1 are a match; scikit-rf 2.2.0 gives -0.9992 for the first.
    for parameter in ["Y", "Z"] {
        close(sweep(&format!("# GHz {parameter} RI R 50\n1 1 0\n")).values()[0], 0.0, 0.0);
    }
}

#[test]
fn an_ideal_through_in_h_or_g_has_no_z_matrix_and_still_converts() {
    // scikit-rf 2.2.0 gives NaN for the first.
    for (parameter, line) in [("H", "1 0 0 -1 0 1 0 0 0"), ("G", "1 0 0 1 0 -1 0 0 0")] {
        let s = sweep(&format!("# GHz {parameter} RI R 50\n{line}\n"));
        close(s.trace(2, 1).unwrap()[0], 1.0, 0.0);
        close(s.trace(1, 2).unwrap()[0], 1.0, 0.0);
        close(s.trace(1, 1).unwrap()[0], 0.0, 0.0);
    }
}

#[test]
fn version_1_1_gives_each_port_its_reference() {
    let reading = lenient("# GHz S RI R 50 75\n1 0 0 1 0 1 0 0 0\n").unwrap();
    assert_eq!(reading.content.header().version, Version::V1_1);
    assert_eq!(reading.content.header().references, [50.0, 75.0]);
    assert!(lenient("# GHz S RI R 50 75 75\n1 0 0 1 0 1 0 0 0\n").is_err());
    assert!(lenient("# GHz S R 50 75 RI\n1 0 0 1 0 1 0 0 0\n").is_err());
}

#[test]
fn unequal_references_with_normalised_parameters_are_not_defined() {
    let reading = lenient("# GHz Z RI R 50 75\n1 0 0 1 0 1 0 0 0\n").unwrap();
    assert!(matches!(reading.content.to_sweep(), Err(NetworkError::NotDefined { .. })));
}

#[test]
fn references_may_span_lines_and_comments() {
    let text = V2.replace("[Network Data]", "[Reference] 50 ! first\n! between\n75\n[Network Data]");
    assert_eq!(sweep(&text).references(), [50.0, 75.0]);
    assert!(lenient(text.replace("\n75\n", "\n")).is_err());
    assert!(lenient(text.replace("\n75\n", "\n-75\n")).is_err());
}

#[test]
fn information_is_skipped_whatever_it_holds() {
    let text = V2.replace(
        "[Network Data]",
        "[Begin Information]\n# GHz Z\n[Nonsense]\n1 2 3\n[End Information]\n[Network Data]",
    );
    assert_eq!(lenient(text).unwrap().content, lenient(V2).unwrap().content);
}

#[test]
fn a_wrong_number_of_frequencies_is_refused() {
    for (wrong, found) in [("[Number of Frequencies] 2", 1), ("[Number of Frequencies] 0", 1)] {
        let error = lenient(V2.replace("[Number of Frequencies] 1", wrong)).unwrap_err();
        assert!(error.to_string().contains("requencies"), "{error} {found}");
    }
}

#[test]
fn unsorted_and_repeated_frequencies_are_flagged_and_never_become_a_sweep() {
    for text in ["# GHz S RI R 50\n2 0 0\n1 0 0\n", "# GHz S RI R 50\n2 0 0\n2 0 0\n"] {
        let reading = lenient(text).unwrap();
        let warning =
            reading.warnings.iter().find(|w| matches!(w.kind, WarningKind::FrequencyNotRising { .. }));
        assert_eq!(warning.map(|w| w.line), Some(3));
        assert!(matches!(reading.content.to_sweep(), Err(NetworkError::FrequencyOrder { index: 1, .. })));
        assert!(matches!(strict(text).unwrap_err().reason, ReadReason::Strict(_)));
    }
}

#[test]
fn a_one_port_inside_an_s2p_is_refused() {
    let error = named("# GHz S RI R 50\n1 0.1 0\n2 0.1 0\n3 0.1 0\n", 2).unwrap_err();
    assert_eq!(error.reason, ReadReason::PortsDisagree { from: "file name", expected: 2, found: 1 });
    assert!(named(V2, 4).is_err());
}

#[test]
fn file_names_promise_ports_in_any_case() {
    for (name, ports) in [
        ("a.s2p", Some(2)),
        ("A.S12P", Some(12)),
        ("a.b.s1p", Some(1)),
        ("a.ts", None),
        ("a.sp", None),
        ("s2p", None),
        ("a.s2px", None),
    ] {
        assert_eq!(ports_from_file_name(name), ports, "{name}");
    }
}

#[test]
fn a_terahertz_unit_is_refused_not_taken_for_another() {
    let error = lenient("# THz S RI R 50\n1 0.1 0\n").unwrap_err();
    assert_eq!((error.line, error.column), (1, 3));
    assert_eq!(error.reason, ReadReason::UnknownOption { found: "THz".to_owned() });
}

#[test]
fn an_unknown_version_is_refused() {
    for version in ["3.0", "2.2", "1.0", "", "2.0 beta"] {
        let error = lenient(V2.replace("2.0\n#", &format!("{version}\n#"))).unwrap_err();
        assert_eq!(error.reason, ReadReason::UnknownVersion { found: version.to_owned() });
    }
}

#[test]
fn not_a_number_and_infinity_are_refused_with_their_place() {
    for token in ["nan", "inf", "-inf", "1e999"] {
        let error = lenient(format!("# GHz S RI R 50\n1 0.1 0\n2 {token} 0\n")).unwrap_err();
        assert_eq!((error.line, error.column), (3, 3), "{token}");
        assert!(matches!(error.reason, ReadReason::NotFinite { .. }), "{token}");
    }
}

#[test]
fn minus_infinity_decibels_is_zero_magnitude_and_flagged() {
    let reading = lenient("# GHz S DB R 50\n1 -inf 0\n").unwrap();
    assert!(has(&reading, &WarningKind::MinusInfinityDecibel));
    close(reading.content.to_sweep().unwrap().values()[0], 0.0, 0.0);
    assert!(lenient("# GHz S DB R 50\n1 0 -inf\n").is_err());
    assert!(lenient("# GHz S DB R 50\n-inf 0 0\n").is_err());
}

#[test]
fn commas_are_explained() {
    let error = lenient("# GHz S RI R 50\n1,0 0,1 0\n").unwrap_err();
    assert_eq!((error.line, error.column), (2, 1));
    assert!(error.to_string().contains("decimal commas"), "{error}");
    assert!(lenient("# GHz S RI R 50\n1,0.1,0\n").is_err());
}

#[test]
fn other_kinds_of_file_are_named() {
    for (bytes, kind) in [
        (&b"PK\x03\x04rest"[..], "ZIP"),
        (&b"\xff\xfe#\x00"[..], "UTF-16"),
        (&b"\x1f\x8b\x08"[..], "gzip"),
        (&b"# GHz\x00"[..], "zero byte"),
        (&b""[..], "nothing"),
    ] {
        let error = lenient(bytes).unwrap_err();
        assert!(error.to_string().contains(kind), "{error}");
    }
    assert!(lenient("frequency,re,im\n1,2,3\n").is_err());
    assert!(lenient("! only\n! comments\n").is_err());
    assert_eq!(lenient("1 0.1 0\n").unwrap_err().reason, ReadReason::NoOptionLine);
}

#[test]
fn impossible_references_are_refused() {
    for options in ["R 0", "R -50", "R", "R 50+1j", "R nan", "R 50 R 75"] {
        assert!(lenient(format!("# GHz S RI {options}\n1 0 0\n")).is_err(), "{options}");
    }
}

#[test]
fn repeated_options_and_keywords_are_refused() {
    assert!(lenient("# GHz MHz S RI\n1 0 0\n").is_err());
    assert!(lenient(V2.replace("[Network Data]", "[Number of Ports] 2\n[Network Data]")).is_err());
    let twice = V2.replace("[Network Data]", "[Reference] 50 50\n[Reference] 75 75\n[Network Data]");
    assert!(lenient(twice).is_err());
}

#[test]
fn only_the_first_option_line_counts() {
    let reading = lenient("# GHz S RI R 50\n# MHz S MA R 75\n1 0.1 0.2\n").unwrap();
    assert!(has(&reading, &WarningKind::ExtraOptionLine));
    assert_eq!(reading.content.frequencies(), [1e9]);
}

#[test]
fn an_even_first_line_is_refused() {
    assert_eq!(lenient("# GHz S RI\n1 2\n").unwrap_err().reason, ReadReason::EvenFirstLine { found: 2 });
}

#[test]
fn a_pair_split_over_lines_is_refused_not_reassembled() {
    assert!(named("# GHz S RI R 50\n1 0 0 1\n0 1 0 0 0\n", 2).is_err());
}

#[test]
fn keywords_stand_before_the_data() {
    let text = V2.replace("1 11 0", "[Number of Ports] 2\n1 11 0");
    assert!(matches!(lenient(text).unwrap_err().reason, ReadReason::Keyword { .. }));
    assert!(lenient("# GHz S RI R 50\n[Number of Ports] 1\n1 0 0\n").is_err());
    assert!(lenient(V2.replace("[Network Data]\n", "")).is_err());
}

#[test]
fn the_end_keyword_is_required_and_final() {
    let open = V2.replace("[End]\n", "");
    assert!(has(&lenient(&open).unwrap(), &WarningKind::NoEnd));
    assert!(strict(&open).is_err());
    let after = format!("{V2}2 0 0\n");
    assert!(has(&lenient(&after).unwrap(), &WarningKind::TextAfterEnd));
    assert!(strict(&after).is_err());
    assert!(strict(V2).is_ok());
}

#[test]
fn a_version_after_the_option_line_is_flagged() {
    let text = V2.replace("[Version] 2.0\n# GHz S RI R 50\n", "# GHz S RI R 50\n[Version] 2.0\n");
    assert!(has(&lenient(&text).unwrap(), &WarningKind::VersionNotFirst));
    assert!(strict(&text).is_err());
}

#[test]
fn a_cut_file_is_partial() {
    let reading = lenient("# GHz S RI R 50\n1 0 0 1 0 1 0 0 0\n2 0 0 1 0\n").unwrap();
    assert!(reading.partial);
    assert_eq!(reading.content.frequencies().len(), 1);
    assert!(strict("# GHz S RI R 50\n1 0 0 1 0 1 0 0 0\n2 0 0 1 0\n").is_err());
    let cut = V2.replace("[Number of Frequencies] 1", "[Number of Frequencies] 3").replace("[End]\n", "");
    let reading = lenient(cut).unwrap();
    assert!(reading.partial);
    assert!(has(&reading, &WarningKind::FewerFrequencies { expected: 0, found: 0 }));
}

#[test]
fn h_and_g_and_noise_are_for_two_ports() {
    for parameter in ["H", "G"] {
        let error = lenient(format!("# GHz {parameter} RI R 50\n1 0 0\n")).unwrap_err();
        assert!(matches!(error.reason, ReadReason::TwoPortOnly { .. }));
    }
}

#[test]
fn impedances_in_comments_are_surfaced_not_used() {
    let reading = lenient("# GHz S RI R 50\n! Port Impedance 48.1 0.2\n1 0.1 0\n").unwrap();
    assert!(has(&reading, &WarningKind::ImpedanceInComment));
    assert_eq!(reading.content.header().references, [50.0]);
}

#[test]
fn triangles_are_mirrored() {
    for (format, line) in [("Lower", "1 11 0\n12 0 22 0"), ("Upper", "1 11 0 12 0\n22 0")] {
        let text = V2.replace(
            "[Network Data]\n1 11 0 12 0 21 0 22 0",
            &format!("[Matrix Format] {format}\n[Network Data]\n{line}"),
        );
        let s = sweep(&text);
        close(s.trace(2, 1).unwrap()[0], 12.0, 0.0);
        close(s.trace(1, 2).unwrap()[0], 12.0, 0.0);
        close(s.trace(2, 2).unwrap()[0], 22.0, 0.0);
    }
}

#[test]
fn mixed_mode_returns_to_single_ended() {
    // A through pair 1-3, 2-4 has S_dd21 = S_cc21 = 1 and no conversion.
    let zero = "0 0 ";
    let one = "1 0 ";
    let rows =
        [[zero, one, zero, zero], [one, zero, zero, zero], [zero, zero, zero, one], [zero, zero, one, zero]];
    let data: String = rows.iter().map(|r| r.concat() + "\n").collect();
    let text = format!(
        "[Version] 2.1\n# GHz S RI R 50\n[Number of Ports] 4\n[Number of Frequencies] 1\n[Mixed-Mode Order] D1,2 D3,4 C1,2 C3,4\n[Network Data]\n1 {data}[End]\n"
    );
    let reading = lenient(&text).unwrap();
    assert_eq!(reading.content.header().mode_order.as_ref().map(|m| m[2]), Some(Mode::Common(1, 2)));
    let s = reading.content.to_sweep().unwrap();
    close(s.trace(3, 1).unwrap()[0], 1.0, 0.0);
    close(s.trace(4, 2).unwrap()[0], 1.0, 0.0);
    close(s.trace(4, 1).unwrap()[0], 0.0, 0.0);
    assert!(lenient(text.replace("C3,4", "C2,4")).is_err());
    assert!(lenient(text.replace("C3,4", "E3,4")).is_err());
    let unequal = text.replace("[Mixed", "[Reference] 50 75 50 50\n[Mixed");
    assert!(matches!(lenient(unequal).unwrap().content.to_sweep(), Err(NetworkError::NotDefined { .. })));
}

#[test]
fn a_mixed_mode_order_of_32_ports_is_read_whole() {
    let pairs =
        |letter: char| (1..=16).map(|k| format!("{letter}{},{}", k, 33 - k)).collect::<Vec<_>>().join(" ");
    let numbers = "0.1 0\n".repeat(32 * 33 / 2);
    let text = format!(
        "[Version] 2.1\n# GHz S RI R 50\n[Number of Ports] 32\n[Number of Frequencies] 1\n[Mixed-Mode Order] \
         {}\t{}\n[Matrix Format] Upper\n[Network Data]\n1 {numbers}[End]\n",
        pairs('D'),
        pairs('C')
    );
    let reading = strict(text).unwrap();
    assert_eq!(reading.content.header().mode_order.as_ref().map(Vec::len), Some(32));
    assert_eq!(reading.content.to_sweep().unwrap().ports(), 32);
}

#[test]
fn degrees_beyond_a_turn_and_a_frequency_of_zero_are_fine() {
    let s = sweep("# GHz S MA R 50\n0 0.5 450\n");
    assert_eq!(s.frequencies(), [0.0]);
    close(s.values()[0], 0.0, 0.5);
    assert!(matches!(
        lenient("# GHz S MA R 50\n-1 0.5 0\n").unwrap_err().reason,
        ReadReason::NegativeFrequency { .. }
    ));
}

#[test]
fn a_line_longer_than_any_matrix_is_refused_early() {
    let text = format!("# GHz S RI R 50\n{}", "1 ".repeat(1_000_000));
    assert!(matches!(lenient(text).unwrap_err().reason, ReadReason::NoPortCount { .. }));
}

#[test]
fn long_version_1_lines_break_a_rule_that_lenient_reading_reports() {
    let text = "# GHz S RI R 50\n1 11 0 12 0 13 0 21 0 22 0 23 0 31 0 32 0 33 0\n";
    assert!(has(&lenient(text).unwrap(), &WarningKind::LongLine { pairs: 0 }));
    assert!(strict(text).is_err());
}

#[test]
fn too_many_ports_are_refused() {
    assert!(lenient(V2.replace("[Number of Ports] 2", "[Number of Ports] 33")).is_err());
    assert!(named("# GHz S RI R 50\n1 0 0\n", 33).is_err());
}

/// Nothing is missing, but whoever cut it may have cut more elsewhere: every
/// doubt is said. It breaks no rule, so reading strictly takes it too.
#[test]
fn a_missing_last_line_end_is_said_behind_the_end_too() {
    let text = "[Version] 2.0\n# GHz S RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 1\n[Network Data]\n1 0.1 0\n[End]";
    let cut = strict(text).unwrap();
    assert!(has(&cut, &WarningKind::NoFinalLineEnd) && !cut.partial, "{:?}", cut.warnings);
    let whole = strict(format!("{text}\n")).unwrap();
    assert!(whole.warnings.is_empty(), "{:?}", whole.warnings);
    assert_eq!(cut.content, whole.content);
}
