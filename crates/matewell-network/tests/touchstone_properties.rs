//! Writing and reading is the identity, and no text makes the reader panic.

#![expect(
    clippy::unwrap_used,
    clippy::float_cmp,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "tests build their inputs in plain functions and compare stored bits"
)]

use matewell_network::touchstone::{
    Format, FrequencyUnit, Header, MatrixFormat, Mode, NoisePoint, Parameter, ReadOptions, Reading,
    Strictness, Touchstone, TwoPortOrder, Version, WarningKind, read, write,
};
use proptest::prelude::*;

fn lenient(bytes: &[u8], ports: Option<usize>) -> Result<Reading, matewell_network::error::ReadError> {
    read(bytes, &ReadOptions { strictness: Strictness::Lenient, ports_from_name: ports })
}

fn version() -> impl Strategy<Value = Version> {
    prop::sample::select(vec![Version::V1_0, Version::V1_1, Version::V2_0, Version::V2_1])
}

/// So many pairs of these ports as difference and common mode, the others
/// single; `turn` moves the start of the list.
fn modes(pairs: usize, ports: &[usize], turn: u64) -> Vec<Mode> {
    let (paired, single) = ports.split_at(2 * pairs);
    let mut list: Vec<Mode> = paired.chunks(2).map(|p| Mode::Differential(p[0], p[1])).collect();
    list.extend(single.iter().map(|p| Mode::Single(*p)));
    list.extend(paired.chunks(2).map(|p| Mode::Common(p[0], p[1])));
    let start = usize::try_from(turn % list.len() as u64).unwrap();
    list.rotate_left(start);
    list
}

prop_compose! {
    fn content()(
        version in version(),
        ports in prop_oneof![4 => 1_usize..=5, 1 => 6_usize..=32],
        points in 1_usize..=6,
    )(
        version in Just(if ports == 1 && version == Version::V1_1 { Version::V1_0 } else { version }),
        ports in Just(ports),
                unit in prop::sample::select(vec![FrequencyUnit::Hz, FrequencyUnit::Khz, FrequencyUnit::Mhz, FrequencyUnit::Ghz]),
        parameter in prop::sample::select(if ports == 2 { vec![Parameter::S, Parameter::Y, Parameter::Z, Parameter::H, Parameter::G] } else { vec![Parameter::S, Parameter::Y, Parameter::Z] }),
        format in prop::sample::select(vec![Format::RealImaginary, Format::MagnitudeAngle, Format::DecibelAngle]),
        order in prop::sample::select(vec![TwoPortOrder::RowByRow, TwoPortOrder::ColumnByColumn]),
        matrix_format in prop::sample::select(vec![MatrixFormat::Full, MatrixFormat::Lower, MatrixFormat::Upper]),
        numbers in prop::collection::vec(prop_oneof![-2.0..2.0_f64, prop::num::f64::NORMAL | prop::num::f64::ZERO], 2 * points * ports * ports),
        steps in prop::collection::vec(1e-3..1e10_f64, points),
        references in prop::collection::vec(0.01..500.0_f64, ports),
        noise in prop::collection::vec(-2.0..2.0_f64, 0..12_usize),
        comment in "[ -~]{0,20}x",
        mixed in prop::option::of((0..=ports / 2, Just((1..=ports).collect::<Vec<_>>()).prop_shuffle(), any::<u64>())),
    ) -> Touchstone {
        let keywords = version.has_keywords();
        let matrix_format = if keywords { matrix_format } else { MatrixFormat::Full };
        let references = if version == Version::V1_0 { vec![references[0]; ports] } else { references };
        let frequencies: Vec<f64> = steps.iter().scan(0.0, |f, step| { *f += step; Some(*f) }).collect();
        let mut pairs: Vec<[f64; 2]> = numbers.chunks(2).map(|c| [c[0], c[1]]).collect();
        if matrix_format != MatrixFormat::Full {
            for m in pairs.chunks_mut(ports * ports) {
                for row in 0..ports { for column in 0..row { m[row * ports + column] = m[column * ports + row]; } }
            }
        }
        let first = frequencies[0];
        let noise = if ports == 2 { noise.chunks_exact(4).enumerate().map(|(k, c)| NoisePoint {
            frequency: first * (1.0 + k as f64), minimum_noise_figure_db: c[0], optimum_magnitude: c[1],
            optimum_angle_degrees: c[2], effective_resistance: c[3] }).collect() } else { Vec::new() };
        let header = Header {
            version, unit, parameter, format, references,
            two_port_order: if keywords && ports == 2 { order } else { TwoPortOrder::ColumnByColumn },
            matrix_format, mode_order: mixed.filter(|_| keywords).map(|(pairs, of, turn)| modes(pairs, &of, turn)), comments: vec![comment],
        };
        Touchstone::new(header, frequencies, pairs, noise).unwrap()
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn printing_and_parsing_is_the_identity(content in content()) {
        let text = write(&content).unwrap();
        let reading = read(text.as_bytes(), &ReadOptions { strictness: Strictness::Strict, ports_from_name: Some(content.ports()) }).unwrap();
        prop_assert_eq!(&reading.content, &content);
        prop_assert!(!reading.partial);
        prop_assert_eq!(write(&reading.content).unwrap(), text);
    }

    #[test]
    fn line_ends_tabs_and_case_change_nothing(content in content()) {
        let mut content = content;
        let text = write(&content).unwrap();
        for changed in [text.replace('\n', "\r\n"), text.replace('\n', "\r"), text.replace('\n', "  \n\n"), text.replace(' ', "\t "), format!("\u{feff}{text}")] {
            let reading = lenient(changed.as_bytes(), None).unwrap();
            prop_assert_eq!(reading.content.pairs(), content.pairs());
            prop_assert_eq!(reading.content.frequencies(), content.frequencies());
            prop_assert_eq!(reading.content.noise(), content.noise());
        }
        let upper = lenient(text.to_ascii_uppercase().as_bytes(), None).unwrap();
        let mut header = content.header().clone();
        header.comments = upper.content.header().comments.clone();
        content = Touchstone::new(header, content.frequencies().to_vec(), content.pairs().to_vec(), content.noise().to_vec()).unwrap();
        prop_assert_eq!(upper.content, content);
    }

    #[test]
    fn a_cut_never_gives_a_silent_number(content in content(), place in 0.0..1.0_f64) {
        let text = write(&content).unwrap();
        let cut = ((text.len() as f64) * place) as usize;
        let Some(part) = text.as_bytes().get(..cut) else { return Ok(()) };
        if let Ok(reading) = lenient(part, Some(content.ports())) {
            let flagged = reading.partial || reading.warnings.iter().any(|w| matches!(w.kind, WarningKind::NoFinalLineEnd));
            // Whole lines of a version 1 file are a shorter valid file; a noise
            // or network frequency is then simply not there.
            let whole = reading.content.frequencies().iter().zip(content.frequencies()).all(|(a, b)| a == b)
                && content.pairs().starts_with(reading.content.pairs())
                && content.noise().starts_with(reading.content.noise());
            let without_end = content.header().version.has_keywords() && reading.warnings.iter().any(|w| matches!(w.kind, WarningKind::NoEnd));
            prop_assert!(whole || flagged, "{part:?}");
            prop_assert!(flagged || without_end || !content.header().version.has_keywords());
        }
    }

    #[test]
    fn changed_bytes_never_panic(content in content(), edits in prop::collection::vec((any::<prop::sample::Index>(), prop_oneof![any::<u8>(), prop::sample::select(b"0123456789.-+eE![]#RrSs \t\r\n".to_vec())]), 1..30)) {
        let mut bytes = write(&content).unwrap().into_bytes();
        for (index, byte) in edits {
            let at = index.index(bytes.len());
            match byte % 3 {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                _ => { bytes.remove(at); }
            }
            if bytes.is_empty() { break; }
        }
        for strictness in [Strictness::Strict, Strictness::Lenient] {
            for ports_from_name in [None, Some(content.ports())] {
                if let Ok(reading) = read(&bytes, &ReadOptions { strictness, ports_from_name }) {
                    if let Ok(sweep) = reading.content.to_sweep() {
                        prop_assert!(sweep.values().iter().all(|v| v.re.is_finite() && v.im.is_finite()));
                    }
                    if let Ok(text) = write(&reading.content) {
                        let again = lenient(text.as_bytes(), None).unwrap();
                        prop_assert_eq!(again.content, reading.content);
                    }
                }
            }
        }
    }

    #[test]
    fn noise_never_panics(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = lenient(&bytes, None);
    }

    #[test]
    fn a_unit_scales_frequencies_exactly(digits in 1_u64..1_000_000_000, power in 0_usize..9) {
        let text = digits.to_string();
        let number = if power == 0 { text.clone() } else { format!("{digits}e-{power}") };
        for (unit, scale) in [("Hz", 0), ("kHz", 3), ("MHz", 6), ("GHz", 9)] {
            let expected: f64 = format!("{digits}e{}", scale - i32::try_from(power).unwrap()).parse().unwrap();
            let reading = lenient(format!("# {unit} S RI R 50\n{number} 0 0\n").as_bytes(), None).unwrap();
            prop_assert_eq!(reading.content.frequencies(), [expected]);
        }
    }
}
