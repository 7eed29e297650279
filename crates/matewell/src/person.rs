//! `matewell person`: people and rights, by whoever may write the lab's file.

use crate::{DONE, run::Session, show::Out};
use clap::{Args, Subcommand};
use matewell_app::{Act, AppError, Authorised, Right, Role, by_command_line, hash_password};
use matewell_lab::Moment;
use matewell_wire::{NewTokenJson, PeopleJson, PersonJson, RightChangesJson, WebhooksJson};
use std::io::{self, BufRead as _, Write};

#[derive(Debug, Subcommand)]
pub(crate) enum PersonCommand {
    /// Add a person or a rig. Example: matewell person add "Mara Lind" --role administrator --role lead --password-stdin < password.txt
    Add {
        /// The name that is written beside what they do
        name: String,
        /// reader, technician, lead or administrator; may be given several times
        #[arg(long, required = true)]
        role: Vec<String>,
        /// Read the password, 12 characters or more, from one line of standard input; a rig has none
        #[arg(long)]
        password_stdin: bool,
    },
    /// Everybody with roles, authorisations and tokens. Example: matewell person list
    List,
    /// Give roles instead of those before. Example: matewell person role "Pim Aster" technician lead
    Role {
        /// The name
        name: String,
        /// reader, technician, lead or administrator
        #[arg(required = true)]
        role: Vec<String>,
    },
    /// Set a new password; signs the person out everywhere. Example: matewell person password "Pim Aster" < password.txt
    Password {
        /// The name
        name: String,
    },
    /// May not come in any more. Example: matewell person left "Pim Aster" --because "works elsewhere"
    Left(Reason),
    /// May come in again. Example: matewell person back "Pim Aster" --because "is here again"
    Back(Reason),
    /// Give an authorisation. Example: matewell person authorise "Pim Aster" gauge --interface 3.5mm
    Authorise(ActAt),
    /// Take an authorisation. Example: matewell person forbid "Pim Aster" gauge --interface 3.5mm
    Forbid(ActAt),
    /// Say that the lab wants an authorisation. Example: matewell person require mate-instrument-port --interface 1.85mm
    Require {
        /// gauge or mate-instrument-port
        act: String,
        /// The interface; every one when left out
        #[arg(long)]
        interface: Option<String>,
        /// From now on it is wanted no more
        #[arg(long)]
        no_more: bool,
    },
    /// Make a token for a program; its secret is printed once. Example: matewell person token rig-1 --label "sweep bench" --scope work --days 90
    Token {
        /// Name of the person or rig
        name: String,
        /// What it is for
        #[arg(long)]
        label: String,
        /// read, work or decide; may be given several times
        #[arg(long, required = true)]
        scope: Vec<String>,
        /// Days until it expires, at most 366
        #[arg(long)]
        days: u32,
    },
    /// Make a secret address under which a calendar reads what is due. Example: matewell person calendar "Pim Aster" --days 90
    Calendar {
        /// The name
        name: String,
        /// Days until it expires, at most 366
        #[arg(long)]
        days: u32,
    },
    /// End a token or calendar. Example: matewell person end-token rig-1 0123456789abcdef
    EndToken {
        /// Name of the person or rig
        name: String,
        /// Short name of the token
        token: String,
    },
    /// Tell an address of every fact from now on, signed. Example: matewell person webhook https://hooks.lab.example/matewell
    Webhook {
        /// http or https
        url: String,
    },
    /// Addresses that are told, and whether they take it. Example: matewell person webhooks
    Webhooks,
    /// Tell an address no more. Example: matewell person end-webhook 0123456789abcdef
    EndWebhook {
        /// Short name of the address
        webhook: String,
    },
    /// Who changed which right of whom. Example: matewell person changes
    Changes,
}

#[derive(Debug, Args)]
pub(crate) struct Reason {
    /// The name
    name: String,
    /// Why
    #[arg(long)]
    because: String,
}

#[derive(Debug, Args)]
pub(crate) struct ActAt {
    /// The name
    name: String,
    /// gauge or mate-instrument-port
    act: String,
    /// The interface; every one when left out
    #[arg(long)]
    interface: Option<String>,
}

fn typed_password() -> Result<String, AppError> {
    let mut line = String::new();
    io::stdin()
        .lock()
        .read_line(&mut line)
        .map_err(|e| AppError::File { path: "standard input".to_owned(), message: e.to_string() })?;
    Ok(line.trim_end_matches(['\r', '\n']).to_owned())
}

fn roles(words: &[String]) -> Result<Vec<Role>, AppError> {
    words.iter().map(|word| Role::from_word(word)).collect()
}

pub(crate) fn person(s: &mut Session, order: PersonCommand, now: Moment) -> anyhow::Result<u8> {
    let by = by_command_line(s.person());
    let name = match order {
        PersonCommand::Add { name, role, password_stdin } => {
            let hash = password_stdin.then(|| hash_password(&typed_password()?)).transpose()?;
            s.shop.add_person(&name, &roles(&role)?, hash, &by, now)?;
            name
        }
        PersonCommand::Role { name, role } => {
            s.shop.set_roles(&name, &roles(&role)?, &by, now)?;
            name
        }
        PersonCommand::Password { name } => {
            s.shop.person(&name, now)?;
            s.shop.set_password(&name, hash_password(&typed_password()?)?, &by, now)?;
            name
        }
        PersonCommand::Left(Reason { name, because }) => {
            s.shop.set_left(&name, true, &because, &by, now)?;
            name
        }
        PersonCommand::Back(Reason { name, because }) => {
            s.shop.set_left(&name, false, &because, &by, now)?;
            name
        }
        PersonCommand::Authorise(at) => authorise(s, at, true, &by, now)?,
        PersonCommand::Forbid(at) => authorise(s, at, false, &by, now)?,
        PersonCommand::EndToken { name, token } => {
            s.shop.end_token(&name, &token, &by, now)?;
            name
        }
        PersonCommand::Token { name, label, scope, days } => {
            let scope = scope.iter().map(|w| Right::from_word(w)).collect::<Result<Vec<_>, _>>()?;
            let made = s.shop.new_token(&name, &label, &scope, days, &by, now)?;
            s.print(&made, |out, made| new_token(out, made, "Authorization: Bearer "))?;
            return Ok(DONE);
        }
        PersonCommand::Calendar { name, days } => {
            let made = s.shop.new_calendar(&name, days, &by, now)?;
            s.print(&made, |out, made| new_token(out, made, "/api/v1/calendar/"))?;
            return Ok(DONE);
        }
        PersonCommand::Require { act, interface, no_more } => {
            let what = Authorised { act: Act::from_word(&act)?, interface: interface.as_deref() };
            s.shop.require_authorisation(what, !no_more, &by, now)?;
            return list(s, now);
        }
        PersonCommand::Webhook { url } => {
            let made = s.shop.new_webhook(&url, &by, now)?;
            s.print(&made, |out, made| {
                writeln!(out, "{}: the key of its signatures, shown this once, is {}", made.id, made.secret)
            })?;
            return Ok(DONE);
        }
        PersonCommand::Webhooks => {
            s.print(&s.shop.webhooks()?, webhooks)?;
            return Ok(DONE);
        }
        PersonCommand::EndWebhook { webhook } => {
            s.shop.end_webhook(&webhook, &by, now)?;
            s.print(&s.shop.webhooks()?, webhooks)?;
            return Ok(DONE);
        }
        PersonCommand::List => return list(s, now),
        PersonCommand::Changes => {
            s.print(&s.shop.right_changes()?, changes)?;
            return Ok(DONE);
        }
    };
    let person = s.shop.person(&name, now)?;
    s.print(&person, show_person)?;
    Ok(DONE)
}

fn authorise(s: &mut Session, at: ActAt, given: bool, by: &str, now: Moment) -> Result<String, AppError> {
    let what = Authorised { act: Act::from_word(&at.act)?, interface: at.interface.as_deref() };
    s.shop.authorise(&at.name, what, given, by, now)?;
    Ok(at.name)
}

fn list(s: &Session, now: Moment) -> anyhow::Result<u8> {
    s.print(&s.shop.people(now)?, people)?;
    Ok(DONE)
}

fn new_token(out: &mut Out, made: &NewTokenJson, how: &str) -> io::Result<()> {
    writeln!(out, "{how}{}", made.secret)?;
    writeln!(out, "It is shown this once. Its short name is {}; it holds until {}.", made.id, made.expires_at)
}

fn people(out: &mut Out, people: &PeopleJson) -> io::Result<()> {
    if people.people.is_empty() {
        writeln!(out, "No people: one person works alone, on this machine.")?;
    }
    for person in &people.people {
        show_person(out, person)?;
    }
    for one in &people.required {
        writeln!(out, "Needs an authorisation: {}", act(one))?;
    }
    Ok(())
}

fn act(one: &matewell_wire::AuthorisationJson) -> String {
    format!("{} at {}", one.act, one.interface.as_deref().unwrap_or("every interface"))
}

fn show_person(out: &mut Out, person: &PersonJson) -> io::Result<()> {
    let left = if person.has_left { ", may not come in" } else { "" };
    let password = if person.has_password { "" } else { ", no password" };
    writeln!(out, "{}: {}{password}{left}", person.name, person.roles.join(", "))?;
    for one in &person.authorisations {
        writeln!(out, "  authorised: {}", act(one))?;
    }
    for token in &person.tokens {
        writeln!(
            out,
            "  token {} ({}): {}, {} until {}",
            token.id,
            token.label,
            token.scope.join(" "),
            token.state,
            token.expires_at
        )?;
    }
    Ok(())
}

fn webhooks(out: &mut Out, list: &WebhooksJson) -> io::Result<()> {
    for one in &list.webhooks {
        let how = match &one.last_error {
            Some(error) => format!("{} failed, last: {error}", one.failed),
            None => "takes it".to_owned(),
        };
        writeln!(out, "{} {} ({}): told up to fact {}; {how}", one.id, one.url, one.state, one.told)?;
    }
    Ok(())
}

fn changes(out: &mut Out, changes: &RightChangesJson) -> io::Result<()> {
    for one in &changes.changes {
        let whom = if one.person.is_empty() { "the lab" } else { &one.person };
        writeln!(out, "{}  {}  {} {}: {}", one.at, one.by, one.what, whom, one.detail)?;
    }
    Ok(())
}
