//! Who may do what: people, roles, authorisations, and what lets them in.

mod authorise;
mod list;
mod rights;
mod secret;
mod sign_in;

pub(crate) use secret::{hex, secret as new_secret, seed as new_seed, short_name as new_short_name};

pub use authorise::{Act, Authorised};
pub use rights::{Right, Role};
pub use sign_in::{Access, LockedSignIn, Way, Who, hash_password, password_matches};

use crate::{AppError, Workshop, error::bad};
use matewell_lab::Moment;
use matewell_store::{PersonRow, RightChange};

/// Longest name of a person, in characters.
const MOST_NAME: usize = 100;

/// The name under which people are told apart: without capitals and spaces
/// around it.
pub(crate) fn name_key(name: &str) -> String {
    name.trim().to_lowercase()
}

/// A name as it is written down.
fn name_of(text: &str) -> Result<String, AppError> {
    let name = text.trim();
    let length = name.chars().count();
    if length == 0 || length > MOST_NAME || name_key(name).chars().count() > MOST_NAME {
        return Err(bad("name", format!("expected 1 to {MOST_NAME} characters, found {length}")));
    }
    if name.chars().any(char::is_control) {
        return Err(bad("name", "expected letters, digits and signs, found a control character"));
    }
    Ok(name.to_owned())
}

/// Who a change of rights made at the command line is by: whoever may write
/// the lab's file may do everything, and is not asked for a password.
pub fn by_command_line(person: &str) -> String {
    format!("{} (command line)", person.trim())
}

pub(crate) fn change(
    by: &str,
    what: &str,
    person: &str,
    detail: impl Into<String>,
    now: Moment,
) -> RightChange {
    RightChange {
        at: now,
        by: by.to_owned(),
        what: what.to_owned(),
        person: person.to_owned(),
        detail: detail.into(),
    }
}

impl Workshop {
    /// The person of this name.
    pub(crate) fn person_row(&self, name: &str) -> Result<PersonRow, AppError> {
        self.store
            .person(&name_key(name))?
            .ok_or_else(|| AppError::UnknownTag { what: "a person", found: name.trim().to_owned() })
    }

    /// Adds a person or a rig. Without a password it comes in by tokens only.
    ///
    /// # Errors
    ///
    /// A name that is taken or cannot be written; no role.
    pub fn add_person(
        &mut self,
        name: &str,
        roles: &[Role],
        password: Option<String>,
        by: &str,
        now: Moment,
    ) -> Result<(), AppError> {
        let name = name_of(name)?;
        if roles.is_empty() {
            return Err(bad("roles", "expected at least one role, found none"));
        }
        let key = name_key(&name);
        if self.store.person(&key)?.is_some() {
            return Err(AppError::Conflict(format!("there is a person {name} already")));
        }
        let first = !self.store.has_people()?;
        if first && !(roles.contains(&Role::Administrator) && password.is_some()) {
            let expected =
                "expected the first person to be an administrator with a password, who adds the others";
            return Err(AppError::Conflict(expected.to_owned()));
        }
        let words = Role::words(roles);
        let how = if password.is_some() { "with a password" } else { "without a password" };
        let row = PersonRow {
            name_key: key,
            name: name.clone(),
            roles: words.clone(),
            password,
            has_left: false,
            failed: 0,
            locked_until: None,
        };
        let change = change(by, "added", &name, format!("{words}, {how}"), now);
        Ok(self.store.put_person(&row, false, &change)?)
    }

    /// Gives a person these roles instead of those they had.
    ///
    /// # Errors
    ///
    /// An unknown person; no role; nobody left to administer.
    pub fn set_roles(&mut self, name: &str, roles: &[Role], by: &str, now: Moment) -> Result<(), AppError> {
        if roles.is_empty() {
            return Err(bad("roles", "expected at least one role, found none"));
        }
        let row = self.person_row(name)?;
        let words = Role::words(roles);
        let detail = format!("{words} instead of {}", row.roles);
        let change = change(by, "roles", &row.name, detail, now);
        let new = PersonRow { roles: words, ..row };
        self.somebody_administers(&new)?;
        Ok(self.store.put_person(&new, false, &change)?)
    }

    /// Sets the password of a person, as hashed by [`hash_password`]. What was
    /// signed in is so no more.
    ///
    /// # Errors
    ///
    /// An unknown person.
    pub fn set_password(
        &mut self,
        name: &str,
        password: String,
        by: &str,
        now: Moment,
    ) -> Result<(), AppError> {
        let row = self.person_row(name)?;
        let change = change(by, "password", &row.name, "a new password; signed out everywhere", now);
        let new = PersonRow { password: Some(password), failed: 0, locked_until: None, ..row };
        Ok(self.store.put_person(&new, true, &change)?)
    }

    /// A person may not come in any more, or may again.
    ///
    /// # Errors
    ///
    /// An unknown person; nobody left to administer.
    pub fn set_left(
        &mut self,
        name: &str,
        has_left: bool,
        because: &str,
        by: &str,
        now: Moment,
    ) -> Result<(), AppError> {
        if because.trim().is_empty() {
            return Err(bad("because", "expected a reason, found nothing"));
        }
        let row = self.person_row(name)?;
        let what = if has_left { "left" } else { "back" };
        let change = change(by, what, &row.name, because.trim(), now);
        let new = PersonRow { has_left, ..row };
        self.somebody_administers(&new)?;
        Ok(self.store.put_person(&new, has_left, &change)?)
    }

    /// Whether somebody who can come in still administers when `new` is as it
    /// says.
    fn somebody_administers(&self, new: &PersonRow) -> Result<(), AppError> {
        let administers = |row: &PersonRow| {
            !row.has_left && row.password.is_some() && Role::read(&row.roles).contains(&Role::Administrator)
        };
        let others = self.store.people()?;
        let before = others.iter().any(administers);
        if !before
            || administers(new)
            || others.iter().any(|row| row.name_key != new.name_key && administers(row))
        {
            return Ok(());
        }
        Err(AppError::Conflict(format!(
            "{} is the only administrator who can sign in: make another one first",
            new.name
        )))
    }
}

#[cfg(test)]
mod tests;
