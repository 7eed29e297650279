//! Drafts of each kind from text.

mod lab;

use lab::read;
use matewell_intake::{PinPosition, Resolution, Rows, Sex, Topic};

#[test]
fn a_bare_sign_is_asked_and_the_answer_turns_it() {
    let text = "Date,Tag,Pin depth (um),By,Gauge\n2026-02-03,CB-17A,-12.5,AK,PG-2\n";
    let open = read(text, &[]);
    assert_eq!(open.questions.iter().map(|q| q.topic).collect::<Vec<_>>(), [Topic::PositiveMeans]);
    assert!(open.into_rows().is_err());
    let Rows::Gaugings(rows) = read(text, &[(Topic::PositiveMeans, "recessed")]).into_rows().unwrap() else {
        panic!("gaugings expected")
    };
    let PinPosition::Protruding(length) = rows[0].readings[0] else { panic!("protruding expected") };
    assert!((length.micrometres() - 12.5).abs() < 1e-9);
    // 2026-02-03 is 20487 days after 1970-01-01 (date arithmetic of coreutils).
    assert_eq!((rows[0].when.at_us, rows[0].when.resolution), (20_487 * 86_400_000_000, Resolution::Day));
}

#[test]
fn mates_name_unknown_tags_tags_of_two_ends_and_themselves() {
    let text = "Date,End A,End B,By,Wrench\n2026-02-03,CB-17,AD-3,AK,TW-1\n2026-02-03,CB-17A,XX,AK,\n2026-02-03,AD-3,AD-3,AK,\nTotal,3,,,\n";
    let draft = read(text, &[]);
    let shown: Vec<String> = draft.problems.iter().map(ToString::to_string).collect();
    assert_eq!(shown.len(), 3, "{shown:?}");
    assert!(shown[0].contains("row 2, column B") && shown[0].contains("fits 2 ends"), "{shown:?}");
    assert!(shown[1].contains("row 3, column C") && shown[1].contains("not registered"), "{shown:?}");
    assert!(shown[2].contains("itself"), "{shown:?}");
    assert_eq!(draft.skipped.len(), 1);
}

#[test]
fn times_need_their_zone_and_repeated_mates_an_answer() {
    let text = "Date,End A,End B,By\n03/07/2026 14:05,CB-17A,AD-3,AK\n25/07/2026 14:05,AD-3,CB-17B,AK\n03/07/2026 14:05,AD-3,CB-17A,AK\n";
    let asked = read(text, &[]);
    assert_eq!(
        asked.questions.iter().map(|q| (q.topic, q.cells)).collect::<Vec<_>>(),
        [(Topic::TimeZone, 3)]
    );
    let zone = (Topic::TimeZone, "Europe/Berlin");
    let asked = read(text, &[zone]);
    assert_eq!(asked.questions.iter().map(|q| q.topic).collect::<Vec<_>>(), [Topic::Duplicates]);
    for (answer, count) in [("skip", 2), ("keep", 3)] {
        let rows = read(text, &[zone, (Topic::Duplicates, answer)]).into_rows().unwrap();
        assert_eq!(rows.len(), count);
        let Rows::Mates(rows) = rows else { panic!("mates expected") };
        // Summer time of Berlin is two hours ahead of UTC.
        assert_eq!(rows[0].when.shown(), "2026-07-03T12:05:00Z");
    }
}

#[test]
fn both_layouts_of_a_register_give_the_same_ends() {
    let wide = "Item tag,Type,Interface 1,Sex 1,Interface 2,Sex 2,Cost\nCB-90,cable,SMA,m,N 50,f,420 EUR\n";
    let long = "Item tag,Type,End,Interface,Sex,Cost\nCB-90,cable,1,SMA,m,420 EUR\nCB-90,cable,2,N 50,f,\n";
    for text in [wide, long] {
        let draft = read(text, &[]);
        let Rows::Register(rows) = draft.into_rows().unwrap() else { panic!("register expected") };
        let ends: Vec<_> =
            rows[0].ends.iter().map(|end| (end.tag.as_str(), end.interface.as_str(), end.sex)).collect();
        assert_eq!(ends, [("CB-90/1", "sma", Sex::Pin), ("CB-90/2", "n-50", Sex::Socket)]);
        assert_eq!(rows[0].cost.as_ref().unwrap().hundredths, 42_000);
    }
    let ambiguous = read("Item tag,Type,Interface,Sex\nAD-9,adapter,N,f\n", &[]);
    assert!(ambiguous.problems[0].to_string().contains("n-50 or n-75"));
}
