//! `matewell trace …`: what did it touch, what made it bad?

use crate::{DONE, run::moment, show, show_trace};
use clap::Args;
use matewell_app::{AppError, Supposed, TraceOrder, Workshop};
use matewell_lab::Moment;
use serde::Serialize;
use std::io;

#[derive(Debug, Args)]
pub(crate) struct TraceArgs {
    /// Labels of the ends; with --tool of a gauge or wrench
    #[arg(required = true)]
    tags: Vec<String>,
    /// Last known good (RFC 3339 or a date); from the history when left out
    #[arg(long)]
    since: Option<String>,
    /// First evidence (RFC 3339 or a date); from the history when left out
    #[arg(long)]
    until: Option<String>,
    /// deformation, particles, residue or unknown; by the evidence when left out
    #[arg(long)]
    kind: Option<String>,
    /// What could have made this end bad
    #[arg(long, conflicts_with_all = ["common", "tool", "what_if"])]
    back: bool,
    /// What could have made all these ends bad
    #[arg(long, conflicts_with_all = ["tool", "what_if"])]
    common: bool,
    /// What was gauged or tightened with this tool while it may have been off
    #[arg(long, conflicts_with_all = ["what_if", "kind"])]
    tool: bool,
    /// Suppose otherwise: "verified TAG TIME", "inspected …", "cleaned …", "gauged …" or "waived TAG"; may be given several times
    #[arg(long)]
    what_if: Vec<String>,
    /// Probability that one touch passes it on; the lab's policy when left out
    #[arg(long)]
    contact_passes: Option<f64>,
    /// Looking back: nothing before this counts
    #[arg(long)]
    not_before: Option<String>,
}

fn print<T: Serialize>(
    json: bool,
    body: &T,
    human: impl FnOnce(&mut show::Out, &T) -> io::Result<()>,
) -> anyhow::Result<u8> {
    show::print(json, body, human)?;
    Ok(DONE)
}

pub(crate) fn trace(shop: &Workshop, json: bool, args: TraceArgs, at: Moment) -> anyhow::Result<u8> {
    let since = moment("since", args.since.as_deref())?;
    let until = moment("until", args.until.as_deref())?;
    if args.tool {
        let [tag] = args.tags.as_slice() else {
            return Err(AppError::Field {
                field: "tool",
                message: format!("expected one tool, found {}", args.tags.len()),
            }
            .into());
        };
        return print(json, &shop.trace_tool(tag, since, until, at)?, show_trace::tool);
    }
    let order = TraceOrder {
        since,
        until,
        kind: args.kind,
        contact_passes: args.contact_passes,
        not_before: moment("not_before", args.not_before.as_deref())?,
        what_if: args.what_if.iter().map(|text| Supposed::read(text)).collect::<Result<_, _>>()?,
        tags: args.tags,
    };
    if args.back {
        print(json, &shop.trace_back(&order, at)?, show_trace::back)
    } else if args.common {
        print(json, &shop.trace_common(&order, at)?, show_trace::common)
    } else {
        print(json, &shop.trace(&order, at)?, show_trace::forward)
    }
}
