//! Worked values of this room, for its tests and for a lab's own file.

use matewell_published::{Check, Grade};

use crate::{
    ContactError, EndIndex, Event, EventKind, History, Method, Resolution, Source, TaintKind, TaintSet,
    chances, forward,
};

/// Touches in time order.
type Touches = &'static [(u32, u32)];

/// Every check. No published table of exposure between connector ends is
/// known to us: these are small graphs whose outcomes can be listed by hand.
pub fn checks() -> Vec<Check> {
    // A 0, B 1, C 2, D 3; probability one half per touch, A bad from the start.
    let chain: Touches = &[(0, 1), (1, 2)];
    let diamond: Touches = &[(0, 1), (0, 2), (1, 3), (2, 3)];
    let bridge: Touches = &[(0, 1), (1, 2), (1, 3), (2, 3)];
    let echo: Touches = &[(0, 1), (0, 1), (1, 2)];
    let exact = Method::Exact;
    let rows: [(Touches, u32, Method, &'static str, &'static str); 10] = [
        (chain, 1, exact, "chain AB BC, end B", "0.5"),
        (chain, 2, exact, "chain AB BC, end C", "0.25"),
        (diamond, 2, exact, "diamond AB AC BD CD, end C", "0.5625"),
        (diamond, 3, exact, "diamond AB AC BD CD, end D", "0.4375"),
        (bridge, 2, exact, "triangle AB BC BD CD, end C", "0.3125"),
        (bridge, 3, exact, "triangle AB BC BD CD, end D", "0.3125"),
        (bridge, 2, Method::UpperBound, "triangle AB BC BD CD, bound for end C", "0.34375"),
        (bridge, 3, Method::UpperBound, "triangle AB BC BD CD, bound for end D", "0.34375"),
        (echo, 1, exact, "echo AB AB BC, end B", "0.75"),
        (echo, 2, exact, "echo AB AB BC, end C", "0.375"),
    ];
    let mut checks: Vec<Check> = rows
        .into_iter()
        .map(|(touches, end, method, quantity, printed)| {
            let ours = chance(touches, end, method).unwrap_or(f64::NAN);
            let locator = "every outcome listed";
            Check::printed("closed form", locator, quantity, printed, ours, Grade::ClosedForm)
        })
        .collect();
    let arrival = |what, printed, end| {
        let ours = arrived(end).unwrap_or(f64::NAN);
        Check::printed("closed form", "order of touches", what, printed, ours, Grade::ClosedForm)
    };
    checks.push(arrival("A bad from 1, cleared hub: arrival at P2, moment", "6", 3));
    checks.push(arrival("A bad from 1, cleared hub: arrival at C, moment", "7", 5));
    checks
}

fn touch(at: u32, a: u32, b: u32) -> Event {
    let kind = EventKind::Touch { a: EndIndex(a), b: EndIndex(b) };
    Event { at: i64::from(at), sequence: 0, resolution: Resolution::Instant, kind }
}

const KIND: TaintKind = TaintKind::Particles;
const DIRT: TaintSet = TaintSet::NONE.with(KIND);

fn bad_from(moment: i64) -> [Source; 1] {
    [Source { end: EndIndex(0), last_known_good: moment, first_evidence: moment }]
}

fn chance(touches: &[(u32, u32)], end: u32, method: Method) -> Option<f64> {
    let events = (1..).zip(touches).map(|(at, &(a, b))| touch(at, a, b)).collect();
    let history = History::new(4, events).ok()?;
    let found = chances(&history, &bad_from(0), KIND, DIRT, 0.5, method).ok()?;
    found.iter().find(|x| x.end.0 == end).map(|x| x.ever)
}

fn arrived(end: u32) -> Option<f64> {
    // A 0, GAUGE 1, P1 2, P2 3, B 4, C 5, D 6.
    let clear = |at, end| {
        let kind = EventKind::Clear { end: EndIndex(end), clears: DIRT };
        Event { at, sequence: 0, resolution: Resolution::Instant, kind }
    };
    let log = || -> Result<_, ContactError> {
        let touches = [(0, 0, 6), (1, 1, 0), (2, 0, 2), (4, 0, 3), (5, 2, 4), (6, 4, 3), (7, 3, 5)];
        let mut events: Vec<Event> = touches.into_iter().map(|(at, a, b)| touch(at, a, b)).collect();
        events.push(clear(3, 0));
        forward(&History::new(7, events)?, &bad_from(1), KIND, DIRT)
    };
    log().ok()?.iter().find(|x| x.end.0 == end).map(|x| x.arrived_at as f64)
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_worked_values_are_reproduced() {
        matewell_published::assert_all(&super::checks(), 12);
    }
}
