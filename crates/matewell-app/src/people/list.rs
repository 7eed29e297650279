//! People as they are shown.

use super::Role;
use crate::{AppError, Workshop};
use matewell_lab::Moment;
use matewell_store::{AuthorisationRow, CredentialKind, CredentialRow, PersonRow};
use matewell_wire::{
    AuthorisationJson, PeopleJson, PersonJson, RightChangeJson, RightChangesJson, TokenJson, moment_text,
};

fn authorisation(row: AuthorisationRow) -> AuthorisationJson {
    AuthorisationJson { act: row.act, interface: Some(row.interface).filter(|i| !i.is_empty()) }
}

fn token(row: CredentialRow, now: Moment) -> TokenJson {
    let state = match row.ended_at {
        Some(_) => "ended",
        None if row.expires_at <= now => "expired",
        None => "in-force",
    };
    TokenJson {
        id: row.id,
        label: row.label,
        scope: row.scope.split_whitespace().map(str::to_owned).collect(),
        made_at: moment_text(row.created_at),
        expires_at: moment_text(row.expires_at),
        state: state.to_owned(),
    }
}

impl Workshop {
    /// Everybody, and what the lab wants an authorisation for.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn people(&self, now: Moment) -> Result<PeopleJson, AppError> {
        let rows = self.store.people()?;
        Ok(PeopleJson {
            people: rows.into_iter().map(|row| self.shown(row, now)).collect::<Result<_, _>>()?,
            required: self.store.authorisations_required()?.into_iter().map(authorisation).collect(),
        })
    }

    /// One person.
    ///
    /// # Errors
    ///
    /// An unknown person.
    pub fn person(&self, name: &str, now: Moment) -> Result<PersonJson, AppError> {
        self.shown(self.person_row(name)?, now)
    }

    fn shown(&self, row: PersonRow, now: Moment) -> Result<PersonJson, AppError> {
        let mut tokens = self.store.credentials_of(&row.name_key, CredentialKind::Token)?;
        tokens.extend(self.store.credentials_of(&row.name_key, CredentialKind::Calendar)?);
        Ok(PersonJson {
            authorisations: self
                .store
                .authorisations(&row.name_key)?
                .into_iter()
                .map(authorisation)
                .collect(),
            tokens: tokens.into_iter().map(|row| token(row, now)).collect(),
            roles: Role::read(&row.roles).into_iter().map(|role| role.word().to_owned()).collect(),
            has_password: row.password.is_some(),
            has_left: row.has_left,
            locked_until: row.locked_until.filter(|until| *until > now).map(moment_text),
            name: row.name,
        })
    }

    /// Changes of rights, newest first.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn right_changes(&self) -> Result<RightChangesJson, AppError> {
        let changes = self.store.right_changes(1000)?;
        Ok(RightChangesJson {
            changes: changes
                .into_iter()
                .map(|c| RightChangeJson {
                    at: moment_text(c.at),
                    by: c.by,
                    what: c.what,
                    person: c.person,
                    detail: c.detail,
                })
                .collect(),
        })
    }
}
