//! What did it touch, what made it bad, which results are in doubt?

#[cfg(test)]
mod agrees;
mod back;
mod contacts;
mod forward;
mod gauges;
mod names;
mod odds;
mod results;
mod standing;
mod taint;
mod tool;
mod what_if;
mod window;

pub(crate) use gauges::{Gauges, care_of};
pub(crate) use results::through_exposed;
pub(crate) use standing::Exposures;
pub(crate) use taint::{Care, cleared_by, word as kind_word};
pub(crate) use tool::{doubts as tool_doubts, window_asked as tool_window};
pub(crate) use what_if::is_open;
pub use what_if::{Supposed, SupposedAct};

use crate::{AppError, Workshop, workshop::Tags};
use contacts::{Bound, Contacts, Part};
use matewell_contact::{
    BatchError, ContactError, Exposure, Source, TaintKind, backward_batched, forward as reached,
    forward_batched,
};
use matewell_lab::{EndId, Moment, standing_facts};
use matewell_store::TouchedBy;
use matewell_wire::{BackTraceJson, CommonTraceJson, ToolTraceJson, TraceJson};
use window::{Known, Window};

/// What to trace.
#[derive(Debug, Clone, Default)]
pub struct TraceOrder {
    /// Tags of the ends, one or several.
    pub tags: Vec<String>,
    /// Last known good; from the history of each end when left out.
    pub since: Option<Moment>,
    /// First evidence; from the history of each end when left out.
    pub until: Option<Moment>,
    /// `deformation`, `particles`, `residue` or `unknown`; by the evidence
    /// when left out.
    pub kind: Option<String>,
    /// Probability that one touch passes it on; the lab's policy when left out.
    pub contact_passes: Option<f64>,
    /// Nothing before this counts when looking back.
    pub not_before: Option<Moment>,
    /// What to suppose otherwise.
    pub what_if: Vec<Supposed>,
}

/// A source of a trace with its end.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bad {
    pub(crate) end: EndId,
    pub(crate) window: Window,
}

/// An end that went bad within a time that is known.
pub(crate) fn bad_within(end: EndId, good: Moment, evidence: Moment, kind: TaintKind) -> Bad {
    let window = Window {
        good: Known::asked(good),
        evidence: Known::asked(evidence),
        kind,
        is_open: true,
        is_lifted: false,
    };
    Bad { end, window }
}

/// A trace as the core found it, with names for its numbers. Cases build on
/// this; the doors show [`TraceJson`].
pub(crate) struct Traced {
    pub(crate) kind: TaintKind,
    pub(crate) bad: Vec<Bad>,
    pub(crate) part: Part,
    pub(crate) sources: Vec<Source>,
    /// By arrival, then hops, then id.
    pub(crate) exposed: Vec<Exposure>,
}

impl Traced {
    pub(crate) fn name(&self, exposure: &Exposure) -> Option<TouchedBy> {
        self.part.name(exposure.end)
    }
}

/// A question that the contact room refuses; the doors check before it does.
#[expect(clippy::needless_pass_by_value, reason = "goes into map_err")]
pub(crate) fn question(error: ContactError) -> AppError {
    let field =
        if matches!(error, ContactError::NotAProbability { .. }) { "contact_passes" } else { "trace" };
    AppError::Field { field, message: error.to_string() }
}

fn batch(error: BatchError<AppError>) -> AppError {
    match error {
        BatchError::Question(error) => question(error),
        BatchError::Source(error) => error,
        other => AppError::Conflict(other.to_string()),
    }
}

impl Workshop {
    /// What these ends touched in time order since they may have been bad,
    /// and what those touched.
    ///
    /// # Errors
    ///
    /// No tag, unknown tags, a window that ends before it begins, words that
    /// are not known; a store that cannot be read.
    pub fn trace(&self, order: &TraceOrder, at: Moment) -> Result<TraceJson, AppError> {
        self.store.in_one_look(|| {
            let traced = self.trace_forward(order, at)?;
            forward::json(self, &traced, order, at)
        })
    }

    /// What could have made this end bad between its last known good and the
    /// first evidence.
    ///
    /// # Errors
    ///
    /// As [`Workshop::trace`]; more than one tag.
    pub fn trace_back(&self, order: &TraceOrder, at: Moment) -> Result<BackTraceJson, AppError> {
        self.store.in_one_look(|| back::back(self, order, at))
    }

    /// What could have made several ends bad at once.
    ///
    /// # Errors
    ///
    /// As [`Workshop::trace`]; fewer than two tags.
    pub fn trace_common(&self, order: &TraceOrder, at: Moment) -> Result<CommonTraceJson, AppError> {
        self.store.in_one_look(|| back::common(self, order, at))
    }

    /// What was gauged with a gauge, or tightened with a wrench, while it may
    /// have been off.
    ///
    /// # Errors
    ///
    /// As [`Workshop::trace`]; an item that is no tool.
    pub fn trace_tool(
        &self,
        tag: &str,
        since: Option<Moment>,
        until: Option<Moment>,
        at: Moment,
    ) -> Result<ToolTraceJson, AppError> {
        self.store.in_one_look(|| tool::tool(self, tag, since, until, at))
    }

    /// The ends asked about, with their windows.
    pub(crate) fn bad_ends(&self, order: &TraceOrder, at: Moment) -> Result<(Vec<Bad>, TaintKind), AppError> {
        if order.tags.is_empty() {
            return Err(AppError::Field {
                field: "ends",
                message: "expected the tag of at least one end, found none".to_owned(),
            });
        }
        let asked = order.kind.as_deref().map(|text| taint::kind_from("kind", text)).transpose()?;
        let mut bad: Vec<Bad> = Vec::new();
        for tag in &order.tags {
            let end = self.one_end(tag)?.end;
            if bad.iter().any(|b| b.end == end) {
                continue;
            }
            let mut window = self.window(end, asked, at)?;
            if let Some(since) = order.since {
                window.good = Known::asked(since);
            }
            if let Some(until) = order.until {
                window.evidence = Known::asked(until);
            }
            if window.good.at > window.evidence.at {
                // Only one side was given: the other was not meant then.
                match (order.since, order.until) {
                    (Some(since), None) => window.evidence = Known::asked(at.max(since)),
                    (None, Some(until)) => window.good = self.good_before(end, until, asked)?,
                    _ => {}
                }
            }
            if window.good.at > window.evidence.at {
                return Err(AppError::Field {
                    field: if order.since.is_some() { "since" } else { "until" },
                    message: format!(
                        "expected a last known good no later than the first evidence, found {} and {}",
                        matewell_wire::moment_text(window.good.at),
                        matewell_wire::moment_text(window.evidence.at)
                    ),
                });
            }
            bad.push(Bad { end, window });
        }
        // Several kinds among the ends: what clears only one of them clears
        // not all, so the trace is of a kind not told apart.
        let first = bad.first().map_or(TaintKind::Unknown, |b| b.window.kind);
        let kind = asked.unwrap_or(if bad.iter().all(|b| b.window.kind == first) {
            first
        } else {
            TaintKind::Unknown
        });
        Ok((bad, kind))
    }

    fn good_before(&self, end: EndId, until: Moment, kind: Option<TaintKind>) -> Result<Known, AppError> {
        Ok(self.window(end, kind, until)?.good)
    }

    /// The window of an end that a person most likely means.
    fn window(&self, end: EndId, kind: Option<TaintKind>, at: Moment) -> Result<Window, AppError> {
        let facts = standing_facts(&self.store.facts_of_end(end)?, at);
        let (found, good) = window::windows(end, &facts, &mut gauges::Gauges::new(self, at))?;
        Ok(window::likely(&found, good, kind, at))
    }

    pub(crate) fn trace_forward(&self, order: &TraceOrder, at: Moment) -> Result<Traced, AppError> {
        let (bad, kind) = self.bad_ends(order, at)?;
        self.trace_from(bad, kind, at, None)
    }

    /// Forward from windows that are known.
    pub(crate) fn trace_from(
        &self,
        bad: Vec<Bad>,
        kind: TaintKind,
        at: Moment,
        bound: Option<Bound>,
    ) -> Result<Traced, AppError> {
        let transmits = taint::transmits(self.sheets.policy());
        let mut contacts = Contacts::new(self, at, bound);
        let sources = numbered(&bad, |of| contacts.number(of));
        forward_batched(&mut contacts, &sources, kind, transmits).map_err(batch)?;
        let part = contacts.into_part()?;
        let sources = numbered(&bad, |of| part.number(of).unwrap_or(matewell_contact::EndIndex(u32::MAX)));
        let exposed = reached(&part.history, &sources, kind, transmits).map_err(question)?;
        Ok(Traced { kind, bad, part, sources, exposed })
    }

    /// The part of the history that leads to a bad end.
    pub(crate) fn part_before(
        &self,
        bad: &Bad,
        not_before: Moment,
        kind: TaintKind,
        at: Moment,
    ) -> Result<Part, AppError> {
        let mut contacts = Contacts::new(self, at, None);
        let transmits = taint::transmits(self.sheets.policy());
        let source = numbered(std::slice::from_ref(bad), |of| contacts.number(of));
        for source in &source {
            backward_batched(&mut contacts, source, not_before.microseconds(), kind, transmits)
                .map_err(batch)?;
        }
        contacts.into_part()
    }

    pub(crate) fn tags(&self) -> Tags<'_> {
        Tags(&self.store)
    }
}

/// Windows as the contact room wants them.
pub(crate) fn numbered(
    bad: &[Bad],
    mut number: impl FnMut(TouchedBy) -> matewell_contact::EndIndex,
) -> Vec<Source> {
    bad.iter()
        .map(|b| Source {
            end: number(TouchedBy::End(b.end)),
            last_known_good: b.window.good.at.microseconds(),
            first_evidence: b.window.evidence.at.microseconds(),
        })
        .collect()
}
