//! One item written down by hand, and a registration set right.

use crate::{
    AppError, Said, Workshop, WrittenJson,
    error::{bad, length_above_zero},
};
use matewell_lab::{
    Body, Corrected, Correction, Cost, End, EndId, FactBody, GaugeMethod, GaugeSpec, Grade, Item, ItemId,
    ItemKind, Moment, Registered, Sex, Slots, WrenchSpec, item_record,
};
use matewell_quantity::Torque;
use matewell_sheets::Lookup;
use matewell_wire::{EndAsked, ItemAsked};
use std::collections::BTreeSet;

/// Longest label.
const MOST_LABEL: usize = 64;
/// Most ends of one item.
const MOST_ENDS: usize = 64;

fn said(text: Option<&String>) -> Option<String> {
    text.map(|t| t.trim().to_owned()).filter(|t| !t.is_empty())
}

fn word<T>(
    field: &'static str,
    text: Option<&String>,
    read: impl Fn(&str) -> Result<T, matewell_lab::LabError>,
    unknown: T,
) -> Result<T, AppError> {
    said(text).map_or(Ok(unknown), |t| read(&t).map_err(|e| bad(field, e)))
}

fn label(field: &'static str, text: &str) -> Result<String, AppError> {
    let text = text.trim();
    if text.is_empty() || text.chars().count() > MOST_LABEL || text.contains('\0') {
        return Err(bad(field, format!("expected 1 to {MOST_LABEL} characters, found \"{text}\"")));
    }
    Ok(text.to_owned())
}

/// An amount such as `240` or `240.50`; a decimal comma is understood.
fn hundredths(text: &str) -> Result<i64, AppError> {
    let wrong = || bad("cost", format!("expected an amount such as 240.00, found \"{text}\""));
    let text = text.trim().replace(',', ".");
    let (whole, cents) = text.split_once('.').unwrap_or((&text, ""));
    let digits = |t: &str| t.chars().all(|c| c.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(cents) || cents.len() > 2 || whole.len() > 12 {
        return Err(wrong());
    }
    let whole: i64 = whole.parse().map_err(|_| wrong())?;
    let cents: i64 = format!("{cents:0<2}").parse().map_err(|_| wrong())?;
    Ok(whole * 100 + cents)
}

impl Workshop {
    /// Writes down one item with its ends.
    ///
    /// # Errors
    ///
    /// A label that is empty or on record already; words and interfaces that
    /// are unknown; a gauge or a wrench without what makes it one.
    pub fn register_item(
        &mut self,
        asked: &ItemAsked,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        let body = self.registered_as(asked, None, now)?;
        self.write_one(FactBody::Registered(Box::new(body)), said, now)
    }

    /// Sets the registration of an item right: a correction beside it.
    ///
    /// # Errors
    ///
    /// As [`Self::register_item`]; an unknown item; an end left out, which is
    /// retired instead; an empty reason.
    pub fn amend_item(
        &mut self,
        tag: &str,
        asked: &ItemAsked,
        because: &str,
        said: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said, now)? {
            return Ok(done);
        }
        if because.trim().is_empty() {
            return Err(bad("because", "expected a reason in words, found nothing"));
        }
        let item = self.one_item("an item", tag)?;
        let record = item_record(item, &self.store.facts_of_item(item)?, now)
            .ok_or_else(|| AppError::UnknownTag { what: "an item", found: tag.trim().to_owned() })?;
        let body = self.registered_as(asked, Some(&record.registered), now)?;
        let correction = Correction::Body(Box::new(FactBody::Registered(Box::new(body))));
        let corrected =
            Corrected { fact: record.registered_by, correction, because: because.trim().to_owned() };
        self.write_one(FactBody::Corrected(corrected), said, now)
    }

    fn registered_as(
        &mut self,
        asked: &ItemAsked,
        before: Option<&Registered>,
        now: Moment,
    ) -> Result<Registered, AppError> {
        let tag = label("tag", &asked.tag)?;
        let kind = ItemKind::from_word(asked.kind.trim()).map_err(|e| bad("kind", e))?;
        let item_id = before.map_or_else(|| ItemId::from_bytes(self.new_id(now)), |b| b.item.id);
        let taken = self.store.item_by_tag(&tag)?.is_some_and(|hit| hit.item != item_id);
        if taken {
            return Err(bad("tag", format!("expected a label that is free, found {tag} on record")));
        }
        if asked.ends.len() > MOST_ENDS {
            return Err(bad("ends", format!("expected at most {MOST_ENDS}, found {}", asked.ends.len())));
        }
        let mut ends = Vec::new();
        let mut tags = BTreeSet::new();
        for end in &asked.ends {
            let end = self.end_as(end, item_id, before, now)?;
            if !tags.insert(end.tag.to_lowercase()) || ends.iter().any(|e: &End| e.id == end.id) {
                return Err(bad("ends", format!("expected each label once, found {} twice", end.tag)));
            }
            ends.push(end);
        }
        if let Some(lost) = before.and_then(|b| b.ends.iter().find(|old| ends.iter().all(|e| e.id != old.id)))
        {
            return Err(bad(
                "ends",
                format!("expected {} too: an end that is gone is retired, with a reason", lost.tag),
            ));
        }
        let old = before.map(|b| &b.item);
        Ok(Registered { item: self.item_as(asked, item_id, tag, kind, old)?, ends })
    }

    fn item_as(
        &self,
        asked: &ItemAsked,
        id: ItemId,
        tag: String,
        kind: ItemKind,
        before: Option<&Item>,
    ) -> Result<Item, AppError> {
        let cost = match (said(asked.cost.as_ref()), said(asked.currency.as_ref())) {
            (None, _) => None,
            (Some(amount), Some(currency))
                if currency.len() == 3 && currency.chars().all(|c| c.is_ascii_alphabetic()) =>
            {
                Some(Cost { hundredths: hundredths(&amount)?, currency: currency.to_uppercase() })
            }
            (Some(_), other) => {
                let found = other.unwrap_or_else(|| "nothing".to_owned());
                return Err(bad("currency", format!("expected three letters such as EUR, found {found}")));
            }
        };
        let gauge = if kind == ItemKind::Gauge {
            let interface = said(asked.gauges.as_ref())
                .ok_or_else(|| bad("gauges", "expected the interface it gauges, found nothing"))?;
            let old = before.and_then(|b| b.gauge.as_ref());
            Some(GaugeSpec {
                interface: self.interface_named("gauges", &interface)?,
                method: word("method", asked.method.as_ref(), GaugeMethod::from_word, GaugeMethod::ScrewOn)?,
                standard_uncertainty: length_above_zero(
                    "standard_uncertainty",
                    asked.standard_uncertainty.as_deref(),
                )?,
                repeatability: length_above_zero("repeatability", asked.repeatability.as_deref())?,
                repeatability_dof: old.and_then(|g| g.repeatability_dof),
                resolution: old.and_then(|g| g.resolution),
                master: said(asked.master.as_ref()),
            })
        } else {
            None
        };
        let wrench = if kind == ItemKind::TorqueWrench { Some(self.wrench_as(asked)?) } else { None };
        Ok(Item {
            id,
            tag,
            kind,
            description: said(asked.description.as_ref()).unwrap_or_default(),
            model: said(asked.model.as_ref()),
            serial: said(asked.serial.as_ref()),
            location: said(asked.location.as_ref()),
            cost,
            gauge,
            wrench,
            extra: before.map(|b| b.extra.clone()).unwrap_or_default(),
        })
    }

    fn wrench_as(&self, asked: &ItemAsked) -> Result<WrenchSpec, AppError> {
        let text = said(asked.set_point.as_ref())
            .ok_or_else(|| bad("set_point", "expected the torque it is set to, found nothing"))?;
        let set_point: Torque =
            text.parse().map_err(|e: matewell_quantity::QuantityError| bad("set_point", e))?;
        if set_point.newton_metres() <= 0.0 {
            return Err(bad("set_point", format!("expected a torque above zero, found {text}")));
        }
        let tolerance = match said(asked.permissible_percent.as_ref()) {
            None => self.sheets.policy().wrench_deviation.value,
            Some(text) => {
                let percent: Option<f64> = text.replace(',', ".").parse().ok();
                let percent = percent.filter(|p| *p > 0.0 && *p < 100.0);
                percent.ok_or_else(|| {
                    let message = format!("expected a percentage above 0 and below 100, found \"{text}\"");
                    bad("permissible_percent", message)
                })? / 100.0
            }
        };
        Ok(WrenchSpec { set_point, tolerance })
    }

    fn interface_named(&self, field: &'static str, text: &str) -> Result<String, AppError> {
        match self.sheets.find_interface(text) {
            Lookup::Found(key) => Ok(key),
            Lookup::Ambiguous(keys) => {
                Err(bad(field, format!("\"{text}\" fits {}: which one?", keys.join(", "))))
            }
            Lookup::Unknown => {
                let keys: Vec<&str> = self.sheets.interfaces().map(|i| i.key.as_str()).collect();
                Err(bad(field, format!("expected one of {}, found \"{text}\"", keys.join(", "))))
            }
        }
    }

    fn end_as(
        &mut self,
        asked: &EndAsked,
        item: ItemId,
        before: Option<&Registered>,
        now: Moment,
    ) -> Result<End, AppError> {
        let tag = label("ends", &asked.tag)?;
        let interface = self.interface_named("ends", asked.interface.trim())?;
        let sex = Sex::from_word(asked.sex.trim()).map_err(|e| bad("ends", format!("{tag}: {e}")))?;
        let neutral = self.sheets.interface(&interface).is_some_and(|i| i.neutral);
        if neutral != (sex == Sex::Neutral) {
            let expected = if neutral { "neutral" } else { "pin or socket" };
            return Err(bad(
                "ends",
                format!("{tag}: expected {expected} for {interface}, found {}", sex.word()),
            ));
        }
        let same = |old: &&End| match &asked.id {
            Some(id) => old.id.to_string() == *id,
            None => old.tag.eq_ignore_ascii_case(&tag),
        };
        let old = before.and_then(|b| b.ends.iter().find(same));
        if asked.id.is_some() && old.is_none() {
            return Err(bad("ends", format!("{tag}: expected the id of an end of this item")));
        }
        let id = old.map_or_else(|| EndId::from_bytes(self.new_id(now)), |o| o.id);
        // A label of an item is no label of one of its ends unless it is the only one.
        let taken = self.store.ends_by_tag(&tag)?.into_iter().any(|hit| hit.end != id && hit.item != item);
        if taken {
            return Err(bad("ends", format!("expected a label that is free, found {tag} on record")));
        }
        Ok(End {
            id,
            item,
            tag,
            interface,
            sex,
            grade: word("ends", asked.grade.as_ref(), Grade::from_word, Grade::Unknown)?,
            body: word("ends", asked.body.as_ref(), Body::from_word, Body::Unknown)?,
            slots: word("ends", asked.slots.as_ref(), Slots::from_word, Slots::Unknown)?,
            static_sensitive: asked.static_sensitive,
            rf_live: asked.rf_live,
            biased: asked.biased,
            extra: old.map(|o| o.extra.clone()).unwrap_or_default(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amount_is_read_to_the_cent_or_refused() {
        assert_eq!(hundredths("240").ok(), Some(24_000));
        assert_eq!(hundredths("240,5").ok(), Some(24_050));
        assert_eq!(hundredths("0.07").ok(), Some(7));
        for text in ["", "-1", "1.234", "1 000", "1e3", "240 EUR", "9999999999999"] {
            assert!(hundredths(text).is_err(), "{text}");
        }
    }
}
