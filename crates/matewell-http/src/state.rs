//! What every handler shares.

use crate::{
    access::Served,
    aside::Aside,
    replica::{self, Replica},
    seats::whole,
    tries::Tries,
    watch::{LogFormat, LogSink, Watch},
};
use matewell_app::{AppError, Listener, Sheets, Workshop};
use matewell_lab::Moment;
use matewell_wire::EndStandingJson;
use serde::{Deserialize, Serialize};
use std::{
    path::Path,
    sync::{Arc, Mutex, Weak},
    time::Duration,
};
use tokio::sync::{Semaphore, broadcast};
use utoipa::ToSchema;

/// A standing as it is after something was written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct StandingEvent {
    /// Label of the end.
    pub tag: String,
    /// Id of the end.
    pub end: String,
    /// Its standing now.
    pub standing: String,
}

/// Passwords hashed at once: each takes 19 MiB.
const MOST_HASHING: usize = 4;

/// What every handler shares.
#[derive(Clone)]
pub struct AppState {
    workshop: Arc<Mutex<Workshop>>,
    clock: Arc<dyn Fn() -> Moment + Send + Sync>,
    events: broadcast::Sender<StandingEvent>,
    sheets: Arc<Sheets>,
    served: Served,
    tries: Arc<Tries>,
    watch: Arc<Watch>,
    hashing: Arc<Semaphore>,
    log: Option<(LogFormat, LogSink)>,
    replica: Option<Arc<Replica>>,
    aside: Option<Arc<Aside>>,
}

impl AppState {
    /// A service over one lab. The clock is the binary's.
    pub fn new(workshop: Workshop, clock: impl Fn() -> Moment + Send + Sync + 'static) -> Self {
        let (events, _) = broadcast::channel(256);
        let sheets = workshop.sheets_in_force();
        Self {
            sheets,
            workshop: Arc::new(Mutex::new(workshop)),
            clock: Arc::new(clock),
            events,
            served: Served::default(),
            tries: Arc::default(),
            watch: Arc::default(),
            hashing: Arc::new(Semaphore::new(MOST_HASHING)),
            log: None,
            replica: None,
            aside: None,
        }
    }

    /// As served in this way; on the loopback address when never said.
    #[must_use]
    pub fn served_as(self, served: Served) -> Self {
        Self { served, ..self }
    }

    /// Asks long questions over connections of their own to the lab at this
    /// place, which is the one that is open here.
    #[must_use]
    pub fn asked_beside(self, place: &Path) -> Self {
        let aside = Arc::new(Aside::new(place, self.sheets()));
        Self { aside: Some(aside), ..self }
    }

    /// Tells this sink a line for each request.
    #[must_use]
    pub fn logged(self, format: LogFormat, sink: LogSink) -> Self {
        Self { log: Some((format, sink)), ..self }
    }

    /// Lets a replica of the same database answer questions. Says what is wrong
    /// with it now, if anything: it is looked for as long as this serves.
    ///
    /// # Errors
    ///
    /// A replica of something else.
    pub fn read_from(self, place: &Path) -> Result<(Self, Option<AppError>), AppError> {
        let workshop = whole(&self.workshop);
        let replica = Arc::new(Replica::new(place, workshop.same_lab()?));
        drop(workshop);
        let trouble = match replica.open() {
            Err(error @ AppError::Field { .. }) => return Err(error),
            found => found.err(),
        };
        Replica::keep(&replica);
        Ok((Self { replica: Some(replica), ..self }, trouble))
    }

    pub(crate) fn replica(&self) -> Option<&Arc<Replica>> {
        self.replica.as_ref()
    }

    pub(crate) fn log(&self) -> Option<&(LogFormat, LogSink)> {
        self.log.as_ref()
    }

    pub(crate) fn watch(&self) -> &Watch {
        &self.watch
    }

    pub(crate) fn served(&self) -> Served {
        self.served
    }

    pub(crate) fn tries(&self) -> &Tries {
        &self.tries
    }

    /// The time.
    pub(crate) fn now(&self) -> Moment {
        (self.clock)()
    }

    /// The data sheets in force: they do not change while the lab is open, so
    /// a question about them alone needs no turn at the lab.
    pub(crate) fn sheets(&self) -> Arc<Sheets> {
        Arc::clone(&self.sheets)
    }

    pub(crate) fn subscribe(&self) -> broadcast::Receiver<StandingEvent> {
        self.events.subscribe()
    }

    /// Runs a use case off the async threads. A panic in an earlier use case
    /// does not lock the lab out: every write is a transaction, so what is
    /// behind the mutex is whole.
    pub(crate) async fn run<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&mut Workshop) -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        self.answered(None, ask).await
    }

    /// As [`AppState::run`], for a question that may take long: nobody who
    /// writes, or asks whether two ends may be mated, waits for it.
    pub(crate) async fn ask<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&Workshop) -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        self.answered(self.aside.clone(), |shop| ask(shop)).await
    }

    /// A question goes to the replica if there is one that may answer, else
    /// aside if it may take long, else it has its turn at the lab.
    async fn answered<T: Send + 'static>(
        &self,
        aside: Option<Arc<Aside>>,
        ask: impl FnOnce(&mut Workshop) -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        let workshop = Arc::clone(&self.workshop);
        let (replica, question) = (self.replica.clone(), replica::question());
        self.compute(move || {
            let ask = match (&replica, &question) {
                (Some(replica), Some(lost)) => match replica.ask(ask, lost) {
                    Ok(answer) => return answer,
                    Err(ask) => ask,
                },
                _ => ask,
            };
            let told = |shop: &mut Workshop| {
                let answer = ask(shop);
                if let Some(replica) = &replica {
                    replica.asked_instead(shop, &answer, question.is_some());
                }
                answer
            };
            let told = match aside {
                Some(aside) => match aside.ask(told) {
                    Ok(answer) => return answer,
                    Err(told) => told,
                },
                None => told,
            };
            told(&mut whole(&workshop))
        })
        .await
    }

    /// Runs what needs no lab off the async threads, while the lab is free for
    /// everybody else.
    pub(crate) async fn compute<T: Send + 'static>(
        &self,
        ask: impl FnOnce() -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        tokio::task::spawn_blocking(ask)
            .await
            .unwrap_or_else(|error| Err(AppError::Conflict(format!("the request was not finished: {error}"))))
    }

    /// As [`AppState::compute`], for what takes much memory on purpose: a few
    /// at a time, however many ask.
    pub(crate) async fn hash<T: Send + 'static>(
        &self,
        ask: impl FnOnce() -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        // The semaphore is never closed, so there is always a turn.
        let _turn = self.hashing.acquire().await;
        self.compute(ask).await
    }

    /// Listens on a thread of its own to what other servers write into the
    /// same database, and tells those who listen here. A file has no others.
    ///
    /// # Errors
    ///
    /// A database that cannot be reached.
    pub fn follow_others(&self, data: &Path) -> Result<(), AppError> {
        let Some(listener) = Listener::open(data)? else { return Ok(()) };
        let held = whole(&self.workshop);
        let seen = held.store().last_number()?;
        drop(held);
        let follower = Follower {
            workshop: Arc::downgrade(&self.workshop),
            clock: Arc::clone(&self.clock),
            events: self.events.clone(),
            seen,
        };
        std::thread::spawn(move || follower.follow(listener));
        Ok(())
    }

    /// Tells listeners how these ends stand now.
    pub(crate) fn announce(&self, ends: &[EndStandingJson]) {
        tell(&self.events, ends);
    }
}

fn tell(events: &broadcast::Sender<StandingEvent>, ends: &[EndStandingJson]) {
    for EndStandingJson { end, standing, .. } in ends {
        // No listener is not an error.
        drop(events.send(StandingEvent {
            tag: end.tag.clone(),
            end: end.id.clone(),
            standing: standing.clone(),
        }));
    }
}

/// Tells of what other servers write, as long as the lab is open here.
struct Follower {
    workshop: Weak<Mutex<Workshop>>,
    clock: Arc<dyn Fn() -> Moment + Send + Sync>,
    events: broadcast::Sender<StandingEvent>,
    seen: u64,
}

impl Follower {
    fn follow(mut self, mut listener: Listener) {
        loop {
            let heard = listener.wait(Duration::from_secs(5));
            let Some(workshop) = self.workshop.upgrade() else { return };
            let workshop = whole(&workshop);
            match heard {
                // What this server wrote it has told already.
                Ok(Some(change)) if Some(change.session) == workshop.store().session() => {
                    self.seen = self.seen.max(change.last_number);
                }
                // After silence too: a connection that was made again may have missed something.
                Ok(_) => {
                    let Ok((ends, seen)) = workshop.standings_since(self.seen, (self.clock)()) else {
                        continue;
                    };
                    self.seen = seen;
                    tell(&self.events, &ends);
                }
                Err(_) => {
                    drop(workshop);
                    std::thread::sleep(Duration::from_secs(1));
                }
            }
        }
    }
}
