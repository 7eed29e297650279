//! Counts tries, so that nobody can try passwords or codes quickly.

use matewell_lab::Moment;
use std::{
    collections::HashMap,
    sync::{Mutex, PoisonError},
};

/// Tries within a window, in microseconds.
const WINDOW: i64 = 60_000_000;
/// Tries of one address or name within a window.
const MOST: u32 = 20;
/// Addresses and names remembered; the oldest windows are forgotten first.
const MOST_KEYS: usize = 10_000;

/// Tries by address and name.
#[derive(Debug, Default)]
pub(crate) struct Tries {
    seen: Mutex<HashMap<String, (Moment, u32)>>,
}

impl Tries {
    /// Counts a try; how many seconds to wait when it is one too many.
    pub(crate) fn count(&self, key: &str, now: Moment) -> Result<(), u64> {
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        let ended = |since: Moment| now.microseconds().saturating_sub(since.microseconds()) >= WINDOW;
        if seen.len() >= MOST_KEYS {
            seen.retain(|_, (since, _)| !ended(*since));
            if seen.len() >= MOST_KEYS {
                return Err(60);
            }
        }
        let entry = seen.entry(key.to_owned()).or_insert((now, 0));
        if ended(entry.0) {
            *entry = (now, 0);
        }
        if entry.1 >= MOST {
            let left = WINDOW - now.microseconds().saturating_sub(entry.0.microseconds());
            return Err(u64::try_from(left / 1_000_000 + 1).unwrap_or(60).min(60));
        }
        entry.1 += 1;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twenty_tries_a_minute_and_no_more_each_for_itself() {
        let tries = Tries::default();
        let at = |s: i64| Moment::from_microseconds(s * 1_000_000);
        for _ in 0..20 {
            assert_eq!(tries.count("a", at(10)), Ok(()));
        }
        assert_eq!(tries.count("a", at(40)), Err(31));
        assert_eq!(tries.count("b", at(40)), Ok(()));
        assert_eq!(tries.count("a", at(70)), Ok(()));
        for n in 0..20_000 {
            let _ = tries.count(&n.to_string(), at(71));
        }
        assert!(tries.seen.lock().unwrap().len() <= MOST_KEYS);
        assert_eq!(tries.count("c", at(140)), Ok(()), "a flood ends with its window");
    }
}
