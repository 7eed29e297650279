//! A lab opened: its facts, its data sheets, its machine.

use crate::{AppError, trace::Exposures, wrenches::Wrenches};
use matewell_lab::{EndId, Fact, FactBody, FactId, FactSource, ItemId, MachineId, Moment, Resolution};
use matewell_sheets::Sheets;
use matewell_store::{EndHit, Place, Store};
use matewell_wire::Names;
use std::{
    cell::RefCell,
    collections::BTreeMap,
    path::{Path, PathBuf},
    sync::{Arc, Mutex},
};

/// Ending of the lab's own sheet file.
const OWN_SHEETS: &str = "sheets.toml";

/// Makes ids. The binary uses UUIDv7; tests count.
pub trait Ids: Send {
    /// Sixteen bytes never given before.
    fn next(&mut self, now: Moment) -> [u8; 16];
}

/// UUIDv7 in the order of asking, also within one microsecond.
pub struct UuidV7 {
    context: uuid::ContextV7,
}

impl Default for UuidV7 {
    fn default() -> Self {
        Self { context: uuid::ContextV7::new() }
    }
}

impl Ids for UuidV7 {
    fn next(&mut self, now: Moment) -> [u8; 16] {
        let micros = now.microseconds().max(0);
        let seconds = u64::try_from(micros / 1_000_000).unwrap_or(0);
        let nanos = u32::try_from((micros % 1_000_000) * 1000).unwrap_or(0);
        *uuid::Uuid::new_v7(uuid::Timestamp::from_unix(&self.context, seconds, nanos)).as_bytes()
    }
}

/// Who did something, when, and how it came in.
#[derive(Debug, Clone)]
pub struct Said {
    /// A name or a pseudonym.
    pub person: String,
    /// When it happened; `None` is now.
    pub happened_at: Option<Moment>,
    /// Where it came in.
    pub source: FactSource,
    /// Free text.
    pub note: Option<String>,
    /// Idempotency key of the request and the SHA-256 of what it asks, if any.
    pub key: Option<(String, [u8; 32])>,
}

impl Said {
    /// By a person at the bench, now.
    pub fn at_the_bench(person: impl Into<String>) -> Self {
        Self { person: person.into(), happened_at: None, source: FactSource::Bench, note: None, key: None }
    }
}

/// A lab opened. Every use case is a method; both doors call the same ones.
pub struct Workshop {
    pub(crate) store: Store,
    pub(crate) sheets: Arc<Sheets>,
    /// Where the lab's own sheet file belongs; none for a lab in memory.
    pub(crate) own_sheets: Option<PathBuf>,
    /// Whether the log says that these sheets are in force.
    pub(crate) policy_noted: bool,
    /// What findings on other ends were last found to reach.
    pub(crate) exposures: Mutex<Exposures>,
    pub(crate) kept_wrenches: Mutex<Wrenches>,
    ids: Box<dyn Ids>,
}

impl Workshop {
    /// Opens or creates a lab in one file, or in the database of a URL that
    /// begins with `postgresql:`.
    ///
    /// A file `NAME.sheets.toml` beside `NAME.db` holds the lab's own sheet
    /// and policy values; for a database NAME it lies in the working folder.
    pub fn open(path: &Path, now: Moment) -> Result<Self, AppError> {
        let mut ids = UuidV7::default();
        let store = if Store::exists(path)? {
            Store::open(path)?
        } else {
            Store::create_with_machine(path, MachineId::from_bytes(ids.next(now)))?
        };
        Ok(Self {
            store,
            sheets: Arc::new(sheets_beside(path)?),
            own_sheets: Some(own_sheets_of(path)),
            policy_noted: false,
            exposures: Mutex::default(),
            kept_wrenches: Mutex::default(),
            ids: Box::new(ids),
        })
    }

    /// Opens a lab to ask only: writing is refused by the engine.
    ///
    /// # Errors
    ///
    /// No lab at the place; one that cannot be read.
    pub fn open_to_read(path: &Path) -> Result<Self, AppError> {
        Self::open_beside(path, Arc::new(sheets_beside(path)?))
    }

    /// As [`Workshop::open_to_read`], under the data sheets of a lab that is
    /// open already: its answers are the same, whatever became of the file.
    ///
    /// # Errors
    ///
    /// As there.
    pub fn open_beside(path: &Path, sheets: Arc<Sheets>) -> Result<Self, AppError> {
        Ok(Self::to_read(Store::open_to_ask(path)?, path, sheets))
    }

    fn to_read(store: Store, path: &Path, sheets: Arc<Sheets>) -> Self {
        Self {
            store,
            sheets,
            own_sheets: Some(own_sheets_of(path)),
            policy_noted: false,
            exposures: Mutex::default(),
            kept_wrenches: Mutex::default(),
            ids: Box::new(UuidV7::default()),
        }
    }

    /// Opens a lab on a replica of its database to ask only.
    ///
    /// # Errors
    ///
    /// A server that is no replica, or cannot be reached.
    pub fn open_replica(path: &Path) -> Result<Self, AppError> {
        Ok(Self::to_read(Store::open_replica(path)?, path, Arc::new(sheets_beside(path)?)))
    }

    /// What a lab and its replicas have in common and no other lab has.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn same_lab(&self) -> Result<String, AppError> {
        let cluster = self.store.cluster()?.unwrap_or_default();
        Ok(format!("{} {cluster}", self.store.machine()))
    }

    /// A lab in memory, for tests and benches.
    pub fn in_memory(mut ids: Box<dyn Ids>) -> Result<Self, AppError> {
        let machine = MachineId::from_bytes(ids.next(Moment::from_microseconds(0)));
        Ok(Self {
            store: Store::in_memory(machine)?,
            sheets: Arc::new(Sheets::embedded()?),
            own_sheets: None,
            // No file, nothing that could change.
            policy_noted: true,
            exposures: Mutex::default(),
            kept_wrenches: Mutex::default(),
            ids,
        })
    }

    /// The data sheets in force.
    pub fn sheets(&self) -> &Sheets {
        &self.sheets
    }

    /// The data sheets in force, to be used beside the lab.
    pub fn sheets_in_force(&self) -> Arc<Sheets> {
        Arc::clone(&self.sheets)
    }

    /// The store under it, for verification, back-up and benches.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// The store, to be written to by bulk loaders.
    pub fn store_mut(&mut self) -> &mut Store {
        &mut self.store
    }

    pub(crate) fn new_id(&mut self, now: Moment) -> [u8; 16] {
        self.ids.next(now)
    }

    pub(crate) fn fact(&mut self, said: &Said, now: Moment, body: FactBody) -> Fact {
        Fact {
            id: FactId::from_bytes(self.ids.next(now)),
            machine: self.store.machine(),
            happened_at: said.happened_at.unwrap_or(now),
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: now,
            person: said.person.clone(),
            source: said.source,
            note: said.note.clone(),
            body,
        }
    }

    /// The one end a tag means.
    ///
    /// # Errors
    ///
    /// [`AppError::UnknownTag`]; [`AppError::WhichEnd`] when the tag fits more
    /// than one.
    pub fn one_end(&self, tag: &str) -> Result<EndHit, AppError> {
        let mut hits = self.store.ends_by_tag(tag)?;
        if hits.len() > 1 {
            return Err(AppError::WhichEnd {
                found: tag.trim().to_owned(),
                candidates: hits.into_iter().map(|h| h.end_tag).collect(),
            });
        }
        hits.pop().ok_or_else(|| AppError::UnknownTag { what: "an end", found: tag.trim().to_owned() })
    }

    /// The one item a tag means.
    ///
    /// # Errors
    ///
    /// [`AppError::UnknownTag`].
    pub fn one_item(&self, what: &'static str, tag: &str) -> Result<ItemId, AppError> {
        // The id tells two things with one label apart.
        if let Ok(id) = tag.trim().parse::<ItemId>()
            && self.store.item(id)?.is_some()
        {
            return Ok(id);
        }
        let hits = self.store.items_by_tag(tag)?;
        if let [first, _, ..] = hits.as_slice() {
            let ends = |item| -> Result<Vec<String>, AppError> {
                Ok(self.store.ends_of_item(item)?.into_iter().map(|end| end.end_tag).collect())
            };
            let candidates = hits
                .iter()
                .map(|hit| {
                    Ok(format!(
                        "{} {} with the ends {}",
                        hit.kind.word(),
                        hit.item,
                        ends(hit.item)?.join(", ")
                    ))
                })
                .collect::<Result<_, AppError>>()?;
            return Err(AppError::WhichEnd { found: first.tag.clone(), candidates });
        }
        hits.first()
            .map(|hit| hit.item)
            .ok_or_else(|| AppError::UnknownTag { what, found: tag.trim().to_owned() })
    }

    /// The item a tag means: its own, or that of one of its ends.
    pub(crate) fn item_or_its_end(&self, tag: &str) -> Result<ItemId, AppError> {
        match self.one_item("an item", tag) {
            Err(AppError::UnknownTag { .. }) => Ok(self.one_end(tag)?.item),
            found => found,
        }
    }
}

/// Whether there is a lab at a path or URL.
///
/// # Errors
///
/// A database that cannot be reached.
pub fn lab_exists(path: &Path) -> Result<bool, AppError> {
    Ok(Store::exists(path)?)
}

/// Where the lab's own sheet file belongs.
pub(crate) fn own_sheets_of(path: &Path) -> PathBuf {
    match Place::from(path) {
        Place::File(path) => path.with_extension(OWN_SHEETS),
        place @ Place::Server(_) => PathBuf::from(format!("{}.{OWN_SHEETS}", place.name())),
    }
}

/// The name of a file without its folders: where a lab is kept is no part of
/// an answer.
pub(crate) fn file_name(path: &Path) -> String {
    path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}

/// The data sheets in force for the lab in this file, whether or not it exists:
/// the embedded ones, and the lab's own file beside it.
///
/// # Errors
///
/// [`AppError::File`] and [`AppError::Sheets`].
pub fn sheets_beside(path: &Path) -> Result<Sheets, AppError> {
    let sheets = Sheets::embedded()?;
    let own = own_sheets_of(path);
    if !own.exists() {
        return Ok(sheets);
    }
    let text = std::fs::read_to_string(&own)
        .map_err(|e| AppError::File { path: own.display().to_string(), message: e.to_string() })?;
    Ok(sheets.with_lab_file(&text, &file_name(&own))?)
}

/// Tags looked up in the store, for the shapes of `wire`.
pub(crate) struct Tags<'a>(pub(crate) &'a Store);

impl Names for Tags<'_> {
    fn end_tag(&self, end: EndId) -> String {
        self.0.end(end).ok().flatten().map_or_else(|| end.to_string(), |hit| hit.end_tag)
    }

    fn item_tag(&self, item: ItemId) -> String {
        self.0.item(item).ok().flatten().map_or_else(|| item.to_string(), |hit| hit.tag)
    }
}

/// As [`Tags`], each tag looked up once: for answers that name the same few
/// things ten thousand times.
pub(crate) struct Remembered<'a> {
    tags: Tags<'a>,
    ends: RefCell<BTreeMap<EndId, String>>,
    items: RefCell<BTreeMap<ItemId, String>>,
}

impl<'a> Remembered<'a> {
    pub(crate) fn new(store: &'a Store) -> Self {
        Self { tags: Tags(store), ends: RefCell::default(), items: RefCell::default() }
    }
}

impl Names for Remembered<'_> {
    fn end_tag(&self, end: EndId) -> String {
        self.ends.borrow_mut().entry(end).or_insert_with(|| self.tags.end_tag(end)).clone()
    }

    fn item_tag(&self, item: ItemId) -> String {
        self.items.borrow_mut().entry(item).or_insert_with(|| self.tags.item_tag(item)).clone()
    }
}
