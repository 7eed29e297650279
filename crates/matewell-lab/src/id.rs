//! Identities. Sixteen bytes, written like a UUID; who makes them up is the
//! business of the layer that owns a clock and randomness.

use crate::LabError;
use std::{fmt, str::FromStr};

fn write_hyphenated(bytes: &[u8; 16], f: &mut fmt::Formatter<'_>) -> fmt::Result {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let mut text = [0_u8; 36];
    let mut at = 0;
    for (index, byte) in bytes.iter().enumerate() {
        if matches!(index, 4 | 6 | 8 | 10) {
            text[at] = b'-';
            at += 1;
        }
        text[at] = DIGITS[usize::from(byte >> 4)];
        text[at + 1] = DIGITS[usize::from(byte & 15)];
        at += 2;
    }
    f.write_str(std::str::from_utf8(&text).unwrap_or(""))
}

fn parse_hex(text: &str) -> Result<[u8; 16], LabError> {
    let wrong = || LabError::NotAnId { found: text.chars().take(64).collect() };
    let mut bytes = [0_u8; 16];
    let mut digits = 0_usize;
    for c in text.trim().chars().filter(|c| *c != '-') {
        let value = c.to_digit(16).and_then(|d| u8::try_from(d).ok()).ok_or_else(wrong)?;
        let slot = bytes.get_mut(digits / 2).ok_or_else(wrong)?;
        *slot = (*slot << 4) | value;
        digits += 1;
    }
    if digits == 32 { Ok(bytes) } else { Err(wrong()) }
}

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name([u8; 16]);

        impl $name {
            /// From sixteen bytes.
            #[must_use]
            pub const fn from_bytes(bytes: [u8; 16]) -> Self {
                Self(bytes)
            }

            /// The sixteen bytes.
            #[must_use]
            pub const fn bytes(&self) -> &[u8; 16] {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write_hyphenated(&self.0, f)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write_hyphenated(&self.0, f)
            }
        }

        impl FromStr for $name {
            type Err = LabError;

            fn from_str(text: &str) -> Result<Self, LabError> {
                parse_hex(text).map(Self)
            }
        }
    };
}

id! {
    /// Names an item for ever.
    ItemId
}
id! {
    /// Names one coaxial interface of an item for ever.
    EndId
}
id! {
    /// Names a fact for ever. UUIDv7 outside tests, so ids sort by entry.
    FactId
}
id! {
    /// Names the machine that wrote a fact; each keeps its own hash chain.
    MachineId
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_print_and_read_back() {
        let id = EndId::from_bytes([0x01, 0x92, 0xab, 0xcd, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 0xff]);
        assert_eq!(id.to_string(), "0192abcd-0506-0708-090a-0b0c0d0e0fff");
        assert_eq!(id.to_string().parse::<EndId>().unwrap(), id);
    }

    #[test]
    fn a_short_or_long_id_is_refused() {
        for text in
            ["", "0192", "0192abcd-0506-0708-090a-0b0c0d0e0fff00", "zz92abcd-0506-0708-090a-0b0c0d0e0fff"]
        {
            assert!(text.parse::<FactId>().is_err(), "{text}");
        }
    }
}
