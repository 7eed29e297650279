//! Which ends fit each other mechanically, and how tight the workshop turns them.

use matewell_lab::{Body, End, Sex};

/// Interfaces that mate across their names, pin to socket.
///
/// Common practice, no source. Not a judgement: whether a pair may be mated is
/// the question of the room `verdict`.
const ACROSS: [&[&str]; 2] = [&["sma", "3.5mm", "2.92mm"], &["2.4mm", "1.85mm"]];

/// Whether two ends screw together at all.
pub(crate) fn fits(a: &End, b: &End) -> bool {
    let sexes = matches!(
        (a.sex, b.sex),
        (Sex::Pin, Sex::Socket) | (Sex::Socket, Sex::Pin) | (Sex::Neutral, Sex::Neutral)
    );
    let families = a.interface == b.interface
        || ACROSS
            .iter()
            .any(|group| group.contains(&a.interface.as_str()) && group.contains(&b.interface.as_str()));
    a.id != b.id && sexes && families
}

/// How the workshop tightens a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tightening {
    /// SMA with a brass half.
    Soft,
    /// SMA in steel, and the precision interfaces from 3.5 mm to 1.85 mm.
    Firm,
    /// Type N, 7 mm and TNC.
    Large,
    /// By hand, or no wrench of this size in the house.
    ByHand,
}

/// The tightening of the weaker half.
pub(crate) fn tightening(a: &End, b: &End) -> Tightening {
    let any = |key: &str| a.interface == key || b.interface == key;
    if any("sma") && (a.body == Body::Brass || b.body == Body::Brass) {
        Tightening::Soft
    } else if ["sma", "3.5mm", "2.92mm", "2.4mm", "1.85mm"].iter().any(|key| any(key)) {
        Tightening::Firm
    } else if ["n50", "n75", "7mm", "tnc"].iter().any(|key| any(key)) {
        Tightening::Large
    } else {
        Tightening::ByHand
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use matewell_lab::{EndId, Grade, ItemId, Slots};

    fn end(number: u8, interface: &str, sex: Sex, body: Body) -> End {
        End {
            id: EndId::from_bytes([number; 16]),
            item: ItemId::from_bytes([9; 16]),
            tag: String::new(),
            interface: interface.to_owned(),
            sex,
            grade: Grade::Unknown,
            body,
            slots: Slots::Unknown,
            static_sensitive: false,
            rf_live: false,
            biased: false,
            extra: Vec::new(),
        }
    }

    #[test]
    fn pins_fit_sockets_of_their_line_and_nothing_else() {
        use Sex::{Neutral, Pin, Socket};
        let fit = |a: (&str, Sex), b: (&str, Sex)| {
            fits(&end(1, a.0, a.1, Body::Unknown), &end(2, b.0, b.1, Body::Unknown))
        };
        assert!(fit(("sma", Pin), ("2.92mm", Socket)) && fit(("1.85mm", Socket), ("2.4mm", Pin)));
        assert!(fit(("7mm", Neutral), ("7mm", Neutral)) && fit(("n75", Pin), ("n75", Socket)));
        assert!(!fit(("sma", Pin), ("sma", Pin)) && !fit(("sma", Socket), ("sma", Socket)));
        assert!(!fit(("n50", Pin), ("n75", Socket)) && !fit(("n75", Pin), ("n50", Socket)));
        assert!(!fit(("3.5mm", Pin), ("2.4mm", Socket)) && !fit(("1.35mm", Pin), ("1.85mm", Socket)));
        assert!(!fit(("7mm", Neutral), ("7mm", Pin)));
    }

    #[test]
    fn the_weaker_half_decides() {
        let brass = end(1, "sma", Sex::Socket, Body::Brass);
        let steel = end(2, "3.5mm", Sex::Pin, Body::Stainless);
        assert_eq!(tightening(&steel, &brass), Tightening::Soft);
        assert_eq!(tightening(&brass, &steel), Tightening::Soft);
        assert_eq!(tightening(&steel, &steel), Tightening::Firm);
    }
}
