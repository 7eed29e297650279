//! What a person typed about a gauging, understood, with the questions that a
//! likely slip raises. Nothing is guessed and nothing is lost: a question is
//! answered with its code.

use crate::{
    AppError, Workshop,
    error::{bad, field, length_above_zero},
};
use matewell_lab::{GaugeMethod, Gauged, GaugingSession, ItemKind, Moment, PinPosition, ToolRecord};
use matewell_quantity::{Length, TemperatureCelsius, split_number_and_unit};
use matewell_verdict::{Finding, Weight, tool_in_date};
use matewell_wire::{EntryQuestionJson, GaugingAsked, PositionAsked, moment_text};

/// Furthest from its plane that a pin is believed to be, in micrometres.
const FURTHEST_UM: f64 = 1000.0;

/// A gauging understood.
pub(crate) struct Entry {
    pub(crate) gauged: Gauged,
    pub(crate) gauge: Option<ToolRecord>,
    pub(crate) questions: Vec<EntryQuestionJson>,
    pub(crate) findings: Vec<Finding>,
}

impl Entry {
    pub(crate) fn read(shop: &Workshop, asked: &GaugingAsked, at: Moment) -> Result<Self, AppError> {
        let hit = shop.one_end(&asked.end)?;
        let gauge = tool(shop, "gauge", ItemKind::Gauge, asked.gauge.as_deref(), at)?;
        let master = tool(shop, "master", ItemKind::GaugeMaster, asked.master.as_deref(), at)?;
        let readings = positions("readings", &asked.readings)?;
        if readings.is_empty() {
            return Err(bad("readings", "expected at least one reading, found none"));
        }
        if let Some(furthest) = readings.iter().map(|r| r.recession_um().abs()).find(|um| *um > FURTHEST_UM) {
            return Err(bad(
                "readings",
                format!(
                    "expected a pin within 1000 µm of its plane, found {furthest} µm; is the unit right?"
                ),
            ));
        }
        let session = session(asked, master.as_ref(), readings.len())?;
        // An eye or a block on the bench need not be on record.
        let by_hand = |s: &GaugingSession| matches!(s.method, Some(GaugeMethod::Eye | GaugeMethod::GoNoGo));
        if session.as_ref().is_some_and(|s| is_full(s) && !by_hand(s)) && gauge.is_none() {
            return Err(bad("gauge", "expected the label of the gauge of this session, found nothing"));
        }
        let stated_standard_uncertainty =
            length_above_zero("standard_uncertainty", asked.standard_uncertainty.as_deref())?;
        let gauged = Gauged {
            end: hit.end,
            gauge: gauge.as_ref().map(|g| g.item.id),
            readings,
            stated_standard_uncertainty,
            session: session.map(Box::new),
        };
        let mut entry = Self { gauged, gauge, questions: Vec::new(), findings: Vec::new() };
        entry.ask(shop, asked, master.as_ref(), at);
        entry.notice(&hit.interface);
        entry.questions.retain(|q| !asked.sure.iter().any(|code| code == &q.code));
        Ok(entry)
    }

    fn question(&mut self, code: &str, about: &str, text: String) {
        self.questions.push(EntryQuestionJson { code: code.to_owned(), field: about.to_owned(), text });
    }

    fn ask(&mut self, shop: &Workshop, asked: &GaugingAsked, master: Option<&ToolRecord>, at: Moment) {
        let policy = shop.book().policy();
        if let Some((metric, inch)) = mixed_units(asked) {
            self.question(
                "mixed-units",
                "readings",
                format!("{metric} and {inch} in one session: is each unit right?"),
            );
        }
        if let Some(far) = ten_times(&self.gauged.readings) {
            self.question(
                "far-reading",
                "readings",
                format!("one reading, {far}, is more than ten times the others: take it again, or is it so?"),
            );
        }
        let session = self.gauged.session.as_deref().is_some_and(is_full);
        let count = self.gauged.readings.len();
        if session && count < usize::try_from(policy.readings).unwrap_or(usize::MAX) {
            self.question(
                "few-readings",
                "readings",
                format!("{count} of at least {} readings: are there no more?", policy.readings),
            );
        }
        let spec = self.gauge.as_ref().and_then(|g| g.item.gauge.as_ref());
        if let (Some(gauge), Some(paired), Some(master)) =
            (self.gauge.as_ref(), spec.and_then(|s| s.master.as_deref()), master)
            && !paired.trim().eq_ignore_ascii_case(master.item.tag.trim())
        {
            let text = format!(
                "{} is registered with the master {paired}, found {}: the pair is matched, was it really this one?",
                gauge.item.tag, master.item.tag
            );
            self.question("other-master", "master", text);
        }
        // What the certificate before it said is not taken for what this one leaves out.
        if let Some(master) = master
            && self.gauged.session.as_deref().is_some_and(|s| s.master_position.is_none())
            && let (Some((_, _, last)), Some((when, earlier))) =
                (&master.last_certificate, &master.last_position)
            && let Some(position) = earlier.position
        {
            let text = format!(
                "certificate {} of {} states no position; {} of {} stated {position}: type where the pin of the master stands, or is it flush?",
                last.document,
                master.item.tag,
                earlier.document,
                moment_text(*when)
            );
            self.question("master-position-left-out", "master_position", text);
        }
        for (about, tool) in [("gauge", self.gauge.clone()), ("master", master.cloned())] {
            if let Some(why) = tool.and_then(|t| tool_in_date(&t, at, &policy)) {
                self.question("gauge-out-of-date", about, format!("{why} Use it all the same?"));
            }
        }
    }

    fn notice(&mut self, interface: &str) {
        let spec = self.gauge.as_ref().and_then(|g| g.item.gauge.as_ref());
        if let Some(spec) = spec
            && !spec.interface.is_empty()
            && spec.interface != interface
        {
            self.findings.push(Finding {
                code: "gauge-of-other-interface",
                weight: Weight::Care,
                text: format!("The gauge is registered for {}, the end is {interface}.", spec.interface),
                remedy: Some("Use the gauge made for it: another may press on the wrong face.".to_owned()),
                end: Some(self.gauged.end),
                numbers: Vec::new(),
                facts: Vec::new(),
                origins: Vec::new(),
            });
        }
    }
}

/// Whether more was written down than readings.
fn is_full(session: &GaugingSession) -> bool {
    session.master.is_some() || !session.zero_before.is_empty()
}

fn tool(
    shop: &Workshop,
    name: &'static str,
    kind: ItemKind,
    tag: Option<&str>,
    at: Moment,
) -> Result<Option<ToolRecord>, AppError> {
    let Some(tag) = tag.map(str::trim).filter(|t| !t.is_empty()) else { return Ok(None) };
    let what = if kind == ItemKind::Gauge { "a gauge" } else { "a gauge master" };
    let record = shop
        .tool(shop.one_item(what, tag)?, at)?
        .ok_or_else(|| AppError::UnknownTag { what, found: tag.to_owned() })?;
    if record.item.kind == kind {
        Ok(Some(record))
    } else {
        Err(bad(
            name,
            format!(
                "expected {what}, found {}, which is registered as {}",
                record.item.tag,
                record.item.kind.word()
            ),
        ))
    }
}

/// A distance with its word.
pub(crate) fn position(field_name: &'static str, asked: &PositionAsked) -> Result<PinPosition, AppError> {
    let text = asked.distance.trim();
    let length: Length = text.parse().map_err(field(field_name))?;
    if length.metres() < 0.0 {
        return Err(bad(
            field_name,
            format!(
                "expected a distance of zero or more with the word recessed or protruding, found {text}: makers and tables disagree about what a sign means"
            ),
        ));
    }
    match asked.word.trim() {
        "recessed" => PinPosition::recessed(length).map_err(field(field_name)),
        "protruding" => PinPosition::protruding(length).map_err(field(field_name)),
        "" if length.metres() == 0.0 => Ok(PinPosition::Recessed(length)),
        other => Err(bad(
            field_name,
            format!("expected the word recessed or protruding for {text}, found \"{other}\""),
        )),
    }
}

fn positions(name: &'static str, asked: &[PositionAsked]) -> Result<Vec<PinPosition>, AppError> {
    asked.iter().map(|p| position(name, p)).collect()
}

/// Where the master's pin stands and how well that is known: as typed, else by
/// the last certificate on record.
fn master_position(
    asked: &GaugingAsked,
    master: Option<&ToolRecord>,
) -> Result<(Option<PinPosition>, Option<Length>), AppError> {
    let typed = asked.master_position.as_ref().filter(|p| !p.distance.trim().is_empty());
    let typed_u =
        length_above_zero("master_standard_uncertainty", asked.master_standard_uncertainty.as_deref())?;
    match (typed, typed_u, master.and_then(|m| m.last_certificate.as_ref())) {
        (Some(p), u, _) => Ok((Some(position("master_position", p)?), u)),
        (None, Some(_), _) => Err(bad(
            "master_position",
            "expected the position that this standard uncertainty belongs to, found nothing",
        )),
        (None, None, Some((_, _, by))) => Ok((by.position, by.standard_uncertainty)),
        (None, None, None) => Ok((None, None)),
    }
}

fn session(
    asked: &GaugingAsked,
    master: Option<&ToolRecord>,
    readings: usize,
) -> Result<Option<GaugingSession>, AppError> {
    let word =
        |text: &Option<String>| text.as_deref().map(str::trim).filter(|t| !t.is_empty()).map(str::to_owned);
    if !asked.turned_deg.is_empty() && asked.turned_deg.len() != readings {
        return Err(bad(
            "turned_deg",
            format!("expected one angle for each of {readings} readings, found {}", asked.turned_deg.len()),
        ));
    }
    if let Some(angle) = asked.turned_deg.iter().find(|a| !(-720.0..=720.0).contains(*a)) {
        return Err(bad("turned_deg", format!("expected an angle within 720 degrees, found {angle}")));
    }
    if let Some(humidity) = asked.humidity_percent
        && !(0.0..=100.0).contains(&humidity)
    {
        return Err(bad("humidity_percent", format!("expected 0 to 100, found {humidity}")));
    }
    let temperature_c = word(&asked.temperature)
        .map(|t| {
            t.parse::<TemperatureCelsius>().map(TemperatureCelsius::degrees).map_err(field("temperature"))
        })
        .transpose()?;
    if let Some(t) = temperature_c
        && !(-20.0..=60.0).contains(&t)
    {
        return Err(bad("temperature", format!("expected a room of −20 to 60 °C, found {t} °C")));
    }
    let (master_position, master_standard_uncertainty) = master_position(asked, master)?;
    let found = GaugingSession {
        master: master.map(|m| m.item.id),
        master_position,
        master_standard_uncertainty,
        zero_before: positions("zero_before", &asked.zero_before)?,
        zero_after: positions("zero_after", &asked.zero_after)?,
        turned_deg: asked.turned_deg.clone(),
        method: word(&asked.method)
            .map(|m| GaugeMethod::from_word(&m).map_err(field("method")))
            .transpose()?,
        temperature_c,
        humidity_percent: asked.humidity_percent,
        dielectric: positions("dielectric", &asked.dielectric)?,
        sure: Vec::new(),
        gauge_off: None,
    };
    if found.zero_before.is_empty() && !found.zero_after.is_empty() {
        return Err(bad(
            "zero_before",
            "expected the zero before the readings too, found only the one after",
        ));
    }
    if found == GaugingSession::default() && asked.sure.is_empty() {
        return Ok(None);
    }
    Ok(Some(GaugingSession { sure: asked.sure.clone(), ..found }))
}

/// A unit of each family, when both are there.
fn mixed_units(asked: &GaugingAsked) -> Option<(String, String)> {
    let (mut metric, mut inch) = (None, None);
    for position in
        [&asked.readings, &asked.zero_before, &asked.zero_after, &asked.dielectric].into_iter().flatten()
    {
        let (_, unit) = split_number_and_unit(&position.distance);
        let place = if matches!(unit, "mil" | "mils" | "thou" | "in" | "inch" | "\"") {
            &mut inch
        } else {
            &mut metric
        };
        place.get_or_insert_with(|| unit.to_owned());
    }
    metric.zip(inch)
}

/// The reading that is more than ten times the next largest.
fn ten_times(readings: &[PinPosition]) -> Option<PinPosition> {
    let mut sorted: Vec<PinPosition> = readings.to_vec();
    sorted.sort_by(|x, y| x.recession_um().abs().total_cmp(&y.recession_um().abs()));
    let [.., second, largest] = sorted.as_slice() else { return None };
    let um = largest.recession_um().abs();
    (um > 10.0 * second.recession_um().abs() && um > 20.0).then_some(*largest)
}
