//! Items and their ends, as registered.

use crate::{EndId, ItemId, LabError};
use matewell_quantity::{Length, Torque};

macro_rules! words {
    ($(#[$doc:meta])* $name:ident, $what:literal, [$($(#[$variant_doc:meta])* $variant:ident = $word:literal),+ $(,)?]) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $($(#[$variant_doc])* $variant,)+
        }

        impl $name {
            /// Every value, in the order of the glossary.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word used in files, on the page and in the command line.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }

            /// The value for a word.
            ///
            /// # Errors
            ///
            /// [`LabError::UnknownWord`] with the list of words.
            pub fn from_word(word: &str) -> Result<Self, LabError> {
                match word {
                    $($word => Ok(Self::$variant),)+
                    other => Err(LabError::UnknownWord {
                        what: $what,
                        expected: [$($word),+].join(", "),
                        found: other.chars().take(64).collect(),
                    }),
                }
            }
        }
    };
}

words! {
    /// What an item is.
    ItemKind, "the kind of an item", [
        /// A cable assembly.
        Cable = "cable",
        /// An adapter, also one that protects a port from wear.
        Adapter = "adapter",
        /// An attenuator.
        Attenuator = "attenuator",
        /// A calibration standard: open, short, load, thru, line.
        CalibrationStandard = "calibration-standard",
        /// An instrument with ports.
        Instrument = "instrument",
        /// A device under test.
        DeviceUnderTest = "device-under-test",
        /// A pin-depth gauge.
        Gauge = "gauge",
        /// The master a gauge is zeroed on.
        GaugeMaster = "gauge-master",
        /// A torque wrench.
        TorqueWrench = "torque-wrench",
        /// A kit: a box with places for pieces that are items themselves.
        Kit = "kit",
        /// Anything else with ends.
        Other = "other",
    ]
}

words! {
    /// Which half of an interface an end is. The centre contact decides.
    Sex, "the sex of an end", [
        /// Centre contact is a pin (male).
        Pin = "pin",
        /// Centre contact is a socket (female).
        Socket = "socket",
        /// Both halves are alike (hermaphroditic, 7 mm).
        Neutral = "neutral",
    ]
}

words! {
    /// How tightly an end's dimensions are held.
    Grade, "the grade of an end", [
        /// Metrology or laboratory precision grade.
        Metrology = "metrology",
        /// Instrument or general precision grade.
        Instrument = "instrument",
        /// Production or general grade.
        Production = "production",
        /// Nobody recorded it.
        Unknown = "unknown",
    ]
}

words! {
    /// What the coupling parts are made of. It limits the torque.
    Body, "the body material of an end", [
        /// Brass, usually gold or nickel plated.
        Brass = "brass",
        /// Stainless steel.
        Stainless = "stainless",
        /// Beryllium copper.
        BerylliumCopper = "beryllium-copper",
        /// Mounted on a circuit board: the board limits the torque.
        CircuitBoard = "circuit-board",
        /// Nobody recorded it.
        Unknown = "unknown",
    ]
}

words! {
    /// Whether a socket's contact has slots.
    Slots, "the slots of a socket", [
        /// Slotted fingers.
        Slotted = "slotted",
        /// Slotless contact.
        Slotless = "slotless",
        /// A pin, or nobody recorded it.
        Unknown = "unknown",
    ]
}

words! {
    /// How a gauge meets the connector.
    GaugeMethod, "the method of a gauge", [
        /// Screws on.
        ScrewOn = "screw-on",
        /// Pushed on by hand.
        PushOn = "push-on",
        /// A caliper or depth gauge: coarse.
        Caliper = "caliper",
        /// A go/no-go block: coarse.
        GoNoGo = "go-no-go",
        /// By eye: says only what is grossly wrong.
        Eye = "eye",
    ]
}

/// What the lab would pay for a new one. Entered by the lab; there is no default.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cost {
    /// Amount in hundredths of the currency.
    pub hundredths: i64,
    /// ISO 4217 code.
    pub currency: String,
}

/// What a gauge can do.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeSpec {
    /// Sheet key of the interface it gauges.
    pub interface: String,
    /// How it meets the connector.
    pub method: GaugeMethod,
    /// Standard uncertainty shared by all its readings (certificate, master,
    /// linearity), if known. Without it no reading decides.
    pub standard_uncertainty: Option<Length>,
    /// Pooled standard deviation of one re-seated reading, if known.
    pub repeatability: Option<Length>,
    /// Degrees of freedom behind the repeatability, if known.
    pub repeatability_dof: Option<f64>,
    /// Smallest step it shows, if known.
    pub resolution: Option<Length>,
    /// Tag of the master it is zeroed on, if known.
    pub master: Option<String>,
}

/// What a torque wrench is set to.
#[derive(Debug, Clone, PartialEq)]
pub struct WrenchSpec {
    /// Torque at which it breaks.
    pub set_point: Torque,
    /// Permissible relative deviation, for example 0.06.
    pub tolerance: f64,
}

/// A physical thing with an identity.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// For ever the same.
    pub id: ItemId,
    /// What people call it; free text, may be reused in error.
    pub tag: String,
    /// What it is.
    pub kind: ItemKind,
    /// In the lab's words.
    pub description: String,
    /// Type designation, if recorded.
    pub model: Option<String>,
    /// Serial number, if recorded.
    pub serial: Option<String>,
    /// Usual place, if recorded.
    pub location: Option<String>,
    /// Replacement cost, if the lab entered one.
    pub cost: Option<Cost>,
    /// For gauges.
    pub gauge: Option<GaugeSpec>,
    /// For torque wrenches.
    pub wrench: Option<WrenchSpec>,
    /// Columns of an import that have no field here, kept for the export.
    pub extra: Vec<(String, String)>,
}

/// One coaxial interface of an item.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// For ever the same.
    pub id: EndId,
    /// The item it belongs to.
    pub item: ItemId,
    /// What its label says.
    pub tag: String,
    /// Sheet key of the interface, for example `3.5mm`.
    pub interface: String,
    /// Which half.
    pub sex: Sex,
    /// How tightly it is held.
    pub grade: Grade,
    /// What it is made of.
    pub body: Body,
    /// For sockets.
    pub slots: Slots,
    /// Device behind it is destroyed by electrostatic discharge.
    pub static_sensitive: bool,
    /// It can carry radio-frequency power.
    pub rf_live: bool,
    /// It can carry a bias voltage.
    pub biased: bool,
    /// Columns of an import that have no field here, kept for the export.
    pub extra: Vec<(String, String)>,
}

/// An item with its ends, as first written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Registered {
    /// The item.
    pub item: Item,
    /// Its ends; a gauge or a wrench may have none.
    pub ends: Vec<End>,
}
