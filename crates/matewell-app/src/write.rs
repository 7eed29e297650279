//! Things a person does: each becomes one or more facts, all or nothing.

use crate::{AppError, Said, Workshop, judge::ReadOnce, workshop::Tags};
use matewell_lab::{
    Corrected, Correction, EndRecord, Fact, FactBody, FactId, FollowedUp, Gauged, Held, Inspected,
    InspectionOutcome, Mated, Moment, Overridden, Parted, PinPosition, Refused, Released, Replaced,
    ResultNoted, Retired, Stored, Subject,
};
use matewell_quantity::{Frequency, Length};
use matewell_store::KeyedWrite;
use matewell_wire::{CaseTouchedJson, EndStandingJson, MateCheckJson};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What was written, and how things stand now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WrittenJson {
    /// Ids of the facts written, in order.
    pub facts: Vec<String>,
    /// Standing now of each end the facts are about.
    pub ends: Vec<EndStandingJson>,
    /// The mate check under which a mate was written.
    pub check: Option<MateCheckJson>,
    /// Open cases that this concerns.
    #[serde(default)]
    #[schema(required = true)]
    pub cases: Vec<CaseTouchedJson>,
}

/// Standings told with what was written, at most.
const MOST_STANDINGS: usize = 20;

/// What a keyed request was answered, kept so that it is answered the same
/// again.
#[derive(Serialize, Deserialize)]
enum Kept {
    Written(Box<WrittenJson>),
    Refused {
        check: Box<MateCheckJson>,
        fact: String,
    },
    /// The JSON of another answer.
    Answer(String),
}

impl Kept {
    fn again(self) -> Result<WrittenJson, AppError> {
        match self {
            Self::Written(written) => Ok(*written),
            Self::Refused { check, fact } => Err(AppError::Refused { check, fact }),
            Self::Answer(_) => Err(AppError::Conflict("the key came with another request before".to_owned())),
        }
    }
}

/// A mate to be logged.
#[derive(Debug, Clone, Default)]
pub struct MateOrder<'a> {
    /// Tag of one end.
    pub a: &'a str,
    /// Tag of the other end.
    pub b: &'a str,
    /// Tag of the wrench in hand.
    pub wrench: Option<&'a str>,
    /// Frequency the joint is wanted for.
    pub frequency: Option<Frequency>,
    /// The reason to go ahead although the check does not say go.
    pub override_because: Option<&'a str>,
}

impl Workshop {
    /// Logs a mate if the mate check allows it, or under an override.
    ///
    /// A check of stop or undecided without a reason writes the refusal as a
    /// fact and returns it as an error; with a reason it writes refusal,
    /// override and mate together.
    ///
    /// # Errors
    ///
    /// [`AppError::Refused`], unknown tags, a store that cannot be written.
    pub fn mate(&mut self, order: &MateOrder<'_>, said: &Said, now: Moment) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let (a, b) = (self.one_end(order.a)?, self.one_end(order.b)?);
        self.authorised_to_mate([&a, &b], &said.person)?;
        let (a, b) = (a.end, b.end);
        let wrench = order.wrench.map(|tag| self.one_item("a wrench", tag)).transpose()?;
        let at = said.happened_at.unwrap_or(now);
        let check = self.check_ends(a, b, order.frequency, wrench, at)?;
        let json = MateCheckJson::new(&check, &Tags(&self.store));
        let mut facts = Vec::new();
        let mut overridden = None;
        if check.needs_override() {
            let refused = self.fact(
                said,
                now,
                FactBody::Refused(Refused {
                    a,
                    b,
                    answer: check.answer.word().to_owned(),
                    findings: check.refusing_codes().into_iter().map(str::to_owned).collect(),
                    frequency: order.frequency,
                }),
            );
            let refused_id = refused.id;
            facts.push(refused);
            let reason = order.override_because.map(str::trim).filter(|r| !r.is_empty());
            let Some(because) = reason else {
                let kept = Kept::Refused { check: Box::new(json), fact: refused_id.to_string() };
                return self.append_kept(&[], &facts, said, now, kept)?.again();
            };
            let follow_up = check
                .findings
                .iter()
                .filter(|f| f.weight >= matewell_verdict::Weight::Open)
                .find_map(|f| f.remedy.clone())
                .unwrap_or_else(|| "Look at both ends and gauge them.".to_owned());
            let body = Overridden { a, b, refused: refused_id, because: because.to_owned(), follow_up };
            let fact = self.fact(said, now, FactBody::Overridden(body));
            overridden = Some(fact.id);
            facts.push(fact);
        }
        facts.push(self.fact(said, now, FactBody::Mated(Mated { a, b, wrench, overridden })));
        // Facts of one act happen at one moment; their order is part of it.
        for (fact, sequence) in facts.iter_mut().zip(0..) {
            fact.sequence = sequence;
        }
        self.write(&facts, said, now, Some(json))
    }

    /// Two ends came apart.
    ///
    /// # Errors
    ///
    /// Unknown tags; a store that cannot be written.
    pub fn part(&mut self, a: &str, b: &str, said: &Said, now: Moment) -> Result<WrittenJson, AppError> {
        let body = FactBody::Parted(Parted { a: self.one_end(a)?.end, b: self.one_end(b)?.end });
        self.write_one(body, said, now)
    }

    /// Somebody looked at an end.
    ///
    /// # Errors
    ///
    /// Unknown tags, a magnification that is not above zero.
    pub fn inspect(
        &mut self,
        tag: &str,
        outcome: InspectionOutcome,
        seen: Vec<String>,
        magnification: Option<f64>,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(m) = magnification
            && !(m > 0.0 && m <= 1000.0)
        {
            return Err(AppError::Field {
                field: "magnification",
                message: format!("expected a number above 0 and up to 1000, found {m}"),
            });
        }
        let end = self.one_end(tag)?.end;
        self.write_one(FactBody::Inspected(Inspected::plain(end, outcome, seen, magnification)), said, now)
    }

    /// An end was gauged. Counts as one contact.
    ///
    /// # Errors
    ///
    /// Unknown tags; no readings; readings that differ tenfold in a way that
    /// looks like a slip of the unit.
    pub fn gauge(
        &mut self,
        tag: &str,
        readings: Vec<PinPosition>,
        gauge: Option<&str>,
        stated_standard_uncertainty: Option<Length>,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        let end = self.one_end(tag)?;
        self.authorised(crate::Act::Gauge, &end.interface, &said.person)?;
        let end = end.end;
        let gauge = gauge.map(|tag| self.one_item("a gauge", tag)).transpose()?;
        if readings.is_empty() {
            return Err(AppError::Field {
                field: "readings",
                message: "expected at least one reading, found none".to_owned(),
            });
        }
        believable(&readings)?;
        let body =
            FactBody::Gauged(Gauged { end, gauge, readings, stated_standard_uncertainty, session: None });
        self.write_one(body, said, now)
    }

    /// An end was cleaned.
    ///
    /// # Errors
    ///
    /// Unknown tags; a store that cannot be written.
    pub fn clean(
        &mut self,
        tag: &str,
        method: Option<String>,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        let end = self.one_end(tag)?.end;
        self.write_one(FactBody::Cleaned { end, method }, said, now)
    }

    /// An end may not be mated until released.
    ///
    /// # Errors
    ///
    /// Unknown tags; an empty reason.
    pub fn hold(
        &mut self,
        tag: &str,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        let body = FactBody::Held(Held { end: self.one_end(tag)?.end, because: reason(because)? });
        self.write_one(body, said, now)
    }

    /// A hold or damage finding is lifted.
    ///
    /// # Errors
    ///
    /// Unknown tags; an empty reason; nothing to release; an end that an open
    /// case holds and that was not verified since.
    pub fn release(
        &mut self,
        tag: &str,
        because: &str,
        evidence: Option<FactId>,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let end = self.one_end(tag)?.end;
        let loaded = self.load(end, said.happened_at.unwrap_or(now))?;
        if loaded.record.open_holds.is_empty() && loaded.record.open_damage.is_empty() {
            return Err(AppError::Conflict(format!(
                "{} has no open hold or damage finding to release",
                tag.trim()
            )));
        }
        let because = reason(because)?;
        let evidence = self.may_release(end, tag, evidence, said.happened_at.unwrap_or(now))?;
        let body = FactBody::Released(Released { end, because, evidence, lifts: lifted(&loaded.record) });
        self.write_one(body, said, now)
    }

    /// An end will not be used again.
    ///
    /// # Errors
    ///
    /// Unknown tags; an empty reason.
    pub fn retire(
        &mut self,
        tag: &str,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        let subject = match self.one_end(tag) {
            Ok(hit) => Subject::End(hit.end),
            Err(error) => match self.store.item_by_tag(tag)? {
                Some(hit) => Subject::Item(hit.item),
                None => return Err(error),
            },
        };
        self.write_one(FactBody::Retired(Retired { subject, because: reason(because)? }), said, now)
    }

    /// The contact of an end was made anew; its history starts again.
    ///
    /// # Errors
    ///
    /// Unknown tags; an empty reason.
    pub fn replace(
        &mut self,
        tag: &str,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        let body = FactBody::Replaced(Replaced { end: self.one_end(tag)?.end, because: reason(because)? });
        self.write_one(body, said, now)
    }

    /// An item was put away.
    ///
    /// # Errors
    ///
    /// Unknown tags; an empty place.
    pub fn store_away(
        &mut self,
        tag: &str,
        place: &str,
        capped: Option<bool>,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        let item = self.item_or_its_end(tag)?;
        if place.trim().is_empty() {
            return Err(AppError::Field {
                field: "place",
                message: "expected a place, found nothing".to_owned(),
            });
        }
        self.write_one(FactBody::Stored(Stored { item, place: place.trim().to_owned(), capped }), said, now)
    }

    /// A result made through a chain of ends.
    ///
    /// # Errors
    ///
    /// Unknown tags; an empty URI or chain.
    pub fn note_result(
        &mut self,
        uri: &str,
        sha256: Option<String>,
        device: Option<String>,
        chain: &[String],
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if uri.trim().is_empty() || chain.is_empty() {
            return Err(AppError::Field {
                field: "chain",
                message: "expected a URI and at least one end, found less".to_owned(),
            });
        }
        let ends =
            chain.iter().map(|tag| Ok(self.one_end(tag)?.end)).collect::<Result<Vec<_>, AppError>>()?;
        let body = ResultNoted { uri: uri.trim().to_owned(), sha256, device, chain: ends };
        self.write_one(FactBody::ResultNoted(body), said, now)
    }

    /// Takes an earlier fact back: it did not happen.
    ///
    /// # Errors
    ///
    /// An unknown fact; an empty reason.
    pub fn take_back(
        &mut self,
        fact: FactId,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if self.store.fact(fact)?.is_none() {
            return Err(AppError::UnknownTag { what: "a fact", found: fact.to_string() });
        }
        let body = Corrected { fact, correction: Correction::Void, because: reason(because)? };
        self.write_one(FactBody::Corrected(body), said, now)
    }

    /// A follow-up was done.
    ///
    /// # Errors
    ///
    /// An unknown fact; an empty text.
    pub fn follow_up(
        &mut self,
        fact: FactId,
        done: &str,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if self.store.fact(fact)?.is_none() {
            return Err(AppError::UnknownTag { what: "a fact", found: fact.to_string() });
        }
        self.write_one(FactBody::FollowedUp(FollowedUp { fact, done: reason(done)? }), said, now)
    }

    pub(crate) fn write_one(
        &mut self,
        body: FactBody,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let fact = self.fact(said, now, body);
        self.write(&[fact], said, now, None)
    }

    /// The answer to the same keyed request, if it came before: the same facts
    /// and check, and how their ends stand now. That is the first answer word
    /// for word unless something was written since.
    ///
    /// # Errors
    ///
    /// The answer itself when it was a refusal; a conflict when the key came
    /// with another request.
    pub(crate) fn written_before(&self, said: &Said, now: Moment) -> Result<Option<WrittenJson>, AppError> {
        let Some((key, request)) = &said.key else { return Ok(None) };
        let Some(before) = self.store.written_response(key)? else { return Ok(None) };
        if before.request_sha256 != *request {
            return Err(AppError::Conflict(format!("the key {key} came with another request before")));
        }
        let mut written = read_kept(&before.response)?.again()?;
        let mut facts = Vec::with_capacity(written.facts.len());
        for id in &written.facts {
            if let Ok(id) = id.parse() {
                facts.extend(self.store.fact(id)?.map(|numbered| numbered.fact));
            }
        }
        written.ends = self.standings_after(&facts, now)?;
        written.cases = self.cases_touched(&facts, now)?;
        Ok(Some(written))
    }

    /// The JSON of the answer to the same keyed request, if it came before.
    ///
    /// # Errors
    ///
    /// A conflict when the key came with another request.
    pub(crate) fn answered_before(&self, said: &Said) -> Result<Option<String>, AppError> {
        let Some((key, request)) = &said.key else { return Ok(None) };
        let Some(before) = self.store.written_response(key)? else { return Ok(None) };
        match read_kept(&before.response)? {
            Kept::Answer(text) if before.request_sha256 == *request => Ok(Some(text)),
            _ => Err(AppError::Conflict(format!("the key {key} came with another request before"))),
        }
    }

    /// Writes facts and keeps the JSON of an answer under the request's key.
    pub(crate) fn append_answered(
        &mut self,
        facts: &[Fact],
        said: &Said,
        now: Moment,
        answer: String,
    ) -> Result<(), AppError> {
        self.append_kept(&[], facts, said, now, Kept::Answer(answer)).map(|_| ())
    }

    /// Writes facts, and the answer under the request's key if it has one.
    fn append_kept(
        &mut self,
        files: &[&[u8]],
        facts: &[Fact],
        said: &Said,
        now: Moment,
        kept: Kept,
    ) -> Result<Kept, AppError> {
        // The first act under a policy writes down which one it is.
        let policy = self.policy_not_noted(&said.person, now)?;
        let with_policy: Vec<Fact>;
        let facts = match policy {
            Some(policy) => {
                with_policy = std::iter::once(policy).chain(facts.iter().cloned()).collect();
                with_policy.as_slice()
            }
            None => facts,
        };
        let kept = match &said.key {
            None => {
                self.store.append_with_files(files, facts)?;
                kept
            }
            Some((key, request)) => {
                let text = serde_json::to_string(&kept).map_err(|e| AppError::Conflict(e.to_string()))?;
                match self.store.append_with_key_and_files((key, request), files, facts, &text, now)? {
                    KeyedWrite::Written(_) => kept,
                    KeyedWrite::AnsweredBefore(response) => return read_kept(&response),
                }
            }
        };
        self.policy_noted = true;
        Ok(kept)
    }

    pub(crate) fn write(
        &mut self,
        facts: &[Fact],
        said: &Said,
        now: Moment,
        check: Option<MateCheckJson>,
    ) -> Result<WrittenJson, AppError> {
        self.write_with_files(&[], facts, said, now, check)
    }

    /// As [`Self::write`], with files that the facts speak about.
    pub(crate) fn write_with_files(
        &mut self,
        files: &[&[u8]],
        facts: &[Fact],
        said: &Said,
        now: Moment,
        check: Option<MateCheckJson>,
    ) -> Result<WrittenJson, AppError> {
        if let Some(fact) = facts.iter().find(|f| f.happened_at > now.plus_days(1.0)) {
            return Err(AppError::Field {
                field: "happened_at",
                message: format!(
                    "expected a time that has come, found {}",
                    matewell_wire::moment_text(fact.happened_at)
                ),
            });
        }
        let ids: Vec<String> = facts.iter().map(|f| f.id.to_string()).collect();
        // The kept answer names the facts; standings are those of the moment
        // of asking and are not kept.
        let kept =
            Kept::Written(Box::new(WrittenJson { facts: ids, ends: Vec::new(), check, cases: Vec::new() }));
        let mut written = self.append_kept(files, facts, said, now, kept)?.again()?;
        written.ends = self.standings_after(facts, now)?;
        written.cases = self.cases_touched(facts, now)?;
        Ok(written)
    }

    /// Standings of ends that facts after a number are about, and the number
    /// of the last of them: what others wrote into the same lab.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn standings_since(&self, number: u64, now: Moment) -> Result<(Vec<EndStandingJson>, u64), AppError> {
        let found = self.store.all_facts(number, 1_000)?;
        let last = found.last().map_or(number, |newest| newest.seq);
        let facts: Vec<Fact> = found.into_iter().map(|numbered| numbered.fact).collect();
        Ok((self.standings_after(&facts, now)?, last))
    }

    /// Standing now of each end that facts are about.
    fn standings_after(&self, facts: &[Fact], now: Moment) -> Result<Vec<EndStandingJson>, AppError> {
        let mut ends = Vec::new();
        for fact in facts {
            if ends.len() >= MOST_STANDINGS {
                break;
            }
            let mut subjects = fact.body.subjects();
            if let Some(earlier) = fact.body.earlier_fact()
                && let Some(earlier) = self.store.fact(earlier)?
            {
                subjects.extend(earlier.fact.body.subjects());
            }
            for subject in subjects {
                if let Subject::End(end) = subject
                    && !ends.contains(&end)
                {
                    ends.push(end);
                }
            }
        }
        let names = Tags(&self.store);
        ends.truncate(MOST_STANDINGS);
        let once = ReadOnce::default();
        ends.into_iter()
            .map(|end| {
                let loaded = self.load_to_judge(end, &once, now)?;
                Ok(EndStandingJson::new(&self.judge(&loaded)?, &names))
            })
            .collect()
    }
}

/// What a release lifts: every hold and damage its person can see.
pub(crate) fn lifted(record: &EndRecord) -> Vec<FactId> {
    let holds = record.open_holds.iter().map(|hold| hold.fact);
    holds.chain(record.open_damage.iter().map(|seen| seen.fact)).collect()
}

fn read_kept(text: &str) -> Result<Kept, AppError> {
    serde_json::from_str(text).map_err(|e| AppError::Conflict(format!("the kept answer cannot be read: {e}")))
}

fn reason(text: &str) -> Result<String, AppError> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(AppError::Field {
            field: "because",
            message: "expected a reason in words, found nothing".to_owned(),
        });
    }
    Ok(trimmed.to_owned())
}

/// A pin a millimetre off, or one reading ten times the others, is a slip of
/// the unit or of the hand more often than a fact: ask, and lose nothing.
fn believable(readings: &[PinPosition]) -> Result<(), AppError> {
    let mut sizes: Vec<f64> = readings.iter().map(|r| r.recession_um().abs()).collect();
    sizes.sort_by(f64::total_cmp);
    if let Some(largest) = sizes.last()
        && *largest > 1000.0
    {
        return Err(AppError::Field {
            field: "readings",
            message: format!(
                "expected a pin within 1000 µm of its plane, found {largest} µm; is the unit right?"
            ),
        });
    }
    if let [.., second, largest] = sizes.as_slice()
        && *largest > 10.0 * second.abs()
        && *largest > 20.0
    {
        return Err(AppError::Field {
            field: "readings",
            message: format!("one reading, {largest} µm, is more than ten times the others; take it again"),
        });
    }
    Ok(())
}
