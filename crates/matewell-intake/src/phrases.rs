//! Which header words stand for which field.

use crate::{
    mapping::{Confidence, Field, Kind},
    words::{end_number, tokens},
};
use Field as F;

/// A field, the end it is fixed to, and the phrases that name it.
type Phrases = &'static [(Field, Option<u8>, &'static [&'static str])];

const REGISTER: Phrases = &[
    (
        F::ItemTag,
        None,
        &[
            "item id",
            "item tag",
            "item",
            "asset tag",
            "asset",
            "asset no",
            "asset number",
            "inventory no",
            "inventory number",
            "tag",
            "label",
            "id",
            "item no",
            "item number",
            "equipment id",
            "cable id",
            "cable no",
            "name",
            "inventarnummer",
            "inventar nr",
            "kennung",
            "nummer",
            "bezeichnung kurz",
        ],
    ),
    (
        F::ItemKind,
        None,
        &[
            "kind",
            "type",
            "item type",
            "item kind",
            "category",
            "class",
            "art",
            "typ",
            "kategorie",
            "gattung",
        ],
    ),
    (F::Description, None, &["description", "title", "what", "beschreibung", "bezeichnung"]),
    (
        F::Model,
        None,
        &[
            "model",
            "model no",
            "model number",
            "part no",
            "part number",
            "pn",
            "p n",
            "modell",
            "teilenummer",
        ],
    ),
    (F::Serial, None, &["serial", "serial no", "serial number", "sn", "s n", "seriennummer", "serien nr"]),
    (
        F::Location,
        None,
        &[
            "location",
            "place",
            "room",
            "shelf",
            "drawer",
            "stored at",
            "where",
            "ort",
            "standort",
            "raum",
            "lagerort",
            "schrank",
        ],
    ),
    (
        F::Cost,
        None,
        &[
            "cost",
            "price",
            "purchase price",
            "replacement cost",
            "value",
            "preis",
            "kosten",
            "wert",
            "anschaffungswert",
        ],
    ),
    (F::Currency, None, &["currency", "w\u{e4}hrung"]),
    (
        F::EndTag,
        None,
        &[
            "end tag",
            "end id",
            "connector id",
            "connector tag",
            "connector no",
            "port tag",
            "port id",
            "tag of end",
        ],
    ),
    (F::EndName, None, &["end", "port", "side", "end name", "end no", "port no", "ende", "seite"]),
    (
        F::Interface,
        None,
        &[
            "interface",
            "connector",
            "connector type",
            "family",
            "connector family",
            "conn type",
            "series",
            "stecker",
            "steckertyp",
            "anschluss",
            "schnittstelle",
            "steckverbinder",
            "norm",
        ],
    ),
    (F::Sex, None, &["sex", "gender", "m f", "male female", "pin socket", "geschlecht"]),
    (F::Grade, None, &["grade", "quality", "connector grade", "g\u{fc}te", "klasse"]),
    (
        F::Slotting,
        None,
        &["slotted", "slotless", "slotting", "slotted slotless", "contact type", "geschlitzt"],
    ),
    (
        F::BodyMaterial,
        None,
        &["material", "body", "body material", "nut material", "werkstoff", "geh\u{e4}use"],
    ),
    (F::Impedance, None, &["impedance", "z0", "ohm", "ohms", "impedanz", "wellenwiderstand"]),
    (
        F::RatedMates,
        None,
        &[
            "rated mates",
            "rated cycles",
            "mating cycles",
            "life",
            "max matings",
            "cycles rated",
            "steckzyklen",
        ],
    ),
    (
        F::MaxFrequency,
        None,
        &[
            "max frequency",
            "maximum frequency",
            "fmax",
            "f max",
            "frequency limit",
            "upper frequency",
            "rated frequency",
            "grenzfrequenz",
        ],
    ),
    (
        F::Note,
        None,
        &[
            "note",
            "notes",
            "remark",
            "remarks",
            "comment",
            "comments",
            "bemerkung",
            "bemerkungen",
            "notiz",
            "kommentar",
        ],
    ),
];

const TOOLS: Phrases = &[
    (F::GaugeUncertainty, None, &["gauge standard uncertainty", "gauge uncertainty", "standard uncertainty"]),
    (F::Repeatability, None, &["repeatability", "gauge repeatability", "wiederholbarkeit"]),
    (F::Torque, None, &["wrench set point", "set point", "set torque", "torque", "drehmoment"]),
];

const WHEN_AND_WHO: Phrases = &[
    (
        F::Date,
        None,
        &[
            "date",
            "datum",
            "day",
            "date time",
            "datetime",
            "date and time",
            "timestamp",
            "time stamp",
            "when",
            "done on",
            "performed on",
            "zeitpunkt",
        ],
    ),
    (F::Time, None, &["time", "time of day", "clock", "zeit", "uhrzeit"]),
    (
        F::Person,
        None,
        &[
            "person",
            "operator",
            "by",
            "who",
            "technician",
            "user",
            "initials",
            "name",
            "done by",
            "performed by",
            "cleaned by",
            "gauged by",
            "inspected by",
            "engineer",
            "pr\u{fc}fer",
            "bediener",
            "bearbeiter",
            "mitarbeiter",
            "k\u{fc}rzel",
            "operator name",
        ],
    ),
    (
        F::Note,
        None,
        &[
            "note",
            "notes",
            "remark",
            "remarks",
            "comment",
            "comments",
            "bemerkung",
            "bemerkungen",
            "notiz",
            "kommentar",
        ],
    ),
];

const ONE_END: Phrases = &[
    (
        F::EndTag,
        Some(1),
        &[
            "end tag",
            "end id",
            "connector id",
            "connector tag",
            "connector",
            "tag",
            "tag of end",
            "id",
            "label",
            "item",
            "item id",
            "item tag",
            "asset",
            "asset no",
            "cable",
            "device",
            "dut",
            "pr\u{fc}fling",
            "stecker",
            "kennung",
            "inventarnummer",
        ],
    ),
    (F::EndName, Some(1), &["end", "port", "side", "ende", "seite", "item end", "end name"]),
];

const TWO_ENDS: Phrases = &[
    (
        F::EndTag,
        Some(1),
        &[
            "end tag",
            "from",
            "connector",
            "item",
            "item id",
            "item tag",
            "tag",
            "id",
            "this end",
            "von",
            "kabel",
            "end a",
            "end 1",
        ],
    ),
    (F::EndName, Some(1), &["end", "item end", "port", "side", "ende"]),
    (
        F::EndTag,
        Some(2),
        &[
            "mated to",
            "mated with",
            "mate",
            "partner",
            "partner id",
            "partner tag",
            "partner item",
            "to",
            "connected to",
            "with",
            "other end",
            "onto",
            "mating connector",
            "mating end",
            "gegenst\u{fc}ck",
            "partner end tag",
            "nach",
            "an",
        ],
    ),
    (F::EndName, Some(2), &["partner end", "partner port", "partner side", "other side", "to end"]),
];

const MATES: Phrases = &[
    (
        F::Wrench,
        None,
        &[
            "wrench",
            "torque wrench",
            "torque tool",
            "torque tool id",
            "wrench id",
            "wrench tag",
            "drehmomentschl\u{fc}ssel",
        ],
    ),
    (F::Torque, None, &["torque", "set value", "torque set", "torque value", "set torque", "drehmoment"]),
    (
        F::Purpose,
        None,
        &[
            "purpose",
            "test",
            "test no",
            "test number",
            "job",
            "reason",
            "project",
            "measurement",
            "zweck",
            "messung",
            "projekt",
        ],
    ),
];

const GAUGINGS: Phrases = &[
    (
        F::Gauge,
        None,
        &[
            "gauge",
            "gauge id",
            "gauge tag",
            "gage",
            "gage id",
            "gauge no",
            "gauge used",
            "lehre",
            "messuhr",
            "pr\u{fc}flehre",
        ],
    ),
    (
        F::PinDepth,
        None,
        &[
            "pin depth",
            "depth",
            "reading",
            "readings",
            "pin",
            "recession",
            "recess",
            "recessed",
            "protrusion",
            "protruding",
            "pin position",
            "pin recession",
            "pin protrusion",
            "gauge reading",
            "measured",
            "measured pin depth",
            "stifttiefe",
            "r\u{fc}ckstand",
            "\u{fc}berstand",
            "messwert",
            "innenleiterlage",
        ],
    ),
    (
        F::Uncertainty,
        None,
        &[
            "uncertainty",
            "u",
            "measurement uncertainty",
            "expanded uncertainty",
            "standard uncertainty",
            "unsicherheit",
            "messunsicherheit",
        ],
    ),
    (F::Temperature, None, &["temperature", "temp", "room temperature", "temperatur"]),
];

const CLEANINGS: Phrases = &[(
    F::Method,
    None,
    &[
        "method",
        "cleaning method",
        "cleaned with",
        "how",
        "solvent",
        "means",
        "procedure",
        "methode",
        "mittel",
        "reinigungsmittel",
        "verfahren",
    ],
)];

const INSPECTIONS: Phrases = &[
    (
        F::Finding,
        None,
        &[
            "finding",
            "findings",
            "visual",
            "visual inspection",
            "condition",
            "result",
            "defect",
            "defects",
            "inspection",
            "observation",
            "befund",
            "zustand",
            "ergebnis",
        ],
    ),
    (F::Magnification, None, &["magnification", "mag", "zoom", "magnifier", "vergr\u{f6}\u{df}erung"]),
];

/// Words in a header that say the number is no reading: results and limits are
/// computed here, not taken over.
const NO_READING: [&str; 16] = [
    "mean",
    "average",
    "avg",
    "limit",
    "limits",
    "min",
    "max",
    "minimum",
    "maximum",
    "spec",
    "tolerance",
    "verdict",
    "mittelwert",
    "grenzwert",
    "nominal",
    "master",
];

fn phrases(kind: Kind) -> Vec<Phrases> {
    match kind {
        Kind::Register => vec![REGISTER, TOOLS],
        Kind::Mates => vec![WHEN_AND_WHO, TWO_ENDS, MATES],
        Kind::Gaugings => vec![WHEN_AND_WHO, ONE_END, GAUGINGS],
        Kind::Cleanings => vec![WHEN_AND_WHO, ONE_END, CLEANINGS],
        Kind::Inspections => vec![WHEN_AND_WHO, ONE_END, INSPECTIONS],
    }
}

/// What a header most likely stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Match {
    pub(crate) field: Field,
    pub(crate) end: Option<u8>,
    pub(crate) confidence: Confidence,
    pub(crate) words: String,
    /// Number of words of the phrase: a longer phrase says more.
    weight: usize,
}

/// The best field for a header, if any of its phrases is in it.
pub(crate) fn best_phrase(header: &str, kind: Kind) -> Option<Match> {
    let all = tokens(header);
    let named = without_units(&all);
    let numbered = end_number(&named);
    let mut best: Option<Match> = None;
    let mut keep = |candidate: Match| {
        let key = |m: &Match| (m.confidence, m.weight);
        if best.as_ref().is_none_or(|known| key(&candidate) > key(known)) {
            best = Some(candidate);
        }
    };
    let takes_numbers = matches!(kind, Kind::Register | Kind::Mates);
    if takes_numbers && let Some((end, rest)) = &numbered {
        if rest.is_empty() {
            let field = if kind == Kind::Register { F::Interface } else { F::EndTag };
            keep(Match {
                field,
                end: Some(*end),
                confidence: Confidence::Good,
                words: named.join(" "),
                weight: 2,
            });
        } else if kind == Kind::Register {
            for found in search(rest, kind) {
                if let Some(field) = end_field(found.field) {
                    keep(Match { field, end: Some(*end), weight: found.weight + 1, ..found });
                }
            }
        } else if rest
            .iter()
            .all(|word| matches!(word.as_str(), "tag" | "id" | "no" | "item" | "label" | "number"))
        {
            keep(Match {
                field: F::EndTag,
                end: Some(*end),
                confidence: Confidence::Good,
                words: named.join(" "),
                weight: 3,
            });
        }
    }
    if kind == Kind::Gaugings {
        if all.iter().any(|word| NO_READING.contains(&word.as_str())) {
            return None;
        }
        if let Some((_, rest)) = &numbered {
            for found in search(rest, kind).into_iter().filter(|found| found.field == F::PinDepth) {
                keep(found);
            }
        }
        if let Some((last, rest)) = named.split_last()
            && last.chars().all(|c| c.is_ascii_digit())
        {
            for found in search(rest, kind).into_iter().filter(|found| found.field == F::PinDepth) {
                keep(found);
            }
        }
    }
    for found in search(&named, kind) {
        keep(found);
    }
    if best.is_none() && named.len() < all.len() {
        for found in search(&all, kind) {
            if best
                .as_ref()
                .is_none_or(|known| (found.confidence, found.weight) > (known.confidence, known.weight))
            {
                best = Some(found);
            }
        }
    }
    best
}

fn without_units(words: &[String]) -> Vec<String> {
    let is_unit = |word: &String| {
        word != "in" && crate::words::LengthUnit::from_text(word).is_some()
            || matches!(word.as_str(), "nm" | "ghz" | "mhz" | "eur" | "usd" | "lbf" | "ncm")
    };
    words.iter().filter(|word| !is_unit(word)).cloned().collect()
}

/// The field of an end that a numbered header speaks of.
fn end_field(field: Field) -> Option<Field> {
    match field {
        F::ItemTag | F::EndTag => Some(F::EndTag),
        F::ItemKind => Some(F::Interface),
        F::Interface
        | F::Sex
        | F::Grade
        | F::Slotting
        | F::BodyMaterial
        | F::Impedance
        | F::RatedMates
        | F::MaxFrequency => Some(field),
        _ => None,
    }
}

fn search(words: &[String], kind: Kind) -> Vec<Match> {
    let mut found = Vec::new();
    for (field, end, names) in phrases(kind).into_iter().flatten() {
        for name in *names {
            let parts: Vec<&str> = name.split(' ').collect();
            let exact =
                words.len() == parts.len() && words.iter().zip(&parts).all(|(word, part)| word == part);
            let within =
                words.windows(parts.len()).any(|window| window.iter().zip(&parts).all(|(w, p)| w == p));
            // A lone short word inside a longer header says too little.
            let counts = exact
                || (within
                    && (parts.len() > 1 || name.chars().count() > 3)
                    && words.len() <= parts.len() + 3);
            if counts {
                let confidence = if exact { Confidence::Good } else { Confidence::Weak };
                found.push(Match {
                    field: *field,
                    end: *end,
                    confidence,
                    words: (*name).to_owned(),
                    weight: parts.len(),
                });
            }
        }
    }
    found
}
