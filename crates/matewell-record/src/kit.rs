//! Kits and planned work, to and from their payload.

use crate::{
    KitCheckedJson, PieceFoundJson, RecordError, ReservedJson,
    moment::{moment_from_text, moment_text},
};
use matewell_lab::{KitChecked, PieceFound, Reserved, Whereabouts};

pub(crate) fn checked_json(checked: &KitChecked) -> KitCheckedJson {
    let found = checked.found.iter().map(|f| PieceFoundJson {
        piece: f.piece,
        place: f.place.word().to_owned(),
        capped: f.capped,
    });
    KitCheckedJson { kit: checked.kit, found: found.collect() }
}

pub(crate) fn checked(json: KitCheckedJson) -> Result<KitChecked, RecordError> {
    let found = json.found.into_iter().map(|f| {
        Ok(PieceFound { piece: f.piece, place: Whereabouts::from_word(&f.place)?, capped: f.capped })
    });
    Ok(KitChecked { kit: json.kit, found: found.collect::<Result<_, RecordError>>()? })
}

pub(crate) fn reserved_json(reserved: &Reserved) -> Result<ReservedJson, RecordError> {
    Ok(ReservedJson {
        item: reserved.item,
        work: reserved.work.clone(),
        from: moment_text(reserved.from)?,
        until: moment_text(reserved.until)?,
    })
}

pub(crate) fn reserved(json: ReservedJson) -> Result<Reserved, RecordError> {
    Ok(Reserved {
        item: json.item,
        work: json.work,
        from: moment_from_text(&json.from)?,
        until: moment_from_text(&json.until)?,
    })
}
