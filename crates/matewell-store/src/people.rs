//! People, what lets them in, and the log of changes of rights.
//!
//! Kept beside the facts in the same file, so that one copy is the whole lab.
//! What a role or a right means is not known here.

use crate::{
    Store, StoreError,
    chain::Hash,
    engine::{Answer, Connection, Row},
};
use matewell_lab::Moment;

/// A person, or a rig that acts under a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PersonRow {
    /// The name without capitals and spaces around it.
    pub name_key: String,
    /// The name as written.
    pub name: String,
    /// Words of roles with a space between.
    pub roles: String,
    /// The hash of the password as a PHC string.
    pub password: Option<String>,
    /// May not come in any more.
    pub has_left: bool,
    /// Sign-ins that failed since the last that did not.
    pub failed: u32,
    /// Until when no sign-in is tried.
    pub locked_until: Option<Moment>,
}

/// An authorisation, given or required.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct AuthorisationRow {
    /// Word of what is done.
    pub act: String,
    /// The interface; empty for every one.
    pub interface: String,
}

/// What lets somebody in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CredentialKind {
    /// A browser that signed in.
    Session,
    /// A program.
    Token,
    /// The first start.
    Setup,
    /// A calendar that reads what is due.
    Calendar,
}

impl CredentialKind {
    fn word(self) -> &'static str {
        match self {
            Self::Session => "session",
            Self::Token => "token",
            Self::Setup => "setup",
            Self::Calendar => "calendar",
        }
    }

    fn from_word(word: &str) -> Self {
        match word {
            "session" => Self::Session,
            "token" => Self::Token,
            "calendar" => Self::Calendar,
            _ => Self::Setup,
        }
    }
}

/// A secret, known by its hash only.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CredentialRow {
    /// SHA-256 of the secret.
    pub sha256: Hash,
    /// Short name to speak about it.
    pub id: String,
    /// What it lets in.
    pub kind: CredentialKind,
    /// Whose.
    pub name_key: String,
    /// What for.
    pub label: String,
    /// Words of rights it is limited to; empty for all of the person's.
    pub scope: String,
    /// Since when.
    pub created_at: Moment,
    /// Until when.
    pub expires_at: Moment,
    /// When it was ended before its time.
    pub ended_at: Option<Moment>,
}

/// Who changed which right of whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RightChange {
    /// When.
    pub at: Moment,
    /// By whom.
    pub by: String,
    /// Word of what was done.
    pub what: String,
    /// To whom; empty when to the lab.
    pub person: String,
    /// In words, without secrets.
    pub detail: String,
}

const PERSON: &str = "name_key, name, roles, password, has_left, failed, locked_until";
const CREDENTIAL: &str = "sha256, id, kind, name_key, label, scope, created_at, expires_at, ended_at";

fn person(row: &Row<'_>) -> Answer<PersonRow> {
    Ok(PersonRow {
        name_key: row.get(0)?,
        name: row.get(1)?,
        roles: row.get(2)?,
        password: row.get(3)?,
        has_left: row.get::<i64>(4)? == 1,
        failed: u32::try_from(row.get::<i64>(5)?).unwrap_or(u32::MAX),
        locked_until: row.get::<Option<i64>>(6)?.map(Moment::from_microseconds),
    })
}

fn credential(row: &Row<'_>) -> Answer<CredentialRow> {
    Ok(CredentialRow {
        sha256: row.get(0)?,
        id: row.get(1)?,
        kind: CredentialKind::from_word(&row.get::<String>(2)?),
        name_key: row.get(3)?,
        label: row.get(4)?,
        scope: row.get(5)?,
        created_at: Moment::from_microseconds(row.get(6)?),
        expires_at: Moment::from_microseconds(row.get(7)?),
        ended_at: row.get::<Option<i64>>(8)?.map(Moment::from_microseconds),
    })
}

pub(crate) fn note(connection: &Connection, change: &RightChange) -> Result<(), StoreError> {
    // Writers take turns, so nobody takes the number in between.
    let seq: i64 = connection.only("SELECT coalesce(max(seq), 0) + 1 FROM right_change", ())?;
    connection.run(
        "INSERT INTO right_change (seq, changed_at, changed_by, what, person, detail) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        (seq, change.at.microseconds(), &change.by, &change.what, &change.person, &change.detail),
    )?;
    Ok(())
}

impl Store {
    /// Whether the lab knows any person: until then one person works alone.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn has_people(&self) -> Result<bool, StoreError> {
        let sql = "SELECT has_left FROM person LIMIT 1";
        Ok(self.connection.one(sql, (), |row| row.get::<i64>(0))?.is_some())
    }

    /// Everybody, by name.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn people(&self) -> Result<Vec<PersonRow>, StoreError> {
        Ok(self.connection.all(&format!("SELECT {PERSON} FROM person ORDER BY name_key"), (), person)?)
    }

    /// One person.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn person(&self, name_key: &str) -> Result<Option<PersonRow>, StoreError> {
        let sql = format!("SELECT {PERSON} FROM person WHERE name_key = ?1");
        Ok(self.connection.one(&sql, [name_key], person)?)
    }

    /// Writes a person as it now is, and the change, in one transaction. With
    /// `end_sessions` what let the person in before does so no more.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn put_person(
        &mut self,
        new: &PersonRow,
        end_sessions: bool,
        change: &RightChange,
    ) -> Result<(), StoreError> {
        self.in_a_change(|connection| {
            connection.run(
                &format!(
                    "INSERT INTO person ({PERSON}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)
                     ON CONFLICT (name_key) DO UPDATE SET roles = excluded.roles, password = excluded.password,
                     has_left = excluded.has_left, failed = excluded.failed, locked_until = excluded.locked_until"
                ),
                (
                    &new.name_key,
                    &new.name,
                    &new.roles,
                    &new.password,
                    i64::from(new.has_left),
                    i64::from(new.failed),
                    new.locked_until.map(Moment::microseconds),
                ),
            )?;
            if end_sessions {
                let only = if new.has_left { "" } else { " AND kind = 'session'" };
                connection.run(
                    &format!(
                        "UPDATE credential SET ended_at = ?2 WHERE name_key = ?1 AND ended_at IS NULL{only}"
                    ),
                    (&new.name_key, change.at.microseconds()),
                )?;
            }
            note(connection, change)
        })
    }

    /// Counts a sign-in: how many failed in a row, and until when none is
    /// tried. No right changes by it.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn count_sign_in(
        &mut self,
        name_key: &str,
        failed: u32,
        locked_until: Option<Moment>,
    ) -> Result<(), StoreError> {
        self.in_a_change(|connection| {
            connection.run(
                "UPDATE person SET failed = ?2, locked_until = ?3 WHERE name_key = ?1",
                (name_key, i64::from(failed), locked_until.map(Moment::microseconds)),
            )?;
            Ok(())
        })
    }

    /// What a person was authorised to do.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn authorisations(&self, name_key: &str) -> Result<Vec<AuthorisationRow>, StoreError> {
        let sql = "SELECT act, interface FROM authorisation WHERE name_key = ?1 ORDER BY act, interface";
        Ok(self.connection.all(sql, [name_key], authorisation)?)
    }

    /// What the lab wants an authorisation for.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn authorisations_required(&self) -> Result<Vec<AuthorisationRow>, StoreError> {
        let sql = "SELECT act, interface FROM authorisation_required ORDER BY act, interface";
        Ok(self.connection.all(sql, (), authorisation)?)
    }

    /// Gives or takes an authorisation of a person (`None`: the lab requires
    /// it, or does so no more).
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn set_authorisation(
        &mut self,
        name_key: Option<&str>,
        what: &AuthorisationRow,
        given: bool,
        change: &RightChange,
    ) -> Result<(), StoreError> {
        self.in_a_change(|connection| {
            let (act, interface) = (&what.act, &what.interface);
            match (name_key, given) {
                (Some(name), true) => connection.run(
                    "INSERT INTO authorisation (name_key, act, interface) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
                    (name, act, interface),
                )?,
                (Some(name), false) => connection.run(
                    "DELETE FROM authorisation WHERE name_key = ?1 AND act = ?2 AND interface = ?3",
                    (name, act, interface),
                )?,
                (None, true) => connection.run(
                    "INSERT INTO authorisation_required (act, interface) VALUES (?1, ?2) ON CONFLICT DO NOTHING",
                    (act, interface),
                )?,
                (None, false) => connection.run(
                    "DELETE FROM authorisation_required WHERE act = ?1 AND interface = ?2",
                    (act, interface),
                )?,
            };
            note(connection, change)
        })
    }

    /// Keeps what lets somebody in. A session changes no right and comes
    /// without a change; sessions that ended or expired are forgotten then.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn put_credential(
        &mut self,
        new: &CredentialRow,
        change: Option<&RightChange>,
    ) -> Result<(), StoreError> {
        self.in_a_change(|connection| {
            if new.kind == CredentialKind::Session {
                connection.run(
                    "DELETE FROM credential WHERE kind = 'session' AND (expires_at <= ?1 OR ended_at IS NOT NULL)",
                    [new.created_at.microseconds()],
                )?;
            }
            if new.kind == CredentialKind::Setup {
                connection.run("DELETE FROM credential WHERE kind = 'setup'", ())?;
            }
            connection.run(
                &format!(
                    "INSERT INTO credential ({CREDENTIAL}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)"
                ),
                (
                    &new.sha256,
                    &new.id,
                    new.kind.word(),
                    &new.name_key,
                    &new.label,
                    &new.scope,
                    new.created_at.microseconds(),
                    new.expires_at.microseconds(),
                    new.ended_at.map(Moment::microseconds),
                ),
            )?;
            change.map_or(Ok(()), |change| note(connection, change))
        })
    }

    /// What this secret lets in, expired or ended ones too.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn credential(&self, sha256: &Hash) -> Result<Option<CredentialRow>, StoreError> {
        let sql = format!("SELECT {CREDENTIAL} FROM credential WHERE sha256 = ?1");
        Ok(self.connection.one(&sql, [sha256], credential)?)
    }

    /// What lets a person in, newest first.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn credentials_of(
        &self,
        name_key: &str,
        kind: CredentialKind,
    ) -> Result<Vec<CredentialRow>, StoreError> {
        let sql = format!(
            "SELECT {CREDENTIAL} FROM credential WHERE name_key = ?1 AND kind = ?2 ORDER BY created_at DESC, id"
        );
        Ok(self.connection.all(&sql, (name_key, kind.word()), credential)?)
    }

    /// Ends what lets somebody in. Says whether there was something to end.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn end_credential(
        &mut self,
        id: &str,
        at: Moment,
        change: Option<&RightChange>,
    ) -> Result<bool, StoreError> {
        self.in_a_change(|connection| {
            let ended = connection.run(
                "UPDATE credential SET ended_at = ?2 WHERE id = ?1 AND ended_at IS NULL",
                (id, at.microseconds()),
            )?;
            if ended > 0
                && let Some(change) = change
            {
                note(connection, change)?;
            }
            Ok(ended > 0)
        })
    }

    /// Changes of rights, newest first.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn right_changes(&self, most: u32) -> Result<Vec<RightChange>, StoreError> {
        let sql = format!(
            "SELECT changed_at, changed_by, what, person, detail FROM right_change ORDER BY seq DESC LIMIT {most}"
        );
        Ok(self.connection.all(&sql, (), |row| {
            Ok(RightChange {
                at: Moment::from_microseconds(row.get(0)?),
                by: row.get(1)?,
                what: row.get(2)?,
                person: row.get(3)?,
                detail: row.get(4)?,
            })
        })?)
    }

    pub(crate) fn in_a_change<T>(
        &mut self,
        write: impl FnOnce(&Connection) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let transaction = self.connection.begin_write()?;
        let written = write(&self.connection)?;
        transaction.commit()?;
        Ok(written)
    }
}

fn authorisation(row: &Row<'_>) -> Answer<AuthorisationRow> {
    Ok(AuthorisationRow { act: row.get(0)?, interface: row.get(1)? })
}
