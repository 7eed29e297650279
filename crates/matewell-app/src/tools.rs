//! Tools: their checks, and what one that was off changes.

mod was_off;

use crate::{AppError, Said, ToolFinding, Workshop, WrittenJson, error::field, gauging::entry::position};
use matewell_lab::{ItemKind, Moment};
use matewell_quantity::Torque;
use matewell_study::torque_tool::{ToolCheck, deviation_percent, evaluate};
use matewell_wire::{ToolCheckAsked, TorqueCheckJson, parse_moment};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A tool check written down, with the arithmetic of a wrench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ToolCheckedJson {
    /// What was written.
    pub written: WrittenJson,
    /// Deviations and uncertainty, for a wrench that was read.
    pub torque: Option<TorqueCheckJson>,
}

impl Workshop {
    /// Checks a gauge or a wrench: zero, readings, or a certificate.
    ///
    /// # Errors
    ///
    /// Unknown tags; more or less than one of the three; fields that cannot be
    /// understood; a zero of a wrench or readings of a gauge.
    pub fn tool_check(
        &mut self,
        tag: &str,
        asked: &ToolCheckAsked,
        said: &Said,
        now: Moment,
    ) -> Result<ToolCheckedJson, AppError> {
        let item = self.one_item("a gauge or wrench", tag)?;
        let at = said.happened_at.unwrap_or(now);
        let record = self.tool(item, at)?.ok_or_else(|| AppError::UnknownTag {
            what: "a gauge or wrench",
            found: tag.trim().to_owned(),
        })?;
        let is_wrench = record.item.kind == ItemKind::TorqueWrench;
        let certificate = asked.certificate.as_deref().map(str::trim).filter(|t| !t.is_empty());
        let given = [asked.zero.is_some(), !asked.reads.is_empty(), certificate.is_some()];
        if given.iter().filter(|g| **g).count() != 1 {
            return Err(AppError::Field {
                field: "check",
                message: "expected one of: a zero on the master, readings of a reference, a certificate"
                    .to_owned(),
            });
        }
        let wrong = |found: &str| AppError::Field {
            field: "check",
            message: format!(
                "{} is registered as {}, found {found}",
                record.item.tag,
                record.item.kind.word()
            ),
        };
        let mut torque = None;
        let finding = if let Some(zero) = &asked.zero {
            if is_wrench {
                return Err(wrong("a zero on a gauge master"));
            }
            ToolFinding::Zero { off: position("zero", zero)?, in_order: asked.in_order }
        } else if let Some(document) = certificate {
            let valid_until = asked.valid_until.as_deref().filter(|t| !t.is_empty());
            ToolFinding::Document {
                document: document.to_owned(),
                in_order: asked.in_order,
                valid_until: valid_until
                    .map(|t| parse_moment(t).map_err(field("valid_until")))
                    .transpose()?,
            }
        } else {
            if !is_wrench {
                return Err(wrong("torques of a reference"));
            }
            let spec = record.item.wrench.as_ref();
            let set: Option<Torque> = asked
                .set
                .as_deref()
                .filter(|t| !t.trim().is_empty())
                .map(|t| t.parse().map_err(field("set")))
                .transpose()?;
            let set_point = set.or(spec.map(|s| s.set_point)).ok_or_else(|| AppError::Field {
                field: "set",
                message: "expected the torque it was set to: none is registered".to_owned(),
            })?;
            let readings = asked
                .reads
                .iter()
                .map(|t| t.parse().map_err(field("reads")))
                .collect::<Result<Vec<Torque>, _>>()?;
            let permissible = spec.map_or(self.sheets.policy().wrench_deviation.value, |s| s.tolerance);
            torque = Some(torque_check(set_point, &readings, permissible, asked.device_percent)?);
            ToolFinding::Torque { set_point, readings, in_order: asked.in_order }
        };
        if let Some(checked) = torque.as_ref().filter(|t| asked.in_order && !t.conforms) {
            return Err(AppError::Field {
                field: "in_order",
                message: format!(
                    "the readings deviate by up to {:.1} %, permissible are {:.1} %: leave in order out, or correct the readings",
                    checked.largest_deviation_percent, checked.permissible_percent
                ),
            });
        }
        let written = self.check_tool(tag, finding, said, now)?;
        Ok(ToolCheckedJson { written, torque })
    }
}

/// The arithmetic of ISO 6789 on one set point.
///
/// # Errors
///
/// A torque not above zero, a negative uncertainty of the device.
pub(crate) fn torque_check(
    set: Torque,
    readings: &[Torque],
    permissible: f64,
    device_percent: Option<f64>,
) -> Result<TorqueCheckJson, AppError> {
    let set_n_m = set.newton_metres();
    let references: Vec<f64> = readings.iter().map(|r| r.newton_metres()).collect();
    let cannot = |e: matewell_study::StudyError| AppError::Field { field: "reads", message: e.to_string() };
    let deviations = references
        .iter()
        .map(|r| deviation_percent(set_n_m, *r))
        .collect::<Result<Vec<_>, _>>()
        .map_err(cannot)?;
    let mean = references.iter().sum::<f64>() / references.len() as f64;
    let largest = deviations.iter().fold(0.0, |most, d: &f64| if d.abs() > most { d.abs() } else { most });
    let mut not_measured: Vec<String> =
        ["re-seating", "output drive", "interface", "loading point"].into_iter().map(str::to_owned).collect();
    if device_percent.is_none() {
        not_measured.push("reference device".to_owned());
    }
    let found = if references.len() > 1 {
        let check = ToolCheck {
            set: set_n_m,
            references,
            resolution: 0.0,
            reproducibility: 0.0,
            output_drive: 0.0,
            interface: 0.0,
            loading_point: 0.0,
            device_percent: device_percent.unwrap_or(0.0),
            device_error_percent: 0.0,
        };
        Some(evaluate(&check).map_err(cannot)?)
    } else {
        None
    };
    Ok(TorqueCheckJson {
        set_n_m,
        mean_reference_n_m: mean,
        mean_deviation_percent: deviation_percent(set_n_m, mean).map_err(cannot)?,
        largest_deviation_percent: largest,
        conforms: largest <= 100.0 * permissible,
        permissible_percent: 100.0 * permissible,
        deviations_percent: deviations,
        expanded_percent: found.as_ref().map(|f| f.expanded),
        interval_percent: found.as_ref().map(|f| f.interval),
        not_measured,
    })
}
