//! What is written is read back, for every kind of fact, to the last bit.

#![expect(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use matewell_lab::{
    Body, CaseChanged, CaseClosed, CaseOpened, CaseReach, CaseSource, CaseTool, Certificate, Corrected,
    Correction, Cost, End, EndDisposed, EndDisposition, EndId, FaceMark, FaceZone, Fact, FactBody, FactId,
    FactSource, FollowedUp, GaugeMethod, GaugeSpec, GaugeZero, Gauged, GaugingSession, Grade, Held,
    Inspected, InspectionOutcome, Item, ItemId, ItemKind, KitChecked, KitMade, LookPhoto, MachineId, Mated,
    Moment, OffsetTakenOut, Overridden, OwnPolicyValue, Parted, PhotoKind, PieceFound, PinPosition,
    PolicyTakenUp, PolicyValue, Refused, Registered, Released, Replaced, Reserved, Resolution,
    ResultDisposed, ResultDisposition, ResultNoted, Retired, Sex, Slots, Stored, Subject, SweepJudged,
    SweepNoted, Taint, ToolCheck, ToolChecked, TorqueRanges, Whereabouts, WrenchCheck, WrenchSpec, kind_word,
};
use matewell_quantity::{Frequency, Length, Torque};
use matewell_record::{
    DEEPEST_CORRECTION, EARLIEST_MICROSECONDS, FactJson, LATEST_MICROSECONDS, RecordError, body_from,
    payload_of,
};
use proptest::{collection::vec, option, prelude::*, sample::select};

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![any::<String>(), Just("\u{0}\"\\\n\u{2028}Ω µ".to_owned())]
}

fn moment() -> impl Strategy<Value = Moment> {
    (EARLIEST_MICROSECONDS..=LATEST_MICROSECONDS).prop_map(Moment::from_microseconds)
}

fn end_id() -> impl Strategy<Value = EndId> {
    any::<[u8; 16]>().prop_map(EndId::from_bytes)
}

fn item_id() -> impl Strategy<Value = ItemId> {
    any::<[u8; 16]>().prop_map(ItemId::from_bytes)
}

fn fact_id() -> impl Strategy<Value = FactId> {
    any::<[u8; 16]>().prop_map(FactId::from_bytes)
}

/// Any finite number whose micrometres are finite too.
fn length() -> impl Strategy<Value = Length> {
    prop_oneof![
        any::<f64>().prop_map(|v| if v.is_finite() { v % 1e300 } else { 0.0 }),
        -1e-3..1e-3_f64,
        (0..400).prop_map(|mils| f64::from(mils) * 0.1 * 25.4e-6),
    ]
    .prop_map(|metres| Length::from_metres(metres).unwrap())
}

fn number() -> impl Strategy<Value = f64> {
    any::<f64>().prop_filter("finite", |v| v.is_finite())
}

fn pin_position() -> impl Strategy<Value = PinPosition> {
    (length(), any::<bool>()).prop_map(|(length, out)| {
        let by = Length::from_metres(length.metres().abs()).unwrap();
        if out { PinPosition::protruding(by).unwrap() } else { PinPosition::recessed(by).unwrap() }
    })
}

fn torque() -> impl Strategy<Value = Torque> {
    number().prop_map(|v| Torque::from_newton_metres(v).unwrap())
}

fn extra() -> impl Strategy<Value = Vec<(String, String)>> {
    vec((any_text(), any_text()), 0..3)
}

fn item() -> impl Strategy<Value = Item> {
    let gauge = (
        any_text(),
        select(GaugeMethod::ALL),
        option::of(length()),
        option::of(length()),
        option::of(number()),
        option::of(length()),
        option::of(any_text()),
    )
        .prop_map(|(interface, method, standard_uncertainty, repeatability, dof, resolution, master)| {
            GaugeSpec {
                interface,
                method,
                standard_uncertainty,
                repeatability,
                repeatability_dof: dof,
                resolution,
                master,
            }
        });
    let wrench = (torque(), number()).prop_map(|(set_point, tolerance)| WrenchSpec { set_point, tolerance });
    let cost = (any::<i64>(), any_text()).prop_map(|(hundredths, currency)| Cost { hundredths, currency });
    (
        (item_id(), any_text(), select(ItemKind::ALL), any_text()),
        (option::of(any_text()), option::of(any_text()), option::of(any_text())),
        (option::of(cost), option::of(gauge), option::of(wrench), extra()),
    )
        .prop_map(
            |((id, tag, kind, description), (model, serial, location), (cost, gauge, wrench, extra))| Item {
                id,
                tag,
                kind,
                description,
                model,
                serial,
                location,
                cost,
                gauge,
                wrench,
                extra,
            },
        )
}

fn end() -> impl Strategy<Value = End> {
    (
        (end_id(), item_id(), any_text(), any_text()),
        (select(Sex::ALL), select(Grade::ALL), select(Body::ALL), select(Slots::ALL)),
        (any::<bool>(), any::<bool>(), any::<bool>(), extra()),
    )
        .prop_map(|((id, item, tag, interface), (sex, grade, body, slots), (esd, rf, bias, extra))| {
            End {
                id,
                item,
                tag,
                interface,
                sex,
                grade,
                body,
                slots,
                static_sensitive: esd,
                rf_live: rf,
                biased: bias,
                extra,
            }
        })
}

fn session() -> impl Strategy<Value = GaugingSession> {
    let off = (length(), option::of(length()), option::of(fact_id())).prop_map(
        |(reads_more_recessed, standard_uncertainty, found_by)| OffsetTakenOut {
            reads_more_recessed,
            standard_uncertainty,
            found_by,
        },
    );
    (
        (
            option::of(item_id()),
            option::of(pin_position()),
            option::of(length()),
            vec(pin_position(), 0..3),
            vec(pin_position(), 0..3),
        ),
        (
            vec(number(), 0..3),
            option::of(select(GaugeMethod::ALL)),
            option::of(number()),
            option::of(number()),
        ),
        (vec(pin_position(), 0..3), vec(any_text(), 0..2), option::of(off)),
    )
        .prop_map(
            |(
                (master, master_position, master_standard_uncertainty, zero_before, zero_after),
                (turned_deg, method, temperature_c, humidity_percent),
                (dielectric, sure, gauge_off),
            )| GaugingSession {
                master,
                master_position,
                master_standard_uncertainty,
                zero_before,
                zero_after,
                turned_deg,
                method,
                temperature_c,
                humidity_percent,
                dielectric,
                sure,
                gauge_off,
            },
        )
}

fn torque_ranges() -> impl Strategy<Value = TorqueRanges> {
    let range = || option::of(torque());
    (range(), range(), range(), range()).prop_map(
        |(reproducibility, output_drive, interface, loading_point)| TorqueRanges {
            reproducibility,
            output_drive,
            interface,
            loading_point,
        },
    )
}

fn tool_check() -> impl Strategy<Value = ToolCheck> {
    prop_oneof![
        (length(), any::<bool>()).prop_map(|(reads_more_recessed, in_order)| ToolCheck::GaugeZero(
            GaugeZero { reads_more_recessed, in_order }
        )),
        (torque(), vec(torque(), 0..4), torque_ranges(), any::<bool>()).prop_map(
            |(set_point, readings, ranges, in_order)| {
                ToolCheck::Wrench(WrenchCheck { set_point, readings, ranges, in_order })
            }
        ),
        (any_text(), any::<bool>(), option::of(moment()), option::of(pin_position()), option::of(length()))
            .prop_map(|(document, in_order, valid_until, position, standard_uncertainty)| {
                ToolCheck::Certificate(Certificate {
                    document,
                    in_order,
                    valid_until,
                    position,
                    standard_uncertainty,
                })
            }),
    ]
}

fn sweep_noted() -> impl Strategy<Value = FactBody> {
    (
        (vec(end_id(), 0..6), any::<u32>(), option::of(any_text()), option::of(any_text())),
        (option::of(any_text()), any::<bool>(), any_text(), any::<[u8; 32]>()),
        (any::<u64>(), any::<u32>(), any::<u32>(), number(), number()),
    )
        .prop_map(
            |(
                (chain, port, cable_shape, instrument),
                (layout, known_good, file_name, sha256),
                (bytes, ports, points, from, to),
            )| {
                FactBody::SweepNoted(Box::new(SweepNoted {
                    chain,
                    port,
                    cable_shape,
                    instrument,
                    layout,
                    known_good,
                    file_name,
                    sha256,
                    bytes,
                    ports,
                    points,
                    from: Frequency::from_hertz(from).unwrap(),
                    to: Frequency::from_hertz(to).unwrap(),
                }))
            },
        )
}

fn subject() -> impl Strategy<Value = Subject> {
    prop_oneof![end_id().prop_map(Subject::End), item_id().prop_map(Subject::Item)]
}

fn case_reach() -> impl Strategy<Value = CaseReach> {
    (subject(), moment(), option::of(moment()), any::<u32>())
        .prop_map(|(on, arrived_at, definite_at, hops)| CaseReach { on, arrived_at, definite_at, hops })
}

fn case_body() -> BoxedStrategy<FactBody> {
    let source = (end_id(), moment(), moment()).prop_map(|(end, last_known_good, first_evidence)| {
        CaseSource { end, last_known_good, first_evidence }
    });
    let tool = (item_id(), moment(), moment()).prop_map(|(tool, last_known_good, first_evidence)| CaseTool {
        tool,
        last_known_good,
        first_evidence,
    });
    let disposition = prop_oneof![
        fact_id().prop_map(|evidence| EndDisposition::Cleared { evidence }),
        Just(EndDisposition::Damaged),
        moment().prop_map(|until| EndDisposition::Waived { until }),
    ];
    prop_oneof![
        (
            (any_text(), any_text(), vec(source, 0..3), vec(tool, 0..3), select(Taint::ALL)),
            (vec(case_reach(), 0..3), vec(fact_id(), 0..3), vec(fact_id(), 0..3)),
        )
            .prop_map(|((name, because, sources, tools, taint), (reached, results, holds))| {
                FactBody::CaseOpened(Box::new(CaseOpened {
                    name,
                    because,
                    sources,
                    tools,
                    taint,
                    reached,
                    results,
                    holds,
                }))
            }),
        (
            (fact_id(), vec(case_reach(), 0..3), vec(fact_id(), 0..3)),
            (vec(end_id(), 0..3), vec(item_id(), 0..3), vec(fact_id(), 0..3), any_text()),
        )
            .prop_map(|((case, reached, results), (ends, items, holds, because))| {
                let set_aside =
                    ends.into_iter().map(Subject::End).chain(items.into_iter().map(Subject::Item)).collect();
                FactBody::CaseChanged(Box::new(CaseChanged {
                    case,
                    reached,
                    results,
                    set_aside,
                    holds,
                    because,
                }))
            }),
        (fact_id(), subject(), disposition, any_text()).prop_map(|(case, on, disposition, because)| {
            FactBody::EndDisposed(EndDisposed { case, on, disposition, because })
        }),
        (fact_id(), fact_id(), select(ResultDisposition::ALL), any_text()).prop_map(
            |(case, result, disposition, because)| {
                FactBody::ResultDisposed(ResultDisposed { case, result, disposition, because })
            }
        ),
        (fact_id(), any_text())
            .prop_map(|(case, because)| FactBody::CaseClosed(CaseClosed { case, because })),
    ]
    .boxed()
}

fn policy_body() -> impl Strategy<Value = FactBody> {
    let value = (any_text(), any_text()).prop_map(|(key, value)| PolicyValue { key, value });
    let own = (any_text(), any_text(), any_text()).prop_map(|(place, now, because)| OwnPolicyValue {
        place,
        now,
        because,
    });
    (any_text(), vec(value, 0..4), vec(own, 0..3)).prop_map(|(revision, values, own)| {
        FactBody::PolicyTakenUp(Box::new(PolicyTakenUp { revision, values, own }))
    })
}

fn kit_body() -> BoxedStrategy<FactBody> {
    let found = (item_id(), select(Whereabouts::ALL), option::of(any::<bool>()))
        .prop_map(|(piece, place, capped)| PieceFound { piece, place, capped });
    prop_oneof![
        (item_id(), vec(item_id(), 0..4))
            .prop_map(|(kit, pieces)| FactBody::KitMade(KitMade { kit, pieces })),
        (item_id(), vec(found, 0..4))
            .prop_map(|(kit, found)| FactBody::KitChecked(KitChecked { kit, found })),
        (item_id(), any_text(), moment(), moment())
            .prop_map(|(item, work, from, until)| FactBody::Reserved(Reserved { item, work, from, until })),
        policy_body(),
    ]
    .boxed()
}

fn face_mark() -> impl Strategy<Value = FaceMark> {
    (1_u8..=12, select(FaceZone::ALL), option::of(any_text())).prop_map(|(clock, zone, word)| FaceMark {
        clock,
        zone,
        word,
    })
}

fn look_photo() -> impl Strategy<Value = LookPhoto> {
    (select(PhotoKind::ALL), any::<[u8; 32]>(), any::<u64>()).prop_map(|(kind, sha256, bytes)| LookPhoto {
        kind,
        sha256,
        bytes,
    })
}

fn plain_body() -> BoxedStrategy<FactBody> {
    prop_oneof![
        case_body(),
        kit_body(),
        (item(), vec(end(), 0..3))
            .prop_map(|(item, ends)| FactBody::Registered(Box::new(Registered { item, ends }))),
        (
            end_id(),
            select(InspectionOutcome::ALL),
            vec(any_text(), 0..3),
            option::of(number()),
            vec(face_mark(), 0..3),
            option::of(look_photo()),
        )
            .prop_map(|(end, outcome, seen, magnification, marks, photo)| {
                FactBody::Inspected(Inspected { end, outcome, seen, magnification, marks, photo })
            }),
        (end_id(), option::of(item_id()), vec(pin_position(), 0..5), option::of(length())).prop_map(
            |(end, gauge, readings, stated)| FactBody::Gauged(Gauged {
                end,
                gauge,
                readings,
                stated_standard_uncertainty: stated,
                session: None,
            })
        ),
        (end_id(), vec(pin_position(), 1..4), session()).prop_map(|(end, readings, session)| {
            FactBody::Gauged(Gauged {
                end,
                gauge: None,
                readings,
                stated_standard_uncertainty: None,
                session: Some(Box::new(session)),
            })
        }),
        (end_id(), option::of(any_text())).prop_map(|(end, method)| FactBody::Cleaned { end, method }),
        (end_id(), end_id(), option::of(item_id()), option::of(fact_id()))
            .prop_map(|(a, b, wrench, overridden)| FactBody::Mated(Mated { a, b, wrench, overridden })),
        (end_id(), end_id()).prop_map(|(a, b)| FactBody::Parted(Parted { a, b })),
        (item_id(), any_text(), option::of(any::<bool>()))
            .prop_map(|(item, place, capped)| FactBody::Stored(Stored { item, place, capped })),
        (item_id(), tool_check())
            .prop_map(|(tool, check)| FactBody::ToolChecked(ToolChecked { tool, check })),
        (end_id(), any_text()).prop_map(|(end, because)| FactBody::Held(Held { end, because })),
        (end_id(), any_text(), option::of(fact_id()), vec(fact_id(), 0..3)).prop_map(
            |(end, because, evidence, lifts)| FactBody::Released(Released { end, because, evidence, lifts })
        ),
        (end_id(), item_id(), any::<bool>(), any_text()).prop_map(|(end, item, whole, because)| {
            let subject = if whole { Subject::Item(item) } else { Subject::End(end) };
            FactBody::Retired(Retired { subject, because })
        }),
        (end_id(), any_text()).prop_map(|(end, because)| FactBody::Replaced(Replaced { end, because })),
        (end_id(), end_id(), any_text(), vec(any_text(), 0..3), option::of(number())).prop_map(
            |(a, b, answer, findings, hertz)| FactBody::Refused(Refused {
                a,
                b,
                answer,
                findings,
                frequency: hertz.map(|v| Frequency::from_hertz(v).unwrap()),
            })
        ),
        (end_id(), end_id(), fact_id(), any_text(), any_text()).prop_map(
            |(a, b, refused, because, follow_up)| FactBody::Overridden(Overridden {
                a,
                b,
                refused,
                because,
                follow_up
            })
        ),
        (fact_id(), any_text()).prop_map(|(fact, done)| FactBody::FollowedUp(FollowedUp { fact, done })),
        (any_text(), option::of(any_text()), option::of(any_text()), vec(end_id(), 0..4)).prop_map(
            |(uri, sha256, device, chain)| FactBody::ResultNoted(ResultNoted { uri, sha256, device, chain })
        ),
        sweep_noted(),
        (fact_id(), fact_id(), any_text(), vec(end_id(), 0..4), any_text()).prop_map(
            |(sweep, baseline, finding, named, text)| FactBody::SweepJudged(SweepJudged {
                sweep,
                baseline,
                finding,
                named,
                text
            })
        ),
    ]
    .boxed()
}

fn body() -> impl Strategy<Value = FactBody> {
    plain_body().prop_recursive(3, 6, 1, |inner| {
        let correction = prop_oneof![
            Just(Correction::Void),
            moment().prop_map(Correction::HappenedAt),
            inner.prop_map(|body| Correction::Body(Box::new(body))),
        ];
        (fact_id(), correction, any_text())
            .prop_map(|(fact, correction, because)| {
                FactBody::Corrected(Corrected { fact, correction, because })
            })
            .boxed()
    })
}

fn fact() -> impl Strategy<Value = Fact> {
    (
        (fact_id(), any::<[u8; 16]>().prop_map(MachineId::from_bytes), moment(), any::<bool>()),
        (any::<u32>(), moment(), any_text()),
        (
            select(&[FactSource::Bench, FactSource::Import, FactSource::Program][..]),
            option::of(any_text()),
            body(),
        ),
    )
        .prop_map(
            |((id, machine, happened_at, day), (sequence, recorded_at, person), (source, note, body))| Fact {
                id,
                machine,
                happened_at,
                resolution: if day { Resolution::Day } else { Resolution::Instant },
                sequence,
                recorded_at,
                person,
                source,
                note,
                body,
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    /// `PartialEq` of numbers does not see the sign of zero and `Debug`
    /// does, so both are compared.
    #[test]
    fn a_fact_survives_its_written_form(fact in fact()) {
        let line = FactJson::of(&fact).unwrap().to_line().unwrap();
        prop_assert!(!line.contains('\n'));
        let read = FactJson::from_line(&line).unwrap().fact().unwrap();
        prop_assert_eq!(format!("{:?}", &read), format!("{:?}", &fact));
        prop_assert_eq!(&read, &fact);
        // The same body gives the same bytes again: a hash over them holds.
        prop_assert_eq!(payload_of(&read.body).unwrap(), payload_of(&fact.body).unwrap());
        let again = body_from(kind_word(&fact.body), &payload_of(&fact.body).unwrap()).unwrap();
        prop_assert_eq!(again, fact.body);
    }

    #[test]
    fn junk_never_panics(kind in any_text(), payload in any_text()) {
        let _ = body_from(&kind, &payload);
        let _ = body_from("mated", &payload);
        let _ = FactJson::from_line(&payload);
    }
}

#[test]
fn the_written_form_is_as_documented() {
    let end = EndId::from_bytes([0x11; 16]);
    let um = |v| Length::from_micrometres(v).unwrap();
    let gauged = FactBody::Gauged(Gauged {
        end,
        gauge: None,
        readings: vec![PinPosition::recessed(um(12.0)).unwrap(), PinPosition::protruding(um(3.5)).unwrap()],
        stated_standard_uncertainty: Some(um(1.2)),
        session: None,
    });
    assert_eq!(
        payload_of(&gauged).unwrap(),
        "{\"end\":\"11111111-1111-1111-1111-111111111111\",\"readings\":[{\"word\":\"recessed\",\"um\":12.0},\
         {\"word\":\"protruding\",\"um\":3.5}],\"stated_standard_uncertainty\":{\"um\":1.2}}"
    );
    let moved = FactBody::Corrected(Corrected {
        fact: FactId::from_bytes([0x22; 16]),
        correction: Correction::HappenedAt(Moment::from_microseconds(1)),
        because: "typed a day late".to_owned(),
    });
    assert_eq!(
        payload_of(&moved).unwrap(),
        "{\"fact\":\"22222222-2222-2222-2222-222222222222\",\"correction\":{\"happened_at\":\
         \"1970-01-01T00:00:00.000001Z\"},\"because\":\"typed a day late\"}"
    );
}

#[test]
fn the_facts_of_a_case_are_written_as_documented() {
    let (case, on) = (FactId::from_bytes([0x22; 16]), Subject::End(EndId::from_bytes([0x11; 16])));
    let disposed = |disposition| {
        let because = "looked at".to_owned();
        payload_of(&FactBody::EndDisposed(EndDisposed { case, on, disposition, because })).unwrap()
    };
    let start = "{\"case\":\"22222222-2222-2222-2222-222222222222\",\"end\":\"11111111-1111-1111-1111-111111111111\",\"disposition\":";
    assert_eq!(disposed(EndDisposition::Damaged), format!("{start}\"damaged\",\"because\":\"looked at\"}}"));
    assert_eq!(
        disposed(EndDisposition::Cleared { evidence: case }),
        format!(
            "{start}{{\"cleared\":\"22222222-2222-2222-2222-222222222222\"}},\"because\":\"looked at\"}}"
        )
    );
    let opened = "{\"name\":\"n\",\"because\":\"b\",\"sources\":[],\"taint\":\"rust\"}";
    let error = body_from("case-opened", opened).unwrap_err().to_string();
    assert!(error.contains("deformation, particles, residue, unknown") && error.contains("rust"), "{error}");
}

#[test]
fn a_field_nobody_knows_is_refused() {
    let known = "{\"end\":\"11111111-1111-1111-1111-111111111111\",\"because\":\"dropped\"}";
    assert!(body_from("held", known).is_ok());
    let unknown = known.replace('}', ",\"colour\":1}");
    let error = body_from("held", &unknown).unwrap_err().to_string();
    assert!(error.contains("held") && error.contains("colour"), "{error}");
    assert!(matches!(body_from("hold", known), Err(RecordError::UnknownKind { .. })));
    assert!(body_from("held", "{\"end\":\"11\",\"because\":\"dropped\"}").is_err());
    assert!(matches!(
        body_from("retired", "{\"because\":\"worn\"}"),
        Err(RecordError::OneSubject { found: "neither" })
    ));
}

#[test]
fn nothing_infinite_is_written() {
    let inspected = |magnification| {
        FactBody::Inspected(Inspected::plain(
            EndId::from_bytes([1; 16]),
            InspectionOutcome::Good,
            Vec::new(),
            Some(magnification),
        ))
    };
    assert!(payload_of(&inspected(10.0)).is_ok());
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(matches!(payload_of(&inspected(bad)), Err(RecordError::NotFinite { .. })));
    }
}

#[test]
fn another_version_is_refused() {
    let fact = Fact {
        id: FactId::from_bytes([1; 16]),
        machine: MachineId::from_bytes([2; 16]),
        happened_at: Moment::from_microseconds(0),
        resolution: Resolution::Instant,
        sequence: 0,
        recorded_at: Moment::from_microseconds(0),
        person: "vt".to_owned(),
        source: FactSource::Bench,
        note: None,
        body: FactBody::Cleaned { end: EndId::from_bytes([3; 16]), method: None },
    };
    let mut json = FactJson::of(&fact).unwrap();
    json.version = 2;
    assert!(matches!(json.fact(), Err(RecordError::UnknownVersion { expected: 1, found: 2 })));
}

#[test]
fn corrections_nest_only_so_deep() {
    let mut body = FactBody::Cleaned { end: EndId::from_bytes([3; 16]), method: None };
    for _ in 0..DEEPEST_CORRECTION {
        body = FactBody::Corrected(Corrected {
            fact: FactId::from_bytes([1; 16]),
            correction: Correction::Body(Box::new(body)),
            because: String::new(),
        });
    }
    let payload = payload_of(&body).unwrap();
    assert_eq!(body_from("corrected", &payload).unwrap(), body);
    let deeper = format!(
        "{{\"fact\":\"{}\",\"correction\":{{\"body\":{{\"kind\":\"corrected\",\"payload\":{payload}}}}},\"because\":\"\"}}",
        FactId::from_bytes([1; 16])
    );
    assert!(matches!(body_from("corrected", &deeper), Err(RecordError::NestedTooDeep { .. })));
}

#[test]
fn a_look_without_marks_and_photo_is_written_as_before() {
    let plain = Inspected::plain(
        EndId::from_bytes([1; 16]),
        InspectionOutcome::Dirty,
        vec!["lint".to_owned()],
        Some(7.0),
    );
    let before = concat!(
        r#"{"end":"01010101-0101-0101-0101-010101010101","outcome":"dirty","#,
        r#""seen":["lint"],"magnification":7.0}"#
    );
    assert_eq!(payload_of(&FactBody::Inspected(plain.clone())).unwrap(), before);
    assert_eq!(body_from("inspected", before).unwrap(), FactBody::Inspected(plain));
}

#[test]
fn a_mark_at_no_hour_of_the_clock_is_refused() {
    for clock in [0, 13] {
        let text = format!(
            r#"{{"end":"01010101-0101-0101-0101-010101010101","outcome":"good","marks":[{{"clock":{clock},"zone":"coupling"}}]}}"#
        );
        assert!(body_from("inspected", &text).is_err(), "{clock}");
    }
}
