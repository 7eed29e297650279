//! Budgets and corrections as text for a terminal.

use crate::show;
use comfy_table::{CellAlignment, ContentArrangement, Table, presets::NOTHING};
use matewell_app::ToolCheckedJson;
use matewell_wire::{
    GaugingBudgetJson, PinHistoryJson, PinJson, ToolJson, ToolListJson, TorqueCheckJson, WasOffJson,
};
use std::io::{self, Write};

fn table(header: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_header(header);
    table
}

pub(crate) fn budget(out: &mut impl Write, b: &GaugingBudgetJson) -> io::Result<()> {
    writeln!(out, "{}: {}", b.end.tag, show::pin(&b.pin))?;
    if let (Some(u), Some(expanded)) = (b.u_um, b.expanded_um) {
        let dof = b.degrees_of_freedom.map_or_else(|| "taken as known".to_owned(), |d| format!("{d:.0}"));
        writeln!(out, "  u = {u:.2} µm, effective degrees of freedom {dof}, U = {expanded:.2} µm (twice u)")?;
    }
    if let (Some(p), Some(guard)) = (b.pin.protrusion_probability, b.guard_band_um) {
        writeln!(
            out,
            "  chance that it protrudes {:.2} %, accepted {:.1} %; guard band {guard:.2} µm",
            100.0 * p,
            100.0 * b.accepted_risk
        )?;
    }
    if let Some(n) = b.pin.readings_needed {
        writeln!(out, "  {n} readings in all would decide, if the mean stays")?;
    } else if b.pin.decision == "gauge-cannot-decide" {
        writeln!(out, "  no number of readings with this gauge would decide")?;
    }
    if let (Some(moved), Some(allowed)) = (b.zero_moved_um, b.zero_move_allowed_um) {
        writeln!(
            out,
            "  zero moved by {moved:.2} µm, allowed {allowed:.2} µm{}",
            if b.void { ": VOID" } else { "" }
        )?;
    }
    if let Some(d) = &b.dielectric {
        writeln!(out, "  dielectric {} by {:.1} µm", d.word, d.distance_um)?;
    }
    if let Some(upper) = b.usable_up_to_hz {
        writeln!(out, "  good up to {}", show::frequency(upper))?;
    }
    if !b.lines.is_empty() {
        let mut rows = table(&["input", "type", "shape", "stated µm", "u µm", "share %", "source"]);
        for line in &b.lines {
            rows.add_row([
                line.name.clone(),
                line.evaluation.clone(),
                line.shape.clone(),
                format!("{:.3}", line.stated_um),
                format!("{:.3}", line.u_um),
                format!("{:.1}", 100.0 * line.share),
                line.source.clone(),
            ]);
        }
        for column in 3..6 {
            if let Some(column) = rows.column_mut(column) {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        writeln!(out, "{rows}")?;
    }
    show::findings(out, &b.findings)?;
    for question in &b.questions {
        writeln!(out, "  question {}: {} (if so: --sure {})", question.field, question.text, question.code)?;
    }
    Ok(())
}

pub(crate) fn history(out: &mut impl Write, h: &PinHistoryJson) -> io::Result<()> {
    let mut rows = table(&["contacts", "when (UTC)", "pin", ""]);
    for point in &h.points {
        let note = match (point.void, point.gauge_was_off) {
            (true, _) => "void",
            (false, true) => "gauge was off",
            _ => "",
        };
        rows.add_row([point.contacts.to_string(), point.at.clone(), show::pin(&point.pin), note.to_owned()]);
    }
    writeln!(out, "{rows}")
}

fn torque(out: &mut impl Write, t: &TorqueCheckJson) -> io::Result<()> {
    writeln!(
        out,
        "Set {:.3} N.m, mean {:.3} N.m: deviation {:+.2} %, largest {:.2} % of permissible {:.1} %: {}",
        t.set_n_m,
        t.mean_reference_n_m,
        t.mean_deviation_percent,
        t.largest_deviation_percent,
        t.permissible_percent,
        if t.conforms { "keeps it" } else { "does not keep it" }
    )?;
    if let (Some(w), Some(interval)) = (t.expanded_percent, t.interval_percent) {
        writeln!(out, "W = {w:.2} %, W' = {interval:.2} %; not measured: {}", t.not_measured.join(", "))?;
    }
    Ok(())
}

pub(crate) fn tools(out: &mut impl Write, list: &ToolListJson) -> io::Result<()> {
    let mut rows = table(&["tool", "kind", "standing", "last check (UTC)", "why"]);
    for tool in &list.tools {
        rows.add_row([
            tool.tag.as_str(),
            &tool.kind.replace('-', " "),
            &tool.standing.replace('-', " "),
            tool.last_check.as_ref().map_or("never", |check| check.at.as_str()),
            &tool.text,
        ]);
    }
    writeln!(out, "{rows}")
}

pub(crate) fn tool(out: &mut impl Write, t: &ToolJson) -> io::Result<()> {
    let row = &t.tool;
    writeln!(out, "{} ({}): {}", row.tag, row.kind.replace('-', " "), row.standing.replace('-', " "))?;
    writeln!(out, "  {}", row.text)?;
    if let Some(paper) = &row.certificate {
        let until =
            paper.valid_until.as_ref().map(|until| format!(", holds until {until}")).unwrap_or_default();
        writeln!(out, "  certificate {}{until}", paper.document)?;
    }
    writeln!(out, "  uses since the last check: {}", row.uses_since_check)?;
    if let Some(case) = &t.case {
        writeln!(out, "  the case {case} is about it")?;
    }
    let mut rows = table(&["when (UTC)", "who", "what"]);
    for event in &t.history {
        let text = if event.corrected { format!("taken back: {}", event.text) } else { event.text.clone() };
        rows.add_row([&event.happened_at, &event.person, &text]);
    }
    writeln!(out, "{rows}")
}

pub(crate) fn checked(out: &mut impl Write, c: &ToolCheckedJson) -> io::Result<()> {
    if let Some(t) = &c.torque {
        torque(out, t)?;
    }
    show::written(out, &c.written)
}

fn said(pin: &PinJson) -> String {
    let place = match (&pin.word, pin.distance_um) {
        (Some(word), Some(um)) => format!("{word} {um:.1} µm, "),
        _ => String::new(),
    };
    format!("{place}{}", pin.decision.replace('-', " "))
}

pub(crate) fn was_off(out: &mut impl Write, w: &WasOffJson) -> io::Result<()> {
    writeln!(out, "{} ({}) was off from {} to {}, a {}", w.tool, w.kind, w.since, w.until, w.way)?;
    if let (Some(by), Some(too)) = (w.by_um, &w.too) {
        writeln!(out, "  it read up to {by:.1} µm too far {too}")?;
        writeln!(out, "  {} gaugings recomputed, {} flip", w.gaugings.len(), w.flips)?;
        let other = if w.way == "drift" { "as a step" } else { "as a drift" };
        let mut rows = table(&["", "when (UTC)", "end", "off µm", "before", "after", other]);
        for g in &w.gaugings {
            rows.add_row([
                if g.flips { "FLIPS" } else { "" }.to_owned(),
                g.at.clone(),
                g.end.tag.clone(),
                format!("{:.1}", g.offset_um.abs()),
                said(&g.before),
                said(&g.after),
                said(&g.after_other_way),
            ]);
        }
        writeln!(out, "{rows}")?;
        for g in w.gaugings.iter().filter(|g| g.flips && !g.mated_meanwhile.is_empty()) {
            let mut partners: Vec<&str> = g.mated_meanwhile.iter().map(|m| m.end.tag.as_str()).collect();
            partners.sort_unstable();
            partners.dedup();
            let until = g.gauged_again_at.as_ref().map_or_else(
                || "not gauged since".to_owned(),
                |at| format!("until it was gauged again at {at}"),
            );
            writeln!(
                out,
                "  {} was mated {} times meanwhile ({until}): {}",
                g.end.tag,
                g.mated_meanwhile.len(),
                partners.join(", ")
            )?;
        }
        for u in &w.untouched {
            writeln!(out, "  {} of {} stays: {}", u.end.tag, u.at, u.because)?;
        }
    }
    if let Some(applied) = w.applied_n_m {
        writeln!(out, "  it applied {applied:.2} N.m at the end; {} joints", w.joints.len())?;
        let mut rows = table(&["", "when (UTC)", "joint", "body", "over", "what"]);
        for j in &w.joints {
            let since: Vec<&str> = j.gauged_since.iter().map(|e| e.tag.as_str()).collect();
            let gauged = if since.is_empty() {
                String::new()
            } else {
                format!(" Gauged since: {}.", since.join(", "))
            };
            rows.add_row([
                j.rank.to_string(),
                j.at.clone(),
                format!("{} on {}", j.a.tag, j.b.tag),
                j.body.clone(),
                j.over.map(|o| format!("{:.0} %", 100.0 * o)).unwrap_or_default(),
                format!("{}{gauged}", j.text),
            ]);
        }
        writeln!(out, "{rows}")?;
    }
    if w.written {
        writeln!(out, "Saved: {} corrections; the originals stay.", w.facts.len())
    } else if w.applied_n_m.is_none() {
        writeln!(out, "Nothing was written; --write writes the corrections.")
    } else {
        Ok(())
    }
}
