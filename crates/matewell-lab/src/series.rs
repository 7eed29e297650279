//! The pin positions of an end over its mates, and where the series breaks.

use crate::{EndId, Fact, FactBody, GaugingOnRecord, ItemId, Mated, Moment, standing_facts};

/// What a cleaning does to the series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cleaning {
    /// It begins a new phase: residue may have been read as depth.
    Breaks,
    /// It changes nothing: the end is cleaned before every gauging.
    Keeps,
}

/// What began a phase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Begun {
    /// The first gauging.
    First,
    /// The end was cleaned.
    Cleaned,
    /// The contact was made anew.
    Replaced,
    /// Another gauge was used.
    GaugeChanged,
}

impl Begun {
    /// The word used in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::First => "first",
            Self::Cleaned => "cleaned",
            Self::Replaced => "replaced",
            Self::GaugeChanged => "gauge-changed",
        }
    }
}

/// A stretch between two breaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeriesPhase {
    /// What began it.
    pub begun: Begun,
    /// Its first gauging.
    pub from: Moment,
    /// Mates of the end until then.
    pub mates: u32,
}

/// One gauging with the mates before it.
#[derive(Debug, Clone, PartialEq)]
pub struct SeriesPoint {
    /// The gauging.
    pub gauging: GaugingOnRecord,
    /// Mates of the end until then; a gauging is a contact, not a mate.
    pub mates: u32,
    /// Index of its phase.
    pub phase: usize,
}

/// The gaugings of an end in order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PinSeries {
    /// The gaugings that have readings.
    pub points: Vec<SeriesPoint>,
    /// The phases.
    pub phases: Vec<SeriesPhase>,
    /// Mates of the end until the moment asked about.
    pub mates: u32,
    /// Cleanings between the first and the last gauging.
    pub cleanings: u32,
}

/// Folds the facts of an end into its series. With a gauge, only gaugings with
/// it count and the use of another is no break. Mates are counted since the
/// registration, over a replaced contact too, so that the order stays.
#[must_use]
pub fn pin_series(
    end: EndId,
    facts: &[Fact],
    at: Moment,
    gauge: Option<ItemId>,
    cleaning: Cleaning,
) -> PinSeries {
    let mut series = PinSeries::default();
    let mut pending: Option<Begun> = None;
    let mut cleanings = 0;
    for fact in standing_facts(facts, at) {
        match fact.body {
            FactBody::Mated(Mated { a, b, .. }) if a == end || b == end => series.mates += 1,
            FactBody::Replaced(r) if r.end == end => pending = Some(Begun::Replaced),
            FactBody::Cleaned { end: cleaned, .. } if cleaned == end => {
                cleanings += u32::from(!series.points.is_empty());
                if cleaning == Cleaning::Breaks && pending.is_none() {
                    pending = Some(Begun::Cleaned);
                }
            }
            FactBody::Gauged(gauged) if gauged.end == end && !gauged.readings.is_empty() => {
                if gauge.is_some() && gauged.gauge != gauge {
                    continue;
                }
                let begun = match series.points.last() {
                    None => Some(Begun::First),
                    Some(last) if last.gauging.gauged.gauge != gauged.gauge => {
                        pending.filter(|p| *p == Begun::Replaced).or(Some(Begun::GaugeChanged))
                    }
                    Some(_) => pending,
                };
                pending = None;
                if let Some(begun) = begun {
                    series.phases.push(SeriesPhase { begun, from: fact.happened_at, mates: series.mates });
                }
                series.cleanings = cleanings;
                series.points.push(SeriesPoint {
                    gauging: GaugingOnRecord {
                        fact: fact.id,
                        at: fact.happened_at,
                        person: fact.person,
                        contacts: series.mates,
                        gauged,
                    },
                    mates: series.mates,
                    phase: series.phases.len().saturating_sub(1),
                });
            }
            _ => {}
        }
    }
    series
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{FactId, FactSource, Gauged, MachineId, Parted, PinPosition, Replaced, Resolution};
    use matewell_quantity::Length;

    const END: EndId = EndId::from_bytes([1; 16]);
    const OTHER: EndId = EndId::from_bytes([2; 16]);

    fn fact(minute: u8, body: FactBody) -> Fact {
        Fact {
            id: FactId::from_bytes([minute; 16]),
            machine: MachineId::from_bytes([9; 16]),
            happened_at: Moment::from_microseconds(i64::from(minute) * 60_000_000),
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: Moment::from_microseconds(i64::from(minute) * 60_000_000),
            person: "ada".to_owned(),
            source: FactSource::Bench,
            note: None,
            body,
        }
    }

    fn gauged(minute: u8, gauge: u8) -> Fact {
        let readings =
            vec![PinPosition::recessed(Length::from_micrometres(f64::from(minute)).unwrap()).unwrap()];
        fact(
            minute,
            FactBody::Gauged(Gauged {
                end: END,
                gauge: Some(ItemId::from_bytes([gauge; 16])),
                readings,
                stated_standard_uncertainty: None,
                session: None,
            }),
        )
    }

    fn mated(minute: u8) -> Fact {
        fact(minute, FactBody::Mated(Mated { a: OTHER, b: END, wrench: None, overridden: None }))
    }

    fn series(facts: &[Fact], gauge: Option<u8>, cleaning: Cleaning) -> (Vec<u32>, Vec<usize>, Vec<Begun>) {
        let gauge = gauge.map(|g| ItemId::from_bytes([g; 16]));
        let found = pin_series(END, facts, Moment::from_microseconds(i64::MAX), gauge, cleaning);
        (
            found.points.iter().map(|p| p.mates).collect(),
            found.points.iter().map(|p| p.phase).collect(),
            found.phases.iter().map(|p| p.begun).collect(),
        )
    }

    #[test]
    fn the_series_breaks_at_clean_repair_and_gauge_change() {
        use Begun::{Cleaned, First, GaugeChanged, Replaced as Repaired};
        let facts = [
            fact(1, FactBody::Cleaned { end: END, method: None }),
            gauged(2, 7),
            mated(3),
            gauged(4, 7),
            fact(5, FactBody::Cleaned { end: END, method: None }),
            gauged(6, 7),
            fact(7, FactBody::Parted(Parted { a: OTHER, b: END })),
            mated(8),
            gauged(9, 8),
            fact(10, FactBody::Replaced(Replaced { end: END, because: "worn".to_owned() })),
            gauged(11, 7),
        ];
        assert_eq!(
            series(&facts, None, Cleaning::Breaks),
            (vec![0, 1, 1, 2, 2], vec![0, 0, 1, 2, 3], vec![First, Cleaned, GaugeChanged, Repaired])
        );
        assert_eq!(series(&facts, None, Cleaning::Keeps).2, [First, GaugeChanged, Repaired]);
        // With one gauge, another in between is no break; the repair is.
        assert_eq!(
            series(&facts, Some(7), Cleaning::Keeps),
            (vec![0, 1, 1, 2], vec![0, 0, 0, 1], vec![First, Repaired])
        );
        assert!(series(&[], None, Cleaning::Breaks).0.is_empty());
    }
}
