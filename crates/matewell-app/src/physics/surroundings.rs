//! What the surroundings do: warmth, weather, slots.

use super::{
    answer::{Model, begin, none},
    geometry::ONE,
    read::{Reader, bad, line_error},
};
use crate::AppError;
use matewell_line::{
    Member, Uncertain, air_permittivity, characteristic_impedance, slotted_contact_impedance_change,
    thermal_gap_change,
};
use matewell_sheets::Sheets;
use matewell_uncertainty::Estimate;
use matewell_wire::{
    AirAsked, AirJson, LineAnswerJson, LineFindingJson, SlotsAsked, SlotsJson, ThermalAsked, ThermalJson,
};

/// Ways of writing a coefficient of linear expansion, in 1/K.
const EXPANSION: [(&str, f64); 3] = [("ppm/K", 1e-6), ("um/m/K", 1e-6), ("/K", 1.0)];

const THERMAL: Model = Model {
    question: "thermal",
    words: "growth of the outer conductor less that of the centre conductor, alpha L dT each, on one side of \
            the joint",
    source: "closed form: definition of the coefficient of linear expansion",
};

/// What does warming do to a pin gap?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn thermal(sheets: &Sheets, asked: &ThermalAsked) -> Result<LineAnswerJson<ThermalJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let outer = Member {
        length: reader.length("outer_length", &asked.outer_length, asked.u_outer_length.as_deref())?,
        expansion_per_k: reader.number(
            "outer_expansion",
            &asked.outer_expansion,
            asked.u_outer_expansion.as_deref(),
            "1/K",
            &EXPANSION,
        )?,
    };
    let inner = Member {
        length: reader.length("inner_length", &asked.inner_length, asked.u_inner_length.as_deref())?,
        expansion_per_k: reader.number(
            "inner_expansion",
            &asked.inner_expansion,
            asked.u_inner_expansion.as_deref(),
            "1/K",
            &EXPANSION,
        )?,
    };
    let rise = reader.number("rise", &asked.rise, asked.u_rise.as_deref(), "K", &[("K", 1.0)])?;
    let gap = asked.gap.as_deref().map(|g| reader.length("gap", g, asked.u_gap.as_deref())).transpose()?;
    let mut answer = begin(&THERMAL, &mut reader);
    let change = thermal_gap_change(&outer, &inner, &rise).map_err(line_error)?;
    let after = gap.as_ref().map(|gap| gap.plus(&change)).transpose().map_err(line_error)?;
    if let Some(after) = &after {
        let (value, u) = (after.value().micrometres(), after.standard_uncertainty().micrometres());
        if value <= 0.0 {
            answer.findings.push(LineFindingJson::note(
                "pins-would-touch",
                format!("the gap would be {value:.2} um: the pins would press on each other"),
            ));
        } else if value < 2.0 * u {
            answer.findings.push(LineFindingJson::note(
                "pins-may-touch",
                format!(
                    "the gap of {value:.2} um is less than twice its standard uncertainty of {u:.2} um: \
                     that the pins stay apart is not shown"
                ),
            ));
        }
    }
    answer.value = Some(ThermalJson::new(&change, after.as_ref()));
    Ok(answer)
}

const AIR: Model = Model {
    question: "air",
    words: "er = (1 + N 1e-6)^2 with the refractivity N of moist air; Z = 50 ohm/sqrt(er)",
    source: "itu-r-p453, refractivity formula; from memory",
};

/// What does moist air do to an air line?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn air(sheets: &Sheets, asked: &AirAsked) -> Result<LineAnswerJson<AirJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let degrees = [("degC", 1.0), ("\u{b0}C", 1.0), ("C", 1.0)];
    let temperature =
        reader.number("temperature", &asked.temperature, asked.u_temperature.as_deref(), "degC", &degrees)?;
    let pascals = [("hPa", 1.0), ("mbar", 1.0), ("kPa", 10.0), ("Pa", 0.01)];
    let pressure =
        reader.number("pressure", &asked.pressure, asked.u_pressure.as_deref(), "hPa", &pascals)?;
    let shares = [("%", 0.01), ("", 1.0)];
    let humidity = reader.number("humidity", &asked.humidity, asked.u_humidity.as_deref(), "1", &shares)?;
    let mut answer = begin(&AIR, &mut reader);
    let temperature = Uncertain::from_estimate(temperature).map_err(bad("temperature"))?;
    let er = answer.take(air_permittivity(&temperature, &pressure, &humidity).map_err(line_error)?);
    let value = er.value();
    let change = Estimate::combine(50.0 / value.sqrt() - 50.0, &[(-25.0 * value.powf(-1.5), &er)])?;
    answer.value = Some(AirJson::new(&er, &change));
    Ok(answer)
}

const SLOTS: Model = Model {
    question: "slots",
    words: "dZ = (eta0/2pi)/pi^2 N (w/d)^2 for N slots of width w that are deep against it, in a contact of \
            diameter d; |reflection| = dZ/2Z at each end of the slotted part",
    source: "own derivation (conformal map of a groove); the coefficient agrees with one remembered from \
             mackenzie-sanderson-1966",
};

/// What do the slots of a socket do?
///
/// # Errors
///
/// [`AppError::Field`] with what was expected and found.
pub fn slots(sheets: &Sheets, asked: &SlotsAsked) -> Result<LineAnswerJson<SlotsJson>, AppError> {
    let mut reader = Reader::new(sheets);
    let section = match reader.line(&asked.line(), &ONE)? {
        Ok(section) => section,
        Err(finding) => return Ok(none(&SLOTS, reader, &finding)),
    };
    let count = reader.ratio("slots", &asked.slots, None)?.value();
    let whole = (0..=64_u32).find(|n| (f64::from(*n) - count).abs() < 1e-9);
    let Some(whole) = whole else {
        return Err(bad("slots")(format!("expected a whole number from 0 to 64, found {count}")));
    };
    let width = reader.length("slot_width", &asked.slot_width, asked.u_slot_width.as_deref())?;
    let mut answer = begin(&SLOTS, &mut reader);
    let change =
        slotted_contact_impedance_change(whole, &width, section.line.inner()).map_err(bad("slot_width"))?;
    let z0 = characteristic_impedance(&section.line).map_err(line_error)?;
    let (dz, z) = (change.value().ohms(), z0.value().ohms());
    let reflection = Estimate::combine(
        dz / (2.0 * z),
        &[(0.5 / z, change.estimate()), (-dz / (2.0 * z * z), z0.estimate())],
    )?;
    answer.value = Some(SlotsJson::new(&change, &z0, &reflection));
    Ok(answer)
}
