//! Readings from the facts of the lab.

use crate::{AppError, Workshop, error::field};
use matewell_lab::{EndId, FactBody, Gauged, Moment, standing_facts};
use matewell_wire::parse_moment;

/// Who counts as appraiser.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum By {
    Person,
    Gauge,
}

impl By {
    pub(super) fn read(text: Option<&str>) -> Result<Self, AppError> {
        match text.map(str::trim) {
            None | Some("" | "person") => Ok(Self::Person),
            Some("gauge") => Ok(Self::Gauge),
            Some(other) => Err(field("by")(format!("expected person or gauge, found \"{other}\""))),
        }
    }

    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Person => "person",
            Self::Gauge => "gauge",
        }
    }
}

/// From when to when facts count.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    pub(super) since: Option<Moment>,
    pub(super) until: Moment,
}

impl Window {
    pub(super) fn read(since: Option<&str>, until: Option<&str>, at: Moment) -> Result<Self, AppError> {
        let moment =
            |name, text: Option<&str>| text.map(|t| parse_moment(t).map_err(field(name))).transpose();
        let until: Option<Moment> = moment("until", until)?;
        // What happens after the moment asked about is not known yet.
        let until = until.filter(|u| *u < at).unwrap_or(at);
        Ok(Self { since: moment("since", since)?, until })
    }

    pub(super) fn holds(&self, at: Moment) -> bool {
        self.since.is_none_or(|s| s <= at) && at <= self.until
    }
}

/// A gauging of an end in the window.
pub(super) struct GaugingFound {
    pub(super) at: Moment,
    pub(super) appraiser: String,
    /// Recession in micrometres, positive behind the plane.
    pub(super) readings: Vec<f64>,
    pub(super) gauged: Gauged,
}

/// The gaugings of an end that count, oldest first.
pub(super) fn gaugings(
    shop: &Workshop,
    end: EndId,
    by: By,
    window: &Window,
) -> Result<Vec<GaugingFound>, AppError> {
    let facts = shop.store.facts_of_end(end)?;
    let mut found = Vec::new();
    for fact in standing_facts(&facts, window.until) {
        if !window.holds(fact.happened_at) {
            continue;
        }
        let FactBody::Gauged(gauged) = fact.body else { continue };
        if gauged.end != end || gauged.readings.is_empty() {
            continue;
        }
        let appraiser = match (by, gauged.gauge) {
            (By::Person, _) => fact.person,
            (By::Gauge, Some(gauge)) => {
                shop.store.item(gauge)?.map_or_else(|| gauge.to_string(), |hit| hit.tag)
            }
            (By::Gauge, None) => continue,
        };
        // By the zero of the session, and with what the gauge was off taken out.
        let readings = gauged.recessions_um();
        found.push(GaugingFound { at: fact.happened_at, appraiser, readings, gauged });
    }
    Ok(found)
}

/// Labels separated by commas.
pub(super) fn labels(text: &str) -> Vec<&str> {
    text.split(',').map(str::trim).filter(|t| !t.is_empty()).collect()
}
