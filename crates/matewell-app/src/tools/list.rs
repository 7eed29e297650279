//! Gauges, masters and wrenches, and how they stand.

use crate::{AppError, Workshop, sentence, told};
use matewell_lab::{FactBody, ItemId, ItemKind, Moment, Subject, ToolRecord, case_record, tool_record};
use matewell_quantity::Length;
use matewell_verdict::{ToolStanding, tool_standing};
use matewell_wire::{LastCheckJson, ToolJson, ToolListJson, ToolRowJson, moment_text};

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
        let is_told = |body: &FactBody| !matches!(body, FactBody::Gauged(_) | FactBody::Mated(_));
        let history = told::history(&facts, Subject::Item(item), at, &self.tags(), is_told);
        let (_, tool) = self.tool_row(&record, at);
        Ok(ToolJson { at: moment_text(at), tool, case: self.case_about_tool(item, at)?, history })
    }

    fn case_about_tool(&self, tool: ItemId, at: Moment) -> Result<Option<String>, AppError> {
        for opening in self.store.case_openings()? {
            let FactBody::CaseOpened(opened) = &opening.body else { continue };
            if !opened.tools.iter().any(|t| t.tool == tool) {
                continue;
            }
            let record = case_record(opening.id, &self.store.facts_of_case(opening.id)?, at);
            if let Some(record) = record.filter(|record| record.closed.is_none()) {
                return Ok(Some(record.opened.name));
            }
        }
        Ok(None)
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
            certificate: record.last_certificate.as_ref().map(told::certificate),
            uses_since_check: record.uses_since_check,
            interface: gauge.map(|g| g.interface.clone()),
            method: gauge.map(|g| g.method.word().to_owned()),
            master: gauge.and_then(|g| g.master.clone()),
            standard_uncertainty_um: gauge.and_then(|g| g.standard_uncertainty).map(Length::micrometres),
            set_point_n_m: item.wrench.as_ref().map(|w| w.set_point.newton_metres()),
            permissible_percent: item.wrench.as_ref().map(|w| 100.0 * w.tolerance),
        };
        (standing, row)
    }
}
