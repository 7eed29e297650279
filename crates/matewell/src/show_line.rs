//! Answers about lines as text for a terminal.

use comfy_table::{Table, presets::NOTHING};
use matewell_wire::{InterfaceListJson, LineAnswerJson};
use serde::Serialize;
use serde_json::{Map, Value};
use std::io::{self, Write};

/// Ends of keys and the units they stand for, longer ones first.
const UNITS: [(&str, &str); 19] = [
    ("_um_per_100_mates", "µm per 100 mates"),
    ("_percent", "%"),
    ("_in_lbf", "in·lbf"),
    ("_n_m", "N·m"),
    ("_ohm_per_um", "\u{3a9}/µm"),
    ("_ohm_per_m", "\u{3a9}/m"),
    ("_deg_per_m", "°/m"),
    ("_db_per_m", "dB/m"),
    ("_h_per_m", "H/m"),
    ("_low_95", ""),
    ("_high_95", ""),
    ("_ohm", "\u{3a9}"),
    ("_deg", "°"),
    ("_db", "dB"),
    ("_hz", "Hz"),
    ("_ps", "ps"),
    ("_um", "µm"),
    ("_h", "H"),
    ("_f", "F"),
];

pub(crate) fn name_and_unit(key: &str) -> (String, &'static str) {
    let found = UNITS.iter().find(|(end, _)| key.ends_with(end));
    let (name, unit) = match found {
        Some((_, "")) | None => (key, ""),
        Some((end, unit)) => (key.strip_suffix(end).unwrap_or(key), *unit),
    };
    (name.replace('_', " "), unit)
}

/// Six significant digits; powers of ten where zeros would hide the number.
pub(crate) fn plain(value: f64) -> String {
    let size = value.abs();
    if size != 0.0 && !(1e-4..1e7).contains(&size) {
        return format!("{value:.4e}");
    }
    // Of a permittivity just above one, only what is above one matters.
    if (1e-9..0.01).contains(&(value - 1.0).abs()) {
        return format!("{value:.8}").trim_end_matches('0').to_owned();
    }
    let before = if size >= 1.0 { format!("{:.0}", size.floor()).len() } else { 1 };
    let decimals = if size >= 1.0 { 6usize.saturating_sub(before) } else { 8 };
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

fn quantity(value: f64, unit: &str) -> String {
    if unit == "Hz"
        && let Ok(frequency) = matewell_quantity::Frequency::from_hertz(value)
    {
        return frequency.to_string();
    }
    format!("{} {unit}", plain(value)).trim_end().to_owned()
}

fn rows(out: &mut impl Write, map: &Map<String, Value>) -> io::Result<()> {
    for (key, value) in map {
        let (name, unit) = name_and_unit(key);
        match value {
            // Shown beside the value it belongs to.
            Value::Number(_) if key.strip_prefix("u_").is_some_and(|k| map.contains_key(k)) => {}
            Value::Number(number) => {
                let value = number.as_f64().unwrap_or(f64::NAN);
                write!(out, "  {name:<38} {}", quantity(value, unit))?;
                match map.get(&format!("u_{key}")).and_then(Value::as_f64) {
                    Some(u) if u > 0.0 => writeln!(out, "  (u = {})", quantity(u, unit))?,
                    _ => writeln!(out)?,
                }
            }
            Value::String(text) => writeln!(out, "  {name:<38} {text}")?,
            Value::Array(list) => {
                let list: Vec<String> = list.iter().filter_map(Value::as_f64).map(plain).collect();
                writeln!(out, "  {name:<38} {}", list.join(", "))?;
            }
            Value::Object(inner) => rows(out, inner)?,
            Value::Null | Value::Bool(_) => {}
        }
    }
    Ok(())
}

pub(crate) fn answer<T: Serialize>(out: &mut impl Write, answer: &LineAnswerJson<T>) -> io::Result<()> {
    if let Value::Object(map) = serde_json::to_value(&answer.value)? {
        rows(out, &map)?;
    } else {
        writeln!(out, "  no number can be given")?;
    }
    for finding in &answer.findings {
        writeln!(out, "  {:<8} {}", finding.weight, finding.text)?;
    }
    for input in &answer.inputs {
        let u = input.standard_uncertainty.map(|u| format!(", u = {} {}", plain(u), input.unit));
        writeln!(
            out,
            "  with {} = {} {}{} ({}: {})",
            input.name,
            plain(input.value),
            input.unit,
            u.unwrap_or_default(),
            input.origin.evidence,
            input.origin.locator
        )?;
    }
    writeln!(out, "  model: {}", answer.model)?;
    writeln!(out, "  source: {}", answer.source)?;
    let Some(sweep) = &answer.sweep else { return Ok(()) };
    let mut table = Table::new();
    table.load_style(NOTHING);
    table.set_header(sweep.columns.iter().map(|c| {
        let (name, unit) = name_and_unit(c);
        if unit.is_empty() { name } else { format!("{name} ({unit})") }
    }));
    for row in &sweep.rows {
        table.add_row(row.iter().map(|v| plain(*v)));
    }
    writeln!(out, "{table}")
}

pub(crate) fn interfaces(out: &mut impl Write, list: &InterfaceListJson) -> io::Result<()> {
    for interface in &list.interfaces {
        writeln!(out, "{}  {}", interface.interface, interface.name)?;
        for number in &interface.numbers {
            writeln!(
                out,
                "  {:<28} {} {}  ({}: {}, {})",
                number.name,
                plain(number.value),
                number.unit,
                number.origin.evidence,
                number.origin.source,
                number.origin.locator
            )?;
        }
    }
    writeln!(out, "Data revision {}.", list.revision)
}
