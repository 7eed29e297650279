//! Values of books, standards and papers.

use super::{exact, ghz, line, mm, or_nan, um};
use crate::{
    JointGeometry, Line, LineError, characteristic_impedance, constants, gap_reflection,
    inner_step_capacitance, magnitude_from_impedances, skin_depth, slotted_contact_impedance_change,
    te11_cutoff,
};
use matewell_published::{Check, Grade};

fn te11_sum(ratio: f64) -> f64 {
    // k_c (a + b) = 2π f_c (a + b)/c with a = 1 mm.
    or_nan((|| {
        let cutoff = te11_cutoff(&line(2.0 * ratio, 2.0, 1.0)?)?.value().hertz();
        Ok(2.0 * std::f64::consts::PI * cutoff * 1e-3 * (1.0 + ratio) / constants::SPEED_OF_LIGHT_M_PER_S)
    })())
}

fn impedance(outer: f64, inner: f64, er: f64) -> f64 {
    or_nan((|| Ok(characteristic_impedance(&line(outer, inner, er)?)?.value().ohms()))())
}

/// A joint as the mode-matching run had it: 50 Ω in standard air by its
/// diameters, and vacuum in between.
fn gap(outer: f64, pin: f64, gap_um: f64, f_ghz: f64) -> f64 {
    or_nan((|| {
        let inner = outer / 2.302_926_713_37;
        let joint = JointGeometry::new(Line::new(mm(outer)?, mm(inner)?)?, mm(pin)?)?;
        let answer = gap_reflection(&joint, um(gap_um)?, ghz(f_ghz)?, 0)?;
        Ok(answer.value.magnitude.value())
    })())
}

fn skin(conductivity: f64) -> f64 {
    or_nan((|| Ok(skin_depth(ghz(10.0)?, &exact(conductivity)?)?.value().micrometres()))())
}

fn constants_and_lines() -> Vec<Check> {
    let remembered = |source, locator, quantity, printed, ours| {
        Check::printed(source, locator, quantity, printed, ours, Grade::FromMemory)
    };
    vec![
        remembered(
            "codata-2022",
            "vacuum electric permittivity",
            "1/(mu0 c^2) in F/m",
            "8.8541878188e-12",
            constants::EPSILON_0_F_PER_M,
        ),
        remembered(
            "codata-2022",
            "characteristic impedance of vacuum",
            "mu0 c in ohms",
            "376.730313412",
            constants::ETA_0_OHM,
        ),
        Check::printed(
            "coax-1-manual",
            "factor in front of the logarithm",
            "eta0/2 pi in ohms",
            "59.95849160",
            constants::K_OHM,
            Grade::Published,
        )
        .within(2e-8, "the manual uses the magnetic constant as it was exact before 2019"),
        Check::printed(
            "coax-calc-example",
            "example 1.52e-3 3.5e-3 with permittivity 1.00022",
            "impedance in ohms",
            "50.000",
            impedance(3.5, 1.52, 1.000_22),
            Grade::Published,
        )
        .within(
            0.005,
            "the example does not show its constants and prints 3 mohm less than the formula gives",
        ),
        remembered(
            "marcuvitz-1951",
            "table of roots, coaxial guide, ratio 2",
            "TE11 kc (a + b)",
            "2.031",
            te11_sum(2.0),
        )
        .within(0.002, "remembered to about two units of its last digit"),
        remembered(
            "marcuvitz-1951",
            "table of roots, coaxial guide, ratio 3",
            "TE11 kc (a + b)",
            "2.056",
            te11_sum(3.0),
        )
        .within(0.002, "remembered to about two units of its last digit"),
        remembered(
            "marcuvitz-1951",
            "table of roots, coaxial guide, ratio 4",
            "TE11 kc (a + b)",
            "2.055",
            te11_sum(4.0),
        )
        .within(0.002, "remembered to about two units of its last digit"),
        remembered(
            "pozar-2012",
            "skin depth example, aluminium 3.816e7 S/m at 10 GHz",
            "skin depth in um",
            "0.814",
            skin(3.816e7),
        )
        .within(0.001, "remembered as 0.814, where rounding would give 0.815"),
        remembered(
            "pozar-2012",
            "skin depth example, copper 5.813e7 S/m at 10 GHz",
            "skin depth in um",
            "0.660",
            skin(5.813e7),
        ),
        remembered(
            "pozar-2012",
            "skin depth example, gold 4.098e7 S/m at 10 GHz",
            "skin depth in um",
            "0.786",
            skin(4.098e7),
        ),
        remembered(
            "pozar-2012",
            "skin depth example, silver 6.173e7 S/m at 10 GHz",
            "skin depth in um",
            "0.640",
            skin(6.173e7),
        )
        .within(0.001, "remembered as 0.640, where rounding would give 0.641"),
        remembered(
            "mackenzie-sanderson-1966",
            "coefficient of N (w/d)^2",
            "slot coefficient in ohms",
            "6.075",
            or_nan((|| Ok(slotted_contact_impedance_change(1, mm(0.1)?, mm(1.0)?)?.value().ohms() * 100.0))()),
        ),
    ]
}

fn whole_wave() -> Vec<Check> {
    let own = |quantity, printed: &'static str, ours| {
        let row = Check::printed(
            "own full-wave mode matching",
            "stored figures",
            quantity,
            printed,
            ours,
            Grade::Own,
        );
        let allowed = 0.015 * row.printed_value();
        row.within(allowed, "closed form with radial line against full wave: 1.5 % is claimed")
    };
    let mut all = vec![
        own("|S11| of 25 um in 3.5 mm at 10 GHz", "0.0015728", gap(3.5, 0.927, 25.0, 10.0)),
        own("|S11| of 25 um in 3.5 mm at 26.5 GHz", "0.0042227", gap(3.5, 0.927, 25.0, 26.5)),
        own("|S11| of 50 um in 3.5 mm at 26.5 GHz", "0.0085524", gap(3.5, 0.927, 50.0, 26.5)),
        own("|S11| of 25 um in 2.92 mm at 40 GHz", "0.0040642", gap(2.92, 0.927, 25.0, 40.0)),
        own("|S11| of 25 um in 2.4 mm at 18 GHz", "0.0040988", gap(2.4, 0.511, 25.0, 18.0)),
        own("|S11| of 25 um in 2.4 mm at 50 GHz", "0.0118871", gap(2.4, 0.511, 25.0, 50.0)),
        own("|S11| of 25 um in 1.85 mm at 65 GHz", "0.0096825", gap(1.85, 0.511, 25.0, 65.0)),
        own("|S11| of 10 um in 1.0 mm at 110 GHz", "0.0079483", gap(1.0, 0.250, 10.0, 110.0)),
        own("|S11| of 25 um in N at 18 GHz", "0.0035958", gap(7.0, 1.651, 25.0, 18.0)),
        own("|S11| of 100 um in N at 18 GHz", "0.0146935", gap(7.0, 1.651, 100.0, 18.0)),
    ];
    all.push(
        Check::printed(
            "s-parameter-metrology-list",
            "neglecting the connector in 2.4 mm costs 0.01 to 0.02",
            "|S11| of 25 um in 2.4 mm at 50 GHz",
            "0.015",
            gap(2.4, 0.511, 25.0, 50.0),
            Grade::Published,
        )
        .within(0.005, "the source gives a range of orders, not a number"),
    );
    all
}

fn steps() -> Vec<Check> {
    let claim = |small: f64, large: f64, outer: f64, quantity, printed: &'static str| {
        let ours: Result<f64, LineError> =
            (|| Ok(inner_step_capacitance(mm(small)?, mm(large)?, mm(outer)?, 1.0)?.value * 1e15))();
        // 0.3 fF per cm of outer circumference.
        let allowed = 0.3 * std::f64::consts::PI * outer / 10.0;
        Check::printed(
            "own full-wave mode matching",
            "static limit, stored figures",
            quantity,
            printed,
            or_nan(ours),
            Grade::Own,
        )
        .within(allowed, "the formula claims 0.3 fF per cm of circumference")
    };
    vec![
        claim(2.0, 4.0, 8.0, "inner step, radii 1, 2, 4 mm, in fF", "27.64142"),
        claim(2.0, 3.0, 4.6, "inner step, radii 1, 1.5, 2.3 mm, in fF", "19.58159"),
        claim(0.927, 1.52, 3.5, "inner step, 0.927/1.52/3.5 mm, in fF", "6.11171"),
        claim(2.0, 2.4, 6.0, "inner step, radii 1, 1.2, 3 mm, in fF", "2.25060"),
        Check::printed(
            "pozar-2012",
            "definition of the reflection coefficient",
            "|Gamma| of 75 ohm on 50 ohm",
            "0.2",
            or_nan((|| Ok(magnitude_from_impedances(&exact(75.0)?, &exact(50.0)?)?.value()))()),
            Grade::ClosedForm,
        )
        .within(1e-15, "exact; the tolerance is narrower than the printed digit"),
    ]
}

pub(super) fn checks() -> Vec<Check> {
    let mut all = constants_and_lines();
    all.extend(whole_wave());
    all.extend(steps());
    all
}
