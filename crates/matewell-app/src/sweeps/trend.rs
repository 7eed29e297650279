//! Sweeps on record: which there are, and whether a quantity drifts.

use super::{
    given::{Loaded, noted_of},
    reconnect::nearest,
    typed::{Parameter, bad, decibels, labels, port, said},
};
use crate::{AppError, Workshop, workshop::Tags};
use matewell_lab::{EndId, Fact};
use matewell_network::trend::trend;
use matewell_store::hash_text;
use matewell_wire::{
    EndNameJson, SweepFileJson, SweepListJson, SweepRowJson, SweepTrendAsked, SweepTrendJson, TrendPointJson,
    moment_text,
};
use num_complex::Complex64;

/// Most sweeps a trend looks at, the latest.
const MOST_SWEEPS: usize = 500;

impl Workshop {
    /// Sweeps on record, latest first. `chain`: labels with commas, or nothing
    /// for all.
    ///
    /// # Errors
    ///
    /// Unknown labels; a store that cannot be read.
    pub fn sweeps(&self, chain: &str) -> Result<SweepListJson, AppError> {
        let chain = self.ends_of(chain)?;
        let mut facts = self.store.sweeps()?;
        facts.sort_by_key(|f| std::cmp::Reverse((f.happened_at, f.sequence, f.id)));
        let rows = facts
            .iter()
            .filter(|f| chain.is_empty() || noted_of(f).is_some_and(|n| n.chain == chain))
            .filter_map(|f| self.row(f))
            .collect();
        Ok(SweepListJson { sweeps: rows })
    }

    fn ends_of(&self, chain: &str) -> Result<Vec<EndId>, AppError> {
        labels(chain).iter().map(|tag| Ok(self.one_end(tag)?.end)).collect()
    }

    fn row(&self, fact: &Fact) -> Option<SweepRowJson> {
        let names = Tags(&self.store);
        let noted = noted_of(fact)?;
        Some(SweepRowJson {
            fact: fact.id.to_string(),
            happened_at: moment_text(fact.happened_at),
            person: fact.person.clone(),
            chain: noted.chain.iter().map(|end| EndNameJson::new(*end, &names)).collect(),
            port: noted.port,
            cable_shape: noted.cable_shape.clone(),
            instrument: noted.instrument.clone(),
            known_good: noted.known_good,
            has_layout: noted.layout.is_some(),
            file: SweepFileJson {
                name: noted.file_name.clone(),
                bytes: noted.bytes,
                sha256: hash_text(&noted.sha256),
            },
            ports: noted.ports,
            points: noted.points,
            first_hz: noted.from.hertz(),
            last_hz: noted.to.hertz(),
            note: fact.note.clone(),
        })
    }

    /// Does a quantity of a chain drift?
    ///
    /// # Errors
    ///
    /// Unknown labels; a quantity that is none; a frequency outside the sweeps.
    pub fn sweep_trend(&self, asked: &SweepTrendAsked) -> Result<SweepTrendJson, AppError> {
        let chain = self.ends_of(asked.chain.as_deref().unwrap_or_default())?;
        if chain.is_empty() {
            return Err(bad("chain")("expected the labels of a chain with commas, found nothing"));
        }
        let port = port(asked.port.as_deref())?.unwrap_or(1);
        let shape = said(asked.cable_shape.as_ref()).map(|s| s.to_lowercase());
        let parameter = Parameter::typed(asked.parameter.as_deref(), "S11")?;
        let (word, unit, of) = quantity(asked.quantity.as_deref())?;
        let mut facts = self.store.sweeps()?;
        facts.retain(|f| noted_of(f).is_some_and(|n| n.chain == chain && n.port == port));
        facts.sort_by_key(|f| (f.happened_at, f.sequence, f.id));
        let mut left_out = Vec::new();
        if let Some(more) = facts.len().checked_sub(MOST_SWEEPS).filter(|more| *more > 0) {
            facts.drain(..more);
            left_out.push(format!("{more} older sweeps: a trend looks at the latest {MOST_SWEEPS}"));
        }
        let mut values = Vec::new();
        for fact in facts {
            let at = fact.happened_at;
            let id = fact.id.to_string();
            let held = noted_of(&fact).and_then(|n| n.cable_shape.clone()).map(|s| s.trim().to_lowercase());
            if shape.is_some() && held != shape {
                left_out.push(format!("{id}: the cables were held otherwise"));
                continue;
            }
            let loaded: Loaded = self.sweep_on_record(fact)?;
            let sweep = loaded.parse(None)?.sweep;
            let Ok(index) = nearest(sweep.frequencies(), asked.at.as_deref()) else {
                left_out.push(format!("{id}: the frequency lies outside it"));
                continue;
            };
            let trace = parameter.of(&sweep)?;
            let (Some(at_hz), Some(found)) = (sweep.frequencies().get(index), trace.get(index)) else {
                continue;
            };
            values.push((
                at,
                TrendPointJson { fact: id, happened_at: moment_text(at), at_hz: *at_hz, value: of(*found) },
            ));
        }
        let days: Vec<f64> = values
            .iter()
            .map(|(at, _)| values.first().map_or(0.0, |(first, _)| at.days_since(*first)))
            .collect();
        let numbers: Vec<f64> = values.iter().map(|(_, v)| v.value).collect();
        let line = trend(&days, &numbers);
        let text = match &line {
            Ok(line) => format!(
                "{parameter} {word} changes by {:+.3e} {unit} a day (standard uncertainty {:.1e}) over {} sweeps; chance of \
                 so steep a line without a drift: {:.3}.",
                line.slope_per_day,
                line.slope_uncertainty,
                numbers.len(),
                line.p
            ),
            Err(error) => format!("No trend: {error}."),
        };
        let line = line.ok();
        Ok(SweepTrendJson {
            text,
            quantity: format!("{parameter} {word}"),
            unit: unit.to_owned(),
            slope_per_day: line.as_ref().map(|l| l.slope_per_day),
            u_slope_per_day: line.as_ref().map(|l| l.slope_uncertainty),
            p: line.as_ref().map(|l| l.p),
            scatter: line.as_ref().map(|l| l.scatter),
            values: values.into_iter().map(|(_, v)| v).collect(),
            left_out,
        })
    }
}

type Of = fn(Complex64) -> f64;

fn quantity(text: Option<&str>) -> Result<(&'static str, &'static str, Of), AppError> {
    match text.map(str::trim) {
        None | Some("" | "magnitude-db") => Ok(("magnitude-db", "dB", decibels)),
        Some("magnitude") => Ok(("magnitude", "1", Complex64::norm)),
        Some("phase-deg") => Ok(("phase-deg", "deg", |z| z.arg().to_degrees())),
        Some(other) => {
            Err(bad("quantity")(format!("expected magnitude-db, magnitude or phase-deg, found \"{other}\"")))
        }
    }
}
