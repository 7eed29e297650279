//! `matewell case …`: what follows when an end was found bad.

use crate::{
    DONE,
    cli::When,
    run::{Session, field, moment},
    show_case,
};
use clap::{ArgGroup, Args, Subcommand};
use matewell_app::{AppError, CaseHolds, CaseOrder, EndDecision};
use matewell_lab::{Moment, ResultDisposition};
use matewell_wire::CaseWrittenJson;

#[derive(Debug, Subcommand)]
pub(crate) enum CaseCommand {
    /// Open a case over ends found bad, or tools that were off. Example: matewell case open CB-009A --because "pin protrudes by 62 µm"
    Open(Box<Open>),
    /// List cases. Example: matewell case list
    List,
    /// Show a case with its work list. Example: matewell case show CB-009A
    Show {
        /// Id or name of the case, or the label of an end found bad
        case: String,
        /// Print the record by the clauses that ask for it
        #[arg(long)]
        record: bool,
    },
    /// Decide about ends and gauges. Example: matewell case dispose CB-009A IN-003P1 --cleared --because "gauged well"
    Dispose(Box<Dispose>),
    /// Decide about results in doubt. Example: matewell case result CB-009A lab://larkmoor/results/du-007/0003 --disposition re-measure --because "gain fell"
    Result {
        /// Id or name of the case, or the label of an end found bad
        case: String,
        /// The results, each by its URI or the id of its fact
        #[arg(required = true)]
        results: Vec<String>,
        /// no-effect, re-measure or notify
        #[arg(long)]
        disposition: String,
        /// Why: for no-effect what was compared with what
        #[arg(long)]
        because: String,
        #[command(flatten)]
        when: When,
    },
    /// Take in what the trace now also reaches. Example: matewell case add CB-009A --because "late entry"
    Add {
        /// Id or name of the case, or the label of an end found bad
        case: String,
        /// Labels of what to take in; everything the trace now also reaches when left out
        tags: Vec<String>,
        /// Hold none of them
        #[arg(long)]
        hold_none: bool,
        /// Why
        #[arg(long)]
        because: String,
        #[command(flatten)]
        when: When,
    },
    /// Set ends or gauges aside: no longer its business. Example: matewell case set-aside CB-009A GA-002 --because "sent away"
    SetAside {
        /// Id or name of the case, or the label of an end found bad
        case: String,
        /// Labels of the ends and gauges
        #[arg(required = true)]
        tags: Vec<String>,
        /// Why
        #[arg(long)]
        because: String,
        #[command(flatten)]
        when: When,
    },
    /// Close a case: work may go on. Example: matewell case close CB-009A --because "repairs are gauged before use"
    Close {
        /// Id or name of the case, or the label of an end found bad
        case: String,
        /// Why work may go on, and what keeps it from happening again
        #[arg(long)]
        because: String,
        #[command(flatten)]
        when: When,
    },
}

#[derive(Debug, Args)]
pub(crate) struct Open {
    /// Labels of the ends found bad, and of gauges and wrenches that were off
    #[arg(required = true)]
    tags: Vec<String>,
    /// Why
    #[arg(long)]
    because: String,
    /// Last known good (RFC 3339 or a date); from the history when left out
    #[arg(long)]
    since: Option<String>,
    /// First evidence (RFC 3339 or a date); from the history when left out
    #[arg(long)]
    until: Option<String>,
    /// deformation, particles, residue or unknown; by the evidence when left out
    #[arg(long)]
    taint: Option<String>,
    /// What to call it; the first label and the day when left out
    #[arg(long)]
    name: Option<String>,
    /// Label of an end to hold; may be given several times; all that is exposed now when left out
    #[arg(long)]
    hold: Vec<String>,
    /// Hold none
    #[arg(long, conflicts_with = "hold")]
    hold_none: bool,
    #[command(flatten)]
    when: When,
}

#[derive(Debug, Args)]
#[command(group = ArgGroup::new("disposition").required(true).args(["cleared", "damaged", "waived"]))]
pub(crate) struct Dispose {
    /// Id or name of the case, or the label of an end found bad
    case: String,
    /// Labels of ends and gauges of the case; with --cleared, all that are verified on record when left out
    tags: Vec<String>,
    /// Verified: in order
    #[arg(long)]
    cleared: bool,
    /// It is damaged
    #[arg(long)]
    damaged: bool,
    /// Left as it is until a date
    #[arg(long)]
    waived: bool,
    /// Id of the verification; the last on record when left out
    #[arg(long, conflicts_with_all = ["damaged", "waived"])]
    evidence: Option<String>,
    /// Until when (RFC 3339 or a date); for the time of the lab's policy when left out
    #[arg(long, conflicts_with_all = ["cleared", "damaged"])]
    until: Option<String>,
    /// Why
    #[arg(long)]
    because: String,
    #[command(flatten)]
    when: When,
}

impl Dispose {
    fn decision(&self) -> Result<EndDecision, AppError> {
        if self.cleared {
            let evidence = self.evidence.as_deref().map(|t| t.parse().map_err(field("--evidence")));
            return Ok(EndDecision::Cleared { evidence: evidence.transpose()? });
        }
        if self.damaged {
            return Ok(EndDecision::Damaged);
        }
        Ok(EndDecision::Waived { until: moment("--until", self.until.as_deref())? })
    }
}

fn wrote(s: &Session, written: &CaseWrittenJson) -> anyhow::Result<u8> {
    s.print(written, show_case::written)?;
    Ok(DONE)
}

pub(crate) fn case(s: &mut Session, command: CaseCommand, now: Moment) -> anyhow::Result<u8> {
    match command {
        CaseCommand::Open(open) => {
            let said = s.said(&open.when)?;
            let holds = match (open.hold_none, open.hold.is_empty()) {
                (true, _) => CaseHolds::None,
                (false, true) => CaseHolds::ExposedNow,
                (false, false) => CaseHolds::Only(open.hold),
            };
            let order = CaseOrder {
                since: moment("--since", open.since.as_deref())?,
                until: moment("--until", open.until.as_deref())?,
                tags: open.tags,
                taint: open.taint,
                name: open.name,
                because: open.because,
                holds,
            };
            let written = s.shop.open_case(&order, &said, now)?;
            wrote(s, &written)
        }
        CaseCommand::List => {
            let list = s.shop.cases(s.at)?;
            s.print(&list, show_case::list)?;
            Ok(DONE)
        }
        CaseCommand::Show { case, record } => {
            let shown = s.shop.case(&case, s.at)?;
            s.print(&shown, if record { show_case::record } else { show_case::case })?;
            Ok(DONE)
        }
        CaseCommand::Dispose(order) => {
            let said = s.said(&order.when)?;
            let decision = order.decision()?;
            let written =
                s.shop.dispose_ends(&order.case, &order.tags, decision, &order.because, &said, now)?;
            wrote(s, &written)
        }
        CaseCommand::Result { case, results, disposition, because, when } => {
            let said = s.said(&when)?;
            let disposition = ResultDisposition::from_word(&disposition).map_err(field("--disposition"))?;
            let written = s.shop.dispose_results(&case, &results, disposition, &because, &said, now)?;
            wrote(s, &written)
        }
        CaseCommand::Add { case, tags, hold_none, because, when } => {
            let said = s.said(&when)?;
            let written = s.shop.add_to_case(&case, &tags, !hold_none, &because, &said, now)?;
            wrote(s, &written)
        }
        CaseCommand::SetAside { case, tags, because, when } => {
            let said = s.said(&when)?;
            let written = s.shop.set_aside(&case, &tags, &because, &said, now)?;
            wrote(s, &written)
        }
        CaseCommand::Close { case, because, when } => {
            let said = s.said(&when)?;
            let written = s.shop.close_case(&case, &because, &said, now)?;
            wrote(s, &written)
        }
    }
}
