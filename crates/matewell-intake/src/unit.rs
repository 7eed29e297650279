//! Units a table of readings may be in.

/// The units that are understood, for messages.
pub(crate) const KNOWN_UNITS: &str =
    "um, mm, nm, mil, in, N.m, cN.m, in.lbf, dB, ohm, mohm, ohm.cm, deg, %, V, mV, W, mW, Hz, degC, 1";

/// A unit as written, and what it is kept in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Unit {
    /// As people write it, in ASCII.
    pub(crate) name: &'static str,
    /// The unit that readings are kept in.
    pub(crate) base: &'static str,
    /// From the one to the other.
    pub(crate) factor: f64,
}

const fn unit(name: &'static str, base: &'static str, factor: f64) -> Unit {
    Unit { name, base, factor }
}

/// Lengths become micrometres, torques newton metres; all others stay.
const UNITS: [(Unit, &[&str]); 21] = [
    (unit("um", "um", 1.0), &["um", "µm", "\u{3bc}m", "micron", "microns"]),
    (unit("mm", "um", 1e3), &["mm"]),
    (unit("nm", "um", 1e-3), &["nm"]),
    (unit("mil", "um", 25.4), &["mil", "mils", "thou"]),
    (unit("in", "um", 25_400.0), &["in", "inch", "inches"]),
    (unit("N.m", "N.m", 1.0), &["N.m", "Nm", "N·m", "N m"]),
    (unit("cN.m", "N.m", 1e-2), &["cN.m", "cNm", "cN·m"]),
    (
        unit("in.lbf", "N.m", matewell_quantity::NEWTON_METRES_PER_INCH_POUND_FORCE),
        &["in.lbf", "in·lbf", "in-lbf", "in lbf"],
    ),
    (unit("dB", "dB", 1.0), &["dB"]),
    (unit("ohm", "ohm", 1.0), &["ohm", "ohms", "\u{3a9}", "\u{2126}"]),
    (unit("mohm", "mohm", 1.0), &["mohm", "m\u{3a9}", "m\u{2126}"]),
    (unit("ohm.cm", "ohm.cm", 1.0), &["ohm.cm", "ohm cm", "\u{3a9}·cm", "\u{3a9}.cm"]),
    (unit("deg", "deg", 1.0), &["deg", "°"]),
    (unit("%", "%", 1.0), &["%", "percent"]),
    (unit("V", "V", 1.0), &["V"]),
    (unit("mV", "mV", 1.0), &["mV"]),
    (unit("W", "W", 1.0), &["W"]),
    (unit("mW", "mW", 1.0), &["mW"]),
    (unit("Hz", "Hz", 1.0), &["Hz"]),
    (unit("degC", "degC", 1.0), &["degC", "°C"]),
    (unit("1", "1", 1.0), &["1", "none", "-"]),
];

impl Unit {
    /// The unit for a spelling. Case counts: a mW is no MW.
    pub(crate) fn find(text: &str) -> Option<Self> {
        let text = text.trim();
        UNITS.iter().find(|(_, spellings)| spellings.contains(&text)).map(|(unit, _)| *unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_message_lists_every_unit() {
        let listed: Vec<&str> = KNOWN_UNITS.split(", ").collect();
        let known: Vec<&str> = UNITS.iter().map(|(unit, _)| unit.name).collect();
        assert_eq!(listed, known);
        assert!(UNITS.iter().all(|(unit, spellings)| spellings.contains(&unit.name)));
    }
}
