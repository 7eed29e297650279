//! Any bytes: an error or content, never a panic, never a number that is not
//! finite, and what can be written reads back as the same content.
#![no_main]

use libfuzzer_sys::fuzz_target;
use matewell_network::touchstone::{ReadOptions, Strictness, read, write};

fuzz_target!(|bytes: &[u8]| {
    let (first, bytes) = match bytes {
        [first, rest @ ..] => (*first, rest),
        [] => return,
    };
    let strictness = if first & 1 == 0 { Strictness::Lenient } else { Strictness::Strict };
    let ports_from_name = match first >> 1 {
        0..=63 => None,
        n => Some(usize::from(n - 63)),
    };
    let Ok(reading) = read(bytes, &ReadOptions { strictness, ports_from_name }) else {
        return;
    };
    if let Ok(sweep) = reading.content.to_sweep() {
        assert!(sweep.values().iter().all(|v| v.re.is_finite() && v.im.is_finite()));
    }
    if let Ok(text) = write(&reading.content) {
        let again = read(text.as_bytes(), &ReadOptions { strictness: Strictness::Lenient, ports_from_name })
            .expect("what was written reads back");
        assert_eq!(again.content, reading.content);
    }
});
