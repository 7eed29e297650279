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

/// Not exposed: more hops than any.
const NOT_EXPOSED: u32 = u32::MAX;

#[derive(Debug)]
pub(crate) struct Pass {
    /// Per end: the fewest hops alive in its open span. Four bytes for each
    /// end: the only thing that nearly every touch looks at.
    alive: Vec<u32>,
    /// Per end: its open span, where it is exposed.
    open: Vec<u32>,
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
        let mut pass = Self {
            alive: vec![NOT_EXPOSED; ends as usize],
            open: vec![0; ends as usize],
            reached: vec![None; ends as usize],
            spans: Vec::new(),
            windows,
        };
        let mut seeds = seeds.into_iter().peekable();
        let mut days = rules.unordered.iter().copied().peekable();
        let passes = rules.passes();
        // Events of the day without order that is being gathered.
        let mut day: Vec<Event> = Vec::new();
        let (mut loose_from, mut loose_until) = (i64::MIN, i64::MIN);
        let mut next_seed = i64::MIN;
        // Before this moment there is no seed and no day without order.
        let mut plain_until = i64::MIN;
        for event in events {
            if event.at < plain_until {
                pass.plain(&event, passes, rules);
                continue;
            }
            while event.at >= loose_until && loose_from < i64::MAX {
                if !day.is_empty() {
                    pass.unordered_day(&day, (loose_from, loose_until), &mut seeds, rules);
                    day.clear();
                }
                let next = days.next();
                loose_from = next.map_or(i64::MAX, day_starts);
                loose_until = next.map_or(i64::MAX, |day| day_starts(day + 1));
            }
            if event.at >= loose_from {
                day.push(event);
                continue;
            }
            // A source is bad from its moment on: it goes before a touch at that moment.
            if next_seed <= event.at {
                while let Some(seed) = seeds.next_if(|seed| seed.from <= event.at) {
                    pass.expose(seed.end, seed.from, None, 0, false);
                }
                next_seed = seeds.peek().map_or(i64::MAX, |seed| seed.from);
            }
            plain_until = loose_from.min(next_seed);
            pass.plain(&event, passes, rules);
        }
        if !day.is_empty() {
            pass.unordered_day(&day, (loose_from, loose_until), &mut seeds, rules);
        }
        for seed in seeds {
            pass.expose(seed.end, seed.from, None, 0, false);
        }
        pass
    }

    #[inline]
    fn plain(&mut self, event: &Event, passes: bool, rules: &Rules<'_>) {
        if let EventKind::Touch { a, b } = event.kind {
            if passes {
                self.touch(a, b, event.at);
            }
        } else if let Some(end) = rules.cleared(event) {
            if rules.cut == Some(*event) {
                self.close(end, event.at);
            } else {
                self.clear(end, event.at);
            }
        }
    }

    #[inline]
    fn touch(&mut self, a: EndIndex, b: EndIndex, at: i64) {
        let (x, y) = (self.alive[a.at()], self.alive[b.at()]);
        // Not exposed counts as more hops than any, so one difference tells
        // both a first exposure and a shorter way.
        if x.abs_diff(y) > 1 {
            let (from, to, hops) = if x < y { (a, b, x) } else { (b, a, y) };
            let span = self.open[from.at()];
            self.expose(to, at, Some((span, at)), hops + 1, false);
        }
    }

    fn expose(&mut self, end: EndIndex, at: i64, parent: Option<(u32, i64)>, hops: u32, loose: bool) {
        let alive = &mut self.alive[end.at()];
        if *alive != NOT_EXPOSED {
            if hops < *alive {
                *alive = hops;
                self.fewest(end, hops);
            }
            return;
        }
        *alive = hops;
        let span = u32::try_from(self.spans.len()).unwrap_or(u32::MAX);
        let order_unknown = loose || parent.is_some_and(|(span, _)| self.spans[span as usize].order_unknown);
        self.spans.push(Span { end, since: at, until: None, parent, order_unknown });
        self.open[end.at()] = span;
        self.reached[end.at()].get_or_insert((span, hops));
        self.fewest(end, hops);
    }

    /// The span that lasts, and the fewest hops in it.
    pub(crate) fn open(&self, end: EndIndex) -> Option<(u32, u32)> {
        let hops = self.alive[end.at()];
        (hops != NOT_EXPOSED).then(|| (self.open[end.at()], hops))
    }

    fn fewest(&mut self, end: EndIndex, hops: u32) {
        if let Some((_, fewest)) = &mut self.reached[end.at()] {
            *fewest = hops.min(*fewest);
        }
    }

    fn close(&mut self, end: EndIndex, at: i64) -> bool {
        let Some((span, _)) = self.open(end) else { return false };
        self.alive[end.at()] = NOT_EXPOSED;
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
            if let Some((span, hops)) = self.open(end) {
                let since = starts_at.max(self.spans[span as usize].since);
                arrivals.push(Reverse((since, hops, end)));
            }
        }
        while let Some(Reverse((since, hops, end))) = arrivals.pop() {
            let Some((from, _)) = self.open(end) else { continue };
            for &(_, other, logged) in of(touches, end) {
                let parent = Some((from, logged));
                match self.open(other) {
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
            if let Some((_, hops)) = self.open(end) {
                generations.push(Reverse((hops, end)));
            }
        }
        while let Some(Reverse((hops, end))) = generations.pop() {
            for &(_, other, _) in of(touches, end) {
                if self.open(other).is_some_and(|(_, alive)| hops + 1 < alive) {
                    self.expose(other, starts_at, None, hops + 1, true);
                    generations.push(Reverse((hops + 1, other)));
                }
            }
        }
    }

    /// A clear on a day without order counts at its end, and only where no
    /// touch and no onset of that day can have come after it.
    fn clear_some_time(&mut self, end: EndIndex, touched: bool, starts_at: i64, ends_at: i64) {
        let Some((span, _)) = self.open(end) else { return };
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
