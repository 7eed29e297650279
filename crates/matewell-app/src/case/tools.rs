//! Tools that were off, as what a case is about.
//!
//! An end that a tool judged or tightened while it may have been off is in
//! doubt, not exposed: nothing passed from the tool. It is verified first; if
//! it is then found bad, its own trace says what it touched.

use super::{
    open::CaseOrder,
    reach::{DoubtedResult, Reach, Reached},
};
use crate::{
    AppError, Workshop,
    trace::{tool_doubts, tool_window},
};
use matewell_lab::{CaseTool, EndId, FactId, ItemKind, Moment, Subject, standing_facts};
use std::collections::BTreeMap;

/// An end as a tool left it.
struct InDoubt {
    since: Moment,
    last_used: Moment,
    shown_in_order: Option<Moment>,
}

impl Workshop {
    /// The labels of the ends of an order, and its tools with their windows.
    pub(crate) fn ends_and_tools(
        &self,
        order: &CaseOrder,
        at: Moment,
    ) -> Result<(Vec<String>, Vec<CaseTool>), AppError> {
        let (mut ends, mut tools) = (Vec::new(), Vec::new());
        for tag in &order.tags {
            match self.end_or_gauge(tag)? {
                Subject::End(_) => ends.push(tag.clone()),
                Subject::Item(tool) => {
                    let kind = self.store.registered(tool)?.map(|item| item.kind);
                    if !matches!(kind, Some(ItemKind::Gauge | ItemKind::TorqueWrench)) {
                        return Err(AppError::Field {
                            field: "ends",
                            message: format!("expected ends, gauges and wrenches, found {}", tag.trim()),
                        });
                    }
                    let facts = standing_facts(&self.store.facts_of_item(tool)?, at);
                    let (good, evidence) = tool_window(&facts, tool, (order.since, order.until), at)?;
                    let (last_known_good, first_evidence) = (good.at, evidence.at);
                    tools.push(CaseTool { tool, last_known_good, first_evidence });
                }
            }
        }
        Ok((ends, tools))
    }

    /// Adds what these tools judged or tightened, and the results that rest on it.
    pub(crate) fn add_tools(
        &self,
        reach: &mut Reach,
        tools: Vec<CaseTool>,
        at: Moment,
    ) -> Result<(), AppError> {
        let mut results: BTreeMap<(Moment, FactId), Vec<Subject>> = BTreeMap::new();
        for tool in &tools {
            let mut ends: BTreeMap<EndId, InDoubt> = BTreeMap::new();
            let facts = standing_facts(&self.store.facts_of_item(tool.tool)?, at);
            let window = (tool.last_known_good, tool.first_evidence);
            for doubt in tool_doubts(self, tool.tool, &facts, window, at)? {
                let used_at = doubt.fact.happened_at;
                for (end, shown) in doubt.ends.iter().zip(&doubt.shown_in_order) {
                    let known = ends.entry(*end).or_insert(InDoubt {
                        since: used_at,
                        last_used: used_at,
                        shown_in_order: None,
                    });
                    known.last_used = used_at;
                    known.shown_in_order = *shown;
                }
                for (result, through) in doubt.results {
                    let line = results.entry((result.happened_at, result.id)).or_default();
                    line.extend(through.into_iter().map(Subject::End));
                }
            }
            for (end, doubt) in ends {
                let on = Subject::End(end);
                if reach.sources.iter().any(|s| s.end == end) {
                    continue;
                }
                if let Some(known) = reach.reached.iter_mut().find(|r| r.on == on) {
                    known.exposed_now = known.exposed_now || doubt.shown_in_order.is_none();
                    continue;
                }
                reach.reached.push(Reached {
                    on,
                    arrived_at: doubt.since,
                    definite_at: None,
                    hops: 0,
                    way: format!("{} → {}", self.label(Subject::Item(tool.tool)), self.label(on)),
                    exposed_now: doubt.shown_in_order.is_none(),
                    exposed_since: doubt.last_used,
                });
            }
        }
        for ((_, result), mut through) in results {
            through.sort_unstable();
            through.dedup();
            match reach.results.iter_mut().find(|r| r.result == result) {
                Some(known) => known.through.extend(through),
                None => reach.results.push(DoubtedResult { result, through }),
            }
        }
        reach.reached.sort_by_key(|r| (r.arrived_at, r.hops, r.on));
        reach.tools = tools;
        Ok(())
    }
}
