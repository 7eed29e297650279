//! How a gauging session went: zero, order of work, tools in date, room,
//! dielectric. Gently: these are findings, never refusals.

use crate::{
    answer::{Finding, Number, Origin, PinDecision, PinKnowledge, Weight},
    book::{Book, Policy},
    standing::finding,
};
use matewell_lab::{EndRecord, GaugingOnRecord, InspectionOutcome, ItemKind, Moment, ToolRecord};
use matewell_uncertainty::gauging;

fn derived(name: &'static str, value: f64, unit: &'static str, fact: &GaugingOnRecord) -> Number {
    Number {
        name,
        value,
        unit,
        standard_uncertainty: None,
        no_uncertainty_because: Some("follows from the zero readings"),
        origin: Origin {
            source: "fact".to_owned(),
            locator: fact.fact.to_string(),
            evidence: "lab record".to_owned(),
        },
    }
}

/// What the zero, the readings and the room say about a session on record.
pub fn session_findings(
    gauging: &GaugingOnRecord,
    pin: &PinKnowledge,
    policy: &Policy,
    findings: &mut Vec<Finding>,
) {
    let session = gauging.gauged.session.as_deref();
    for noticed in &pin.noticed {
        match *noticed {
            gauging::Finding::ZeroMoved { moved, allowed } => findings.push(
                finding(
                    "zero-moved",
                    Weight::Open,
                    format!(
                        "The zero moved by {:.1} µm during the gauging; the policy allows {allowed:.1} µm. The session is void.",
                        moved.abs()
                    ),
                )
                .remedy("Find out why, zero the gauge on its master again and gauge again.")
                .number(derived("zero_moved", moved.abs(), "um", gauging))
                .number(derived("zero_move_allowed", allowed, "um", gauging))
                .fact(gauging.fact)
                .origin(policy.zero_drift_origin.clone()),
            ),
            gauging::Finding::ZeroNotCheckedAfter if session.is_some_and(|s| !s.zero_before.is_empty()) => {
                findings.push(
                    finding(
                        "zero-not-checked-after",
                        Weight::Care,
                        "The zero was not checked after the gauging: the gauge's usual drift stands in for it.",
                    )
                    .remedy("Check the zero on the gauge master after the readings too.")
                    .fact(gauging.fact)
                    .origin(policy.zero_readings_origin.clone()),
                );
            }
            gauging::Finding::SpreadTooLarge(p) if pin.decision != PinDecision::Out => findings.push(
                finding(
                    "readings-scatter",
                    Weight::Open,
                    format!("The readings scatter more than this gauge explains (chance {p:.1e})."),
                )
                .remedy("Clean, look and gauge again.")
                .fact(gauging.fact),
            ),
            _ => {}
        }
    }
    let Some(session) = session else { return };
    let few = |list: &[matewell_lab::PinPosition]| {
        !list.is_empty() && list.len() < usize::try_from(policy.zero_readings).unwrap_or(usize::MAX)
    };
    if few(&session.zero_before) || few(&session.zero_after) {
        findings.push(
            finding(
                "few-zero-readings",
                Weight::Note,
                format!(
                    "At least {} zero readings, re-seated, are wanted before and after.",
                    policy.zero_readings
                ),
            )
            .fact(gauging.fact)
            .origin(policy.zero_readings_origin.clone()),
        );
    }
    if let Some(temperature) = session.temperature_c
        && (temperature - policy.room_temperature_c).abs() > policy.room_temperature_within_k
    {
        findings.push(
            finding(
                "temperature-outside",
                Weight::Care,
                format!(
                    "Gauged at {temperature} °C; the policy says {} ± {} °C.",
                    policy.room_temperature_c, policy.room_temperature_within_k
                ),
            )
            .fact(gauging.fact)
            .origin(policy.temperature_origin.clone()),
        );
    }
}

/// The face of the dielectric against the limits of the sheets: a quantity of
/// its own, never mixed with the pin's.
pub(crate) fn dielectric_findings(record: &EndRecord, book: &Book<'_>, findings: &mut Vec<Finding>) {
    let Some(gauging) = &record.last_gauging else { return };
    let Some(session) = gauging.gauged.session.as_deref().filter(|s| !s.dielectric.is_empty()) else {
        return;
    };
    let sum: f64 = session.dielectric.iter().map(|p| p.recession_um()).sum();
    let mean = sum / session.dielectric.len() as f64;
    let word = if mean < 0.0 { "protrudes" } else { "is recessed" };
    for (least, most, origin) in
        book.dielectric_limits(&record.end.interface, record.end.sex, record.end.grade)
    {
        if mean < least || mean > most {
            findings.push(
                finding(
                    "dielectric-beyond-limit",
                    Weight::Care,
                    format!(
                        "The dielectric {word} by {:.0} µm; {} gives {least:.0} to {most:.0} µm recessed.",
                        mean.abs(),
                        origin.source
                    ),
                )
                .fact(gauging.fact)
                .origin(origin),
            );
        }
    }
}

/// What of look, clean, look, gauge is not on record for an end about to be
/// gauged. The lab's order, minded and never enforced.
#[must_use]
pub fn order_of_work(record: &EndRecord, policy: &Policy) -> Vec<Finding> {
    let mut findings = Vec::new();
    let looked = record.last_inspection.as_ref();
    let cleaned = record.last_cleaned;
    let touched = record.last_mate.map(|(_, at)| at);
    let since = |moment: Moment| touched.is_none_or(|t| t <= moment);
    if !record.open_damage.is_empty() {
        findings.push(
            finding("damaged", Weight::Forbids, "Damage was seen: do not gauge it, it may ruin the gauge.")
                .remedy("Retire it, or have the contact replaced by a licensed workshop."),
        );
    }
    if !looked.is_some_and(|l| since(l.at)) {
        findings.push(
            finding("look-before-gauging", Weight::Care, "Not looked at since it was last mated.")
                .remedy("Look at it under magnification before a gauge touches it.")
                .origin(policy.look_origin.clone()),
        );
    } else if looked.is_some_and(|l| l.outcome == InspectionOutcome::Dirty) && record.open_dirt.is_some() {
        findings.push(
            finding(
                "dirty",
                Weight::Care,
                "Dirt was seen and not cleaned since: the gauge would carry it on.",
            )
            .remedy("Clean it and look again."),
        );
    }
    if !cleaned.is_some_and(since) {
        findings.push(
            finding("clean-before-gauging", Weight::Note, "Not cleaned since it was last mated.")
                .remedy("Clean it and look again before gauging."),
        );
    } else if looked.zip(cleaned).is_none_or(|(l, c)| l.at < c) {
        findings.push(
            finding("look-after-cleaning", Weight::Note, "Not looked at since it was cleaned.")
                .remedy("Look again: cleaning can leave fibres."),
        );
    }
    findings
}

/// Why a gauge or a gauge master is not in date at a moment, if so. A
/// certificate that ran out, a check found out of order, or a zero check that
/// is too long ago; a tool nobody ever checked is not said to be out of date.
/// A master is in date as long as its certificate holds.
#[must_use]
pub fn tool_in_date(tool: &ToolRecord, at: Moment, policy: &Policy) -> Option<String> {
    let tag = &tool.item.tag;
    let is_gauge = tool.item.kind == ItemKind::Gauge;
    if let Some((_, _, certificate)) = &tool.last_certificate
        && certificate.valid_until.is_some_and(|until| until < at)
    {
        return Some(format!("The certificate {} of {tag} has run out.", certificate.document));
    }
    match &tool.last_check {
        Some((_, _, check)) if !check.in_order() => Some(format!("{tag} was found out of order.")),
        Some((_, when, _)) if is_gauge && at.days_since(*when) > policy.gauge_check_every_days => {
            Some(format!(
                "{tag} was checked {:.0} days ago; the policy allows {:.0}.",
                at.days_since(*when),
                policy.gauge_check_every_days
            ))
        }
        _ => None,
    }
}
