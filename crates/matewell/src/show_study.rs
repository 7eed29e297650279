//! Answers of studies as text for a terminal: words first, then the numbers,
//! then the tables, then what they rest on.

use crate::show_line::{name_and_unit, plain};
use comfy_table::{Table, presets::NOTHING};
use serde::Serialize;
use serde_json::{Map, Value};
use std::io::{self, Write};

/// Shown at other places, or for machines only.
const ELSEWHERE: [&str; 11] = [
    "summary",
    "findings",
    "inputs",
    "method",
    "source",
    "question",
    "readings_from",
    "readings",
    "band",
    "unit",
    "cells",
];
/// Longer tables are cut on a terminal; the whole is in `--json`.
const MOST_ROWS: usize = 60;

fn word(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::Number(number) => number.as_f64().map_or_else(String::new, plain),
        Value::String(text) => text.clone(),
        Value::Array(list) => list.iter().map(word).collect::<Vec<_>>().join(", "),
        Value::Object(map) => match (map.get("tag"), map.get("source"), map.get("text")) {
            (Some(tag), _, _) => word(tag),
            (_, Some(source), _) => {
                let get = |key: &str| map.get(key).map(word).unwrap_or_default();
                format!("{}, {} ({})", word(source), get("locator"), get("evidence"))
            }
            (_, _, Some(text)) => word(text),
            _ => map.values().map(word).collect::<Vec<_>>().join(", "),
        },
    }
}

fn heading(key: &str) -> String {
    let (name, unit) = name_and_unit(key);
    if unit.is_empty() { name } else { format!("{name} ({unit})") }
}

fn table(out: &mut impl Write, name: &str, list: &[Value]) -> io::Result<()> {
    // A column that is empty everywhere says nothing.
    let mut keys: Vec<&String> = Vec::new();
    for map in list.iter().filter_map(Value::as_object) {
        for (key, value) in map {
            if !value.is_null() && key != "fact" && !keys.contains(&key) {
                keys.push(key);
            }
        }
    }
    writeln!(out, "\n{}", heading(name))?;
    let mut table = Table::new();
    table.load_style(NOTHING);
    table.set_header(keys.iter().map(|k| heading(k)));
    for map in list.iter().filter_map(Value::as_object).take(MOST_ROWS) {
        table.add_row(keys.iter().map(|k| map.get(*k).map(word).unwrap_or_default()));
    }
    writeln!(out, "{table}")?;
    if list.len() > MOST_ROWS {
        writeln!(out, "  … and {} more; --json has them all", list.len() - MOST_ROWS)?;
    }
    Ok(())
}

fn numbers(out: &mut impl Write, map: &Map<String, Value>, indent: &str) -> io::Result<()> {
    for (key, value) in map.iter().filter(|(k, v)| !ELSEWHERE.contains(&k.as_str()) && !v.is_null()) {
        match value {
            Value::Array(list) if list.first().is_some_and(Value::is_object) => {}
            Value::Array(list) if list.is_empty() => {}
            Value::Object(inner) if !inner.contains_key("tag") => {
                writeln!(out, "{indent}{}", heading(key))?;
                numbers(out, inner, "    ")?;
            }
            other => writeln!(out, "{indent}{:<40} {}", heading(key), word(other))?,
        }
    }
    Ok(())
}

fn tables(out: &mut impl Write, map: &Map<String, Value>) -> io::Result<()> {
    for (key, value) in map.iter().filter(|(k, _)| !ELSEWHERE.contains(&k.as_str())) {
        match value {
            Value::Array(list) if list.first().is_some_and(Value::is_object) => table(out, key, list)?,
            Value::Object(inner) => tables(out, inner)?,
            _ => {}
        }
    }
    Ok(())
}

pub(crate) fn answer<T: Serialize>(out: &mut impl Write, answer: &T) -> io::Result<()> {
    let Value::Object(map) = serde_json::to_value(answer)? else { return Ok(()) };
    let text = |key: &str| map.get(key).map(word).unwrap_or_default();
    writeln!(out, "{}", text("summary"))?;
    for finding in map.get("findings").and_then(Value::as_array).into_iter().flatten() {
        let get = |key: &str| finding.get(key).map(word).unwrap_or_default();
        writeln!(out, "  {:<8} {}", get("weight"), get("text"))?;
    }
    numbers(out, &map, "  ")?;
    tables(out, &map)?;
    writeln!(out)?;
    if let Some(unit) = map.get("unit").filter(|u| **u != "1") {
        writeln!(out, "  numbers without a unit of their own are in {}", word(unit))?;
    }
    for input in map.get("inputs").and_then(Value::as_array).into_iter().flatten() {
        let get = |key: &str| input.get(key).map(word).unwrap_or_default();
        let unit = get("unit");
        let unit = if unit == "1" { String::new() } else { format!(" {unit}") };
        writeln!(out, "  with {} = {}{unit} ({})", get("name"), get("value"), get("origin"))?;
    }
    if map.contains_key("readings_from") {
        writeln!(out, "  readings: {} ({})", text("readings_from"), text("readings"))?;
    }
    writeln!(out, "  method: {}", text("method"))?;
    writeln!(out, "  source: {}", text("source"))
}
