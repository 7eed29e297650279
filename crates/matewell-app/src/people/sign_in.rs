//! Signing in, and who a request is from.

use super::{Right, Role, change, name_key, secret};
use crate::{AppError, Workshop, error::bad};
use argon2::{
    Argon2,
    password_hash::{PasswordHasher as _, PasswordVerifier as _, phc::PasswordHash},
};
use matewell_lab::Moment;
use matewell_store::{CredentialKind, CredentialRow};
use matewell_wire::{NewTokenJson, SessionJson, WhoJson, moment_text};

const SECOND: i64 = 1_000_000;
const DAY: i64 = 86_400 * SECOND;
/// How long a sign-in lasts: a working day.
const SESSION: i64 = 12 * 3600 * SECOND;
/// How long the code of the first start lasts.
const SETUP: i64 = DAY;
/// Longest life of a token, in days.
const MOST_DAYS: u32 = 366;
/// Failed sign-ins before one has to wait.
const FREE_TRIES: u32 = 5;
/// Longest wait after failed sign-ins, in seconds.
const LONGEST_WAIT: u64 = 900;
/// Fewest characters of a password; no rule about which ones. The guidance of
/// NIST SP 800-63B (from memory) asks for length, not for kinds of characters.
const SHORTEST_PASSWORD: usize = 12;
const LONGEST_PASSWORD: usize = 200;

/// Hashes a new password with Argon2id (RFC 9106) and a salt of its own. Takes
/// some tens of milliseconds and 19 MiB on purpose.
///
/// # Errors
///
/// A password that is too short or too long.
pub fn hash_password(password: &str) -> Result<String, AppError> {
    let length = password.chars().count();
    if !(SHORTEST_PASSWORD..=LONGEST_PASSWORD).contains(&length) {
        return Err(bad(
            "password",
            format!("expected {SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters, found {length}"),
        ));
    }
    let hash = Argon2::default()
        .hash_password(password.as_bytes())
        .map_err(|e| AppError::Conflict(format!("the password could not be hashed: {e}")))?;
    Ok(hash.to_string())
}

/// Whether a password is the one of a hash. As slow as hashing.
pub fn password_matches(password: &str, hash: &str) -> bool {
    password.chars().count() <= LONGEST_PASSWORD
        && PasswordHash::new(hash)
            .is_ok_and(|hash| Argon2::default().verify_password(password.as_bytes(), &hash).is_ok())
}

/// How a request came in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// A browser that signed in.
    Session,
    /// A program with a token.
    Token,
    /// A calendar with its secret address.
    Calendar,
}

/// Who a request is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Who {
    /// The name that is written beside what they do.
    pub name: String,
    /// How they came in.
    pub way: Way,
    /// Short name of what let them in.
    pub credential: String,
    roles: Vec<Role>,
    /// Rights that what let them in is limited to.
    scope: Option<Vec<Right>>,
}

impl Who {
    /// Whether they may do what needs this right.
    pub fn may(&self, right: Right) -> bool {
        match (right, self.way) {
            (Right::Open, _) => true,
            (Right::Own, way) => way == Way::Session,
            // People are looked after by people.
            (Right::Administer, way) if way != Way::Session => false,
            (right, _) => {
                self.roles.iter().any(|role| role.rights().contains(&right))
                    && self.scope.as_ref().is_none_or(|scope| scope.contains(&right))
            }
        }
    }

    fn rights(&self) -> Vec<String> {
        Right::GIVEN.into_iter().filter(|r| self.may(*r)).map(|r| r.word().to_owned()).collect()
    }

    /// As told to the page.
    pub fn json(&self) -> WhoJson {
        WhoJson {
            name: self.name.clone(),
            roles: self.roles.iter().map(|role| role.word().to_owned()).collect(),
            rights: self.rights(),
        }
    }
}

/// Whether the lab has people, and who asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Access {
    /// Whether anybody is registered.
    pub people: bool,
    /// Who asks.
    pub who: Option<Who>,
}

impl Access {
    /// As told to the page; `alone` when a request without a sign-in is let in.
    pub fn json(&self, alone: bool) -> SessionJson {
        SessionJson { people: self.people, alone, who: self.who.as_ref().map(Who::json) }
    }
}

/// What a sign-in is held against.
#[derive(Debug, Clone)]
pub struct LockedSignIn {
    /// Hash of the password, or of none that anybody knows: an unknown name
    /// takes as long as a wrong password.
    pub hash: String,
    known: bool,
}

fn later(now: Moment, by: i64) -> Moment {
    Moment::from_microseconds(now.microseconds().saturating_add(by))
}

impl Workshop {
    /// Whether the lab has people, and who the holder of this secret is.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn access(&self, given: Option<(&str, Way)>, now: Moment) -> Result<Access, AppError> {
        let people = self.store.has_people()?;
        let Some((given, way)) = given else { return Ok(Access { people, who: None }) };
        let Some(row) = self.store.credential(&secret::kept(given))? else {
            return Ok(Access { people, who: None });
        };
        let kind = match way {
            Way::Session => CredentialKind::Session,
            Way::Token => CredentialKind::Token,
            Way::Calendar => CredentialKind::Calendar,
        };
        if row.kind != kind || row.ended_at.is_some() || row.expires_at <= now {
            return Ok(Access { people, who: None });
        }
        let who = self.store.person(&row.name_key)?.filter(|person| !person.has_left).map(|person| Who {
            name: person.name,
            way,
            credential: row.id,
            roles: Role::read(&person.roles),
            scope: (way != Way::Session)
                .then(|| row.scope.split_whitespace().filter_map(|w| Right::from_word(w).ok()).collect()),
        });
        Ok(Access { people, who })
    }

    /// What to hold a password against, if it may be tried now. The hash is
    /// compared without holding the lab up: [`password_matches`].
    ///
    /// # Errors
    ///
    /// [`AppError::TooMany`] while the name is locked.
    pub fn begin_sign_in(&self, name: &str, now: Moment) -> Result<LockedSignIn, AppError> {
        let row = self.store.person(&name_key(name))?;
        if let Some(until) = row.as_ref().and_then(|row| row.locked_until).filter(|until| *until > now) {
            let left = until.microseconds() - now.microseconds();
            return Err(AppError::TooMany { seconds: u64::try_from(left / SECOND + 1).unwrap_or(1) });
        }
        let hash = row.filter(|row| !row.has_left).and_then(|row| row.password);
        Ok(LockedSignIn { known: hash.is_some(), hash: hash.unwrap_or_else(|| NOBODYS.to_owned()) })
    }

    /// Signs in, or counts a failure. Gives the secret for the browser.
    ///
    /// # Errors
    ///
    /// [`AppError::SignIn`]: the same words for an unknown name and a wrong
    /// password.
    pub fn end_sign_in(
        &mut self,
        name: &str,
        tried: &LockedSignIn,
        matches: bool,
        now: Moment,
    ) -> Result<String, AppError> {
        let key = name_key(name);
        let row = self.store.person(&key)?.filter(|row| !row.has_left);
        let current = row.as_ref().and_then(|row| row.password.as_deref()) == Some(tried.hash.as_str());
        let Some(row) = row.filter(|_| matches && tried.known && current) else {
            if let Some(row) = self.store.person(&key)? {
                let failed = row.failed.saturating_add(1);
                let wait = (failed >= FREE_TRIES)
                    .then(|| (30_u64 << (failed - FREE_TRIES).min(10)).min(LONGEST_WAIT));
                let until = wait.map(|s| later(now, i64::try_from(s).unwrap_or(900) * SECOND));
                self.store.count_sign_in(&key, failed, until)?;
            }
            return Err(AppError::SignIn("expected a name and its password, found no such pair"));
        };
        self.store.count_sign_in(&key, 0, None)?;
        self.new_session(&row.name_key, now)
    }

    fn new_session(&mut self, key: &str, now: Moment) -> Result<String, AppError> {
        let secret = secret::secret()?;
        let row = CredentialRow {
            sha256: secret::kept(&secret),
            id: secret::short_name()?,
            kind: CredentialKind::Session,
            name_key: key.to_owned(),
            label: String::new(),
            scope: String::new(),
            created_at: now,
            expires_at: later(now, SESSION),
            ended_at: None,
        };
        self.store.put_credential(&row, None)?;
        Ok(secret)
    }

    /// Ends a sign-in.
    ///
    /// # Errors
    ///
    /// A store that cannot be written.
    pub fn sign_out(&mut self, who: &Who, now: Moment) -> Result<(), AppError> {
        self.store.end_credential(&who.credential, now, None)?;
        Ok(())
    }

    /// A code for the first administrator, while there are no people. The one
    /// before it does so no more.
    ///
    /// # Errors
    ///
    /// A store that cannot be written.
    pub fn first_start_code(&mut self, now: Moment) -> Result<Option<String>, AppError> {
        if self.store.has_people()? {
            return Ok(None);
        }
        let code = secret::typed_code()?;
        let row = CredentialRow {
            sha256: secret::kept(&secret::typed(&code)),
            id: secret::short_name()?,
            kind: CredentialKind::Setup,
            name_key: String::new(),
            label: "first start".to_owned(),
            scope: String::new(),
            created_at: now,
            expires_at: later(now, SETUP),
            ended_at: None,
        };
        self.store.put_credential(&row, None)?;
        Ok(Some(code))
    }

    /// Adds the first administrator, who also leads and works. With `alone`
    /// the person works alone on this machine and needs no code.
    ///
    /// # Errors
    ///
    /// [`AppError::SignIn`] for a code that is not the one printed;
    /// [`AppError::Conflict`] when there are people already.
    pub fn first_administrator(
        &mut self,
        code: &str,
        alone: bool,
        name: &str,
        password: String,
        now: Moment,
    ) -> Result<String, AppError> {
        if self.store.has_people()? {
            return Err(AppError::Conflict(
                "there are people already: an administrator adds more".to_owned(),
            ));
        }
        let found = self.store.credential(&secret::kept(&secret::typed(code)))?.filter(|row| {
            row.kind == CredentialKind::Setup && row.ended_at.is_none() && row.expires_at > now
        });
        if found.is_none() && !alone {
            return Err(AppError::SignIn("expected the code printed where the server was started"));
        }
        let roles = [Role::Technician, Role::Lead, Role::Administrator];
        let by = if found.is_some() { "first start" } else { "first start on this machine" };
        self.add_person(name, &roles, Some(password), by, now)?;
        if let Some(row) = found {
            self.store.end_credential(&row.id, now, None)?;
        }
        self.new_session(&name_key(name), now)
    }

    /// Makes a token for a program that acts under a person's or rig's name.
    ///
    /// # Errors
    ///
    /// An unknown person; a scope that their roles do not give; days out of
    /// range.
    pub fn new_token(
        &mut self,
        name: &str,
        label: &str,
        scope: &[Right],
        days: u32,
        by: &str,
        now: Moment,
    ) -> Result<NewTokenJson, AppError> {
        let row = self.person_row(name)?;
        let roles = Role::read(&row.roles);
        for right in scope {
            if *right == Right::Administer {
                return Err(bad("scope", "expected read, work or decide: people are looked after by people"));
            }
            if !roles.iter().any(|role| role.rights().contains(right)) {
                let detail = format!("expected what the roles of {} give, found {}", row.name, right.word());
                return Err(bad("scope", detail));
            }
        }
        if scope.is_empty() {
            return Err(bad("scope", "expected at least one of read, work, decide, found none"));
        }
        self.make(CredentialKind::Token, &row.name_key, &row.name, label, scope, days, by, now)
    }

    /// Makes a secret address under which a calendar reads what is due.
    ///
    /// # Errors
    ///
    /// As [`Workshop::new_token`].
    pub fn new_calendar(
        &mut self,
        name: &str,
        days: u32,
        by: &str,
        now: Moment,
    ) -> Result<NewTokenJson, AppError> {
        let row = self.person_row(name)?;
        self.make(
            CredentialKind::Calendar,
            &row.name_key,
            &row.name,
            "calendar",
            &[Right::Read],
            days,
            by,
            now,
        )
    }

    #[expect(clippy::too_many_arguments, reason = "one place for both kinds")]
    fn make(
        &mut self,
        kind: CredentialKind,
        key: &str,
        name: &str,
        label: &str,
        scope: &[Right],
        days: u32,
        by: &str,
        now: Moment,
    ) -> Result<NewTokenJson, AppError> {
        if !(1..=MOST_DAYS).contains(&days) {
            return Err(bad("days", format!("expected 1 to {MOST_DAYS} days, found {days}")));
        }
        let label = label.trim();
        if label.is_empty() || label.chars().count() > 200 {
            return Err(bad("label", "expected 1 to 200 characters that say what it is for"));
        }
        let secret = secret::secret()?;
        let words = scope.iter().map(|r| r.word()).collect::<Vec<_>>().join(" ");
        let row = CredentialRow {
            sha256: secret::kept(&secret),
            id: secret::short_name()?,
            kind,
            name_key: key.to_owned(),
            label: label.to_owned(),
            scope: words.clone(),
            created_at: now,
            expires_at: later(now, i64::from(days) * DAY),
            ended_at: None,
        };
        let until = moment_text(row.expires_at);
        let what = if kind == CredentialKind::Token { "token-made" } else { "calendar-made" };
        let detail = format!("{}: {label}; {words}; until {until}", row.id);
        self.store.put_credential(&row, Some(&change(by, what, name, detail, now)))?;
        Ok(NewTokenJson { id: row.id, secret, expires_at: until })
    }

    /// Ends a token or calendar before its time.
    ///
    /// # Errors
    ///
    /// A name of none that is in force.
    pub fn end_token(&mut self, person: &str, id: &str, by: &str, now: Moment) -> Result<(), AppError> {
        let row = self.person_row(person)?;
        let unknown = || AppError::UnknownTag { what: "a token", found: id.trim().to_owned() };
        let mut tokens = self.store.credentials_of(&row.name_key, CredentialKind::Token)?;
        tokens.extend(self.store.credentials_of(&row.name_key, CredentialKind::Calendar)?);
        let token = tokens.into_iter().find(|t| t.id == id.trim()).ok_or_else(unknown)?;
        let change = change(by, "token-ended", &row.name, format!("{}: {}", token.id, token.label), now);
        if self.store.end_credential(&token.id, now, Some(&change))? { Ok(()) } else { Err(unknown()) }
    }
}

/// A hash of a password that nobody typed: the comparison takes as long.
const NOBODYS: &str =
    "$argon2id$v=19$m=19456,t=2,p=1$bm9ib2R5bm9ib2R5bm8$3Pb9wVdQ5q7F1sYc3cF2Zg2o9oN1h8m1q1m0Xo0m3xk";
