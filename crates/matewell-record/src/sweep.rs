//! Sweeps, to and from their payload.

use crate::{RecordError, SweepJudgedJson, SweepNotedJson};
use matewell_lab::{SweepJudged, SweepNoted};
use matewell_quantity::Frequency;

pub(crate) fn noted_json(sweep: &SweepNoted) -> SweepNotedJson {
    SweepNotedJson {
        chain: sweep.chain.clone(),
        port: sweep.port,
        cable_shape: sweep.cable_shape.clone(),
        instrument: sweep.instrument.clone(),
        layout: sweep.layout.clone(),
        known_good: sweep.known_good,
        file_name: sweep.file_name.clone(),
        sha256: hexadecimal(&sweep.sha256),
        bytes: sweep.bytes,
        ports: sweep.ports,
        points: sweep.points,
        from_hz: sweep.from.hertz(),
        to_hz: sweep.to.hertz(),
    }
}

pub(crate) fn noted(json: SweepNotedJson) -> Result<SweepNoted, RecordError> {
    Ok(SweepNoted {
        sha256: thirty_two(&json.sha256)?,
        chain: json.chain,
        port: json.port,
        cable_shape: json.cable_shape,
        instrument: json.instrument,
        layout: json.layout,
        known_good: json.known_good,
        file_name: json.file_name,
        bytes: json.bytes,
        ports: json.ports,
        points: json.points,
        from: Frequency::from_hertz(json.from_hz)?,
        to: Frequency::from_hertz(json.to_hz)?,
    })
}

pub(crate) fn judged_json(judged: &SweepJudged) -> SweepJudgedJson {
    SweepJudgedJson {
        sweep: judged.sweep,
        baseline: judged.baseline,
        finding: judged.finding.clone(),
        named: judged.named.clone(),
        text: judged.text.clone(),
    }
}

pub(crate) fn judged(json: SweepJudgedJson) -> SweepJudged {
    SweepJudged {
        sweep: json.sweep,
        baseline: json.baseline,
        finding: json.finding,
        named: json.named,
        text: json.text,
    }
}

pub(crate) fn hexadecimal(hash: &[u8; 32]) -> String {
    hash.iter()
        .flat_map(|byte| [byte >> 4, byte & 15])
        .filter_map(|digit| char::from_digit(u32::from(digit), 16))
        .collect()
}

/// One written form only, so that reading and writing again is the identity.
pub(crate) fn thirty_two(text: &str) -> Result<[u8; 32], RecordError> {
    let wrong = || RecordError::NotAHash { found: text.chars().take(80).collect() };
    if text.len() != 64 || text.bytes().any(|b| b.is_ascii_uppercase()) {
        return Err(wrong());
    }
    let mut hash = [0; 32];
    for (byte, pair) in hash.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
        for digit in pair {
            let value = char::from(*digit).to_digit(16).and_then(|d| u8::try_from(d).ok());
            *byte = (*byte << 4) | value.ok_or_else(wrong)?;
        }
    }
    Ok(hash)
}
