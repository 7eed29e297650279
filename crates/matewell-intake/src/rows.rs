//! What the rows of a table say, in types: one row per record.

use jiff::Timestamp;

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal [$($spelling:literal),* $(,)?]),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vdoc])* $variant),+ }

        impl $name {
            /// All of them, in the order they are offered.
            pub const ALL: &[Self] = &[$(Self::$variant),+];

            /// The word that an export writes.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// The value of a cell: our word or one of the spellings of the trade;
            /// case, hyphens and points do not count.
            pub fn from_text(text: &str) -> Option<Self> {
                let text = crate::words::tokens(text).join(" ");
                $(
                    let spellings: &[&str] = &[$($spelling),*];
                    if text == $word.replace('-', " ") || spellings.contains(&text.as_str()) {
                        return Some(Self::$variant);
                    }
                )+
                None
            }

            /// Our words, for a message.
            pub(crate) fn offered() -> String {
                let words: Vec<&str> = Self::ALL.iter().map(|one| one.word()).collect();
                words.join(", ")
            }
        }
    };
}

words! {
    /// What an item is.
    ItemKind {
        /// A cable assembly.
        Cable = "cable" ["cable assembly", "cables", "patch cable", "test cable", "kabel", "messkabel"],
        /// An adapter.
        Adapter = "adapter" ["adaptor", "adapters", "connector saver", "between series adapter"],
        /// A fixed or step attenuator.
        Attenuator = "attenuator" ["pad", "fixed attenuator", "attenuators", "d\u{e4}mpfungsglied"],
        /// A standard of a calibration: open, short, load, line.
        CalibrationStandard = "calibration-standard" [
            "standard", "cal standard", "open", "short", "load", "calibration kit", "cal kit", "normal",
            "kalibriernormal",
        ],
        /// A measuring instrument with ports.
        Instrument = "instrument" ["network analyser", "network analyzer", "vna", "analyser", "analyzer", "ger\u{e4}t", "messger\u{e4}t"],
        /// What is measured.
        DeviceUnderTest = "device-under-test" ["dut", "device", "sample", "pr\u{fc}fling"],
        /// A pin-depth gauge.
        Gauge = "gauge" ["pin depth gauge", "connector gauge", "gage", "lehre", "messuhr"],
        /// The master a gauge is zeroed on.
        GaugeMaster = "gauge-master" ["master", "gage master", "master gauge", "einstellmeister"],
        /// A torque wrench.
        TorqueWrench = "torque-wrench" ["wrench", "torque spanner", "drehmomentschl\u{fc}ssel"],
        /// A box whose pieces belong together.
        Kit = "kit" ["kit box"],
        /// Anything else.
        Other = "other" ["misc", "sonstiges", "andere"],
    }
}

words! {
    /// The contact an end carries.
    Sex {
        /// Pin.
        Pin = "pin" ["m", "male", "stift", "m\u{e4}nnlich"],
        /// Socket.
        Socket = "socket" ["f", "female", "fem", "buchse", "w", "weiblich"],
        /// Neither: a sexless interface.
        Neutral = "neutral" ["sexless", "genderless", "hermaphroditic"],
    }
}

words! {
    /// How tightly an end is made.
    Grade {
        /// For standards.
        Metrology = "metrology" ["metrology grade", "metrologie"],
        /// For instruments.
        Instrument = "instrument" ["instrument grade", "ger\u{e4}t"],
        /// For production and the field.
        Production = "production" ["production grade", "general", "general purpose", "field", "produktion"],
        /// Not said.
        Unknown = "unknown" ["unbekannt", "n a", "not known"],
    }
}

words! {
    /// What the body and the nut are made of.
    BodyMaterial {
        /// Brass.
        Brass = "brass" ["messing"],
        /// Stainless steel.
        Stainless = "stainless" ["stainless steel", "ss", "steel", "edelstahl", "passivated stainless steel"],
        /// Beryllium copper.
        BerylliumCopper = "beryllium-copper" ["becu", "cube", "be cu", "cu be", "berylliumkupfer"],
        /// Soldered to a circuit board.
        CircuitBoard = "circuit-board" ["pcb", "board", "pcb mount", "leiterplatte"],
        /// Not said.
        Unknown = "unknown" ["unbekannt", "n a", "not known"],
    }
}

words! {
    /// Whether a socket has slots.
    Slots {
        /// With slots.
        Slotted = "slotted" ["yes", "y", "true", "geschlitzt", "ja"],
        /// Without.
        Slotless = "slotless" ["no", "n", "false", "ungeschlitzt", "nein", "slot less", "non slotted"],
        /// Not said.
        Unknown = "unknown" ["unbekannt", "n a", "not known"],
    }
}

words! {
    /// What an inspection came to, from best to worst.
    OutcomeWord {
        /// Nothing to see.
        Good = "good" [
            "ok", "okay", "clean", "fine", "pass", "passed", "gut", "in ordnung", "i o", "no damage",
            "no dirt", "no defects", "no findings", "ohne befund", "sauber", "like new",
        ],
        /// Worn as use wears.
        NormalWear = "normal-wear" ["wear", "worn", "light wear", "slight wear", "normal use", "verschlei\u{df}", "gebrauchsspuren", "light scratches"],
        /// Dirt that cleaning may take off.
        Dirty = "dirty" ["dirt", "debris", "particles", "particle", "residue", "metal flakes", "flakes", "schmutz", "verschmutzt", "sp\u{e4}ne", "staub", "dust"],
        /// Damage that cleaning does not take off.
        Damaged = "damaged" [
            "damage", "bent", "bent pin", "dented", "dent", "broken", "cracked", "crack", "bent finger", "missing finger",
            "broken finger", "deep scratch", "besch\u{e4}digt", "verbogen", "gebrochen", "thread damage", "damaged thread",
        ],
    }
}

/// How exactly a time is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Resolution {
    /// A time of day was written.
    Instant,
    /// Only the day was written; the time is 00:00 UTC of that day and says nothing about order within it.
    Day,
}

/// A moment of the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct When {
    /// Microseconds since 1970-01-01 00:00 UTC.
    pub at_us: i64,
    /// How exactly.
    pub resolution: Resolution,
}

impl When {
    /// As RFC 3339 in UTC, or the date only.
    pub fn shown(self) -> String {
        match (Timestamp::from_microsecond(self.at_us), self.resolution) {
            (Ok(at), Resolution::Instant) => at.to_string(),
            (Ok(at), Resolution::Day) => at.strftime("%Y-%m-%d").to_string(),
            (Err(_), _) => self.at_us.to_string(),
        }
    }
}

/// An amount of money.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cost {
    /// Hundredths of the currency.
    pub hundredths: i64,
    /// Three letters of ISO 4217.
    pub currency: String,
}

/// Columns without a field of ours: header and text, in the order of the file.
pub type Extra = Vec<(String, String)>;
