//! The drift of an end from the facts of a lab.

use crate::lab::{NOW, empty};
use matewell_app::{AppError, Workshop, drift_picture};
use matewell_lab::{
    Body, End, EndId, Fact, FactBody, FactId, FactSource, GaugeMethod, GaugeSpec, Gauged, GaugingSession,
    Grade, Item, ItemId, ItemKind, Mated, Moment, PinPosition, Registered, Resolution, Sex, Slots,
};
use matewell_quantity::Length;
use matewell_wire::{ChartAsked, DriftAsked, DriftForecastJson, DriftJson};

const GAUGE: ItemId = ItemId::from_bytes([7; 16]);
const OTHER_GAUGE: ItemId = ItemId::from_bytes([8; 16]);
const END: EndId = EndId::from_bytes([1; 16]);
const PARTNER: EndId = EndId::from_bytes([2; 16]);

/// Mates and positions of the worked vector of this project: own numbers,
/// checked beside SciPy when they were made.
const POSITION: [(u32, f64); 8] =
    [(0, 8.0), (50, 7.6), (100, 7.5), (150, 6.9), (200, 6.8), (250, 6.1), (300, 6.0), (350, 5.5)];

struct Writer {
    shop: Workshop,
    facts: Vec<Fact>,
    minute: i64,
}

impl Writer {
    fn new(shared_um: Option<f64>) -> Self {
        let mut writer = Self { shop: empty(), facts: Vec::new(), minute: 0 };
        let item = |id: ItemId, tag: &str, kind| Item {
            id,
            tag: tag.to_owned(),
            kind,
            description: String::new(),
            model: None,
            serial: None,
            location: None,
            cost: None,
            gauge: (kind == ItemKind::Gauge).then(|| GaugeSpec {
                interface: "3.5mm".to_owned(),
                method: GaugeMethod::ScrewOn,
                standard_uncertainty: shared_um.map(|u| Length::from_micrometres(u).unwrap()),
                repeatability: None,
                repeatability_dof: None,
                resolution: None,
                master: None,
            }),
            wrench: None,
            extra: Vec::new(),
        };
        let end = |id, item, tag: &str, sex| End {
            id,
            item,
            tag: tag.to_owned(),
            interface: "3.5mm".to_owned(),
            sex,
            grade: Grade::Instrument,
            body: Body::Stainless,
            slots: Slots::Slotted,
            static_sensitive: false,
            rf_live: false,
            biased: false,
            extra: Vec::new(),
        };
        let (cable, port) = (ItemId::from_bytes([3; 16]), ItemId::from_bytes([4; 16]));
        for (item, ends) in [
            (item(cable, "CB-1", ItemKind::Cable), vec![end(END, cable, "CB-1A", Sex::Pin)]),
            (item(port, "IN-1", ItemKind::Instrument), vec![end(PARTNER, port, "IN-1P1", Sex::Socket)]),
            (item(GAUGE, "GA-1", ItemKind::Gauge), Vec::new()),
            (item(OTHER_GAUGE, "GA-2", ItemKind::Gauge), Vec::new()),
        ] {
            writer.add(FactBody::Registered(Box::new(Registered { item, ends })));
        }
        writer
    }

    fn add(&mut self, body: FactBody) {
        self.minute += 1;
        let mut id = [0x70; 16];
        id[8] = 0x80;
        id[9..].copy_from_slice(&self.minute.to_be_bytes()[1..]);
        let at =
            Moment::from_microseconds(NOW.microseconds() - 86_400_000_000 * 60 + self.minute * 60_000_000);
        self.facts.push(Fact {
            id: FactId::from_bytes(id),
            machine: self.shop.store().machine(),
            happened_at: at,
            resolution: Resolution::Instant,
            sequence: 0,
            recorded_at: at,
            person: "technician-1".to_owned(),
            source: FactSource::Bench,
            note: None,
            body,
        });
    }

    fn mates(&mut self, count: u32) {
        for _ in 0..count {
            self.add(FactBody::Mated(Mated { a: END, b: PARTNER, wrench: None, overridden: None }));
        }
    }

    fn gauge(&mut self, recessed_um: f64, gauge: ItemId) {
        self.gauge_in(recessed_um, gauge, None);
    }

    fn gauge_in(&mut self, recessed_um: f64, gauge: ItemId, session: Option<GaugingSession>) {
        let at = Length::from_micrometres(recessed_um).unwrap();
        let readings = vec![PinPosition::recessed(at).unwrap(); 3];
        self.add(FactBody::Gauged(Gauged {
            end: END,
            gauge: Some(gauge),
            readings,
            stated_standard_uncertainty: None,
            session: session.map(Box::new),
        }));
    }

    fn clean(&mut self) {
        self.add(FactBody::Cleaned { end: END, method: None });
    }

    /// The worked vector; `before` runs before each gauging.
    fn vector(mut self, mut before: impl FnMut(&mut Self, usize)) -> Workshop {
        let mut so_far = 0;
        for (number, (mates, recessed)) in POSITION.into_iter().enumerate() {
            self.mates(mates - so_far);
            so_far = mates;
            before(&mut self, number);
            self.gauge(recessed, GAUGE);
        }
        self.done()
    }

    fn done(mut self) -> Workshop {
        self.shop.store_mut().append(&self.facts).unwrap();
        self.shop
    }
}

fn asked(limit: Option<&str>) -> DriftAsked {
    DriftAsked { limit: limit.map(str::to_owned), ..DriftAsked::default() }
}

fn drift(shop: &Workshop, asked: &DriftAsked) -> DriftJson {
    shop.drift("CB-1A", asked, NOW).unwrap()
}

fn only(found: &DriftJson) -> &DriftForecastJson {
    assert_eq!(found.forecasts.len(), 1);
    &found.forecasts[0]
}

fn codes(forecast: &DriftForecastJson) -> Vec<&str> {
    forecast.refused_because.iter().map(|f| f.code.as_str()).collect()
}

#[test]
fn the_bound_meets_the_limit_before_the_line_does() {
    let shop = Writer::new(None).vector(|_, _| ());
    let found = drift(&shop, &asked(Some("recessed 3um")));
    let forecast = only(&found);
    assert_eq!(forecast.forecast, "at", "{found:?}");
    assert!((forecast.at_mates.unwrap() - 642.92).abs() < 0.005, "{forecast:?}");
    assert!((forecast.further_mates.unwrap() - 292.92).abs() < 0.005);
    assert!((forecast.line_at_mates.unwrap() - 710.57).abs() < 0.005);
    // Towards the plane: recession falls.
    assert!((found.slope_um_per_100_mates.unwrap() + 0.709_524).abs() < 1e-6);
    assert!((found.u_slope_um_per_100_mates.unwrap() - 0.042_547).abs() < 1e-6);
    assert!((found.scatter_um.unwrap() - 0.137_869).abs() < 1e-6);
    // Prediction at 400 mates: 5.2036, two-sided 95 % ± 0.4277 with 6 degrees
    // of freedom; one-sided 95 % is 0.4277 · 1.94318/2.44691.
    let at =
        found.band.iter().min_by(|x, y| (x.mates - 400.0).abs().total_cmp(&(y.mates - 400.0).abs())).unwrap();
    let slope = found.slope_um_per_100_mates.unwrap() / 100.0;
    assert!((at.recession_um - slope * (at.mates - 400.0) - 5.2036).abs() < 1e-3, "{at:?}");
    assert!((at.recession_high_um - at.recession_um - 0.4277 * 1.943_18 / 2.446_91).abs() < 0.005, "{at:?}");
    assert!(found.findings.iter().any(|f| f.code == "no-common-uncertainty"));
    assert_eq!((found.points.len(), found.mates), (8, 350));
}

#[test]
fn what_all_gaugings_share_shortens_the_time() {
    let alone = drift(&Writer::new(None).vector(|_, _| ()), &asked(Some("recessed 3um")));
    let shared = drift(&Writer::new(Some(0.3)).vector(|_, _| ()), &asked(Some("recessed 3um")));
    let (alone, shared_at) = (only(&alone).at_mates.unwrap(), only(&shared).at_mates.unwrap());
    // 1.645 · 0.3 µm at 0.0071 µm a mate is about 70 mates.
    assert!((60.0..75.0).contains(&(alone - shared_at)), "{alone} {shared_at}");
    assert!(shared.inputs.iter().any(|i| i.name.contains("shared by all gaugings with GA-1")));
}

#[test]
fn a_limit_further_away_than_the_gaugings_span_is_not_forecast() {
    let shop = Writer::new(None).vector(|_, _| ());
    let found = drift(&shop, &asked(None));
    let plane = found.forecasts.iter().find(|f| f.limit.contains("plane")).unwrap();
    assert_eq!((plane.forecast.as_str(), plane.not_before_mates), ("not-before", Some(700.0)), "{plane:?}");
    assert_eq!(codes(plane), ["too-far-ahead"]);
    // The sheet's limit of recession is there too, with its origin.
    assert!(found.forecasts.len() > 1 && found.forecasts.iter().all(|f| !f.origin.source.is_empty()));
    let reached = drift(&shop, &asked(Some("recessed 5.6um")));
    assert_eq!(only(&reached).forecast, "reached");
}

#[test]
fn a_cleaning_a_repair_and_another_gauge_break_the_series() {
    let cleaned = Writer::new(None).vector(|w, _| w.clean());
    let found = drift(&cleaned, &asked(Some("recessed 3um")));
    assert_eq!(found.phases.len(), 8);
    assert_eq!(only(&found).forecast, "refused");
    assert!(codes(only(&found)).contains(&"too-few"), "{found:?}");
    assert!(found.findings.iter().any(|f| f.code == "broken-by-cleaning" && f.text.contains("7 of 8")));
    // Cleaned before every gauging: the person says so, and the answer repeats it.
    let kept = DriftAsked { cleaning: Some("keeps".to_owned()), ..asked(Some("recessed 3um")) };
    let found = drift(&cleaned, &kept);
    assert!((only(&found).at_mates.unwrap() - 642.92).abs() < 0.005);
    assert!(found.findings.iter().any(|f| f.code == "cleanings-kept" && f.text.starts_with("7 ")));
    // One gauging with another gauge in between: two more phases, or none when only one gauge is asked.
    let other = Writer::new(None).vector(|w, n| {
        if n == 4 {
            w.gauge(20.0, OTHER_GAUGE);
        }
    });
    let found = drift(&other, &asked(Some("recessed 3um")));
    assert_eq!(
        found.phases.iter().map(|p| p.begun_by.as_str()).collect::<Vec<_>>(),
        ["first", "gauge-changed", "gauge-changed"]
    );
    let one = DriftAsked { gauge: Some("GA-1".to_owned()), ..asked(Some("recessed 3um")) };
    assert!((only(&drift(&other, &one)).at_mates.unwrap() - 642.92).abs() < 0.005);
    let repaired = Writer::new(None).vector(|w, n| {
        if n == 4 {
            w.add(FactBody::Replaced(matewell_lab::Replaced { end: END, because: "worn".to_owned() }));
        }
    });
    let found = drift(&repaired, &asked(Some("recessed 3um")));
    assert_eq!(found.phases[1].begun_by, "replaced");
    assert_eq!((found.phases[1].mates, found.phases[1].gaugings), (200, 4));
}

#[test]
fn chance_and_change_are_refused_and_said() {
    let series = |values: &[f64]| {
        let mut writer = Writer::new(None);
        for value in values {
            writer.mates(10);
            writer.gauge(*value, GAUGE);
        }
        drift(&writer.done(), &asked(Some("recessed 3um")))
    };
    let flat = series(&[8.0, 7.9, 8.1, 8.0, 7.9, 8.1, 8.0, 8.0]);
    assert_eq!(only(&flat).forecast, "refused");
    assert!(codes(only(&flat)).contains(&"slope-may-be-chance"));
    let step: Vec<f64> = [0.1, 0.0, 0.05, 0.0, 0.1, 0.0, 0.0, 0.1, 0.0, 0.05, 0.0, 0.1, 0.0, 0.0, 0.1, 0.0]
        .iter()
        .enumerate()
        .map(|(n, e)| if n < 8 { 20.0 + e } else { 17.0 + e })
        .collect();
    let found = series(&step);
    assert!(codes(only(&found)).contains(&"change-open"), "{found:?}");
    assert!(found.findings.iter().any(|f| f.weight == "open"));
    let none = series(&[]);
    assert!(none.summary.contains("no gauging on record") && none.points.is_empty());
}

#[test]
fn the_picture_shows_gaugings_line_bound_limit_and_breaks() {
    let shop = Writer::new(None).vector(|w, n| {
        if n == 2 {
            w.clean();
        }
    });
    let found = drift(&shop, &asked(Some("recessed 3um")));
    let svg = drift_picture(&found);
    for part in ["gaugings", "prediction bound", "recessed 3 µm", "cleaned", "forecast", "mates of the end"]
    {
        assert!(svg.contains(part), "expected {part} in: {svg}");
    }
    assert_eq!(svg.matches("r=\"4\"").count(), 9, "eight gaugings and the key");
    let empty = drift_picture(&drift(&Writer::new(None).done(), &asked(None)));
    assert!(!empty.contains("NaN"));
}

#[test]
fn options_that_are_not_understood_are_named() {
    let shop = Writer::new(None).done();
    let refused = |asked: DriftAsked, name: &str, part: &str| {
        let error = shop.drift("CB-1A", &asked, NOW).unwrap_err();
        assert!(matches!(&error, AppError::Field { field, .. } if *field == name), "{error}");
        assert!(error.to_string().contains(part), "{error}");
    };
    refused(asked(Some("3um")), "limit", "recessed 3um");
    refused(asked(Some("recessed -3um")), "limit", "zero or more");
    refused(asked(Some("recessed 3")), "limit", "unit");
    refused(DriftAsked { confidence: Some("1".to_owned()), ..asked(None) }, "confidence", "between 0 and 1");
    refused(DriftAsked { cleaning: Some("maybe".to_owned()), ..asked(None) }, "cleaning", "breaks or keeps");
    let unknown = DriftAsked { gauge: Some("GA-9".to_owned()), ..asked(None) };
    assert!(matches!(shop.drift("CB-1A", &unknown, NOW), Err(AppError::UnknownTag { .. })));
}

fn recessed(um: f64) -> PinPosition {
    PinPosition::recessed(Length::from_micrometres(um).unwrap()).unwrap()
}

#[test]
fn a_look_by_eye_is_no_point_of_the_series() {
    let shop = Writer::new(None).vector(|w, n| {
        if n == 4 {
            let by_eye = GaugingSession { method: Some(GaugeMethod::Eye), ..GaugingSession::default() };
            w.gauge_in(40.0, GAUGE, Some(by_eye));
        }
    });
    let found = drift(&shop, &asked(Some("recessed 3um")));
    assert_eq!(found.points.len(), 8);
    assert!((only(&found).at_mates.unwrap() - 642.92).abs() < 0.005);
    assert!(found.findings.iter().any(|f| f.code == "coarse-left-out" && f.text.contains("left out: 1")));
}

#[test]
fn a_session_whose_zero_moved_is_no_point_of_the_series() {
    let shop = Writer::new(Some(0.5)).vector(|w, n| {
        if n == 4 {
            let moved = GaugingSession {
                zero_before: vec![recessed(0.0); 2],
                zero_after: vec![recessed(9.0); 2],
                ..GaugingSession::default()
            };
            w.gauge_in(40.0, GAUGE, Some(moved));
        }
    });
    let found = drift(&shop, &asked(Some("recessed 3um")));
    assert_eq!(found.points.len(), 8);
    assert!(found.findings.iter().any(|f| f.code == "void-left-out"), "{:?}", found.findings);
}

/// By the zero of the session: what the gauge shows on its master is taken off.
#[test]
fn zeros_of_sessions_are_taken_off_and_charted() {
    let mut writer = Writer::new(None);
    for (reading, zero) in [(8.4, 0.4), (8.6, 0.6), (8.5, 0.5)] {
        writer.mates(10);
        let session = GaugingSession {
            zero_before: vec![recessed(zero); 2],
            zero_after: vec![recessed(zero)],
            ..GaugingSession::default()
        };
        writer.gauge_in(reading, GAUGE, Some(session));
    }
    let shop = writer.done();
    let found = drift(&shop, &asked(None));
    assert!(found.points.iter().all(|p| (p.distance_um - 8.0).abs() < 1e-9), "{:?}", found.points);
    let asked = ChartAsked { tool: Some("GA-1".to_owned()), ..ChartAsked::default() };
    let chart = shop.chart_study(&asked, NOW).unwrap().value;
    let values: Vec<f64> = chart.points.iter().map(|p| (p.value * 10.0).round() / 10.0).collect();
    assert_eq!(values, [0.4, 0.4, 0.6, 0.6, 0.5, 0.5]);
    assert!(chart.points[1].label.ends_with("after a gauging"));
}
