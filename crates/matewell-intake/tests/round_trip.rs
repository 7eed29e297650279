//! Tables as the lab's own export writes them: nothing to ask, nothing to correct.

mod lab;

use lab::{Lab, Names, guess};
use matewell_intake::{
    Confidence, Field, Kind, OutcomeWord, PinPosition, Resolution, Rows, When, draft, guess_kind,
    guess_mapping, read_tables,
};

/// Reads a table that must need nothing: kind, every column, no question, no problem.
#[expect(clippy::unwrap_used, reason = "a helper of tests: a draft that is not ready fails the test")]
#[track_caller]
fn plain(text: &str, kind: Kind, fields: &[(Option<Field>, Option<u8>)]) -> Rows {
    let (table, mapping) = guess(text.as_bytes(), &[]);
    assert_eq!(mapping.kind, kind);
    assert_eq!(mapping.header_row, 1);
    for (column, (field, end)) in mapping.columns.iter().zip(fields) {
        assert_eq!((column.field, column.end), (*field, *end), "{}", column.header);
        assert!(field.is_none() || column.confidence == Confidence::Good, "{}", column.header);
    }
    assert_eq!(mapping.columns.len(), fields.len());
    let draft = draft(&table, &mapping, &Names, &Lab);
    assert_eq!(draft.problems, []);
    assert_eq!(draft.questions, []);
    assert_eq!(draft.duplicates, []);
    draft.into_rows().unwrap()
}

#[expect(clippy::unwrap_used, reason = "a helper of tests: a time that is none fails the test")]
fn at(text: &str) -> When {
    let (text, resolution) = if text.contains('T') {
        (text.to_owned(), Resolution::Instant)
    } else {
        (format!("{text}T00:00:00Z"), Resolution::Day)
    };
    When { at_us: text.parse::<jiff::Timestamp>().unwrap().as_microsecond(), resolution }
}

const REGISTER: &str = "Item,Kind,Description,Model,Serial number,Location,Cost,Currency,Gauge standard uncertainty (um),Repeatability (um),Set torque (N.m),Note,End tag,Interface,Sex,Grade,Material,Slotted";

fn register_fields() -> Vec<(Option<Field>, Option<u8>)> {
    [
        Field::ItemTag,
        Field::ItemKind,
        Field::Description,
        Field::Model,
        Field::Serial,
        Field::Location,
        Field::Cost,
        Field::Currency,
        Field::GaugeUncertainty,
        Field::Repeatability,
        Field::Torque,
        Field::Note,
        Field::EndTag,
        Field::Interface,
        Field::Sex,
        Field::Grade,
        Field::BodyMaterial,
        Field::Slotting,
    ]
    .map(|field| (Some(field), None))
    .to_vec()
}

#[test]
fn a_register_comes_back() {
    let mut fields = register_fields();
    for extra in ["Bought from", "Date", "Owner", "Torque", "Impedance", "Gauge"] {
        fields.push((None, None));
        let text = format!(
            "{REGISTER},{extra}\n\
             CB-90,cable,\"flexible, 1 m\",M1,S-001,drawer 1,1420.50,EUR,,,,spare,CB-90A,sma,pin,metrology,stainless,,x 1\n\
             CB-90,cable,\"flexible, 1 m\",M1,S-001,drawer 1,1420.50,EUR,,,,spare,CB-90B,n-50,socket,,,slotted,x 1\n\
             PG-9,gauge,,,,,,,1.125,0.75,,,,,,,,,\n\
             TW-9,torque-wrench,,,,,,,,,1.356,,,,,,,,\n\
             KS-1,calibration-standard,,,,,,,,,,,KS-1,sma,neutral,instrument,beryllium-copper,slotless,\n"
        );
        let (table, mapping) = guess(text.as_bytes(), &[]);
        let last = mapping.columns.last().unwrap();
        // A known word beside its own column is extra; a field of no use here may be named.
        let expected = (last.field == Some(Field::Impedance)).then_some(Field::Impedance);
        fields.pop();
        fields.push((expected, None));
        let Rows::Register(rows) = plain(&text, Kind::Register, &fields) else { panic!("register expected") };
        fields.pop();
        assert_eq!(table.rows.len(), 6);
        assert_eq!(rows.len(), 4, "{extra}");
        let cable = &rows[0];
        assert_eq!(cable.description, "flexible, 1 m");
        assert_eq!(
            [&cable.model, &cable.serial, &cable.location, &cable.note].map(String::as_str),
            ["M1", "S-001", "drawer 1", "spare"]
        );
        let cost = cable.cost.as_ref().unwrap();
        assert_eq!((cost.hundredths, cost.currency.as_str()), (142_050, "EUR"));
        assert_eq!(cable.extra, [(extra.to_owned(), "x 1".to_owned())]);
        let ends: Vec<String> = cable
            .ends
            .iter()
            .map(|end| {
                [
                    &end.tag,
                    &end.interface,
                    end.sex.word(),
                    end.grade.word(),
                    end.body.word(),
                    end.slots.word(),
                ]
                .join(" ")
            })
            .collect();
        assert_eq!(
            ends,
            ["CB-90A sma pin metrology stainless unknown", "CB-90B n-50 socket unknown unknown slotted"]
        );
        let gauge = &rows[1];
        assert!((gauge.gauge_standard_uncertainty_um.unwrap() - 1.125).abs() < 1e-9);
        assert!((gauge.repeatability_um.unwrap() - 0.75).abs() < 1e-9);
        assert!((rows[2].wrench_set_point.unwrap().newton_metres() - 1.356).abs() < 1e-9);
        assert_eq!(rows[3].ends[0].body.word(), "beryllium-copper");
    }
}

#[test]
fn mates_come_back_to_the_microsecond() {
    let text = "Date,End 1,End 2,Wrench,Person,Note\n\
        2026-11-25T08:30:00.25Z,CB-17A,AD-3,TW-1,AK,\n\
        2026-11-25T08:30:00.000001Z,CB-17B,AD-3,,AK,\"two, lines\nof note\"\n\
        2026-11-25,CB-17A,AD-3,,AK,\n";
    let fields = [
        (Some(Field::Date), None),
        (Some(Field::EndTag), Some(1)),
        (Some(Field::EndTag), Some(2)),
        (Some(Field::Wrench), None),
        (Some(Field::Person), None),
        (Some(Field::Note), None),
    ];
    let Rows::Mates(rows) = plain(text, Kind::Mates, &fields) else { panic!("mates expected") };
    let times: Vec<When> = rows.iter().map(|row| row.when).collect();
    assert_eq!(times, [at("2026-11-25T08:30:00.25Z"), at("2026-11-25T08:30:00.000001Z"), at("2026-11-25")]);
    assert_eq!(rows[0].when.at_us % 1_000_000, 250_000);
    assert_eq!(rows[0].when.shown(), "2026-11-25T08:30:00.25Z");
    assert_eq!((rows[0].end_a.as_str(), rows[0].end_b.as_str()), ("CB-17A", "AD-3"));
    assert_eq!((rows[0].wrench.as_deref(), rows[1].wrench.as_deref()), (Some("TW-1"), None));
    assert_eq!(rows[1].note, "two, lines\nof note");
}

#[test]
fn gaugings_come_back_with_their_words() {
    let text = "Date,End,Gauge,Reading 1,Reading 2,Reading 3,Standard uncertainty (um),Person,Note\n\
        2026-11-25T08:30:00.25Z,CB-17A,PG-2,12.5 um recessed,12.625 um recessed,,1.5,AK,\n\
        2026-11-25,CB-17B,,3 um protruding,0 um recessed,0.5 um protruding,,AK,after cleaning\n";
    let fields = [
        (Some(Field::Date), None),
        (Some(Field::EndTag), Some(1)),
        (Some(Field::Gauge), None),
        (Some(Field::PinDepth), None),
        (Some(Field::PinDepth), None),
        (Some(Field::PinDepth), None),
        (Some(Field::Uncertainty), None),
        (Some(Field::Person), None),
        (Some(Field::Note), None),
    ];
    let Rows::Gaugings(rows) = plain(text, Kind::Gaugings, &fields) else { panic!("gaugings expected") };
    let um: Vec<Vec<f64>> = rows
        .iter()
        .map(|row| {
            let um = |position: &PinPosition| match position {
                PinPosition::Recessed(by) => by.micrometres(),
                PinPosition::Protruding(by) => -by.micrometres(),
                PinPosition::Flush => 0.0,
            };
            row.readings.iter().map(um).map(|um| (um * 1e9).round() / 1e9).collect()
        })
        .collect();
    assert_eq!(um, [vec![12.5, 12.625], vec![-3.0, 0.0, -0.5]]);
    assert!((rows[0].stated_uncertainty_um.unwrap() - 1.5).abs() < 1e-9);
    assert_eq!(rows[0].when, at("2026-11-25T08:30:00.25Z"));
    assert_eq!((rows[0].gauge.as_deref(), rows[1].gauge.as_deref()), (Some("PG-2"), None));
}

#[test]
fn three_decimals_alone_are_no_thousands_of_micrometres() {
    let text = "Date,End,Gauge,Reading 1,Standard uncertainty (um),Person,Note\n2026-11-25,CB-17A,PG-2,12.625 um recessed,1.125,AK,\n";
    let (table, mapping) = guess(text.as_bytes(), &[]);
    let draft = draft(&table, &mapping, &Names, &Lab);
    assert_eq!((draft.problems.len(), draft.questions.len()), (0, 0), "{:?}", draft.questions);
    let Rows::Gaugings(rows) = draft.into_rows().unwrap() else { panic!("gaugings expected") };
    let PinPosition::Recessed(by) = rows[0].readings[0] else { panic!("recessed expected") };
    assert!((by.micrometres() - 12.625).abs() < 1e-9);
}

#[test]
fn cleanings_come_back() {
    let text = "Date,End,Method,Person,Note\n2026-11-25T08:30:00.25Z,CB-17A,\"swab, isopropanol\",AK,\n2026-11-25,AD-3,dry air,BL,twice\n";
    let fields = [
        (Some(Field::Date), None),
        (Some(Field::EndTag), Some(1)),
        (Some(Field::Method), None),
        (Some(Field::Person), None),
        (Some(Field::Note), None),
    ];
    let Rows::Cleanings(rows) = plain(text, Kind::Cleanings, &fields) else { panic!("cleanings expected") };
    assert_eq!((rows[0].method.as_str(), rows[1].note.as_str()), ("swab, isopropanol", "twice"));
    assert_eq!((rows[0].when, rows[1].when), (at("2026-11-25T08:30:00.25Z"), at("2026-11-25")));
}

#[test]
fn inspections_keep_the_outcome_and_the_words_apart() {
    let text = "Date,End,Outcome,Seen,Magnification,Person,Note\n\
        2026-11-25T08:30:00.25Z,CB-17A,good,,40,AK,\n\
        2026-11-25,CB-17B,normal-wear,\"dust on the rim; ring, two mm wide/long; scratch at 3 o'clock\",12.5,AK,\n\
        2026-11-25,AD-3,damaged,bent pin,,AK,quarantined\n";
    let (_, mapping) = guess(text.as_bytes(), &[]);
    let outcome = mapping.columns[2].field;
    let fields = [
        (Some(Field::Date), None),
        (Some(Field::EndTag), Some(1)),
        (outcome, None),
        (Some(Field::Finding), None),
        (Some(Field::Magnification), None),
        (Some(Field::Person), None),
        (Some(Field::Note), None),
    ];
    assert!(outcome.is_some() && outcome != Some(Field::Finding));
    let Rows::Inspections(rows) = plain(text, Kind::Inspections, &fields) else {
        panic!("inspections expected")
    };
    let outcomes: Vec<OutcomeWord> = rows.iter().map(|row| row.outcome).collect();
    assert_eq!(outcomes, [OutcomeWord::Good, OutcomeWord::NormalWear, OutcomeWord::Damaged]);
    assert_eq!(rows[0].seen, [""; 0]);
    assert_eq!(rows[1].seen, ["dust on the rim", "ring, two mm wide/long", "scratch at 3 o'clock"]);
    assert_eq!(rows[2].seen, ["bent pin"]);
    let magnifications: Vec<Option<f64>> = rows.iter().map(|row| row.magnification).collect();
    assert_eq!(magnifications, [Some(40.0), Some(12.5), None]);
}

#[test]
fn empty_tables_are_told_apart_by_their_headers() {
    for (head, kind) in [
        (REGISTER, Kind::Register),
        ("Date,End 1,End 2,Wrench,Person,Note", Kind::Mates),
        ("Date,End,Gauge,Standard uncertainty (um),Person,Note", Kind::Gaugings),
        ("Date,End,Method,Person,Note", Kind::Cleanings),
        ("Date,End,Outcome,Seen,Magnification,Person,Note", Kind::Inspections),
    ] {
        let table = read_tables(format!("{head}\n").as_bytes(), "t.csv").unwrap().remove(0);
        assert_eq!(guess_kind(&table), Some(kind), "{head}");
        let mapping = guess_mapping(&table, kind);
        assert!(mapping.columns.iter().all(|column| column.field.is_some()), "{head}");
    }
}
