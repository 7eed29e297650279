//! Questions to a replica: never older than what this server has answered.
//!
//! A question (a `GET` that only reads) goes to the replica when it has
//! replayed everything up to the last write, or the last answer of the primary,
//! that this server gave. Else it is waited for a moment, and then the primary
//! answers. A replica that is lost is looked for in the background.

use crate::{
    AppState,
    access::{Needed, needed},
    seats::{Seats, whole},
};
use axum::{
    body::Body,
    extract::{MatchedPath, Request, State},
    middleware::Next,
    response::Response,
};
use matewell_app::{AppError, LogPosition, ReadsJson, Right, Workshop};
use std::{
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex,
        atomic::{AtomicBool, AtomicU64, Ordering},
    },
    time::Duration,
};

/// Questions asked at once.
const SEATS: usize = 4;
/// How long and how often the replica is waited for.
const PAUSE: Duration = Duration::from_millis(5);
const ATTEMPTS: u32 = 50;
/// How often a lost replica is looked for.
const LOOK: Duration = Duration::from_secs(1);
/// Questions that have to be of the moment: who may do what, and how the lab is.
const AT_THE_PRIMARY: &[&str] = &["/api/v1/health", "/api/v1/metrics", "/api/v1/events"];

tokio::task_local! {
    /// Set while a question is asked that the replica may answer.
    static QUESTION: Arc<AtomicBool>;
}

/// A replica of the lab's database.
pub(crate) struct Replica {
    place: PathBuf,
    /// What it has in common with the primary.
    same: String,
    seats: Seats<Workshop>,
    /// Answers may not be older than this position.
    needed: AtomicU64,
    /// A position that could not be learnt; the primary has to be asked first.
    unknown: AtomicBool,
    /// It was waited for in vain and has not come so far since.
    late: AtomicBool,
    /// Questions answered by the replica, and by the primary.
    here: AtomicU64,
    there: AtomicU64,
    /// Why the primary answered last.
    note: Mutex<Option<String>>,
}

impl Replica {
    /// Not connected yet.
    pub(crate) fn new(place: &Path, same: String) -> Self {
        Self {
            place: place.to_owned(),
            same,
            seats: Seats::new(SEATS),
            needed: AtomicU64::new(0),
            unknown: AtomicBool::new(true),
            late: AtomicBool::new(false),
            here: AtomicU64::new(0),
            there: AtomicU64::new(0),
            note: Mutex::new(None),
        }
    }

    /// Opens what is not open.
    ///
    /// # Errors
    ///
    /// A replica that cannot be reached, or is none.
    pub(crate) fn open(&self) -> Result<(), AppError> {
        for seat in self.seats.all() {
            if whole(seat).is_none() {
                // Not held meanwhile: nobody waits for a host that says nothing.
                let shop = Workshop::open_replica(&self.place)?;
                if shop.same_lab()? != self.same {
                    let message = format!("expected a replica of {}, found one of another lab", self.same);
                    return Err(AppError::Field { field: "--read-from", message });
                }
                *whole(seat) = Some(shop);
            }
        }
        Ok(())
    }

    /// Looks for what was lost, as long as anybody asks.
    pub(crate) fn keep(this: &Arc<Self>) {
        let this = Arc::downgrade(this);
        std::thread::spawn(move || {
            while let Some(replica) = this.upgrade() {
                if let Err(error) = replica.open() {
                    replica.say(format!("the replica cannot be asked: {error}"));
                }
                drop(replica);
                std::thread::sleep(LOOK);
            }
        });
    }

    fn say(&self, note: String) {
        *whole(&self.note) = Some(note);
    }

    /// The primary was asked: what it wrote, or answered to a question, is not
    /// to be unseen.
    pub(crate) fn asked_instead<T>(
        &self,
        primary: &Workshop,
        answer: &Result<T, AppError>,
        is_question: bool,
    ) {
        let is_lost = matches!(answer, Err(AppError::Store(_)));
        let is_written = primary.store().take_written();
        if is_question {
            self.there.fetch_add(1, Ordering::Relaxed);
        }
        if is_written && is_lost {
            self.unknown.store(true, Ordering::SeqCst);
        } else if is_written || is_question && !is_lost {
            match primary.store().position() {
                Ok(Some(LogPosition(position))) => {
                    self.needed.fetch_max(position, Ordering::SeqCst);
                    self.unknown.store(false, Ordering::SeqCst);
                }
                _ => self.unknown.store(true, Ordering::SeqCst),
            }
        }
    }

    /// Why the replica may not answer now, if so.
    fn behind(&self, shop: &Workshop) -> Result<Option<String>, AppError> {
        if self.unknown.load(Ordering::SeqCst) {
            return Ok(Some("how far the primary has come is not known yet".to_owned()));
        }
        let needed = self.needed.load(Ordering::SeqCst);
        let attempts = if self.late.load(Ordering::SeqCst) { 1 } else { ATTEMPTS };
        let mut missing = 0;
        for attempt in 0..attempts {
            if attempt > 0 {
                std::thread::sleep(PAUSE);
            }
            let Some(replayed) = shop.store().replayed()? else {
                return Err(AppError::Conflict("the replica follows nobody any more".to_owned()));
            };
            missing = needed.saturating_sub(replayed.position.0);
            if missing == 0 {
                self.late.store(false, Ordering::SeqCst);
                return Ok(None);
            }
        }
        self.late.store(true, Ordering::SeqCst);
        Ok(Some(format!("the replica is {missing} bytes behind what was answered")))
    }

    /// Asks the replica, or gives the question back.
    pub(crate) fn ask<T, A>(&self, ask: A, lost: &AtomicBool) -> Result<Result<T, AppError>, A>
    where
        A: FnOnce(&mut Workshop) -> Result<T, AppError>,
    {
        if lost.load(Ordering::SeqCst) {
            return Err(ask);
        }
        let mut seat = self.seats.one();
        let ready = match seat.as_ref() {
            None => Ok(Some(None)),
            Some(shop) => self.behind(shop).map(|why| why.map(Some)),
        };
        match (ready, seat.as_mut()) {
            (Ok(None), Some(shop)) => {
                let answer = ask(shop);
                if let Err(AppError::Store(error)) = &answer {
                    self.say(format!("the replica could not answer: {error}"));
                    lost.store(true, Ordering::SeqCst);
                    *seat = None;
                } else {
                    self.here.fetch_add(1, Ordering::Relaxed);
                }
                Ok(answer)
            }
            (Ok(why), _) => {
                if let Some(Some(why)) = why {
                    self.say(why);
                }
                Err(ask)
            }
            (Err(error), _) => {
                self.say(format!("the replica is lost: {error}"));
                *seat = None;
                Err(ask)
            }
        }
    }

    /// How questions are answered, for people and programs.
    pub(crate) fn told(&self, primary: Option<LogPosition>) -> ReadsJson {
        let seat = self.seats.one();
        let replayed = seat.as_ref().and_then(|shop| shop.store().replayed().ok().flatten());
        drop(seat);
        let behind = match (primary, replayed) {
            (Some(primary), Some(replayed)) => Some(primary.0.saturating_sub(replayed.position.0)),
            _ => None,
        };
        let lag_ms = match behind {
            Some(0) => Some(0),
            Some(_) => replayed.and_then(|replayed| replayed.last_write_ms),
            None => None,
        };
        ReadsJson::new(
            behind,
            lag_ms,
            self.here.load(Ordering::Relaxed),
            self.there.load(Ordering::Relaxed),
            whole(&self.note).clone(),
        )
    }
}

/// Whether the request that is being answered is a question for the replica,
/// and where to say that the replica was lost over it.
pub(crate) fn question() -> Option<Arc<AtomicBool>> {
    QUESTION.try_with(Arc::clone).ok()
}

/// Lets the replica answer questions; one that it is lost over is asked again,
/// of the primary.
pub(crate) async fn route(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let path = request.extensions().get::<MatchedPath>().map(|path| path.as_str().to_owned());
    let is_question = request.method().is_safe()
        && path.is_some_and(|path| {
            needed(request.method(), &path) == Needed::Right(Right::Read)
                && !AT_THE_PRIMARY.contains(&path.as_str())
        });
    if !is_question || state.replica().is_none() {
        return next.run(request).await;
    }
    let (parts, _) = request.into_parts();
    let again = Request::from_parts(parts.clone(), Body::empty());
    let lost = Arc::new(AtomicBool::new(false));
    let first = next.clone().run(Request::from_parts(parts, Body::empty()));
    let response = QUESTION.scope(Arc::clone(&lost), first).await;
    if lost.load(Ordering::SeqCst) { QUESTION.scope(lost, next.run(again)).await } else { response }
}
