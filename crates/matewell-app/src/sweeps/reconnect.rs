//! Does a joint scatter, has it moved, and is it the cable or the device?

use super::{
    SweepFile,
    given::{file_json, parse_file},
    typed::{Parameter, bad, frequency, network},
};
use crate::AppError;
use matewell_network::{
    Sweep,
    cable::{Passage, loss_change, phase_change},
    reconnect::{
        Covers, Ellipse, Sample, Source, Spread, coverage_factor, fitted_parameters,
        permutation_over_frequency, saver_or_device, two_sample,
    },
};
use matewell_wire::{
    EllipseJson, ReconnectGroupJson, ReconnectJson, ReconnectTestJson, SweepCableAsked, SweepCableJson,
    SweepFileJson, SweepReconnectAsked,
};
use num_complex::Complex64;

/// The same files give the same answer: shuffling starts from this seed.
const SEED: u64 = 20_261_126;
/// Shuffles of the check without a model.
const ROUNDS: usize = 199;
/// Most files of a group.
const MOST_FILES: usize = 64;
/// One-sided 90 % point of the normal distribution.
const NINE_IN_TEN: f64 = 1.2816;

/// One group with everything that is computed from it.
struct Group {
    name: &'static str,
    files: Vec<SweepFileJson>,
    traces: Vec<Vec<Complex64>>,
    frequencies: Vec<f64>,
    impedance: f64,
}

/// Does a joint scatter, or has it moved? Saver or device?
///
/// `groups` are the first, the second (may be empty), and the history (may
/// be empty).
///
/// # Errors
///
/// Fewer than four sweeps in a group that is given; sweeps of other
/// frequencies.
pub fn reconnect(groups: [&[SweepFile]; 3], asked: &SweepReconnectAsked) -> Result<ReconnectJson, AppError> {
    let parameter = Parameter::typed(asked.parameter.as_deref(), "S11")?;
    let mut loaded = Vec::new();
    for (name, given) in ["first", "second", "history"].into_iter().zip(groups) {
        if !given.is_empty() || name == "first" {
            loaded.push(group(name, given, parameter, asked.reading.as_deref())?);
        }
    }
    study(&loaded, parameter, asked.at.as_deref())
}

fn group(
    name: &'static str,
    given: &[SweepFile],
    parameter: Parameter,
    reading: Option<&str>,
) -> Result<Group, AppError> {
    if given.len() < 4 || given.len() > MOST_FILES {
        return Err(bad(name)(format!(
            "expected 4 to {MOST_FILES} sweeps, better 16, found {}",
            given.len()
        )));
    }
    let mut group =
        Group { name, files: Vec::new(), traces: Vec::new(), frequencies: Vec::new(), impedance: 50.0 };
    let mut first: Option<Sweep> = None;
    for one in given {
        let sweep = parse_file(one, reading)?.sweep;
        if let Some(first) = &first {
            first.same_grid(&sweep).map_err(|e| bad(name)(format!("{}: {e}", one.name)))?;
        }
        group.traces.push(parameter.of(&sweep)?);
        group.files.push(file_json(one));
        if first.is_none() {
            group.frequencies = sweep.frequencies().to_vec();
            group.impedance = sweep.references().get(parameter.to - 1).copied().unwrap_or(f64::NAN);
            first = Some(sweep);
        }
    }
    Ok(group)
}

/// Is it the good cable? Phase and loss between two sweeps of it.
///
/// # Errors
///
/// Sweeps of other frequencies, or a phase that cannot be unwrapped.
pub fn cable(
    before: &SweepFile,
    after: &SweepFile,
    asked: &SweepCableAsked,
) -> Result<SweepCableJson, AppError> {
    let parameter = Parameter::typed(asked.parameter.as_deref(), "S21")?;
    let (word, passage) = match asked.passage.as_deref().map(str::trim) {
        None | Some("" | "once") => ("once", Passage::Once),
        Some("twice") => ("twice", Passage::Twice),
        Some(other) => return Err(bad("passage")(format!("expected once or twice, found \"{other}\""))),
    };
    let reading = asked.reading.as_deref();
    let (a, b) = (parse_file(before, reading)?.sweep, parse_file(after, reading)?.sweep);
    a.same_grid(&b).map_err(network("after"))?;
    let (first, second) = (parameter.of(&a)?, parameter.of(&b)?);
    let phase = phase_change(a.frequencies(), &first, &second, passage).map_err(network("after"))?;
    let share = if word == "twice" { 0.5 } else { 1.0 };
    let loss: Vec<f64> =
        first.iter().zip(&second).map(|(x, y)| -20.0 * (y.norm() / x.norm()).log10() * share).collect();
    let impedance = a.references().get(parameter.to - 1).copied().unwrap_or(f64::NAN);
    // Loss is fitted above 0 Hz, where a cable has one.
    let parts = loss_change(a.frequencies(), &loss, impedance).map_err(network("after"))?;
    let text = format!(
        "{}: delay {:+.3} ps ({:+.2} degrees at the highest frequency), ripple {:.2} degrees; loss {:+.3} dB from \
         contacts, {:+.3} dB at 1 GHz from conductors, {:+.4} dB at 1 GHz from the dielectric.",
        parameter,
        phase.delay * 1e12,
        phase.degrees_at_highest,
        phase.ripple_degrees,
        parts.constant_db,
        parts.root_db_at_1_ghz,
        parts.linear_db_at_1_ghz
    );
    Ok(SweepCableJson {
        text,
        before: file_json(before),
        after: file_json(after),
        parameter: parameter.to_string(),
        passage: word.to_owned(),
        delay_change_ps: phase.delay * 1e12,
        degrees_at_highest: phase.degrees_at_highest,
        ripple_degrees: phase.ripple_degrees,
        largest_step_degrees: phase.largest_step_degrees,
        loss_constant_db: parts.constant_db,
        loss_root_db_at_1_ghz: parts.root_db_at_1_ghz,
        loss_linear_db_at_1_ghz: parts.linear_db_at_1_ghz,
        contact_resistance_ohm: parts.contact_resistance,
        loss_ripple_db: parts.ripple_db,
        source: "common practice, no source; iec-60966-1 holds the bending and temperature tests".to_owned(),
    })
}

fn study(groups: &[Group], parameter: Parameter, at: Option<&str>) -> Result<ReconnectJson, AppError> {
    let Some(first) = groups.first() else { return Err(bad("first")("expected sweeps, found none")) };
    for group in groups {
        if group.frequencies != first.frequencies {
            return Err(bad(group.name)("expected the frequencies of the first group, found others"));
        }
    }
    let index = nearest(&first.frequencies, at)?;
    let points = first.frequencies.len();
    let count = first.traces.len() as f64;
    let mean: Vec<Complex64> = (0..points)
        .map(|k| first.traces.iter().filter_map(|t| t.get(k)).sum::<Complex64>() / count)
        .collect();
    let mut shown = Vec::new();
    let (mut fitted, mut planes) = (Vec::new(), Vec::new());
    for group in groups {
        let parameters = group
            .traces
            .iter()
            .map(|t| {
                let departure: Vec<Complex64> = t.iter().zip(&mean).map(|(a, b)| a - b).collect();
                fitted_parameters(&group.frequencies, &departure, group.impedance).map_err(network("first"))
            })
            .collect::<Result<Vec<_>, AppError>>()?;
        let plane: Vec<Complex64> = group.traces.iter().filter_map(|t| t.get(index).copied()).collect();
        let fit = Sample::new(&parameters).map_err(network(group.name))?;
        let complex = Sample::of_complex(&plane).map_err(network(group.name))?;
        shown.push(group_json(group, &parameters, &fit, &complex)?);
        fitted.push(fit);
        planes.push(complex);
    }
    let second = groups.iter().position(|g| g.name == "second");
    let history = groups.iter().position(|g| g.name == "history");
    let test = match second.and_then(|k| Some((groups.get(k)?, fitted.first()?, fitted.get(k)?))) {
        Some((group, a, b)) => Some(test(first, group, a, b)?),
        None => None,
    };
    let source = match (second, history) {
        (Some(s), Some(h)) => match (planes.first(), planes.get(s), planes.get(h)) {
            (Some(a), Some(b), Some(past)) => Some(saver_or_device(a, b, past).map_err(network("history"))?),
            _ => None,
        },
        _ => None,
    };
    Ok(ReconnectJson {
        text: words(&shown, test.as_ref(), source),
        parameter: parameter.to_string(),
        at_hz: first.frequencies.get(index).copied().unwrap_or(f64::NAN),
        groups: shown,
        test,
        source_of_scatter: source.map(|s| source_word(s).to_owned()),
        source: "inductance and resistance are those of a joint at the port plane; jcgm-102-2011, 6.5.2 (region of two \
                 quantities); krishnamoorthy-yu-2004 (unequal spread); shuffling: \
                 common practice, no source"
            .to_owned(),
    })
}

/// The point nearest to the frequency asked; the last when none was.
pub(super) fn nearest(frequencies: &[f64], at: Option<&str>) -> Result<usize, AppError> {
    let last = frequencies.len().saturating_sub(1);
    let Some(text) = at.map(str::trim).filter(|t| !t.is_empty()) else { return Ok(last) };
    let asked = frequency("at", text)?;
    let step = match frequencies {
        [first, .., end] => (end - first) / last as f64,
        _ => 0.0,
    };
    let found = (0..frequencies.len()).min_by(|a, b| {
        let off = |k: &usize| frequencies.get(*k).map_or(f64::INFINITY, |f| (f - asked).abs());
        off(a).total_cmp(&off(b))
    });
    let found = found.unwrap_or(last);
    let off = frequencies.get(found).map_or(f64::INFINITY, |f| (f - asked).abs());
    // Beyond the ends of the sweep nothing is near.
    if off > step {
        return Err(bad("at")(format!(
            "expected a frequency of the sweep, found {text}, which is {off} Hz away"
        )));
    }
    Ok(found)
}

fn group_json(
    group: &Group,
    parameters: &[Vec<f64>],
    fit: &Sample,
    complex: &Sample,
) -> Result<ReconnectGroupJson, AppError> {
    let column = |k: usize| parameters.iter().filter_map(|p| p.get(k).copied()).collect::<Vec<f64>>();
    let covariance = fit.covariance().to_vec();
    let deviation = |k: usize| covariance.get(3 * k).map_or(f64::NAN, |v| v.sqrt());
    let region = |covers| complex.ellipse(covers).map(ellipse_json).map_err(network(group.name));
    let radial = complex.radial();
    Ok(ReconnectGroupJson {
        group: group.name.to_owned(),
        files: group.files.clone(),
        inductance_ph: column(0),
        resistance_mohm: column(1),
        inductance_scatter_ph: deviation(0),
        resistance_scatter_mohm: deviation(1),
        covariance,
        radial_repeatability: radial,
        radial_repeatability_db: if radial > 1e-20 { 20.0 * radial.log10() } else { -400.0 },
        mean_region: region(Covers::Mean)?,
        next_region: region(Covers::Next)?,
        caution: fit.caution(),
    })
}

fn ellipse_json(ellipse: Ellipse) -> EllipseJson {
    EllipseJson {
        centre_x: ellipse.centre.re,
        centre_y: ellipse.centre.im,
        major: ellipse.major,
        minor: ellipse.minor,
        angle_deg: ellipse.angle.to_degrees(),
    }
}

fn test(first: &Group, second: &Group, a: &Sample, b: &Sample) -> Result<ReconnectTestJson, AppError> {
    let equal = two_sample(a, b, Spread::Equal).map_err(network("second"))?;
    let unequal = two_sample(a, b, Spread::Unequal).map_err(network("second"))?;
    let shuffled = permutation_over_frequency(&first.traces, &second.traces, ROUNDS, SEED).ok();
    let difference = |k: usize| match (a.mean().get(k), b.mean().get(k)) {
        (Some(x), Some(y)) => y - x,
        _ => f64::NAN,
    };
    let (n1, n2) = (a.count() as f64, b.count() as f64);
    let variance = |s: &Sample| s.covariance().first().copied().unwrap_or(f64::NAN);
    let pooled = ((n1 - 1.0) * variance(a) + (n2 - 1.0) * variance(b)) / (n1 + n2 - 2.0);
    // The limit of T² at 5 % is k² of one sample of n₁ + n₂ − 1.
    let limit = coverage_factor(a.count() + b.count() - 1, 2).map_err(network("second"))?;
    Ok(ReconnectTestJson {
        p_equal_spread: equal.p,
        p_unequal_spread: unequal.p,
        t_squared: equal.t_squared,
        p_permutation: shuffled,
        inductance_difference_ph: difference(0),
        resistance_difference_mohm: difference(1),
        smallest_detectable_ph: (limit + NINE_IN_TEN) * (pooled * (1.0 / n1 + 1.0 / n2)).sqrt(),
    })
}

fn source_word(source: Source) -> &'static str {
    match source {
        Source::Saver => "saver",
        Source::Device => "device",
        Source::Neither => "neither",
        Source::Undecided => "undecided",
    }
}

fn words(groups: &[ReconnectGroupJson], test: Option<&ReconnectTestJson>, source: Option<Source>) -> String {
    let mut text: Vec<String> = groups
        .iter()
        .map(|g| {
            format!(
                "{} group, {} reconnections: scatter {:.2} pH and {:.1} mΩ, {:.1} dB in the plane.",
                if g.group == "history" {
                    "History"
                } else if g.group == "first" {
                    "First"
                } else {
                    "Second"
                },
                g.files.len(),
                g.inductance_scatter_ph,
                g.resistance_scatter_mohm,
                g.radial_repeatability_db
            )
        })
        .collect();
    if let Some(t) = test {
        let moved = if t.p_unequal_spread < 0.05 {
            "The means differ"
        } else {
            "No difference of the means is shown"
        };
        text.push(format!(
            "{moved}: {:+.2} pH, {:+.1} mΩ, chance {:.3} with one mean (unequal spread). A difference of {:.2} pH would \
             have been seen nine times in ten.",
            t.inductance_difference_ph, t.resistance_difference_mohm, t.p_unequal_spread, t.smallest_detectable_ph
        ));
    }
    let said = match source {
        Some(Source::Saver) => "The scatter stays with the saver. Look at it and gauge it.",
        Some(Source::Device) => "The scatter is there only with the device. Look at it and gauge it.",
        Some(Source::Neither) => "Both scatter no more than the joint's history.",
        Some(Source::Undecided) => {
            "Saver or device: these reconnections do not tell; eight in each group are the least."
        }
        None => "",
    };
    text.extend(Some(said.to_owned()).filter(|s| !s.is_empty()));
    let mut cautions: Vec<String> =
        groups.iter().filter_map(|g| g.caution.as_ref().map(|c| format!("{}: {c}.", g.group))).collect();
    text.append(&mut cautions);
    text.join(" ")
}
