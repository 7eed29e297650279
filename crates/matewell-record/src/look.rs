//! Marks and photo of a look, to and from their payload.

use crate::{
    FaceMarkJson, LookPhotoJson, RecordError,
    sweep::{hexadecimal, thirty_two},
};
use matewell_lab::{FaceMark, FaceZone, LabError, LookPhoto, PhotoKind};

pub(crate) fn mark_json(mark: &FaceMark) -> FaceMarkJson {
    FaceMarkJson { clock: mark.clock, zone: mark.zone.word().to_owned(), word: mark.word.clone() }
}

pub(crate) fn mark(json: FaceMarkJson) -> Result<FaceMark, RecordError> {
    if !(1..=12).contains(&json.clock) {
        return Err(RecordError::from(LabError::UnknownWord {
            what: "the hour of a mark",
            expected: "1 to 12".to_owned(),
            found: json.clock.to_string(),
        }));
    }
    Ok(FaceMark { clock: json.clock, zone: FaceZone::from_word(&json.zone)?, word: json.word })
}

pub(crate) fn photo_json(photo: &LookPhoto) -> LookPhotoJson {
    LookPhotoJson {
        media: photo.kind.word().to_owned(),
        sha256: hexadecimal(&photo.sha256),
        bytes: photo.bytes,
    }
}

pub(crate) fn photo(json: &LookPhotoJson) -> Result<LookPhoto, RecordError> {
    Ok(LookPhoto {
        kind: PhotoKind::from_word(&json.media)?,
        sha256: thirty_two(&json.sha256)?,
        bytes: json.bytes,
    })
}
