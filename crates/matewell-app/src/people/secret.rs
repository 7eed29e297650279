//! Secrets: made from the system's random source, kept as a hash.

use crate::AppError;
use matewell_store::sha256_of;

/// Letters of a code that is typed: none looks like another.
const TYPED: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";

fn random<const N: usize>() -> Result<[u8; N], AppError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes)
        .map_err(|e| AppError::Conflict(format!("the system gave no random numbers: {e}")))?;
    Ok(bytes)
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    let digit = |n: u8| char::from_digit(u32::from(n), 16).unwrap_or('0');
    bytes.iter().flat_map(|b| [digit(b >> 4), digit(b & 15)]).collect()
}

/// A secret of 256 bits: `mw_` and 64 hexadecimal digits.
pub(crate) fn secret() -> Result<String, AppError> {
    Ok(format!("mw_{}", hex(&random::<32>()?)))
}

/// A short name of 64 bits, no secret.
pub(crate) fn short_name() -> Result<String, AppError> {
    Ok(hex(&random::<8>()?))
}

/// A seed of a key.
pub(crate) fn seed() -> Result<[u8; 32], AppError> {
    random()
}

/// A code of 100 bits to be typed once.
pub(crate) fn typed_code() -> Result<String, AppError> {
    let letters: Vec<char> = random::<20>()?.iter().map(|b| char::from(TYPED[usize::from(b % 32)])).collect();
    Ok(letters.chunks(4).map(|four| four.iter().collect::<String>()).collect::<Vec<_>>().join("-"))
}

/// The code as compared: without dashes, spaces and small letters.
pub(crate) fn typed(code: &str) -> String {
    code.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect()
}

/// What is kept of a secret.
pub(crate) fn kept(secret: &str) -> [u8; 32] {
    sha256_of(secret.as_bytes())
}
