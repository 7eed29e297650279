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
