//! Check characters beside those of python-stdnum 2.2 (independent
//! implementation of ISO/IEC 7064, hybrid systems).

use matewell_intake::{CheckSystem, check_character, verify_check_character};

const CSV: &str = include_str!("../../../crosscheck/intake/check_characters.csv");

#[test]
fn every_check_character_agrees_with_another_implementation() {
    let mut reader = csv::ReaderBuilder::new().delimiter(b';').from_reader(CSV.as_bytes());
    let mut counts = (0, 0);
    for record in reader.records() {
        let record = record.unwrap();
        let (system, text, check) = (&record[0], &record[1], record[2].chars().next().unwrap());
        let system = match system {
            "37,36" => CheckSystem::Mod37_36,
            "11,10" => CheckSystem::Mod11_10,
            other => panic!("{other} is no system"),
        };
        assert_eq!(check_character(text, system).unwrap(), check, "{text}");
        assert!(verify_check_character(&format!("{text}-{check}"), system).unwrap(), "{text}");
        if system == CheckSystem::Mod37_36 { counts.0 += 1 } else { counts.1 += 1 }
    }
    assert_eq!(counts, (178, 150));
}
