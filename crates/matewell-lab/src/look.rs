//! What a look writes down beside its outcome: where on the face, and a photo.

use crate::LabError;

/// A ring of an end's face, from the inside out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FaceZone {
    /// Pin, or socket with its fingers.
    CentreContact,
    /// Between centre contact and outer conductor: air or dielectric.
    DielectricFace,
    /// The mating plane of the outer conductor.
    MatingPlane,
    /// Thread, nut or what else couples.
    Coupling,
}

impl FaceZone {
    /// Every zone, from the inside out.
    pub const ALL: &'static [Self] =
        &[Self::CentreContact, Self::DielectricFace, Self::MatingPlane, Self::Coupling];

    /// The word used in files.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::CentreContact => "centre-contact",
            Self::DielectricFace => "dielectric-face",
            Self::MatingPlane => "mating-plane",
            Self::Coupling => "coupling",
        }
    }

    /// The value for a word.
    ///
    /// # Errors
    ///
    /// [`LabError::UnknownWord`].
    pub fn from_word(word: &str) -> Result<Self, LabError> {
        Self::ALL.iter().copied().find(|z| z.word() == word).ok_or_else(|| LabError::UnknownWord {
            what: "the zone of a face",
            expected: Self::ALL.iter().map(|z| z.word()).collect::<Vec<_>>().join(", "),
            found: word.chars().take(64).collect(),
        })
    }
}

/// Where something was seen, looking into the face. A person's pointing, good
/// to an hour of the clock: no coordinate and no size is claimed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FaceMark {
    /// Hour of the clock, 1 to 12, with 12 at the label of the end.
    pub clock: u8,
    /// Which ring.
    pub zone: FaceZone,
    /// The word for what was seen there, if any.
    pub word: Option<String>,
}

impl FaceMark {
    /// From text such as `3:mating-plane:dented-rim`.
    ///
    /// # Errors
    ///
    /// [`LabError::UnknownWord`] with what was expected.
    pub fn from_text(text: &str) -> Result<Self, LabError> {
        let mut parts = text.trim().splitn(3, ':').map(str::trim);
        let hour = parts.next().unwrap_or_default();
        let clock =
            hour.parse().ok().filter(|h| (1..=12).contains(h)).ok_or_else(|| LabError::UnknownWord {
                what: "the place on a face",
                expected: "HOUR:ZONE or HOUR:ZONE:WORD with an hour from 1 to 12".to_owned(),
                found: text.chars().take(64).collect(),
            })?;
        let zone = FaceZone::from_word(parts.next().unwrap_or_default())?;
        let word = parts.next().filter(|w| !w.is_empty()).map(str::to_owned);
        Ok(Self { clock, zone, word })
    }
}

/// What a photo is, told by its first bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PhotoKind {
    /// PNG.
    Png,
    /// JPEG.
    Jpeg,
    /// WebP.
    Webp,
}

impl PhotoKind {
    /// Every kind.
    pub const ALL: &'static [Self] = &[Self::Png, Self::Jpeg, Self::Webp];

    /// The media type.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Png => "image/png",
            Self::Jpeg => "image/jpeg",
            Self::Webp => "image/webp",
        }
    }

    /// The value for a media type.
    ///
    /// # Errors
    ///
    /// [`LabError::UnknownWord`].
    pub fn from_word(word: &str) -> Result<Self, LabError> {
        Self::ALL.iter().copied().find(|k| k.word() == word).ok_or_else(|| LabError::UnknownWord {
            what: "the kind of a photo",
            expected: Self::ALL.iter().map(|k| k.word()).collect::<Vec<_>>().join(", "),
            found: word.chars().take(64).collect(),
        })
    }

    /// By the signature at the beginning of the bytes: PNG (ISO/IEC 15948,
    /// 5.2), JPEG (ISO/IEC 10918-1, B.1.1.3: SOI and another marker), WebP
    /// (RFC 9649, 2.4).
    #[must_use]
    pub fn of_bytes(bytes: &[u8]) -> Option<Self> {
        match bytes {
            [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, ..] => Some(Self::Png),
            [0xff, 0xd8, 0xff, ..] => Some(Self::Jpeg),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(Self::Webp),
            _ => None,
        }
    }
}

/// A photo of a look. Its bytes are kept beside the facts under their SHA-256.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LookPhoto {
    /// What it is.
    pub kind: PhotoKind,
    /// SHA-256 of its bytes.
    pub sha256: [u8; 32],
    /// How many bytes it has.
    pub bytes: u64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_on_the_face_is_an_hour_and_a_ring() {
        let mark = FaceMark::from_text("3:mating-plane:dented-rim");
        let expected =
            FaceMark { clock: 3, zone: FaceZone::MatingPlane, word: Some("dented-rim".to_owned()) };
        assert_eq!(mark, Ok(expected));
        assert_eq!(FaceMark::from_text(" 12 : coupling ").map(|m| (m.clock, m.word)), Ok((12, None)));
        for text in ["", "0:coupling", "13:coupling", "3", "3:rim", "3.5:coupling", "-1:coupling"] {
            assert!(FaceMark::from_text(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_photo_is_told_by_its_bytes() {
        assert_eq!(PhotoKind::of_bytes(b"\x89PNG\r\n\x1a\n...."), Some(PhotoKind::Png));
        assert_eq!(PhotoKind::of_bytes(b"\xff\xd8\xff\xe0"), Some(PhotoKind::Jpeg));
        assert_eq!(PhotoKind::of_bytes(b"RIFF\x10\0\0\0WEBPVP8 "), Some(PhotoKind::Webp));
        for bytes in [&b""[..], b"<svg", b"GIF89a", b"\x89PNG", b"RIFF\x10\0\0\0WAVE", b"<!doctype html>"] {
            assert_eq!(PhotoKind::of_bytes(bytes), None);
        }
    }
}
