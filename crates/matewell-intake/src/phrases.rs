//! Which header words stand for which field.

use crate::{
    mapping::{Confidence, Field, Kind},
    phrase_lists::phrases,
    words::{end_number, tokens},
};
use Field as F;

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

/// Whether a text is a known header, word for word, of any kind of record.
pub(crate) fn is_known(header: &str) -> bool {
    let found = Kind::ALL.iter().filter_map(|kind| best_phrase(header, *kind));
    found.into_iter().any(|found| found.confidence == Confidence::Good)
}

/// The best field for a header, if any of its phrases is in it.
pub(crate) fn best_phrase(header: &str, kind: Kind) -> Option<Match> {
    let all = tokens(crate::words::without_torque_unit(header));
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
