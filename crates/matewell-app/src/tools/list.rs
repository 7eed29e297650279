//! Gauges, masters and wrenches, and how they stand.

use crate::{AppError, Workshop, sentence};
use matewell_lab::{
    FactBody, ItemId, ItemKind, Moment, PinPosition, Resolution, Subject, ToolRecord, kind_word,
    standing_facts, tool_record,
};
use matewell_verdict::{ToolStanding, tool_standing};
use matewell_wire::{
    CertificateInForceJson, EventJson, LastCheckJson, PositionAsked, ToolJson, ToolListJson, ToolRowJson,
    moment_text,
};
use std::collections::BTreeSet;

const KINDS: [ItemKind; 3] = [ItemKind::Gauge, ItemKind::GaugeMaster, ItemKind::TorqueWrench];

impl Workshop {
    /// Gauges, masters and wrenches: what is not in order first, then by label.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn tools(&self, at: Moment) -> Result<ToolListJson, AppError> {
        let mut rows = Vec::new();
        for kind in KINDS {
            for hit in self.store.list_items(Some(kind))? {
                let record = tool_record(hit.item, &self.store.facts_of_item(hit.item)?, at);
                rows.extend(record.map(|record| self.tool_row(&record, at)));
            }
        }
        rows.sort_by(|(x, x_row), (y, y_row)| {
            (x, &x_row.kind, &x_row.tag, &x_row.id).cmp(&(y, &y_row.kind, &y_row.tag, &y_row.id))
        });
        Ok(ToolListJson { at: moment_text(at), tools: rows.into_iter().map(|(_, row)| row).collect() })
    }

    /// One tool with its checks.
    ///
    /// # Errors
    ///
    /// [`AppError::UnknownTag`]; an item that is no tool.
    pub fn tool_in_full(&self, tag: &str, at: Moment) -> Result<ToolJson, AppError> {
        let item = self.one_item("a gauge, a master or a wrench", tag)?;
        let facts = self.store.facts_of_item(item)?;
        let record = tool_record(item, &facts, at).filter(|record| KINDS.contains(&record.item.kind));
        let record = record.ok_or_else(|| AppError::Field {
            field: "tag",
            message: format!("expected a gauge, a master or a wrench, found {}", tag.trim()),
        })?;
        let standing: BTreeSet<_> = standing_facts(&facts, at).iter().map(|fact| fact.id).collect();
        let mut history: Vec<EventJson> = facts
            .iter()
            .filter(|fact| {
                fact.happened_at <= at && !matches!(fact.body, FactBody::Gauged(_) | FactBody::Mated(_))
            })
            .map(|fact| EventJson {
                fact: fact.id.to_string(),
                kind: kind_word(&fact.body).to_owned(),
                happened_at: moment_text(fact.happened_at),
                resolution: if fact.resolution == Resolution::Day { "day" } else { "instant" }.to_owned(),
                recorded_at: moment_text(fact.recorded_at),
                person: fact.person.clone(),
                text: sentence::of(&fact.body, Subject::Item(item), &self.tags()),
                note: fact.note.clone(),
                corrected: !standing.contains(&fact.id) && !matches!(fact.body, FactBody::Corrected(_)),
            })
            .collect();
        history.sort_by(|x, y| (&y.happened_at, &y.fact).cmp(&(&x.happened_at, &x.fact)));
        let (_, tool) = self.tool_row(&record, at);
        Ok(ToolJson { at: moment_text(at), tool, case: self.case_about_tool(item, at)?, history })
    }

    fn case_about_tool(&self, tool: ItemId, at: Moment) -> Result<Option<String>, AppError> {
        let cases = self.open_cases(at)?;
        let about = cases.iter().find(|case| case.record.opened.tools.iter().any(|t| t.tool == tool));
        Ok(about.map(|case| case.record.opened.name.clone()))
    }

    fn tool_row(&self, record: &ToolRecord, at: Moment) -> (ToolStanding, ToolRowJson) {
        let (standing, text) = tool_standing(record, at, &self.book().policy());
        let item = &record.item;
        let gauge = item.gauge.as_ref();
        let row = ToolRowJson {
            id: item.id.to_string(),
            tag: item.tag.clone(),
            kind: item.kind.word().to_owned(),
            description: item.description.clone(),
            location: item.location.clone(),
            standing: standing.word().to_owned(),
            text,
            last_check: record.last_check.as_ref().map(|(fact, when, check)| LastCheckJson {
                fact: fact.to_string(),
                at: moment_text(*when),
                text: sentence::of_check(check),
                in_order: check.in_order(),
            }),
            certificate: record.last_certificate.as_ref().map(|(fact, when, paper)| CertificateInForceJson {
                fact: fact.to_string(),
                document: paper.document.clone(),
                at: moment_text(*when),
                valid_until: paper.valid_until.map(moment_text),
                position: paper.position.map(worded),
                standard_uncertainty_um: paper
                    .standard_uncertainty
                    .map(matewell_quantity::Length::micrometres),
            }),
            uses_since_check: record.uses_since_check,
            interface: gauge.map(|g| g.interface.clone()),
            method: gauge.map(|g| g.method.word().to_owned()),
            master: gauge.and_then(|g| g.master.clone()),
            standard_uncertainty_um: gauge
                .and_then(|g| g.standard_uncertainty)
                .map(matewell_quantity::Length::micrometres),
            set_point_n_m: item.wrench.as_ref().map(|w| w.set_point.newton_metres()),
            permissible_percent: item.wrench.as_ref().map(|w| 100.0 * w.tolerance),
        };
        (standing, row)
    }
}

fn worded(position: PinPosition) -> PositionAsked {
    let um = position.recession_um();
    let word = if um < 0.0 { "protruding" } else { "recessed" };
    PositionAsked { word: word.to_owned(), distance: format!("{}um", um.abs()) }
}
