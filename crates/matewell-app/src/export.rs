//! Everything given back: facts as JSON lines, and the tables a spreadsheet
//! reads. What was imported can be exported and imported again.

use crate::{AppError, Workshop};
use matewell_intake::harmless_cell;
use matewell_lab::{EndId, Fact, FactBody, Item, ItemId, Moment, Resolution, standing_facts};
use matewell_record::FactJson;
use matewell_wire::moment_text;
use std::collections::{BTreeMap, BTreeSet};

/// Facts read from the store at a time.
const PAGE: u64 = 10_000;

/// A table of text: name, headers, rows.
struct Sheet {
    name: &'static str,
    headers: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// The tables, in the order of the workbook.
const TABLES: [&str; 5] = ["register", "mates", "gaugings", "cleanings", "inspections"];

impl Workshop {
    fn every_fact(&self) -> Result<Vec<Fact>, AppError> {
        let mut facts = Vec::new();
        let mut after = 0;
        loop {
            let page = self.store.all_facts(after, PAGE)?;
            let Some(last) = page.last() else { return Ok(facts) };
            after = last.seq;
            facts.extend(page.into_iter().map(|numbered| numbered.fact));
        }
    }

    /// Every fact, one JSON object a line, in the order of entry.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn export_lines(&self) -> Result<String, AppError> {
        let mut text = String::new();
        for fact in self.every_fact()? {
            let line = FactJson::of(&fact)
                .and_then(|f| f.to_line())
                .map_err(|e| AppError::Conflict(e.to_string()))?;
            text.push_str(&line);
            text.push('\n');
        }
        Ok(text)
    }

    /// One table as CSV: what stands now, corrections applied.
    ///
    /// A cell that a spreadsheet would run as a formula is made harmless; the
    /// importer takes the mark away again.
    ///
    /// # Errors
    ///
    /// An unknown table; a store that cannot be read.
    pub fn export_csv(&self, table: &str) -> Result<String, AppError> {
        let sheet = self.sheet(table)?;
        let mut writer = csv::Writer::from_writer(Vec::new());
        let cannot = |e: csv::Error| AppError::Conflict(format!("the table cannot be written: {e}"));
        writer.write_record(sheet.headers.iter().map(|h| harmless_cell(h))).map_err(cannot)?;
        for row in &sheet.rows {
            writer.write_record(row.iter().map(|c| harmless_cell(c))).map_err(cannot)?;
        }
        let bytes = writer.into_inner().map_err(|e| AppError::Conflict(e.to_string()))?;
        String::from_utf8(bytes).map_err(|e| AppError::Conflict(e.to_string()))
    }

    /// All tables as one workbook. Cells are text, so nothing in it is run.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn export_workbook(&self) -> Result<Vec<u8>, AppError> {
        let mut workbook = rust_xlsxwriter::Workbook::new();
        let cannot = |e: rust_xlsxwriter::XlsxError| {
            AppError::Conflict(format!("the workbook cannot be written: {e}"))
        };
        for table in TABLES {
            let sheet = self.sheet(table)?;
            let worksheet = workbook.add_worksheet();
            worksheet.set_name(sheet.name).map_err(cannot)?;
            for (row, cells) in (0_u32..).zip(std::iter::once(&sheet.headers).chain(&sheet.rows)) {
                for (column, cell) in (0_u16..).zip(cells) {
                    worksheet.write_string(row, column, cell).map_err(cannot)?;
                }
            }
        }
        workbook.save_to_buffer().map_err(cannot)
    }

    fn sheet(&self, table: &str) -> Result<Sheet, AppError> {
        let facts = standing_facts(&self.every_fact()?, Moment::from_microseconds(i64::MAX));
        let tags = Labels::of(&facts);
        Ok(match table {
            "register" => register(&facts),
            "mates" => log("mates", &["End 1", "End 2", "Wrench"], &facts, |body| match body {
                FactBody::Mated(m) => Some(vec![
                    tags.end(m.a),
                    tags.end(m.b),
                    m.wrench.map(|w| tags.item(w)).unwrap_or_default(),
                ]),
                _ => None,
            }),
            "gaugings" => gaugings(&facts, &tags),
            "cleanings" => log("cleanings", &["End", "Method"], &facts, |body| match body {
                FactBody::Cleaned { end, method } => {
                    Some(vec![tags.end(*end), method.clone().unwrap_or_default()])
                }
                _ => None,
            }),
            "inspections" => {
                log("inspections", &["End", "Outcome", "Seen", "Magnification"], &facts, |body| match body {
                    FactBody::Inspected(i) => Some(vec![
                        tags.end(i.end),
                        i.outcome.word().to_owned(),
                        i.seen.join("; "),
                        i.magnification.map(|m| m.to_string()).unwrap_or_default(),
                    ]),
                    _ => None,
                })
            }
            other => {
                return Err(AppError::Field {
                    field: "what",
                    message: format!("expected facts, {}, found \"{other}\"", TABLES.join(", ")),
                });
            }
        })
    }
}

struct Labels {
    ends: BTreeMap<EndId, String>,
    items: BTreeMap<ItemId, String>,
}

impl Labels {
    fn of(facts: &[Fact]) -> Self {
        let mut labels = Self { ends: BTreeMap::new(), items: BTreeMap::new() };
        for fact in facts {
            if let FactBody::Registered(r) = &fact.body {
                labels.items.insert(r.item.id, r.item.tag.clone());
                labels.ends.extend(r.ends.iter().map(|e| (e.id, e.tag.clone())));
            }
        }
        labels
    }

    fn end(&self, end: EndId) -> String {
        self.ends.get(&end).cloned().unwrap_or_else(|| end.to_string())
    }

    fn item(&self, item: ItemId) -> String {
        self.items.get(&item).cloned().unwrap_or_else(|| item.to_string())
    }
}

fn known(word: &str) -> String {
    if word == "unknown" { String::new() } else { word.to_owned() }
}

fn register(facts: &[Fact]) -> Sheet {
    let mut extra: BTreeSet<&str> = BTreeSet::new();
    let registered: Vec<(&Fact, &matewell_lab::Registered)> = facts
        .iter()
        .filter_map(|f| match &f.body {
            FactBody::Registered(r) => Some((f, r.as_ref())),
            _ => None,
        })
        .collect();
    for (_, r) in &registered {
        extra.extend(r.item.extra.iter().map(|(k, _)| k.as_str()));
    }
    let mut headers: Vec<String> = [
        "Item",
        "Kind",
        "Description",
        "Model",
        "Serial number",
        "Location",
        "Cost",
        "Currency",
        "Gauge standard uncertainty (um)",
        "Repeatability (um)",
        "Set torque (N.m)",
        "Note",
        "End tag",
        "Interface",
        "Sex",
        "Grade",
        "Material",
        "Slotted",
    ]
    .map(str::to_owned)
    .to_vec();
    headers.extend(extra.iter().map(|k| (*k).to_owned()));
    let mut rows = Vec::new();
    for (fact, r) in registered {
        let of_item = item_cells(&r.item, fact.note.clone().unwrap_or_default());
        let more: Vec<String> = extra
            .iter()
            .map(|k| {
                r.item.extra.iter().find(|(key, _)| key == k).map(|(_, v)| v.clone()).unwrap_or_default()
            })
            .collect();
        let ends: Vec<[String; 6]> = if r.ends.is_empty() {
            vec![Default::default()]
        } else {
            r.ends
                .iter()
                .map(|e| {
                    [
                        e.tag.clone(),
                        e.interface.clone(),
                        e.sex.word().to_owned(),
                        known(e.grade.word()),
                        known(e.body.word()),
                        known(e.slots.word()),
                    ]
                })
                .collect()
        };
        for end in ends {
            rows.push(of_item.iter().cloned().chain(end).chain(more.iter().cloned()).collect());
        }
    }
    Sheet { name: "register", headers, rows }
}

fn item_cells(item: &Item, note: String) -> Vec<String> {
    let cost = item.cost.as_ref().map(|c| format!("{}.{:02}", c.hundredths / 100, c.hundredths % 100));
    let um = |l: Option<matewell_quantity::Length>| l.map(|l| number(l.micrometres())).unwrap_or_default();
    vec![
        item.tag.clone(),
        item.kind.word().to_owned(),
        item.description.clone(),
        item.model.clone().unwrap_or_default(),
        item.serial.clone().unwrap_or_default(),
        item.location.clone().unwrap_or_default(),
        cost.unwrap_or_default(),
        item.cost.as_ref().map(|c| c.currency.clone()).unwrap_or_default(),
        um(item.gauge.as_ref().and_then(|g| g.standard_uncertainty)),
        um(item.gauge.as_ref().and_then(|g| g.repeatability)),
        item.wrench.as_ref().map(|w| number(w.set_point.newton_metres())).unwrap_or_default(),
        note,
    ]
}

/// Nine significant decimals: more than any gauge or wrench has, and the
/// binary dust of unit conversion falls away.
fn number(value: f64) -> String {
    let text = format!("{value:.9}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn when(fact: &Fact) -> String {
    let text = moment_text(fact.happened_at);
    match fact.resolution {
        Resolution::Instant => text,
        Resolution::Day => text.split('T').next().unwrap_or_default().to_owned(),
    }
}

fn log(
    name: &'static str,
    columns: &[&str],
    facts: &[Fact],
    cells: impl Fn(&FactBody) -> Option<Vec<String>>,
) -> Sheet {
    let mut headers = vec!["Date".to_owned()];
    headers.extend(columns.iter().map(|c| (*c).to_owned()));
    headers.extend(["Person".to_owned(), "Note".to_owned()]);
    let rows = facts
        .iter()
        .filter_map(|fact| {
            let mut row = vec![when(fact)];
            row.extend(cells(&fact.body)?);
            row.push(fact.person.clone());
            row.push(fact.note.clone().unwrap_or_default());
            Some(row)
        })
        .collect();
    Sheet { name, headers, rows }
}

fn gaugings(facts: &[Fact], tags: &Labels) -> Sheet {
    let most = facts
        .iter()
        .map(|f| if let FactBody::Gauged(g) = &f.body { g.readings.len() } else { 0 })
        .max()
        .unwrap_or(0);
    let mut columns: Vec<String> = vec!["End".to_owned(), "Gauge".to_owned()];
    columns.extend((1..=most).map(|n| format!("Reading {n}")));
    columns.push("Standard uncertainty (um)".to_owned());
    let columns: Vec<&str> = columns.iter().map(String::as_str).collect();
    log("gaugings", &columns, facts, |body| {
        let FactBody::Gauged(g) = body else { return None };
        let mut row = vec![tags.end(g.end), g.gauge.map(|id| tags.item(id)).unwrap_or_default()];
        // As they count: zero, master and what the gauge was off taken out.
        let counted = g.recessions_um();
        for n in 0..most {
            let raw = g.readings.get(n).copied();
            row.push(match (raw, counted.get(n)) {
                (Some(raw), _) if g.session.is_none() => reading(raw.distance().micrometres(), raw.word()),
                (Some(_), Some(um)) => reading(um.abs(), if *um < 0.0 { "protruding" } else { "recessed" }),
                _ => String::new(),
            });
        }
        row.push(g.stated_standard_uncertainty.map(|u| number(u.micrometres())).unwrap_or_default());
        Some(row)
    })
}

/// A magnitude with a unit and its word: nothing is left to a convention.
fn reading(um: f64, word: &str) -> String {
    format!("{} um {word}", number(um))
}
