//! A torque tool check and the torques a set point may mean.

use super::{
    answer::{finding, input, origin, percent, short, study_error},
    table::{StudyFile, read},
};
use crate::{AppError, Workshop, error::field};
use matewell_intake::{Holds, Wanted};
use matewell_lab::{FactBody, ItemKind, Moment, ToolCheck, WrenchCheck, standing_facts, tool_record};
use matewell_quantity::{Torque, split_number_and_unit};
use matewell_sheets::{Sheets, TorqueTool};
use matewell_study::torque_tool::{self, applied_window, deviation_percent, evaluate, range_of_means};
use matewell_wire::{
    NumberJson, OriginJson, StudyAnswerJson, StudyFindingJson, TorqueStudyAsked, TorqueStudyJson,
    TorqueTypeJson, WindowAsked, WindowRowJson, WindowsJson, moment_text,
};
use std::collections::BTreeMap;

const WANTED: [Wanted; 3] = [
    Wanted { name: "reference", also: &["reading", "torque", "value"], holds: Holds::Quantity, needed: true },
    Wanted { name: "influence", also: &["varied", "what"], holds: Holds::Text, needed: false },
    Wanted { name: "series", also: &["position", "set"], holds: Holds::Text, needed: false },
];
/// Influences a table may name.
const INFLUENCES: [&str; 4] = ["reproducibility", "output drive", "interface", "loading point"];

fn torque(name: &'static str, text: &str) -> Result<f64, AppError> {
    let torque: Torque = text.parse().map_err(field(name))?;
    Ok(torque.newton_metres())
}

fn tool_type<'a>(sheets: &'a Sheets, text: &str) -> Result<&'a TorqueTool, AppError> {
    sheets.torque_tool(text).ok_or_else(|| {
        let known: Vec<&str> = sheets.torque_tools().iter().map(|t| t.tool_type.as_str()).collect();
        field("tool_type")(format!("expected one of {}, found \"{}\"", known.join(", "), text.trim()))
    })
}

fn origin_of(row: &TorqueTool) -> OriginJson {
    origin(&row.source, &format!("{}, edition {}", row.locator, row.edition), row.evidence.word())
}

/// The permissible deviation: asked, of a type, or of the wrench on record.
fn permissible(
    sheets: &Sheets,
    asked: Option<&str>,
    kind: Option<&str>,
    set: f64,
    on_record: Option<f64>,
) -> Result<Option<(f64, OriginJson)>, AppError> {
    if let Some(value) = percent("permissible", asked)? {
        return Ok(Some((value, origin("asked", "permissible", "asked"))));
    }
    if let Some(kind) = kind {
        let row = tool_type(sheets, kind)?;
        return Ok(Some((row.permissible_percent(set), origin_of(row))));
    }
    Ok(on_record.map(|value| (value, origin("fact", "registration of the wrench", "lab"))))
}

/// Readings with ranges of the influences.
#[derive(Default)]
struct Readings {
    references: Vec<f64>,
    ranges: BTreeMap<&'static str, f64>,
    from: String,
}

fn of_file(file: &StudyFile<'_>, asked: &TorqueStudyAsked) -> Result<Readings, AppError> {
    let table = read(file, &WANTED, asked.table())?;
    if table.unit != "N.m" {
        return Err(field("unit")(format!("expected torques (N.m, cN.m or in.lbf), found {}", table.unit)));
    }
    let mut found = Readings { from: format!("table: {}", table.read_as), ..Readings::default() };
    let mut series: BTreeMap<&'static str, BTreeMap<String, Vec<f64>>> = BTreeMap::new();
    for row in &table.rows {
        let ([_, influence, name], [Some(value), ..]) = (row.texts.as_slice(), row.numbers.as_slice()) else {
            continue;
        };
        let influence = influence.to_lowercase().replace(['_', '-'], " ");
        match influence.as_str() {
            "" | "repeat" | "repeatability" => found.references.push(*value),
            other => {
                let Some(known) = INFLUENCES.iter().find(|i| **i == other) else {
                    return Err(field("file")(format!(
                        "row {}, influence: expected nothing, repeatability, {}, found \"{other}\"",
                        row.number,
                        INFLUENCES.join(", ")
                    )));
                };
                if name.is_empty() {
                    return Err(field("file")(format!(
                        "row {}, series: expected which position or seating this reading belongs to, found nothing",
                        row.number
                    )));
                }
                series.entry(known).or_default().entry(name.clone()).or_default().push(*value);
            }
        }
    }
    for (influence, positions) in series {
        let lists: Vec<Vec<f64>> = positions.into_values().collect();
        let range =
            range_of_means(&lists).map_err(|e| field("file")(format!("influence {influence}: {e}")))?;
        found.ranges.insert(influence, range);
    }
    Ok(found)
}

pub(super) fn of_readings(
    sheets: &Sheets,
    file: Option<&StudyFile<'_>>,
    asked: &TorqueStudyAsked,
) -> Result<StudyAnswerJson<TorqueStudyJson>, AppError> {
    if asked.tool.is_some() {
        return Err(field("tool")("expected readings or the label of a wrench, found both"));
    }
    let Some(set) = asked.set.as_deref() else {
        return Err(field("set")("expected the torque the tool was set to, such as 0.9N.m, found nothing"));
    };
    let set = torque("set", set)?;
    let found = match (file, asked.reads.as_deref()) {
        (Some(file), None) => of_file(file, asked)?,
        (None, Some(text)) => {
            let references = text
                .split([' ', ';', '\n'])
                .filter(|t| !t.is_empty())
                .map(|t| torque("reads", t))
                .collect::<Result<_, _>>()?;
            Readings { references, from: "readings in the question".to_owned(), ..Readings::default() }
        }
        (Some(_), Some(_)) => return Err(field("reads")("expected a table or reads, found both")),
        (None, None) => {
            return Err(field("reads")(
                "expected a table or reads such as \"0.905N.m 0.912N.m\", found nothing",
            ));
        }
    };
    let limit = permissible(sheets, asked.permissible.as_deref(), asked.tool_type.as_deref(), set, None)?;
    answer(set, &found, limit.as_ref(), asked, Vec::new())
}

pub(super) fn of_facts(
    shop: &Workshop,
    asked: &TorqueStudyAsked,
    at: Moment,
) -> Result<StudyAnswerJson<TorqueStudyJson>, AppError> {
    let tag = asked.tool.as_deref().unwrap_or_default();
    if asked.reads.is_some() || asked.set.is_some() {
        return Err(field("tool")("expected readings or the label of a wrench, found both"));
    }
    let tool = shop.one_item("a wrench", tag)?;
    let facts = shop.store.facts_of_item(tool)?;
    let Some((when, check)) = last_check(&facts, tool, at) else {
        return Err(field("tool")(format!(
            "expected a torque check of {} on record, found none",
            tag.trim()
        )));
    };
    let record = tool_record(tool, &facts, at);
    let on_record = record.as_ref().and_then(|r| r.item.wrench.as_ref()).map(|w| 100.0 * w.tolerance);
    let set = check.set_point.newton_metres();
    let found = Readings {
        references: check.readings.iter().map(|r| r.newton_metres()).collect(),
        ranges: [
            ("reproducibility", check.ranges.reproducibility),
            ("output drive", check.ranges.output_drive),
            ("interface", check.ranges.interface),
            ("loading point", check.ranges.loading_point),
        ]
        .into_iter()
        .filter_map(|(name, range)| Some((name, range?.newton_metres())))
        .collect(),
        from: format!("check of {} on record, {}", tag.trim(), moment_text(when)),
    };
    let limit =
        permissible(&shop.sheets, asked.permissible.as_deref(), asked.tool_type.as_deref(), set, on_record)?;
    let mut findings = Vec::new();
    if let Some(record) = record.as_ref().and_then(|r| r.item.wrench.as_ref())
        && (record.set_point.newton_metres() - set).abs() > 1e-9 * set
    {
        findings.push(finding(
            "other-set-point",
            "care",
            format!(
                "The check was at {}, the wrench is registered at {}.",
                check.set_point, record.set_point
            ),
        ));
    }
    answer(set, &found, limit.as_ref(), asked, findings)
}

fn last_check(
    facts: &[matewell_lab::Fact],
    tool: matewell_lab::ItemId,
    at: Moment,
) -> Option<(Moment, WrenchCheck)> {
    standing_facts(facts, at).into_iter().rev().find_map(|fact| match fact.body {
        FactBody::ToolChecked(checked) if checked.tool == tool => match checked.check {
            ToolCheck::Wrench(wrench) if !wrench.readings.is_empty() => Some((fact.happened_at, wrench)),
            _ => None,
        },
        _ => None,
    })
}

fn answer(
    set: f64,
    readings: &Readings,
    limit: Option<&(f64, OriginJson)>,
    asked: &TorqueStudyAsked,
    mut findings: Vec<StudyFindingJson>,
) -> Result<StudyAnswerJson<TorqueStudyJson>, AppError> {
    let mut inputs: Vec<NumberJson> = Vec::new();
    let mut missing = Vec::new();
    let mut range = |name: &'static str, words: &'static str, text: Option<&str>| -> Result<f64, AppError> {
        let value = match (text, readings.ranges.get(words)) {
            (Some(_), Some(_)) => {
                return Err(field(name)("expected the range in the table or in the option, found both"));
            }
            // A zero needs no unit.
            (Some(text), None) if split_number_and_unit(text) == ("0", "") => 0.0,
            (Some(text), None) => torque(name, text)?,
            (None, Some(value)) => *value,
            (None, None) => {
                missing.push(words);
                return Ok(0.0);
            }
        };
        let from =
            if text.is_some() { origin("asked", name, "asked") } else { origin("table", words, "asked") };
        inputs.push(input(words, value, "N.m", from));
        Ok(value)
    };
    let check = torque_tool::ToolCheck {
        set,
        references: readings.references.clone(),
        resolution: range("resolution", "resolution", asked.resolution.as_deref())?,
        reproducibility: range("reproducibility", "reproducibility", asked.reproducibility.as_deref())?,
        output_drive: range("output_drive", "output drive", asked.output_drive.as_deref())?,
        interface: range("interface", "interface", asked.interface.as_deref())?,
        loading_point: range("loading_point", "loading point", asked.loading_point.as_deref())?,
        device_percent: percent("device", asked.device.as_deref())?.unwrap_or_else(|| {
            missing.push("reference");
            0.0
        }),
        device_error_percent: percent("device_error", asked.device_error.as_deref())?.unwrap_or(0.0),
    };
    for (name, value, given) in [
        ("uncertainty of the reference", check.device_percent, asked.device.is_some()),
        ("error of the reference", check.device_error_percent, asked.device_error.is_some()),
    ] {
        if given {
            inputs.push(input(name, value, "%", origin("asked", name, "asked")));
        }
    }
    if !missing.is_empty() {
        findings.push(finding(
            "components-missing",
            "care",
            format!(
                "Not given and counted as nothing: {}. The uncertainty is too small by them.",
                missing.join(", ")
            ),
        ));
    }
    if readings.references.len() < 5 {
        findings.push(finding(
            "few-readings",
            "care",
            format!(
                "{} readings; the standard asks for at least five at each torque (from memory).",
                readings.references.len()
            ),
        ));
    }
    let found = evaluate(&check).map_err(|e| field("reads")(e))?;
    let mean = readings.references.iter().sum::<f64>() / readings.references.len() as f64;
    let (mut conforms, mut window) = (None, None);
    if let Some((value, origin)) = limit {
        conforms = Some(found.conforms(*value).map_err(field("permissible"))?);
        window = Some(applied_window(set, *value).map_err(field("permissible"))?);
        inputs.push(input("permissible deviation", *value, "%", origin.clone()));
        if origin.evidence == "from memory" {
            findings.push(finding(
                "limit-from-memory",
                "care",
                "The permissible deviation is from memory: compare it with the paper standard.",
            ));
        }
    } else {
        findings.push(finding(
            "no-limit",
            "open",
            "No permissible deviation was given: say the type of the tool or a percentage.",
        ));
    }
    let judged = match conforms {
        Some(true) => "; every reading keeps the permissible deviation",
        Some(false) => "; not every reading keeps the permissible deviation",
        None => "",
    };
    let summary = format!(
        "Deviation {} % from the mean reference, largest {} %; W = {} %, W' = {} %{judged}.",
        short(found.mean_deviation),
        short(found.largest_deviation()),
        short(found.expanded),
        short(found.interval),
    );
    findings.push(finding(
        "interval-from-memory",
        "note",
        "The form of W' is from memory: deviation and error of the reference added to W, because users do not correct.",
    ));
    Ok(StudyAnswerJson {
        question: "torque".to_owned(),
        unit: "N.m".to_owned(),
        summary,
        readings: readings.references.len(),
        readings_from: readings.from.clone(),
        value: TorqueStudyJson {
            set_n_m: set,
            mean_reference_n_m: mean,
            largest_deviation_percent: found.largest_deviation(),
            mean_deviation_percent: found.mean_deviation,
            permissible_percent: limit.map(|l| l.0),
            conforms,
            resolution_percent: found.resolution,
            reproducibility_percent: found.reproducibility,
            output_drive_percent: found.output_drive,
            interface_percent: found.interface,
            loading_point_percent: found.loading_point,
            repeatability_percent: found.repeatability,
            device_percent: found.device,
            w_percent: found.combined,
            expanded_w_percent: found.expanded,
            interval_w_percent: found.interval,
            window_low_n_m: window.map(|w| w.0),
            window_high_n_m: window.map(|w| w.1),
            deviations_percent: found.deviations,
        },
        findings,
        inputs,
        method:
            "Deviation (set - reference)/reference; relative uncertainties of range b by b/(2 sqrt 3), of \
                 repeating by s/sqrt n; W = 2 w; W' = |deviation| + |error of the reference| + W."
                .to_owned(),
        source: "iso-6789-2-2017, clauses 5.1 and 6; form of W' from memory; roeske-2014".to_owned(),
    })
}

fn window_row(wrench: Option<String>, set: f64, percent: f64) -> Result<WindowRowJson, AppError> {
    let (low, high) = applied_window(set, percent).map_err(field("set"))?;
    let inch =
        |n_m: f64| Torque::from_newton_metres(n_m).map(Torque::inch_pounds_force).map_err(field("set"));
    Ok(WindowRowJson {
        wrench,
        set_n_m: set,
        permissible_percent: percent,
        low_n_m: low,
        high_n_m: high,
        low_in_lbf: inch(low)?,
        high_in_lbf: inch(high)?,
        last_mean_deviation_percent: None,
        last_mean_reference_n_m: None,
        last_check_at: None,
    })
}

pub(super) fn windows(
    shop: &Workshop,
    asked: &WindowAsked,
    at: Moment,
) -> Result<StudyAnswerJson<WindowsJson>, AppError> {
    let sheets = &shop.sheets;
    let mut windows = Vec::new();
    let mut inputs = Vec::new();
    let mut findings = Vec::new();
    if let Some(text) = asked.set.as_deref() {
        let set = torque("set", text)?;
        let limit = permissible(sheets, asked.permissible.as_deref(), asked.tool_type.as_deref(), set, None)?;
        let Some((percent, origin)) = limit else {
            return Err(field("tool_type")(
                "expected the type of the tool such as II-B, or permissible in percent, found neither",
            ));
        };
        windows.push(window_row(None, set, percent)?);
        inputs.push(input("permissible deviation", percent, "%", origin));
    } else {
        if asked.tool_type.is_some() || asked.permissible.is_some() {
            return Err(field("set")("expected a set point with the type or deviation, found none"));
        }
        for wrench in shop.store.list_items(Some(ItemKind::TorqueWrench))? {
            let facts = shop.store.facts_of_item(wrench.item)?;
            let Some(record) = tool_record(wrench.item, &facts, at) else { continue };
            let Some(spec) = record.item.wrench.as_ref().filter(|_| record.retired.is_none()) else {
                continue;
            };
            let mut row = window_row(
                Some(record.item.tag.clone()),
                spec.set_point.newton_metres(),
                100.0 * spec.tolerance,
            )?;
            if let Some((when, check)) = last_check(&facts, wrench.item, at) {
                let sum: f64 = check.readings.iter().map(|r| r.newton_metres()).sum();
                let mean = sum / check.readings.len() as f64;
                row.last_mean_reference_n_m = Some(mean);
                row.last_mean_deviation_percent =
                    Some(deviation_percent(check.set_point.newton_metres(), mean).map_err(study_error)?);
                row.last_check_at = Some(moment_text(when));
                if mean < row.low_n_m || row.high_n_m < mean {
                    findings.push(finding(
                        "outside-window",
                        "open",
                        format!(
                            "{} applied {} N·m at its last check, outside its window.",
                            record.item.tag,
                            short(mean)
                        ),
                    ));
                }
            } else {
                findings.push(finding(
                    "never-checked",
                    "care",
                    format!("{} has no torque check on record.", record.item.tag),
                ));
            }
            windows.push(row);
        }
        windows.sort_by(|x, y| x.wrench.cmp(&y.wrench));
    }
    let table = sheets
        .torque_tools()
        .iter()
        .map(|row| TorqueTypeJson {
            tool_type: row.tool_type.clone(),
            text: row.text.clone(),
            up_to_border_percent: row.up_to_border,
            above_border_percent: row.above_border,
            border_n_m: row.border,
            edition: row.edition.clone(),
            origin: origin_of(row),
        })
        .collect();
    let summary = match windows.as_slice() {
        [one] if one.wrench.is_none() => format!(
            "Set to {} N·m, the tool may apply {} to {} N·m within {} %.",
            short(one.set_n_m),
            short(one.low_n_m),
            short(one.high_n_m),
            short(one.permissible_percent)
        ),
        many => format!("{} wrenches with a set point.", many.len()),
    };
    Ok(StudyAnswerJson {
        question: "window".to_owned(),
        unit: "N.m".to_owned(),
        summary,
        readings: 0,
        readings_from: if asked.set.is_some() { "the question" } else { "wrenches on record" }.to_owned(),
        value: WindowsJson { windows, table },
        findings,
        inputs,
        method: "Set point over 1 plus and 1 less the permissible deviation: not symmetric, because the deviation divides \
                 by the reference."
            .to_owned(),
        source: "iso-6789-1-2017, definition of the deviation solved for the reference".to_owned(),
    })
}
