//! Tools: their checks, and what one that was off changes.

mod list;
mod was_off;

use crate::{
    AppError, Said, Workshop, WrittenJson,
    error::{bad, field, length_above_zero},
    gauging::entry::position,
};
use matewell_lab::{
    Certificate, FactBody, GaugeZero, Item, ItemKind, Moment, ToolCheck, ToolChecked, TorqueRanges,
    WrenchCheck, WrenchSpec,
};
use matewell_quantity::{Length, Torque};
use matewell_study::torque_tool::{self, deviation_percent, evaluate};
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
        let in_order = asked.in_order;
        let mut torque = None;
        let check = if let Some(zero) = &asked.zero {
            if is_wrench {
                return Err(wrong("a zero on a gauge master"));
            }
            let off = position("zero", zero)?;
            ToolCheck::GaugeZero(GaugeZero {
                reads_more_recessed: Length::from_micrometres(off.recession_um()).map_err(field("zero"))?,
                in_order,
            })
        } else if let Some(document) = certificate {
            ToolCheck::Certificate(certificate_of(&record.item, document, asked)?)
        } else {
            if !is_wrench {
                return Err(wrong("torques of a reference"));
            }
            let check = wrench_check(record.item.wrench.as_ref(), asked)?;
            let permissible = record
                .item
                .wrench
                .as_ref()
                .map_or(self.sheets.policy().wrench_deviation.value, |s| s.tolerance);
            torque = Some(torque_check(&check, permissible, asked.device_percent)?);
            ToolCheck::Wrench(check)
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
        let body = FactBody::ToolChecked(ToolChecked { tool: item, check });
        let written = self.write_one(body, said, now)?;
        Ok(ToolCheckedJson { written, torque })
    }
}

fn certificate_of(item: &Item, document: &str, asked: &ToolCheckAsked) -> Result<Certificate, AppError> {
    let stated =
        |text: &Option<String>| text.as_deref().map(str::trim).filter(|t| !t.is_empty()).map(str::to_owned);
    let pin = asked.position.as_ref().filter(|p| !p.distance.trim().is_empty());
    let pin = pin.map(|p| position("position", p)).transpose()?;
    let uncertainty = length_above_zero("standard_uncertainty", asked.standard_uncertainty.as_deref())?;
    if pin.is_some() && item.kind != ItemKind::GaugeMaster {
        let found = item.kind.word();
        return Err(bad(
            "position",
            format!("expected the position of a gauge master's pin, found one of {} ({found})", item.tag),
        ));
    }
    if uncertainty.is_some() && pin.is_none() {
        return Err(bad(
            "position",
            "expected the position that this standard uncertainty belongs to, found nothing",
        ));
    }
    Ok(Certificate {
        document: document.to_owned(),
        in_order: asked.in_order,
        valid_until: stated(&asked.valid_until)
            .map(|t| parse_moment(&t).map_err(field("valid_until")))
            .transpose()?,
        position: pin,
        standard_uncertainty: uncertainty,
    })
}

fn wrench_check(spec: Option<&WrenchSpec>, asked: &ToolCheckAsked) -> Result<WrenchCheck, AppError> {
    let torque = |name: &'static str, text: &Option<String>| -> Result<Option<Torque>, AppError> {
        text.as_deref()
            .map(str::trim)
            .filter(|t| !t.is_empty())
            .map(|t| t.parse().map_err(field(name)))
            .transpose()
    };
    let set_point =
        torque("set", &asked.set)?.or(spec.map(|s| s.set_point)).ok_or_else(|| AppError::Field {
            field: "set",
            message: "expected the torque it was set to: none is registered".to_owned(),
        })?;
    Ok(WrenchCheck {
        set_point,
        readings: asked.reads.iter().map(|t| t.parse().map_err(field("reads"))).collect::<Result<_, _>>()?,
        ranges: TorqueRanges {
            reproducibility: torque("reproducibility", &asked.reproducibility)?,
            output_drive: torque("output_drive", &asked.output_drive)?,
            interface: torque("interface", &asked.interface)?,
            loading_point: torque("loading_point", &asked.loading_point)?,
        },
        in_order: asked.in_order,
    })
}

/// The arithmetic of ISO 6789 on one set point.
///
/// # Errors
///
/// A torque not above zero, a negative uncertainty of the device.
pub(crate) fn torque_check(
    check: &WrenchCheck,
    permissible: f64,
    device_percent: Option<f64>,
) -> Result<TorqueCheckJson, AppError> {
    let set_n_m = check.set_point.newton_metres();
    let references: Vec<f64> = check.readings.iter().map(|r| r.newton_metres()).collect();
    let cannot = |e: matewell_study::StudyError| AppError::Field { field: "reads", message: e.to_string() };
    let deviations = references
        .iter()
        .map(|r| deviation_percent(set_n_m, *r))
        .collect::<Result<Vec<_>, _>>()
        .map_err(cannot)?;
    let mean = references.iter().sum::<f64>() / references.len() as f64;
    let largest = deviations.iter().fold(0.0, |most, d: &f64| if d.abs() > most { d.abs() } else { most });
    let ranges = check.ranges;
    let mut not_measured: Vec<String> = [
        ("re-seating", ranges.reproducibility),
        ("output drive", ranges.output_drive),
        ("interface", ranges.interface),
        ("loading point", ranges.loading_point),
    ]
    .into_iter()
    .filter(|(_, range)| range.is_none())
    .map(|(name, _)| name.to_owned())
    .collect();
    let measured = |range: Option<Torque>| range.map_or(0.0, Torque::newton_metres);
    if device_percent.is_none() {
        not_measured.push("reference device".to_owned());
    }
    let found = if references.len() > 1 {
        let check = torque_tool::ToolCheck {
            set: set_n_m,
            references,
            resolution: 0.0,
            reproducibility: measured(ranges.reproducibility),
            output_drive: measured(ranges.output_drive),
            interface: measured(ranges.interface),
            loading_point: measured(ranges.loading_point),
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
