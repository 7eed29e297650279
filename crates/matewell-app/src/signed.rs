//! A dossier of an end: what is on record, each fact with its place in the
//! chain, signed so that it can be shown and verified elsewhere.
//!
//! A signed dossier is two lines: the dossier as JSON, and the signature
//! (Ed25519, RFC 8032) over the bytes of the first line. Any program that knows
//! Ed25519 can verify it; the hashes of the facts follow the README of `store`.

use crate::{
    AppError, Workshop,
    error::bad,
    people::{change, hex, new_seed},
};
use matewell_lab::Moment;
use matewell_store::{BehindFact, LinkedFact, hash_from_text, hash_text, link_holds};
use matewell_wire::{DossierFactJson, DossierSignatureJson, DossierVerdictJson, SignedDossierJson};
use ring::signature::{ED25519, Ed25519KeyPair, KeyPair as _, UnparsedPublicKey};

const FORMAT: &str = "matewell-dossier-1";
const ALGORITHM: &str = "Ed25519";

fn from_hex<const N: usize>(field: &'static str, text: &str) -> Result<[u8; N], AppError> {
    let text = text.trim();
    let mut bytes = [0; N];
    let digits = text.as_bytes();
    let read = digits.len() == 2 * N
        && bytes.iter_mut().zip(digits.chunks(2)).all(|(byte, two)| {
            let value = std::str::from_utf8(two).ok().and_then(|two| u8::from_str_radix(two, 16).ok());
            value.map(|v| *byte = v).is_some() && two[0] != b'+'
        });
    if read {
        Ok(bytes)
    } else {
        Err(bad(field, format!("expected {} hexadecimal digits, found \"{text}\"", 2 * N)))
    }
}

impl Workshop {
    fn dossier_with_facts(&self, tag: &str, at: Moment) -> Result<SignedDossierJson, AppError> {
        let hit = self.one_end(tag)?;
        let facts = self
            .store
            .facts_behind(hit.end)?
            .into_iter()
            .filter(|behind| behind.linked.fact.happened_at <= at)
            .map(|behind| {
                let fact = behind.linked.to_json()?;
                Ok(DossierFactJson { previous_sha256: hash_text(&behind.previous), fact })
            })
            .collect::<Result<_, AppError>>()?;
        Ok(SignedDossierJson {
            format: FORMAT.to_owned(),
            machine: self.store.machine().to_string(),
            dossier: self.end_dossier(&hit.end_tag, at)?,
            facts,
        })
    }

    /// A dossier and its signature, one line each. The key is made at the
    /// first time and kept in the log.
    ///
    /// # Errors
    ///
    /// As [`Workshop::end_dossier`]; a store that cannot be written.
    pub fn signed_dossier(
        &mut self,
        tag: &str,
        at: Moment,
        by: &str,
        now: Moment,
    ) -> Result<String, AppError> {
        let text = serde_json::to_string(&self.dossier_with_facts(tag, at)?)
            .map_err(|e| AppError::Conflict(format!("the dossier could not be written: {e}")))?;
        let note = change(by, "signing-key-made", "", "a key for signed dossiers", now);
        let seed = self.store.signing_seed(new_seed()?, &note, now)?;
        let key = Ed25519KeyPair::from_seed_unchecked(&seed)
            .map_err(|e| AppError::Conflict(format!("the key of this lab cannot be used: {e}")))?;
        let signature = DossierSignatureJson {
            algorithm: ALGORITHM.to_owned(),
            public_key: hex(key.public_key().as_ref()),
            signature: hex(key.sign(text.as_bytes()).as_ref()),
        };
        let signature = serde_json::to_string(&signature)
            .map_err(|e| AppError::Conflict(format!("the signature could not be written: {e}")))?;
        Ok(format!("{text}\n{signature}\n"))
    }
}

/// Whether a signed dossier is what was signed, and every fact in it what was
/// written. Needs no lab.
///
/// # Errors
///
/// What is no signed dossier.
pub fn verify_dossier(text: &str, expected_key: Option<&str>) -> Result<DossierVerdictJson, AppError> {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty());
    let (Some(first), Some(second), None) = (lines.next(), lines.next(), lines.next()) else {
        let found = text.lines().filter(|line| !line.trim().is_empty()).count();
        return Err(bad("file", format!("expected two lines, a dossier and its signature, found {found}")));
    };
    let dossier: SignedDossierJson =
        serde_json::from_str(first).map_err(|e| bad("file", format!("line 1: expected a dossier: {e}")))?;
    if dossier.format != FORMAT {
        return Err(bad(
            "file",
            format!("line 1: expected the format {FORMAT}, found \"{}\"", dossier.format),
        ));
    }
    let signature: DossierSignatureJson = serde_json::from_str(second)
        .map_err(|e| bad("file", format!("line 2: expected a signature: {e}")))?;
    if signature.algorithm != ALGORITHM {
        return Err(bad("file", format!("line 2: expected {ALGORITHM}, found \"{}\"", signature.algorithm)));
    }
    let key = from_hex::<32>("public_key", &signature.public_key)?;
    let given = from_hex::<64>("signature", &signature.signature)?;
    let expected_key = expected_key.map(|k| from_hex::<32>("--key", k)).transpose()?.map(|k| k == key);
    let signed = UnparsedPublicKey::new(&ED25519, key).verify(first.as_bytes(), &given).is_ok();
    let mut first_broken = None;
    for one in &dossier.facts {
        let behind = hash_from_text(&one.previous_sha256).and_then(|previous| {
            Some(BehindFact { previous, linked: LinkedFact::from_json(&one.fact).ok()? })
        });
        if !behind.is_some_and(|behind| link_holds(&behind).unwrap_or(false)) {
            first_broken = Some(one.fact.id.to_string());
            break;
        }
    }
    let whole = signed && expected_key != Some(false) && first_broken.is_none();
    let tag = dossier.dossier.end.standing.end.tag.clone();
    let words = match (&first_broken, signed, expected_key) {
        (_, false, _) => "NOT AS SIGNED: the dossier or its signature was changed".to_owned(),
        (_, _, Some(false)) => "ANOTHER KEY: it was signed, but not by the key that was expected".to_owned(),
        (Some(fact), ..) => format!("BROKEN at fact {fact}: its hash does not follow from it"),
        (None, true, Some(true)) => {
            format!("Whole: {} facts of {tag}, signed by the expected key", dossier.facts.len())
        }
        (None, true, None) => format!(
            "Whole: {} facts of {tag}, signed by the key {}; whose key that is has to be known from elsewhere",
            dossier.facts.len(),
            signature.public_key
        ),
    };
    Ok(DossierVerdictJson {
        whole,
        signed,
        public_key: signature.public_key,
        expected_key,
        facts: dossier.facts.len() as u64,
        first_broken,
        tag,
        at: dossier.dossier.at,
        text: words,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::UuidV7;

    /// RFC 8032 section 7.1, test 2: seed, public key, message 0x72, signature.
    #[test]
    fn the_signature_is_that_of_rfc_8032() {
        let seed: [u8; 32] =
            from_hex("seed", "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb").unwrap();
        let key = Ed25519KeyPair::from_seed_unchecked(&seed).unwrap();
        assert_eq!(
            hex(key.public_key().as_ref()),
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"
        );
        assert_eq!(
            hex(key.sign(&[0x72]).as_ref()),
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da\
             085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
        );
    }

    #[test]
    fn a_dossier_verifies_elsewhere_and_every_change_is_found() {
        let now = Moment::from_microseconds(1_800_000_000_000_000);
        let mut shop = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
        shop.demo(now).unwrap();
        let signed = shop.signed_dossier("CB-014A", now, "Mara Lind", now).unwrap();
        assert_eq!(signed, shop.signed_dossier("cb-014a", now, "Mara Lind", now).unwrap(), "the same key");
        assert_eq!(shop.right_changes().unwrap().changes.len(), 1);
        let found = verify_dossier(&signed, None).unwrap();
        assert!(found.whole && found.facts > 10, "{found:?}");
        assert!(verify_dossier(&signed, Some(&found.public_key)).unwrap().whole);
        let other = verify_dossier(&signed, Some(&"0".repeat(64))).unwrap();
        assert!(other.signed && !other.whole && other.text.starts_with("ANOTHER KEY"), "{other:?}");
        // Every byte of the first line counts: one changed here and there.
        let (first, second) = signed.split_once('\n').unwrap();
        for at in (0..first.len()).step_by(first.len() / 40) {
            let mut bytes = first.as_bytes().to_vec();
            bytes[at] = if bytes[at] == b'1' { b'2' } else { b'1' };
            let Ok(text) = String::from_utf8(bytes) else { continue };
            let answer = verify_dossier(&format!("{text}\n{second}"), None);
            assert!(answer.as_ref().map_or(true, |found| !found.whole), "byte {at}: {answer:?}");
        }
        // Signed anew by somebody else, a fact that was never written is found by its hash.
        let mut dossier: SignedDossierJson = serde_json::from_str(first).unwrap();
        dossier.facts[3].fact.person = "somebody else".to_owned();
        let text = serde_json::to_string(&dossier).unwrap();
        let key = Ed25519KeyPair::from_seed_unchecked(&[7; 32]).unwrap();
        let line = format!(
            "{{\"algorithm\":\"Ed25519\",\"public_key\":\"{}\",\"signature\":\"{}\"}}",
            hex(key.public_key().as_ref()),
            hex(key.sign(text.as_bytes()).as_ref())
        );
        let found = verify_dossier(&format!("{text}\n{line}"), None).unwrap();
        assert!(found.signed && !found.whole, "{found:?}");
        assert_eq!(found.first_broken, Some(dossier.facts[3].fact.id.to_string()));
        for (bad, expected) in [("", "found 0"), ("{}\n{}", "line 1"), (&format!("{first}\n{{}}"), "line 2")]
        {
            let error = verify_dossier(bad, None).unwrap_err().to_string();
            assert!(error.contains(expected), "{error}");
        }
    }
}
