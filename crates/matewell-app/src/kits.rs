//! Kits and their pieces, planned work, what waits for an item, and where
//! things were put away.

use crate::{
    AppError, Said, Workshop, WrittenJson,
    error::bad,
    judge::{Loaded, ReadOnce},
    sentence::when,
};
use matewell_lab::{
    EndId, Fact, FactBody, Item, ItemId, ItemKind, KitChecked, KitMade, KitRecord, Moment, PieceFound,
    Reservation, Reserved, Subject, Whereabouts, all_reservations, item_record, kit_record, kits_named,
    reservations,
};
use matewell_verdict::{KitStanding, kit_standing};
use matewell_wire::{
    EndNameJson, EndStandingJson, KitJson, KitListJson, KitPieceJson, KitRowJson, LaidJson, PieceAsked,
    ReservationJson, StorageJson, WaitJson, moment_text,
};
use std::{collections::BTreeSet, rc::Rc};

/// Most pieces of one kit.
const MOST_PIECES: usize = 200;
/// Most characters of a name of planned work.
const MOST_WORK: usize = 200;
/// Facts gone through for what was put away last.
const MOST_LAID: u64 = 1000;

/// A kit with what is wanted of it.
pub(crate) struct KitRead {
    tag: String,
    record: KitRecord,
    reserved: Vec<Reservation>,
}

/// What waits for an item, and whether it waits soon.
pub(crate) struct Waits {
    pub(crate) json: WaitJson,
    pub(crate) is_soon: bool,
}

impl Workshop {
    /// Says what belongs into a kit, in place of any earlier list.
    ///
    /// # Errors
    ///
    /// Unknown labels; an item that is no kit; a piece named twice, or that is
    /// a kit itself; no piece.
    pub fn make_kit(
        &mut self,
        tag: &str,
        pieces: &[String],
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let kit = self.one_kit(tag)?;
        if pieces.is_empty() || pieces.len() > MOST_PIECES {
            return Err(bad("pieces", format!("expected 1 to {MOST_PIECES} labels, found {}", pieces.len())));
        }
        let mut found = Vec::with_capacity(pieces.len());
        for piece in pieces {
            let item = self.item_or_its_end(piece)?;
            if found.contains(&item) {
                return Err(bad("pieces", format!("expected each piece once, found {} twice", piece.trim())));
            }
            if self.store.item(item)?.is_some_and(|hit| hit.kind == ItemKind::Kit) {
                return Err(bad("pieces", format!("expected pieces, found the kit {}", piece.trim())));
            }
            found.push(item);
        }
        self.write_one(FactBody::KitMade(KitMade { kit, pieces: found }), said, now)
    }

    /// Writes down what was found when a kit was looked through.
    ///
    /// # Errors
    ///
    /// Unknown labels and words; an item that is no kit; a piece that does not
    /// belong to it or is named twice; nothing found at all.
    pub fn check_kit(
        &mut self,
        tag: &str,
        found: &[PieceAsked],
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let kit = self.one_kit(tag)?;
        let at = said.happened_at.unwrap_or(now);
        let record = kit_record(kit, &self.store.facts_of_item(kit)?, at);
        if found.is_empty() {
            return Err(bad("found", "expected what was found of at least one piece, found nothing"));
        }
        let mut pieces: Vec<PieceFound> = Vec::with_capacity(found.len());
        for one in found {
            let piece = self.item_or_its_end(&one.piece)?;
            let label = one.piece.trim();
            if !record.pieces.contains(&piece) {
                let message = format!("expected pieces of {}, found {label}", tag.trim());
                return Err(bad("found", message));
            }
            if pieces.iter().any(|p| p.piece == piece) {
                return Err(bad("found", format!("expected each piece once, found {label} twice")));
            }
            let place = Whereabouts::from_word(one.place.trim()).map_err(|e| bad("place", e))?;
            if place == Whereabouts::Missing && one.capped.is_some() {
                let message = format!("expected nothing said of the caps of {label}, which is missing");
                return Err(bad("capped", message));
            }
            pieces.push(PieceFound { piece, place, capped: one.capped });
        }
        self.write_one(FactBody::KitChecked(KitChecked { kit, found: pieces }), said, now)
    }

    /// Notes that an item or a kit is wanted for planned work.
    ///
    /// # Errors
    ///
    /// An unknown label; work without a name; an end that is not after the
    /// beginning.
    pub fn reserve(
        &mut self,
        tag: &str,
        work: &str,
        from: Moment,
        until: Moment,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let item = self.item_or_its_end(tag)?;
        let work = work.trim();
        if work.is_empty() || work.chars().count() > MOST_WORK {
            return Err(bad("work", format!("expected 1 to {MOST_WORK} characters, found \"{work}\"")));
        }
        if until <= from {
            let (from, until) = (moment_text(from), moment_text(until));
            return Err(bad("until", format!("expected an end after {from}, found {until}")));
        }
        let body = Reserved { item, work: work.to_owned(), from, until };
        self.write_one(FactBody::Reserved(body), said, now)
    }

    /// A kit with its pieces, how they stand, and what wants it.
    ///
    /// # Errors
    ///
    /// An unknown label; an item that is no kit; a store that cannot be read.
    pub fn kit(&self, tag: &str, at: Moment) -> Result<KitJson, AppError> {
        let kit = self.one_kit(tag)?;
        let once = ReadOnce::default();
        let read = self.kit_read(kit, &once, at)?;
        let mut pieces = Vec::with_capacity(read.record.pieces.len());
        for piece in &read.record.pieces {
            pieces.extend(self.piece(*piece, &read, &once, at)?);
        }
        Ok(KitJson {
            at: moment_text(at),
            kit: self.kit_row(kit, &read, Some(&pieces), at)?,
            pieces,
            reserved: read.reserved.iter().map(|r| self.reservation(r)).collect(),
        })
    }

    /// All kits, those that need something first, and all planned work.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn kits(&self, at: Moment) -> Result<KitListJson, AppError> {
        let once = ReadOnce::default();
        let mut kits = Vec::new();
        for hit in self.store.list_items(Some(ItemKind::Kit))? {
            let read = self.kit_read(hit.item, &once, at)?;
            let standing = kit_standing(&read.record, at, &self.book().policy());
            kits.push((standing, self.kit_row(hit.item, &read, None, at)?));
        }
        kits.sort_by(|(x, x_row), (y, y_row)| (x, &x_row.tag, &x_row.id).cmp(&(y, &y_row.tag, &y_row.id)));
        let reserved = all_reservations(&self.store.planned_work()?, at);
        Ok(KitListJson {
            at: moment_text(at),
            kits: kits.into_iter().map(|(_, row)| row).collect(),
            reserved: reserved.iter().map(|r| self.reservation(r)).collect(),
        })
    }

    /// Where things were put away last, each item once; `filter` matches
    /// labels and places.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn storage(&self, filter: &str, at: Moment) -> Result<StorageJson, AppError> {
        let filter = filter.trim().to_lowercase();
        let earliest = Moment::from_microseconds(i64::MIN);
        let mut seen = BTreeSet::new();
        let mut put_away = Vec::new();
        for numbered in self.store.facts_between(&["stored"], earliest, at, MOST_LAID)? {
            let FactBody::Stored(stored) = &numbered.fact.body else { continue };
            if !seen.insert(stored.item) {
                continue;
            }
            let facts = self.store.facts_of_item(stored.item)?;
            let Some(record) = item_record(stored.item, &facts, at) else { continue };
            let Some(laid) = record.put_away else { continue };
            let item = &record.registered.item;
            let text = format!("{} {}", item.tag, laid.place).to_lowercase();
            if !text.contains(&filter) {
                continue;
            }
            let mut mated_with = Vec::new();
            for end in &record.registered.ends {
                let loaded = self.load_to_judge(end.id, &ReadOnce::default(), at)?;
                let since = loaded.record.mated_with.filter(|(_, when)| *when > laid.at);
                mated_with.extend(since.map(|(partner, _)| EndNameJson::new(partner, &self.tags())));
            }
            put_away.push(LaidJson {
                tag: item.tag.clone(),
                kind: item.kind.word().to_owned(),
                place: laid.place,
                capped: laid.capped,
                at: moment_text(laid.at),
                person: laid.person,
                mated_with,
            });
        }
        Ok(StorageJson { at: moment_text(at), put_away })
    }

    /// What waits for an end: the one it is mated with, planned work for its
    /// item, the kits it belongs to and planned work for those.
    pub(crate) fn waits_for(
        &self,
        loaded: &Loaded,
        once: &ReadOnce,
        at: Moment,
    ) -> Result<Vec<Waits>, AppError> {
        let mut waits = Vec::new();
        if let Some((partner, _)) = loaded.record.mated_with {
            let text = format!("mated with {} now", EndNameJson::new(partner, &self.tags()).tag);
            let json = WaitJson { what: "mated".to_owned(), text, from: None, until: None };
            waits.push(Waits { json, is_soon: true });
        }
        waits.extend(self.item_waits(&loaded.record.item, &loaded.facts, once, at)?);
        Ok(waits)
    }

    /// As [`Self::waits_for`], for an item out of the facts about it.
    pub(crate) fn item_waits(
        &self,
        item: &Item,
        facts: &[Fact],
        once: &ReadOnce,
        at: Moment,
    ) -> Result<Vec<Waits>, AppError> {
        let is_one = |fact: &Fact| matches!(fact.body, FactBody::Reserved(_) | FactBody::KitMade(_));
        if !facts.iter().any(is_one) {
            return Ok(Vec::new());
        }
        let soon = at.plus_days(self.sheets.policy().reserved_soon_days.value);
        let wait = |reservation: &Reservation, whose: &str| {
            let reserved = &reservation.reserved;
            let begun = if reserved.from <= at { "since" } else { "from" };
            let text = format!("wanted{whose} for {} {begun} {}", reserved.work, when(reserved.from));
            let (from, until) = (Some(moment_text(reserved.from)), Some(moment_text(reserved.until)));
            let json = WaitJson { what: "reserved".to_owned(), text, from, until };
            Waits { json, is_soon: reserved.from <= soon }
        };
        let mut waits: Vec<Waits> =
            reservations(item.id, facts, at).iter().map(|reservation| wait(reservation, "")).collect();
        for kit in kits_named(facts, at) {
            let read = self.kit_read(kit, once, at)?;
            if !read.record.pieces.contains(&item.id) {
                continue;
            }
            let text = format!("the kit {} is not whole without it", read.tag);
            let json = WaitJson { what: "kit".to_owned(), text, from: None, until: None };
            waits.push(Waits { json, is_soon: false });
            let whose = format!(" with the kit {}", read.tag);
            waits.extend(read.reserved.iter().map(|reservation| wait(reservation, &whose)));
        }
        Ok(waits)
    }

    pub(crate) fn kit_read(&self, kit: ItemId, once: &ReadOnce, at: Moment) -> Result<Rc<KitRead>, AppError> {
        if let Some(known) = once.kits.borrow().get(&kit) {
            return Ok(Rc::clone(known));
        }
        let facts = self.store.facts_of_item(kit)?;
        let read = Rc::new(KitRead {
            tag: self.label(Subject::Item(kit)),
            record: kit_record(kit, &facts, at),
            reserved: reservations(kit, &facts, at),
        });
        once.kits.borrow_mut().insert(kit, Rc::clone(&read));
        Ok(read)
    }

    fn one_kit(&self, tag: &str) -> Result<ItemId, AppError> {
        let item = self.one_item("a kit", tag)?;
        if self.store.item(item)?.is_some_and(|hit| hit.kind == ItemKind::Kit) {
            Ok(item)
        } else {
            Err(bad("tag", format!("expected a kit, found {}", tag.trim())))
        }
    }

    fn reservation(&self, reservation: &Reservation) -> ReservationJson {
        ReservationJson {
            fact: reservation.fact.to_string(),
            tag: self.label(Subject::Item(reservation.reserved.item)),
            work: reservation.reserved.work.clone(),
            from: moment_text(reservation.reserved.from),
            until: moment_text(reservation.reserved.until),
            person: reservation.person.clone(),
        }
    }

    fn piece(
        &self,
        piece: ItemId,
        kit: &KitRead,
        once: &ReadOnce,
        at: Moment,
    ) -> Result<Option<KitPieceJson>, AppError> {
        let facts = self.store.facts_of_item(piece)?;
        let Some(record) = item_record(piece, &facts, at) else { return Ok(None) };
        let check = kit.record.last_check.as_ref();
        let found = check.and_then(|check| check.found.get(&piece));
        let looked_at = check.map_or(Moment::from_microseconds(i64::MAX), |check| check.at);
        let mut since_then = Vec::new();
        if let Some(laid) = record.put_away.as_ref().filter(|laid| laid.at > looked_at) {
            since_then.push(format!("put away in {} on {}", laid.place, when(laid.at)));
        }
        if let Some((retired, because)) = &record.retired {
            since_then.push(format!("retired on {}: {because}", when(*retired)));
        }
        let mut ends = Vec::with_capacity(record.registered.ends.len());
        for end in &record.registered.ends {
            let loaded = self.load_to_judge(end.id, once, at)?;
            if let Some((partner, mated)) = loaded.record.last_mate.filter(|(_, mated)| *mated > looked_at) {
                since_then.push(self.mated_since(end.id, partner, mated));
            }
            ends.push(EndStandingJson::new(&self.judge(&loaded)?, &self.tags()));
        }
        let item = &record.registered.item;
        Ok(Some(KitPieceJson {
            id: piece.to_string(),
            tag: item.tag.clone(),
            kind: item.kind.word().to_owned(),
            description: item.description.clone(),
            place: found.map(|f| f.place.word().to_owned()),
            capped: found.and_then(|f| f.capped),
            since_then,
            ends,
            reserved: reservations(piece, &facts, at).iter().map(|r| self.reservation(r)).collect(),
        }))
    }

    fn mated_since(&self, end: EndId, partner: EndId, mated: Moment) -> String {
        let names = self.tags();
        let tag = |end| EndNameJson::new(end, &names).tag;
        format!("{} mated with {} on {}", tag(end), tag(partner), when(mated))
    }

    fn kit_row(
        &self,
        kit: ItemId,
        read: &KitRead,
        pieces: Option<&[KitPieceJson]>,
        at: Moment,
    ) -> Result<KitRowJson, AppError> {
        let item = self
            .store
            .registered(kit)?
            .ok_or_else(|| AppError::UnknownTag { what: "a kit", found: read.tag.clone() })?;
        let record = &read.record;
        let standing = kit_standing(record, at, &self.book().policy());
        Ok(KitRowJson {
            id: kit.to_string(),
            tag: item.tag,
            description: item.description,
            location: item.location,
            pieces: record.pieces.len(),
            checked_at: record.last_check.as_ref().map(|check| moment_text(check.at)),
            checked_by: record.last_check.as_ref().map(|check| check.person.clone()),
            state: standing.word().to_owned(),
            text: self.kit_text(record, standing, pieces),
        })
    }

    fn kit_text(&self, record: &KitRecord, standing: KitStanding, pieces: Option<&[KitPieceJson]>) -> String {
        let count = record.pieces.len();
        let checked = record.last_check.as_ref();
        let on = checked.map(|check| format!(" on {}", when(check.at))).unwrap_or_default();
        let mut text = match standing {
            KitStanding::NoPieces => return "Nobody said yet what belongs into it.".to_owned(),
            KitStanding::NotChecked => format!("{count} pieces; nobody looked through it yet."),
            KitStanding::Due => {
                format!("All {count} pieces were in place{on}; it is due to be looked through.")
            }
            KitStanding::Whole => format!("All {count} pieces were in place{on}."),
            KitStanding::NotWhole => {
                let named = |piece: &ItemId| self.label(Subject::Item(*piece));
                let missed: Vec<String> = record
                    .not_in_place()
                    .iter()
                    .map(|piece| match checked.and_then(|check| check.found.get(piece)) {
                        Some(found) if found.place == Whereabouts::Swapped => {
                            format!("{} in the place of another", named(piece))
                        }
                        Some(_) => format!("{} missing", named(piece)),
                        None => format!("{} not looked for", named(piece)),
                    })
                    .collect();
                format!(
                    "{} of {count} pieces were in place{on}: {}.",
                    count - missed.len(),
                    missed.join(", ")
                )
            }
        };
        let bare =
            checked.map_or(0, |check| check.found.values().filter(|f| f.capped == Some(false)).count());
        if bare > 0 {
            text.push_str(&format!(" {bare} without caps."));
        }
        let stopped: Vec<&str> = pieces
            .into_iter()
            .flatten()
            .flat_map(|piece| &piece.ends)
            .filter(|end| matches!(end.standing.as_str(), "do-not-mate" | "retired"))
            .map(|end| end.end.tag.as_str())
            .collect();
        if !stopped.is_empty() {
            text.push_str(&format!(" Do not mate: {}.", stopped.join(", ")));
        }
        text
    }
}
