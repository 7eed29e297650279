//! What happened, to and from its payload.

use crate::{
    BodyJson, CaseChangedJson, CaseClosedJson, CaseOpenedJson, CertificateJson, CleanedJson, CorrectedJson,
    CorrectionJson, EndDisposedJson, EndJson, FollowedUpJson, GaugeZeroJson, GaugedJson, HeldJson,
    InspectedJson, ItemJson, KitMadeJson, LengthJson, MatedJson, OverriddenJson, PartedJson, PinPositionJson,
    RecordError, RefusedJson, RegisteredJson, ReleasedJson, ReplacedJson, ResultDisposedJson,
    ResultNotedJson, RetiredJson, StoredJson, ToolCheckJson, ToolCheckedJson, WrenchCheckJson,
    case::one_subject,
    gauging::{session, session_json},
    kit, look,
    moment::{moment_from_text, moment_text},
    policy,
    quantity::finite,
    sweep,
};
use matewell_lab::{
    Certificate, Corrected, Correction, Fact, FactBody, FollowedUp, GaugeZero, Gauged, Held, Inspected,
    InspectionOutcome, KitMade, Mated, Overridden, Parted, PinPosition, Refused, Registered, Released,
    Replaced, ResultNoted, Retired, Stored, Subject, ToolCheck, ToolChecked, TorqueRanges, WrenchCheck,
    kind_word,
};
use matewell_quantity::{Frequency, Torque};
use serde::{Serialize, de::DeserializeOwned};
use serde_json::value::RawValue;

/// A correction of a correction is already rare; reading recurses once per
/// level, so a limit keeps a hostile file from exhausting the stack.
pub const DEEPEST_CORRECTION: usize = 8;

/// The JSON of what happened, without its kind. The same body gives the same
/// bytes for ever: fields in the order of their declaration, no spaces.
///
/// # Errors
///
/// [`RecordError::NotFinite`] and [`RecordError::MomentOutOfRange`] for what
/// JSON and RFC 3339 cannot write, [`RecordError::Lab`] for a pin position
/// with a sign, [`RecordError::NestedTooDeep`].
pub fn payload_of(body: &FactBody) -> Result<String, RecordError> {
    payload_at(body, 0)
}

/// What happened, from its kind and its JSON.
///
/// # Errors
///
/// [`RecordError::UnknownKind`], [`RecordError::Json`] with line and column
/// for a shape that does not fit, and the errors of the values inside.
pub fn body_from(kind: &str, payload: &str) -> Result<FactBody, RecordError> {
    body_at(kind, payload, 0)
}

/// Whether a fact can be written down at all; what [`payload_of`] does not
/// see, the moments of the fact, included.
///
/// # Errors
///
/// As [`payload_of`].
pub fn check_moments(fact: &Fact) -> Result<(), RecordError> {
    moment_text(fact.happened_at)?;
    moment_text(fact.recorded_at)?;
    Ok(())
}

fn payload_at(body: &FactBody, depth: usize) -> Result<String, RecordError> {
    let kind = kind_word(body);
    match body {
        FactBody::Registered(r) => text(
            kind,
            &RegisteredJson { item: ItemJson::of(&r.item)?, ends: r.ends.iter().map(EndJson::of).collect() },
        ),
        FactBody::Inspected(i) => text(
            kind,
            &InspectedJson {
                end: i.end,
                outcome: i.outcome.word().to_owned(),
                seen: i.seen.clone(),
                magnification: i.magnification.map(|m| finite("magnification", m)).transpose()?,
                marks: i.marks.iter().map(look::mark_json).collect(),
                photo: i.photo.as_ref().map(look::photo_json),
            },
        ),
        FactBody::Gauged(g) => text(
            kind,
            &GaugedJson {
                end: g.end,
                gauge: g.gauge,
                readings: g.readings.iter().copied().map(PinPositionJson::of).collect::<Result<_, _>>()?,
                stated_standard_uncertainty: LengthJson::of_option(g.stated_standard_uncertainty)?,
                session: g.session.as_deref().map(session_json).transpose()?,
            },
        ),
        FactBody::Cleaned { end, method } => text(kind, &CleanedJson { end: *end, method: method.clone() }),
        FactBody::Mated(m) => {
            text(kind, &MatedJson { a: m.a, b: m.b, wrench: m.wrench, overridden: m.overridden })
        }
        FactBody::Parted(p) => text(kind, &PartedJson { a: p.a, b: p.b }),
        FactBody::Stored(s) => {
            text(kind, &StoredJson { item: s.item, place: s.place.clone(), capped: s.capped })
        }
        FactBody::ToolChecked(t) => {
            text(kind, &ToolCheckedJson { tool: t.tool, check: tool_check_json(&t.check)? })
        }
        FactBody::Held(h) => text(kind, &HeldJson { end: h.end, because: h.because.clone() }),
        FactBody::Released(r) => text(
            kind,
            &ReleasedJson {
                end: r.end,
                because: r.because.clone(),
                evidence: r.evidence,
                lifts: r.lifts.clone(),
            },
        ),
        FactBody::Retired(r) => {
            let (end, item) = match r.subject {
                Subject::End(end) => (Some(end), None),
                Subject::Item(item) => (None, Some(item)),
            };
            text(kind, &RetiredJson { end, item, because: r.because.clone() })
        }
        FactBody::Replaced(r) => text(kind, &ReplacedJson { end: r.end, because: r.because.clone() }),
        FactBody::Refused(r) => text(
            kind,
            &RefusedJson {
                a: r.a,
                b: r.b,
                answer: r.answer.clone(),
                findings: r.findings.clone(),
                frequency_hz: r.frequency.map(Frequency::hertz),
            },
        ),
        FactBody::Overridden(o) => text(
            kind,
            &OverriddenJson {
                a: o.a,
                b: o.b,
                refused: o.refused,
                because: o.because.clone(),
                follow_up: o.follow_up.clone(),
            },
        ),
        FactBody::FollowedUp(f) => text(kind, &FollowedUpJson { fact: f.fact, done: f.done.clone() }),
        FactBody::Corrected(c) => text(
            kind,
            &CorrectedJson {
                fact: c.fact,
                correction: correction_json(&c.correction, depth)?,
                because: c.because.clone(),
            },
        ),
        FactBody::ResultNoted(r) => text(
            kind,
            &ResultNotedJson {
                uri: r.uri.clone(),
                sha256: r.sha256.clone(),
                device: r.device.clone(),
                chain: r.chain.clone(),
            },
        ),
        FactBody::SweepNoted(s) => text(kind, &sweep::noted_json(s)),
        FactBody::SweepJudged(s) => text(kind, &sweep::judged_json(s)),
        FactBody::CaseOpened(c) => text(kind, &CaseOpenedJson::of(c)?),
        FactBody::CaseChanged(c) => text(kind, &CaseChangedJson::of(c)?),
        FactBody::EndDisposed(d) => text(kind, &EndDisposedJson::of(d)?),
        FactBody::ResultDisposed(d) => text(kind, &ResultDisposedJson::of(d)),
        FactBody::CaseClosed(c) => text(kind, &CaseClosedJson::of(c)),
        FactBody::KitMade(k) => text(kind, &KitMadeJson { kit: k.kit, pieces: k.pieces.clone() }),
        FactBody::KitChecked(k) => text(kind, &kit::checked_json(k)),
        FactBody::Reserved(r) => text(kind, &kit::reserved_json(r)?),
        FactBody::PolicyTakenUp(p) => text(kind, &policy::taken_up_json(p)),
    }
}

fn tool_check_json(check: &ToolCheck) -> Result<ToolCheckJson, RecordError> {
    Ok(match check {
        ToolCheck::GaugeZero(z) => ToolCheckJson::GaugeZero(GaugeZeroJson {
            reads_more_recessed: LengthJson::of(z.reads_more_recessed)?,
            in_order: z.in_order,
        }),
        ToolCheck::Wrench(w) => ToolCheckJson::Wrench(WrenchCheckJson {
            set_point_n_m: w.set_point.newton_metres(),
            readings_n_m: w.readings.iter().map(|r| r.newton_metres()).collect(),
            reproducibility_n_m: w.ranges.reproducibility.map(Torque::newton_metres),
            output_drive_n_m: w.ranges.output_drive.map(Torque::newton_metres),
            interface_n_m: w.ranges.interface.map(Torque::newton_metres),
            loading_point_n_m: w.ranges.loading_point.map(Torque::newton_metres),
            in_order: w.in_order,
        }),
        ToolCheck::Certificate(c) => ToolCheckJson::Certificate(CertificateJson {
            document: c.document.clone(),
            in_order: c.in_order,
            valid_until: c.valid_until.map(moment_text).transpose()?,
            position: c.position.map(PinPositionJson::of).transpose()?,
            standard_uncertainty: LengthJson::of_option(c.standard_uncertainty)?,
        }),
    })
}

fn correction_json(correction: &Correction, depth: usize) -> Result<CorrectionJson, RecordError> {
    Ok(match correction {
        Correction::Void => CorrectionJson::Void,
        Correction::HappenedAt(moment) => CorrectionJson::HappenedAt(moment_text(*moment)?),
        Correction::Body(body) => {
            let depth = one_deeper(depth)?;
            let kind = kind_word(body).to_owned();
            let payload = RawValue::from_string(payload_at(body, depth)?)
                .map_err(|source| RecordError::Json { kind: kind.clone(), source })?;
            CorrectionJson::Body(BodyJson { kind, payload })
        }
    })
}

fn body_at(kind: &str, payload: &str, depth: usize) -> Result<FactBody, RecordError> {
    Ok(match kind {
        "registered" => {
            let json: RegisteredJson = read(kind, payload)?;
            FactBody::Registered(Box::new(Registered {
                item: json.item.item()?,
                ends: json.ends.into_iter().map(EndJson::end).collect::<Result<_, _>>()?,
            }))
        }
        "inspected" => {
            let json: InspectedJson = read(kind, payload)?;
            FactBody::Inspected(Inspected {
                end: json.end,
                outcome: InspectionOutcome::from_word(&json.outcome)?,
                seen: json.seen,
                magnification: json.magnification,
                marks: json.marks.into_iter().map(look::mark).collect::<Result<_, _>>()?,
                photo: json.photo.as_ref().map(look::photo).transpose()?,
            })
        }
        "gauged" => {
            let json: GaugedJson = read(kind, payload)?;
            FactBody::Gauged(Gauged {
                end: json.end,
                gauge: json.gauge,
                readings: json
                    .readings
                    .iter()
                    .map(PinPositionJson::position)
                    .collect::<Result<Vec<PinPosition>, _>>()?,
                stated_standard_uncertainty: LengthJson::length_option(json.stated_standard_uncertainty)?,
                session: json.session.map(session).transpose()?.map(Box::new),
            })
        }
        "cleaned" => {
            let json: CleanedJson = read(kind, payload)?;
            FactBody::Cleaned { end: json.end, method: json.method }
        }
        "mated" => {
            let json: MatedJson = read(kind, payload)?;
            FactBody::Mated(Mated { a: json.a, b: json.b, wrench: json.wrench, overridden: json.overridden })
        }
        "parted" => {
            let json: PartedJson = read(kind, payload)?;
            FactBody::Parted(Parted { a: json.a, b: json.b })
        }
        "stored" => {
            let json: StoredJson = read(kind, payload)?;
            FactBody::Stored(Stored { item: json.item, place: json.place, capped: json.capped })
        }
        "tool-checked" => {
            let json: ToolCheckedJson = read(kind, payload)?;
            FactBody::ToolChecked(ToolChecked { tool: json.tool, check: tool_check(json.check)? })
        }
        "held" => {
            let json: HeldJson = read(kind, payload)?;
            FactBody::Held(Held { end: json.end, because: json.because })
        }
        "released" => {
            let json: ReleasedJson = read(kind, payload)?;
            FactBody::Released(Released {
                end: json.end,
                because: json.because,
                evidence: json.evidence,
                lifts: json.lifts,
            })
        }
        "retired" => {
            let json: RetiredJson = read(kind, payload)?;
            let subject = one_subject(json.end, json.item)?;
            FactBody::Retired(Retired { subject, because: json.because })
        }
        "replaced" => {
            let json: ReplacedJson = read(kind, payload)?;
            FactBody::Replaced(Replaced { end: json.end, because: json.because })
        }
        "refused" => {
            let json: RefusedJson = read(kind, payload)?;
            FactBody::Refused(Refused {
                a: json.a,
                b: json.b,
                answer: json.answer,
                findings: json.findings,
                frequency: json.frequency_hz.map(Frequency::from_hertz).transpose()?,
            })
        }
        "overridden" => {
            let json: OverriddenJson = read(kind, payload)?;
            FactBody::Overridden(Overridden {
                a: json.a,
                b: json.b,
                refused: json.refused,
                because: json.because,
                follow_up: json.follow_up,
            })
        }
        "followed-up" => {
            let json: FollowedUpJson = read(kind, payload)?;
            FactBody::FollowedUp(FollowedUp { fact: json.fact, done: json.done })
        }
        "corrected" => {
            let json: CorrectedJson = read(kind, payload)?;
            FactBody::Corrected(Corrected {
                fact: json.fact,
                correction: correction(json.correction, depth)?,
                because: json.because,
            })
        }
        "result-noted" => {
            let json: ResultNotedJson = read(kind, payload)?;
            FactBody::ResultNoted(ResultNoted {
                uri: json.uri,
                sha256: json.sha256,
                device: json.device,
                chain: json.chain,
            })
        }
        "sweep-noted" => FactBody::SweepNoted(Box::new(sweep::noted(read(kind, payload)?)?)),
        "sweep-judged" => FactBody::SweepJudged(sweep::judged(read(kind, payload)?)),
        "case-opened" => FactBody::CaseOpened(Box::new(read::<CaseOpenedJson>(kind, payload)?.opened()?)),
        "case-changed" => FactBody::CaseChanged(Box::new(read::<CaseChangedJson>(kind, payload)?.changed()?)),
        "end-disposed" => FactBody::EndDisposed(read::<EndDisposedJson>(kind, payload)?.disposed()?),
        "result-disposed" => FactBody::ResultDisposed(read::<ResultDisposedJson>(kind, payload)?.disposed()?),
        "case-closed" => FactBody::CaseClosed(read::<CaseClosedJson>(kind, payload)?.closed()),
        "kit-made" => {
            let json: KitMadeJson = read(kind, payload)?;
            FactBody::KitMade(KitMade { kit: json.kit, pieces: json.pieces })
        }
        "kit-checked" => FactBody::KitChecked(kit::checked(read(kind, payload)?)?),
        "reserved" => FactBody::Reserved(kit::reserved(read(kind, payload)?)?),
        "policy-taken-up" => FactBody::PolicyTakenUp(Box::new(policy::taken_up(read(kind, payload)?))),
        other => return Err(RecordError::UnknownKind { found: other.chars().take(64).collect() }),
    })
}

fn tool_check(json: ToolCheckJson) -> Result<ToolCheck, RecordError> {
    Ok(match json {
        ToolCheckJson::GaugeZero(z) => ToolCheck::GaugeZero(GaugeZero {
            reads_more_recessed: z.reads_more_recessed.length()?,
            in_order: z.in_order,
        }),
        ToolCheckJson::Wrench(w) => ToolCheck::Wrench(WrenchCheck {
            set_point: Torque::from_newton_metres(w.set_point_n_m)?,
            readings: w.readings_n_m.into_iter().map(Torque::from_newton_metres).collect::<Result<_, _>>()?,
            ranges: TorqueRanges {
                reproducibility: w.reproducibility_n_m.map(Torque::from_newton_metres).transpose()?,
                output_drive: w.output_drive_n_m.map(Torque::from_newton_metres).transpose()?,
                interface: w.interface_n_m.map(Torque::from_newton_metres).transpose()?,
                loading_point: w.loading_point_n_m.map(Torque::from_newton_metres).transpose()?,
            },
            in_order: w.in_order,
        }),
        ToolCheckJson::Certificate(c) => ToolCheck::Certificate(Certificate {
            document: c.document,
            in_order: c.in_order,
            valid_until: c.valid_until.as_deref().map(moment_from_text).transpose()?,
            position: c.position.as_ref().map(PinPositionJson::position).transpose()?,
            standard_uncertainty: c.standard_uncertainty.map(LengthJson::length).transpose()?,
        }),
    })
}

fn correction(json: CorrectionJson, depth: usize) -> Result<Correction, RecordError> {
    Ok(match json {
        CorrectionJson::Void => Correction::Void,
        CorrectionJson::HappenedAt(text) => Correction::HappenedAt(moment_from_text(&text)?),
        CorrectionJson::Body(body) => {
            let depth = one_deeper(depth)?;
            Correction::Body(Box::new(body_at(&body.kind, body.payload.get(), depth)?))
        }
    })
}

fn one_deeper(depth: usize) -> Result<usize, RecordError> {
    if depth < DEEPEST_CORRECTION {
        Ok(depth + 1)
    } else {
        Err(RecordError::NestedTooDeep { limit: DEEPEST_CORRECTION })
    }
}

fn text(kind: &str, json: &impl Serialize) -> Result<String, RecordError> {
    serde_json::to_string(json).map_err(|source| RecordError::Json { kind: kind.to_owned(), source })
}

fn read<T: DeserializeOwned>(kind: &str, payload: &str) -> Result<T, RecordError> {
    serde_json::from_str(payload)
        .map_err(|source| RecordError::Json { kind: kind.chars().take(64).collect(), source })
}
