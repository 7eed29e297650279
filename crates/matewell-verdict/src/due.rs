//! What is due, for an end and for a tool.

use crate::{answer::EndJudgement, book::Policy, session::tool_in_date};
use matewell_lab::{EndRecord, KitRecord, Moment, ToolRecord};

/// What must be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DueTask {
    /// See to an end that was mated while held.
    MatedWhileHeld,
    /// Decide about a held or damaged end.
    DecideHold,
    /// Gauge an end.
    Gauge,
    /// Clean an end.
    Clean,
    /// Check a gauge or a wrench.
    CheckTool,
    /// Look through a kit.
    CheckKit,
}

impl DueTask {
    /// The word used everywhere.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::MatedWhileHeld => "mated-while-held",
            Self::DecideHold => "decide-hold",
            Self::Gauge => "gauge",
            Self::Clean => "clean",
            Self::CheckTool => "check-tool",
            Self::CheckKit => "check-kit",
        }
    }
}

/// One thing that is due.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// What to do.
    pub task: DueTask,
    /// Why, in a sentence.
    pub text: String,
    /// How pressing: larger first. Ends in use come before idle ones.
    pub pressure: f64,
    /// Since when, if that can be said.
    pub since: Option<Moment>,
}

/// What is due for an end: from the findings of its judgement, so that the
/// list and the mate check can never disagree.
#[must_use]
pub fn due_of_end(record: &EndRecord, judgement: &EndJudgement) -> Vec<Due> {
    // Never enough to overtake what is worse: the steps between the bases.
    let in_use = matewell_quantity::lesser(f64::from(record.contacts_since_gauging), 90.0);
    let mut due: Vec<Due> = Vec::new();
    for finding in &judgement.findings {
        let (task, base) = match finding.code {
            "mated-while-held" => (DueTask::MatedWhileHeld, 1500.0),
            "held" | "damaged" | "pin-protrudes" => (DueTask::DecideHold, 1000.0),
            "exposed" => (DueTask::Gauge, 800.0),
            "gauging-due-by-contacts" | "reading-protrudes" | "gauge-not-in-order" => (DueTask::Gauge, 500.0),
            "pin-not-shown-safe" => (DueTask::Gauge, 300.0),
            "gauging-due-by-time" => (DueTask::Gauge, 200.0),
            // An end nobody uses and nobody gauged is not work for today.
            "never-gauged" if record.contacts > 0 => (DueTask::Gauge, 400.0),
            "dirty" => (DueTask::Clean, 600.0),
            _ => continue,
        };
        if judgement.standing == crate::Standing::Retired {
            continue;
        }
        if let Some(known) = due.iter_mut().find(|d| d.task == task) {
            known.pressure = matewell_quantity::greater(known.pressure, base + in_use);
            let stop = if known.text.ends_with('.') { "" } else { "." };
            known.text = format!("{}{stop} {}", known.text, finding.text);
        } else {
            let since = match task {
                DueTask::MatedWhileHeld => record.mated_while_held.last().map(|m| m.at),
                DueTask::Gauge => record.last_gauging.as_ref().map(|g| g.at),
                DueTask::DecideHold => record.open_holds.first().map(|h| h.at),
                DueTask::Clean => record.open_dirt.as_ref().map(|d| d.at),
                DueTask::CheckTool | DueTask::CheckKit => None,
            };
            due.push(Due { task, text: finding.text.clone(), pressure: base + in_use, since });
        }
    }
    due
}

/// What is due for a gauge or a wrench.
#[must_use]
pub fn due_of_tool(record: &ToolRecord, at: Moment, policy: &Policy) -> Option<Due> {
    let wrench = record.item.wrench.is_some();
    if record.retired.is_some() || (!wrench && record.item.gauge.is_none()) {
        return None;
    }
    let due =
        |text: String, pressure: f64, since| Some(Due { task: DueTask::CheckTool, text, pressure, since });
    let (days_allowed, uses_allowed) = if wrench {
        (policy.wrench_every_days, policy.wrench_every_uses)
    } else {
        (policy.gauge_check_every_days, u32::MAX)
    };
    match &record.last_check {
        None => due(format!("{} was never checked.", record.item.tag), 450.0, None),
        Some((_, when, check)) if !check.in_order() => {
            due(format!("{} was found out of order.", record.item.tag), 900.0, Some(*when))
        }
        Some((_, when, _)) if at.days_since(*when) > days_allowed => due(
            format!(
                "{} was checked {:.0} days ago; the policy allows {days_allowed:.0}.",
                record.item.tag,
                at.days_since(*when)
            ),
            450.0,
            Some(*when),
        ),
        Some((_, when, _)) if record.uses_since_check >= uses_allowed => due(
            format!(
                "{} has {} uses since its check; the policy allows {uses_allowed}.",
                record.item.tag, record.uses_since_check
            ),
            450.0,
            Some(*when),
        ),
        Some(_) => None,
    }
}

/// How a kit stands: by its last check, not by what happened since.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum KitStanding {
    /// The last check missed a piece, or found one in another's place.
    NotWhole,
    /// Nobody has looked through it yet.
    NotChecked,
    /// The last check is older than the policy allows.
    Due,
    /// Every piece was in its place at the last check.
    Whole,
    /// Nobody said what belongs into it.
    NoPieces,
}

impl KitStanding {
    /// The word used everywhere.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotWhole => "not-whole",
            Self::NotChecked => "not-checked",
            Self::Due => "due",
            Self::Whole => "whole",
            Self::NoPieces => "no-pieces",
        }
    }
}

/// How a kit stands at a moment.
#[must_use]
pub fn kit_standing(record: &KitRecord, at: Moment, policy: &Policy) -> KitStanding {
    match &record.last_check {
        _ if record.pieces.is_empty() => KitStanding::NoPieces,
        None => KitStanding::NotChecked,
        Some(_) if !record.not_in_place().is_empty() => KitStanding::NotWhole,
        Some(check) if at.days_since(check.at) > policy.kit_check_every_days => KitStanding::Due,
        Some(_) => KitStanding::Whole,
    }
}

/// What is due for a kit.
#[must_use]
pub fn due_of_kit(tag: &str, record: &KitRecord, at: Moment, policy: &Policy) -> Option<Due> {
    let due = |text: String, pressure: f64| {
        let since = record.last_check.as_ref().map(|check| check.at);
        Some(Due { task: DueTask::CheckKit, text, pressure, since })
    };
    match kit_standing(record, at, policy) {
        KitStanding::NotWhole => {
            let missed = record.not_in_place().len();
            let pieces = if missed == 1 { "1 piece".to_owned() } else { format!("{missed} pieces") };
            due(format!("{tag} was not whole when it was looked through: {pieces} not in place."), 550.0)
        }
        KitStanding::NotChecked => due(format!("{tag} was never looked through."), 250.0),
        KitStanding::Due => {
            let days = record.last_check.as_ref().map_or(0.0, |check| at.days_since(check.at));
            let allowed = policy.kit_check_every_days;
            due(
                format!("{tag} was looked through {days:.0} days ago; the policy allows {allowed:.0}."),
                250.0,
            )
        }
        KitStanding::Whole | KitStanding::NoPieces => None,
    }
}

/// What a gauge, a master or a wrench is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ToolStanding {
    /// Its last check found it out of order.
    OutOfOrder,
    /// A check is due, or its certificate has run out.
    Due,
    /// Nobody ever checked it.
    Unchecked,
    /// Checked, in order and in date.
    InDate,
    /// Will not be used again.
    Retired,
}

impl ToolStanding {
    /// The word used everywhere.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::OutOfOrder => "out-of-order",
            Self::Due => "due",
            Self::Unchecked => "unchecked",
            Self::InDate => "in-date",
            Self::Retired => "retired",
        }
    }
}

/// How a gauge, a master or a wrench stands, and why in a sentence. The same
/// rules as in the list of what is due and in the questions of a session.
#[must_use]
pub fn tool_standing(record: &ToolRecord, at: Moment, policy: &Policy) -> (ToolStanding, String) {
    let tag = &record.item.tag;
    if let Some((_, because)) = &record.retired {
        return (ToolStanding::Retired, format!("Retired: {because}"));
    }
    match &record.last_check {
        None => (ToolStanding::Unchecked, format!("{tag} was never checked.")),
        Some((_, _, check)) if !check.in_order() => {
            (ToolStanding::OutOfOrder, format!("{tag} was found out of order."))
        }
        Some((_, when, _)) => {
            let of_a_session =
                record.item.wrench.is_none().then(|| tool_in_date(record, at, policy)).flatten();
            let due = due_of_tool(record, at, policy).map(|due| due.text);
            match of_a_session.or(due) {
                Some(why) => (ToolStanding::Due, why),
                None => (
                    ToolStanding::InDate,
                    format!("Checked {:.0} days ago and in order.", at.days_since(*when)),
                ),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Book;
    use matewell_lab::{Certificate, FactId, Item, ItemId, ItemKind, ToolCheck};
    use matewell_sheets::Sheets;

    fn master(check: Option<(f64, bool, Option<f64>)>) -> ToolRecord {
        let day = |d: f64| Moment::from_microseconds(0).plus_days(d);
        let item = Item {
            id: ItemId::from_bytes([1; 16]),
            tag: "GM-1".to_owned(),
            kind: ItemKind::GaugeMaster,
            description: String::new(),
            model: None,
            serial: None,
            location: None,
            cost: None,
            gauge: None,
            wrench: None,
            extra: Vec::new(),
        };
        let found = check.map(|(at, in_order, until)| {
            let paper = Certificate::without_value("C-1".to_owned(), in_order, until.map(day));
            (FactId::from_bytes([2; 16]), day(at), paper)
        });
        ToolRecord {
            item,
            last_check: found.clone().map(|(fact, at, c)| (fact, at, ToolCheck::Certificate(c))),
            last_certificate: found,
            last_position: None,
            uses_since_check: 0,
            retired: None,
        }
    }

    #[test]
    fn a_tool_stands_by_its_last_check_and_its_certificate() {
        let sheets = Sheets::embedded().expect("sheets");
        let policy = Book::new(&sheets).policy();
        let at = Moment::from_microseconds(0).plus_days(10.0);
        let stands = |record: &ToolRecord| tool_standing(record, at, &policy).0;
        assert_eq!(stands(&master(None)), ToolStanding::Unchecked);
        assert_eq!(stands(&master(Some((9.0, false, None)))), ToolStanding::OutOfOrder);
        assert_eq!(stands(&master(Some((9.0, true, Some(9.5))))), ToolStanding::Due);
        assert_eq!(stands(&master(Some((9.0, true, Some(300.0))))), ToolStanding::InDate);
        let mut long_ago = master(Some((9.0 - policy.gauge_check_every_days, true, None)));
        assert_eq!(stands(&long_ago), ToolStanding::InDate, "a master by its certificate alone");
        long_ago.item.kind = ItemKind::Gauge;
        assert_eq!(stands(&long_ago), ToolStanding::Due, "{:?}", tool_standing(&long_ago, at, &policy));
        let mut retired = master(Some((9.0, false, None)));
        retired.retired = Some((at, "worn".to_owned()));
        assert_eq!(stands(&retired), ToolStanding::Retired);
    }
}
