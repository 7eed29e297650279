//! Questions about lines as people type them, for both doors.
//!
//! One struct is at once the options of a command and the parameters of a URL,
//! so that the two cannot drift apart. Every value is a text with its unit.

use clap::Args;
use serde::Deserialize;
use utoipa::IntoParams;

/// The cross-section of a line as typed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LineTexts<'a> {
    /// Name of an interface.
    pub interface: Option<&'a str>,
    /// Inside diameter of the outer conductor and its uncertainty.
    pub outer: (Option<&'a str>, Option<&'a str>),
    /// Diameter of the centre conductor and its uncertainty.
    pub inner: (Option<&'a str>, Option<&'a str>),
    /// Diameter of the pin and its uncertainty.
    pub pin: (Option<&'a str>, Option<&'a str>),
    /// Relative permittivity and its uncertainty.
    pub permittivity: (Option<&'a str>, Option<&'a str>),
}

macro_rules! asked {
    // A question without a cross-section.
    ($(#[$doc:meta])* $name:ident { $($(#[$field_doc:meta])* $field:ident: $kind:ty),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Default, PartialEq, Eq, Args, Deserialize, IntoParams)]
        #[serde(deny_unknown_fields)]
        #[into_params(parameter_in = Query)]
        pub struct $name {
            $($(#[$field_doc])* #[arg(long, allow_hyphen_values = true)] pub $field: $kind,)*
        }
    };
    // With the two conductors and the filling.
    ($(#[$doc:meta])* $name:ident: line { $($rest:tt)* }) => {
        asked! {
            $(#[$doc])* $name {
                /// An interface of the data sheets, for example 3.5mm; its dimensions are used
                interface: Option<String>,
                /// Inside diameter of the outer conductor, for example 3.5mm
                outer: Option<String>,
                /// Its standard uncertainty
                u_outer: Option<String>,
                /// Diameter of the centre conductor, for example 1.52mm
                inner: Option<String>,
                /// Its standard uncertainty
                u_inner: Option<String>,
                /// Relative permittivity of the filling, or the word air (1.000649); vacuum when left out
                permittivity: Option<String>,
                /// Its standard uncertainty
                u_permittivity: Option<String>,
                $($rest)*
            }
        }
        impl $name {
            /// The cross-section as typed.
            pub fn line(&self) -> LineTexts<'_> {
                LineTexts {
                    interface: self.interface.as_deref(),
                    outer: (self.outer.as_deref(), self.u_outer.as_deref()),
                    inner: (self.inner.as_deref(), self.u_inner.as_deref()),
                    pin: (None, None),
                    permittivity: (self.permittivity.as_deref(), self.u_permittivity.as_deref()),
                }
            }
        }
    };
    // With the pin that bridges a gap, too.
    ($(#[$doc:meta])* $name:ident: joint { $($rest:tt)* }) => {
        asked! {
            $(#[$doc])* $name: line {
                /// Diameter of the pin, for example 0.927mm
                pin: Option<String>,
                /// Its standard uncertainty
                u_pin: Option<String>,
                $($rest)*
            }
        }
        impl $name {
            /// The cross-section as typed, with the pin.
            pub fn joint(&self) -> LineTexts<'_> {
                LineTexts { pin: (self.pin.as_deref(), self.u_pin.as_deref()), ..self.line() }
            }
        }
    };
}

asked! {
    /// What is the impedance of this line?
    ImpedanceAsked: line {
        /// Frequency, to learn whether a second mode can travel there
        at: Option<String>,
    }
}

asked! {
    /// Up to which frequency does only one mode travel?
    CutoffAsked: line {}
}

asked! {
    /// What does a pin gap reflect?
    GapAsked: joint {
        /// The gap between the shoulders, for example 60um
        gap: String,
        /// Its standard uncertainty
        u_gap: Option<String>,
        /// Frequency, for example 18GHz; the upper end of the sweep when left out
        at: Option<String>,
        /// Its standard uncertainty
        u_at: Option<String>,
        /// A band and the number of points, for example 1GHz:26.5GHz:200
        sweep: Option<String>,
    }
}

asked! {
    /// What does a centre conductor off the axis do?
    OffCentreAsked: line {
        /// Distance of the axes, for example 40um
        offset: String,
        /// Its standard uncertainty
        u_offset: Option<String>,
        /// Length over which the axes are apart, for the reflection
        length: Option<String>,
        /// Its standard uncertainty
        u_length: Option<String>,
        /// Frequency, for the reflection; the upper end of the sweep when left out
        at: Option<String>,
        /// Its standard uncertainty
        u_at: Option<String>,
        /// A band and the number of points, for example 1GHz:18GHz:200
        sweep: Option<String>,
    }
}

asked! {
    /// What does the metal cost?
    LossAsked: line {
        /// Conductivity of both conductors, for example 58MS/m or 1.6e7S/m
        conductivity: String,
        /// Its standard uncertainty
        u_conductivity: Option<String>,
        /// Loss tangent of the filling; zero when left out
        loss_tangent: Option<String>,
        /// Its standard uncertainty
        u_loss_tangent: Option<String>,
        /// Length of the line, for the loss of the whole piece
        length: Option<String>,
        /// Frequency, for example 18GHz; the upper end of the sweep when left out
        at: Option<String>,
        /// Its standard uncertainty
        u_at: Option<String>,
        /// A band and the number of points, for example 1GHz:26.5GHz:200
        sweep: Option<String>,
    }
}

asked! {
    /// What do two reflections at one joint do to a level?
    MismatchAsked {
        /// Reflection magnitude of the source, between 0 and 1
        source: String,
        /// Its standard uncertainty
        u_source: Option<String>,
        /// What is known of it: magnitude (the value), or disc (anywhere up to it); magnitude when left out
        source_known: Option<String>,
        /// Reflection magnitude of the load, between 0 and 1
        load: String,
        /// Its standard uncertainty
        u_load: Option<String>,
        /// What is known of it: magnitude or disc
        load_known: Option<String>,
        /// |S11| of a device put between them
        s11: Option<String>,
        /// |S22| of that device
        s22: Option<String>,
        /// |S21| of that device
        s21: Option<String>,
    }
}

asked! {
    /// What does a chain reflect when only magnitudes are known?
    ChainAsked {
        /// Links from the near end, each |Γ| and the loss behind it: "0.02:0.3dB 0.05:0.1dB"
        links: String,
        /// yes when the phases are independent; no warns that they may align. no when left out
        phases_independent: Option<String>,
    }
}

asked! {
    /// One match in all its words; give one of them.
    ConvertAsked {
        /// Reflection magnitude
        magnitude: Option<String>,
        /// Return loss, for example 26dB
        return_loss: Option<String>,
        /// Voltage standing wave ratio, for example 1.1
        vswr: Option<String>,
        /// Mismatch loss, for example 0.01dB
        mismatch_loss: Option<String>,
        /// An impedance, for example 51ohm
        impedance: Option<String>,
        /// The impedance it is compared with; 50ohm when left out
        reference: Option<String>,
        /// Standard uncertainty of the one given, in its unit
        u: Option<String>,
    }
}

asked! {
    /// What does dielectric that lies back behind its plane reflect?
    RecessAsked: line {
        /// How far it lies back, for example 100um
        recess: String,
        /// Its standard uncertainty
        u_recess: Option<String>,
        /// Frequency, for example 18GHz; the upper end of the sweep when left out
        at: Option<String>,
        /// Its standard uncertainty
        u_at: Option<String>,
        /// A band and the number of points, for example 1GHz:18GHz:200
        sweep: Option<String>,
    }
}

asked! {
    /// What do two different interfaces reflect where they meet?
    StepAsked: line {
        /// The other interface, for example sma
        other_interface: Option<String>,
        /// Inside diameter of the other outer conductor
        other_outer: Option<String>,
        /// Diameter of the other centre conductor
        other_inner: Option<String>,
        /// Relative permittivity of the other filling
        other_permittivity: Option<String>,
        /// Frequency, for example 18GHz; the upper end of the sweep when left out
        at: Option<String>,
        /// Its standard uncertainty
        u_at: Option<String>,
        /// A band and the number of points, for example 1GHz:18GHz:200
        sweep: Option<String>,
    }
}

asked! {
    /// What does a reference plane that is off do to phase and delay?
    ShiftAsked {
        /// How far the plane is off, for example 100um
        length: String,
        /// Its standard uncertainty
        u_length: Option<String>,
        /// Relative permittivity of the filling, or the word air; vacuum when left out
        permittivity: Option<String>,
        /// Its standard uncertainty
        u_permittivity: Option<String>,
        /// Frequency, for example 18GHz; the upper end of the sweep when left out
        at: Option<String>,
        /// Its standard uncertainty
        u_at: Option<String>,
        /// A band and the number of points, for example 1GHz:18GHz:200
        sweep: Option<String>,
    }
}

asked! {
    /// Up to which frequency is this good enough?
    UsableAsked: joint {
        /// The pin gap, for example 60um; give this or the recess
        gap: Option<String>,
        /// Its standard uncertainty
        u_gap: Option<String>,
        /// How far the dielectric lies back; give this or the gap
        recess: Option<String>,
        /// Its standard uncertainty
        u_recess: Option<String>,
        /// Largest reflection magnitude allowed; the lab's policy when left out
        need: Option<String>,
        /// Rated upper frequency; that of the interface when left out
        rated: Option<String>,
    }
}

asked! {
    /// What does this joint cost an uncertainty budget?
    CostAsked: joint {
        /// What the budget is for: reflection (|S11|) or transmission (|S21| in dB)
        measurand: String,
        /// Reflection magnitude of the joint; give this, or a gap and a frequency
        joint_reflection: Option<String>,
        /// Its standard uncertainty
        u_joint_reflection: Option<String>,
        /// A pin gap that is the joint, for example 60um
        gap: Option<String>,
        /// Its standard uncertainty
        u_gap: Option<String>,
        /// Frequency of the gap, for example 18GHz
        at: Option<String>,
        /// Reflection magnitude of the device behind the joint
        device: String,
        /// Its standard uncertainty
        u_device: Option<String>,
        /// Wanted standard uncertainty, in dB for transmission, for example 0.02dB
        wanted: Option<String>,
    }
}

asked! {
    /// What does warming do to a pin gap?
    ThermalAsked {
        /// Free length of the outer conductor, from where it is held to the joint, for example 8mm
        outer_length: String,
        /// Its standard uncertainty
        u_outer_length: Option<String>,
        /// Its coefficient of linear expansion, for example 17.3ppm/K
        outer_expansion: String,
        /// Its standard uncertainty
        u_outer_expansion: Option<String>,
        /// Free length of the centre conductor
        inner_length: String,
        /// Its standard uncertainty
        u_inner_length: Option<String>,
        /// Its coefficient of linear expansion, for example 16.7ppm/K
        inner_expansion: String,
        /// Its standard uncertainty
        u_inner_expansion: Option<String>,
        /// Rise of temperature, for example 10K or -15K
        rise: String,
        /// Its standard uncertainty
        u_rise: Option<String>,
        /// The gap before, to learn whether the pins would touch
        gap: Option<String>,
        /// Its standard uncertainty
        u_gap: Option<String>,
    }
}

asked! {
    /// What does moist air do to an air line?
    AirAsked {
        /// Temperature of the air, for example 23degC
        temperature: String,
        /// Its standard uncertainty
        u_temperature: Option<String>,
        /// Pressure, for example 1013.25hPa
        pressure: String,
        /// Its standard uncertainty
        u_pressure: Option<String>,
        /// Relative humidity, for example 50%
        humidity: String,
        /// Its standard uncertainty
        u_humidity: Option<String>,
    }
}

asked! {
    /// What do the slots of a socket do?
    SlotsAsked: line {
        /// How many slots the socket has
        slots: String,
        /// Width of a slot, for example 0.2mm
        slot_width: String,
        /// Its standard uncertainty
        u_slot_width: Option<String>,
    }
}
