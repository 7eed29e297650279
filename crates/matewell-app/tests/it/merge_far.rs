//! A lab that runs elsewhere is taken over as a file would be: the same facts,
//! the same answer, and nothing of what did not arrive as it was written.

use crate::lab::{NOW, REGISTER, said};
use matewell_app::{AppError, FarLab, ImportOrder, LoggedMate, UuidV7, Workshop};
use matewell_lab::{InspectionOutcome, Moment};
use matewell_wire::FactsAsked;
use std::{
    cell::Cell,
    io::{BufRead, Cursor, Read},
    path::{Path, PathBuf},
};
use tempfile::TempDir;

fn at(minutes: u32) -> Moment {
    NOW.plus_days(f64::from(minutes) / 1440.0)
}

/// The other lab, with somebody on the way who may change what passes.
struct Far<'a> {
    shop: Workshop,
    change: Box<dyn FnMut(Vec<u8>) -> Vec<u8> + 'a>,
    /// What was asked, and how many facts came.
    asked: Vec<(FactsAsked, usize)>,
    files: usize,
    /// Written between two answers.
    meanwhile: bool,
}

impl<'a> Far<'a> {
    fn new(path: &Path) -> Self {
        Self::changed(path, |bytes| bytes)
    }

    fn changed(path: &Path, change: impl FnMut(Vec<u8>) -> Vec<u8> + 'a) -> Self {
        let shop = Workshop::open(path, at(30)).unwrap();
        Self { shop, change: Box::new(change), asked: Vec::new(), files: 0, meanwhile: false }
    }
}

impl FarLab for Far<'_> {
    fn address(&self) -> &'static str {
        "http://laptop"
    }

    fn facts(&mut self, asked: &FactsAsked) -> Result<Box<dyn BufRead + '_>, AppError> {
        let text = self.shop.sent_facts(asked)?;
        self.asked.push((asked.clone(), text.lines().count() - 2));
        if self.meanwhile {
            self.shop.clean("CB-1A", None, &said(), at(30))?;
        }
        Ok(Box::new(Cursor::new((self.change)(text.into_bytes()))))
    }

    fn file(&mut self, sha256: &str) -> Result<Box<dyn Read + '_>, AppError> {
        self.files += 1;
        Ok(Box::new(Cursor::new((self.change)(self.shop.sent_file(sha256)?))))
    }
}

struct Labs {
    folder: TempDir,
    lab: PathBuf,
    laptop: PathBuf,
}

/// A lab, and a laptop that took its facts along and went on alone.
fn labs() -> Labs {
    let folder = tempfile::tempdir().unwrap();
    let (lab, laptop) = (folder.path().join("lab.db"), folder.path().join("laptop.db"));
    let mut shop = Workshop::open(&lab, NOW).unwrap();
    let order = ImportOrder {
        bytes: REGISTER.into(),
        file_name: "register.csv".to_owned(),
        ..ImportOrder::default()
    };
    assert!(shop.import(&order, &said(), NOW).unwrap().written);
    let mut away = Workshop::open(&laptop, NOW).unwrap();
    away.merge(&lab, at(1)).unwrap();
    shop.inspect("CB-1B", InspectionOutcome::Good, Vec::new(), None, &said(), at(5)).unwrap();
    away.hold("CB-1A", "dropped; \u{202e}\"odd\" \\ µm\r\n", &said(), at(9)).unwrap();
    away.clean("IN-1P1", None, &said(), at(10)).unwrap();
    Labs { folder, lab, laptop }
}

/// The whole log as it lies there, row by row.
fn rows(path: &Path) -> String {
    Workshop::open(path, at(60)).unwrap().sent_facts(&FactsAsked::default()).unwrap()
}

fn copy(labs: &Labs, name: &str) -> PathBuf {
    let to = labs.folder.path().join(name);
    std::fs::copy(&labs.lab, &to).unwrap();
    to
}

#[test]
fn what_is_taken_over_from_elsewhere_is_what_a_file_would_give() {
    let labs = labs();
    let (by_file, by_far) = (copy(&labs, "file.db"), copy(&labs, "far.db"));
    let told = Workshop::open(&by_file, at(40)).unwrap().merge(&labs.laptop, at(40)).unwrap();
    let mut far = Far::new(&labs.laptop);
    let mut shop = Workshop::open(&by_far, at(40)).unwrap();
    assert_eq!(shop.merge_far(&mut far, at(40)).unwrap(), told);
    assert_eq!((told.taken, told.known), (3, 3), "the policy of the laptop and two acts");
    assert_eq!(far.asked.len(), 1);
    assert_eq!(far.asked[0].1, 3, "only what is missing is sent");
    assert!(shop.verify().unwrap().whole);
    assert_eq!(rows(&by_far), rows(&by_file), "row by row, in the same order");
    // Twice adds nothing, and nothing is sent again.
    let again = shop.merge_far(&mut far, at(41)).unwrap();
    assert_eq!((again.taken, again.known, far.asked[1].1), (0, 6, 0));
    let file_again = Workshop::open(&by_file, at(41)).unwrap().merge(&labs.laptop, at(41)).unwrap();
    assert_eq!(again, file_again);
    // And home again: the laptop takes what the lab has.
    let mut home = Workshop::open(&labs.laptop, at(42)).unwrap();
    let back = home.merge_far(&mut Far::new(&by_far), at(42)).unwrap();
    assert_eq!((back.taken, back.known), (1, 6));
    assert!(home.verify().unwrap().whole);
}

#[test]
fn kept_files_come_along_and_are_looked_at() {
    let folder = tempfile::tempdir().unwrap();
    let (demo, one, two) =
        (folder.path().join("demo.db"), folder.path().join("one.db"), folder.path().join("two.db"));
    Workshop::open(&demo, NOW).unwrap().demo(NOW).unwrap();
    let told = Workshop::open(&one, at(1)).unwrap().merge(&demo, at(1)).unwrap();
    let mut far = Far::new(&demo);
    assert_eq!(Workshop::open(&two, at(1)).unwrap().merge_far(&mut far, at(1)).unwrap(), told);
    assert_eq!(far.files, 8, "each file once");
    let verified = Workshop::open(&two, at(2)).unwrap().verify().unwrap();
    assert_eq!((verified.whole, verified.files), (true, 8));
    assert_eq!(rows(&two), rows(&one));
    Workshop::open(&two, at(2)).unwrap().merge_far(&mut far, at(2)).unwrap();
    assert_eq!(far.files, 8, "no file comes twice");
    // A file that is not what was written, or is cut off, keeps everything out.
    for cut in [false, true] {
        let path = folder.path().join(format!("three-{cut}.db"));
        let mut passed = 0;
        let mut far = Far::changed(&demo, |mut bytes| {
            passed += 1;
            if passed == 4 {
                let middle = bytes.len() / 2;
                if cut { bytes.truncate(middle) } else { bytes[middle] ^= 1 }
            }
            bytes
        });
        let mut shop = Workshop::open(&path, at(3)).unwrap();
        let error = shop.merge_far(&mut far, at(3)).unwrap_err().to_string();
        assert!(error.contains("http://laptop: file ") && error.contains("with this SHA-256"), "{error}");
        assert_eq!(shop.store().counts().unwrap().facts, 0);
        assert!(shop.store().kept_files().unwrap().is_empty());
    }
}

#[test]
fn whichever_byte_is_changed_nothing_else_than_what_was_written_comes_in() {
    let labs = labs();
    let whole = rows(&labs.lab);
    let expected = {
        let to = copy(&labs, "expected.db");
        Workshop::open(&to, at(40)).unwrap().merge(&labs.laptop, at(40)).unwrap();
        rows(&to)
    };
    let (mut refused, mut same, mut facts) = (0, 0, 0);
    let path = copy(&labs, "changed.db");
    let mut shop = Workshop::open(&path, at(40)).unwrap();
    let (at_byte, reached) = (Cell::new(0), Cell::new(true));
    let mut far = Far::changed(&labs.laptop, |mut bytes| {
        match bytes.get_mut(at_byte.get()) {
            Some(byte) => *byte ^= 1,
            None => reached.set(false),
        }
        bytes
    });
    while reached.get() {
        let n = at_byte.get();
        if let Err(error) = shop.merge_far(&mut far, at(40)) {
            assert!(error.to_string().starts_with("http://laptop: line "), "{error}");
            facts += u32::from(error.to_string().contains("to have the SHA-256"));
            refused += 1;
            let now = shop.sent_facts(&FactsAsked::default()).unwrap();
            assert_eq!(now, whole, "byte {n}: {error}");
        } else {
            // A changed number that only says where to ask on changes nothing.
            same += 1;
            assert_eq!(rows(&path), expected, "byte {n}");
            drop(shop);
            std::fs::remove_file(&path).unwrap();
            shop = Workshop::open(&copy(&labs, "changed.db"), at(40)).unwrap();
        }
        at_byte.set(n + 1);
    }
    assert!(
        refused > 1000 && facts > 300,
        "{refused} refused, {facts} by the hash of a fact, {same} the same"
    );
    assert!(same < 10, "{same}");
}

#[test]
fn wherever_the_connection_is_cut_nothing_is_written() {
    let labs = labs();
    let whole = rows(&labs.lab);
    let mut shop = Workshop::open(&labs.lab, at(40)).unwrap();
    let (cut_at, length) = (Cell::new(0), Cell::new(1));
    let mut far = Far::changed(&labs.laptop, |mut bytes| {
        length.set(bytes.len());
        bytes.truncate(cut_at.get());
        bytes
    });
    while cut_at.get() < length.get() {
        let error = shop.merge_far(&mut far, at(40)).unwrap_err().to_string();
        assert!(error.contains("cut off") && error.contains("Nothing was written"), "{error}");
        cut_at.set(cut_at.get() + 1);
    }
    assert!(length.get() > 1000, "{}", length.get());
    assert_eq!(rows(&labs.lab), whole);
    assert_eq!(shop.merge_far(&mut Far::new(&labs.laptop), at(40)).unwrap().taken, 3);
}

#[test]
fn a_log_that_went_on_in_two_places_is_refused_also_from_elsewhere() {
    let labs = labs();
    let copied = labs.folder.path().join("copied.db");
    Workshop::open(&labs.laptop, at(11)).unwrap().back_up(&copied, at(11)).unwrap();
    let look = |path: &Path, tag: &str| {
        let mut shop = Workshop::open(path, at(12)).unwrap();
        shop.inspect(tag, InspectionOutcome::Good, Vec::new(), None, &said(), at(12)).unwrap();
    };
    look(&labs.laptop, "CB-1A");
    look(&copied, "CB-1B");
    let mut lab = Workshop::open(&labs.lab, at(40)).unwrap();
    lab.merge_far(&mut Far::new(&labs.laptop), at(40)).unwrap();
    let before = lab.store().counts().unwrap();
    // As long as ours, shorter than ours after one more, and longer.
    for more in [0, 1, 2] {
        if more > 0 {
            look(if more == 1 { &labs.laptop } else { &copied }, "CB-1A");
        }
        let error = lab.merge_far(&mut Far::new(&copied), at(41)).unwrap_err().to_string();
        assert!(error.contains("expected one chain") || error.contains("SHA-256"), "{error}");
        assert_eq!(lab.store().counts().unwrap(), before);
    }
}

#[test]
fn a_long_log_comes_page_by_page_and_what_comes_in_meanwhile_waits() {
    let labs = labs();
    let mates: Vec<LoggedMate> = (0..4_500_u32)
        .map(|n| LoggedMate {
            a: "CB-1A".to_owned(),
            b: "IN-1P2".to_owned(),
            happened_at: NOW.plus_days(-f64::from(n) / 1440.0),
            wrench: None,
        })
        .collect();
    Workshop::open(&labs.laptop, at(20)).unwrap().log_mates(&mates, &said(), at(20)).unwrap();
    let mut far = Far::new(&labs.laptop);
    far.meanwhile = true;
    let mut lab = Workshop::open(&labs.lab, at(40)).unwrap();
    let told = lab.merge_far(&mut far, at(40)).unwrap();
    assert_eq!((told.taken, told.known), (4_503, 3));
    assert_eq!(far.asked.len(), 3);
    assert!(far.asked.iter().all(|(_, facts)| *facts <= 2_000), "{:?}", far.asked[1]);
    assert!(far.asked[1].0.after > 0 && far.asked[1].0.up_to.is_some());
    assert!(lab.verify().unwrap().whole);
    // The three that came in meanwhile come the next time.
    far.meanwhile = false;
    let told = lab.merge_far(&mut far, at(41)).unwrap();
    assert_eq!((told.taken, told.known), (3, 4_506));
}

#[test]
fn an_empty_lab_and_odd_answers() {
    let mut empty = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
    let labs = labs();
    let nothing = labs.folder.path().join("empty.db");
    let told = empty.merge_far(&mut Far::new(&nothing), NOW).unwrap();
    assert_eq!((told.taken, told.known), (0, 0));
    for (answer, expected) in [
        ("", "cut off"),
        ("<html>\n", "the line with the format"),
        ("{\"format\":\"other-2\",\"up_to\":1,\"chains\":[]}\n", "matewell-facts-1"),
        (
            "{\"format\":\"matewell-facts-1\",\"up_to\":9,\"chains\":[{\"machine\":\"x\",\"place\":1,\"sha256\":\"\"}]}\n",
            "line 1",
        ),
        ("{\"format\":\"matewell-facts-1\",\"up_to\":9,\"chains\":[]}\n{}\n", "the last line"),
        (
            "{\"format\":\"matewell-facts-1\",\"up_to\":9,\"chains\":[]}\n{\"facts\":0,\"after\":0,\"more\":true}\n",
            "sent on after 0",
        ),
        (
            "{\"format\":\"matewell-facts-1\",\"up_to\":9,\"chains\":[]}\n{\"facts\":1,\"after\":1,\"more\":false}\n",
            "expected 1 facts, found 0",
        ),
        (
            "{\"format\":\"matewell-facts-1\",\"up_to\":9,\"chains\":[]}\n{\"facts\":0,\"after\":1,\"more\":false}\nmore",
            "nothing after the last line",
        ),
    ] {
        let mut far = Far::changed(&nothing, |_| answer.as_bytes().to_vec());
        let error = empty.merge_far(&mut far, NOW).unwrap_err().to_string();
        assert!(error.contains(expected), "{error}");
    }
    assert_eq!(empty.store().counts().unwrap().facts, 0);
}
