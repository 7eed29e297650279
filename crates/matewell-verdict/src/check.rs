//! May I put this on that?

use crate::{
    answer::{
        Answer, Caution, EndJudgement, Finding, JointGap, MateCheck, Number, Origin, PinDecision, Standing,
        TorqueAdvice, Weight, worst_first,
    },
    book::{Book, PairKind, Policy},
    standing::{Known, SEED, finding, judge_end},
};
use matewell_lab::{EndId, EndRecord, Grade, ItemKind, Moment, Sex, Slots, ToolRecord};
use matewell_line::gap_reflection;
use matewell_quantity::{Frequency, Torque, lesser};
use matewell_uncertainty::{UncertaintyError, gauging::decide_pair};

/// A socket or pin that one of the two ends met lately.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Partner {
    /// Its label.
    pub tag: String,
    /// Its slots.
    pub slots: Slots,
    /// What it belongs to.
    pub kind: ItemKind,
    /// When they met.
    pub at: Moment,
}

/// A wrench of the lab.
#[derive(Debug, Clone, Copy)]
pub struct Tool<'a> {
    /// Its record at the moment judged.
    pub record: &'a ToolRecord,
}

/// The question, with everything that may be used to answer it.
#[derive(Debug, Clone, Copy)]
pub struct MateQuestion<'a> {
    /// One end.
    pub a: Known<'a>,
    /// The other end.
    pub b: Known<'a>,
    /// Frequency the joint is wanted for.
    pub frequency: Option<Frequency>,
    /// Wrenches of the lab.
    pub wrenches: &'a [Tool<'a>],
    /// The wrench in hand, if one was named.
    pub wrench_in_hand: Option<Tool<'a>>,
    /// Calibration standards that `a` and `b` met within the last day.
    pub lately: &'a [Partner],
}

/// Judges two ends before they touch. All reasons are given.
///
/// # Errors
///
/// Only for numbers that are not finite, which constructors exclude.
pub fn mate_check(question: &MateQuestion<'_>, book: &Book<'_>) -> Result<MateCheck, UncertaintyError> {
    let policy = book.policy();
    let a = judge_end(&question.a, book)?;
    let b = judge_end(&question.b, book)?;
    let (record_a, record_b) = (question.a.record, question.b.record);
    let mut pair = Vec::new();
    same_end(record_a, record_b, &mut pair);
    sexes(record_a, record_b, &mut pair);
    let rule = fit(record_a, record_b, &a, &b, book, &mut pair);
    impedances(record_a, record_b, rule, book, &mut pair);
    grades(record_a, record_b, &mut pair);
    slots(question, &mut pair);
    let gap = joint_gap(question, &a, &b, book, &policy, &mut pair)?;
    let usable_up_to = band(question, &a, &b, book, &mut pair);
    let torque = torque(question, book, &policy, &mut pair);
    wrench_in_hand(question, &torque, &policy, &mut pair);

    let shown_by_gap = gap.as_ref().is_some_and(|g| g.interference_probability <= policy.protrusion_risk);
    let mut findings = pair;
    for judgement in [&a, &b] {
        findings.extend(judgement.findings.iter().cloned().map(|f| in_this_pair(f, shown_by_gap)));
    }
    worst_first(&mut findings);
    Ok(MateCheck {
        answer: answer_of(&findings),
        at: record_a.at,
        frequency: question.frequency,
        hold_still: hold_still(record_a, record_b),
        cautions: cautions(record_a, record_b, book),
        a,
        b,
        findings,
        gap,
        usable_up_to,
        torque,
    })
}

fn answer_of(findings: &[Finding]) -> Answer {
    match findings.iter().map(|f| f.weight).max() {
        Some(Weight::Forbids) => Answer::Stop,
        Some(Weight::Open) => Answer::Undecided,
        Some(Weight::Care) => Answer::GoWithCare,
        Some(Weight::Note) | None => Answer::Go,
    }
}

/// A pin that is not shown safe alone may be shown safe with this partner: the
/// sum of both recessions decides whether they collide.
fn in_this_pair(mut found: Finding, shown_by_gap: bool) -> Finding {
    if shown_by_gap
        && matches!(found.code, "pin-not-shown-safe" | "gauge-cannot-decide")
        && found.weight == Weight::Open
    {
        found.weight = Weight::Care;
        found.text.push_str(" With this partner the joint gap is shown positive.");
    }
    found
}

fn same_end(a: &EndRecord, b: &EndRecord, pair: &mut Vec<Finding>) {
    if a.end.id == b.end.id {
        pair.push(
            finding("same-end", Weight::Forbids, "Both labels name the same end.")
                .remedy("Scan the other end."),
        );
    }
    for (record, other) in [(a, b), (b, a)] {
        if let Some((partner, _)) = record.mated_with
            && partner != other.end.id
        {
            pair.push(finding(
                "not-parted-on-record",
                Weight::Note,
                format!("On record {} is still mated with another end.", record.end.tag),
            ));
        }
    }
}

fn sexes(a: &EndRecord, b: &EndRecord, pair: &mut Vec<Finding>) {
    if a.end.sex == b.end.sex && a.end.sex != Sex::Neutral {
        let word = a.end.sex.word();
        pair.push(
            finding("same-sex", Weight::Forbids, format!("Both ends are {word}s: they do not mate."))
                .remedy("Use an adapter between them."),
        );
    }
}

fn fit(
    a: &EndRecord,
    b: &EndRecord,
    judged_a: &EndJudgement,
    judged_b: &EndJudgement,
    book: &Book<'_>,
    pair: &mut Vec<Finding>,
) -> PairKind {
    let rule = book.pair(&a.end.interface, a.end.sex, &b.end.interface, b.end.sex);
    let names = format!("{} on {}", book.name(&a.end.interface), book.name(&b.end.interface));
    let said = rule.text.clone().unwrap_or_default();
    match rule.kind {
        PairKind::Allowed => {}
        PairKind::AllowedIfGauged => {
            let unshown: Vec<&str> = [(a, judged_a), (b, judged_b)]
                .iter()
                .filter(|(_, j)| j.pin.decision != PinDecision::ShownSafe)
                .map(|(r, _)| r.end.tag.as_str())
                .collect();
            if unshown.is_empty() {
                pair.push(finding(
                    "fits-because-gauged",
                    Weight::Care,
                    format!("{names}: allowed because both are gauged. {said}"),
                ));
            } else {
                pair.push(
                    finding(
                        "must-be-gauged",
                        Weight::Open,
                        format!(
                            "{names} is allowed only if both pins are shown safe; not shown: {}. {said}",
                            unshown.join(", ")
                        ),
                    )
                    .remedy(format!("Gauge {}.", unshown.join(" and "))),
                );
            }
        }
        PairKind::ByWaiver => pair.push(
            finding("by-waiver", Weight::Open, format!("{names} needs a waiver. {said}"))
                .remedy("An override with a name and a reason."),
        ),
        PairKind::Never => pair.push(
            finding("does-not-fit", Weight::Forbids, format!("{names}: never. {said}"))
                .remedy("Use an adapter made for this pair."),
        ),
        PairKind::Unknown => pair.push(
            finding("no-pair-rule", Weight::Open, format!("No rule on record says whether {names} fit."))
                .remedy("Add the pair to the lab's own sheet file with a source."),
        ),
    }
    if let (Some(last), Some(origin)) = (pair.last_mut(), rule.origin)
        && rule.kind != PairKind::Allowed
    {
        last.origins.push(origin);
    }
    rule.kind
}

fn impedances(a: &EndRecord, b: &EndRecord, rule: PairKind, book: &Book<'_>, pair: &mut Vec<Finding>) {
    let (Some(x), Some(y)) = (book.interface(&a.end.interface), book.interface(&b.end.interface)) else {
        return;
    };
    let (Some(za), Some(zb)) = (x.impedance_ohm, y.impedance_ohm) else { return };
    let reflection = ((za - zb) / (za + zb)).abs();
    if reflection > 1e-6 {
        let weight = if rule == PairKind::Never { Weight::Forbids } else { Weight::Care };
        pair.push(finding(
            "impedances-differ",
            weight,
            format!("{za} Ω meets {zb} Ω: |Γ| = {reflection:.2} at the joint, whatever its state."),
        ));
    }
}

fn grades(a: &EndRecord, b: &EndRecord, pair: &mut Vec<Finding>) {
    for (fine, coarse) in [(a, b), (b, a)] {
        if fine.end.grade == Grade::Metrology
            && matches!(coarse.end.grade, Grade::Production | Grade::Unknown)
        {
            pair.push(
                finding(
                    "coarse-on-fine",
                    Weight::Care,
                    format!(
                        "{} is metrology grade and {} is {} grade: its tolerances may wear the finer one.",
                        fine.end.tag,
                        coarse.end.tag,
                        coarse.end.grade.word()
                    ),
                )
                .remedy("Put an adapter of the better grade between them."),
            );
        }
    }
}

/// Slotted and slotless sockets in one calibration: an error of the order of
/// the stated uncertainty.
fn slots(question: &MateQuestion<'_>, pair: &mut Vec<Finding>) {
    for record in [question.a.record, question.b.record] {
        let mine = record.end.slots;
        if mine == Slots::Unknown || record.item.kind != ItemKind::CalibrationStandard {
            continue;
        }
        let other = question.lately.iter().find(|p| {
            p.kind == ItemKind::CalibrationStandard
                && p.slots != Slots::Unknown
                && p.slots != mine
                && p.tag != record.end.tag
        });
        if let Some(other) = other {
            pair.push(
                finding(
                    "slots-mixed",
                    Weight::Care,
                    format!(
                        "{} is {} and {} used here within a day is {}: mixing them in one calibration biases it.",
                        record.end.tag,
                        mine.word(),
                        other.tag,
                        other.slots.word()
                    ),
                )
                .origin(Origin {
                    source: "metrologia-2023-slotted-n".to_owned(),
                    locator: "doi 10.1088/1681-7575/acff73, abstract".to_owned(),
                    evidence: "published".to_owned(),
                }),
            );
        }
    }
}

fn joint_gap(
    question: &MateQuestion<'_>,
    a: &EndJudgement,
    b: &EndJudgement,
    book: &Book<'_>,
    policy: &Policy,
    pair: &mut Vec<Finding>,
) -> Result<Option<JointGap>, UncertaintyError> {
    let (Some(one), Some(other)) = (&a.pin.recession_um, &b.pin.recession_um) else { return Ok(None) };
    let (gap, probability) = if one.variance() + other.variance() > 0.0 {
        // What both gaugings share, the gauge above all, counts twice.
        let pair = decide_pair(&one.scaled(-1.0)?, &other.scaled(-1.0)?, policy.protrusion_risk)?;
        (pair.gap, pair.probability_of_interference)
    } else {
        let gap = one.plus(other)?;
        let presses = gap.value() < 0.0;
        (gap, if presses { 1.0 } else { 0.0 })
    };
    let number = |name, value, unit, u| Number {
        name,
        value,
        unit,
        standard_uncertainty: u,
        no_uncertainty_because: if u.is_none() {
            Some("follows from the gap and its uncertainty")
        } else {
            None
        },
        origin: Origin {
            source: "lab".to_owned(),
            locator: "both gaugings".to_owned(),
            evidence: "lab record".to_owned(),
        },
    };
    let numbers = [
        number("joint_gap", gap.value(), "um", Some(gap.standard_uncertainty())),
        number("interference_probability", probability, "1", None),
    ];
    let with_numbers = |mut f: Finding| {
        f.numbers.extend(numbers.iter().cloned());
        f.origins.push(policy.risk_origin.clone());
        f
    };
    if gap.value() < 0.0 {
        pair.push(with_numbers(
            finding(
                "pins-collide",
                Weight::Forbids,
                format!("The centre contacts would press on each other by {:.0} µm.", -gap.value()),
            )
            .remedy("Do not mate this pair."),
        ));
    } else if probability > policy.protrusion_risk {
        pair.push(with_numbers(
            finding(
                "gap-not-shown",
                Weight::Open,
                format!(
                    "Joint gap {:.1} µm, but the chance of interference is {:.1} %.",
                    gap.value(),
                    100.0 * probability
                ),
            )
            .remedy("More readings, a better gauge, or another partner."),
        ));
    } else if gap.value() < policy.smallest_gap_um
        && (question.a.record.end.grade == Grade::Metrology
            || question.b.record.end.grade == Grade::Metrology)
    {
        pair.push(with_numbers(
            finding(
                "gap-very-small",
                Weight::Care,
                format!("Joint gap {:.1} µm: a very small gap is not stable in metrology work; flush is not the ideal.", gap.value()),
            )
            .origin(policy.gap_origin.clone()),
        ));
    }
    let reflection = reflection(question, &gap, book, policy, pair);
    Ok(Some(JointGap { gap_um: gap, interference_probability: probability, reflection }))
}

fn reflection(
    question: &MateQuestion<'_>,
    gap: &matewell_uncertainty::Estimate,
    book: &Book<'_>,
    policy: &Policy,
    pair: &mut Vec<Finding>,
) -> Option<(f64, f64)> {
    let at = question.frequency?;
    if gap.value() <= 0.0 {
        return None;
    }
    let joint = [question.a.record, question.b.record]
        .iter()
        .find_map(|r| book.interface(&r.end.interface).and_then(|i| i.joint()))?;
    let metres =
        matewell_line::Uncertain::<matewell_quantity::Length>::from_estimate(gap.scaled(1e-6).ok()?).ok()?;
    let answer = gap_reflection(&joint, metres, at, SEED).ok()?;
    let (magnitude, u) = (answer.value.magnitude.value(), answer.value.magnitude.standard_uncertainty());
    if policy.reflection_need.is_some_and(|need| magnitude > need) {
        pair.push(
            finding(
                "gap-reflects",
                Weight::Care,
                format!("The gap reflects |Γ| = {magnitude:.4} at {at}, more than the lab's need."),
            )
            .origin(policy.need_origin.clone()),
        );
    }
    Some((magnitude, u))
}

fn band(
    question: &MateQuestion<'_>,
    a: &EndJudgement,
    b: &EndJudgement,
    book: &Book<'_>,
    pair: &mut Vec<Finding>,
) -> Option<Frequency> {
    let rule = book.pair(
        &question.a.record.end.interface,
        question.a.record.end.sex,
        &question.b.record.end.interface,
        question.b.record.end.sex,
    );
    let rated = |record: &EndRecord| book.interface(&record.end.interface).and_then(|i| i.rated);
    let limits =
        [a.usable_up_to, b.usable_up_to, rated(question.a.record), rated(question.b.record), rule.upper];
    let lowest = limits.iter().flatten().map(|f| f.hertz()).reduce(lesser)?;
    let upper = Frequency::from_hertz(lowest).ok()?;
    if let Some(asked) = question.frequency
        && asked > upper
    {
        pair.push(finding(
            "above-usable-band",
            Weight::Care,
            format!("Asked for {asked}; this pair is good up to {upper}."),
        ));
    }
    Some(upper)
}

fn torque(
    question: &MateQuestion<'_>,
    book: &Book<'_>,
    policy: &Policy,
    pair: &mut Vec<Finding>,
) -> TorqueAdvice {
    let mut advice = TorqueAdvice {
        torque: None,
        limited_by: None,
        text: String::new(),
        origins: Vec::new(),
        wrenches: Vec::new(),
    };
    let mut weakest: Option<(Torque, EndId, String, Origin)> = None;
    for record in [question.a.record, question.b.record] {
        let rows = book.torques(&record.end.interface, record.end.body);
        if rows.no_torque {
            advice.text.push_str("This coupling takes no torque wrench.");
            return advice;
        }
        if rows.rows.len() > 1 {
            let both: Vec<String> = rows.rows.iter().map(|(t, o)| format!("{t} ({})", o.source)).collect();
            advice.text = format!(
                "Sources disagree for {}: {}. Choose one in the lab's own sheet file.",
                record.end.tag,
                both.join(", ")
            );
            advice.origins = rows.rows.into_iter().map(|(_, o)| o).collect();
            pair.push(finding("torque-sources-disagree", Weight::Care, advice.text.clone()));
            return advice;
        }
        let Some((value, origin)) = rows.rows.into_iter().next() else {
            advice.text = format!("No torque is on record for {}.", record.end.tag);
            pair.push(finding("torque-unknown", Weight::Care, advice.text.clone()).remedy(
                "Enter the maker's torque with its source in the lab's own sheet file, or the body material.",
            ));
            return advice;
        };
        if weakest.as_ref().is_none_or(|(t, ..)| value < *t) {
            weakest = Some((value, record.end.id, record.end.tag.clone(), origin));
        }
    }
    if let Some((value, end, tag, origin)) = weakest {
        advice.text = format!("{value}, the weaker partner's ({tag}).");
        advice.torque = Some(value);
        advice.limited_by = Some(end);
        advice.origins.push(origin);
        advice.wrenches = question
            .wrenches
            .iter()
            .filter(|t| wrench_trouble(t.record, value, question.a.record.at, policy).is_none())
            .map(|t| (t.record.item.id, t.record.item.tag.clone()))
            .collect();
        if advice.wrenches.is_empty() {
            pair.push(
                finding(
                    "no-wrench",
                    Weight::Care,
                    format!("No wrench on record is in date and set to {value}."),
                )
                .remedy("Check or register one."),
            );
        }
    }
    advice
}

/// Why a wrench must not be used for this torque, if so.
fn wrench_trouble(wrench: &ToolRecord, torque: Torque, at: Moment, policy: &Policy) -> Option<String> {
    let tag = &wrench.item.tag;
    let Some(spec) = wrench.item.wrench.as_ref() else {
        return Some(format!("{tag} is not a torque wrench."));
    };
    if wrench.retired.is_some() {
        return Some(format!("{tag} is retired."));
    }
    // 8 in·lbf is 0.4 % off 0.9 N·m, and both name the same wrench: set points
    // are compared within the wrench's own permissible deviation.
    let off = (spec.set_point.newton_metres() / torque.newton_metres() - 1.0).abs();
    if off > spec.tolerance {
        return Some(format!("{tag} is set to {}, wanted is {torque}.", spec.set_point));
    }
    match &wrench.last_check {
        None => Some(format!("{tag} was never checked.")),
        Some((_, _, check)) if !check.in_order() => Some(format!("{tag} was found out of order.")),
        Some((_, when, _)) if at.days_since(*when) > policy.wrench_every_days => Some(format!(
            "{tag} was checked {:.0} days ago; the policy allows {:.0}.",
            at.days_since(*when),
            policy.wrench_every_days
        )),
        Some(_) if wrench.uses_since_check >= policy.wrench_every_uses => Some(format!(
            "{tag} has {} uses since its check; the policy allows {}.",
            wrench.uses_since_check, policy.wrench_every_uses
        )),
        Some(_) => None,
    }
}

fn wrench_in_hand(
    question: &MateQuestion<'_>,
    advice: &TorqueAdvice,
    policy: &Policy,
    pair: &mut Vec<Finding>,
) {
    let (Some(tool), Some(torque)) = (question.wrench_in_hand, advice.torque) else { return };
    let Some(text) = wrench_trouble(tool.record, torque, question.a.record.at, policy) else { return };
    let too_strong = tool
        .record
        .item
        .wrench
        .as_ref()
        .is_some_and(|s| s.set_point.newton_metres() > torque.newton_metres() * (1.0 + s.tolerance));
    let weight = if too_strong { Weight::Forbids } else { Weight::Open };
    let instead = if advice.wrenches.is_empty() {
        "Take a wrench that is in date and set to it.".to_owned()
    } else {
        format!("Take {}.", advice.wrenches.iter().map(|w| w.1.as_str()).collect::<Vec<_>>().join(" or "))
    };
    pair.push(finding("wrong-wrench", weight, text).remedy(instead).origin(policy.wrench_origin.clone()));
}

fn hold_still(a: &EndRecord, b: &EndRecord) -> String {
    match (a.end.sex, b.end.sex) {
        (Sex::Pin, Sex::Socket) => turn(&a.end.tag, &b.end.tag),
        (Sex::Socket, Sex::Pin) => turn(&b.end.tag, &a.end.tag),
        _ => "Hold both bodies still; turn only the coupling nut. The contacts never rotate against each other.".to_owned(),
    }
}

fn turn(pin: &str, socket: &str) -> String {
    format!(
        "Hold {socket} and the body of {pin} still; turn only the nut of {pin}. The contacts never rotate against each other."
    )
}

fn cautions(a: &EndRecord, b: &EndRecord, book: &Book<'_>) -> Vec<Caution> {
    let mut codes = Vec::new();
    if a.end.rf_live || b.end.rf_live {
        codes.push("rf-power");
    }
    if a.end.static_sensitive || b.end.static_sensitive {
        codes.push("static");
    }
    if a.end.biased || b.end.biased {
        codes.push("bias");
    }
    let mut cautions: Vec<Caution> =
        codes.into_iter().map(|code| Caution { code: code.to_owned(), text: book.caution(code) }).collect();
    if let (Some(x), Some(y)) = (&a.item.cost, &b.item.cost)
        && x.currency == y.currency
        && (x.hundredths >= 3 * y.hundredths.max(1) || y.hundredths >= 3 * x.hundredths.max(1))
    {
        let dear = if x.hundredths > y.hundredths { a } else { b };
        cautions.push(Caution {
            code: "expensive-side".to_owned(),
            text: format!("{} is the expensive side: it is the one to protect.", dear.end.tag),
        });
    }
    cautions
}

impl MateCheck {
    /// Codes of the findings that keep the answer from being go.
    #[must_use]
    pub fn refusing_codes(&self) -> Vec<&'static str> {
        self.findings.iter().filter(|f| f.weight >= Weight::Open).map(|f| f.code).collect()
    }

    /// Whether logging a mate on this answer needs an override.
    #[must_use]
    pub fn needs_override(&self) -> bool {
        self.answer >= Answer::Undecided
            || self.a.standing >= Standing::DoNotMate
            || self.b.standing >= Standing::DoNotMate
    }
}
