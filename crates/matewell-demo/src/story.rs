//! Where the incidents are.

use matewell_lab::{EndId, FactId, ItemId, Moment};

/// An identity with what its label says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named<Id> {
    /// The label.
    pub tag: String,
    /// The identity.
    pub id: Id,
}

/// An end with its label.
pub type NamedEnd = Named<EndId>;

/// An item with its label.
pub type NamedItem = Named<ItemId>;

/// One contact of an end with another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touch {
    /// The other end.
    pub end: NamedEnd,
    /// When.
    pub at: Moment,
    /// The fact of the mate.
    pub fact: FactId,
}

/// The incidents of the demo lab. The same for every seed; the moments follow
/// the end of the ninety days.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Story {
    /// A cable end made anew, not gauged, mated by override, found protruding.
    pub repaired: RepairedCable,
    /// Type N of 75 Ω beside type N of 50 Ω.
    pub seventy_five_ohm: SeventyFiveOhm,
    /// A gauge that read too recessed for up to twenty days.
    pub gauge_off: GaugeOff,
    /// A wrench that was set to another torque.
    pub wrench_off: WrenchOff,
    /// A receiver whose results look odd.
    pub odd_receiver: OddReceiver,
    /// A box of calibration standards, one of them not in it.
    pub kit: Kit,
    /// One end for each standing worth showing.
    pub cases: SingleCases,
}

/// Incident 1. The end was re-terminated, nobody gauged it, somebody went
/// ahead, and eight days later its pin was found to protrude by 62 µm.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RepairedCable {
    /// The cable.
    pub item: NamedItem,
    /// The end that was made anew.
    pub end: NamedEnd,
    /// When it was made anew: from here on nothing is known about it.
    pub replaced_at: Moment,
    /// The fact of that.
    pub replaced: FactId,
    /// The mate that was refused.
    pub refused: FactId,
    /// The override.
    pub overridden: FactId,
    /// Whom it touched directly before it was held, in order.
    pub touched: Vec<Touch>,
    /// The instrument port among them, mated under the override.
    pub port: NamedEnd,
    /// The calibration standard among them; every later calibration of bench 1 went over it.
    pub standard: NamedEnd,
    /// The gauging that found it: 61, 62 and 63 µm, protruding.
    pub gauged: FactId,
    /// When.
    pub gauged_at: Moment,
    /// The hold.
    pub held: FactId,
    /// When.
    pub held_at: Moment,
    /// A touched end that was found damaged afterwards.
    pub damaged: NamedEnd,
    /// The look that found it.
    pub damage_found: FactId,
    /// The standard was looked at and gauged good again at this moment.
    pub standard_cleared_at: Moment,
}

/// Incident 2. A pin of 50 Ω is thicker than a socket of 75 Ω is wide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeventyFiveOhm {
    /// The cable of 75 Ω.
    pub item: NamedItem,
    /// Its pin.
    pub pin_75: NamedEnd,
    /// Its socket.
    pub socket_75: NamedEnd,
    /// A pin of 50 Ω.
    pub pin_50: NamedEnd,
    /// A socket of 50 Ω.
    pub socket_50: NamedEnd,
    /// Refused: the 75 Ω pin on the 50 Ω socket.
    pub refused_pin_75: FactId,
    /// Refused: the 50 Ω pin on the 75 Ω socket, which it would spread.
    pub refused_pin_50: FactId,
}

/// Incident 3. At its check the SMA gauge read 8 µm more recessed than its
/// master; at the check before it was good.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GaugeOff {
    /// The gauge.
    pub gauge: NamedItem,
    /// Its last good zero check.
    pub last_good: FactId,
    /// When.
    pub last_good_at: Moment,
    /// The check that found it off.
    pub found_off: FactId,
    /// When.
    pub found_off_at: Moment,
    /// How much more recessed it read, in micrometres.
    pub reads_more_recessed_um: u8,
    /// The check after it was set right.
    pub set_right: FactId,
    /// An end that it showed recessed by about 5 µm near the end of that time;
    /// with the finding in mind its pin protrudes.
    pub flipped: NamedEnd,
    /// That gauging.
    pub flipped_gauging: FactId,
}

/// Incident 4. A wrench of 0.90 N·m broke at 1.36 N·m. While the soft wrench
/// was away it was used on brass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrenchOff {
    /// The wrench.
    pub wrench: NamedItem,
    /// Its last good check.
    pub last_good: FactId,
    /// When.
    pub last_good_at: Moment,
    /// From here on it was used on brass SMA joints.
    pub used_from: Moment,
    /// The check that found it at 1.36 N·m.
    pub found_off: FactId,
    /// When.
    pub found_off_at: Moment,
    /// The check after it was set right.
    pub set_right: FactId,
}

/// Incident 5. The gain of a receiver seems to have fallen by 1.6 dB.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OddReceiver {
    /// The receiver.
    pub device: NamedItem,
    /// The ends its results went through, in order.
    pub chain: Vec<NamedEnd>,
    /// Results before anything bad touched the chain.
    pub good_results: Vec<FactId>,
    /// Results after the port of the chain had touched the repaired end.
    pub doubtful_results: Vec<FactId>,
    /// The end that was found loose, with metal flakes in it.
    pub dirty: NamedEnd,
    /// The look that found it.
    pub dirt_found: FactId,
    /// When.
    pub dirt_found_at: Moment,
}

/// A box of calibration standards.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kit {
    /// What the box is called.
    pub place: String,
    /// What belongs in it.
    pub items: Vec<NamedItem>,
    /// What was last put away elsewhere, without caps.
    pub elsewhere: NamedItem,
}

/// One end for each standing worth showing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SingleCases {
    /// SMA, never gauged.
    pub never_gauged: NamedEnd,
    /// SMA, gauged a week ago, well recessed, looked at.
    pub good_sma: NamedEnd,
    /// 3.5 mm port, gauged a week ago, well recessed, looked at.
    pub good_port: NamedEnd,
    /// Held since it fell from the bench.
    pub held: NamedEnd,
    /// The fact of that.
    pub held_fact: FactId,
    /// A retired end of an item that lives on.
    pub retired_end: NamedEnd,
    /// A retired item.
    pub retired_item: NamedItem,
    /// More than a hundred contacts since its last gauging.
    pub due_by_mates: NamedEnd,
    /// Gauged four hundred days ago, hardly mated since.
    pub due_by_time: NamedEnd,
    /// Found dirty, not cleaned.
    pub dirty: NamedEnd,
    /// Gauged with a gauge whose uncertainty nobody knows.
    pub uncertain_gauge: NamedEnd,
    /// Recessed by 2 µm as read by a gauge good to 3 µm.
    pub near_flush: NamedEnd,
    /// A mate that was entered twice and voided.
    pub voided: FactId,
    /// Held once, then looked at, gauged and released.
    pub released: NamedEnd,
    /// A cleaning that was entered under the wrong day and set right.
    pub retimed: FactId,
}
