//! Published values beside ours, re-run on this machine.

use matewell_published::Check;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One value of a source beside ours.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ValidationRowJson {
    /// Room that computes it.
    pub room: String,
    /// Key of the work.
    pub source: String,
    /// Where in the work.
    pub locator: String,
    /// What is compared, with its unit.
    pub quantity: String,
    /// The value as printed.
    pub printed: String,
    /// The value computed here and now; null when it is not a number.
    pub ours: Option<f64>,
    /// Largest accepted difference.
    pub allowed: f64,
    /// How strong the check is.
    pub grade: String,
    /// Why the accepted difference is wider than half the last printed digit.
    pub difference: Option<String>,
    /// Whether it holds.
    pub holds: bool,
}

/// All published checks of this program.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ValidationJson {
    /// Checks that hold.
    pub hold: usize,
    /// Checks that do not.
    pub fail: usize,
    /// The checks, by room.
    pub rows: Vec<ValidationRowJson>,
}

fn rows(room: &str, checks: &[Check]) -> Vec<ValidationRowJson> {
    checks
        .iter()
        .map(|check| ValidationRowJson {
            room: room.to_owned(),
            source: check.source.to_owned(),
            locator: check.locator.to_owned(),
            quantity: check.quantity.to_owned(),
            printed: check.printed.to_owned(),
            ours: Some(check.ours).filter(|v| v.is_finite()),
            allowed: check.allowed,
            grade: check.grade.word().to_owned(),
            difference: check.difference.map(str::to_owned),
            holds: check.passes(),
        })
        .collect()
}

/// Runs every published check.
pub fn validation() -> ValidationJson {
    let mut all = rows("uncertainty", &matewell_uncertainty::published::checks());
    all.extend(rows("study", &matewell_study::published::checks()));
    all.extend(rows("contact", &matewell_contact::published::checks()));
    all.extend(rows("line", &matewell_line::published::checks()));
    all.extend(rows("network", &matewell_network::published::checks()));
    let hold = all.iter().filter(|r| r.holds).count();
    ValidationJson { hold, fail: all.len() - hold, rows: all }
}

impl ValidationJson {
    /// The checks as the document VALIDATION.md.
    pub fn markdown(&self) -> String {
        let mut text = String::from(
            "# Validation\n\n\
             Published numbers beside ours, written by `make validation` and re-run by `matewell validation`.\n\
             A check holds when ours is within half of the last printed digit; a wider limit has a sentence.\n\n\
             Grades: *published* (the printed value was read in a stored copy of the source), *from memory* (the printed value is from memory and the recomputation from the published inputs reproduces it), *closed form*, *independent implementation* (stored script and versions under `crosscheck/`: the weaker proof), *own* (kept so that a change is noticed).\n\n",
        );
        text.push_str(&format!("{} checks hold, {} fail.\n", self.hold, self.fail));
        let mut room = "";
        for row in &self.rows {
            if row.room != room {
                room = &row.room;
                text.push_str(&format!(
                    "\n## {room}\n\n| source | locator | quantity | printed | ours | difference | allowed | grade | remark |\n|---|---|---|---|---|---|---|---|---|\n"
                ));
            }
            let printed: f64 =
                row.printed.replace('\u{2212}', "-").replace(' ', "").parse().unwrap_or(f64::NAN);
            let ours = row.ours.unwrap_or(f64::NAN);
            let remark = row.difference.as_deref().unwrap_or("");
            let cells = [
                row.source.clone(),
                row.locator.clone(),
                row.quantity.clone(),
                row.printed.clone(),
                short(ours),
                format!("{:.1e}", ours - printed),
                format!("{:.1e}", row.allowed),
                row.grade.clone(),
                remark.to_owned(),
            ];
            let cells: Vec<String> = cells.iter().map(|c| c.replace('|', "\\|").replace('\n', " ")).collect();
            text.push_str(&format!("| {} |\n", cells.join(" | ")));
        }
        text
    }
}

/// Nine significant digits, plain where that is readable.
fn short(value: f64) -> String {
    let size = value.abs();
    if value == 0.0 || (1e-4..1e9).contains(&size) {
        let decimals = if value == 0.0 { 1.0 } else { 8.0 - size.log10().floor() };
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0..=12")]
        let decimals = decimals.clamp(0.0, 12.0) as usize;
        let text = format!("{value:.decimals$}");
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
    } else {
        format!("{value:.8e}")
    }
}
