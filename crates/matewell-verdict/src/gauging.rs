//! A gauging on record as the room `uncertainty` evaluates it: which model of
//! the gauge, which readings, which rule.

use crate::book::{GaugeLine, Policy};
use matewell_lab::{GaugeMethod, GaugeSpec, Gauged, GaugingOnRecord, GaugingSession, ItemId, ToolRecord};
use matewell_quantity::{Length, greater};
use matewell_uncertainty::{
    Evaluation, InputId, Shape, Spread, UncertaintyError,
    gauging::{
        GaugeModel, Gauging, ProtrusionDecision, ProtrusionLimit, ProtrusionPolicy, Scope, Session,
        SessionIds, Term, ZeroAfter, correct_session, decide_protrusion,
    },
};

/// Largest number of readings worth asking for: common practice, no source.
const MOST_READINGS: u32 = 30;

/// Readings that scatter with less probability than this are a finding. Small,
/// because a lab gauges thousands of times: common practice, no source.
const SPREAD_RISK: f64 = 1e-4;

/// Unit of every length here, as printed.
const UNIT: &str = "µm";

/// The line that stands for certificate, master and linearity together.
const AS_REGISTERED: &str = "gauge, master and linearity";

/// The line that a master's own certificate replaces; the registered figure
/// of a gauge already holds it.
const MASTER_CERTIFICATE: &str = "master step certificate";

/// What the four lines it replaces are called in the typical budgets.
const REPLACED_BY_REGISTERED: [&str; 4] =
    ["gauge certificate", "residual linearity", MASTER_CERTIFICATE, "master flatness and parallelism"];

/// The decision on one gauging with its whole budget, in micrometres, above
/// zero where the pin protrudes.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugingJudged {
    /// Position and budget.
    pub gauging: Gauging,
    /// The decision.
    pub decision: ProtrusionDecision,
    /// Whether the gauge has a standard uncertainty on record (or one was
    /// stated): without it the budget is shown and decides nothing.
    pub certified: bool,
}

/// How a gauging reached the pin, when what it used says only what is grossly
/// wrong.
#[must_use]
pub fn coarse_method(gauged: &Gauged, gauge: Option<&ToolRecord>) -> Option<GaugeMethod> {
    let spec = gauge.and_then(|g| g.item.gauge.as_ref());
    let method = gauged.session.as_ref().and_then(|s| s.method).or(spec.map(|s| s.method))?;
    matches!(method, GaugeMethod::GoNoGo | GaugeMethod::Eye).then_some(method)
}

/// Evaluates a gauging and decides on it. `None` when nothing is on record
/// from which an uncertainty follows, or a go/no-go block or the eye was used.
///
/// - A standard uncertainty stated with the readings is the whole budget.
/// - Readings alone: the gauge's registered standard uncertainty stands for
///   everything but the repeatability.
/// - A session with a gauge master or zero readings: the whole budget; what
///   nobody recorded about the gauge is typical and says so.
///
/// # Errors
///
/// As [`Gauging::evaluate`] and [`decide_protrusion`].
pub fn judge_gauging(
    on_record: &GaugingOnRecord,
    gauge: Option<&ToolRecord>,
    lines: &[GaugeLine],
    policy: &Policy,
) -> Result<Option<GaugingJudged>, UncertaintyError> {
    let Some((gauging, certified)) = evaluate_gauging(on_record, gauge, lines, policy)? else {
        return Ok(None);
    };
    let decision = decide(&gauging, policy)?;
    Ok(Some(GaugingJudged { gauging, decision, certified }))
}

/// Decides with the lab's policy against the plane.
///
/// # Errors
///
/// As [`decide_protrusion`].
pub fn decide(gauging: &Gauging, policy: &Policy) -> Result<ProtrusionDecision, UncertaintyError> {
    let plane = ProtrusionLimit { position: 0.0, includes_uncertainty: false };
    let rule = ProtrusionPolicy {
        risk: policy.protrusion_risk,
        void_multiple: policy.zero_drift_ratio,
        most_readings: MOST_READINGS,
        // Too few readings is a finding of its own that leaves the number as
        // it is: the pooled repeatability already says what one reading is worth.
        fewest_readings: 1,
        zero_after: ZeroAfter::Advised,
        spread_risk: SPREAD_RISK,
    };
    decide_protrusion(gauging, plane, &rule)
}

/// The gauging alone, and whether the gauge is certified.
///
/// # Errors
///
/// As [`Gauging::evaluate`].
pub fn evaluate_gauging(
    on_record: &GaugingOnRecord,
    gauge: Option<&ToolRecord>,
    lines: &[GaugeLine],
    policy: &Policy,
) -> Result<Option<(Gauging, bool)>, UncertaintyError> {
    let gauged = &on_record.gauged;
    if gauged.readings.is_empty() {
        return Ok(None);
    }
    let spec = gauge.and_then(|g| g.item.gauge.as_ref());
    let full = gauged.session.as_deref().filter(|s| s.master.is_some() || !s.zero_before.is_empty());
    let model = if let Some(stated) = gauged.stated_standard_uncertainty {
        Some((stated_model(stated)?, true))
    } else if coarse_method(gauged, gauge).is_some() {
        None
    } else {
        match (spec, full) {
            (Some(spec), Some(session)) => full_model(spec, session, lines, policy)?,
            (Some(spec), None) => registered_model(gauged, spec)?,
            (None, _) => None,
        }
    };
    let Some((mut model, certified)) = model else { return Ok(None) };
    let own = gauged.session.as_deref();
    model.master_position = own.and_then(|s| s.master_position).map_or(0.0, |m| -m.recession_um());
    let session = session_of(on_record, own, model.master_position);
    let off = own.and_then(|s| s.gauge_off.as_ref());
    let gauging = match off {
        None => Gauging::evaluate(&session, &model, UNIT)?,
        Some(off) => correct_session(
            &session,
            &model,
            UNIT,
            // Too far recessed is below the truth on the scale where protruding is above zero.
            -off.reads_more_recessed.micrometres(),
            off.standard_uncertainty.map_or(0.0, Length::micrometres),
            &InputId::new(off.found_by.map_or_else(
                || format!("offset of {}", on_record.fact),
                |found| format!("offset found by {found}"),
            )),
        )?,
    };
    if gauging.estimate().standard_uncertainty() > 0.0 { Ok(Some((gauging, certified))) } else { Ok(None) }
}

fn session_of(on_record: &GaugingOnRecord, own: Option<&GaugingSession>, master_position: f64) -> Session {
    let gauged = &on_record.gauged;
    let positions = |list: &[matewell_lab::PinPosition]| list.iter().map(|p| -p.recession_um()).collect();
    let zero_before: Vec<f64> = own.map_or_else(Vec::new, |s| positions(&s.zero_before));
    let name = |kind: &str, item: Option<ItemId>| match item {
        Some(item) => InputId::new(format!("{kind} {item}")),
        None => InputId::new(format!("{kind} of {}", on_record.fact)),
    };
    Session {
        readings: positions(&gauged.readings),
        // The gauge was set to its master without a note of what it showed:
        // it showed the master's position.
        zero_before: if zero_before.is_empty() { vec![master_position] } else { zero_before },
        zero_after: own.map_or_else(Vec::new, |s| positions(&s.zero_after)),
        ids: SessionIds {
            gauge: name("gauge", gauged.gauge),
            master: name("master", own.and_then(|s| s.master)),
            zero: InputId::new(format!("zero of {}", on_record.fact)),
            operator: InputId::new(format!("operator {}", on_record.person)),
            session: InputId::new(format!("gauging {}", on_record.fact)),
        },
    }
}

fn bare_model(repeatability: Spread, term: Term, source: &str) -> Result<GaugeModel, UncertaintyError> {
    Ok(GaugeModel {
        repeatability,
        zero: Spread::new(0.0, f64::INFINITY)?,
        resolution: 0.0,
        drift: 0.0,
        source: source.to_owned(),
        own_sources: Vec::new(),
        scale_correction: 0.0,
        master_position: 0.0,
        terms: vec![term],
    })
}

fn standard_term(name: &str, scope: Scope, stated: f64, source: &str) -> Term {
    Term {
        name: name.to_owned(),
        scope,
        evaluation: Evaluation::TypeB,
        shape: Shape::Normal,
        stated,
        degrees_of_freedom: f64::INFINITY,
        source: source.to_owned(),
    }
}

fn stated_model(stated: Length) -> Result<GaugeModel, UncertaintyError> {
    let source = "stated with the readings";
    let term = standard_term("stated with the readings", Scope::Session, stated.micrometres(), source);
    bare_model(Spread::new(0.0, f64::INFINITY)?, term, source)
}

const REGISTERED: &str = "registration of the gauge";

fn registered_model(
    gauged: &Gauged,
    spec: &GaugeSpec,
) -> Result<Option<(GaugeModel, bool)>, UncertaintyError> {
    let Some(shared) = spec.standard_uncertainty else { return Ok(None) };
    let Some(repeatability) = spread_of_one_reading(gauged, spec)? else { return Ok(None) };
    let term = standard_term(AS_REGISTERED, Scope::Gauge, shared.micrometres(), REGISTERED);
    Ok(Some((bare_model(repeatability, term, REGISTERED)?, true)))
}

/// Pooled where the lab has it, else of these readings.
fn spread_of_one_reading(gauged: &Gauged, spec: &GaugeSpec) -> Result<Option<Spread>, UncertaintyError> {
    if let Some(pooled) = spec.repeatability {
        return Spread::new(pooled.micrometres(), spec.repeatability_dof.unwrap_or(f64::INFINITY)).map(Some);
    }
    if gauged.readings.len() < 2 {
        return Ok(None);
    }
    let readings: Vec<f64> = gauged.readings.iter().map(|r| r.recession_um()).collect();
    let found = Spread::of_readings(&readings)?;
    // Readings that agree to the last digit still carry the resolution.
    let step = spec.resolution.map_or(0.0, Length::micrometres);
    let least = Shape::Resolution.standard_uncertainty(step)?;
    Spread::new(greater(found.standard_deviation(), least), found.degrees_of_freedom()).map(Some)
}

fn full_model(
    spec: &GaugeSpec,
    session: &GaugingSession,
    lines: &[GaugeLine],
    policy: &Policy,
) -> Result<Option<(GaugeModel, bool)>, UncertaintyError> {
    let mut model = match session.method.unwrap_or(spec.method) {
        GaugeMethod::ScrewOn => GaugeModel::typical_screw_on(1.0)?,
        GaugeMethod::PushOn => GaugeModel::typical_push_on(1.0)?,
        GaugeMethod::Caliper => GaugeModel::typical_caliper(1.0)?,
        GaugeMethod::GoNoGo | GaugeMethod::Eye => return Ok(None),
    };
    if let Some(pooled) = spec.repeatability {
        model.repeatability =
            Spread::new(pooled.micrometres(), spec.repeatability_dof.unwrap_or(f64::INFINITY))?;
        model.own_sources.push(("repeatability of the mean", REGISTERED.to_owned()));
    }
    if let Some(step) = spec.resolution {
        model.resolution = step.micrometres();
        model.own_sources.push(("resolution, reading", REGISTERED.to_owned()));
        model.own_sources.push(("resolution, zero", REGISTERED.to_owned()));
    }
    if let Some(shared) = spec.standard_uncertainty {
        model.terms.retain(|term| !REPLACED_BY_REGISTERED.contains(&term.name.as_str()));
        model.terms.insert(0, standard_term(AS_REGISTERED, Scope::Gauge, shared.micrometres(), REGISTERED));
    }
    if let Some(certified) = session.master_standard_uncertainty
        && let Some(term) = model.terms.iter_mut().find(|t| t.name == MASTER_CERTIFICATE)
    {
        let um = certified.micrometres();
        *term = standard_term(MASTER_CERTIFICATE, Scope::Master, um, "certificate of the master");
    }
    thermal(&mut model, session, policy);
    for line in lines {
        override_line(&mut model, line)?;
    }
    let certified = spec.standard_uncertainty.is_some()
        || lines.iter().any(|l| l.name == "gauge certificate" || l.name == AS_REGISTERED);
    Ok(Some((model, certified)))
}

/// The typical half-width is for 1 K; a recorded temperature further from the
/// lab's widens it in proportion.
fn thermal(model: &mut GaugeModel, session: &GaugingSession, policy: &Policy) {
    let Some(temperature) = session.temperature_c else { return };
    let kelvin = (temperature - policy.room_temperature_c).abs();
    if kelvin > 1.0
        && let Some(term) = model.terms.iter_mut().find(|t| t.name == "thermal expansion")
    {
        term.stated *= kelvin;
        term.source.push_str(", at the temperature recorded");
    }
}

fn override_line(model: &mut GaugeModel, line: &GaugeLine) -> Result<(), UncertaintyError> {
    let source = format!("the lab's own sheet: {}", line.because);
    match line.name.as_str() {
        "repeatability of the mean" => {
            model.repeatability = Spread::new(line.value_um, model.repeatability.degrees_of_freedom())?;
            model.own_sources.insert(0, ("repeatability of the mean", source));
        }
        "zero on the master" => {
            model.zero = Spread::new(line.value_um, model.zero.degrees_of_freedom())?;
            model.own_sources.insert(0, ("zero on the master", source));
        }
        "resolution" => {
            model.resolution = line.value_um;
            model.own_sources.insert(0, ("resolution, reading", source.clone()));
            model.own_sources.insert(0, ("resolution, zero", source));
        }
        "zero drift" => {
            model.drift = line.value_um;
            model.own_sources.insert(0, ("zero drift", source));
        }
        name => {
            let known = model.terms.iter().find(|t| t.name == name);
            let scope = known.map_or(Scope::Gauge, |t| t.scope);
            let term = standard_term(name, scope, line.value_um, &source);
            model.terms.retain(|t| t.name != name);
            model.terms.push(term);
        }
    }
    Ok(())
}
