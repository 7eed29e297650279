//! Standing of one end at a moment.

use crate::{
    answer::{
        EndJudgement, Finding, Number, Origin, PinDecision, PinKnowledge, Standing, Weight, worst_first,
    },
    book::{Book, Policy},
    digits::{chance, length, not_shown_safe, over},
    gauging::coarse_method,
    pin::pin_knowledge,
    session::{dielectric_findings, session_findings},
};
use matewell_lab::{EndId, EndRecord, FactId, Grade, InspectionOnRecord, Moment, Sex, ToolRecord};
use matewell_line::{UsableLimits, gap_usable_up_to};
use matewell_quantity::Frequency;
use matewell_uncertainty::{
    UncertaintyError,
    gauging::{RecessionOutcome, RecessionRule, decide_recession},
};

/// Seed of the Monte Carlo runs inside judgements. Fixed, so that the same
/// facts give the same answer for ever.
pub(crate) const SEED: u64 = 0x4d61_7465;

/// An end that touched something bad and was not cleared since.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exposure {
    /// The end found bad.
    pub from: EndId,
    /// Its label.
    pub from_tag: String,
    /// When the exposure arrived here.
    pub arrived_at: Moment,
    /// Contacts between the two, at least.
    pub hops: u32,
    /// The fact that found the source bad.
    pub found_by: FactId,
}

/// Everything known about an end that its judgement may use.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// Its record at the moment judged.
    pub record: &'a EndRecord,
    /// The gauge of its last gauging, at the moment of that gauging.
    pub gauge: Option<&'a ToolRecord>,
    /// Exposures not cleared.
    pub exposures: &'a [Exposure],
}

/// Judges one end. All findings are returned, not only the worst.
///
/// # Errors
///
/// Only for numbers that are not finite, which constructors exclude.
pub fn judge_end(known: &Known<'_>, book: &Book<'_>) -> Result<EndJudgement, UncertaintyError> {
    let policy = book.policy();
    let record = known.record;
    let pin = pin_knowledge(record.last_gauging.as_ref(), known.gauge, book, &policy)?;
    let mut findings = Vec::new();
    retired_and_held(record, &mut findings);
    mated_while_held(record, &mut findings);
    damage(record, &mut findings);
    exposed(known, &mut findings);
    pin_findings(record, known.gauge, &pin, (book, &policy), &mut findings);
    age(record, &policy, &mut findings);
    cleanliness(record, &policy, &mut findings);
    life(record, book, &mut findings);
    let usable_up_to = usable_band(record, &pin, book, &policy, &mut findings);
    for finding in &mut findings {
        finding.end = Some(record.end.id);
    }
    worst_first(&mut findings);
    Ok(EndJudgement {
        end: record.end.id,
        at: record.at,
        standing: standing_of(record, &findings),
        findings,
        usable_up_to,
        pin,
        sheets_revision: book.revision(),
    })
}

fn standing_of(record: &EndRecord, findings: &[Finding]) -> Standing {
    if record.retired.is_some() {
        return Standing::Retired;
    }
    match findings.iter().map(|f| f.weight).max() {
        Some(Weight::Forbids) => Standing::DoNotMate,
        Some(Weight::Open) => Standing::Undecided,
        Some(Weight::Care) => Standing::UsableWithLimits,
        Some(Weight::Note) | None => Standing::Usable,
    }
}

pub(crate) fn finding(code: &'static str, weight: Weight, text: impl Into<String>) -> Finding {
    Finding {
        code,
        weight,
        text: text.into(),
        remedy: None,
        end: None,
        numbers: Vec::new(),
        facts: Vec::new(),
        origins: Vec::new(),
    }
}

impl Finding {
    pub(crate) fn remedy(mut self, text: impl Into<String>) -> Self {
        self.remedy = Some(text.into());
        self
    }

    pub(crate) fn fact(mut self, fact: FactId) -> Self {
        self.facts.push(fact);
        self
    }

    pub(crate) fn number(mut self, number: Number) -> Self {
        self.numbers.push(number);
        self
    }

    pub(crate) fn origin(mut self, origin: Origin) -> Self {
        self.origins.push(origin);
        self
    }
}

fn from_fact(fact: FactId) -> Origin {
    Origin { source: "fact".to_owned(), locator: fact.to_string(), evidence: "lab record".to_owned() }
}

fn counted(name: &'static str, count: u32) -> Number {
    Number {
        name,
        value: f64::from(count),
        unit: "1",
        standard_uncertainty: None,
        no_uncertainty_because: Some("counted from the facts"),
        origin: Origin {
            source: "lab".to_owned(),
            locator: "facts of this end".to_owned(),
            evidence: "lab record".to_owned(),
        },
    }
}

fn retired_and_held(record: &EndRecord, findings: &mut Vec<Finding>) {
    if let Some((_, because)) = &record.retired {
        findings.push(finding("retired", Weight::Forbids, format!("Retired: {because}")));
    }
    for hold in &record.open_holds {
        let mut held = finding("held", Weight::Forbids, format!("Held: {}", hold.because))
            .remedy("A verification (look, gauging) and a release with a reason.")
            .fact(hold.fact);
        if let Some((release, _, person)) = &hold.released_apart {
            held.text.push_str(&format!(
                " {person} released the end later without knowing of this hold: does that hold for it too?"
            ));
            held.facts.push(*release);
        }
        findings.push(held);
    }
}

/// A mate of a held end: said of the end until a person releases it.
fn mated_while_held(record: &EndRecord, findings: &mut Vec<Finding>) {
    let mates = &record.mated_while_held;
    let Some(last) = mates.last() else { return };
    let times = if mates.len() == 1 { "once".to_owned() } else { format!("{} times", mates.len()) };
    let mut alarm = finding(
        "mated-while-held",
        Weight::Forbids,
        format!("Mated {times} while held: what it was held for may have passed on."),
    )
    .remedy("Look at both ends, then trace from it: what it met is exposed, which is not damaged.");
    alarm.facts = mates.iter().map(|m| m.fact).collect();
    if let Some(hold) = record.open_holds.iter().rev().find(|h| h.at <= last.at) {
        alarm.facts.push(hold.fact);
    }
    findings.push(alarm);
}

fn seen_words(seen: &InspectionOnRecord) -> String {
    if seen.seen.is_empty() { "no words given".to_owned() } else { seen.seen.join(", ") }
}

fn damage(record: &EndRecord, findings: &mut Vec<Finding>) {
    for seen in &record.open_damage {
        findings.push(
            finding("damaged", Weight::Forbids, format!("Damage was seen: {}. Do not mate or gauge it.", seen_words(seen)))
                .remedy("Retire it, or have the contact replaced by a licensed workshop and gauge it; a release needs a reason.")
                .fact(seen.fact),
        );
    }
}

fn exposed(known: &Known<'_>, findings: &mut Vec<Finding>) {
    for exposure in known.exposures {
        let hops = if exposure.hops == 1 {
            "directly".to_owned()
        } else {
            format!("through {} contacts", exposure.hops)
        };
        let days = known.record.at.days_since(exposure.arrived_at);
        let ago = match days {
            d if d < 1.0 => "within the last day".to_owned(),
            d if d < 2.0 => "1 day ago".to_owned(),
            d => format!("{:.0} days ago", d.floor()),
        };
        findings.push(
            finding(
                "exposed",
                Weight::Open,
                format!(
                    "Exposed {ago}: it touched {} {hops}, which was found bad. Exposed is not damaged.",
                    exposure.from_tag
                ),
            )
            .remedy("Look, clean, look, gauge: a good gauging clears it from then on.")
            .number(Number {
                name: "exposed_for",
                value: days,
                unit: "d",
                standard_uncertainty: None,
                no_uncertainty_because: Some("a difference of two moments on record"),
                origin: from_fact(exposure.found_by),
            })
            .fact(exposure.found_by),
        );
    }
}

fn pin_findings(
    record: &EndRecord,
    gauge: Option<&ToolRecord>,
    pin: &PinKnowledge,
    (book, policy): (&Book<'_>, &Policy),
    findings: &mut Vec<Finding>,
) {
    let Some(gauging) = &record.last_gauging else {
        let text = if record.replaced.is_some() {
            "Not gauged since the contact was made anew."
        } else {
            "Never gauged: the pin depth is unknown."
        };
        findings.push(
            finding("never-gauged", Weight::Open, text)
                .remedy(format!("Look, clean, look, then gauge it: at least {} readings.", policy.readings)),
        );
        return;
    };
    let recession = pin.recession_um.as_ref().map(|estimate| Number {
        name: "recession",
        value: estimate.value(),
        unit: "um",
        standard_uncertainty: Some(estimate.standard_uncertainty()).filter(|u| *u > 0.0),
        no_uncertainty_because: (estimate.standard_uncertainty() <= 0.0)
            .then_some("none on record for this gauge"),
        origin: from_fact(gauging.fact),
    });
    let risk = pin.protrusion_probability.map(|p| Number {
        name: "protrusion_probability",
        value: p,
        unit: "1",
        standard_uncertainty: None,
        no_uncertainty_because: Some("follows from the recession and its uncertainty"),
        origin: from_fact(gauging.fact),
    });
    let with_numbers = |mut f: Finding| {
        f.numbers.extend(recession.clone());
        f.numbers.extend(risk.clone());
        f.facts.push(gauging.fact);
        f.origins.push(policy.risk_origin.clone());
        f
    };
    let um = pin.recession_um.as_ref().map_or(0.0, |e| e.value().abs());
    let percent = pin.protrusion_probability.map(chance);
    match pin.decision {
        PinDecision::Out => findings.push(with_numbers(
            finding("pin-protrudes", Weight::Forbids, format!("The pin protrudes by {}: it ruins what it meets.", length(um)))
                .remedy("Hold it, and trace what it touched. Retire it or have it replaced by a licensed workshop."),
        )),
        PinDecision::ShownSafe => findings.push(with_numbers(finding(
            "pin-shown-safe",
            Weight::Note,
            format!(
                "The pin is recessed by {um:.1} µm and shown not to protrude{}.",
                percent.map(|chance| format!(" (chance {chance})")).unwrap_or_default()
            ),
        ))),
        PinDecision::NotShownSafe if pin.is_void() => findings.push(with_numbers(
            finding("session-void", Weight::Open, "The zero moved during the gauging: it says nothing.")
                .remedy("Zero the gauge on its master again and gauge again."),
        )),
        PinDecision::NotShownSafe => {
            let remedy = pin.readings_needed.map_or_else(
                || "More readings, a better gauge, or a partner whose joint gap is shown positive.".to_owned(),
                |n| format!("{n} readings in all would decide if the mean stays; or a partner whose joint gap is shown positive."),
            );
            findings.push(with_numbers(
                finding(
                    "pin-not-shown-safe",
                    Weight::Open,
                    not_shown_safe(um, pin.protrusion_probability, policy.protrusion_risk),
                )
                .remedy(remedy),
            ));
        }
        PinDecision::GaugeCannotDecide if coarse_method(&gauging.gauged, gauge).is_some() => {
            findings.push(with_numbers(
                finding(
                    "gauge-cannot-decide",
                    Weight::Open,
                    "A go/no-go block or the eye shows only what is grossly wrong: it cannot show a pin safe.",
                )
                .remedy("Gauge it with a gauge that has its uncertainty on record."),
            ));
        }
        PinDecision::GaugeCannotDecide => findings.push(with_numbers(
            finding(
                "gauge-cannot-decide",
                Weight::Open,
                format!("Recessed by {um:.1} µm: so near the plane that this gauge cannot decide, however many readings."),
            )
            .remedy("A gauge with a smaller uncertainty, or a partner whose joint gap is shown positive."),
        )),
        PinDecision::Unknown => findings.push(with_numbers(
            finding("no-uncertainty", Weight::Open, "Gauged, but without an uncertainty on record: the reading decides nothing.")
                .remedy("Enter the gauge's standard uncertainty, or gauge with one that has it."),
        )),
    }
    session_findings(gauging, pin, policy, findings);
    dielectric_findings(record, book, findings);
    if gauging.gauged.recessions_um().iter().any(|r| *r < 0.0) && pin.decision != PinDecision::Out {
        findings.push(
            finding(
                "reading-protrudes",
                Weight::Open,
                "One of the readings protrudes. It is not averaged away.",
            )
            .remedy("Clean, look and gauge again.")
            .fact(gauging.fact),
        );
    }
    if gauging.gauged.readings.len() < policy.readings as usize {
        findings.push(
            finding(
                "few-readings",
                Weight::Care,
                format!(
                    "{} of at least {} readings were taken.",
                    gauging.gauged.readings.len(),
                    policy.readings
                ),
            )
            .remedy("Take the missing readings, re-seated and turned.")
            .origin(policy.readings_origin.clone()),
        );
    }
    if let Some(off) = gauging.gauged.session.as_ref().and_then(|s| s.gauge_off.as_ref()) {
        let by = off.reads_more_recessed.micrometres();
        let word = if by < 0.0 { "protruding" } else { "recessed" };
        let mut found = finding(
            "gauge-was-off",
            Weight::Note,
            format!(
                "The gauge read {:.1} µm too far {word} then; that is taken out of the readings.",
                by.abs()
            ),
        );
        found.facts.extend(off.found_by);
        findings.push(found.fact(gauging.fact));
    }
    if let Some((fact, _, check)) = gauge.and_then(|g| g.last_check.as_ref())
        && !check.in_order()
    {
        findings.push(
            finding("gauge-not-in-order", Weight::Open, "The gauge used was found out of order.")
                .remedy("Gauge again with one that is in order.")
                .fact(*fact),
        );
    }
}

fn age(record: &EndRecord, policy: &Policy, findings: &mut Vec<Finding>) {
    let Some(gauging) = &record.last_gauging else { return };
    if record.contacts_since_gauging >= policy.gauge_every_contacts {
        findings.push(
            finding(
                "gauging-due-by-contacts",
                Weight::Open,
                format!(
                    "{} contacts since the last gauging; the policy allows {}.",
                    record.contacts_since_gauging, policy.gauge_every_contacts
                ),
            )
            .remedy("Gauge it.")
            .number(counted("contacts_since_gauging", record.contacts_since_gauging))
            .fact(gauging.fact)
            .origin(policy.contacts_origin.clone()),
        );
    }
    let days = record.at.days_since(gauging.at);
    if days > policy.gauge_every_days {
        findings.push(
            finding(
                "gauging-due-by-time",
                Weight::Open,
                format!("Gauged {days:.0} days ago; the policy allows {:.0}.", policy.gauge_every_days),
            )
            .remedy("Gauge it.")
            .fact(gauging.fact)
            .origin(policy.days_origin.clone()),
        );
    }
}

fn cleanliness(record: &EndRecord, policy: &Policy, findings: &mut Vec<Finding>) {
    if let Some(dirt) = &record.open_dirt {
        findings.push(
            finding(
                "dirty",
                Weight::Open,
                format!("Dirt was seen and not cleaned since: {}.", seen_words(dirt)),
            )
            .remedy("Clean it and look again.")
            .fact(dirt.fact),
        );
    }
    let looked_since_contact = record.contacts_since_clean == 0 && record.last_inspection.is_some();
    let looked_lately =
        record.last_inspection.as_ref().is_some_and(|i| record.at.days_since(i.at) <= policy.look_every_days);
    if !(looked_since_contact && looked_lately) {
        findings.push(
            finding(
                "look-first",
                Weight::Note,
                "Look at it before it touches anything; clean it if in doubt.",
            )
            .origin(policy.look_origin.clone()),
        );
    }
}

fn life(record: &EndRecord, book: &Book<'_>, findings: &mut Vec<Finding>) {
    let Some((rated, origin)) = book.rated_mates(&record.end.interface) else { return };
    if record.contacts >= rated {
        findings.push(
            finding(
                "rated-life-reached",
                Weight::Care,
                format!(
                    "{} contacts; the interface is rated for {rated}. Rated is not worn: gauge and watch it.",
                    record.contacts
                ),
            )
            .number(counted("contacts", record.contacts))
            .origin(origin),
        );
    }
}

/// The frequency up to which the recession alone keeps the predicted
/// reflection below the lab's need, for a partner that is flush.
fn usable_band(
    record: &EndRecord,
    pin: &PinKnowledge,
    book: &Book<'_>,
    policy: &Policy,
    findings: &mut Vec<Finding>,
) -> Option<Frequency> {
    let interface = book.interface(&record.end.interface);
    let Some(interface) = interface else {
        findings.push(
            finding(
                "no-sheet",
                Weight::Open,
                format!("There is no data sheet for \"{}\".", record.end.interface),
            )
            .remedy("Add it to the lab's own sheet file with a source."),
        );
        return None;
    };
    if record.end.grade == Grade::Unknown {
        findings.push(finding(
            "grade-unknown",
            Weight::Note,
            "Its grade is not on record: no grade limit can be shown.",
        ));
    }
    if record.end.sex == Sex::Neutral && !interface.neutral {
        findings.push(
            finding("sex-unknown", Weight::Open, "Its sex is not on record.")
                .remedy("Correct the registration."),
        );
    }
    limit_notes(record, pin, book, findings);
    let rated = interface.rated;
    let recession = pin.recession_um.as_ref().filter(|r| r.value() > 0.0)?;
    let (Some(joint), Some(need)) = (interface.joint(), policy.reflection_need) else { return rated };
    let metres = recession.scaled(1e-6).ok()?;
    let gap = matewell_line::Uncertain::<matewell_quantity::Length>::from_estimate(metres).ok()?;
    let answer = gap_usable_up_to(&joint, gap, UsableLimits { need, rated }, SEED).ok()?;
    let frequency = answer.value.prudent;
    if rated.is_some_and(|r| frequency < r) {
        findings.push(
            finding(
                "recess-limits-band",
                Weight::Care,
                format!(
                    "Recessed by {:.0} µm: the predicted reflection stays below {need} up to {frequency}.",
                    recession.value()
                ),
            )
            .number(Number {
                name: "usable_up_to",
                value: answer.value.frequency_hz.value(),
                unit: "Hz",
                standard_uncertainty: Some(answer.value.frequency_hz.standard_uncertainty()),
                no_uncertainty_because: None,
                origin: policy.need_origin.clone(),
            }),
        );
    }
    Some(frequency)
}

/// Recession against the limits of the sheets, by shared risk: recession costs
/// signal, not parts. Limits from memory only note; limits that were read are
/// minded. Protrusion is not their business.
fn limit_notes(record: &EndRecord, pin: &PinKnowledge, book: &Book<'_>, findings: &mut Vec<Finding>) {
    let Some(recession) = pin.recession_um.as_ref().filter(|r| r.value() >= 0.0) else { return };
    for limit in book.recession_limits(&record.end.interface, record.end.sex, record.end.grade) {
        let position = recession.scaled(-1.0);
        let Ok(decision) =
            position.and_then(|p| decide_recession(&p, -limit.most_recessed_um, RecessionRule::SharedRisk))
        else {
            continue;
        };
        if decision.outcome == RecessionOutcome::Beyond {
            let weight = if limit.verified { Weight::Care } else { Weight::Note };
            let chance = if limit.includes_uncertainty {
                "; that limit already includes a gauge's uncertainty, so none is added".to_owned()
            } else {
                format!("; chance {:.0} %", 100.0 * decision.probability_beyond)
            };
            let (value, most) = over(recession.value(), limit.most_recessed_um);
            findings.push(
                finding(
                    "recessed-beyond-limit",
                    weight,
                    format!(
                        "Recessed by {value} µm; {} gives at most {most} µm for this grade{}{chance}.",
                        limit.origin.source,
                        if limit.verified { "" } else { " (from memory, not verified)" }
                    ),
                )
                .origin(limit.origin.clone()),
            );
        }
    }
}
