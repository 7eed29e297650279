//! Several connections of one kind, each for one question at a time.

use std::sync::{
    Mutex, MutexGuard, PoisonError, TryLockError,
    atomic::{AtomicUsize, Ordering},
};

/// Places for connections that are open, or not open yet.
pub(crate) struct Seats<C> {
    seats: Vec<Mutex<Option<C>>>,
    next: AtomicUsize,
}

/// What is behind a mutex of this room is whole after a panic too: it only
/// reads, or every write of it is a transaction.
pub(crate) fn whole<T>(held: &Mutex<T>) -> MutexGuard<'_, T> {
    held.lock().unwrap_or_else(PoisonError::into_inner)
}

impl<C> Seats<C> {
    /// At least one.
    pub(crate) fn new(count: usize) -> Self {
        let seats = (0..count.max(1)).map(|_| Mutex::new(None)).collect();
        Self { seats, next: AtomicUsize::new(0) }
    }

    pub(crate) fn all(&self) -> impl Iterator<Item = &Mutex<Option<C>>> {
        self.seats.iter()
    }

    /// One that nobody holds, or the next one in turn.
    pub(crate) fn one(&self) -> MutexGuard<'_, Option<C>> {
        let count = self.seats.len();
        let first = self.next.fetch_add(1, Ordering::Relaxed) % count;
        for seat in self.seats.iter().cycle().skip(first).take(count) {
            match seat.try_lock() {
                Ok(held) => return held,
                Err(TryLockError::Poisoned(held)) => return held.into_inner(),
                Err(TryLockError::WouldBlock) => {}
            }
        }
        self.seats.get(first).map_or_else(|| unreachable!("there are seats"), whole)
    }
}
