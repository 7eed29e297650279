//! The facts of a lab that runs elsewhere: sent, and taken over.
//!
//! What arrives is put aside in a file without a name while every hash is
//! computed again; only when all of it is there and fits, it is written, in
//! one transaction.

use crate::{AppError, Workshop, error::bad};
use matewell_lab::{FactId, MachineId, Moment};
use matewell_store::{
    Arrival, ChainEnds, Hash, MOST_FILE_BYTES, SentFact, StoreError, file_of, hash_from_text, hash_text,
    sha256_of,
};
use matewell_wire::{
    ChainEndJson, FactsAsked, MergeJson, SENT_FORMAT, SentFactJson, SentHeadJson, SentLastJson,
};
use std::{
    collections::BTreeMap,
    fs::File,
    io::{self, BufRead, BufReader, BufWriter, Read, Seek as _, SeekFrom, Write as _},
};

/// Longest line that is read: the longest payload, every character escaped,
/// and room for the rest.
const MOST_LINE: u64 = 40 * 1024 * 1024;

/// A lab that runs elsewhere.
pub trait FarLab {
    /// Its address, without any secret.
    fn address(&self) -> &str;

    /// The answer to a question for facts, line by line.
    ///
    /// # Errors
    ///
    /// A lab that cannot be reached or refuses.
    fn facts(&mut self, asked: &FactsAsked) -> Result<Box<dyn BufRead + '_>, AppError>;

    /// The bytes of a kept file.
    ///
    /// # Errors
    ///
    /// A lab that cannot be reached or refuses.
    fn file(&mut self, sha256: &str) -> Result<Box<dyn Read + '_>, AppError>;
}

fn end_json((machine, place, hash): (MachineId, u64, Hash)) -> ChainEndJson {
    ChainEndJson { machine: machine.to_string(), place, sha256: hash_text(&hash) }
}

fn end_of(json: &ChainEndJson) -> Result<(MachineId, u64, Hash), String> {
    let machine: MachineId = json.machine.parse().map_err(|e: matewell_lab::LabError| e.to_string())?;
    let hash = hash_from_text(&json.sha256)
        .ok_or_else(|| format!("expected 64 hexadecimal digits, found \"{}\"", json.sha256))?;
    Ok((machine, json.place, hash))
}

fn fact_json(sent: SentFact) -> SentFactJson {
    SentFactJson {
        id: sent.id.to_string(),
        machine: sent.machine.to_string(),
        place: sent.place,
        kind: sent.kind,
        happened_at_us: sent.happened_at,
        resolution: sent.resolution,
        sequence: sent.sequence,
        recorded_at_us: sent.recorded_at,
        person: sent.person,
        source: sent.source,
        note: sent.note,
        payload: sent.payload,
        sha256: hash_text(&sent.hash),
    }
}

fn sent_fact(json: SentFactJson) -> Result<SentFact, String> {
    let text = |e: matewell_lab::LabError| e.to_string();
    Ok(SentFact {
        id: json.id.parse::<FactId>().map_err(text)?,
        machine: json.machine.parse().map_err(text)?,
        place: json.place,
        kind: json.kind,
        happened_at: json.happened_at_us,
        resolution: json.resolution,
        sequence: json.sequence,
        recorded_at: json.recorded_at_us,
        person: json.person,
        source: json.source,
        note: json.note,
        payload: json.payload,
        hash: hash_from_text(&json.sha256)
            .ok_or_else(|| format!("expected 64 hexadecimal digits, found \"{}\"", json.sha256))?,
    })
}

impl Workshop {
    /// Facts that another lab lacks, as lines: what [`Workshop::merge_far`]
    /// takes over. At most some thousand in one answer.
    ///
    /// # Errors
    ///
    /// Ends of chains that cannot be read; a store that cannot be read.
    pub fn sent_facts(&self, asked: &FactsAsked) -> Result<String, AppError> {
        let known: ChainEnds = asked
            .known
            .iter()
            .map(end_of)
            .collect::<Result<Vec<_>, _>>()
            .map_err(|message| bad("known", message))?
            .into_iter()
            .collect();
        let cannot = |e: serde_json::Error| AppError::Conflict(format!("a fact could not be written: {e}"));
        let (head, page) = self.store.in_one_look(|| {
            let last = self.store.last_number()?;
            // The chains may be longer by now; only the first answer is about their ends.
            let head = SentHeadJson {
                format: SENT_FORMAT.to_owned(),
                up_to: asked.up_to.map_or(last, |up_to| up_to.min(last)),
                chains: self.store.chain_ends()?.iter().map(end_json).collect(),
            };
            let page = self.store.missing(&known, asked.after, head.up_to)?;
            Ok::<_, StoreError>((head, page))
        })?;
        let facts = page.facts.len() as u64;
        let mut text = serde_json::to_string(&head).map_err(cannot)?;
        text.push('\n');
        for fact in page.facts {
            text.push_str(&serde_json::to_string(&fact_json(fact)).map_err(cannot)?);
            text.push('\n');
        }
        let last = SentLastJson { facts, after: page.after, more: page.more };
        text.push_str(&serde_json::to_string(&last).map_err(cannot)?);
        text.push('\n');
        Ok(text)
    }

    /// The bytes of a kept file.
    ///
    /// # Errors
    ///
    /// What is no SHA-256; a file that is not kept.
    pub fn sent_file(&self, sha256: &str) -> Result<Vec<u8>, AppError> {
        let unknown = || AppError::UnknownTag { what: "a kept file", found: sha256.to_owned() };
        let hash = hash_from_text(sha256).ok_or_else(unknown)?;
        self.store.kept_file(&hash)?.ok_or_else(unknown)
    }

    /// Takes over the facts of a lab that runs elsewhere, as
    /// [`Workshop::merge`] those of a file: the same result, any number of
    /// times. Only what is missing here is asked for.
    ///
    /// # Errors
    ///
    /// A lab that cannot be reached or refuses; anything that did not arrive
    /// as it was written, with its line; one machine that went on in two
    /// places. Nothing is written then.
    pub fn merge_far(&mut self, far: &mut dyn FarLab, now: Moment) -> Result<MergeJson, AppError> {
        let mut arrivals = Arrivals::new(self)?;
        arrivals.read_facts(self, far)?;
        arrivals.read_files(self, far)?;
        let known = arrivals.known;
        let mut again = arrivals.again()?;
        let mut merged = self.store.take_over(move || again.next())?;
        merged.known += known;
        self.merged(&merged, now)
    }
}

/// What arrived and was put aside: facts first, then the files they speak of.
struct Arrivals {
    aside: BufWriter<File>,
    /// Where the chains end here.
    started: ChainEnds,
    /// Where they end with what arrived.
    ends: ChainEnds,
    /// Facts of the other lab that were here already.
    known: u64,
    facts: u64,
    /// Files to be asked for, with their lengths.
    files: BTreeMap<Hash, u64>,
}

impl Arrivals {
    fn new(shop: &Workshop) -> Result<Self, AppError> {
        // Beside the lab's own files, where there is room for what is taken over.
        let folder = shop.own_sheets.as_deref().and_then(std::path::Path::parent);
        let made = match folder {
            Some(folder) if folder.is_dir() => tempfile::tempfile_in(folder),
            _ => tempfile::tempfile(),
        };
        let started = shop.store.chain_ends()?;
        Ok(Self {
            aside: BufWriter::new(made.map_err(|e| put_aside(&e))?),
            ends: started.clone(),
            started,
            known: 0,
            facts: 0,
            files: BTreeMap::new(),
        })
    }

    fn read_facts(&mut self, shop: &Workshop, far: &mut dyn FarLab) -> Result<(), AppError> {
        let mut asked =
            FactsAsked { known: self.ends.iter().map(end_json).collect(), ..FactsAsked::default() };
        let mut chains = ChainEnds::default();
        loop {
            let address = far.address().to_owned();
            let mut lines = Lines { from: far.facts(&asked)?, address, read: 0 };
            let head: SentHeadJson = lines.json("the line with the format")?;
            if head.format != SENT_FORMAT {
                return Err(lines.wrong(&format!("expected {SENT_FORMAT}, found \"{}\"", head.format)));
            }
            if asked.up_to.is_none() {
                chains = head
                    .chains
                    .iter()
                    .map(end_of)
                    .collect::<Result<_, _>>()
                    .map_err(|message| lines.wrong(&message))?;
                self.compare(shop, &chains).map_err(|error| lines.at(&error))?;
                asked.up_to = Some(head.up_to);
            }
            let last = self.read_page(&mut lines)?;
            if !last.more {
                return self.whole(&chains).map_err(|message| lines.wrong(&message));
            }
            if last.after <= asked.after {
                return Err(lines.wrong(&format!(
                    "expected to be sent on after {}, found {} again",
                    asked.after, last.after
                )));
            }
            asked.after = last.after;
        }
    }

    /// One machine that went on in two places shows where both have its facts.
    fn compare(&mut self, shop: &Workshop, chains: &ChainEnds) -> Result<(), StoreError> {
        for (machine, place, hash) in chains.iter() {
            self.known += self.started.place(machine).min(place);
            if let Some((_, ours)) = shop.store.fact_at(machine, place)?
                && ours != hash
            {
                return Err(StoreError::TwoChains { machine, place });
            }
        }
        Ok(())
    }

    /// Every chain has arrived up to where the other lab said that it ends.
    fn whole(&self, chains: &ChainEnds) -> Result<(), String> {
        for (machine, place, hash) in chains.iter() {
            let (found, end) = self.ends.end(machine);
            // One that was longer here is compared already.
            let grown = found > self.started.place(machine);
            if found < place || (grown && (found, end) != (place, hash)) {
                return Err(format!(
                    "expected the chain of machine {machine} up to fact {place}, found it up to fact {found}"
                ));
            }
        }
        for (machine, place, _) in self.ends.iter() {
            if place > self.started.place(machine) && chains.place(machine) == 0 {
                return Err(format!("expected no facts of machine {machine}, found {place}"));
            }
        }
        Ok(())
    }

    fn read_page(&mut self, lines: &mut Lines<'_>) -> Result<SentLastJson, AppError> {
        let mut facts = 0;
        loop {
            let line = lines.next()?;
            let Ok(json) = serde_json::from_slice::<SentFactJson>(&line) else {
                let last: SentLastJson = lines.read(&line, "a fact, or the last line")?;
                if last.facts != facts {
                    return Err(lines.wrong(&format!("expected {} facts, found {facts}", last.facts)));
                }
                if lines.more()? {
                    return Err(lines.wrong("expected nothing after the last line"));
                }
                return Ok(last);
            };
            let sent = sent_fact(json).map_err(|message| lines.wrong(&message))?;
            self.ends.follow(&sent).map_err(|error| lines.at(&error))?;
            let fact = sent.fact().map_err(|error| lines.at(&error))?;
            if let Some((hash, bytes)) = file_of(&fact) {
                self.files.insert(hash, bytes);
            }
            self.aside.write_all(&line).map_err(|e| put_aside(&e))?;
            facts += 1;
            self.facts += 1;
        }
    }

    /// Asks for every file that is not here, and keeps in the list where it
    /// was put.
    fn read_files(&mut self, shop: &Workshop, far: &mut dyn FarLab) -> Result<(), AppError> {
        let mut lacking = BTreeMap::new();
        for (hash, bytes) in std::mem::take(&mut self.files) {
            if shop.store.kept_length(&hash)? != Some(bytes) {
                lacking.insert(hash, bytes);
            }
        }
        for (hash, bytes) in &lacking {
            let name = hash_text(hash);
            let place = format!("{}: file {name}", far.address());
            let mut from = far.file(&name)?.take(MOST_FILE_BYTES as u64 + 1);
            let mut found = Vec::new();
            from.read_to_end(&mut found)
                .map_err(|e| AppError::File { path: place.clone(), message: e.to_string() })?;
            if sha256_of(&found) != *hash || found.len() as u64 != *bytes {
                return Err(AppError::Conflict(format!(
                    "{place}: expected {bytes} bytes with this SHA-256, found {} bytes with {}",
                    found.len(),
                    hash_text(&sha256_of(&found))
                )));
            }
            self.aside.write_all(&found).map_err(|e| put_aside(&e))?;
        }
        self.files = lacking;
        Ok(())
    }

    /// What was put aside, from its beginning.
    fn again(self) -> Result<Again, AppError> {
        let mut aside = self.aside.into_inner().map_err(|e| put_aside(e.error()))?;
        let bytes: u64 = self.files.values().sum();
        // Files lie behind the facts and are written before them.
        let length = aside.seek(SeekFrom::End(0)).map_err(|e| put_aside(&e))?;
        aside.seek(SeekFrom::Start(length - bytes)).map_err(|e| put_aside(&e))?;
        Ok(Again {
            aside: BufReader::new(aside),
            files: self.files.into_values().collect::<Vec<_>>().into_iter(),
            facts: self.facts,
            at_facts: false,
        })
    }
}

/// Reads again what was put aside.
struct Again {
    aside: BufReader<File>,
    files: std::vec::IntoIter<u64>,
    facts: u64,
    at_facts: bool,
}

impl Again {
    fn next(&mut self) -> Result<Option<Arrival>, StoreError> {
        let wrong = |e: io::Error| StoreError::PutAside { message: e.to_string() };
        if let Some(bytes) = self.files.next() {
            let mut found = Vec::new();
            (&mut self.aside).take(bytes).read_to_end(&mut found).map_err(wrong)?;
            return Ok(Some(Arrival::File(found)));
        }
        if !self.at_facts {
            self.aside.seek(SeekFrom::Start(0)).map_err(wrong)?;
            self.at_facts = true;
        }
        if self.facts == 0 {
            return Ok(None);
        }
        self.facts -= 1;
        let mut line = Vec::new();
        self.aside.read_until(b'\n', &mut line).map_err(wrong)?;
        let json =
            serde_json::from_slice(&line).map_err(|e| StoreError::PutAside { message: e.to_string() })?;
        let sent = sent_fact(json).map_err(|message| StoreError::PutAside { message })?;
        Ok(Some(Arrival::Fact(Box::new(sent))))
    }
}

fn put_aside(error: &io::Error) -> AppError {
    StoreError::PutAside { message: error.to_string() }.into()
}

/// The lines of an answer, counted.
struct Lines<'a> {
    from: Box<dyn BufRead + 'a>,
    address: String,
    read: u64,
}

impl Lines<'_> {
    fn next(&mut self) -> Result<Vec<u8>, AppError> {
        let mut line = Vec::new();
        self.read += 1;
        let got = (&mut self.from).take(MOST_LINE).read_until(b'\n', &mut line);
        got.map_err(|e| self.wrong(&e.to_string()))?;
        if line.last() == Some(&b'\n') {
            Ok(line)
        } else if line.len() as u64 >= MOST_LINE {
            Err(self.wrong(&format!("expected a line of at most {MOST_LINE} bytes, found a longer one")))
        } else {
            Err(self.wrong("expected another line, found the end: the answer was cut off"))
        }
    }

    fn more(&mut self) -> Result<bool, AppError> {
        let found = self.from.fill_buf().map(|rest| !rest.is_empty());
        found.map_err(|e| self.wrong(&e.to_string()))
    }

    fn json<T: serde::de::DeserializeOwned>(&mut self, what: &str) -> Result<T, AppError> {
        let line = self.next()?;
        self.read(&line, what)
    }

    fn read<T: serde::de::DeserializeOwned>(&self, line: &[u8], what: &str) -> Result<T, AppError> {
        serde_json::from_slice(line).map_err(|e| self.wrong(&format!("expected {what}: {e}")))
    }

    fn wrong(&self, message: &str) -> AppError {
        AppError::Conflict(format!(
            "{}: line {} of the answer: {message}. Nothing was written",
            self.address, self.read
        ))
    }

    fn at(&self, error: &StoreError) -> AppError {
        self.wrong(&error.to_string())
    }
}
