//! Probabilities of a trace: exact where the cases can be listed, else random
//! histories of a fixed seed, else bounds.

use super::{Traced, taint, what_if};
use crate::{AppError, Workshop};
use matewell_contact::{Chance, EventKind, Exposure, Method, Source, chances};
use matewell_quantity::{greater, lesser};
use matewell_wire::{OriginJson, ProbabilityJson, TraceModelJson};
use std::collections::BTreeSet;

/// Same facts, same answer: the seed never changes.
const SEED: u64 = 0x4d61_7465;
const TRIALS: u32 = 1000;
/// Listing 2¹⁰ outcomes of a short history takes milliseconds.
const FEW_TOUCHES: usize = 10;
/// Exposed ends times touches between them that a thousand histories can be
/// played for while somebody waits.
const SHORT_GAME: usize = 20_000;

/// One probability for each exposed end, in the order of the trace.
pub(crate) fn odds(
    shop: &Workshop,
    traced: &Traced,
    contact_passes: Option<f64>,
) -> Result<(Vec<ProbabilityJson>, TraceModelJson), AppError> {
    let policy = &shop.sheets.policy().contact_passes;
    let p = contact_passes.unwrap_or(policy.value);
    if !(0.0..=1.0).contains(&p) {
        return Err(AppError::Field {
            field: "contact_passes",
            message: format!("expected a probability from 0 to 1, found {p}"),
        });
    }
    let origin = if contact_passes.is_some() {
        OriginJson {
            source: "lab".to_owned(),
            locator: "given with the question".to_owned(),
            evidence: "lab".to_owned(),
        }
    } else {
        OriginJson {
            source: policy.source.clone(),
            locator: policy.locator.clone(),
            evidence: policy.evidence.word().to_owned(),
        }
    };
    let coins = touches_between(traced);
    let method = if coins <= FEW_TOUCHES && traced.sources.len() == 1 {
        Method::Exact
    } else if coins * traced.exposed.len() <= SHORT_GAME {
        Method::MonteCarlo { seed: SEED, trials: TRIALS }
    } else {
        Method::UpperBound
    };
    let transmits = taint::transmits(shop.sheets.policy());
    let found = chances(&traced.part.history, &traced.sources, traced.kind, transmits, p, method)
        .map_err(super::question)?;
    let range = |(exposure, chance): (&Exposure, &Chance)| match method {
        Method::Exact => ProbabilityJson {
            ever_lower: chance.ever,
            ever_upper: chance.ever,
            now_lower: chance.now,
            now_upper: chance.now,
        },
        Method::MonteCarlo { .. } => {
            let (ever, now) = (spread(chance.ever, chance.ever_error), spread(chance.now, chance.now_error));
            ProbabilityJson { ever_lower: ever.0, ever_upper: ever.1, now_lower: now.0, now_upper: now.1 }
        }
        Method::UpperBound => bounds(exposure, chance, &traced.sources, p),
    };
    let odds = traced.exposed.iter().zip(&found).map(range).collect();
    let (word, trials, how) = match method {
        Method::Exact => ("exact", None, "Every outcome was counted."),
        Method::MonteCarlo { .. } => {
            ("monte-carlo", Some(TRIALS), "Random histories of a fixed seed; two standard errors each way.")
        }
        Method::UpperBound => {
            ("bounds", None, "The witness path alone from below; ends taken as independent from above.")
        }
    };
    let text = format!(
        "A model, not a finding: each touch passes it on with probability {p}, independent of all others, \
         and each source went bad at a moment uniform in its window. {how}"
    );
    let model = TraceModelJson {
        contact_passes: p,
        contact_passes_origin: origin,
        method: word.to_owned(),
        trials,
        text,
    };
    Ok((odds, model))
}

fn touches_between(traced: &Traced) -> usize {
    let exposed: BTreeSet<_> = traced.exposed.iter().map(|x| x.end).collect();
    let between = |kind: EventKind| match kind {
        EventKind::Touch { a, b } => exposed.contains(&a) && exposed.contains(&b),
        EventKind::Clear { .. } | EventKind::Replace { .. } => false,
    };
    traced.part.history.events().iter().filter(|event| between(event.kind)).count()
}

fn spread(q: f64, error: Option<f64>) -> (f64, f64) {
    let twice = 2.0 * error.unwrap_or(0.0);
    (greater(q - twice, 0.0), lesser(q + twice, 1.0))
}

/// From below: the source was bad by the first touch of the witness path and
/// every touch of it passed. Within a day without order no path is sure.
fn bounds(exposure: &Exposure, chance: &Chance, sources: &[Source], p: f64) -> ProbabilityJson {
    let is_now = what_if::is_open(exposure);
    let own = exposure.via.is_empty();
    let lower = match exposure.via.first() {
        None => 1.0,
        Some(_) if exposure.order_unknown => 0.0,
        Some(first) => {
            let by_then = sources
                .iter()
                .filter(|s| s.end == first.from)
                .map(|s| elapsed(s, first.at))
                .fold(0.0, greater);
            by_then * p.powi(i32::try_from(exposure.via.len()).unwrap_or(i32::MAX))
        }
    };
    ProbabilityJson {
        ever_lower: lesser(lower, chance.ever),
        ever_upper: chance.ever,
        now_lower: if own && is_now { chance.now } else { 0.0 },
        now_upper: chance.now,
    }
}

fn elapsed(source: &Source, at: i64) -> f64 {
    if at >= source.first_evidence {
        return 1.0;
    }
    if at <= source.last_known_good {
        return 0.0;
    }
    let since = |x: i64| (i128::from(x) - i128::from(source.last_known_good)) as f64;
    since(at) / since(source.first_evidence)
}
