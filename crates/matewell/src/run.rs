//! One function per command: read the arguments, call the use case, show.

use crate::{
    DONE, NOT_UNDERSTOOD, answer_code, case,
    cli::{Cli, Command, Reason, Release, ToolCommand, When},
    gauging::Gauge,
    house, kits, mates, papers, person, physics, register, serve, show, show_gauging, signed, study, sweeps,
    trace,
};
use anyhow::Context;
use matewell_app::{AppError, ImportOrder, MateOrder, Said, Workshop, WrittenJson};
use matewell_lab::Moment;
use matewell_wire::{LookAsked, parse_moment};
use serde::Serialize;
use std::{
    fs,
    io::{self, Write},
};

/// The clock of this program; nothing below the doors has one.
pub(crate) fn now() -> Moment {
    Moment::from_microseconds(jiff::Timestamp::now().as_microsecond())
}

pub(crate) fn field<E: std::fmt::Display>(field: &'static str) -> impl Fn(E) -> AppError {
    move |error| AppError::Field { field, message: error.to_string() }
}

pub(crate) fn moment(name: &'static str, text: Option<&str>) -> Result<Option<Moment>, AppError> {
    text.map(|t| parse_moment(t).map_err(field(name))).transpose()
}

fn validation(cli: &Cli, file: Option<&std::path::Path>, markdown: bool) -> anyhow::Result<u8> {
    let json = cli.json;
    let found = match file {
        Some(file) => study::own_values(&cli.data, file)?,
        None => matewell_app::validation(),
    };
    let mut out = anstream::stdout();
    if markdown {
        write!(out, "{}", found.markdown())?;
    } else if json {
        writeln!(out, "{}", serde_json::to_string(&found)?)?;
    } else {
        for row in found.rows.iter().filter(|r| !r.holds) {
            writeln!(
                out,
                "FAILS {} {} {}: printed {}, ours {}{}",
                row.source,
                row.locator,
                row.quantity,
                row.printed,
                row.ours.map_or_else(|| "none".to_owned(), |v| v.to_string()),
                row.difference.as_ref().map(|d| format!(" ({d})")).unwrap_or_default()
            )?;
        }
        let what = if file.is_some() { "own values" } else { "published checks" };
        writeln!(out, "{} {what} hold, {} fail.", found.hold, found.fail)?;
    }
    Ok(u8::from(found.fail > 0))
}

pub(crate) struct Session {
    pub(crate) shop: Workshop,
    json: bool,
    person: String,
    pub(crate) at: Moment,
}

impl Session {
    pub(crate) fn said(&self, when: &When) -> Result<Said, AppError> {
        let mut said = Said::at_the_bench(self.person.clone());
        said.happened_at = moment("--happened-at", when.happened_at.as_deref())?;
        said.note.clone_from(&when.note);
        Ok(said)
    }

    pub(crate) fn person(&self) -> &str {
        &self.person
    }

    pub(crate) fn plain(&self) -> Said {
        Said::at_the_bench(self.person.clone())
    }

    pub(crate) fn print<T: Serialize>(
        &self,
        body: &T,
        human: impl FnOnce(&mut show::Out, &T) -> io::Result<()>,
    ) -> anyhow::Result<()> {
        show::print(self.json, body, human)
    }

    pub(crate) fn wrote(&self, written: &WrittenJson) -> anyhow::Result<u8> {
        self.print(written, show::written)?;
        Ok(0)
    }
}

pub(crate) fn run(cli: Cli) -> anyhow::Result<u8> {
    let clock = now();
    let at = moment("--as-of", cli.as_of.as_deref())?.unwrap_or(clock);
    if let Command::Validation { file, markdown } = &cli.command {
        return validation(&cli, file.as_deref(), *markdown);
    }
    match cli.command {
        Command::Completions { shell } => {
            let mut command = <Cli as clap::CommandFactory>::command();
            clap_complete::generate(shell, &mut command, "matewell", &mut std::io::stdout());
            return Ok(0);
        }
        Command::Openapi => {
            std::io::stdout().write_all(matewell_http::openapi_json().as_bytes())?;
            return Ok(0);
        }
        Command::Serve(order) => return serve::serve(&cli.data, &cli.person, &order),
        Command::Move(order) => return house::move_lab(cli.json, &order),
        // Physics needs the data sheets and no facts, so no file is made.
        Command::Line(order) => return physics::line(&cli.data, cli.json, *order),
        Command::Interfaces => return physics::interfaces(&cli.data, cli.json),
        Command::VerifyDossier(order) => return signed::verify(cli.json, &order),
        // Questions about files need no lab either.
        Command::Sweep(order) => {
            let door = sweeps::Door {
                data: &cli.data,
                json: cli.json,
                person: &cli.person,
                as_of: cli.as_of.as_deref(),
            };
            return sweeps::sweep(&door, *order);
        }
        Command::Study(order) => return study::study(&cli.data, cli.json, clock, at, *order),
        Command::Drift(order) => return study::drift(&cli.data, cli.json, clock, at, &order),
        _ => {}
    }
    let shop = Workshop::open(&cli.data, clock)?;
    let session = Session { shop, json: cli.json, person: cli.person, at };
    command(session, cli.command, clock)
}

fn command(mut s: Session, command: Command, now: Moment) -> anyhow::Result<u8> {
    match command {
        Command::Check { a, b, at, wrench } => {
            let check = s.shop.check(&a, &b, at, wrench.as_deref(), s.at)?;
            s.print(&check, show::check)?;
            Ok(answer_code(&check.answer))
        }
        Command::Mate { a, b, wrench, at, override_because, when } => {
            let said = s.said(&when)?;
            let order = MateOrder {
                a: &a,
                b: &b,
                wrench: wrench.as_deref(),
                frequency: at,
                override_because: override_because.as_deref(),
            };
            let written = s.shop.mate(&order, &said, now)?;
            s.wrote(&written)
        }
        Command::Part { a, b, when } => {
            let said = s.said(&when)?;
            let written = s.shop.part(&a, &b, &said, now)?;
            s.wrote(&written)
        }
        Command::End { tag } => {
            let end = s.shop.end(&tag, s.at)?;
            s.print(&end, show::end)?;
            Ok(0)
        }
        Command::Ends(asked) => papers::ends(&s, &asked),
        Command::Trace(args) => trace::trace(&s.shop, s.json, *args, s.at),
        Command::Case(order) => case::case(&mut s, order, now),
        Command::Due(asked) => papers::due(&s, &asked),
        Command::CleanGuide { tag } => papers::clean_guide(&s, &tag),
        Command::Dossier(asked) => papers::dossier(&mut s, &asked),
        Command::Inspect { tag, outcome, seen, magnification, mark, photo, when } => {
            let said = s.said(&when)?;
            let asked = LookAsked {
                end: tag,
                outcome,
                seen: Some(seen.join(",")),
                magnification: magnification.map(|m| m.to_string()),
                marks: Some(mark.join(";")),
                ..LookAsked::default()
            };
            let photo = photo.map(|path| fs::read(&path).with_context(|| path.display().to_string()));
            let written = s.shop.look(&asked, &photo.transpose()?.unwrap_or_default(), &said, now)?;
            s.wrote(&written)
        }
        Command::LookGuide { tag } => register::look_guide(&s, &tag),
        Command::Gauge(order) => gauge(&mut s, &order, now),
        Command::Pin { tag } => {
            let history = s.shop.pin_history(&tag, s.at)?;
            s.print(&history, show_gauging::history)?;
            Ok(0)
        }
        Command::Clean { tag, method, when } => {
            let said = s.said(&when)?;
            let written = s.shop.clean(&tag, method, &said, now)?;
            s.wrote(&written)
        }
        Command::Hold(Reason { tag, because, when }) => {
            let said = s.said(&when)?;
            let written = s.shop.hold(&tag, &because, &said, now)?;
            s.wrote(&written)
        }
        Command::Release(Release { reason: Reason { tag, because, when }, evidence }) => {
            let said = s.said(&when)?;
            let evidence = evidence.map(|t| t.parse().map_err(field("--evidence"))).transpose()?;
            let written = s.shop.release(&tag, &because, evidence, &said, now)?;
            s.wrote(&written)
        }
        Command::Retire(Reason { tag, because, when }) => {
            let said = s.said(&when)?;
            let written = s.shop.retire(&tag, &because, &said, now)?;
            s.wrote(&written)
        }
        Command::Replace(Reason { tag, because, when }) => {
            let said = s.said(&when)?;
            let written = s.shop.replace(&tag, &because, &said, now)?;
            s.wrote(&written)
        }
        Command::PutAway { tag, place, capped, when } => {
            let said = s.said(&when)?;
            let written = s.shop.store_away(&tag, &place, Some(capped), &said, now)?;
            s.wrote(&written)
        }
        Command::Tool(tool) => check_tool(&mut s, tool, now),
        Command::TakeBack { fact, because } => {
            let said = s.plain();
            let written = s.shop.take_back(fact.parse().map_err(field("FACT"))?, &because, &said, now)?;
            s.wrote(&written)
        }
        Command::FollowUp { fact, done } => {
            let said = s.plain();
            let written = s.shop.follow_up(fact.parse().map_err(field("FACT"))?, &done, &said, now)?;
            s.wrote(&written)
        }
        Command::Register(order) => register::register(&mut s, &order, now),
        Command::Amend(order) => register::amend(&mut s, &order, now),
        Command::Item { tag } => register::item(&s, &tag),
        Command::Kept { tag, item } => register::kept(&s, &tag, item),
        Command::Kit(command) => kits::run(&mut s, &command, now),
        Command::Reserve(order) => kits::reserve(&mut s, &order, now),
        Command::Storage { filter } => kits::storage(&s, &filter),
        Command::Policy => register::policy(&s),
        Command::Merge(order) => house::merge(&mut s, &order, now),
        Command::Import(order) => import(&mut s, *order, now),
        Command::Export { files: Some(folder), .. } => {
            let files = s.shop.export_files(&folder)?;
            writeln!(std::io::stderr(), "{files} files in {}", folder.display())?;
            Ok(0)
        }
        Command::Export { what, workbook, files: None } => export(&s, &what, workbook.as_deref()),
        Command::Mates(order) => mates::mates(&mut s, &order, now),
        Command::Person(order) => person::person(&mut s, order, now),
        Command::Health => house::health(&s),
        Command::Verify => {
            let verification = s.shop.verify()?;
            s.print(&verification, |out, v| writeln!(out, "{}", v.text))?;
            Ok(if verification.whole { 0 } else { 5 })
        }
        Command::BackUp { file } => {
            let verification = s.shop.back_up(&file, now)?;
            s.print(&verification, |out, v| writeln!(out, "{} in {}", v.text, file.display()))?;
            Ok(if verification.whole { 0 } else { 5 })
        }
        Command::Demo => {
            let made = s.shop.demo(now)?;
            writeln!(
                std::io::stderr(),
                "{}",
                if made {
                    "Made the demo lab: the Larkmoor Receiver Workshop."
                } else {
                    "There is data already; nothing was made."
                }
            )?;
            Ok(0)
        }
        Command::Serve(_)
        | Command::Move(_)
        | Command::Completions { .. }
        | Command::Openapi
        | Command::Validation { .. }
        | Command::Line(_)
        | Command::Interfaces
        | Command::VerifyDossier(_)
        | Command::Sweep(_)
        | Command::Study(_)
        | Command::Drift(_) => Ok(0),
    }
}

fn gauge(s: &mut Session, order: &Gauge, now: Moment) -> anyhow::Result<u8> {
    let asked = order.asked()?;
    let said = s.said(&order.when)?;
    if order.dry_run {
        let at = said.happened_at.unwrap_or(s.at);
        let budget = s.shop.gauging_budget(&asked, &s.person, at)?;
        s.print(&budget, show_gauging::budget)?;
        return Ok(if budget.questions.is_empty() { DONE } else { NOT_UNDERSTOOD });
    }
    let written = s.shop.gauge_session(&asked, &said, now)?;
    s.wrote(&written)
}

fn check_tool(s: &mut Session, tool: ToolCommand, now: Moment) -> anyhow::Result<u8> {
    match tool {
        ToolCommand::List => s.print(&s.shop.tools(s.at)?, show_gauging::tools)?,
        ToolCommand::Show { tag } => s.print(&s.shop.tool_in_full(&tag, s.at)?, show_gauging::tool)?,
        ToolCommand::Check(order) => {
            let said = s.said(&order.when)?;
            let checked = s.shop.tool_check(&order.tag, &order.asked()?, &said, now)?;
            s.print(&checked, show_gauging::checked)?;
        }
        ToolCommand::WasOff(order) => {
            let said = s.plain();
            let asked = order.asked();
            let at = if asked.write { now } else { s.at };
            let answer = s.shop.was_off(&order.tag, &asked, &said, at)?;
            s.print(&answer, show_gauging::was_off)?;
        }
    }
    Ok(DONE)
}

fn import(s: &mut Session, order: crate::cli::Import, now: Moment) -> anyhow::Result<u8> {
    let bytes = fs::read(&order.file).with_context(|| order.file.display().to_string())?;
    let mapping = order
        .mapping
        .as_ref()
        .map(|path| fs::read_to_string(path).with_context(|| path.display().to_string()))
        .transpose()?;
    let answers = order
        .answer
        .iter()
        .map(|a| {
            a.split_once('=').map(|(t, v)| (t.trim().to_owned(), v.trim().to_owned())).ok_or_else(|| {
                AppError::Field {
                    field: "--answer",
                    message: format!("expected TOPIC=ANSWER, found \"{a}\""),
                }
            })
        })
        .collect::<Result<Vec<_>, AppError>>()?;
    let columns = order
        .column
        .iter()
        .map(|c| {
            c.rsplit_once('=').map(|(h, f)| (h.to_owned(), f.trim().to_owned())).ok_or_else(|| {
                AppError::Field {
                    field: "--column",
                    message: format!("expected HEADER=FIELD, found \"{c}\""),
                }
            })
        })
        .collect::<Result<Vec<_>, AppError>>()?;
    let request = ImportOrder {
        bytes,
        file_name: order.file.display().to_string(),
        kind: order.kind,
        sheet: order.sheet,
        mapping,
        columns,
        answers,
        dry_run: order.dry_run,
    };
    let said = s.plain();
    let report = s.shop.import(&request, &said, now)?;
    if let Some(path) = &order.save_mapping {
        fs::write(path, &report.mapping).with_context(|| path.display().to_string())?;
    }
    s.print(&report, |out, r| write!(out, "{}", r.text()))?;
    Ok(if report.written || (order.dry_run && report.ready) { 0 } else { 2 })
}

fn export(s: &Session, what: &str, workbook: Option<&std::path::Path>) -> anyhow::Result<u8> {
    if let Some(path) = workbook {
        fs::write(path, s.shop.export_workbook()?).with_context(|| path.display().to_string())?;
        return Ok(0);
    }
    let text = if what == "facts" { s.shop.export_lines()? } else { s.shop.export_csv(what)? };
    std::io::stdout().write_all(text.as_bytes())?;
    Ok(0)
}
