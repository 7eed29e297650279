//! `matewell kit`, `reserve`, `storage`: kits, planned work, and where things
//! were put away.

use crate::{DONE, cli::When, run::Session, run::moment, show::Out};
use clap::{Args, Subcommand};
use matewell_app::AppError;
use matewell_lab::Moment;
use matewell_wire::{KitJson, KitListJson, PieceAsked, ReservationJson, StorageJson};
use std::io::{self, Write};

#[derive(Debug, Subcommand)]
pub(crate) enum KitCommand {
    /// All kits, those that need something first, and all planned work
    List,
    /// A kit with its pieces and how they stand
    Show {
        /// Label of the kit
        kit: String,
    },
    /// Say what belongs into a kit, in place of any earlier list
    Make(KitMake),
    /// Write down what was found when you looked through a kit
    Check(KitCheck),
}

#[derive(Debug, Args)]
pub(crate) struct KitMake {
    /// Label of the kit
    kit: String,
    /// Labels of its pieces, in the order of their places
    #[arg(required = true)]
    pieces: Vec<String>,
    #[command(flatten)]
    when: When,
}

#[derive(Debug, Args)]
pub(crate) struct KitCheck {
    /// Label of the kit
    kit: String,
    /// Every piece that is not named otherwise is in place and capped
    #[arg(long)]
    all_in_place: bool,
    /// What was found of a piece: in-place, swapped or missing, then capped or bare; may be given several times
    #[arg(long, value_name = "PIECE=PLACE[,CAPS]")]
    found: Vec<String>,
    #[command(flatten)]
    when: When,
}

#[derive(Debug, Args)]
pub(crate) struct Reserve {
    /// Label of the item, the kit or one of its ends
    tag: String,
    /// What for
    #[arg(long)]
    work: String,
    /// When it begins: RFC 3339 or a date
    #[arg(long)]
    from: String,
    /// When it ends
    #[arg(long)]
    until: String,
    #[command(flatten)]
    when: When,
}

fn found(text: &str) -> Result<PieceAsked, AppError> {
    let bad = || AppError::Field {
        field: "--found",
        message: format!("expected PIECE=PLACE or PIECE=PLACE,capped or ,bare, found \"{text}\""),
    };
    let (piece, said) = text.split_once('=').ok_or_else(bad)?;
    let (place, caps) = said.split_once(',').map_or((said, None), |(place, caps)| (place, Some(caps.trim())));
    let capped = match caps {
        None => None,
        Some("capped") => Some(true),
        Some("bare") => Some(false),
        Some(_) => return Err(bad()),
    };
    Ok(PieceAsked { piece: piece.trim().to_owned(), place: place.trim().to_owned(), capped })
}

pub(crate) fn run(s: &mut Session, command: &KitCommand, now: Moment) -> anyhow::Result<u8> {
    match command {
        KitCommand::List => s.print(&s.shop.kits(s.at)?, show_kits)?,
        KitCommand::Show { kit } => s.print(&s.shop.kit(kit, s.at)?, show_kit)?,
        KitCommand::Make(order) => {
            let said = s.said(&order.when)?;
            let written = s.shop.make_kit(&order.kit, &order.pieces, &said, now)?;
            return s.wrote(&written);
        }
        KitCommand::Check(order) => {
            let said = s.said(&order.when)?;
            let mut all = order.found.iter().map(|text| found(text)).collect::<Result<Vec<_>, _>>()?;
            if order.all_in_place {
                let is_named = |tag: &str| all.iter().any(|f: &PieceAsked| f.piece.eq_ignore_ascii_case(tag));
                let rest: Vec<PieceAsked> = s
                    .shop
                    .kit(&order.kit, now)?
                    .pieces
                    .into_iter()
                    .filter(|piece| !is_named(&piece.tag))
                    .map(|piece| PieceAsked {
                        piece: piece.tag,
                        place: "in-place".to_owned(),
                        capped: Some(true),
                    })
                    .collect();
                all.extend(rest);
            }
            let written = s.shop.check_kit(&order.kit, &all, &said, now)?;
            return s.wrote(&written);
        }
    }
    Ok(DONE)
}

pub(crate) fn reserve(s: &mut Session, order: &Reserve, now: Moment) -> anyhow::Result<u8> {
    let said = s.said(&order.when)?;
    let needed = |name, text: &str| -> anyhow::Result<Moment> {
        moment(name, Some(text))?.ok_or_else(|| anyhow::anyhow!("expected a time for {name}"))
    };
    let (from, until) = (needed("--from", &order.from)?, needed("--until", &order.until)?);
    let written = s.shop.reserve(&order.tag, &order.work, from, until, &said, now)?;
    s.wrote(&written)
}

pub(crate) fn storage(s: &Session, filter: &str) -> anyhow::Result<u8> {
    s.print(&s.shop.storage(filter, s.at)?, show_storage)?;
    Ok(DONE)
}

fn caps(capped: Option<bool>) -> &'static str {
    match capped {
        Some(true) => "capped",
        Some(false) => "without caps",
        None => "",
    }
}

fn show_reserved(out: &mut Out, reserved: &[ReservationJson]) -> io::Result<()> {
    for r in reserved {
        writeln!(out, "  wanted: {} for {}, {} to {}, by {}", r.tag, r.work, r.from, r.until, r.person)?;
    }
    Ok(())
}

fn show_kits(out: &mut Out, list: &KitListJson) -> io::Result<()> {
    for kit in &list.kits {
        let place = kit.location.as_deref().map(|p| format!(" ({p})")).unwrap_or_default();
        writeln!(out, "{}{place}: {}. {}", kit.tag, kit.state, kit.text)?;
    }
    if list.kits.is_empty() {
        writeln!(out, "No kits on record.")?;
    }
    show_reserved(out, &list.reserved)
}

fn show_kit(out: &mut Out, kit: &KitJson) -> io::Result<()> {
    writeln!(out, "{} {}: {}", kit.kit.tag, kit.kit.description, kit.kit.text)?;
    show_reserved(out, &kit.reserved)?;
    for piece in &kit.pieces {
        let place = piece.place.as_deref().unwrap_or("not looked for");
        let caps = caps(piece.capped);
        let comma = if caps.is_empty() { "" } else { ", " };
        writeln!(out, "- {} {}: {place}{comma}{caps}", piece.tag, piece.description)?;
        for end in &piece.ends {
            writeln!(out, "  {}: {}", end.end.tag, end.standing)?;
        }
        for then in &piece.since_then {
            writeln!(out, "  since then: {then}")?;
        }
        show_reserved(out, &piece.reserved)?;
    }
    Ok(())
}

fn show_storage(out: &mut Out, storage: &StorageJson) -> io::Result<()> {
    for laid in &storage.put_away {
        let caps = caps(laid.capped);
        let comma = if caps.is_empty() { "" } else { ", " };
        write!(out, "{}: {}{comma}{caps}, {} by {}", laid.tag, laid.place, laid.at, laid.person)?;
        let partners: Vec<&str> = laid.mated_with.iter().map(|end| end.tag.as_str()).collect();
        let used = if partners.is_empty() {
            String::new()
        } else {
            format!("; mated since with {}", partners.join(", "))
        };
        writeln!(out, "{used}")?;
    }
    if storage.put_away.is_empty() {
        writeln!(out, "Nothing put away fits.")?;
    }
    Ok(())
}
