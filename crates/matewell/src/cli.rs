//! Arguments, with one example each.

use crate::gauging::{CheckTool, Gauge, WasOff};
use clap::{Args, Parser, Subcommand, ValueHint};
use matewell_quantity::Frequency;
use std::path::PathBuf;

/// Keeps a lab's coaxial connectors right: decides, explains, remembers, computes.
///
/// Data goes to standard output, everything else to standard error.
///
/// Exit codes: 0 done, go, or go with care; 1 the answer is stop, a limit is
/// broken or a joint changed; 2 the command cannot be understood; 3 the answer
/// is undecided, or a case still waits for decisions; 4 a tag is unknown or fits
/// several ends; 5 a file or the store failed; 6 an authorisation is missing.
#[derive(Debug, Parser)]
#[command(name = "matewell", version, propagate_version = true)]
pub(crate) struct Cli {
    /// The lab's file, or the URL of its database (postgresql://…)
    #[arg(long, global = true, env = "MATEWELL_DATA", default_value = "matewell.db", value_hint = ValueHint::FilePath)]
    pub(crate) data: PathBuf,
    /// Print exactly what the HTTP interface answers
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Who does it: a name or a pseudonym
    #[arg(long, global = true, env = "MATEWELL_PERSON", default_value = "unnamed")]
    pub(crate) person: String,
    /// Answer as of this time (RFC 3339 or a date); now when left out
    #[arg(long, global = true)]
    pub(crate) as_of: Option<String>,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// When something happened and what else to say.
#[derive(Debug, Args)]
pub(crate) struct When {
    /// When it happened (RFC 3339 or a date); now when left out
    #[arg(long)]
    pub(crate) happened_at: Option<String>,
    /// Free text kept with the fact
    #[arg(long)]
    pub(crate) note: Option<String>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// May I put this on that? Example: matewell check CB-008A IN-004P1 --at 18GHz
    Check {
        /// Label of one end
        a: String,
        /// Label of the other end
        b: String,
        /// Frequency the joint is wanted for
        #[arg(long)]
        at: Option<Frequency>,
        /// Label of the wrench in hand
        #[arg(long)]
        wrench: Option<String>,
    },
    /// Log a mate if the check allows it. Example: matewell mate CB-008A IN-004P1 --wrench TW-003
    Mate {
        /// Label of one end
        a: String,
        /// Label of the other end
        b: String,
        /// Label of the wrench in hand
        #[arg(long)]
        wrench: Option<String>,
        /// Frequency the joint is wanted for
        #[arg(long)]
        at: Option<Frequency>,
        /// Go ahead although the check does not say go; the reason is kept and opens a follow-up
        #[arg(long)]
        override_because: Option<String>,
        #[command(flatten)]
        when: When,
    },
    /// Log mates that a program wrote down, all or none. Example: matewell mates today.json --dry-run
    Mates(crate::mates::Mates),
    /// Log that two ends came apart. Example: matewell part CB-008A IN-004P1
    Part {
        /// Label of one end
        a: String,
        /// Label of the other end
        b: String,
        #[command(flatten)]
        when: When,
    },
    /// Show an end: standing, reasons, history. Example: matewell end CB-014A
    End {
        /// Label of the end
        tag: String,
    },
    /// List ends. Example: matewell ends CB-0
    Ends(crate::papers::Ends),
    /// Log a look. Example: matewell inspect CB-014A --outcome damaged --seen bent-finger
    Inspect {
        /// Label of the end
        tag: String,
        /// good, normal-wear, dirty or damaged
        #[arg(long)]
        outcome: String,
        /// A word for what was seen; may be given several times
        #[arg(long)]
        seen: Vec<String>,
        /// Magnification used
        #[arg(long)]
        magnification: Option<f64>,
        /// A place on the face, looked into with 12 at the label, for example 3:mating-plane:dented-rim; may be given several times
        #[arg(long, value_name = "HOUR:ZONE[:WORD]")]
        mark: Vec<String>,
        /// A photo to be kept: PNG, JPEG or WebP
        #[arg(long, value_hint = ValueHint::FilePath)]
        photo: Option<PathBuf>,
        #[command(flatten)]
        when: When,
    },
    /// What to look for on an end, and with what. Example: matewell look-guide CB-014A
    LookGuide {
        /// Label of the end
        tag: String,
    },
    /// Log a gauging. Example: matewell gauge CB-014A --recessed 12um,11um,13um --with GA-001 --master GM-001 --zero-before 0um,0um --zero-after 0um,0um
    Gauge(Box<Gauge>),
    /// Show the pin of an end over its contacts. Example: matewell pin CB-014A
    Pin {
        /// Label of the end
        tag: String,
    },
    /// Log a cleaning. Example: matewell clean CB-014A --method "dry swab"
    Clean {
        /// Label of the end
        tag: String,
        /// How, in the lab's words
        #[arg(long)]
        method: Option<String>,
        #[command(flatten)]
        when: When,
    },
    /// Keep an end from being mated. Example: matewell hold CB-014A --because "finger looks bent"
    Hold(Reason),
    /// Lift a hold or damage finding. Example: matewell release CB-014A --because "gauged and looked at"
    Release(Release),
    /// An end or item will not be used again. Example: matewell retire CB-014A --because "worn out"
    Retire(Reason),
    /// The contact was made anew: its history starts again. Example: matewell replace CB-014A --because "re-terminated"
    Replace(Reason),
    /// Put an item away. Example: matewell put-away CB-014 --place "drawer 3" --capped
    PutAway {
        /// Label of the item or one of its ends
        tag: String,
        /// Where
        #[arg(long)]
        place: String,
        /// Clean caps are on
        #[arg(long)]
        capped: bool,
        #[command(flatten)]
        when: When,
    },
    /// Check a gauge's zero, a wrench, or note a certificate
    #[command(subcommand)]
    Tool(ToolCommand),
    /// Take an earlier fact back. Example: matewell take-back 0192… --because "wrong label"
    TakeBack {
        /// Id of the fact
        fact: String,
        /// Why
        #[arg(long)]
        because: String,
    },
    /// Answer a follow-up. Example: matewell follow-up 0192… --done "gauged, in order"
    FollowUp {
        /// Id of the fact
        fact: String,
        /// What was done
        #[arg(long)]
        done: String,
    },
    /// What did it touch, what made it bad? Example: matewell trace CB-009A --what-if "verified CS-002A 2026-11-02"
    Trace(Box<crate::trace::TraceArgs>),
    /// What follows when an end was found bad. Example: matewell case open CB-009A --because "pin protrudes"
    #[command(subcommand)]
    Case(crate::case::CaseCommand),
    /// What is due, most pressing first. Example: matewell due --location "bench 2"
    Due(crate::papers::Due),
    /// How an end is cleaned, and what to mind. Example: matewell clean-guide CB-014A
    CleanGuide {
        /// Label of the end
        tag: String,
    },
    /// Everything about an end or a case, for paper. Example: matewell dossier CB-014A
    Dossier(crate::papers::Dossier),
    /// Write down one item. Example: matewell register CB-050 --kind cable --end CB-050A,sma,pin --end CB-050B,sma,pin
    Register(Box<crate::register::Written>),
    /// Set the registration of an item right. Example: matewell amend CB-050 CB-050 --kind cable --end CB-050A,3.5mm,pin --end CB-050B,3.5mm,pin --because "read the marking"
    Amend(Box<crate::register::Amend>),
    /// Show an item with all its ends. Example: matewell item CB-014
    Item {
        /// Label of the item or one of its ends
        tag: String,
    },
    /// Kits: what belongs into one, and what was found. Example: matewell kit check KIT-01 --all-in-place --found CS-004=missing
    #[command(subcommand)]
    Kit(crate::kits::KitCommand),
    /// An item or a kit is wanted for planned work. Example: matewell reserve KIT-01 --work "receiver 12" --from 2026-12-01 --until 2026-12-03
    Reserve(crate::kits::Reserve),
    /// Where things were put away last. Example: matewell storage "drawer 3"
    Storage {
        /// Part of a label or of a place
        #[arg(default_value = "")]
        filter: String,
    },
    /// Cases, sweeps and marked looks of an end. Example: matewell kept CB-014A
    Kept {
        /// Label of the end
        tag: String,
        /// Of all ends of the item
        #[arg(long)]
        item: bool,
    },
    /// Show the lab's policy with its sources. Example: matewell policy
    Policy,
    /// Import a spreadsheet of the lab. Example: matewell import register.xlsx --dry-run
    Import(Box<Import>),
    /// Give everything back. Example: matewell export > facts.jsonl
    Export {
        /// facts, register, mates, gaugings, cleanings or inspections
        #[arg(long, default_value = "facts")]
        what: String,
        /// Write an XLSX workbook with all sheets to this file instead
        #[arg(long, value_hint = ValueHint::FilePath)]
        workbook: Option<PathBuf>,
        /// Write every kept file into this folder under its SHA-256 instead
        #[arg(long, value_hint = ValueHint::DirPath, conflicts_with = "workbook")]
        files: Option<PathBuf>,
    },
    /// Re-run every published check, or a lab's own values, on this machine. Example: matewell validation --file own-values.toml
    Validation {
        /// The lab's own values (TOML) instead of the published ones
        #[arg(long, value_hint = ValueHint::FilePath)]
        file: Option<PathBuf>,
        /// Print the document VALIDATION.md
        #[arg(long)]
        markdown: bool,
    },
    /// People, rights and tokens
    #[command(subcommand)]
    Person(crate::person::PersonCommand),
    /// Is a signed dossier as it was signed? Example: matewell verify-dossier cb-014a.jsonl --key 9f3c…
    VerifyDossier(crate::signed::VerifyDossier),
    /// Prove the hash chain, or name the first broken fact. Example: matewell verify
    Verify,
    /// Copy the lab to a file while it is in use, and verify the copy. Example: matewell back-up lab-copy.db
    BackUp {
        /// The new file
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
    },
    /// How the lab itself is: back-ups, what was found at the start. Example: matewell health
    Health,
    /// Copy a lab to another place, chain and all. Example: matewell move --from lab.db --to postgresql://db.example/larkmoor
    Move(crate::house::Move),
    /// Take over the facts of another lab, any number of times. Example: matewell --data lab.db merge http://laptop:7373 --token-file laptop.token
    Merge(crate::house::Merge),
    /// Make the invented demo lab if there is no data yet. Example: matewell demo
    Demo,
    /// Serve the page and the HTTP interface. Example: matewell serve --port 7373
    Serve(Box<crate::serve::Serve>),
    /// Print completions for a shell. Example: matewell completions bash
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Physics of lines and joints. Example: matewell line gap --interface 3.5mm --gap 60um --at 18GHz
    Line(Box<crate::physics::LineOrder>),
    /// Interfaces of the data sheets with their numbers and sources. Example: matewell interfaces
    Interfaces,
    /// Sweeps: what they hold, which joint changed. Example: matewell sweep compare now.s1p --baseline good.s1p --layout-file chain.toml
    Sweep(Box<crate::sweeps::SweepOrder>),
    /// Studies of gauges, check standards and torque tools. Example: matewell study chart --tool GA-001
    Study(Box<crate::study::StudyOrder>),
    /// Pin position against mates, and when a limit may be reached. Example: matewell drift CB-014A
    Drift(Box<crate::study::DriftOrder>),
    /// Print the OpenAPI document. Example: matewell openapi
    Openapi,
}

#[derive(Debug, Args)]
pub(crate) struct Reason {
    /// Label of the end
    pub(crate) tag: String,
    /// Why
    #[arg(long)]
    pub(crate) because: String,
    #[command(flatten)]
    pub(crate) when: When,
}

#[derive(Debug, Args)]
pub(crate) struct Release {
    #[command(flatten)]
    pub(crate) reason: Reason,
    /// Id of the look or gauging that verified it; the last that does for an end a case holds
    #[arg(long)]
    pub(crate) evidence: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Import {
    /// CSV or workbook
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) file: PathBuf,
    /// List every problem and question, write nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// What the rows are: register, mates, gaugings, cleanings or inspections; guessed when left out
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Sheet of a workbook; the first when left out
    #[arg(long)]
    pub(crate) sheet: Option<String>,
    /// Mapping file (TOML) to use instead of a guess
    #[arg(long, value_hint = ValueHint::FilePath)]
    pub(crate) mapping: Option<PathBuf>,
    /// Write the mapping used to this file, to correct and re-use
    #[arg(long, value_hint = ValueHint::FilePath)]
    pub(crate) save_mapping: Option<PathBuf>,
    /// What a column is, by its header, for example Depth=pin_depth, "Port 2=end_tag:2" or Remarks=none; may be given several times
    #[arg(long, value_name = "HEADER=FIELD")]
    pub(crate) column: Vec<String>,
    /// Answer to a question of the dry run, for example positive_means=recessed; may be given several times
    #[arg(long, value_name = "TOPIC=ANSWER")]
    pub(crate) answer: Vec<String>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum ToolCommand {
    /// Gauges, masters and wrenches: what is not in order first. Example: matewell tool list
    List,
    /// One of them with its checks. Example: matewell tool show GA-002
    Show {
        /// Label of the tool
        tag: String,
    },
    /// Check a gauge or a wrench. Example: matewell tool check TW-003 --reads 0.91N.m,0.90N.m,0.90N.m --in-order
    Check(Box<CheckTool>),
    /// What a gauge or wrench that was off changes. Example: matewell tool was-off GA-002 --since 2026-11-01 --until 2026-11-20 --by 8um --drift
    WasOff(Box<WasOff>),
}
