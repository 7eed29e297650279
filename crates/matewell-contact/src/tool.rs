//! Which uses of a tool are in doubt after it was found off.

use crate::event::{DAY, day_of, day_starts};
use crate::{ContactError, Resolution};

/// A dense number for one tool; the caller keeps the names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ToolIndex(pub u32);

/// One use of a tool; the caller keeps what it was used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToolUse {
    /// The tool.
    pub tool: ToolIndex,
    /// Microseconds since 1970-01-01 UTC.
    pub at: i64,
    /// Order among equal moments.
    pub sequence: u64,
    /// How exactly `at` is known.
    pub resolution: Resolution,
}

/// A use within the window of a tool that was found off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UseInDoubt {
    /// The use.
    pub used: ToolUse,
    /// Probability that the tool was off by then, if it went off at a moment
    /// uniform in the window: the part of the window that had passed. For a
    /// use known to the day, at the end of that day.
    pub off_by_then: f64,
}

/// The uses of `tool` after its last known good, up to and with the first
/// evidence, in time order.
///
/// `P(t) = (t - L) / (E - L)`: `t` the use, `L` last known good, `E` first
/// evidence; 1 where `L = E`. A model, not a finding.
///
/// # Errors
///
/// [`ContactError::WindowBackwards`].
///
/// # Source
///
/// Closed form: the uniform distribution on the window.
pub fn tool_uses(
    uses: &[ToolUse],
    tool: ToolIndex,
    last_known_good: i64,
    first_evidence: i64,
) -> Result<Vec<UseInDoubt>, ContactError> {
    let (good, evidence) = (last_known_good, first_evidence);
    if good > evidence {
        return Err(ContactError::WindowBackwards { good, evidence });
    }
    let mut found: Vec<UseInDoubt> = uses
        .iter()
        .filter(|used| used.tool == tool)
        .filter_map(|&used| {
            let (first, last) = match used.resolution {
                Resolution::Instant => (used.at, used.at),
                Resolution::Day => {
                    let day = day_starts(day_of(used.at));
                    (day, day.saturating_add(DAY - 1))
                }
            };
            let inside = last >= good && first <= evidence;
            inside.then(|| UseInDoubt { used, off_by_then: elapsed(good, evidence, last) })
        })
        .collect();
    found.sort_by_key(|x| (x.used.at, x.used.sequence));
    Ok(found)
}

/// The part of the window that has passed at `at`, from 0 to 1.
pub(crate) fn elapsed(good: i64, evidence: i64, at: i64) -> f64 {
    if at >= evidence {
        return 1.0;
    }
    if at <= good {
        return 0.0;
    }
    let since = |x: i64| (i128::from(x) - i128::from(good)) as f64;
    since(at) / since(evidence)
}
