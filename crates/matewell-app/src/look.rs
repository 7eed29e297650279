//! A guided look: what to look for, and what was seen where.

use crate::{AppError, Said, Workshop, WrittenJson, error::bad, workshop::Tags};
use matewell_lab::{
    FaceMark, FaceZone, FactBody, FactId, Inspected, InspectionOutcome, LookPhoto, Moment, PhotoKind,
    end_record,
};
use matewell_sheets::{InterfaceSheet, Sourced, Words};
use matewell_store::sha256_of;
use matewell_wire::{
    EndNameJson, FaceZoneJson, LookAsked, LookCautionJson, LookGuideJson, LookWordsJson, OriginJson,
    SheetNumberJson,
};

/// Most bytes of a photo: 16 MiB.
pub const MOST_PHOTO_BYTES: usize = 16 * 1024 * 1024;
/// Most marks and most words of one look.
const MOST_MARKS: usize = 100;

pub(crate) fn origin(source: &str, locator: &str, evidence: matewell_sheets::Evidence) -> OriginJson {
    OriginJson {
        source: source.to_owned(),
        locator: locator.to_owned(),
        evidence: evidence.word().to_owned(),
    }
}

fn number(value: &Sourced) -> SheetNumberJson {
    SheetNumberJson {
        value: value.value,
        unit: value.unit.clone(),
        origin: origin(&value.source, &value.locator, value.evidence),
        note: value.note.clone(),
    }
}

fn words(words: &Words) -> LookWordsJson {
    LookWordsJson { words: words.list.clone(), origin: origin(&words.source, &words.locator, words.evidence) }
}

/// The rings of a face. The outer edge of the mating plane and the coupling
/// are in no sheet, so they have no radius.
fn face(sheet: &InterfaceSheet) -> Vec<FaceZoneJson> {
    let inner = sheet.inner_diameter.as_ref().map(|d| d.value / 2.0);
    let outer = sheet.outer_diameter.as_ref().map(|d| d.value / 2.0);
    let ring = |zone: FaceZone, from_mm, to_mm| FaceZoneJson { zone: zone.word().to_owned(), from_mm, to_mm };
    vec![
        ring(FaceZone::CentreContact, Some(0.0), inner),
        ring(FaceZone::DielectricFace, inner, outer),
        ring(FaceZone::MatingPlane, outer, None),
        ring(FaceZone::Coupling, None, None),
    ]
}

impl Workshop {
    /// What to look for on an end, with what, and the words for it.
    ///
    /// # Errors
    ///
    /// Unknown or ambiguous labels; a store that cannot be read.
    pub fn look_guide(&self, tag: &str, at: Moment) -> Result<LookGuideJson, AppError> {
        let end = self.one_end(tag)?.end;
        let record = end_record(end, &self.store.facts_of_end(end)?, at)
            .ok_or_else(|| AppError::UnknownTag { what: "an end", found: tag.trim().to_owned() })?;
        let sheet = self.sheets.interface(&record.end.interface);
        let procedure = self.sheets.procedure("inspection");
        let of = |key: &str| self.sheets.words(key).map(words);
        let diameter = sheet.and_then(|s| s.outer_diameter.as_ref());
        Ok(LookGuideJson {
            end: EndNameJson::new(end, &Tags(&self.store)),
            interface: record.end.interface.clone(),
            sex: record.end.sex.word().to_owned(),
            slots: record.end.slots.word().to_owned(),
            magnification: sheet.map(|s| number(&s.magnification)),
            magnification_also: sheet.map_or_else(Vec::new, |s| {
                let also = s.also.iter().filter(|a| a.quantity == "magnification");
                also.map(|a| SheetNumberJson {
                    value: a.value,
                    unit: a.unit.clone(),
                    origin: origin(&a.source, &a.locator, a.evidence),
                    note: a.note.clone(),
                })
                .collect()
            }),
            look_for: sheet.map_or_else(Vec::new, |s| s.look_for.clone()),
            damage: of("damage"),
            normal_wear: of("normal-wear"),
            dirt: of("dirt"),
            steps: procedure.map_or_else(Vec::new, |p| p.steps.clone()),
            because: procedure.map_or_else(String::new, |p| p.because.clone()),
            cautions: self
                .sheets
                .cautions_during("inspection")
                .into_iter()
                .map(|c| LookCautionJson { code: c.code.clone(), text: c.text.clone() })
                .collect(),
            face: sheet.map_or_else(Vec::new, face),
            pin_diameter_mm: sheet.and_then(|s| s.pin_diameter.as_ref()).map(|d| d.value),
            face_origin: diameter.map(|d| origin(&d.source, &d.locator, d.evidence)),
        })
    }

    /// Somebody looked at an end: what was seen where, and a photo if there is
    /// one. The bytes are kept as they came.
    ///
    /// # Errors
    ///
    /// Unknown labels and words; a magnification that is not above zero; a
    /// photo that is neither PNG nor JPEG nor WebP by its content, or too big.
    pub fn look(
        &mut self,
        asked: &LookAsked,
        photo: &[u8],
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let end = self.one_end(&asked.end)?.end;
        let outcome = InspectionOutcome::from_word(asked.outcome.trim()).map_err(|e| bad("outcome", e))?;
        let seen = list(asked.seen.as_deref(), ',');
        let marks = list(asked.marks.as_deref(), ';')
            .iter()
            .map(|text| FaceMark::from_text(text).map_err(|e| bad("marks", e)))
            .collect::<Result<Vec<_>, _>>()?;
        if marks.len() > MOST_MARKS || seen.len() > MOST_MARKS {
            return Err(bad("marks", format!("expected at most {MOST_MARKS} marks and words")));
        }
        let magnification = magnification(asked.magnification.as_deref())?;
        let photo_fact = if photo.is_empty() { None } else { Some(photo_of(photo)?) };
        let files: &[&[u8]] = if photo.is_empty() { &[] } else { &[photo] };
        let body = Inspected { end, outcome, seen, magnification, marks, photo: photo_fact };
        let fact = self.fact(said, now, FactBody::Inspected(body));
        self.write_with_files(files, &[fact], said, now, None)
    }

    /// The photo of a look, byte for byte as it came.
    ///
    /// # Errors
    ///
    /// A fact that is no look with a photo; a store that cannot be read.
    pub fn look_photo(&self, fact: &str) -> Result<(PhotoKind, Vec<u8>), AppError> {
        let id: FactId = fact.parse().map_err(|e| bad("fact", e))?;
        let unknown = || AppError::UnknownTag { what: "a look with a photo", found: fact.to_owned() };
        let found = self.store.fact(id)?.ok_or_else(unknown)?;
        let FactBody::Inspected(Inspected { photo: Some(photo), .. }) = &found.fact.body else {
            return Err(unknown());
        };
        let bytes = self.store.kept_file(&photo.sha256)?.ok_or_else(unknown)?;
        Ok((photo.kind, bytes))
    }
}

fn photo_of(bytes: &[u8]) -> Result<LookPhoto, AppError> {
    if bytes.len() > MOST_PHOTO_BYTES {
        return Err(AppError::TooLarge { most: MOST_PHOTO_BYTES as u64, found: bytes.len() as u64 });
    }
    let kind = PhotoKind::of_bytes(bytes).ok_or_else(|| {
        bad("photo", "expected a PNG, JPEG or WebP picture by its content, found something else")
    })?;
    Ok(LookPhoto { kind, sha256: sha256_of(bytes), bytes: bytes.len() as u64 })
}

fn magnification(text: Option<&str>) -> Result<Option<f64>, AppError> {
    let Some(text) = text.map(str::trim).filter(|t| !t.is_empty()) else { return Ok(None) };
    let wrong =
        || bad("magnification", format!("expected a number above 0 and up to 1000, found \"{text}\""));
    let number: f64 = text.trim_end_matches(['x', '×']).replace(',', ".").parse().map_err(|_| wrong())?;
    if number > 0.0 && number <= 1000.0 { Ok(Some(number)) } else { Err(wrong()) }
}

fn list(text: Option<&str>, between: char) -> Vec<String> {
    let parts = text.unwrap_or_default().split(between).map(str::trim);
    parts.filter(|part| !part.is_empty()).map(str::to_owned).collect()
}
