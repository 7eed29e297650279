//! A lab in memory whose ids count up.

use matewell_app::{Ids, Said, Workshop};
use matewell_lab::Moment;

/// 2026-11-25T09:00:00Z, a Wednesday.
pub(crate) const NOW: Moment = Moment::from_microseconds(1_795_597_200_000_000);

pub(crate) struct Counting(u64);

impl Ids for Counting {
    fn next(&mut self, now: Moment) -> [u8; 16] {
        self.0 += 1;
        let mut id = [0; 16];
        let milliseconds = u64::try_from(now.microseconds() / 1000).unwrap();
        id[..6].copy_from_slice(&milliseconds.to_be_bytes()[2..]);
        id[6] = 0x70;
        id[8] = 0x80;
        id[9..].copy_from_slice(&self.0.to_be_bytes()[1..]);
        id
    }
}

pub(crate) fn empty() -> Workshop {
    Workshop::in_memory(Box::new(Counting(0))).unwrap()
}

pub(crate) fn demo() -> Workshop {
    let mut shop = empty();
    assert!(shop.demo(NOW).unwrap());
    shop
}

pub(crate) fn said() -> Said {
    Said::at_the_bench("technician-1")
}

pub(crate) const REGISTER: &str = "\
Item,Kind,Description,Location,End tag,Interface,Sex,Grade,Material
CB-1,cable,test cable,bench 1,CB-1A,3.5 mm,male,instrument,stainless
CB-1,cable,test cable,bench 1,CB-1B,3.5 mm,female,instrument,stainless
IN-1,instrument,analyser,bench 1,IN-1P1,3.5 mm,male,metrology,stainless
IN-1,instrument,analyser,bench 1,IN-1P2,3.5 mm,female,metrology,stainless
";
