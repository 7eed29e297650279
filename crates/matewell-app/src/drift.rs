//! Is the pin of an end moving towards a limit?

use crate::{
    AppError, Workshop,
    error::field,
    studies::answer::{finding, finite, input, number_or, origin, short, study_error},
    workshop::Tags,
};
use matewell_lab::{
    Begun, Cleaning, ItemId, Moment, PinSeries, SeriesPoint, ToolRecord, end_record, pin_series, tool_record,
};
use matewell_picture::{Axis, Band, Break, Chart, Draw, Mark, Series};
use matewell_quantity::Length;
use matewell_study::{
    Approach, ChartState, Crossing, DriftForecast, DriftRequest, Polynomial, Refusal, chart_state,
    forecast_drift,
};
use matewell_verdict::{coarse_method, pin_knowledge};
use matewell_wire::{
    DriftAsked, DriftBandJson, DriftForecastJson, DriftJson, DriftPhaseJson, DriftPointJson, EndNameJson,
    Names, NumberJson, OriginJson, StudyFindingJson, moment_text,
};
use std::collections::{BTreeMap, BTreeSet, btree_map::Entry};

/// Points of the drawn band.
const BAND_POINTS: usize = 41;

/// A limit as a recession: above zero behind the plane.
struct Limit {
    words: String,
    recession_um: f64,
    approach: Approach,
    origin: OriginJson,
}

fn word(recession_um: f64) -> String {
    if recession_um < 0.0 { "protruding" } else { "recessed" }.to_owned()
}

fn position(recession_um: f64) -> String {
    format!("{} by {} µm", word(recession_um), short(recession_um.abs()))
}

/// `recessed 3um`, `protruding 2um`.
fn asked_limit(text: &str) -> Result<f64, AppError> {
    let expected = || {
        field("limit")(format!(
            "expected a word and a length such as \"recessed 3um\", found \"{}\"",
            text.trim()
        ))
    };
    let (word, length) = text.trim().split_once(char::is_whitespace).ok_or_else(expected)?;
    let length: Length = length.trim().parse().map_err(field("limit"))?;
    let um = length.micrometres();
    match word {
        _ if um < 0.0 => Err(field("limit")(format!(
            "expected a length of zero or more with the word, found \"{}\"",
            text.trim()
        ))),
        "recessed" => Ok(um),
        "protruding" => Ok(-um),
        _ => Err(expected()),
    }
}

fn refusal(refusal: &Refusal, slope_risk: f64) -> StudyFindingJson {
    match refusal {
        Refusal::TooFewPoints(found) => finding(
            "too-few",
            "open",
            format!(
                "Expected at least 5 gaugings in the last phase, found {found}: a line through fewer forecasts nothing."
            ),
        ),
        Refusal::SlopeNotSignificant(p) if p.is_finite() => finding(
            "slope-may-be-chance",
            "open",
            format!(
                "The slope may be chance (probability {}; one up to {} counts).",
                short(*p),
                short(slope_risk)
            ),
        ),
        Refusal::SlopeNotSignificant(_) => {
            finding("slope-may-be-chance", "open", "The pin shows no movement to forecast from.")
        }
        Refusal::SignalOpen => finding(
            "change-open",
            "open",
            "The gaugings show a change that no straight line explains. Find out what happened; a line over two states forecasts nothing.",
        ),
        Refusal::TooFarAhead { not_before } => finding(
            "too-far-ahead",
            "note",
            format!(
                "Not met before {} mates; further than one more span of the gaugings nothing is forecast.",
                short(*not_before)
            ),
        ),
    }
}

struct Chosen {
    confidence: f64,
    slope_risk: f64,
    cleaning: Cleaning,
    gauge: Option<ItemId>,
    limit: Option<f64>,
    inputs: Vec<NumberJson>,
}

impl Workshop {
    fn drift_chosen(&self, asked: &DriftAsked) -> Result<Chosen, AppError> {
        let mut inputs = Vec::new();
        let mut probability = |name, text: Option<&str>, default| {
            let value = number_or(name, text, default, &mut inputs)?;
            if 0.0 < value && value < 1.0 {
                Ok(value)
            } else {
                Err(field(name)(format!("expected a probability between 0 and 1, found {value}")))
            }
        };
        let confidence =
            probability("confidence", asked.confidence.as_deref(), (0.95, "one-sided; common practice"))?;
        let slope_risk = probability(
            "slope_risk",
            asked.slope_risk.as_deref(),
            (0.10, "two-sided; common practice, no source"),
        )?;
        let cleaning = match asked.cleaning.as_deref().map(str::trim) {
            None | Some("" | "breaks") => Cleaning::Breaks,
            Some("keeps") => Cleaning::Keeps,
            Some(other) => {
                return Err(field("cleaning")(format!("expected breaks or keeps, found \"{other}\"")));
            }
        };
        let gauge = asked.gauge.as_deref().filter(|g| !g.trim().is_empty());
        let gauge = gauge.map(|tag| self.one_item("a gauge", tag)).transpose()?;
        let limit = asked.limit.as_deref().filter(|l| !l.trim().is_empty()).map(asked_limit).transpose()?;
        Ok(Chosen { confidence, slope_risk, cleaning, gauge, limit, inputs })
    }

    /// Pin position against mates, and when a limit may be reached.
    ///
    /// # Errors
    ///
    /// Unknown or ambiguous labels; an option that is not understood.
    pub fn drift(&self, tag: &str, asked: &DriftAsked, at: Moment) -> Result<DriftJson, AppError> {
        let hit = self.one_end(tag)?;
        let Chosen { confidence, slope_risk, cleaning, gauge, limit, mut inputs } =
            self.drift_chosen(asked)?;
        let facts = self.store.facts_of_end(hit.end)?;
        let record = end_record(hit.end, &facts, at)
            .ok_or_else(|| AppError::UnknownTag { what: "an end", found: tag.trim().to_owned() })?;
        let mut series = pin_series(hit.end, &facts, at, gauge, cleaning);
        let mut findings = Vec::new();
        self.leave_out(&mut series, at, &mut findings)?;
        if cleaning == Cleaning::Keeps && series.cleanings > 0 {
            findings.push(finding(
                "cleanings-kept",
                "care",
                format!("{} cleanings lie within the series and do not break it, as asked: right only where the end is cleaned before every gauging.", series.cleanings),
            ));
        }
        let current = series.phases.len().saturating_sub(1);
        let last: Vec<&SeriesPoint> = series.points.iter().filter(|p| p.phase == current).collect();
        if series.phases.len() > 1 && last.len() < 5 {
            let by_cleaning = series.phases.iter().filter(|p| p.begun == Begun::Cleaned).count();
            if by_cleaning > 0 {
                findings.push(finding(
                    "broken-by-cleaning",
                    "note",
                    format!("{by_cleaning} of {} phases were begun by a cleaning. If the end is cleaned before every gauging, ask with cleaning kept.", series.phases.len()),
                ));
            }
        }
        let ages: Vec<f64> = last.iter().map(|p| f64::from(p.mates)).collect();
        let values: Vec<f64> = last.iter().map(|p| recession(p)).collect();
        let common = self.common_uncertainty(&last, at, &mut findings, &mut inputs)?;
        let chart = chart_state(&ages, &values).map_err(study_error)?;
        let limits = match limit {
            Some(recession_um) => vec![Limit {
                words: "the limit asked for".to_owned(),
                recession_um,
                approach: if values.last().is_some_and(|v| *v < recession_um) {
                    Approach::FromBelow
                } else {
                    Approach::FromAbove
                },
                origin: origin("asked", "limit", "asked"),
            }],
            None => self.limits_of(&record, &mut findings),
        };
        let mut forecasts = Vec::new();
        let mut fitted: Option<DriftForecast> = None;
        for limit in &limits {
            let request = DriftRequest {
                limit: limit.recession_um,
                approach: limit.approach,
                confidence,
                common_uncertainty: common,
                slope_risk,
                chart,
            };
            let found = forecast_drift(&ages, &values, &request).map_err(study_error)?;
            forecasts.push(forecast(limit, &found, ages.last().copied(), slope_risk));
            fitted.get_or_insert(found);
        }
        if chart == ChartState::SignalOpen {
            findings.push(refusal(&Refusal::SignalOpen, slope_risk));
        }
        let line = fitted.as_ref().and_then(|f| f.line.as_ref());
        let stands = forecasts.iter().any(|f| f.forecast != "refused");
        let band = line.map_or(Ok(Vec::new()), |l| band(l, confidence, stands))?;
        let names = Tags(&self.store);
        let slope = line.and_then(|l| Some((*l.coefficients().get(1)?, *l.standard_errors().get(1)?)));
        let end = EndNameJson::new(hit.end, &names);
        Ok(DriftJson {
            summary: summary(&end.tag, &series, &forecasts),
            end,
            at: moment_text(at),
            mates: series.mates,
            slope_um_per_100_mates: slope.and_then(|s| finite(100.0 * s.0)),
            u_slope_um_per_100_mates: slope.and_then(|s| finite(100.0 * s.1)),
            slope_probability: fitted.as_ref().and_then(|f| f.slope_probability).and_then(finite),
            scatter_um: line.and_then(|l| finite(l.regression().residual_standard_deviation())),
            forecasts,
            findings,
            inputs,
            phases: phases(&series),
            points: series.points.iter().map(|p| point(p, &names)).collect(),
            band,
            method: "A straight line through the means of the gaugings of the last phase over mates; the forecast is where \
                     the one-sided prediction bound meets the limit, less what all gaugings of one gauge share. A phase \
                     ends at a cleaning, a repair and a change of the gauge. No forecast for fewer than five gaugings, \
                     a slope that may be chance, an open change, or further ahead than the gaugings span."
                .to_owned(),
            source: "montgomery-runger-2011, 11-6; the rules of refusal are common practice, no source".to_owned(),
        })
    }

    /// Takes out what says nothing: sessions whose zero moved, and gaugings by
    /// eye or with a go/no-go block.
    fn leave_out(
        &self,
        series: &mut PinSeries,
        at: Moment,
        findings: &mut Vec<StudyFindingJson>,
    ) -> Result<(), AppError> {
        let book = self.book();
        let policy = book.policy();
        let mut gauges: BTreeMap<ItemId, Option<ToolRecord>> = BTreeMap::new();
        let (mut void, mut coarse) = (BTreeSet::new(), BTreeSet::new());
        for point in &series.points {
            let gauged = &point.gauging.gauged;
            let record = match gauged.gauge {
                None => None,
                Some(gauge) => {
                    if let Entry::Vacant(place) = gauges.entry(gauge) {
                        place.insert(tool_record(gauge, &self.store.facts_of_item(gauge)?, at));
                    }
                    gauges.get(&gauge).and_then(Option::as_ref)
                }
            };
            if coarse_method(gauged, record).is_some() {
                coarse.insert(point.gauging.fact);
            } else if pin_knowledge(Some(&point.gauging), record, &book, &policy)?.is_void() {
                void.insert(point.gauging.fact);
            }
        }
        series.points.retain(|p| !void.contains(&p.gauging.fact) && !coarse.contains(&p.gauging.fact));
        for (left_out, code, why) in [
            (void.len(), "void-left-out", "the zero moved during them"),
            (
                coarse.len(),
                "coarse-left-out",
                "by eye or with a go/no-go block they say only what is grossly wrong",
            ),
        ] {
            if left_out > 0 {
                findings.push(finding(code, "care", format!("Gaugings left out: {left_out}; {why}.")));
            }
        }
        Ok(())
    }

    /// What all gaugings with the gauge of the last phase share.
    fn common_uncertainty(
        &self,
        last: &[&SeriesPoint],
        at: Moment,
        findings: &mut Vec<StudyFindingJson>,
        inputs: &mut Vec<NumberJson>,
    ) -> Result<f64, AppError> {
        let Some(first) = last.first() else { return Ok(0.0) };
        let missing = |findings: &mut Vec<StudyFindingJson>, what: String| {
            findings.push(finding(
                "no-common-uncertainty",
                "care",
                format!(
                    "{what}: an error common to all gaugings is not taken off the distance to the limit."
                ),
            ));
        };
        let Some(gauge) = first.gauging.gauged.gauge else {
            missing(findings, "No gauge is on record".to_owned());
            return Ok(0.0);
        };
        let record = tool_record(gauge, &self.store.facts_of_item(gauge)?, at);
        let Some((tag, spec)) = record.and_then(|r| Some((r.item.tag, r.item.gauge?))) else {
            missing(findings, "The gauge is not on record as a gauge".to_owned());
            return Ok(0.0);
        };
        let Some(u) = spec.standard_uncertainty else {
            missing(findings, format!("{tag} has no standard uncertainty on record"));
            return Ok(0.0);
        };
        inputs.push(input(
            &format!("standard uncertainty shared by all gaugings with {tag}"),
            u.micrometres(),
            "um",
            origin("fact", "registration of the gauge", "lab"),
        ));
        Ok(u.micrometres())
    }

    /// The plane, and what the sheets say of this end.
    fn limits_of(
        &self,
        record: &matewell_lab::EndRecord,
        findings: &mut Vec<StudyFindingJson>,
    ) -> Vec<Limit> {
        let end = &record.end;
        let mut limits = vec![Limit {
            words: "the reference plane: beyond it the pin protrudes".to_owned(),
            recession_um: 0.0,
            approach: Approach::FromAbove,
            origin: origin("own", "a pin that protrudes may damage its partner", "common practice"),
        }];
        let rows = self.sheets.pin_limits(&end.interface, end.sex.word(), end.grade.word());
        if rows.is_empty() {
            findings.push(finding(
                "no-sheet-limit",
                "note",
                format!(
                    "No limit of recession is known for {}, {}, {} grade.",
                    end.interface,
                    end.sex.word(),
                    end.grade.word()
                ),
            ));
        }
        for row in rows {
            let origin = origin(&row.source, &row.locator, row.evidence.word());
            if row.evidence == matewell_sheets::Evidence::FromMemory {
                findings.push(finding(
                    "limit-from-memory",
                    "care",
                    format!("A limit is from memory: {}.", row.locator),
                ));
            }
            if row.recessed_min > 0.0 {
                limits.push(Limit {
                    words: "least recession".to_owned(),
                    recession_um: row.recessed_min,
                    approach: Approach::FromAbove,
                    origin: origin.clone(),
                });
            }
            limits.push(Limit {
                words: "most recession".to_owned(),
                recession_um: row.recessed_max,
                approach: Approach::FromBelow,
                origin,
            });
        }
        limits
    }
}

fn recession(point: &SeriesPoint) -> f64 {
    point.gauging.mean_recession_um().unwrap_or(f64::NAN)
}

fn forecast(limit: &Limit, found: &DriftForecast, last: Option<f64>, slope_risk: f64) -> DriftForecastJson {
    let mut json = DriftForecastJson {
        limit: limit.words.clone(),
        word: word(limit.recession_um),
        distance_um: limit.recession_um.abs(),
        origin: limit.origin.clone(),
        forecast: "refused".to_owned(),
        at_mates: None,
        further_mates: None,
        not_before_mates: None,
        line_at_mates: found.line_crossing.filter(|x| last.is_some_and(|l| *x >= l)).and_then(finite),
        refused_because: found.refusals.iter().map(|r| refusal(r, slope_risk)).collect(),
    };
    match (found.answer(), found.refusals.as_slice()) {
        (Some(Crossing::Reached), _) => "reached".clone_into(&mut json.forecast),
        (Some(Crossing::At(at)), _) => {
            "at".clone_into(&mut json.forecast);
            json.at_mates = Some(at);
            json.further_mates = last.map(|l| at - l);
        }
        (Some(Crossing::NotBefore(not_before)), _) => {
            "not-before".clone_into(&mut json.forecast);
            json.not_before_mates = Some(not_before);
        }
        (None, [Refusal::TooFarAhead { not_before }]) => {
            "not-before".clone_into(&mut json.forecast);
            json.not_before_mates = Some(*not_before);
        }
        (None, _) => {}
    }
    json
}

fn band(line: &Polynomial, confidence: f64, stands: bool) -> Result<Vec<DriftBandJson>, AppError> {
    let (first, last) = line.span();
    let end = if stands { last + (last - first) } else { last };
    (0..BAND_POINTS)
        .map(|n| {
            let mates = first + (end - first) * n as f64 / (BAND_POINTS - 1) as f64;
            let at = line.at(mates).map_err(study_error)?;
            let reach = at.one_sided_prediction(confidence).map_err(study_error)?;
            Ok(DriftBandJson {
                mates,
                recession_um: at.value,
                recession_low_um: at.value - reach,
                recession_high_um: at.value + reach,
            })
        })
        .collect()
}

fn phases(series: &PinSeries) -> Vec<DriftPhaseJson> {
    series
        .phases
        .iter()
        .enumerate()
        .map(|(number, phase)| DriftPhaseJson {
            phase: number + 1,
            begun_by: phase.begun.word().to_owned(),
            from: moment_text(phase.from),
            mates: phase.mates,
            gaugings: series.points.iter().filter(|p| p.phase == number).count(),
        })
        .collect()
}

fn point(point: &SeriesPoint, names: &dyn Names) -> DriftPointJson {
    let recession = recession(point);
    DriftPointJson {
        fact: point.gauging.fact.to_string(),
        at: moment_text(point.gauging.at),
        mates: point.mates,
        word: word(recession),
        distance_um: recession.abs(),
        readings: point.gauging.gauged.readings.len(),
        gauge: point.gauging.gauged.gauge.map(|g| names.item_tag(g)),
        phase: point.phase + 1,
    }
}

fn summary(tag: &str, series: &PinSeries, forecasts: &[DriftForecastJson]) -> String {
    let Some(last) = series.points.last().map(recession) else {
        return format!("{tag} has no gauging on record.");
    };
    let start = format!(
        "{tag}: gaugings {}, phases {}; the last one {} after {} mates.",
        series.points.len(),
        series.phases.len(),
        position(last),
        series.points.last().map_or(0, |p| p.mates)
    );
    let limit = |f: &DriftForecastJson| format!("{} ({} by {} µm)", f.limit, f.word, short(f.distance_um));
    if let Some(reached) = forecasts.iter().find(|f| f.forecast == "reached") {
        return format!("{start} The bound has reached {}.", limit(reached));
    }
    let soonest = forecasts
        .iter()
        .filter_map(|f| Some((f, f.at_mates?, f.further_mates?)))
        .min_by(|x, y| x.1.total_cmp(&y.1));
    if let Some((forecast, at, further)) = soonest {
        return format!(
            "{start} The bound meets {} at {at:.0} mates, {further:.0} from the last gauging.",
            limit(forecast)
        );
    }
    if forecasts.iter().any(|f| f.forecast == "not-before") {
        let not_before = forecasts
            .iter()
            .filter_map(|f| f.not_before_mates)
            .fold(f64::INFINITY, matewell_quantity::lesser);
        return format!("{start} No limit is met before {not_before:.0} mates.");
    }
    let why = forecasts
        .first()
        .and_then(|f| f.refused_because.first())
        .map(|f| f.text.as_str())
        .unwrap_or_default();
    format!("{start} No forecast: {why}")
}

/// The series with its line, band, limits and breaks as SVG.
pub fn drift_picture(drift: &DriftJson) -> String {
    let signed = |word: &str, distance: f64| if word == "protruding" { -distance } else { distance };
    let points: Vec<(f64, f64)> =
        drift.points.iter().map(|p| (f64::from(p.mates), signed(&p.word, p.distance_um))).collect();
    let of_band = |name: &str, pick: &dyn Fn(&DriftBandJson) -> f64| Series {
        name: name.to_owned(),
        points: drift.band.iter().map(|b| (b.mates, pick(b))).collect(),
        draw: Draw::Line,
    };
    let mut bounds = of_band("prediction bound", &|b| b.recession_high_um);
    bounds.points.push((f64::NAN, f64::NAN));
    bounds.points.extend(drift.band.iter().map(|b| (b.mates, b.recession_low_um)));
    let mut series = vec![Series { name: "gaugings".to_owned(), points, draw: Draw::Signs }];
    if !drift.band.is_empty() {
        series.push(of_band("line", &|b| b.recession_um));
        series.push(bounds);
    }
    // A limit far away from everything else would squeeze the rest.
    let reach = series
        .iter()
        .flat_map(|s| &s.points)
        .filter(|(_, y)| y.is_finite())
        .fold(0.0, |most: f64, (_, y)| matewell_quantity::greater(most, y.abs()));
    let marks = drift
        .forecasts
        .iter()
        .map(|f| Mark {
            name: if f.distance_um > 0.0 {
                format!("{} {} µm", f.word, short(f.distance_um))
            } else {
                "plane".to_owned()
            },
            at: signed(&f.word, f.distance_um),
        })
        .filter(|m| m.at.abs() <= 2.5 * reach)
        .collect();
    let breaks = drift
        .phases
        .iter()
        .skip(1)
        .map(|p| Break { name: p.begun_by.replace('-', " "), at: f64::from(p.mates) })
        .collect();
    let last = drift.points.last().map(|p| f64::from(p.mates));
    let ahead = drift.band.last().map(|b| b.mates);
    let bands = match (last, ahead) {
        (Some(last), Some(ahead)) if ahead > last => {
            vec![Band { name: "forecast".to_owned(), from: last, to: ahead }]
        }
        _ => Vec::new(),
    };
    Chart {
        title: format!("Pin position of {} over mates", drift.end.tag),
        description: drift.summary.clone(),
        x: Axis { label: "mates of the end".to_owned() },
        names: Vec::new(),
        y: Axis { label: "recessed in µm (below zero: protruding)".to_owned() },
        series,
        bands,
        marks,
        breaks,
    }
    .svg()
}
