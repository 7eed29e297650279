//! A disk that fails: every write and every sync in its turn, full, read-only.
//! The program runs as people run it, over a C library whose writes fail when
//! told to (`faults/shim.c`).
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use matewell_app::Workshop;
use matewell_lab::Moment;
use std::{
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Output},
};
use tempfile::TempDir;

const NOW: Moment = Moment::from_microseconds(1_795_597_200_000_000);
/// Rows of the file that is imported.
const ROWS: usize = 12;
/// Error numbers of Linux.
const EIO: u32 = 5;
const ENOSPC: u32 = 28;

/// A lab of a few items, a file of mates to import, and the failing disk.
struct Bench {
    folder: TempDir,
    facts: u64,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let shim = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/faults/shim.c");
        let built = Command::new("cc")
            .args(["-shared", "-fPIC", "-O1", "-o"])
            .arg(folder.path().join("shim.so"))
            .arg(shim)
            .arg("-ldl")
            .output()
            .unwrap();
        assert!(built.status.success(), "{}", String::from_utf8_lossy(&built.stderr));
        let base = folder.path().join("base.db");
        let mut shop = Workshop::open(&base, NOW).unwrap();
        shop.demo(NOW).unwrap();
        let mates = shop.export_csv("mates").unwrap();
        let rows: Vec<&str> = mates.lines().take(ROWS + 1).collect();
        fs::write(folder.path().join("mates.csv"), rows.join("\n")).unwrap();
        let facts = shop.store().counts().unwrap().facts;
        drop(shop);
        Self { folder, facts }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A lab to be broken, a copy of the good one.
    fn fresh(&self) -> PathBuf {
        for name in ["lab.db-wal", "lab.db-shm"] {
            let _gone = fs::remove_file(self.path(name));
        }
        fs::copy(self.path("base.db"), self.path("lab.db")).unwrap();
        fs::copy(self.path("base.sheets.toml"), self.path("lab.sheets.toml")).unwrap();
        self.path("lab.db")
    }

    fn import(&self, faults: &[(&str, String)]) -> Output {
        Command::new(assert_cmd::cargo::cargo_bin("matewell"))
            .arg("--data")
            .arg(self.path("lab.db"))
            .args(["--person", "bench-1", "import"])
            .arg(self.path("mates.csv"))
            .args(["--kind", "mates", "--answer", "duplicates=keep"])
            .env("LD_PRELOAD", self.path("shim.so"))
            .env("FAULT_PATH", "lab.db")
            .envs(faults.iter().map(|(name, value)| (name, value)))
            .output()
            .unwrap()
    }

    /// Facts of the lab on a disk that works again, after everything about it
    /// was found whole and one more was written.
    fn facts_when_mended(&self, what: &str) -> u64 {
        let mut shop = Workshop::open(&self.path("lab.db"), NOW).unwrap_or_else(|e| panic!("{what}: {e}"));
        let found = shop.store().verify().unwrap();
        assert!(found.whole(), "{what}: {found:?}");
        assert_eq!(shop.store().integrity().unwrap(), Vec::<String>::new(), "{what}");
        let said = matewell_app::Said::at_the_bench("bench-1");
        shop.hold("CB-014A", "dropped", &said, NOW).unwrap();
        assert!(shop.store().verify().unwrap().whole(), "{what}");
        found.facts
    }

    /// What must hold however the disk failed: all or nothing, and nothing
    /// that was answered as written is gone.
    fn judge(&self, what: &str, output: &Output) -> bool {
        let code = output.status.code();
        let errors = String::from_utf8_lossy(&output.stderr);
        assert!(matches!(code, Some(0 | 5)), "{what}: {code:?} {errors}");
        let added = self.facts_when_mended(what) - self.facts;
        assert!(added == 0 || added == ROWS as u64, "{what}: {added} of {ROWS} facts");
        if code == Some(0) {
            assert_eq!(added, ROWS as u64, "{what}: answered as written");
        } else {
            assert!(errors.contains("expected"), "{what}: {errors}");
        }
        code == Some(0)
    }
}

/// In turn each write, sync and truncation fails, once or from then on, with an
/// error of the disk or because it is full.
#[test]
fn whichever_write_or_sync_fails_nothing_answered_is_lost() {
    let bench = Bench::new();
    bench.fresh();
    let report = bench.path("calls").display().to_string();
    assert!(bench.judge("no fault", &bench.import(&[("FAULT_REPORT", report.clone())])));
    let calls: u32 = fs::read_to_string(report).unwrap().trim().parse().unwrap();
    assert!(calls > 20, "{calls} calls: the failing disk is not in the way");
    let (mut refused, mut written) = (0, 0);
    // All of them when asked for, else every third, shifted, so that the kinds
    // of failure meet different calls.
    let every = if std::env::var_os("MATEWELL_EVERY_FAULT").is_some() { 1 } else { 7 };
    for (shift, (error, forever)) in
        [(EIO, false), (EIO, true), (ENOSPC, false), (ENOSPC, true)].into_iter().enumerate()
    {
        for at in (1..=calls).skip(shift).step_by(every) {
            bench.fresh();
            let mut faults = vec![("FAULT_AT", at.to_string()), ("FAULT_ERROR", error.to_string())];
            if forever {
                faults.push(("FAULT_FOREVER", "1".to_owned()));
            }
            let what = format!("call {at} of {calls}, error {error}, forever {forever}");
            if bench.judge(&what, &bench.import(&faults)) { written += 1 } else { refused += 1 }
        }
    }
    writeln!(
        std::io::stderr(),
        "{calls} writes and syncs, every {every}. of them failed in four ways: {refused} refused, {written} written"
    )
    .unwrap();
    assert!(refused > 0);
}

/// A disk that may only be read: the lab is not opened to write, and says why.
#[test]
fn a_read_only_disk_is_said_and_changes_nothing() {
    let bench = Bench::new();
    let lab = bench.fresh();
    let before = fs::read(&lab).unwrap();
    let output = bench.import(&[("FAULT_READ_ONLY", "1".to_owned())]);
    assert_eq!(output.status.code(), Some(5));
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(errors.contains("readonly") || errors.contains("unable to open"), "{errors}");
    assert_eq!(fs::read(&lab).unwrap(), before);
    assert_eq!(bench.facts_when_mended("read-only"), bench.facts);
}

/// The kernel itself refuses to let the files grow (`ulimit -f`), import after
/// import, until nothing fits any more.
#[test]
fn a_disk_that_fills_up_keeps_what_was_answered() {
    let bench = Bench::new();
    let lab = bench.fresh();
    let binary = assert_cmd::cargo::cargo_bin("matewell");
    // Blocks of 512 bytes: a little more than the lab has now.
    let blocks = fs::metadata(&lab).unwrap().len() / 512 + 100;
    let mut written = 0;
    let mut failed = None;
    for n in 0..40 {
        let output = Command::new("sh")
            .args(["-c", "trap '' XFSZ; ulimit -f \"$1\"; shift; exec \"$@\"", "sh", &blocks.to_string()])
            .arg(&binary)
            .arg("--data")
            .arg(&lab)
            .args(["--person", "bench-1", "import"])
            .arg(bench.path("mates.csv"))
            .args(["--kind", "mates", "--answer", "duplicates=keep"])
            .output()
            .unwrap();
        if output.status.code() == Some(0) {
            written += 1;
        } else {
            failed = Some((n, String::from_utf8_lossy(&output.stderr).into_owned()));
            break;
        }
    }
    let (_, errors) = failed.expect("the disk never filled up");
    assert!(errors.contains("expected the database to answer"), "{errors}");
    assert_eq!(bench.facts_when_mended("full"), bench.facts + written * ROWS as u64);
}
