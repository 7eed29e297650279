//! The hash chain: what is hashed, line by line.
//!
//! Each machine has its own chain. The text is documented in the README of
//! this room, so that an auditor can recompute a hash with a shell and
//! `sha256sum`.

use matewell_lab::{FactId, MachineId};
use sha2::{Digest, Sha256};
use std::io::Write as _;

/// SHA-256 of one fact and of everything before it.
pub type Hash = [u8; 32];

/// The hash before the first fact of a machine.
pub(crate) const START: Hash = [0; 32];

/// The columns of a fact that its hash covers, as they are stored.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Hashed<'a> {
    pub(crate) machine: &'a [u8; 16],
    pub(crate) machine_seq: i64,
    pub(crate) id: &'a [u8; 16],
    pub(crate) kind: &'a str,
    pub(crate) happened_at: i64,
    pub(crate) resolution: &'a str,
    pub(crate) sequence: i64,
    pub(crate) recorded_at: i64,
    pub(crate) person: &'a str,
    pub(crate) source: &'a str,
    pub(crate) note: Option<&'a str>,
    pub(crate) payload: &'a str,
}

/// The hash of a fact behind the hash `previous`. `text` is a buffer to be
/// used again.
pub(crate) fn link(previous: &Hash, fact: &Hashed<'_>, text: &mut Vec<u8>) -> Hash {
    text.clear();
    // Writing to a Vec cannot fail.
    let _written = write_text(previous, fact, text);
    Sha256::digest(&text).into()
}

fn write_text(previous: &Hash, fact: &Hashed<'_>, text: &mut Vec<u8>) -> std::io::Result<()> {
    text.extend_from_slice(b"matewell-fact-1\nprevious ");
    push_hex(previous, text);
    writeln!(text, "\nmachine {}", MachineId::from_bytes(*fact.machine))?;
    writeln!(text, "machine-sequence {}", fact.machine_seq)?;
    writeln!(text, "id {}", FactId::from_bytes(*fact.id))?;
    writeln!(text, "kind {}", fact.kind)?;
    writeln!(text, "happened-at {}", fact.happened_at)?;
    writeln!(text, "resolution {}", fact.resolution)?;
    writeln!(text, "sequence {}", fact.sequence)?;
    writeln!(text, "recorded-at {}", fact.recorded_at)?;
    writeln!(text, "person {} {}", fact.person.len(), fact.person)?;
    writeln!(text, "source {}", fact.source)?;
    match fact.note {
        Some(note) => writeln!(text, "note {} {note}", note.len())?,
        None => text.extend_from_slice(b"note -\n"),
    }
    writeln!(text, "payload {} {}", fact.payload.len(), fact.payload)
}

pub(crate) fn push_hex(bytes: &[u8], text: &mut Vec<u8>) {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    for byte in bytes {
        text.push(DIGITS[usize::from(byte >> 4)]);
        text.push(DIGITS[usize::from(byte & 15)]);
    }
}

/// A hash as 64 hexadecimal digits.
#[must_use]
pub fn hash_text(hash: &Hash) -> String {
    let mut text = Vec::with_capacity(64);
    push_hex(hash, &mut text);
    String::from_utf8(text).unwrap_or_default()
}

/// A hash from 64 hexadecimal digits.
#[must_use]
pub fn hash_from_text(text: &str) -> Option<Hash> {
    let digits = text.as_bytes();
    let mut hash = START;
    if digits.len() != 64 {
        return None;
    }
    for (byte, pair) in hash.iter_mut().zip(digits.chunks_exact(2)) {
        for digit in pair {
            let value = char::from(*digit).to_digit(16).and_then(|d| u8::try_from(d).ok())?;
            *byte = (*byte << 4) | value;
        }
    }
    Some(hash)
}
