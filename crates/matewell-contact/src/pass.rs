//! One pass over events in time order, the engine under every trace.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use std::iter::Peekable;
use std::vec::IntoIter;

use crate::event::day_starts;
use crate::{EndIndex, Event, EventKind, TaintKind, TaintSet};

/// An end that is exposed from a moment on. A clear before `until` counts for
/// nothing, since it may have gone bad right after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Seed {
    pub(crate) from: i64,
    pub(crate) end: EndIndex,
    pub(crate) until: i64,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct Rules<'a> {
    pub(crate) kind: TaintKind,
    pub(crate) transmits: TaintSet,
    /// Days without order, ascending.
    pub(crate) unordered: &'a [i64],
    /// Nothing passes on a day without order, and each clear of it counts.
    pub(crate) definite: bool,
    /// A moment known exactly at which an end was clear, whatever the order
    /// within its day.
    pub(crate) cut: Option<Event>,
}

impl Rules<'_> {
    fn passes(&self) -> bool {
        self.transmits.has(self.kind)
    }

    fn cleared(&self, event: &Event) -> Option<EndIndex> {
        match event.kind {
            EventKind::Clear { end, clears } if clears.has(self.kind) => Some(end),
            EventKind::Replace { end } => Some(end),
            EventKind::Clear { .. } | EventKind::Touch { .. } => None,
        }
    }
}

#[derive(Debug)]
pub(crate) struct Span {
    pub(crate) end: EndIndex,
    pub(crate) since: i64,
    pub(crate) until: Option<i64>,
    /// The span it came from, and when the touch was logged.
    pub(crate) parent: Option<(u32, i64)>,
    pub(crate) order_unknown: bool,
}

#[derive(Debug)]
pub(crate) struct Pass {
    /// Per end: its open span and the fewest hops alive in it.
    now: Vec<Option<(u32, u32)>>,
    /// Per end: its first span and its fewest hops ever.
    pub(crate) reached: Vec<Option<(u32, u32)>>,
    pub(crate) spans: Vec<Span>,
    windows: BTreeMap<EndIndex, Vec<(i64, i64)>>,
}

impl Pass {
    pub(crate) fn run(
        ends: u32,
        events: impl Iterator<Item = Event>,
        mut seeds: Vec<Seed>,
        rules: &Rules<'_>,
    ) -> Self {
        seeds.sort_unstable();
        let mut windows: BTreeMap<EndIndex, Vec<(i64, i64)>> = BTreeMap::new();
        for seed in &seeds {
            windows.entry(seed.end).or_default().push((seed.from, seed.until));
        }
        let none = vec![None; ends as usize];
        let mut pass = Self { now: none.clone(), reached: none, spans: Vec::new(), windows };
        let mut seeds = seeds.into_iter().peekable();
        let mut days = rules.unordered.iter().copied().peekable();
        let passes = rules.passes();
        let mut events = events.peekable();
        let (mut loose_from, mut loose_until) = (i64::MIN, i64::MIN);
        while let Some(event) = events.next() {
            while event.at >= loose_until {
                let next = days.next();
                loose_from = next.map_or(i64::MAX, day_starts);
                loose_until = next.map_or(i64::MAX, |day| day_starts(day + 1));
                if next.is_none() {
                    break;
                }
            }
            if event.at >= loose_from && event.at < loose_until {
                let mut day = vec![event];
                while let Some(more) = events.next_if(|e| e.at < loose_until) {
                    day.push(more);
                }
                pass.unordered_day(&day, (loose_from, loose_until), &mut seeds, rules);
                continue;
            }
            // A source is bad from its moment on: it goes before a touch at that moment.
            while let Some(seed) = seeds.next_if(|seed| seed.from <= event.at) {
                pass.expose(seed.end, seed.from, None, 0, false);
            }
            if let EventKind::Touch { a, b } = event.kind {
                if passes {
                    pass.touch(a, b, event.at);
                }
            } else if let Some(end) = rules.cleared(&event) {
                if rules.cut == Some(event) {
                    pass.close(end, event.at);
                } else {
                    pass.clear(end, event.at);
                }
            }
        }
        for seed in seeds {
            pass.expose(seed.end, seed.from, None, 0, false);
        }
        pass
    }

    fn touch(&mut self, a: EndIndex, b: EndIndex, at: i64) {
        let (from_a, from_b) = (self.now[a.at()], self.now[b.at()]);
        if let Some((span, hops)) = from_a {
            self.expose(b, at, Some((span, at)), hops + 1, false);
        }
        if let Some((span, hops)) = from_b {
            self.expose(a, at, Some((span, at)), hops + 1, false);
        }
    }

    fn expose(&mut self, end: EndIndex, at: i64, parent: Option<(u32, i64)>, hops: u32, loose: bool) {
        if let Some((_, alive)) = &mut self.now[end.at()] {
            if hops < *alive {
                *alive = hops;
                self.fewest(end, hops);
            }
            return;
        }
        let span = u32::try_from(self.spans.len()).unwrap_or(u32::MAX);
        let order_unknown = loose || parent.is_some_and(|(span, _)| self.spans[span as usize].order_unknown);
        self.spans.push(Span { end, since: at, until: None, parent, order_unknown });
        self.now[end.at()] = Some((span, hops));
        self.reached[end.at()].get_or_insert((span, hops));
        self.fewest(end, hops);
    }

    fn fewest(&mut self, end: EndIndex, hops: u32) {
        if let Some((_, fewest)) = &mut self.reached[end.at()] {
            *fewest = hops.min(*fewest);
        }
    }

    fn close(&mut self, end: EndIndex, at: i64) -> bool {
        let Some((span, _)) = self.now[end.at()].take() else { return false };
        self.spans[span as usize].until = Some(at);
        true
    }

    fn clear(&mut self, end: EndIndex, at: i64) {
        if !self.close(end, at) {
            return;
        }
        let again = |windows: &Vec<(i64, i64)>| windows.iter().any(|w| w.0 <= at && at < w.1);
        if self.windows.get(&end).is_some_and(again) {
            self.expose(end, at, None, 0, false);
        }
    }

    fn unordered_day(
        &mut self,
        day: &[Event],
        (starts_at, ends_at): (i64, i64),
        seeds: &mut Peekable<IntoIter<Seed>>,
        rules: &Rules<'_>,
    ) {
        let cleared: Vec<EndIndex> = day
            .iter()
            .filter(|event| rules.cut != Some(**event))
            .filter_map(|event| rules.cleared(event))
            .collect();
        if rules.definite {
            for &end in &cleared {
                self.clear(end, starts_at);
            }
        }
        while let Some(seed) = seeds.next_if(|seed| seed.from < ends_at) {
            self.expose(seed.end, seed.from, None, 0, false);
            if rules.definite && cleared.contains(&seed.end) {
                self.clear(seed.end, seed.from);
            }
        }
        if rules.definite {
            return;
        }
        let mut touches: Vec<(EndIndex, EndIndex, i64)> = Vec::new();
        if rules.passes() {
            for event in day {
                if let EventKind::Touch { a, b } = event.kind {
                    touches.extend([(a, b, event.at), (b, a, event.at)]);
                }
            }
            touches.sort_unstable();
            self.close_over(&touches, starts_at);
        }
        for end in cleared {
            self.clear_some_time(end, !of(&touches, end).is_empty(), starts_at, ends_at);
        }
        if let Some(end) = rules.cut.filter(|cut| day.contains(cut)).and_then(|cut| rules.cleared(&cut)) {
            self.close(end, ends_at);
        }
    }

    /// Exposes all that is connected within the day: earliest since first,
    /// then fewest hops.
    fn close_over(&mut self, touches: &[(EndIndex, EndIndex, i64)], starts_at: i64) {
        let mut arrivals = BinaryHeap::new();
        let mut generations = BinaryHeap::new();
        for &(end, ..) in touches {
            if let Some((span, hops)) = self.now[end.at()] {
                let since = starts_at.max(self.spans[span as usize].since);
                arrivals.push(Reverse((since, hops, end)));
            }
        }
        while let Some(Reverse((since, hops, end))) = arrivals.pop() {
            let Some((from, _)) = self.now[end.at()] else { continue };
            for &(_, other, logged) in of(touches, end) {
                let parent = Some((from, logged));
                match self.now[other.at()] {
                    None => self.expose(other, since, parent, hops + 1, true),
                    Some((span, _)) if self.spans[span as usize].since > since => {
                        let span = &mut self.spans[span as usize];
                        (span.since, span.parent, span.order_unknown) = (since, parent, true);
                    }
                    Some(_) => continue,
                }
                arrivals.push(Reverse((since, hops + 1, other)));
            }
        }
        for &(end, ..) in touches {
            if let Some((_, hops)) = self.now[end.at()] {
                generations.push(Reverse((hops, end)));
            }
        }
        while let Some(Reverse((hops, end))) = generations.pop() {
            for &(_, other, _) in of(touches, end) {
                if self.now[other.at()].is_some_and(|(_, alive)| hops + 1 < alive) {
                    self.expose(other, starts_at, None, hops + 1, true);
                    generations.push(Reverse((hops + 1, other)));
                }
            }
        }
    }

    /// A clear on a day without order counts at its end, and only where no
    /// touch and no onset of that day can have come after it.
    fn clear_some_time(&mut self, end: EndIndex, touched: bool, starts_at: i64, ends_at: i64) {
        let Some((span, _)) = self.now[end.at()] else { return };
        let onset_today = |windows: &Vec<(i64, i64)>| {
            windows.iter().any(|&(from, until)| from < ends_at && (starts_at..=ends_at).contains(&until))
        };
        if touched || self.windows.get(&end).is_some_and(onset_today) {
            self.spans[span as usize].order_unknown = true;
        } else {
            self.clear(end, ends_at);
        }
    }
}

fn of(touches: &[(EndIndex, EndIndex, i64)], end: EndIndex) -> &[(EndIndex, EndIndex, i64)] {
    let from = touches.partition_point(|touch| touch.0 < end);
    let until = touches.partition_point(|touch| touch.0 <= end);
    touches.get(from..until).unwrap_or_default()
}
