//! Answers as text for a terminal.

use anstyle::{AnsiColor, Style};
use comfy_table::{ContentArrangement, Table, presets::NOTHING};
use matewell_app::WrittenJson;
use matewell_wire::{
    DueListJson, EndJson, EndListJson, EndStandingJson, FindingJson, MateCheckJson, PinJson,
};
use serde::Serialize;
use std::io::{self, Write};

/// The word first; colour only repeats it.
fn style_of(word: &str) -> Style {
    let colour = match word {
        "go" | "usable" => AnsiColor::Green,
        "stop" | "do-not-mate" | "retired" | "forbids" => AnsiColor::Red,
        _ => AnsiColor::Yellow,
    };
    Style::new().bold().fg_color(Some(colour.into()))
}

/// Standard output as people see it.
pub(crate) type Out = anstream::AutoStream<io::Stdout>;

/// Shows an answer: the bytes of HTTP, or words for a person.
pub(crate) fn print<T: Serialize>(
    json: bool,
    body: &T,
    human: impl FnOnce(&mut Out, &T) -> io::Result<()>,
) -> anyhow::Result<()> {
    let mut out = anstream::stdout();
    if json {
        writeln!(out, "{}", serde_json::to_string(body)?)?;
    } else {
        human(&mut out, body)?;
    }
    Ok(())
}

fn loud(out: &mut impl Write, word: &str) -> io::Result<()> {
    let style = style_of(word);
    write!(out, "{style}{}{style:#}", word.replace('-', " ").to_uppercase())
}

pub(crate) fn findings(out: &mut impl Write, findings: &[FindingJson]) -> io::Result<()> {
    for finding in findings {
        let about = finding.end.as_ref().map(|e| format!("{}: ", e.tag)).unwrap_or_default();
        writeln!(out, "  {:<8} {about}{}", finding.weight, finding.text)?;
        if let Some(remedy) = &finding.remedy {
            writeln!(out, "           → {remedy}")?;
        }
    }
    Ok(())
}

pub(crate) fn frequency(hertz: f64) -> String {
    matewell_quantity::Frequency::from_hertz(hertz).map_or_else(|e| e.to_string(), |f| f.to_string())
}

pub(crate) fn check(out: &mut impl Write, check: &MateCheckJson) -> io::Result<()> {
    loud(out, &check.answer)?;
    writeln!(out, "   {} on {}", check.a.end.tag, check.b.end.tag)?;
    findings(out, &check.findings)?;
    if let Some(gap) = &check.gap {
        write!(
            out,
            "  joint gap {:.1} µm (u = {:.1} µm), chance of interference {:.2} %",
            gap.gap_um,
            gap.u_gap_um,
            100.0 * gap.interference_probability
        )?;
        match (gap.reflection_magnitude, check.frequency_hz) {
            (Some(magnitude), Some(at)) => writeln!(out, ", |Γ| {magnitude:.4} at {}", frequency(at))?,
            _ => writeln!(out)?,
        }
    }
    if let Some(upper) = check.usable_up_to_hz {
        writeln!(out, "  good up to {}", frequency(upper))?;
    }
    writeln!(out, "  torque: {}", check.torque.text)?;
    if !check.torque.wrenches.is_empty() {
        let tags: Vec<&str> = check.torque.wrenches.iter().map(|w| w.tag.as_str()).collect();
        writeln!(out, "  wrench: {}", tags.join(" or "))?;
    }
    writeln!(out, "  {}", check.hold_still)?;
    for caution in &check.cautions {
        writeln!(out, "  caution: {}", caution.text)?;
    }
    Ok(())
}

pub(crate) fn pin(pin: &PinJson) -> String {
    match (&pin.word, pin.distance_um, pin.u_distance_um) {
        (Some(word), Some(um), Some(u)) => {
            format!("{word} by {um:.1} µm (u = {u:.1} µm), {}", pin.decision.replace('-', " "))
        }
        _ => "unknown".to_owned(),
    }
}

fn standing(out: &mut impl Write, end: &EndStandingJson) -> io::Result<()> {
    loud(out, &end.standing)?;
    writeln!(out, "   {}", end.end.tag)?;
    findings(out, &end.findings)
}

pub(crate) fn end(out: &mut impl Write, end: &EndJson) -> io::Result<()> {
    standing(out, &end.standing)?;
    writeln!(
        out,
        "  {} {} of {} ({}), {} grade, {} body",
        end.interface, end.sex, end.item.tag, end.item.kind, end.grade, end.body
    )?;
    writeln!(out, "  pin {}", pin(&end.standing.pin))?;
    if let Some(upper) = end.standing.usable_up_to_hz {
        writeln!(out, "  good up to {}", frequency(upper))?;
    }
    writeln!(out, "  {} contacts, {} since the last gauging", end.contacts, end.contacts_since_gauging)?;
    let mut table = Table::new();
    table.load_style(NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
    table.set_header(["when (UTC)", "what", "who", "fact"]);
    for event in &end.history {
        let text = if event.corrected { format!("(taken back) {}", event.text) } else { event.text.clone() };
        table.add_row([&event.happened_at, &text, &event.person, &event.fact]);
    }
    writeln!(out, "{table}")
}

pub(crate) fn ends(out: &mut impl Write, list: &EndListJson) -> io::Result<()> {
    let mut table = Table::new();
    table.load_style(NOTHING);
    table.set_header(["end", "item", "interface", "sex"]);
    for row in &list.ends {
        table.add_row([&row.end.tag, &row.item_tag, &row.interface, &row.sex]);
    }
    writeln!(out, "{table}")?;
    writeln!(out, "{} of {} ends", list.ends.len(), list.total)
}

pub(crate) fn due(out: &mut impl Write, list: &DueListJson) -> io::Result<()> {
    if list.due.is_empty() {
        return writeln!(out, "Nothing is due.");
    }
    let mut table = Table::new();
    table.load_style(NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
    table.set_header(["", "what", "tag", "where", "why"]);
    for row in &list.due {
        table.add_row([
            row.rank.to_string(),
            row.task.replace('-', " "),
            row.tag.clone(),
            row.location.clone().unwrap_or_default(),
            row.text.clone(),
        ]);
    }
    writeln!(out, "{table}")
}

pub(crate) fn written(out: &mut impl Write, written: &WrittenJson) -> io::Result<()> {
    writeln!(out, "Saved: {}", written.facts.join(", "))?;
    for end in &written.ends {
        standing(out, end)?;
    }
    for case in &written.cases {
        writeln!(out, "{}", case.text)?;
    }
    Ok(())
}
