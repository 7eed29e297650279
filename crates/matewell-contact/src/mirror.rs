//! Time run backward: the same pass then finds what led to an end.

use crate::event::Event;

/// Reverses time. Whole UTC days stay whole days, since `!t = -1 - t`.
pub(crate) fn turn(at: i64) -> i64 {
    !at
}

fn turned(event: Event) -> Event {
    Event { at: turn(event.at), ..event }
}

/// The events last first. The cut goes past all events of its moment.
pub(crate) fn mirrored(events: &[Event], cut: Option<Event>) -> impl Iterator<Item = Event> {
    let split = cut.map_or(0, |cut| events.partition_point(|event| event.at < turn(cut.at)));
    let (before, after) = events.split_at_checked(split).unwrap_or_default();
    after.iter().rev().copied().map(turned).chain(cut).chain(before.iter().rev().copied().map(turned))
}
