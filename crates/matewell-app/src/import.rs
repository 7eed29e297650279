//! A lab's own spreadsheets become facts, all or nothing.

use crate::{
    AppError, Said, Workshop,
    import_columns::{ImportColumnJson, columns_of, correct, field_words},
};
use matewell_intake::{
    BodyMaterial, CleaningRow, Draft, EndRow, Extra, GaugingRow, InspectionRow, InterfaceNames, Kind,
    KnownTags, Mapping, MateRow, NameLookup, OutcomeWord, RegisterRow, Rows, Table, Topic, When, draft,
    guess_kind, guess_mapping, read_tables,
};
use matewell_lab::{
    Body, Cost, End, EndId, Fact, FactBody, FactSource, GaugeMethod, GaugeSpec, Gauged, Grade, Inspected,
    InspectionOutcome, Item, ItemId, ItemKind, Mated, Moment, PinPosition, Registered, Resolution, Sex,
    Slots, WrenchSpec,
};
use matewell_quantity::Length;
use matewell_sheets::{Lookup, Sheets};
use matewell_store::Store;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A file to be imported.
#[derive(Debug, Clone, Default)]
pub struct ImportOrder {
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// Its name, for messages and to tell the format.
    pub file_name: String,
    /// What the rows are; guessed when left out.
    pub kind: Option<String>,
    /// Which sheet; the first with a table when left out.
    pub sheet: Option<String>,
    /// A saved mapping (TOML); guessed when left out.
    pub mapping: Option<String>,
    /// What a person said of columns, as header and `field`, `field:end` or `none`.
    pub columns: Vec<(String, String)>,
    /// Answers to questions, as topic and answer.
    pub answers: Vec<(String, String)>,
    /// List everything, write nothing.
    pub dry_run: bool,
}

/// Something wrong in a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ImportProblemJson {
    /// `error`, `warning` or `note`.
    pub severity: String,
    /// Sheet.
    pub sheet: String,
    /// Row as the spreadsheet numbers it.
    pub row: Option<u32>,
    /// Column letters.
    pub column: Option<String>,
    /// What would have been understood.
    pub expected: String,
    /// What stands there.
    pub found: String,
}

/// What must be answered before anything is written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ImportQuestionJson {
    /// The topic, to be given back with the answer.
    pub topic: String,
    /// The question.
    pub text: String,
    /// The words that are answers; empty when free.
    pub choices: Vec<String>,
    /// A cell that needs it.
    pub example: String,
    /// How many cells need it.
    pub cells: usize,
}

/// What an import did, or would do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ImportReportJson {
    /// What the rows are.
    pub kind: String,
    /// Sheet read.
    pub sheet: String,
    /// Rows understood.
    pub rows: usize,
    /// Whether everything is there to write it.
    pub ready: bool,
    /// Whether it was written.
    pub written: bool,
    /// Facts written.
    pub facts: usize,
    /// Everything wrong.
    pub problems: Vec<ImportProblemJson>,
    /// Everything to be asked.
    pub questions: Vec<ImportQuestionJson>,
    /// Rows with the same content as earlier ones.
    pub duplicates: Vec<String>,
    /// What was taken for granted, in words.
    pub assumptions: Vec<String>,
    /// Rows that are no records.
    pub skipped: Vec<String>,
    /// Columns and what they were taken for.
    pub columns: Vec<String>,
    /// The same with examples, to be corrected by a person.
    #[serde(default)]
    #[schema(required = true)]
    pub read_as: Vec<ImportColumnJson>,
    /// Every word that a column may be taken for.
    #[serde(default)]
    #[schema(required = true)]
    pub fields: Vec<String>,
    /// Sheets of the file.
    #[serde(default)]
    #[schema(required = true)]
    pub sheets: Vec<String>,
    /// The mapping used, to be corrected and used again.
    pub mapping: String,
}

impl ImportReportJson {
    /// The report as lines for a terminal.
    pub fn text(&self) -> String {
        let mut text = String::new();
        let mut line = |l: String| {
            text.push_str(&l);
            text.push('\n');
        };
        line(format!("{}: {} rows understood as {}", self.sheet, self.rows, self.kind));
        for column in &self.columns {
            line(format!("  column {column}"));
        }
        for assumption in &self.assumptions {
            line(format!("  taken: {assumption}"));
        }
        for skipped in &self.skipped {
            line(format!("  skipped {skipped}"));
        }
        for duplicate in &self.duplicates {
            line(format!("  duplicate {duplicate}"));
        }
        for p in &self.problems {
            let place = format!(
                "{}{}",
                p.column.clone().unwrap_or_default(),
                p.row.map(|r| r.to_string()).unwrap_or_default()
            );
            line(format!("  {} {} {place}: expected {}, found {}", p.severity, p.sheet, p.expected, p.found));
        }
        for q in &self.questions {
            let choices = if q.choices.is_empty() { "…".to_owned() } else { q.choices.join("|") };
            line(format!("  question: {} (for example {}; {} cells)", q.text, q.example, q.cells));
            line(format!("           answer with --answer {}={choices}", q.topic));
        }
        line(match (self.written, self.ready) {
            (true, _) => format!("Written: {} facts.", self.facts),
            (false, true) => format!("Nothing written. {} facts are ready to be written.", self.facts),
            (false, false) => "Nothing written: see the questions and problems above.".to_owned(),
        });
        text
    }
}

struct SheetNames<'a>(&'a Sheets);

impl InterfaceNames for SheetNames<'_> {
    fn resolve(&self, name: &str) -> NameLookup {
        match self.0.find_interface(name) {
            Lookup::Found(key) => NameLookup::Found(key),
            Lookup::Ambiguous(keys) => NameLookup::Ambiguous(keys),
            Lookup::Unknown => NameLookup::Unknown,
        }
    }

    fn is_sexless(&self, key: &str) -> bool {
        self.0.interface(key).is_some_and(|i| i.neutral)
    }
}

struct StoreTags<'a>(&'a Store);

impl KnownTags for StoreTags<'_> {
    fn ends(&self, tag: &str) -> usize {
        self.0.ends_by_tag(tag).map_or(0, |hits| hits.len())
    }

    fn item(&self, tag: &str) -> bool {
        self.0.item_by_tag(tag).is_ok_and(|i| i.is_some())
    }

    fn end_tags(&self, tag: &str) -> Vec<String> {
        self.0.ends_by_tag(tag).map(|hits| hits.into_iter().map(|h| h.end_tag).collect()).unwrap_or_default()
    }
}

fn kind_of(word: &str) -> Option<Kind> {
    Some(match word {
        "register" => Kind::Register,
        "mates" => Kind::Mates,
        "gaugings" => Kind::Gaugings,
        "cleanings" => Kind::Cleanings,
        "inspections" => Kind::Inspections,
        _ => return None,
    })
}

fn word_of(kind: Kind) -> &'static str {
    match kind {
        Kind::Register => "register",
        Kind::Mates => "mates",
        Kind::Gaugings => "gaugings",
        Kind::Cleanings => "cleanings",
        Kind::Inspections => "inspections",
    }
}

impl Workshop {
    /// Imports a spreadsheet, or says everything that is in the way.
    ///
    /// All or nothing: while one problem or question stands, nothing is
    /// written. Written facts can be taken back one by one.
    ///
    /// # Errors
    ///
    /// A file that cannot be read at all; an unknown kind, sheet, column or
    /// answer; a key that came with another request.
    pub fn import(
        &mut self,
        order: &ImportOrder,
        said: &Said,
        now: Moment,
    ) -> Result<ImportReportJson, AppError> {
        if !order.dry_run
            && let Some(text) = self.answered_before(said)?
        {
            return serde_json::from_str(&text).map_err(|e| AppError::Conflict(e.to_string()));
        }
        let tables =
            read_tables(&order.bytes, &order.file_name).map_err(|e| AppError::NotReady(e.to_string()))?;
        let table = match &order.sheet {
            Some(name) => tables.iter().find(|t| t.sheet == *name),
            None => tables.iter().find(|t| guess_kind(t).is_some()).or_else(|| tables.first()),
        };
        let Some(table) = table else {
            let names: Vec<&str> = tables.iter().map(|t| t.sheet.as_str()).collect();
            return Err(AppError::NotReady(format!(
                "{}: expected a sheet{}, found {}",
                order.file_name,
                order.sheet.as_ref().map(|s| format!(" named \"{s}\"")).unwrap_or_default(),
                if names.is_empty() { "none".to_owned() } else { names.join(", ") }
            )));
        };
        let mut mapping = if let Some(text) = &order.mapping {
            Mapping::from_toml(text).map_err(|e| AppError::NotReady(e.to_string()))?
        } else {
            let kind = match &order.kind {
                Some(word) => kind_of(word).ok_or_else(|| AppError::Field {
                    field: "kind",
                    message: format!(
                        "expected register, mates, gaugings, cleanings or inspections, found \"{word}\""
                    ),
                })?,
                None => guess_kind(table).ok_or_else(|| AppError::Field {
                    field: "kind",
                    message: "the headers do not say what the rows are; name the kind".to_owned(),
                })?,
            };
            guess_mapping(table, kind)
        };
        correct(&mut mapping, &order.columns)?;
        for (topic, answer) in &order.answers {
            let topic =
                Topic::ALL.iter().copied().find(|t| t.key() == topic).ok_or_else(|| AppError::Field {
                    field: "answer",
                    message: format!(
                        "expected one of {}, found \"{topic}\"",
                        Topic::ALL.iter().map(|t| t.key()).collect::<Vec<_>>().join(", ")
                    ),
                })?;
            mapping.answers.set(topic, answer).map_err(crate::error::field("answer"))?;
        }
        let draft = draft(table, &mapping, &SheetNames(&self.sheets), &StoreTags(&self.store));
        let mut report = report(&draft, &mapping, table);
        report.sheets = tables.iter().map(|t| t.sheet.clone()).collect();
        if let Ok(rows) = draft.into_rows() {
            let facts = self.facts_of_rows(rows, said, now)?;
            report.ready = true;
            report.facts = facts.len();
            if !order.dry_run {
                report.written = true;
                let text = serde_json::to_string(&report).map_err(|e| AppError::Conflict(e.to_string()))?;
                self.append_answered(&facts, said, now, text)?;
            }
        }
        Ok(report)
    }

    fn facts_of_rows(&mut self, rows: Rows, said: &Said, now: Moment) -> Result<Vec<Fact>, AppError> {
        let mut facts = Vec::new();
        match rows {
            Rows::Register(rows) => {
                for row in rows {
                    let body = self.registered(&row, now);
                    facts.push(self.imported(said, now, None, &said.person, row.note, &Vec::new(), body));
                }
            }
            Rows::Mates(rows) => {
                for MateRow { when, end_a, end_b, person, wrench, note, extra, .. } in rows {
                    let (a, b) = (self.one_end(&end_a)?.end, self.one_end(&end_b)?.end);
                    let wrench = wrench.map(|tag| self.one_item("a wrench", &tag)).transpose()?;
                    let body = FactBody::Mated(Mated { a, b, wrench, overridden: None });
                    facts.push(self.imported(said, now, Some(when), &person, note, &extra, body));
                }
            }
            Rows::Gaugings(rows) => {
                for GaugingRow {
                    when,
                    end,
                    gauge,
                    person,
                    readings,
                    stated_uncertainty_um,
                    note,
                    extra,
                    ..
                } in rows
                {
                    let end = self.one_end(&end)?.end;
                    let gauge = gauge.map(|tag| self.one_item("a gauge", &tag)).transpose()?;
                    let readings =
                        readings.into_iter().map(position).collect::<Result<Vec<_>, AppError>>()?;
                    let stated = stated_uncertainty_um.map(Length::from_micrometres).transpose();
                    let stated_standard_uncertainty = stated.map_err(crate::error::field("uncertainty"))?;
                    let body = FactBody::Gauged(Gauged {
                        end,
                        gauge,
                        readings,
                        stated_standard_uncertainty,
                        session: None,
                    });
                    facts.push(self.imported(said, now, Some(when), &person, note, &extra, body));
                }
            }
            Rows::Cleanings(rows) => {
                for CleaningRow { when, end, person, method, note, extra, .. } in rows {
                    let end = self.one_end(&end)?.end;
                    let body = FactBody::Cleaned { end, method: Some(method).filter(|m| !m.is_empty()) };
                    facts.push(self.imported(said, now, Some(when), &person, note, &extra, body));
                }
            }
            Rows::Inspections(rows) => {
                for InspectionRow { when, end, person, outcome, seen, magnification, note, extra, .. } in rows
                {
                    let end = self.one_end(&end)?.end;
                    let outcome = match outcome {
                        OutcomeWord::Good => InspectionOutcome::Good,
                        OutcomeWord::NormalWear => InspectionOutcome::NormalWear,
                        OutcomeWord::Dirty => InspectionOutcome::Dirty,
                        OutcomeWord::Damaged => InspectionOutcome::Damaged,
                    };
                    let body = FactBody::Inspected(Inspected::plain(end, outcome, seen, magnification));
                    facts.push(self.imported(said, now, Some(when), &person, note, &extra, body));
                }
            }
        }
        // Rows of one moment keep the order of the file.
        for (fact, sequence) in facts.iter_mut().zip(0..) {
            fact.sequence = sequence;
        }
        Ok(facts)
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "one per column that every log has; a struct would only rename them"
    )]
    fn imported(
        &mut self,
        said: &Said,
        now: Moment,
        when: Option<When>,
        person: &str,
        note: String,
        extra: &Extra,
        body: FactBody,
    ) -> Fact {
        let mut fact = self.fact(said, now, body);
        if let Some(when) = when {
            fact.happened_at = Moment::from_microseconds(when.at_us);
            fact.resolution = match when.resolution {
                matewell_intake::Resolution::Instant => Resolution::Instant,
                matewell_intake::Resolution::Day => Resolution::Day,
            };
        }
        if !person.is_empty() {
            person.clone_into(&mut fact.person);
        }
        fact.source = FactSource::Import;
        fact.note = note_with(note, extra);
        fact
    }

    fn registered(&mut self, row: &RegisterRow, now: Moment) -> FactBody {
        let text = |t: &str| Some(t.to_owned()).filter(|t| !t.is_empty());
        let um = |v: Option<f64>| v.and_then(|v| Length::from_micrometres(v).ok());
        let item_id = ItemId::from_bytes(self.new_id(now));
        let kind = item_kind(row.item_kind);
        let item = Item {
            id: item_id,
            tag: row.item_tag.clone(),
            kind,
            description: row.description.clone(),
            model: text(&row.model),
            serial: text(&row.serial),
            location: text(&row.location),
            cost: row.cost.as_ref().map(|c| Cost { hundredths: c.hundredths, currency: c.currency.clone() }),
            gauge: (kind == ItemKind::Gauge).then(|| GaugeSpec {
                interface: row.ends.first().map(|e| e.interface.clone()).unwrap_or_default(),
                method: GaugeMethod::ScrewOn,
                standard_uncertainty: um(row.gauge_standard_uncertainty_um),
                repeatability: um(row.repeatability_um),
                repeatability_dof: None,
                resolution: None,
                master: None,
            }),
            // ISO 6789-1 as summarised: small click tools deviate by 6 % at most.
            wrench: row.wrench_set_point.map(|set_point| WrenchSpec { set_point, tolerance: 0.06 }),
            extra: row.extra.clone(),
        };
        let ends = row.ends.iter().map(|e| self.end_of_row(e, item_id, now)).collect();
        FactBody::Registered(Box::new(Registered { item, ends }))
    }

    fn end_of_row(&mut self, row: &EndRow, item: ItemId, now: Moment) -> End {
        End {
            id: EndId::from_bytes(self.new_id(now)),
            item,
            tag: row.tag.clone(),
            interface: row.interface.clone(),
            sex: match row.sex {
                matewell_intake::Sex::Pin => Sex::Pin,
                matewell_intake::Sex::Socket => Sex::Socket,
                matewell_intake::Sex::Neutral => Sex::Neutral,
            },
            grade: match row.grade {
                matewell_intake::Grade::Metrology => Grade::Metrology,
                matewell_intake::Grade::Instrument => Grade::Instrument,
                matewell_intake::Grade::Production => Grade::Production,
                matewell_intake::Grade::Unknown => Grade::Unknown,
            },
            body: match row.body {
                BodyMaterial::Brass => Body::Brass,
                BodyMaterial::Stainless => Body::Stainless,
                BodyMaterial::BerylliumCopper => Body::BerylliumCopper,
                BodyMaterial::CircuitBoard => Body::CircuitBoard,
                BodyMaterial::Unknown => Body::Unknown,
            },
            slots: match row.slots {
                matewell_intake::Slots::Slotted => Slots::Slotted,
                matewell_intake::Slots::Slotless => Slots::Slotless,
                matewell_intake::Slots::Unknown => Slots::Unknown,
            },
            static_sensitive: false,
            rf_live: false,
            biased: false,
            extra: Vec::new(),
        }
    }
}

fn item_kind(kind: matewell_intake::ItemKind) -> ItemKind {
    use matewell_intake::ItemKind as Row;
    match kind {
        Row::Cable => ItemKind::Cable,
        Row::Adapter => ItemKind::Adapter,
        Row::Attenuator => ItemKind::Attenuator,
        Row::CalibrationStandard => ItemKind::CalibrationStandard,
        Row::Instrument => ItemKind::Instrument,
        Row::DeviceUnderTest => ItemKind::DeviceUnderTest,
        Row::Gauge => ItemKind::Gauge,
        Row::GaugeMaster => ItemKind::GaugeMaster,
        Row::TorqueWrench => ItemKind::TorqueWrench,
        Row::Kit => ItemKind::Kit,
        Row::Other => ItemKind::Other,
    }
}

fn position(position: matewell_intake::PinPosition) -> Result<PinPosition, AppError> {
    use matewell_intake::PinPosition as Row;
    match position {
        Row::Recessed(by) => PinPosition::recessed(by),
        Row::Protruding(by) => PinPosition::protruding(by),
        Row::Flush => PinPosition::recessed(Length::ZERO),
    }
    .map_err(crate::error::field("readings"))
}

/// Columns without a field here stay readable in the note.
fn note_with(note: String, extra: &Extra) -> Option<String> {
    let mut text = note;
    for (header, value) in extra {
        if value.is_empty() {
            continue;
        }
        let lead = if text.is_empty() { "" } else { "; " };
        text.extend([lead, header, ": ", value]);
    }
    Some(text).filter(|t| !t.is_empty())
}

fn report(draft: &Draft, mapping: &Mapping, table: &Table) -> ImportReportJson {
    ImportReportJson {
        kind: word_of(mapping.kind).to_owned(),
        sheet: table.sheet.clone(),
        rows: draft.rows().len(),
        ready: false,
        written: false,
        facts: 0,
        problems: draft
            .problems
            .iter()
            .map(|p| ImportProblemJson {
                severity: format!("{:?}", p.severity).to_lowercase(),
                sheet: p.place.sheet.clone(),
                row: p.place.row,
                column: p.place.column.clone(),
                expected: p.expected.clone(),
                found: p.found.clone(),
            })
            .collect(),
        questions: draft
            .questions
            .iter()
            .map(|q| ImportQuestionJson {
                topic: q.topic.key().to_owned(),
                text: q.topic.text().to_owned(),
                choices: q.topic.choices().iter().map(|c| (*c).to_owned()).collect(),
                example: q.example.clone(),
                cells: q.cells,
            })
            .collect(),
        duplicates: draft
            .duplicates
            .iter()
            .map(|d| {
                let fate = if d.kept { "kept" } else { "not written" };
                match &d.first {
                    Some(first) => format!("{} repeats {first}: {fate}", d.place),
                    None => format!("{} is in the register already: {fate}", d.place),
                }
            })
            .collect(),
        assumptions: draft.assumptions.clone(),
        skipped: draft.skipped.iter().map(|s| format!("{}: {}", s.place, s.because)).collect(),
        columns: mapping
            .columns
            .iter()
            .map(|c| {
                let end = c.end.map(|e| format!(" of end {e}")).unwrap_or_default();
                format!("\"{}\" is {:?}{end}", c.header, c.field)
            })
            .collect(),
        read_as: columns_of(table, mapping),
        fields: field_words(),
        sheets: Vec::new(),
        mapping: mapping.to_toml().unwrap_or_default(),
    }
}
