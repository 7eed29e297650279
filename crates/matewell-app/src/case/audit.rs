//! The record of a case by the clauses that ask for it.
//!
//! ISO/IEC 17025:2017 asks in 6.4.9 what happens to equipment that may not be
//! used, in 6.4.4 that it is verified before it is used again, and in 7.10 how
//! nonconforming work is handled. The headings are ours.

use super::load::LoadedCase;
use matewell_wire::{CaseDecisionJson, CaseEndJson, CaseRecordLineJson, CaseResultJson, moment_text};

fn line(clause: &str, heading: &str, lines: Vec<String>) -> CaseRecordLineJson {
    CaseRecordLineJson {
        clause: clause.to_owned(),
        heading: heading.to_owned(),
        complete: !lines.is_empty(),
        lines,
    }
}

fn decided(what: &str, decision: &CaseDecisionJson) -> String {
    let until = decision.until.as_ref().map(|until| format!(" until {until}")).unwrap_or_default();
    let evidence = decision.evidence.as_ref().map(|fact| format!(" (fact {fact})")).unwrap_or_default();
    format!(
        "{what}: {}{until}{evidence}, {} by {}: {}",
        decision.disposition, decision.at, decision.person, decision.because
    )
}

pub(crate) fn record(
    loaded: &LoadedCase,
    work: &[CaseEndJson],
    results: &[CaseResultJson],
) -> Vec<CaseRecordLineJson> {
    let case = &loaded.record;
    let found = |line: &CaseEndJson| format!("{} was found bad.", line.tag);
    let held = work.iter().filter(|w| w.held).map(|w| format!("{} is held.", w.tag)).collect::<Vec<_>>();
    let taken_out = if held.is_empty() && case.opened.holds.is_empty() { Vec::new() } else { held };
    let of_results = |words: &[&str]| {
        results
            .iter()
            .filter_map(|r| Some((r, r.decision.as_ref()?)))
            .filter(|(_, d)| words.contains(&d.disposition.as_str()))
            .map(|(r, d)| decided(&r.uri, d))
            .collect::<Vec<_>>()
    };
    let effect: Vec<String> = if results.is_empty() {
        vec!["No result on record went through an end while it was exposed.".to_owned()]
    } else {
        results
            .iter()
            .map(|r| {
                let state = if r.decision.is_some() { "decided" } else { "not decided yet" };
                format!("{} ({}, through {}): {state}.", r.uri, r.at, r.through.join(", "))
            })
            .collect()
    };
    let verified = work
        .iter()
        .filter_map(|w| Some((w, w.decision.as_ref()?)))
        .filter(|(_, d)| d.disposition == "cleared")
        .map(|(w, d)| decided(&w.tag, d))
        .collect();
    let kept_out = work
        .iter()
        .filter_map(|w| Some((w, w.decision.as_ref()?)))
        .filter(|(_, d)| d.disposition != "cleared")
        .map(|(w, d)| decided(&w.tag, d))
        .collect();
    let mut opened = vec![format!(
        "Opened {} by {}: {}",
        moment_text(case.opened_at),
        case.opened_by,
        case.opened.because
    )];
    opened.extend(work.iter().filter(|w| w.found_bad).map(found));
    vec![
        line("6.4.9", "What was found, by whom", opened),
        line("6.4.9", "Kept out of use", taken_out),
        line("6.4.9", "What it reached and could mean for earlier results", effect),
        line("6.4.4", "Verified before use", verified),
        line("7.10.1", "Damaged, or left as it is until a date", kept_out),
        line("7.10.1", "Results that stand, and why", of_results(&["no-effect"])),
        line("7.10.1", "Measured again, and who is told", of_results(&["re-measure", "notify"])),
        line(
            "7.10.1",
            "Work may go on",
            (case.closed.iter())
                .map(|c| format!("{} by {}: {}", moment_text(c.at), c.person, c.because))
                .collect(),
        ),
        line(
            "7.10.2",
            "Where the record is kept",
            vec![format!(
                "Facts of the lab, each linked to the one before it; this case is fact {}.",
                case.case
            )],
        ),
    ]
}
