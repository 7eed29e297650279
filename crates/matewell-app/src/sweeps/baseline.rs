//! Which earlier sweep may stand as the good state?

use super::given::{Loaded, noted_of};
use crate::{AppError, Workshop};
use matewell_lab::{EndId, Fact, SweepNoted};
use matewell_network::joints::{CableShape, Candidate, NoBaseline, choose_baseline};

/// The chain, port and shape a sweep belongs to.
pub(super) struct Kin {
    pub(super) chain: Vec<EndId>,
    pub(super) port: u32,
    pub(super) shape: Option<String>,
    pub(super) grid: (f64, f64, usize),
    pub(super) taken_at: i64,
}

fn chain_name(chain: &[EndId]) -> String {
    chain.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
}

fn shape(text: Option<&String>) -> Option<CableShape> {
    text.map(|t| CableShape(t.trim().to_lowercase()))
}

fn candidate(fact: &Fact, noted: &SweepNoted) -> Candidate {
    Candidate {
        chain: chain_name(&noted.chain),
        port: noted.port as usize,
        shape: shape(noted.cable_shape.as_ref()),
        grid: (noted.from.hertz(), noted.to.hertz(), noted.points as usize),
        taken_at: fact.happened_at.microseconds(),
        known_good: noted.known_good,
    }
}

impl Workshop {
    /// The latest good sweep of the same chain, port, cable shape and grid.
    ///
    /// # Errors
    ///
    /// [`AppError::NotReady`] with the condition that nothing met.
    pub(super) fn baseline_for(&self, kin: &Kin) -> Result<Loaded, AppError> {
        let mut earlier: Vec<Fact> = self.store.sweeps()?;
        let candidates: Vec<Candidate> =
            earlier.iter().filter_map(|fact| noted_of(fact).map(|noted| candidate(fact, noted))).collect();
        let now = Candidate {
            chain: chain_name(&kin.chain),
            port: kin.port as usize,
            shape: shape(kin.shape.as_ref()),
            grid: kin.grid,
            taken_at: kin.taken_at,
            known_good: false,
        };
        let found = choose_baseline(&candidates, &now).map_err(|why| AppError::NotReady(words(why)))?;
        if found >= earlier.len() {
            return Err(AppError::NotReady(words(NoBaseline::OtherChain)));
        }
        self.sweep_on_record(earlier.swap_remove(found))
    }
}

fn words(why: NoBaseline) -> String {
    let because = match why {
        NoBaseline::OtherChain => "no earlier sweep of these ends in this order is on record",
        NoBaseline::OtherDirection => "the earlier sweeps of this chain are from another port",
        NoBaseline::OtherShape => {
            "the earlier sweeps are with the cables held otherwise, or nobody wrote down how they were held"
        }
        NoBaseline::OtherGrid => "the earlier sweeps have other frequencies",
        NoBaseline::NotKnownGood => "no earlier sweep was marked as good",
    };
    format!("There is nothing to compare with: {because}. Name a baseline, or keep a sweep as good first.")
}
