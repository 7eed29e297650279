//! A fact as one sentence, for histories.

use matewell_lab::{
    CaseReach, Correction, EndDisposition, EndId, FaceMark, FactBody, PieceFound, Subject, ToolCheck,
    Whereabouts,
};
use matewell_wire::{Names, moment_text};

/// What happened, seen from `subject`.
pub(crate) fn of(body: &FactBody, subject: Subject, names: &dyn Names) -> String {
    let other = |a: EndId, b: EndId| names.end_tag(if subject == Subject::End(a) { b } else { a });
    match body {
        FactBody::Registered(r) => format!("Registered as {}.", r.item.tag),
        FactBody::Inspected(i) => {
            let words = if i.seen.is_empty() { String::new() } else { format!(": {}", i.seen.join(", ")) };
            let marks: Vec<String> = i.marks.iter().map(place).collect();
            let marks =
                if marks.is_empty() { String::new() } else { format!(" Marked {}.", marks.join(", ")) };
            let photo = if i.photo.is_some() { " With a photo." } else { "" };
            format!("Looked at: {}{words}.{marks}{photo}", i.outcome.word())
        }
        FactBody::Gauged(g) => {
            let readings: Vec<String> = g.readings.iter().map(ToString::to_string).collect();
            let gauge = g.gauge.map_or_else(|| "an unrecorded gauge".to_owned(), |id| names.item_tag(id));
            let session = g.session.as_deref();
            let master = session
                .and_then(|s| s.master)
                .map(|id| format!(" zeroed on {}", names.item_tag(id)))
                .unwrap_or_default();
            let off = session
                .and_then(|s| s.gauge_off.as_ref())
                .map(|o| {
                    let um = o.reads_more_recessed.micrometres();
                    let word = if um < 0.0 { "protruding" } else { "recessed" };
                    format!(" It read {:.1} µm too far {word} then.", um.abs())
                })
                .unwrap_or_default();
            format!("Gauged with {gauge}{master}: {}.{off}", readings.join("; "))
        }
        FactBody::Cleaned { method, .. } => match method {
            Some(method) => format!("Cleaned: {method}."),
            None => "Cleaned.".to_owned(),
        },
        FactBody::Mated(m) => {
            let wrench = m.wrench.map(|id| format!(" with {}", names.item_tag(id))).unwrap_or_default();
            let overridden = if m.overridden.is_some() { " under an override" } else { "" };
            format!("Mated with {}{wrench}{overridden}.", other(m.a, m.b))
        }
        FactBody::Parted(p) => format!("Parted from {}.", other(p.a, p.b)),
        FactBody::Stored(s) => {
            format!("Put away in {}{}.", s.place, caps(s.capped))
        }
        FactBody::ToolChecked(t) => of_check(&t.check),
        FactBody::Held(h) => format!("Held: {}.", h.because),
        FactBody::Released(r) => format!("Released: {}.", r.because),
        FactBody::Retired(r) => format!("Retired: {}.", r.because),
        FactBody::Replaced(r) => format!("Contact made anew: {}.", r.because),
        FactBody::Refused(r) => {
            format!("A mate with {} was refused: {}.", other(r.a, r.b), r.findings.join(", "))
        }
        FactBody::Overridden(o) => format!("Overridden for {}: {}.", other(o.a, o.b), o.because),
        FactBody::FollowedUp(f) => format!("Followed up: {}.", f.done),
        FactBody::Corrected(c) => {
            let what = match &c.correction {
                Correction::Void => "it did not happen".to_owned(),
                Correction::HappenedAt(at) => format!("it happened at {}", moment_text(*at)),
                Correction::Body(_) => "its content was wrong".to_owned(),
            };
            format!("Corrected an earlier fact: {what}. {}.", c.because)
        }
        FactBody::ResultNoted(r) => format!("Used for the result {}.", r.uri),
        FactBody::SweepNoted(s) => {
            let place = s.chain.iter().position(|end| subject == Subject::End(*end));
            let place = place.map(|k| format!(" as end {} of {}", k + 1, s.chain.len())).unwrap_or_default();
            let good = if s.known_good { "; the chain was taken as good" } else { "" };
            format!("Swept{place} in the chain of {}{good}.", s.file_name)
        }
        FactBody::SweepJudged(s) => format!("A comparison of sweeps, for information: {}", s.text),
        FactBody::CaseOpened(c) if c.sources.iter().any(|s| Subject::End(s.end) == subject) => {
            format!("Found bad: the case {} was opened. {}.", c.name, c.because)
        }
        FactBody::CaseOpened(c) if c.tools.iter().any(|t| Subject::Item(t.tool) == subject) => {
            format!("Was off: the case {} was opened. {}.", c.name, c.because)
        }
        FactBody::CaseOpened(c) if by_tool(&c.reached, subject) => {
            format!("In doubt by a tool that was off: taken into the case {}.", c.name)
        }
        FactBody::CaseOpened(c) => {
            format!("Exposed, which is not damaged: taken into the case {}.", c.name)
        }
        FactBody::CaseChanged(c) if c.set_aside.contains(&subject) => {
            format!("Set aside in its case: {}.", c.because)
        }
        FactBody::CaseChanged(c) if by_tool(&c.reached, subject) => {
            format!("In doubt by a tool that was off: taken into a case. {}.", c.because)
        }
        FactBody::CaseChanged(c) => {
            format!("Exposed, which is not damaged: taken into a case. {}.", c.because)
        }
        FactBody::EndDisposed(d) => {
            format!("Decided in its case: {}. {}.", disposed(&d.disposition), d.because)
        }
        FactBody::ResultDisposed(d) => {
            format!("A result was decided about: {}. {}.", d.disposition.word().replace('-', " "), d.because)
        }
        FactBody::CaseClosed(c) => format!("The case was closed: {}.", c.because),
        FactBody::KitMade(k) if subject == Subject::Item(k.kit) => {
            let pieces: Vec<String> = k.pieces.iter().map(|piece| names.item_tag(*piece)).collect();
            format!("Made up of {}.", pieces.join(", "))
        }
        FactBody::KitMade(k) => format!("Belongs to the kit {}.", names.item_tag(k.kit)),
        FactBody::KitChecked(k) if subject == Subject::Item(k.kit) => kit_checked(&k.found, names),
        FactBody::KitChecked(k) => {
            let found = k.found.iter().find(|f| subject == Subject::Item(f.piece));
            let place = found.map_or("not looked for", |f| piece(f.place));
            let caps = caps(found.and_then(|f| f.capped));
            format!("Kit {} looked through: {place}{caps}.", names.item_tag(k.kit))
        }
        FactBody::PolicyTakenUp(p) => format!("The policy {} was taken up.", p.revision),
        FactBody::Reserved(r) => {
            format!("Wanted for {} from {} until {}.", r.work, moment_text(r.from), moment_text(r.until))
        }
    }
}

fn caps(capped: Option<bool>) -> &'static str {
    match capped {
        Some(true) => ", capped",
        Some(false) => ", without caps",
        None => "",
    }
}

fn piece(place: Whereabouts) -> &'static str {
    match place {
        Whereabouts::InPlace => "in place",
        Whereabouts::Swapped => "in the place of another piece",
        Whereabouts::Missing => "missing",
    }
}

fn kit_checked(found: &[PieceFound], names: &dyn Names) -> String {
    let odd: Vec<String> = found
        .iter()
        .filter(|f| f.place != Whereabouts::InPlace || f.capped == Some(false))
        .map(|f| format!("{} {}{}", names.item_tag(f.piece), piece(f.place), caps(f.capped)))
        .collect();
    match odd.as_slice() {
        [] => format!("Looked through: all {} pieces in place.", found.len()),
        odd => format!("Looked through: {}.", odd.join("; ")),
    }
}

/// A place on a face in words.
fn place(mark: &FaceMark) -> String {
    let word = mark.word.as_deref().map(|w| format!(" ({w})")).unwrap_or_default();
    format!("{} o'clock on the {}{word}", mark.clock, mark.zone.word().replace('-', " "))
}

/// What a check of a tool found.
pub(crate) fn of_check(check: &ToolCheck) -> String {
    let outcome = if check.in_order() { "in order" } else { "not in order" };
    match check {
        ToolCheck::GaugeZero(z) => {
            let word = if z.reads_more_recessed.metres() < 0.0 { "protruding" } else { "recessed" };
            let um = z.reads_more_recessed.micrometres().abs();
            if um < 0.05 {
                format!("Zero checked: agrees with its master; {outcome}.")
            } else {
                format!("Zero checked: reads {um:.1} µm too far {word}; {outcome}.")
            }
        }
        ToolCheck::Wrench(w) => format!("Checked at {}: {outcome}.", w.set_point),
        ToolCheck::Certificate(c) => {
            let value = c.position.map(|p| format!(", pin {p}")).unwrap_or_default();
            format!("Certificate {}{value}: {outcome}.", c.document)
        }
    }
}

fn by_tool(reached: &[CaseReach], subject: Subject) -> bool {
    reached.iter().any(|r| r.on == subject && r.hops == 0)
}

fn disposed(disposition: &EndDisposition) -> String {
    match disposition {
        EndDisposition::Cleared { .. } | EndDisposition::Damaged => disposition.word().to_owned(),
        EndDisposition::Waived { until } => format!("waived until {}", when(*until)),
    }
}

/// A moment inside a sentence: to the minute, in UTC.
pub(crate) fn when(moment: matewell_lab::Moment) -> String {
    let text = moment_text(moment);
    match text.split_once('T') {
        Some((day, clock)) => format!("{day} {} UTC", clock.get(..5).unwrap_or(clock)),
        None => text,
    }
}

/// A fact of a case, seen from the case.
pub(crate) fn of_case(body: &FactBody, names: &dyn Names) -> String {
    let label = |on: Subject| match on {
        Subject::End(end) => names.end_tag(end),
        Subject::Item(item) => names.item_tag(item),
    };
    let things = |count: usize, one: &str| {
        if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
    };
    match body {
        FactBody::CaseOpened(c) => {
            let tools = c.tools.iter().map(|t| names.item_tag(t.tool));
            let sources: Vec<String> = c.sources.iter().map(|s| names.end_tag(s.end)).chain(tools).collect();
            format!(
                "Opened over {}: {}. Took in {} and {}; {} set.",
                sources.join(", "),
                c.because,
                things(c.reached.len(), "exposure"),
                things(c.results.len(), "result"),
                things(c.holds.len(), "hold"),
            )
        }
        FactBody::CaseChanged(c) => {
            let listed =
                |subjects: Vec<Subject>| subjects.into_iter().map(label).collect::<Vec<_>>().join(", ");
            let mut text = String::new();
            if !c.reached.is_empty() {
                text.push_str(&format!("Took in {}. ", listed(c.reached.iter().map(|r| r.on).collect())));
            }
            if !c.results.is_empty() {
                text.push_str(&format!("Took in {}. ", things(c.results.len(), "result")));
            }
            if !c.set_aside.is_empty() {
                text.push_str(&format!("Set aside {}. ", listed(c.set_aside.clone())));
            }
            text + &c.because + "."
        }
        FactBody::EndDisposed(d) => format!("{}: {}. {}.", label(d.on), disposed(&d.disposition), d.because),
        other => of(other, Subject::Item(matewell_lab::ItemId::from_bytes([0; 16])), names),
    }
}
