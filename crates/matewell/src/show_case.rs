//! Cases as text for a terminal.

use crate::show::Out;
use comfy_table::{ContentArrangement, Table, presets::NOTHING};
use matewell_wire::{CaseJson, CaseListJson, CaseReachedJson, CaseWrittenJson};
use std::io::{self, Write};

fn table(header: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
    table.set_header(header);
    table
}

pub(crate) fn list(out: &mut Out, list: &CaseListJson) -> io::Result<()> {
    if list.cases.is_empty() {
        return writeln!(out, "There is no case.");
    }
    let mut rows = table(&["case", "state", "since", "about", "how it stands"]);
    for case in &list.cases {
        rows.add_row([&case.name, &case.state.replace('-', " "), &case.opened_at, &case.because, &case.text]);
    }
    writeln!(out, "{rows}")
}

pub(crate) fn case(out: &mut Out, case: &CaseJson) -> io::Result<()> {
    let row = &case.case;
    writeln!(out, "{}: {}", row.name, row.state.replace('-', " ").to_uppercase())?;
    writeln!(out, "  {} ({}), opened {} by {}", row.because, row.taint, row.opened_at, row.opened_by)?;
    writeln!(out, "  {}", row.text)?;
    for start in &case.starts {
        writeln!(
            out,
            "  {} found bad: last known good {}, first evidence {}",
            start.end.tag, start.last_known_good, start.first_evidence
        )?;
    }
    for tool in &case.tools {
        writeln!(
            out,
            "  {} ({}) was off: last known good {}, first evidence {}",
            tool.tag,
            tool.kind.replace('-', " "),
            tool.last_known_good,
            tool.first_evidence
        )?;
    }
    writeln!(out, "Work list (exposed is not damaged):")?;
    let mut rows = table(&["", "end", "state", "exposed since", "by way of", "to do"]);
    for work in &case.work {
        let state = if work.held { format!("{}, held", work.state) } else { work.state.clone() };
        let way = if work.found_bad && work.what == "end" {
            "found bad"
        } else {
            work.way.as_deref().unwrap_or("")
        };
        rows.add_row([
            work.rank.to_string().as_str(),
            &work.tag,
            &state.replace('-', " "),
            work.arrived_at.as_deref().unwrap_or(""),
            way,
            &work.to_do,
        ]);
    }
    writeln!(out, "{rows}")?;
    if !case.results.is_empty() {
        writeln!(out, "Results in doubt:")?;
        let mut rows = table(&["when (UTC)", "result", "through", "decision"]);
        for result in &case.results {
            let decision = result.decision.as_ref().map_or_else(
                || "none yet".to_owned(),
                |d| format!("{} ({}: {})", d.disposition.replace('-', " "), d.person, d.because),
            );
            rows.add_row([&result.at, &result.uri, &result.through.join(", "), &decision]);
        }
        writeln!(out, "{rows}")?;
    }
    changes(out, "Now also reached:", &case.changes.also_reached)?;
    changes(out, "Reached at another time:", &case.changes.reached_otherwise)?;
    changes(out, "Not reached any more:", &case.changes.no_longer_reached)?;
    for result in &case.changes.also_in_doubt {
        writeln!(out, "Now also in doubt: {}", result.uri)?;
    }
    if let Some(closed) = &case.closed {
        writeln!(out, "Closed {} by {}: {}", closed.at, closed.person, closed.because)?;
    }
    Ok(())
}

fn changes(out: &mut Out, heading: &str, changes: &[CaseReachedJson]) -> io::Result<()> {
    if changes.is_empty() {
        return Ok(());
    }
    writeln!(out, "{heading}")?;
    for change in changes {
        writeln!(out, "  {}", change.text)?;
    }
    Ok(())
}

pub(crate) fn record(out: &mut Out, case: &CaseJson) -> io::Result<()> {
    writeln!(out, "Record of the case {}, by ISO/IEC 17025:2017", case.case.name)?;
    for part in &case.record {
        writeln!(out, "{} {}", part.clause, part.heading)?;
        if part.lines.is_empty() {
            writeln!(out, "  nothing yet")?;
        }
        for line in &part.lines {
            writeln!(out, "  {line}")?;
        }
    }
    Ok(())
}

pub(crate) fn written(out: &mut Out, written: &CaseWrittenJson) -> io::Result<()> {
    writeln!(out, "Saved: {} facts", written.facts.len())?;
    writeln!(out, "{}: {}", written.case.case.name, written.case.case.text)?;
    let next = written.case.work.iter().filter(|w| w.state == "open" || w.state == "waiver-ran-out").take(5);
    for work in next {
        writeln!(out, "  {} {}: {}", work.rank, work.tag, work.to_do)?;
    }
    Ok(())
}
