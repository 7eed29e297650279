//! Answers about sweeps as text for a terminal.

use comfy_table::{ContentArrangement, Table, presets::NOTHING};
use matewell_wire::{
    ColumnsJson, LineFindingJson, ReconnectJson, SweepCheckJson, SweepCompareJson, SweepListJson,
    SweepReadJson, SweepTimeJson, SweepTrendJson, SweepWarningJson,
};
use std::io::{self, Write};

fn table(headers: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(NOTHING);
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_header(headers.iter().copied());
    table
}

fn warnings(out: &mut impl Write, warnings: &[SweepWarningJson]) -> io::Result<()> {
    for w in warnings {
        let weight = if w.breaks_rule { "rule" } else { "note" };
        writeln!(out, "  {weight:<8} line {}, column {}: {}", w.line, w.column, w.text)?;
    }
    Ok(())
}

fn findings(out: &mut impl Write, findings: &[LineFindingJson]) -> io::Result<()> {
    for finding in findings {
        writeln!(out, "  {:<8} {}", finding.weight, finding.text)?;
    }
    Ok(())
}

fn ghz(hertz: f64) -> String {
    format!("{} GHz", hertz / 1e9)
}

pub(crate) fn read(out: &mut impl Write, found: &SweepReadJson) -> io::Result<()> {
    writeln!(out, "{}: {}", found.file.name, found.text)?;
    writeln!(out, "  {} bytes, SHA-256 {}", found.file.bytes, found.file.sha256)?;
    writeln!(out, "  format {} in {}, references {:?} Ω", found.format, found.unit, found.references_ohm)?;
    if let Some(grid) = &found.grid {
        let step = grid.step_hz.map_or_else(|| "no constant step".to_owned(), |s| format!("step {}", ghz(s)));
        writeln!(out, "  {} to {}, {step}", ghz(grid.first_hz), ghz(grid.last_hz))?;
    }
    if let Some(because) = &found.no_sweep_because {
        writeln!(out, "  no S-parameters: {because}")?;
    }
    warnings(out, &found.warnings)
}

pub(crate) fn check(out: &mut impl Write, found: &SweepCheckJson) -> io::Result<()> {
    writeln!(out, "{}", found.text)?;
    writeln!(
        out,
        "  largest singular value {:.6} at {}",
        found.passivity.largest_singular_value,
        ghz(found.passivity.at_hz)
    )?;
    if let Some(r) = &found.reciprocity {
        writeln!(
            out,
            "  largest difference of forward and backward {:.2e} at {}",
            r.largest_difference,
            ghz(r.at_hz)
        )?;
    }
    if let Some(noise) = found.noise_floor_db {
        writeln!(out, "  noise at most {noise:.1} dB")?;
    }
    if let Some(m) = &found.metrics {
        writeln!(
            out,
            "  for information: passivity {:.2} %, reciprocity {:.2} %, causality {:.2} %",
            m.passivity_percent, m.reciprocity_percent, m.causality_percent
        )?;
    }
    findings(out, &found.findings)?;
    warnings(out, &found.warnings)
}

pub(crate) fn columns(out: &mut impl Write, columns: &ColumnsJson) -> io::Result<()> {
    writeln!(out, "{}", columns.names.join("\t"))?;
    let rows = columns.values.first().map_or(0, Vec::len);
    for row in 0..rows {
        let cells: Vec<String> =
            columns.values.iter().filter_map(|c| c.get(row)).map(ToString::to_string).collect();
        writeln!(out, "{}", cells.join("\t"))?;
    }
    Ok(())
}

pub(crate) fn time(out: &mut impl Write, found: &SweepTimeJson) -> io::Result<()> {
    writeln!(out, "{}", found.text)?;
    findings(out, &found.findings)?;
    let mut t = table(&["round trip ns", "one way m", "height"]);
    for row in peaks(&found.columns) {
        let cell =
            |k: usize| found.columns.values.get(k).and_then(|c| c.get(row)).copied().unwrap_or(f64::NAN);
        t.add_row([format!("{:.4}", cell(0) * 1e9), format!("{:.4}", cell(1)), format!("{:+.5}", cell(2))]);
    }
    writeln!(out, "{t}")?;
    writeln!(out, "  every value: --json")
}

/// Where the height turns, of a twentieth of the largest and more; at most
/// forty, in order.
fn peaks(columns: &ColumnsJson) -> Vec<usize> {
    let Some(values) = columns.values.get(2) else { return Vec::new() };
    let most = values.iter().fold(0.0_f64, |most, v| if v.abs() > most { v.abs() } else { most });
    let mut found: Vec<usize> = values
        .windows(3)
        .enumerate()
        .filter(|(_, w)| matches!(w, [a, b, c] if b.abs() >= a.abs() && b.abs() > c.abs() && b.abs() >= most / 20.0))
        .map(|(k, _)| k + 1)
        .collect();
    let height = |k: &usize| values.get(*k).map_or(0.0, |v| v.abs());
    found.sort_by(|a, b| height(b).total_cmp(&height(a)));
    found.truncate(40);
    found.sort_unstable();
    found
}

pub(crate) fn list(out: &mut impl Write, found: &SweepListJson) -> io::Result<()> {
    let mut t = table(&["when", "file", "points", "good", "chain", "port", "cables", "id"]);
    for s in &found.sweeps {
        let chain: Vec<&str> = s.chain.iter().map(|e| e.tag.as_str()).collect();
        t.add_row([
            s.happened_at.clone(),
            s.file.name.clone(),
            s.points.to_string(),
            if s.known_good { "yes" } else { "no" }.to_owned(),
            chain.join(" "),
            s.port.to_string(),
            s.cable_shape.clone().unwrap_or_default(),
            s.fact.clone(),
        ]);
    }
    writeln!(out, "{t}")
}

pub(crate) fn compare(out: &mut impl Write, found: &SweepCompareJson) -> io::Result<()> {
    writeln!(out, "{}", found.text)?;
    writeln!(out, "  baseline {}: {}", found.baseline.file.name, found.baseline_chosen)?;
    let mut t =
        table(&["joint", "m", "pH", "u", "mΩ", "u", "dB", "seen from pH", "if a gap: µm", "evidence"]);
    for j in &found.joints {
        let gap = j.gap_if_a_gap_is_the_cause.as_ref().map_or_else(String::new, |g| {
            format!("{:+.0} ({:.0} to {:.0})", g.change_um, g.low_um, g.high_um)
        });
        t.add_row([
            format!("{}{}", if j.named { "* " } else { "" }, j.name),
            format!("{:.3}", j.distance_m),
            format!("{:+.2}", j.inductance_change_ph),
            format!("{:.2}", j.u_inductance_change_ph),
            format!("{:+.1}", j.resistance_change_mohm),
            format!("{:.1}", j.u_resistance_change_mohm),
            format!("{:+.1}", j.reflection_change_db),
            format!("{:.2}", j.smallest_detectable_ph),
            gap,
            format!("{:.1}", j.evidence),
        ]);
    }
    writeln!(out, "{t}")?;
    for s in found.sections.iter().filter(|s| s.flexible) {
        if let Some(degrees) = s.phase_change_deg {
            writeln!(out, "  {} turned by {degrees:+.2} degrees at the highest frequency", s.name)?;
        }
    }
    findings(out, &found.findings)?;
    writeln!(out, "  model: {}", found.model)?;
    writeln!(out, "  source: {}", found.source)
}

pub(crate) fn reconnect(out: &mut impl Write, found: &ReconnectJson) -> io::Result<()> {
    writeln!(out, "{}", found.text)?;
    let mut t = table(&["group", "file", "pH", "mΩ"]);
    for g in &found.groups {
        for ((file, l), r) in g.files.iter().zip(&g.inductance_ph).zip(&g.resistance_mohm) {
            t.add_row([g.group.clone(), file.name.clone(), format!("{l:+.3}"), format!("{r:+.2}")]);
        }
    }
    writeln!(out, "{t}")
}

pub(crate) fn trend(out: &mut impl Write, found: &SweepTrendJson) -> io::Result<()> {
    writeln!(out, "{}", found.text)?;
    let mut t = table(&["when", "frequency", "value", "id"]);
    for v in &found.values {
        t.add_row([
            v.happened_at.clone(),
            ghz(v.at_hz),
            format!("{:.4} {}", v.value, found.unit),
            v.fact.clone(),
        ]);
    }
    writeln!(out, "{t}")?;
    for left in &found.left_out {
        writeln!(out, "  left out {left}")?;
    }
    Ok(())
}
