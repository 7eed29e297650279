//! A lab's own values beside ours: its worked examples, its certificates.
//!
//! ```toml
//! [[study]]
//! name = "gauge study of March"
//! question = "study gauge"
//! options = { pool = "0.25", f_over = "repeatability" }
//! table = """
//! appraiser,part,reading (um)
//! ada,1,10.2
//! """
//!
//! [[study.value]]
//! key = "components.gauge.standard_deviation"
//! expected = "0.302"
//! source = "spreadsheet of March, cell B7"
//!
//! [[study]]
//! name = "impedance of our air line"
//! question = "line impedance"
//! options = { outer = "7mm", inner = "3.04mm" }
//!
//! [[study.value]]
//! key = "impedance_ohm"
//! expected = "50.0"
//! allowed = 0.1
//! because = "the certificate has U = 0.1 ohm"
//! source = "certificate 2026-117"
//! ```
//!
//! `question` is a question of the command line (`study …`, `line …`) and
//! `options` are its options. Instead of `table`, `input` names a file beside
//! this one; only the command line reads files. `key` walks through the JSON
//! answer: keys, names of list items, or places in a list counted from 1.
//! `expected` is the value as printed; without `allowed` ours must be within
//! half of its last digit. A wider `allowed` needs `because`.

use crate::{
    AppError, ValidationJson, ValidationRowJson,
    error::field,
    physics,
    studies::{self, StudyFile},
};
use matewell_published::half_last_digit;
use matewell_sheets::Sheets;
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::Value;

/// Largest file of own values in bytes.
pub const OWN_VALIDATION_BYTES: usize = 2_000_000;
/// Most questions in one file.
const MOST_STUDIES: usize = 200;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnFile {
    study: Vec<OwnStudy>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnStudy {
    name: String,
    question: String,
    #[serde(default)]
    options: toml::Table,
    table: Option<String>,
    input: Option<String>,
    value: Vec<OwnValue>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnValue {
    key: String,
    expected: String,
    allowed: Option<f64>,
    because: Option<String>,
    source: String,
}

fn options<T: DeserializeOwned>(study: &OwnStudy) -> Result<T, AppError> {
    study.options.clone().try_into().map_err(|e: toml::de::Error| {
        field("options")(format!("study \"{}\", options: {}", study.name, e.to_string().trim_end()))
    })
}

fn json<T: Serialize>(answer: &T) -> Result<Value, AppError> {
    serde_json::to_value(answer).map_err(|e| AppError::NotReady(format!("an answer cannot be written: {e}")))
}

const QUESTIONS: &str = "study gauge, study nested, study chart, study compare, study torque, line impedance, line \
                         cutoff, line gap, line offcentre, line loss, line mismatch, line chain, line convert, line \
                         recess, line step, line shift, line usable, line cost, line thermal, line air, line slots";

fn ask(sheets: &Sheets, study: &OwnStudy, table: Option<&[u8]>) -> Result<Value, AppError> {
    let file = table.map(|bytes| StudyFile { bytes, name: study.input.as_deref().unwrap_or("table") });
    let needed = || {
        file.ok_or_else(|| {
            field("table")(format!(
                "study \"{}\": expected a table, or an input file, found neither",
                study.name
            ))
        })
    };
    macro_rules! line {
        ($name:ident) => {{
            if table.is_some() {
                return Err(field("table")(format!(
                    "study \"{}\": a line question takes no table",
                    study.name
                )));
            }
            json(&physics::$name(sheets, &options(study)?)?)
        }};
    }
    match study.question.trim() {
        "study gauge" => json(&studies::gauge_study(&needed()?, &options(study)?)?),
        "study nested" => json(&studies::nested_study(&needed()?, &options(study)?)?),
        "study chart" => json(&studies::chart_study(&needed()?, &options(study)?)?),
        "study compare" => json(&studies::compare_study(&needed()?, &options(study)?)?),
        "study torque" => json(&studies::torque_study(sheets, file.as_ref(), &options(study)?)?),
        "line impedance" => line!(impedance),
        "line cutoff" => line!(cutoff),
        "line gap" => line!(gap),
        "line offcentre" => line!(off_centre),
        "line loss" => line!(loss),
        "line mismatch" => line!(mismatch),
        "line chain" => line!(chain),
        "line convert" => line!(convert),
        "line recess" => line!(recess),
        "line step" => line!(step),
        "line shift" => line!(shift),
        "line usable" => line!(usable),
        "line cost" => line!(cost),
        "line thermal" => line!(thermal),
        "line air" => line!(air),
        "line slots" => line!(slots),
        other => Err(field("question")(format!(
            "study \"{}\": expected one of {QUESTIONS}; found \"{other}\"",
            study.name
        ))),
    }
}

/// Walks through an answer: keys, `name` of a list item, place counted from 1.
fn found(answer: &Value, key: &str) -> Result<f64, String> {
    let mut at = answer;
    let mut way = String::new();
    for part in key.split('.') {
        let next = match at {
            Value::Object(map) => map.get(part),
            Value::Array(list) => list
                .iter()
                .find(|item| item.get("name").and_then(Value::as_str) == Some(part))
                .or_else(|| part.parse::<usize>().ok()?.checked_sub(1).and_then(|n| list.get(n))),
            _ => None,
        };
        let Some(next) = next else {
            let there = match at {
                Value::Object(map) => map.keys().cloned().collect::<Vec<_>>().join(", "),
                Value::Array(list) => {
                    let names: Vec<&str> =
                        list.iter().filter_map(|i| i.get("name").and_then(Value::as_str)).collect();
                    if names.is_empty() { format!("places 1 to {}", list.len()) } else { names.join(", ") }
                }
                other => other.to_string(),
            };
            let place = if way.is_empty() { "the answer".to_owned() } else { format!("\"{way}\"") };
            return Err(format!("expected one of {there} in {place}, found \"{part}\""));
        };
        if !way.is_empty() {
            way.push('.');
        }
        way.push_str(part);
        at = next;
    }
    match at {
        Value::Number(number) => number.as_f64().ok_or_else(|| "expected a finite number".to_owned()),
        Value::Bool(truth) => Ok(f64::from(u8::from(*truth))),
        other => Err(format!("expected a number at \"{key}\", found {other}")),
    }
}

fn row(
    study: &OwnStudy,
    value: &OwnValue,
    answer: &Result<Value, AppError>,
) -> Result<ValidationRowJson, AppError> {
    let place = || format!("study \"{}\", key \"{}\"", study.name, value.key);
    let plain = value.expected.trim().replace('\u{2212}', "-").replace(' ', "");
    let expected: f64 = plain.parse().ok().filter(|v: &f64| v.is_finite()).ok_or_else(|| {
        field("expected")(format!("{}: expected a number as printed, found \"{}\"", place(), value.expected))
    })?;
    let narrow = half_last_digit(&plain);
    let allowed = value.allowed.unwrap_or(narrow);
    if !(allowed.is_finite() && allowed >= 0.0) {
        return Err(field("allowed")(format!(
            "{}: expected an allowed difference of zero or more, found {allowed}",
            place()
        )));
    }
    let because = value.because.as_deref().map(str::trim).filter(|b| !b.is_empty());
    if allowed > narrow * (1.0 + 1e-9) && because.is_none() {
        return Err(field("because")(format!(
            "{}: expected because, for a difference of {allowed} wider than half of the last printed digit ({narrow:e}), found nothing",
            place()
        )));
    }
    let ours = match answer {
        Ok(answer) => found(answer, &value.key),
        Err(error) => Err(error.to_string()),
    };
    // The hair above half a digit is that of the published checks.
    let holds = ours.as_ref().is_ok_and(|o| (o - expected).abs() <= allowed + 1e-12 * expected.abs());
    let difference = match &ours {
        Ok(_) => because.map(str::to_owned),
        Err(error) => Some(error.clone()),
    };
    Ok(ValidationRowJson {
        room: "lab".to_owned(),
        source: value.source.clone(),
        locator: study.name.clone(),
        quantity: format!("{}: {}", study.question.trim(), value.key),
        printed: value.expected.clone(),
        ours: ours.ok(),
        allowed,
        grade: "lab".to_owned(),
        difference,
        holds,
    })
}

/// Re-runs a lab's own values. A question that cannot be answered gives rows
/// that fail and say why; a file that cannot be understood gives none.
///
/// `input` reads a file beside this one, where the door may.
///
/// # Errors
///
/// [`AppError::Field`] with place, expected and found.
pub fn own_validation(
    sheets: &Sheets,
    text: &str,
    input: &dyn Fn(&str) -> Result<Vec<u8>, AppError>,
) -> Result<ValidationJson, AppError> {
    if text.len() > OWN_VALIDATION_BYTES {
        return Err(field("file")(format!(
            "expected at most {OWN_VALIDATION_BYTES} bytes, found {}",
            text.len()
        )));
    }
    let file: OwnFile =
        toml::from_str(text).map_err(|e| field("file")(e.to_string().trim_end().to_owned()))?;
    if file.study.len() > MOST_STUDIES {
        return Err(field("file")(format!(
            "expected at most {MOST_STUDIES} studies, found {}",
            file.study.len()
        )));
    }
    let mut rows = Vec::new();
    for study in &file.study {
        if study.value.is_empty() {
            return Err(field("value")(format!(
                "study \"{}\": expected at least one value, found none",
                study.name
            )));
        }
        let table = match (&study.table, &study.input) {
            (Some(_), Some(_)) => {
                return Err(field("input")(format!(
                    "study \"{}\": expected a table or an input, found both",
                    study.name
                )));
            }
            (Some(table), None) => Some(table.clone().into_bytes()),
            (None, Some(name)) => Some(input(name)?),
            (None, None) => None,
        };
        let answer = ask(sheets, study, table.as_deref());
        // A question or option that does not exist is a slip in the file.
        if let Err(AppError::Field { field: "question" | "options", .. }) = &answer {
            return Err(answer.map(|_| ()).err().unwrap_or_else(|| AppError::NotReady(String::new())));
        }
        for value in &study.value {
            rows.push(row(study, value, &answer)?);
        }
    }
    let hold = rows.iter().filter(|r| r.holds).count();
    Ok(ValidationJson { hold, fail: rows.len() - hold, rows })
}
