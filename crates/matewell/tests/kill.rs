//! The program killed at random moments while it writes. What it had answered
//! is there afterwards, a batch is there whole or not at all, and the next
//! start says what it found.
#![expect(clippy::unwrap_used, reason = "a broken fixture should stop the test")]

use matewell_app::Workshop;
use matewell_lab::Moment;
use std::{
    collections::BTreeMap,
    fs,
    hash::{BuildHasher as _, Hasher as _, RandomState},
    io::{BufRead as _, BufReader, Read as _, Write as _},
    net::TcpStream,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    time::Duration,
};

const NOW: Moment = Moment::from_microseconds(1_795_597_200_000_000);
/// A fresh lab after so many kills: to verify a long one takes its time.
const RENEWED_AFTER: u32 = 50;

/// The generator of Marsaglia, "Xorshift RNGs", Journal of Statistical
/// Software 8 (14), 2003, with the shifts 13, 7, 17.
struct Random(u64);

impl Random {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % bound
    }
}

struct Lab {
    data: PathBuf,
    mates: PathBuf,
    rows: usize,
    /// Facts of each batch that were answered as written, by the note it carries.
    answered: BTreeMap<String, Vec<String>>,
    /// Size of each batch sent, answered or not.
    sent: BTreeMap<String, usize>,
    /// Rows imported for certain, and imports that were cut short.
    imported: u64,
    cut_imports: u64,
    facts: u64,
}

impl Lab {
    fn new(folder: &Path, count: u32) -> Self {
        let data = folder.join(format!("lab{count}.db"));
        let mates = folder.join("mates.csv");
        let mut shop = Workshop::open(&data, NOW).unwrap();
        shop.demo(NOW).unwrap();
        let text = shop.export_csv("mates").unwrap();
        let lines: Vec<&str> = text.lines().take(201).collect();
        fs::write(&mates, lines.join("\n")).unwrap();
        Self {
            facts: shop.store().counts().unwrap().facts,
            data,
            mates,
            rows: lines.len() - 1,
            answered: BTreeMap::new(),
            sent: BTreeMap::new(),
            imported: 0,
            cut_imports: 0,
        }
    }

    fn program(&self) -> Command {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin("matewell"));
        command.arg("--data").arg(&self.data).stdout(Stdio::piped()).stderr(Stdio::null());
        command
    }

    /// Posts batches of mates to a server until it is killed.
    fn post_until_killed(&mut self, run: u32, random: &mut Random) {
        let mut child = self.program().args(["serve", "--port", "0"]).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().rsplit_once("http://").unwrap().1.trim_end_matches('/').to_owned();
        let killer = kill_after(child, Duration::from_micros(random.below(600_000)));
        for batch in 0.. {
            let note = format!("batch {run}-{batch}");
            let size = 1 + usize::try_from(random.below(8)).unwrap();
            let mate = r#"{"a":"CB-014A","b":"AD-008B","happened_at":"2026-11-20T09:00:00Z"}"#;
            let body =
                format!(r#"{{"mates":[{}],"person":"bench-1","note":"{note}"}}"#, vec![mate; size].join(","));
            self.sent.insert(note.clone(), size);
            let Some(answer) = post(&address, &note, &body) else { break };
            self.answered.insert(note, answer);
        }
        let ended = killer.join().unwrap();
        assert!(!ended, "the server ended by itself");
    }

    /// Imports a file of mates, killed on the way or not.
    fn import_until_killed(&mut self, random: &mut Random) {
        let child = self
            .program()
            .args(["--person", "bench-1", "import"])
            .arg(&self.mates)
            .args(["--kind", "mates", "--answer", "duplicates=keep"])
            .spawn()
            .unwrap();
        let done = kill_after(child, Duration::from_micros(random.below(700_000))).join().unwrap();
        if done {
            self.imported += 1;
        } else {
            self.cut_imports += 1;
        }
    }

    /// Everything that must hold now.
    fn judge(&mut self, seed: u64, run: u32) -> bool {
        let shop = Workshop::open(&self.data, NOW).unwrap();
        let said = shop.found_at_start(NOW).unwrap();
        let store = shop.store();
        let place = format!("seed {seed}, run {run}");
        let found = store.verify().unwrap();
        assert!(found.whole(), "{place}: {found:?}");
        assert_eq!(store.integrity().unwrap(), Vec::<String>::new(), "{place}");
        let mut noted: BTreeMap<String, Vec<String>> = BTreeMap::new();
        let mut imported = 0;
        for told in store.all_facts(self.facts, u64::MAX).unwrap() {
            match told.fact.note {
                Some(note) if note.starts_with("batch ") => {
                    noted.entry(note).or_default().push(told.fact.id.to_string());
                }
                _ => imported += 1,
            }
        }
        for (note, facts) in &self.answered {
            assert_eq!(noted.get(note), Some(facts), "{place}: {note} was answered as written");
        }
        for (note, facts) in &noted {
            assert_eq!(Some(&facts.len()), self.sent.get(note), "{place}: half of {note}");
        }
        assert_eq!(imported % self.rows as u64, 0, "{place}: half an import");
        let imports = imported / self.rows as u64;
        assert!(
            (self.imported..=self.imported + self.cut_imports).contains(&imports),
            "{place}: {imports} imports, {} answered, {} cut",
            self.imported,
            self.cut_imports
        );
        // A cut import is there or not, once and for all.
        self.imported = imports;
        self.cut_imports = 0;
        let told = said.iter().any(|line| line.contains("cut short"));
        if told {
            assert!(said.iter().any(|line| line.contains("whole")), "{place}: {said:?}");
        }
        told
    }
}

/// Kills a child after a while; says whether it had ended by itself and well.
fn kill_after(mut child: Child, after: Duration) -> std::thread::JoinHandle<bool> {
    std::thread::spawn(move || {
        std::thread::sleep(after);
        child.kill().unwrap();
        child.wait().unwrap().success()
    })
}

/// The ids of the facts, when an answer came whole.
fn post(address: &str, key: &str, body: &str) -> Option<Vec<String>> {
    let mut stream = TcpStream::connect(address).ok()?;
    write!(
        stream,
        "POST /api/v1/mates/bulk HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nContent-Type: application/json\r\n\
         Idempotency-Key: {key}\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )
    .ok()?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer).ok()?;
    let (head, body) = answer.split_once("\r\n\r\n")?;
    assert!(head.starts_with("HTTP/1.1 201"), "{answer}");
    let answer: serde_json::Value = serde_json::from_str(body).ok()?;
    Some(answer["facts"].as_array()?.iter().map(|id| id.as_str().unwrap().to_owned()).collect())
}

#[test]
fn killed_at_any_moment_nothing_answered_is_lost() {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse::<u64>().ok());
    let runs = u32::try_from(number("MATEWELL_KILLS").unwrap_or(16)).unwrap();
    let seed = number("MATEWELL_SEED").unwrap_or_else(|| RandomState::new().build_hasher().finish() | 1);
    // Not through the test's own capture: the seed is needed when all goes well too.
    writeln!(std::io::stderr(), "kill: MATEWELL_SEED={seed} MATEWELL_KILLS={runs}").unwrap();
    let mut random = Random(seed);
    let folder = tempfile::tempdir().unwrap();
    let mut lab = Lab::new(folder.path(), 0);
    let (mut told, mut batches, mut cut) = (0, 0, 0);
    for run in 0..runs {
        if run > 0 && run % RENEWED_AFTER == 0 {
            batches += lab.answered.len();
            lab = Lab::new(folder.path(), run);
        }
        if random.below(4) == 0 {
            lab.import_until_killed(&mut random);
        } else {
            lab.post_until_killed(run, &mut random);
        }
        cut += lab.cut_imports;
        told += u32::from(lab.judge(seed, run));
    }
    batches += lab.answered.len();
    writeln!(
        std::io::stderr(),
        "kill: {runs} kills, {batches} batches answered, {cut} imports cut, {told} starts said what they found"
    )
    .unwrap();
    assert!(told > 0, "no start found a program that was cut short");
}
