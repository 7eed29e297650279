//! The data sheets as the judgement reads them.

use crate::Origin;
use matewell_lab::{Body, Grade, Sex};
use matewell_line::{JointGeometry, Line};
use matewell_quantity::{Frequency, Length, Torque};
use matewell_sheets::{Evidence, PairRule, Rule, Sheets, Sourced};

/// The sheets and the policy in force.
#[derive(Debug, Clone, Copy)]
pub struct Book<'a> {
    sheets: &'a Sheets,
}

/// The lab's policy as plain numbers with their origins.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// Contacts after which an end is gauged again.
    pub gauge_every_contacts: u32,
    /// Origin of it.
    pub contacts_origin: Origin,
    /// Days after which an end is gauged again.
    pub gauge_every_days: f64,
    /// Origin of it.
    pub days_origin: Origin,
    /// Days after which an end is looked at again.
    pub look_every_days: f64,
    /// Origin of it.
    pub look_origin: Origin,
    /// Readings of a gauging, at least.
    pub readings: u32,
    /// Origin of it.
    pub readings_origin: Origin,
    /// Accepted probability that a pin protrudes.
    pub protrusion_risk: f64,
    /// Origin of it.
    pub risk_origin: Origin,
    /// Largest reflection a joint may add.
    pub reflection_need: Option<f64>,
    /// Origin of it.
    pub need_origin: Origin,
    /// Joint gap below which metrology mates are minded, in micrometres.
    pub smallest_gap_um: f64,
    /// Origin of it.
    pub gap_origin: Origin,
    /// Days after which a wrench is checked again.
    pub wrench_every_days: f64,
    /// Days after which a kit is looked through again.
    pub kit_check_every_days: f64,
    /// Uses after which a wrench is checked again.
    pub wrench_every_uses: u32,
    /// Origin of it.
    pub wrench_origin: Origin,
    /// Days after which a gauge's zero is checked again.
    pub gauge_check_every_days: f64,
    /// Origin of it.
    pub gauge_check_origin: Origin,
    /// Zero readings on the master, at least, before and after a session.
    pub zero_readings: u32,
    /// Origin of it.
    pub zero_readings_origin: Origin,
    /// Standard deviations of one zero reading by which the zero may move
    /// within a session.
    pub zero_drift_ratio: f64,
    /// Origin of it.
    pub zero_drift_origin: Origin,
    /// Temperature gauging is done at, degrees Celsius.
    pub room_temperature_c: f64,
    /// How far from it, in kelvin.
    pub room_temperature_within_k: f64,
    /// Origin of it.
    pub temperature_origin: Origin,
}

/// One line of a gauge's budget as the lab's own file gives it.
pub use matewell_sheets::GaugeLine;

/// One interface as the judgement needs it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Interface {
    pub(crate) impedance_ohm: Option<f64>,
    pub(crate) neutral: bool,
    pub(crate) rated: Option<Frequency>,
    outer: Option<Length>,
    inner: Option<Length>,
    pin: Option<Length>,
    filled: bool,
}

impl Interface {
    /// The cross-section of a joint in air; `None` where the sheet lacks a
    /// dimension or the interface is filled to its face.
    pub(crate) fn joint(&self) -> Option<JointGeometry> {
        if self.filled {
            return None;
        }
        JointGeometry::new(Line::new(self.outer?, self.inner?).ok()?, self.pin?).ok()
    }
}

/// A recession limit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RecessionLimit {
    pub(crate) most_recessed_um: f64,
    /// An observed limit that somebody already widened by a gauge's
    /// uncertainty: compared as it is.
    pub(crate) includes_uncertainty: bool,
    pub(crate) verified: bool,
    pub(crate) origin: Origin,
}

/// What a pair rule says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PairKind {
    Allowed,
    AllowedIfGauged,
    ByWaiver,
    Never,
    Unknown,
}

pub(crate) struct Pair {
    pub(crate) kind: PairKind,
    pub(crate) text: Option<String>,
    pub(crate) upper: Option<Frequency>,
    pub(crate) origin: Option<Origin>,
}

pub(crate) struct Torques {
    pub(crate) no_torque: bool,
    /// One row when the sources agree, the lowest of them; all rows when they
    /// do not; none when the sheet is silent.
    pub(crate) rows: Vec<(Torque, Origin)>,
}

fn origin(source: &str, locator: &str, evidence: Evidence) -> Origin {
    Origin { source: source.to_owned(), locator: locator.to_owned(), evidence: evidence.word().to_owned() }
}

fn of(sourced: &Sourced) -> Origin {
    origin(&sourced.source, &sourced.locator, sourced.evidence)
}

impl<'a> Book<'a> {
    /// The sheets in force.
    #[must_use]
    pub fn new(sheets: &'a Sheets) -> Self {
        Self { sheets }
    }

    /// Names the data set used.
    #[must_use]
    pub fn revision(&self) -> String {
        self.sheets.revision()
    }

    /// The policy in force.
    #[must_use]
    pub fn policy(&self) -> Policy {
        let p = self.sheets.policy();
        Policy {
            gauge_every_contacts: p.gauge_every_contacts.count(),
            contacts_origin: of(&p.gauge_every_contacts),
            gauge_every_days: p.gauge_every_days.value,
            days_origin: of(&p.gauge_every_days),
            look_every_days: p.look_every_days.value,
            look_origin: of(&p.look_every_days),
            readings: p.readings.count(),
            readings_origin: of(&p.readings),
            protrusion_risk: p.protrusion_risk.value,
            risk_origin: of(&p.protrusion_risk),
            reflection_need: Some(p.reflection_need.value),
            need_origin: of(&p.reflection_need),
            smallest_gap_um: p.smallest_gap.value,
            gap_origin: of(&p.smallest_gap),
            wrench_every_days: p.wrench_every_days.value,
            kit_check_every_days: p.kit_check_every_days.value,
            wrench_every_uses: p.wrench_every_uses.count(),
            wrench_origin: of(&p.wrench_every_days),
            gauge_check_every_days: p.gauge_check_every_days.value,
            gauge_check_origin: of(&p.gauge_check_every_days),
            zero_readings: p.zero_readings.count(),
            zero_readings_origin: of(&p.zero_readings),
            zero_drift_ratio: p.zero_drift_ratio.value,
            zero_drift_origin: of(&p.zero_drift_ratio),
            room_temperature_c: p.room_temperature.value,
            room_temperature_within_k: p.room_temperature_within.value,
            temperature_origin: of(&p.room_temperature),
        }
    }

    /// Lines of the budget of the gauge with this label, from the lab's own
    /// file.
    #[must_use]
    pub fn gauge_lines(&self, tag: &str) -> &'a [GaugeLine] {
        self.sheets.gauge_lines(tag)
    }

    pub(crate) fn interface(&self, key: &str) -> Option<Interface> {
        let sheet = self.sheets.interface(key)?;
        let mm = |v: &Option<Sourced>| v.as_ref().and_then(|s| Length::from_millimetres(s.value).ok());
        Some(Interface {
            impedance_ohm: Some(sheet.impedance.value),
            neutral: sheet.neutral,
            rated: sheet.upper_frequency.as_ref().and_then(|s| Frequency::from_gigahertz(s.value).ok()),
            outer: mm(&sheet.outer_diameter),
            inner: mm(&sheet.inner_diameter),
            pin: mm(&sheet.pin_diameter),
            filled: sheet.dielectric != "air",
        })
    }

    pub(crate) fn name(&self, key: &str) -> String {
        self.sheets.interface(key).map_or_else(|| key.to_owned(), |i| i.name.clone())
    }

    pub(crate) fn rated_mates(&self, key: &str) -> Option<(u32, Origin)> {
        self.sheets.interface(key)?.rated_mates.as_ref().map(|s| (s.count(), of(s)))
    }

    pub(crate) fn recession_limits(&self, key: &str, sex: Sex, grade: Grade) -> Vec<RecessionLimit> {
        let Some(sheet) = self.sheets.interface(key) else { return Vec::new() };
        sheet
            .pin_limit
            .iter()
            .filter(|l| l.sex == sex.word() && l.grade == grade.word())
            .map(|l| RecessionLimit {
                most_recessed_um: l.recessed_max,
                includes_uncertainty: l.includes_gauge_uncertainty,
                verified: l.evidence != Evidence::FromMemory,
                origin: origin(&l.source, &l.locator, l.evidence),
            })
            .collect()
    }

    /// Limits of the dielectric's face for an end of this sort.
    pub(crate) fn dielectric_limits(&self, key: &str, sex: Sex, grade: Grade) -> Vec<(f64, f64, Origin)> {
        self.sheets
            .dielectric_limits(key, sex.word(), grade.word())
            .into_iter()
            .map(|l| (l.recessed_min, l.recessed_max, origin(&l.source, &l.locator, l.evidence)))
            .collect()
    }

    /// Highest torque a coupling of this sort may see, by the sheets: the
    /// lowest upper torque on record, else none.
    pub(crate) fn upper_torque(&self, key: &str, body: Body) -> Option<(Torque, Origin)> {
        self.sheets
            .upper_torques(key, body.word())
            .into_iter()
            .min_by(|x, y| x.value.total_cmp(&y.value))
            .and_then(|r| {
                Some((Torque::from_newton_metres(r.value).ok()?, origin(&r.source, &r.locator, r.evidence)))
            })
    }

    pub(crate) fn pair(&self, a: &str, a_sex: Sex, b: &str, b_sex: Sex) -> Pair {
        let nothing = |kind| Pair { kind, text: None, upper: None, origin: None };
        match self.sheets.pair_rule(a, a_sex.word(), b, b_sex.word()) {
            None => nothing(PairKind::Unknown),
            Some(PairRule::SameInterface) => nothing(PairKind::Allowed),
            Some(PairRule::Row(row)) => {
                let lead = if row.rule == Rule::Never { "It destroys" } else { "At risk:" };
                let destroys = row.destroys.as_ref().map(|d| format!(" {lead} {d}.")).unwrap_or_default();
                Pair {
                    kind: match row.rule {
                        Rule::Allowed => PairKind::Allowed,
                        Rule::AllowedIfGauged => PairKind::AllowedIfGauged,
                        Rule::ByWaiver => PairKind::ByWaiver,
                        Rule::Never => PairKind::Never,
                    },
                    text: Some(format!("{}{destroys}", row.text)),
                    upper: row.upper_frequency.as_ref().and_then(|s| Frequency::from_gigahertz(s.value).ok()),
                    origin: Some(origin(&row.source, &row.locator, row.evidence)),
                }
            }
        }
    }

    /// Coupling torques for a body. Sources agree when some value lies within
    /// the tolerance of every other source that states one; the lowest such
    /// value is given. Sources that do not agree are all given.
    pub(crate) fn torques(&self, key: &str, body: Body) -> Torques {
        let Some(sheet) = self.sheets.interface(key) else {
            return Torques { no_torque: false, rows: Vec::new() };
        };
        let rows: Vec<_> = sheet.torque.iter().filter(|r| r.body == "any" || r.body == body.word()).collect();
        let agrees = |value: f64| {
            rows.iter().all(|r| {
                (value - r.value).abs() <= r.tolerance.unwrap_or(0.0) + 1e-9 * r.value
                    || (r.tolerance.is_none() && (value - r.value).abs() <= 1e-9)
            })
        };
        let mut agreed: Vec<_> = rows.iter().filter(|r| agrees(r.value)).collect();
        agreed.sort_by(|x, y| x.value.total_cmp(&y.value));
        let shown = |r: &&matewell_sheets::TorqueRow| {
            Some((Torque::from_newton_metres(r.value).ok()?, origin(&r.source, &r.locator, r.evidence)))
        };
        let rows = match agreed.first() {
            Some(lowest) => shown(lowest).into_iter().collect(),
            None => rows.iter().filter_map(shown).collect(),
        };
        Torques { no_torque: sheet.no_torque, rows }
    }

    pub(crate) fn caution(&self, code: &str) -> String {
        self.sheets.caution(code).map_or_else(|| format!("Mind: {code}."), |c| c.text.clone())
    }
}
