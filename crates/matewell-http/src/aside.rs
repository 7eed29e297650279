//! Long questions beside the lab's own turn.
//!
//! Whoever writes, or asks whether two ends may be mated, takes turns at one
//! open lab. A question that may take long (what is due in the whole lab, a
//! trace, every fact verified) is asked over a connection of its own that only
//! reads, so that nobody at a bench waits for it. It sees everything that was
//! answered as written before it was asked.

use crate::seats::Seats;
use matewell_app::{AppError, Sheets, Workshop};
use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

/// Long questions at once; the next one waits for one of these.
const SEATS: usize = 2;

/// Connections to the lab that only read, each opened with its first question.
pub(crate) struct Aside {
    place: PathBuf,
    sheets: Arc<Sheets>,
    seats: Seats<Workshop>,
}

impl Aside {
    pub(crate) fn new(place: &Path, sheets: Arc<Sheets>) -> Self {
        Self { place: place.to_owned(), sheets, seats: Seats::new(SEATS) }
    }

    /// Asks, or gives the question back when there is no connection for it.
    pub(crate) fn ask<T, A>(&self, ask: A) -> Result<Result<T, AppError>, A>
    where
        A: FnOnce(&mut Workshop) -> Result<T, AppError>,
    {
        let mut seat = self.seats.one();
        if seat.is_none() {
            *seat = Workshop::open_beside(&self.place, Arc::clone(&self.sheets)).ok();
        }
        let Some(shop) = seat.as_mut() else { return Err(ask) };
        let answer = ask(shop);
        if matches!(answer, Err(AppError::Store(_))) {
            *seat = None;
        }
        Ok(answer)
    }
}

#[cfg(test)]
mod tests {
    use crate::AppState;
    use matewell_app::{Said, UuidV7, Workshop};
    use matewell_lab::Moment;
    use std::{path::Path, sync::mpsc, time::Duration};

    const NOW: Moment = Moment::from_microseconds(1_800_000_000_000_000);
    /// Longer than anything here takes, so that what hangs is seen.
    const PATIENCE: Duration = Duration::from_mins(1);

    fn state(data: &Path) -> AppState {
        AppState::new(Workshop::open(data, NOW).unwrap(), || NOW).asked_beside(data)
    }

    /// As many questions as may be long at once, none of them at its end.
    async fn busy(state: &AppState, count: usize) -> Vec<mpsc::Sender<()>> {
        let mut ends = Vec::new();
        for _ in 0..count {
            let (end, wait) = mpsc::channel::<()>();
            let (begun, begins) = tokio::sync::oneshot::channel();
            let state = state.clone();
            tokio::spawn(async move {
                let long = move |shop: &Workshop| {
                    let found = shop.verify();
                    let _told = begun.send(());
                    let _ended = wait.recv();
                    found
                };
                state.ask(long).await
            });
            tokio::time::timeout(PATIENCE, begins).await.expect("not to wait").unwrap();
            ends.push(end);
        }
        ends
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn nobody_waits_for_long_questions() {
        let folder = tempfile::tempdir().unwrap();
        let state = state(&folder.path().join("lab.db"));
        let held = busy(&state, super::SEATS).await;
        let written = state.run(|shop| {
            shop.demo(NOW)?;
            shop.check("CB-014B", "IN-003P1", None, None, NOW)
        });
        tokio::time::timeout(PATIENCE, written).await.expect("not to wait").unwrap();
        drop(held);
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn what_was_written_is_seen_aside_at_once() {
        let folder = tempfile::tempdir().unwrap();
        let state = state(&folder.path().join("lab.db"));
        state.run(|shop| shop.demo(NOW)).await.unwrap();
        // Each connection is open before the holds are written.
        let lines = || state.ask(|shop| Ok(shop.export_lines()?.lines().count()));
        let before = lines().await.unwrap();
        for count in 1..=10 {
            let hold = |shop: &mut Workshop| {
                shop.hold("CB-014B", "for this test", &Said::at_the_bench("Mara Lind"), NOW)
            };
            state.run(hold).await.unwrap();
            assert_eq!(lines().await.unwrap(), before + count);
        }
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn a_lab_without_a_place_answers_long_questions_itself() {
        let shop = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
        let beside = AppState::new(shop, || NOW).asked_beside(Path::new("/nowhere/lab.db"));
        assert_eq!(beside.ask(Workshop::export_lines).await.unwrap(), "");
    }
}
