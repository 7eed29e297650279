//! Questions about sweeps as people type them, for both doors.
//!
//! One struct is at once the options of a command and the parameters of a URL.
//! On a URL `sweep` names a sweep on record; without it the bytes come in the
//! body, and `file_name` says what the file is called. On the command line the
//! file or the sweep is an argument.

use clap::Args;
use serde::Deserialize;
use utoipa::IntoParams;

macro_rules! asked {
    ($(#[$doc:meta])* $name:ident { $($(#[$field_doc:meta])* $field:ident,)* } url { $($(#[$url_doc:meta])* $url:ident,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Default, PartialEq, Eq, Args, Deserialize, IntoParams)]
        #[serde(deny_unknown_fields)]
        #[into_params(parameter_in = Query)]
        pub struct $name {
            $($(#[$field_doc])* #[arg(long, allow_hyphen_values = true)] pub $field: Option<String>,)*
            $($(#[$url_doc])* #[arg(skip)] pub $url: Option<String>,)*
        }
    };
}

asked! {
    /// What does this file hold?
    SweepReadAsked {
        /// strict refuses a file that breaks a rule of the format; lenient reads it and says so (the default)
        reading,
        /// What the file is called, when not by its own name; .s2p promises two ports
        file_name,
    } url {
        /// Id of a sweep on record.
        sweep,
    }
}

asked! {
    /// Can this sweep be believed?
    SweepCheckAsked {
        /// strict or lenient (the default)
        reading,
        /// What the file is called, when not by its own name
        file_name,
        /// Expanded uncertainty of the sweep's values, linear, for example 0.002; zero when left out
        uncertainty,
    } url {
        /// Id of a sweep on record.
        sweep,
    }
}

asked! {
    /// One parameter over frequency.
    SweepTraceAsked {
        /// strict or lenient (the default)
        reading,
        /// What the file is called, when not by its own name
        file_name,
        /// For example S11 or S21; S11 when left out
        parameter,
    } url {
        /// Id of a sweep on record.
        sweep,
    }
}

asked! {
    /// Where are the reflections?
    SweepTimeAsked {
        /// strict or lenient (the default)
        reading,
        /// What the file is called, when not by its own name
        file_name,
        /// For example S11; S11 when left out
        parameter,
        /// low-pass, band-pass, or best: low-pass where it is honest (the default)
        mode,
        /// none, hamming, kaiser6 (the default), kaiser13, or kaiser: and a number
        window,
        /// Speed in the line over that in vacuum, for distances; 1 when left out
        velocity_factor,
        /// Where the picture begins: a round-trip time such as -1ns, or a distance such as 0.2m; 0 when left out
        from,
        /// Where it ends; half the range free of repeats when left out
        to,
        /// How many values, at most 20001; 1001 when left out
        points,
        /// Also the parameter with only the reflections in this gate: CENTRE:SPAN, for example 6.2ns:1ns
        gate,
    } url {
        /// Id of a sweep on record.
        sweep,
    }
}

asked! {
    /// Does it keep a limit?
    SweepMaskAsked {
        /// strict or lenient (the default)
        reading,
        /// What the file is called, when not by its own name
        file_name,
        /// For example S11; S11 when left out
        parameter,
        /// The side that is good and the corners in dB, for example "below 1GHz:-30 18GHz:-20"
        mask,
        /// linear (the default) or logarithmic: how the limit runs between corners
        between,
        /// Expanded uncertainty in dB, the guard band on both sides; zero when left out
        uncertainty,
    } url {
        /// Id of a sweep on record.
        sweep,
    }
}

asked! {
    /// Is it the good cable?
    SweepCableAsked {
        /// strict or lenient (the default)
        reading,
        /// For example S21 (the default), or S11 with a short at the far end
        parameter,
        /// once for transmission (the default), twice for the reflection of a short at the far end
        passage,
    } url {
        /// Id of the sweep before, on record.
        before,
        /// Id of the sweep after, on record.
        after,
    }
}

asked! {
    /// Does a joint scatter, or has it moved?
    SweepReconnectAsked {
        /// strict or lenient (the default)
        reading,
        /// For example S11; S11 when left out
        parameter,
        /// Frequency of the ellipse, for example 18GHz; the highest when left out
        at,
    } url {
        /// Ids of sweeps on record, with commas: the first group, for example with the device.
        first,
        /// The second group, for example with a known good partner.
        second,
        /// The joint's history.
        history,
    }
}

asked! {
    /// Which joint of the chain changed?
    SweepCompareAsked {
        /// strict or lenient (the default)
        reading,
        /// Port of the file that looks into the chain; as recorded, else 1
        port,
        /// What lies between the joints (TOML); as recorded, else from the registered items
        layout,
        /// Labels of the ends from the port outward, with commas; as recorded
        chain,
        /// How the cables were held; as recorded
        cable_shape,
    } url {
        /// Id of a sweep on record.
        sweep,
        /// Id of the sweep to compare with; the latest good one of the same chain, port, cable shape and grid when left out.
        baseline,
    }
}

asked! {
    /// Does a quantity of a chain drift?
    SweepTrendAsked {
        /// Labels of the ends from the port outward, with commas
        chain,
        /// Port of the file that looks into the chain; 1 when left out
        port,
        /// How the cables were held; sweeps with another shape are left out; any when left out
        cable_shape,
        /// For example S11; S11 when left out
        parameter,
        /// magnitude-db (the default), magnitude, or phase-deg
        quantity,
        /// Frequency, for example 18GHz
        at,
    } url {}
}

asked! {
    /// A sweep to be kept.
    SweepAddAsked {
        /// Labels of the ends from the port outward, with commas
        chain,
        /// Port of the file that looks into the first end; 1 when left out
        port,
        /// How the cables were held, in the lab's words
        cable_shape,
        /// What measured it and under which calibration, in the lab's words
        instrument,
        /// What lies between the joints (TOML)
        layout,
        /// yes when the chain was good at that time; no when left out
        known_good,
        /// strict or lenient (the default)
        reading,
        /// What the file is called, when not by its own name
        file_name,
    } url {
        /// A name or a pseudonym.
        person,
        /// When it was swept, RFC 3339; now when left out.
        happened_at,
        /// Free text.
        note,
    }
}
