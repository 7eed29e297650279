//! Do we reproduce it? Values of the format's examples, of scikit-rf and SciPy,
//! and closed forms.
//!
//! The numbered examples of the Touchstone specification were read in the copies
//! that scikit-rf keeps among its tests; the specification itself was not read.

use std::f64::consts::TAU;

use matewell_published::{Check, Grade};
use num_complex::Complex64;

use crate::cable;
use crate::error::NetworkError;
use crate::gate::Gate;
use crate::reconnect::{Sample, Spread, coverage_factor, two_sample};
use crate::sanity::{initial_metrics, largest_singular_values};
use crate::sweep::Sweep;
use crate::touchstone::{ReadOptions, Reading, Strictness, read};
use crate::transform::{Fourier, FromDc, from_dc, reach};
use crate::window::{Mode, Window, gain, half_height_width};

const FORMAT: &str = "touchstone-2.0";
const SCIKIT: &str = "scikit-rf 2.2.0";
const SCIPY: &str = "SciPy 1.17.1";
const NONE: Complex64 = Complex64::new(f64::NAN, f64::NAN);

const EXAMPLE_9: &str =
    "# MHz Z MA R 75\n100 0.99 -4\n200 0.80 -22\n300 0.707 -45\n400 0.40 -62\n500 0.01 -89\n";
const EXAMPLE_10: &str = "[Version] 2.0\n# MHz Z MA\n[Number of Ports] 1\n[Number of Frequencies] 5\n\
    [Reference] 20.0\n[Network Data]\n100 74.25 -4\n200 60 -22\n300 53.025 -45\n400 30 -62\n500 0.75 -89\n[End]\n";
const EXAMPLE_5_6: &str = "[Version] 2.0\n# GHz S MA R 50\n[Number of Ports] 4\n[Number of Frequencies] 1\n\
    [Reference] 50 75\n0.01 0.01\n[Matrix Format] Lower\n[Network Data]\n5.00000 0.60 161.24 !row 1\n\
    0.40 -42.20 0.60 161.20 !row 2\n0.42 -66.58 0.53 -79.34 0.60 161.24 !row 3\n\
    0.53 -79.34 0.42 -66.58 0.40 -42.20 0.60 161.24 !row 4\n[End]\n";
const EXAMPLE_11: &str = "# kHz H MA R 1\n2 .95 -26 3.57 157 .04 76 .66 -14\n";
const EXAMPLE_12: &str = "[Version] 2.0\n# kHz H MA R 1\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n\
    [Number of Frequencies] 1\n[Matrix Format] Full\n[Network Data]\n2 .95 -26 3.57 157 .04 76 .66 -14\n[End]\n";
const EXAMPLE_13: &str = "# GHz S RI R 50.0\n\
    1.0000 0.3926 -0.1211 -0.0003 -0.0021 -0.0003 -0.0021 0.3926 -0.1211\n\
    2.0000 0.3517 -0.3054 -0.0096 -0.0298 -0.0096 -0.0298 0.3517 -0.3054\n\
    10.000 0.3419 0.3336 -0.0134 0.0379 -0.0134 0.0379 0.3419 0.3336\n";
const EXAMPLE_14: &str = "# GHz S MA R 50\n\
    5.00000 0.60 161.24 0.40 -42.20 0.42 -66.58 0.53 -79.34\n0.40 -42.20 0.60 161.20 0.53 -79.34 0.42 -66.58\n\
    0.42 -66.58 0.53 -79.34 0.60 161.24 0.40 -42.20\n0.53 -79.34 0.42 -66.58 0.40 -42.20 0.60 161.24\n\
    7.00000 0.50 136.69 0.45 -46.41 0.37 -99.09 0.62 -114.19\n0.45 -46.41 0.50 136.69 0.62 -114.19 0.37 -99.09\n\
    0.37 -99.09 0.62 -114.19 0.50 136.69 0.45 -46.41\n0.62 -114.19 0.37 -99.09 0.45 -46.41 0.50 136.69\n";
const EXAMPLE_16: &str = "[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 6\n[Number of Frequencies] 1\n\
    [Reference] 50 75 75 50 0.01 0.01\n[Mixed-Mode Order] D2,3 D6,5 C2,3 C6,5 S4 S1\n[Network Data]\n\
    5.00 8.0 9.0 2.0 -1.0 3.0 -2.0 1.0 3.0 1.0 0.1 0.2 -0.2\n2.0 -1.0 7.0 7.0 1.8 -2.0 -1.0 -1.0 -0.5 0.5 0.2 -0.1\n\
    3.0 -2.0 1.8 -2.0 5.8 6.0 1.2 0.8 0.9 0.7 0.3 -0.5\n1.0 3.0 -1.0 -1.0 1.2 0.8 6.3 8.0 2.0 -0.5 1.5 0.6\n\
    1.0 0.1 -0.5 0.5 0.9 0.7 2.0 -0.5 4.7 -6.0 -1.0 2.0\n0.2 -0.2 0.2 -0.1 0.3 -0.5 1.5 0.6 -1.0 2.0 5.5 -7.0\n[End]\n";
const EXAMPLE_18: &str = "#\n2 .95 -26 3.57 157 .04 76 .66 -14\n22 .60 -144 1.30 40 .14 40 .56 -85\n\
    4 .7 .64 69 .38\n18 2.7 .46 -33 .40\n";

/// Every published value beside ours.
pub fn checks() -> Vec<Check> {
    let mut list = format_examples();
    list.extend(time_domain());
    list.extend(sanity());
    list.extend(statistics());
    list.extend(closed_forms());
    list
}

fn lenient(text: &str) -> Option<Reading> {
    read(text.as_bytes(), &ReadOptions { strictness: Strictness::Lenient, ports_from_name: None }).ok()
}

fn value(text: &str, point: usize, to: usize, from: usize) -> Complex64 {
    lenient(text)
        .and_then(|r| r.content.to_sweep().ok())
        .and_then(|s| s.trace(to, from).ok())
        .and_then(|t| t.get(point).copied())
        .unwrap_or(NONE)
}

fn degrees(v: Complex64) -> f64 {
    v.arg().to_degrees()
}

fn format_examples() -> Vec<Check> {
    let mut list = Vec::new();
    let mut row = |locator, quantity, printed, ours| {
        list.push(Check::printed(FORMAT, locator, quantity, printed, ours, Grade::Published));
    };
    // Version 1 prints Z over R = 75 Ω, version 2 the ohms themselves.
    for (point, magnitude, angle) in
        [(0, "74.25", "-4"), (1, "60", "-22"), (2, "53.025", "-45"), (3, "30", "-62"), (4, "0.75", "-89")]
    {
        for (text, reference, locator) in [
            (EXAMPLE_9, 75.0, "example 9 read, example 10 printed"),
            (EXAMPLE_10, 20.0, "example 10 read and printed"),
        ] {
            let s = value(text, point, 1, 1);
            let z = (s + 1.0) / (-s + 1.0) * reference;
            row(locator, "|Z11|, Ω", magnitude, z.norm());
            row(locator, "angle of Z11, °", angle, degrees(z));
        }
    }
    row("example 13", "Re S21 at 2 GHz", "-0.0096", value(EXAMPLE_13, 1, 2, 1).re);
    row("example 13", "Im S12 at 2 GHz", "-0.0298", value(EXAMPLE_13, 1, 1, 2).im);
    row("example 13", "Re S22 at 10 GHz", "0.3419", value(EXAMPLE_13, 2, 2, 2).re);
    row("example 14", "|S24| at 7 GHz", "0.37", value(EXAMPLE_14, 1, 2, 4).norm());
    row("example 14", "angle of S24 at 7 GHz, °", "-99.09", degrees(value(EXAMPLE_14, 1, 2, 4)));
    row("example 14", "angle of S22 at 5 GHz, °", "161.20", degrees(value(EXAMPLE_14, 0, 2, 2)));
    row("examples 5 and 6", "|S14| at 5 GHz, mirrored", "0.53", value(EXAMPLE_5_6, 0, 1, 4).norm());
    row("examples 5 and 6", "angle of S23 at 5 GHz, °", "-79.34", degrees(value(EXAMPLE_5_6, 0, 2, 3)));
    let reading = lenient(EXAMPLE_5_6);
    let reference = |k: usize| {
        reading.as_ref().and_then(|r| r.content.header().references.get(k).copied()).unwrap_or(f64::NAN)
    };
    row("example 6", "reference of port 2, Ω", "75", reference(1));
    row("example 6", "reference of port 4, Ω", "0.01", reference(3));
    row("example 16", "Re S44 (single-ended)", "4.7", value(EXAMPLE_16, 0, 4, 4).re);
    row("example 16", "Im S11 (single-ended)", "-7.0", value(EXAMPLE_16, 0, 1, 1).im);
    row("example 18", "|S21| at 2 GHz", "3.57", value(EXAMPLE_18, 0, 2, 1).norm());
    row("example 18", "angle of S12 at 22 GHz, °", "40", degrees(value(EXAMPLE_18, 1, 1, 2)));
    let noise = |k: usize| {
        lenient(EXAMPLE_18)
            .and_then(|r| r.content.noise().get(k).map(|n| r.content.noise_resistance(n)))
            .unwrap_or(f64::NAN)
    };
    row("example 18 read, example 17 printed", "noise resistance at 4 GHz, Ω", "19", noise(0));
    row("example 18 read, example 17 printed", "noise resistance at 18 GHz, Ω", "20", noise(1));
    let both = value(EXAMPLE_11, 0, 2, 1) - value(EXAMPLE_12, 0, 2, 1);
    row("examples 11 and 12", "|S21 − S21|, the same network", "0.0000", both.norm());
    list
}

fn uniform(first: f64, last: f64, points: usize) -> Vec<f64> {
    (0..points).map(|k| first + (last - first) * k as f64 / (points - 1) as f64).collect()
}

fn reflectors(frequencies: &[f64], list: &[(f64, f64)]) -> Vec<Complex64> {
    frequencies
        .iter()
        .map(|f| list.iter().map(|(a, t)| Complex64::from_polar(*a, -TAU * f * t)).sum())
        .collect()
}

fn trace(list: &[(f64, f64)], last: f64, points: usize) -> FromDc {
    let f = uniform(0.0, last, points);
    FromDc { step: last / (points - 1) as f64, values: reflectors(&f, list), dc_doubt: None }
}

fn peak<T>(values: &[T], size: impl Fn(&T) -> f64) -> f64 {
    values.iter().map(size).fold(f64::NEG_INFINITY, |a, b| if b > a { b } else { a })
}

fn time_domain() -> Vec<Check> {
    let mut list = Vec::new();
    let mut fourier = Fourier::new();
    let mut row = |source, locator, quantity, printed, ours| {
        list.push(Check::printed(source, locator, quantity, printed, ours, Grade::Independent));
    };
    let one = trace(&[(0.1, 6.2e-9)], 10e9, 1001);
    let f = uniform(1e9, 10e9, 901);
    let s = reflectors(&f, &[(0.1, 6.2e-9)]);
    for (window, in_low_pass, in_band_pass) in [
        (Window::Rectangular, "0.0993688858766", None),
        (Window::Hamming, "0.0538584020971", Some("0.0531895327571")),
        (Window::Kaiser(6.0), "0.0498949286554", Some("0.0493533504786")),
        (Window::Kaiser(13.0), "0.0343849508393", None),
    ] {
        let weights = gain(&window.weights(1001, Mode::LowPass), Mode::LowPass);
        let ours = fourier.impulse(&one, window).map_or(f64::NAN, |r| peak(&r.values, |v| *v));
        row(SCIKIT, "impulse_response", "peak times window gain, Γ = 0.1", in_low_pass, ours * weights);
        if let Some(printed) = in_band_pass {
            let weights = gain(&window.weights(901, Mode::BandPass), Mode::BandPass);
            let ours = fourier.band_pass(&f, &s, window).map_or(f64::NAN, |r| peak(&r.values, |v| v.norm()));
            row(SCIKIT, "impulse_response(bandpass)", "peak times window gain", printed, ours * weights);
        }
    }
    for (window, printed) in [
        (Window::Hamming, "0.54022988506"),
        (Window::Kaiser(6.0), "0.50026706348"),
        (Window::Kaiser(13.0), "0.34431345187"),
    ] {
        let ours = gain(&window.weights(1001, Mode::LowPass), Mode::LowPass);
        row(SCIPY, "signal.get_window", "window gain, 1001 points", printed, ours);
    }
    let f = uniform(0.0, 26.5e9, 2651);
    let values = f
        .iter()
        .map(|f| {
            let z = Complex64::new(0.0, TAU * f * 5.9e-12 / 50.0);
            z / (z + 2.0) * Complex64::from_polar(1.0, -TAU * f * 6.2e-9)
        })
        .collect();
    let joint = FromDc { step: 10e6, values, dc_doubt: None };
    let step = fourier.step(&joint, Window::Kaiser(6.0));
    let (mut area, mut top) = (f64::NAN, f64::NAN);
    if let Ok(step) = step {
        top = peak(&step.values, |v| *v);
        area = step
            .values
            .iter()
            .enumerate()
            .filter(|(k, _)| (step.time(*k) - 6.2e-9).abs() < 0.5e-9)
            .map(|(_, v)| v * step.step)
            .sum();
    }
    row(SCIKIT, "step_response, 5.9 pH", "peak", "0.00129345686699", top);
    row(SCIKIT, "step_response, 5.9 pH", "area, s", "5.899985665e-14", area);
    list
}

fn sanity() -> Vec<Check> {
    let mut list = Vec::new();
    let mut row = |locator, quantity, printed, ours| {
        list.push(Check::printed(SCIKIT, locator, quantity, printed, ours, Grade::Independent));
    };
    let turn = Complex64::from_polar(1.02, 0.01);
    let plain = line_two_port();
    let unequal: Vec<Complex64> =
        plain.iter().enumerate().map(|(k, v)| if k % 4 == 1 { v * turn } else { *v }).collect();
    let larger: Vec<Complex64> = plain.iter().map(|v| v * 1.12).collect();
    let mirrored: Vec<Complex64> = plain.iter().map(Complex64::conj).collect();
    let metrics = |s: Vec<Complex64>| {
        two_port(s)
            .and_then(|s| initial_metrics(&s))
            .map_or([f64::NAN; 3], |m| [m.passivity, m.reciprocity, m.causality])
    };
    let locator = "IEEEP370_FD_QM, lossy line";
    row(locator, "passivity metric times 1.12, %", "31.07552184", metrics(larger.clone())[0]);
    row(locator, "reciprocity metric, S12 times 1.02, %", "78.97683963", metrics(unequal.clone())[1]);
    row(locator, "passivity metric, S12 times 1.02, %", "99.68771817", metrics(unequal)[0]);
    row(locator, "causality metric, conjugate, %", "0.0", metrics(mirrored)[2]);
    row(locator, "causality metric, %", "100.0", metrics(plain)[2]);
    let sigma = two_port(larger).map_or(f64::NAN, |s| peak(&largest_singular_values(&s), |v| *v));
    row("NumPy linalg.svd, lossy line", "largest singular value times 1.12", "1.1113100773", sigma);
    list
}

fn line_two_port() -> Vec<Complex64> {
    uniform(0.2e9, 18e9, 90)
        .iter()
        .flat_map(|f| {
            let d = Complex64::from_polar((-0.08 * (f / 18e9).sqrt()).exp(), -TAU * f * 1e-9);
            let r = 0.1;
            let one = Complex64::new(1.0, 0.0);
            let den = one - d * d * (r * r);
            let (reflect, through) = ((one - d * d) * r / den, d * (1.0 - r * r) / den);
            [reflect, through, through, reflect]
        })
        .collect()
}

fn two_port(s: Vec<Complex64>) -> Result<Sweep, NetworkError> {
    Sweep::new(uniform(0.2e9, 18e9, 90), vec![50.0, 50.0], s)
}

/// Two samples whose T² SciPy computed; seeded random numbers of
/// `crosscheck/network/make.py`.
const FIRST: [[f64; 2]; 8] = [
    [0.484_545_480_432_274_4, 0.142_505_679_746_536_08],
    [0.765_368_924_629_669_8, 0.673_030_353_278_965_8],
    [-1.837_706_847_983_393, -0.037_233_511_260_799_66],
    [0.379_103_673_359_397_5, -0.208_726_582_577_282_8],
    [-1.972_635_737_751_873_5, -0.386_129_744_643_077_9],
    [-1.118_942_121_014_539_2, 0.237_765_158_673_561_18],
    [-2.325_794_577_937_660_5, 0.302_020_701_495_551_4],
    [-0.609_942_159_128_386_5, -0.226_539_447_370_578],
];
const SECOND: [[f64; 2]; 9] = [
    [1.695_987_256_101_929_1, -0.462_364_875_818_420_84],
    [2.246_649_394_649_504_8, -1.467_175_939_876_216_5],
    [-0.583_513_545_574_667_3, -0.211_265_175_378_029_55],
    [1.429_805_941_840_771, -0.448_864_982_795_298_6],
    [0.630_130_773_206_052_4, -0.976_646_142_986_050_2],
    [1.825_837_867_848_505_7, 0.209_399_600_277_102_8],
    [-1.232_935_394_758_984_5, -0.936_074_079_136_316_5],
    [1.453_800_418_462_565_7, -1.047_345_768_277_813_6],
    [1.106_834_195_506_125_8, -0.799_306_670_018_314_3],
];

fn statistics() -> Vec<Check> {
    let mut list = Vec::new();
    let mut row = |locator, quantity, printed, ours| {
        list.push(Check::printed(SCIPY, locator, quantity, printed, ours, Grade::Independent));
    };
    for (n, printed) in
        [(4, "7.54983"), (6, "4.16661"), (8, "3.46423"), (10, "3.16744"), (16, "2.83053"), (30, "2.63047")]
    {
        let ours = coverage_factor(n, 2).unwrap_or(f64::NAN);
        row("stats.f.ppf", "95 % coverage factor of a complex value", printed, ours);
    }
    let sample = |rows: &[[f64; 2]]| Sample::new(&rows.iter().map(|r| r.to_vec()).collect::<Vec<_>>());
    let (Ok(a), Ok(b)) = (sample(&FIRST), sample(&SECOND)) else {
        return list;
    };
    if let Ok(t) = two_sample(&a, &b, Spread::Equal) {
        row("T² by NumPy", "T², equal spread", "23.212798089", t.t_squared);
        row("stats.f.sf", "p, equal spread", "0.00143607438672", t.p);
    }
    if let Ok(t) = two_sample(&a, &b, Spread::Unequal) {
        row("T² by NumPy", "T², unequal spread", "24.312028725", t.t_squared);
        row("Krishnamoorthy–Yu by NumPy", "ν − p + 1", "13.600533807", t.degrees_of_freedom);
        row("stats.f.sf", "p, unequal spread", "0.00127345297228", t.p);
    }
    list
}

fn closed_forms() -> Vec<Check> {
    let mut list = Vec::new();
    let mut row = |check: Check| list.push(check);
    let closed = |locator, quantity, printed, ours| {
        Check::printed("closed form", locator, quantity, printed, ours, Grade::ClosedForm)
    };
    let through = "# GHz H RI R 50\n1 0 0 -1 0 1 0 0 0\n";
    row(closed("ideal through, h = (0, 1, −1, 0)", "Re S21", "1.000000000000", value(through, 0, 2, 1).re));
    row(closed(
        "ideal through, h = (0, 1, −1, 0)",
        "|S11|",
        "0.000000000000",
        value(through, 0, 1, 1).norm(),
    ));
    let matched = "# GHz Y RI R 50\n1 1 0\n";
    row(closed("y = 1 is a match", "|S11|", "0.000000000000", value(matched, 0, 1, 1).norm()));
    let active = Sweep::new(vec![1e9], vec![50.0, 50.0], vec![Complex64::new(0.6, 0.0); 4]);
    let sigma = active.map_or(f64::NAN, |s| peak(&largest_singular_values(&s), |v| *v));
    row(closed("[[0.6, 0.6], [0.6, 0.6]]", "largest singular value", "1.2000000000", sigma));
    let two = trace(&[(0.05, 2e-9), (0.1, 6.2e-9)], 10e9, 1001);
    let gated = Fourier::new().gate_low_pass(&two, Gate::new(6.2e-9, 2e-9)).unwrap_or_default();
    let at = |k: usize| gated.get(k).map_or(f64::NAN, |v| v.norm());
    for (k, locator) in [(0, "at 0 Hz"), (500, "at 5 GHz"), (1000, "at 10 GHz")] {
        row(closed(locator, "|Γ| behind a gate, the other reflector outside", "0.100", at(k)));
    }
    let f: Vec<f64> = (1..=1000).map(|k| 10e6 * f64::from(k)).collect();
    let filled = from_dc(&f, &reflectors(&f, &[(0.1, 0.6e-9), (0.09, 1.2e-9)]), 1.2e-9);
    let dc = filled.ok().and_then(|t| t.values.first().map(|v| v.re)).unwrap_or(f64::NAN);
    row(closed("0.1 at 0.6 ns and 0.09 at 1.2 ns", "value at DC", "0.19000", dc));
    for (window, printed) in [
        (Window::Rectangular, "0.603"),
        (Window::Hamming, "0.908"),
        (Window::Kaiser(6.0), "0.978"),
        (Window::Kaiser(13.0), "1.388"),
    ] {
        let ours = half_height_width(window, Mode::LowPass).unwrap_or(f64::NAN);
        row(Check::printed(
            "window transform on a fine grid",
            "low-pass",
            "half-height width times highest frequency",
            printed,
            ours,
            Grade::Own,
        )
        .within(2e-3, "the highest frequency is N or N − 1 steps by either count: 1/401 of the width"));
    }
    let f: Vec<f64> = (1..=200).map(|k| 90e6 * f64::from(k)).collect();
    let seen = reach(&f, Window::Hamming, Mode::LowPass, 0.70);
    let (time, distance) =
        seen.map_or((f64::NAN, f64::NAN), |r| (r.alias_free_time * 1e9, r.alias_free_distance));
    row(closed("T = 1/Δf, Δf = 90 MHz", "alias-free time, ns", "11.1", time));
    row(closed("d = v/(2Δf), velocity factor 0.70", "alias-free distance, m", "1.17", distance));
    let loss = cable::loss_change(&[1e9, 4e9, 9e9, 16e9], &[0.01; 4], 50.0);
    let contact = loss.map_or(f64::NAN, |l| l.contact_resistance);
    row(closed("2 Z₀ (10^{0.01/20} − 1)", "contact resistance of 0.01 dB, Ω", "0.115", contact));
    let ripple = cable::ripple_peak_to_peak(0.1, 0.01) / 0.001;
    row(closed("40 log₁₀ e", "ripple over |Γ_a Γ_b|, dB", "17.37", ripple));
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_published_values_are_reproduced() {
        matewell_published::assert_all(&checks(), 80);
    }
}
