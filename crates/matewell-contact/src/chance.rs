//! How probable an exposure is, if each touch passes it on with one stated
//! probability. A model with a name, not a finding.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

use crate::game::{Game, Outcome};
use crate::{ContactError, EndIndex, Exposure, History, Source, TaintKind, TaintSet, forward};

/// The most cases that [`Method::Exact`] lists: 2²² replays of a short list
/// of events stay below a few seconds.
pub const MOST_CASES: u64 = 1 << 22;

/// How the probabilities are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Every outcome of every touch, for small cases.
    Exact,
    /// Random outcomes from a stated seed (PCG 64).
    MonteCarlo {
        /// The seed; the same seed gives the same answer.
        seed: u64,
        /// How many histories are played.
        trials: u32,
    },
    /// The recursion that takes the states of two ends as independent: never
    /// below the exact value, and too high where paths share a touch.
    UpperBound,
}

/// The probability that an end is exposed under the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chance {
    /// The end.
    pub end: EndIndex,
    /// That it was exposed at any time.
    pub ever: f64,
    /// That it is exposed after the last event.
    pub now: f64,
    /// Standard error of `ever`; none where nothing is random.
    pub ever_error: Option<f64>,
    /// Standard error of `now`; none where nothing is random.
    pub now_error: Option<f64>,
}

/// The probability of exposure of each end that [`forward`] finds, in the
/// same order.
///
/// Each touch with an exposed end passes with probability `per_contact`,
/// independent of all others, and each source goes bad at a moment uniform in
/// its window and is bad from then on at least until its first evidence.
/// Within a day without order all that is connected by passing touches is
/// exposed, so there the values are bounds from above.
///
/// Monte Carlo: standard error `√(q(1−q)/M)`, `q = (k+1)/(M+2)`, `k` of `M`
/// trials exposed; never zero, since no number of trials proves a certainty.
///
/// # Errors
///
/// As [`forward`]; also [`ContactError::NotAProbability`],
/// [`ContactError::TooManyCases`] for [`Method::Exact`] and
/// [`ContactError::NoTrials`].
///
/// # Source
///
/// Closed form: enumeration. The bound follows since exposures only grow
/// with each passing touch, so ends not exposed are positively associated.
pub fn chances(
    history: &History,
    sources: &[Source],
    kind: TaintKind,
    transmits: TaintSet,
    per_contact: f64,
    method: Method,
) -> Result<Vec<Chance>, ContactError> {
    if !(0.0..=1.0).contains(&per_contact) {
        let found = per_contact.to_string();
        return Err(ContactError::NotAProbability { what: "a contact", found });
    }
    let exposed = forward(history, sources, kind, transmits)?;
    let game = Game::new(history, sources, &exposed, kind, transmits);
    let found = match method {
        Method::Exact => exact(&game, per_contact)?,
        Method::MonteCarlo { seed, trials } => monte_carlo(&game, per_contact, seed, trials)?,
        Method::UpperBound => {
            game.bound(per_contact).into_iter().map(|(ever, now)| (ever, now, None)).collect()
        }
    };
    let chance = |(x, (ever, now, errors)): (&Exposure, Odds)| Chance {
        end: x.end,
        ever,
        now,
        ever_error: errors.map(|e| e.0),
        now_error: errors.map(|e| e.1),
    };
    Ok(exposed.iter().zip(found).map(chance).collect())
}

/// Ever, now, and the standard errors of both.
type Odds = (f64, f64, Option<(f64, f64)>);
type Found = Vec<Odds>;

fn exact(game: &Game, per_contact: f64) -> Result<Found, ContactError> {
    let onsets: Vec<Vec<(i64, f64)>> = game.onsets();
    let starts = onsets.iter().try_fold(1u64, |n, of| n.checked_mul(of.len() as u64)).unwrap_or(u64::MAX);
    let coins = game.touches();
    let cases = u32::try_from(coins).ok().and_then(|coins| 1u64.checked_shl(coins));
    let cases = cases.and_then(|outcomes| outcomes.checked_mul(starts));
    if cases.is_none_or(|cases| cases > MOST_CASES) {
        return Err(ContactError::TooManyCases { limit: MOST_CASES, coins, onsets: starts });
    }
    let mut sums = vec![(0.0, 0.0, None); game.ends()];
    let mut outcome = Outcome::default();
    let mut passing = vec![false; coins];
    for start in 0..starts {
        let mut rest = start;
        let mut weight = 1.0;
        let mut moments = Vec::with_capacity(onsets.len());
        for of in &onsets {
            let choices = of.len() as u64;
            let index = usize::try_from(rest % choices).unwrap_or_default();
            rest /= choices;
            if let Some(&(moment, part)) = of.get(index) {
                moments.push(moment);
                weight *= part;
            }
        }
        for bits in 0..1u64 << coins {
            let mut part = weight;
            for (index, passes) in passing.iter_mut().enumerate() {
                *passes = bits >> index & 1 == 1;
                part *= if *passes { per_contact } else { 1.0 - per_contact };
            }
            if part > 0.0 {
                game.play(&moments, &passing, &mut outcome);
                for (sum, (ever, now)) in sums.iter_mut().zip(outcome.iter()) {
                    sum.0 += if ever { part } else { 0.0 };
                    sum.1 += if now { part } else { 0.0 };
                }
            }
        }
    }
    Ok(sums)
}

fn monte_carlo(game: &Game, per_contact: f64, seed: u64, trials: u32) -> Result<Found, ContactError> {
    if trials == 0 {
        return Err(ContactError::NoTrials);
    }
    let mut random = Pcg64::seed_from_u64(seed);
    let mut counts = vec![(0u32, 0u32); game.ends()];
    let mut outcome = Outcome::default();
    let mut passing = vec![false; game.touches()];
    let mut moments = Vec::new();
    for _ in 0..trials {
        moments.clear();
        moments.extend(game.sources.iter().map(|source| onset(source, random.random())));
        for passes in &mut passing {
            *passes = random.random::<f64>() < per_contact;
        }
        game.play(&moments, &passing, &mut outcome);
        for (count, (ever, now)) in counts.iter_mut().zip(outcome.iter()) {
            count.0 += u32::from(ever);
            count.1 += u32::from(now);
        }
    }
    let all = f64::from(trials);
    let error = |count: u32| {
        let q = (f64::from(count) + 1.0) / (all + 2.0);
        (q * (1.0 - q) / all).sqrt()
    };
    let found = |(ever, now): (u32, u32)| {
        (f64::from(ever) / all, f64::from(now) / all, Some((error(ever), error(now))))
    };
    Ok(counts.into_iter().map(found).collect())
}

/// A moment uniform in (last known good, first evidence], `part` in [0, 1).
#[expect(clippy::cast_possible_truncation, reason = "the product is below the width of the window")]
fn onset(source: &Source, part: f64) -> i64 {
    let width = (i128::from(source.first_evidence) - i128::from(source.last_known_good)) as f64;
    let back = (part * width).floor() as i64;
    source.first_evidence.saturating_sub(back)
}
