//! Baseline, sweep in hand and their difference over time.

use super::{
    layout::Layout,
    time::{View, mode_word},
};
use matewell_network::{
    NetworkError, Sweep, sanity,
    transform::{Fourier, FromDc, Zoom, from_dc},
    window::{Mode, Window},
};
use matewell_wire::ColumnsJson;

/// Values of the picture.
const VALUES: usize = 2001;

/// The picture, its mode, and how much of the difference comes too early.
pub(super) struct Picture {
    pub(super) columns: ColumnsJson,
    pub(super) mode: String,
    pub(super) early_energy: Option<f64>,
}

/// Nothing without a uniform grid.
pub(super) fn picture(
    baseline: &Sweep,
    now: &Sweep,
    port: usize,
    layout: &Layout,
) -> Result<Picture, NetworkError> {
    let frequencies = now.frequencies();
    let (before, after) = (baseline.trace(port, port)?, now.trace(port, port)?);
    let last = layout.round_trips().last().copied().unwrap_or(0.0);
    // A tenth more than the chain, and never less than a few reflections wide.
    let reach = matewell_quantity::greater(1.1 * last + 0.3e-9, 1e-9);
    let both = from_dc(frequencies, &before, last).and_then(|b| Ok((b, from_dc(frequencies, &after, last)?)));
    let (mode, dc) = match both {
        Ok(pair) => (Mode::LowPass, Some(pair)),
        Err(NetworkError::DcRefused { .. }) => (Mode::BandPass, None),
        Err(other) => return Err(other),
    };
    let times = Zoom { start: -0.1 * reach, step: 1.1 * reach / (VALUES - 1) as f64, count: VALUES };
    let view = View { frequencies, window: Window::Kaiser(6.0), mode, times };
    let change: Vec<_> = after.iter().zip(&before).map(|(a, b)| a - b).collect();
    let dc_change = dc.as_ref().map(|(b, a)| FromDc {
        step: b.step,
        values: a.values.iter().zip(&b.values).map(|(a, b)| a - b).collect(),
        dc_doubt: a.dc_doubt,
    });
    let mut fourier = Fourier::new();
    let shown = [
        view.values(&mut fourier, &before, dc.as_ref().map(|(b, _)| b))?,
        view.values(&mut fourier, &after, dc.as_ref().map(|(_, a)| a))?,
        view.values(&mut fourier, &change, dc_change.as_ref())?,
    ];
    let early_energy =
        dc_change.map(|change| sanity::energy_before_zero(&mut fourier, &change)).transpose()?;
    let time: Vec<f64> = (0..VALUES).map(|n| times.start + times.step * n as f64).collect();
    let mut values =
        vec![time.iter().map(|t| t * 1e9).collect(), time.iter().map(|t| layout.distance(*t)).collect()];
    values.extend(shown);
    let names = ["round_trip_ns", "distance_m", "baseline", "now", "difference"].map(str::to_owned).to_vec();
    Ok(Picture { columns: ColumnsJson { names, values }, mode: mode_word(mode).to_owned(), early_energy })
}
