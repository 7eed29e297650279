//! Traces as text for a terminal.

use comfy_table::{ContentArrangement, Table, presets::NOTHING};
use matewell_wire::{
    BackTraceJson, CommonTraceJson, KnownMomentJson, ResultInDoubtJson, ToolTraceJson, TraceJson,
    TraceSourceJson, TraceStepJson,
};
use std::io::{self, Write};

fn table(header: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
    table.set_header(header);
    table
}

fn because(known: &KnownMomentJson) -> String {
    format!("{} ({})", known.at, known.because.replace('-', " "))
}

fn source(out: &mut impl Write, source: &TraceSourceJson) -> io::Result<()> {
    writeln!(
        out,
        "  {}: last known good {}; first evidence {}",
        source.end.tag,
        because(&source.last_known_good),
        because(&source.first_evidence)
    )
}

fn path(via: &[TraceStepJson]) -> String {
    via.iter().map(|step| step.from.tag.as_str()).collect::<Vec<_>>().join(" → ")
}

fn results(out: &mut impl Write, results: &[ResultInDoubtJson]) -> io::Result<()> {
    if results.is_empty() {
        return Ok(());
    }
    writeln!(out, "Results in doubt:")?;
    let mut rows = table(&["when (UTC)", "result", "device", "through"]);
    for result in results {
        let through: Vec<String> =
            result.through.iter().map(|t| format!("{} ({})", t.end.tag, t.certainty)).collect();
        rows.add_row([
            result.at.as_str(),
            result.uri.as_str(),
            result.device.as_deref().unwrap_or(""),
            through.join(", ").as_str(),
        ]);
    }
    writeln!(out, "{rows}")
}

pub(crate) fn forward(out: &mut impl Write, trace: &TraceJson) -> io::Result<()> {
    writeln!(out, "{}", trace.text)?;
    for one in &trace.sources {
        source(out, one)?;
    }
    let mut rows = table(&[
        "end",
        "exposed since (UTC)",
        "until",
        "how sure",
        "hops",
        "chance",
        "standing",
        "waits for it",
        "by way of",
    ]);
    for x in &trace.exposed {
        let until = match x.intervals.last().and_then(|i| i.until.clone()) {
            Some(until) => until,
            None => "now".to_owned(),
        };
        let (low, high) = (100.0 * x.probability.ever_lower, 100.0 * x.probability.ever_upper);
        rows.add_row([
            if x.end.what == "gauge" { format!("{} (gauge)", x.end.tag) } else { x.end.tag.clone() },
            x.arrived_at.clone(),
            until,
            if x.order_unknown { format!("{}, order unknown", x.certainty) } else { x.certainty.clone() },
            x.hops.to_string(),
            format!("{low:.0} to {high:.0} %"),
            x.standing.clone().unwrap_or_default().replace('-', " "),
            x.waiting.iter().map(|w| w.text.as_str()).collect::<Vec<_>>().join("; "),
            path(&x.via),
        ]);
    }
    writeln!(out, "{rows}")?;
    results(out, &trace.results)?;
    if !trace.unordered_days.is_empty() {
        writeln!(out, "Days without order: {}", trace.unordered_days.join(", "))?;
    }
    if let Some(what_if) = &trace.what_if {
        writeln!(out, "Had it been otherwise ({}):", what_if.changes.join("; "))?;
        writeln!(
            out,
            "  {} exposed instead of {}, {} still; {} spared, {} later or shorter",
            what_if.exposed,
            trace.exposed.len(),
            what_if.exposed_now,
            what_if.spared.len(),
            what_if.changed.len()
        )?;
        let spared: Vec<&str> = what_if.spared.iter().map(|end| end.tag.as_str()).collect();
        if !spared.is_empty() {
            writeln!(out, "  spared: {}", spared.join(", "))?;
        }
    }
    writeln!(out, "{}", trace.model.text)
}

pub(crate) fn back(out: &mut impl Write, trace: &BackTraceJson) -> io::Result<()> {
    writeln!(out, "{}", trace.text)?;
    source(out, &trace.bad)?;
    let mut rows = table(&["end", "latest touch (UTC)", "hops", "its own evidence", "path"]);
    for c in &trace.candidates {
        rows.add_row([
            c.end.tag.clone(),
            c.latest_departure.clone(),
            c.hops.to_string(),
            c.evidence.as_ref().map(because).unwrap_or_default(),
            format!("{} → {}", path(&c.via), trace.bad.end.tag),
        ]);
    }
    writeln!(out, "{rows}")
}

pub(crate) fn common(out: &mut impl Write, trace: &CommonTraceJson) -> io::Result<()> {
    writeln!(out, "{}", trace.text)?;
    for one in &trace.bad {
        source(out, one)?;
    }
    let mut rows = table(&["end", "explains", "bad by (UTC)", "hops in all", "its own evidence"]);
    for c in &trace.common {
        let explains: Vec<&str> = c.explains.iter().map(|end| end.tag.as_str()).collect();
        rows.add_row([
            c.end.tag.clone(),
            explains.join(", "),
            c.together_until.clone().unwrap_or_else(|| "more than once".to_owned()),
            c.hops.to_string(),
            c.evidence.as_ref().map(because).unwrap_or_default(),
        ]);
    }
    writeln!(out, "{rows}")
}

pub(crate) fn tool(out: &mut impl Write, trace: &ToolTraceJson) -> io::Result<()> {
    writeln!(out, "{}", trace.text)?;
    writeln!(
        out,
        "  {}: last known good {}; first evidence {}",
        trace.tag,
        because(&trace.last_known_good),
        because(&trace.first_evidence)
    )?;
    let mut rows = table(&["when (UTC)", "ends", "off by then", "what", "who"]);
    for used in &trace.uses {
        let ends: Vec<&str> = used.ends.iter().map(|end| end.tag.as_str()).collect();
        rows.add_row([
            used.at.clone(),
            ends.join(", "),
            format!("{:.0} %", 100.0 * used.off_by_then),
            used.text.clone(),
            used.person.clone(),
        ]);
    }
    writeln!(out, "{rows}")?;
    results(out, &trace.results)
}
