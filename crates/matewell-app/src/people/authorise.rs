//! Authorisations by interface, where the lab wants them.

use super::{change, name_key};
use crate::{AppError, Workshop, error::bad};
use matewell_lab::{ItemKind, Moment};
use matewell_store::{AuthorisationRow, EndHit};

/// What the lab may want an authorisation for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// To gauge an end.
    Gauge,
    /// To mate something to a port of an instrument.
    MateInstrumentPort,
}

impl Act {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Gauge => "gauge",
            Self::MateInstrumentPort => "mate-instrument-port",
        }
    }

    /// From its word.
    ///
    /// # Errors
    ///
    /// Another word.
    pub fn from_word(word: &str) -> Result<Self, AppError> {
        [Self::Gauge, Self::MateInstrumentPort].into_iter().find(|act| act.word() == word.trim()).ok_or_else(
            || bad("act", format!("expected gauge or mate-instrument-port, found \"{}\"", word.trim())),
        )
    }
}

/// An authorisation to be given, taken or required.
#[derive(Debug, Clone, Copy)]
pub struct Authorised<'a> {
    /// What for.
    pub act: Act,
    /// At ends of which interface; every one when left out.
    pub interface: Option<&'a str>,
}

impl Workshop {
    fn authorisation_row(&self, what: Authorised<'_>) -> Result<AuthorisationRow, AppError> {
        let interface = what.interface.map(str::trim).unwrap_or_default();
        if !interface.is_empty() && self.sheets.interface(interface).is_none() {
            return Err(bad(
                "interface",
                format!("expected an interface of the data sheets, found \"{interface}\""),
            ));
        }
        Ok(AuthorisationRow { act: what.act.word().to_owned(), interface: interface.to_owned() })
    }

    /// Gives an authorisation to a person, or takes it.
    ///
    /// # Errors
    ///
    /// An unknown person or interface.
    pub fn authorise(
        &mut self,
        name: &str,
        what: Authorised<'_>,
        given: bool,
        by: &str,
        now: Moment,
    ) -> Result<(), AppError> {
        let person = self.person_row(name)?;
        let row = self.authorisation_row(what)?;
        let word = if given { "authorised" } else { "authorisation-taken" };
        let change = change(by, word, &person.name, said(&row), now);
        Ok(self.store.set_authorisation(Some(&person.name_key), &row, given, &change)?)
    }

    /// Says that the lab wants an authorisation for an act, or does so no more.
    ///
    /// # Errors
    ///
    /// An unknown interface.
    pub fn require_authorisation(
        &mut self,
        what: Authorised<'_>,
        required: bool,
        by: &str,
        now: Moment,
    ) -> Result<(), AppError> {
        let row = self.authorisation_row(what)?;
        let word = if required { "authorisation-required" } else { "authorisation-not-required" };
        Ok(self.store.set_authorisation(None, &row, required, &change(by, word, "", said(&row), now))?)
    }

    /// Whether this person may do this at an end.
    ///
    /// # Errors
    ///
    /// [`AppError::NoRight`] with what is missing.
    pub(crate) fn authorised(&self, act: Act, interface: &str, person: &str) -> Result<(), AppError> {
        let covers = |rows: &[AuthorisationRow]| {
            rows.iter()
                .any(|row| row.act == act.word() && (row.interface.is_empty() || row.interface == interface))
        };
        if !covers(&self.store.authorisations_required()?)
            || covers(&self.store.authorisations(&name_key(person))?)
        {
            return Ok(());
        }
        Err(AppError::NoRight {
            person: person.to_owned(),
            needs: format!("the authorisation {} for {interface}", act.word()),
        })
    }

    /// Whether this person may mate these two.
    ///
    /// # Errors
    ///
    /// As [`Workshop::authorised`].
    pub(crate) fn authorised_to_mate(&self, ends: [&EndHit; 2], person: &str) -> Result<(), AppError> {
        ends.into_iter()
            .filter(|end| end.item_kind == ItemKind::Instrument)
            .try_for_each(|end| self.authorised(Act::MateInstrumentPort, &end.interface, person))
    }
}

fn said(row: &AuthorisationRow) -> String {
    let at = if row.interface.is_empty() { "every interface" } else { &row.interface };
    format!("{} at {at}", row.act)
}
