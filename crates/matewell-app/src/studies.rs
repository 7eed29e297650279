//! Studies: is a gauge good, is a check standard still what it was, do two
//! gauges agree, what is a torque tool worth?
//!
//! Each question takes a table of readings or asks the facts of the lab, and
//! gives the answer both doors print. Nothing is written.

pub(crate) mod answer;
mod chart;
mod compare;
mod gauge;
mod nested;
mod picture;
mod records;
mod table;
mod torque;

pub use table::{StudyFile, TABLE_BYTES};

use crate::{AppError, Workshop};
use matewell_lab::Moment;
use matewell_sheets::Sheets;
use matewell_wire::{
    ChartAsked, ChartJson, CompareAsked, CompareJson, GaugeStudyAsked, GaugeStudyJson, NestedStudyAsked,
    NestedStudyJson, StudyAnswerJson, TorqueStudyAsked, TorqueStudyJson, WindowAsked, WindowsJson,
};

pub use picture::{
    chart as chart_picture, compare as compare_picture, gauge as gauge_picture, nested as nested_picture,
    torque as torque_picture,
};

/// A crossed gauge study of a table.
///
/// # Errors
///
/// [`AppError::Field`] with row, column, what was expected and found.
pub fn gauge_study(
    file: &StudyFile<'_>,
    asked: &GaugeStudyAsked,
) -> Result<StudyAnswerJson<GaugeStudyJson>, AppError> {
    gauge::of_table(file, asked)
}

/// A nested study of a table.
///
/// # Errors
///
/// As [`gauge_study`].
pub fn nested_study(
    file: &StudyFile<'_>,
    asked: &NestedStudyAsked,
) -> Result<StudyAnswerJson<NestedStudyJson>, AppError> {
    nested::of_table(file, asked)
}

/// Charts of a table.
///
/// # Errors
///
/// As [`gauge_study`].
pub fn chart_study(file: &StudyFile<'_>, asked: &ChartAsked) -> Result<StudyAnswerJson<ChartJson>, AppError> {
    chart::of_table(file, asked)
}

/// A comparison of two columns of results.
///
/// # Errors
///
/// As [`gauge_study`].
pub fn compare_study(
    file: &StudyFile<'_>,
    asked: &CompareAsked,
) -> Result<StudyAnswerJson<CompareJson>, AppError> {
    compare::of_table(file, asked)
}

/// A torque tool check of a table, or of the readings in the question.
///
/// # Errors
///
/// As [`gauge_study`].
pub fn torque_study(
    sheets: &Sheets,
    file: Option<&StudyFile<'_>>,
    asked: &TorqueStudyAsked,
) -> Result<StudyAnswerJson<TorqueStudyJson>, AppError> {
    torque::of_readings(sheets, file, asked)
}

impl Workshop {
    /// A crossed gauge study of gaugings on record.
    ///
    /// # Errors
    ///
    /// Unknown labels; facts that are no crossed study.
    pub fn gauge_study(
        &self,
        asked: &GaugeStudyAsked,
        at: Moment,
    ) -> Result<StudyAnswerJson<GaugeStudyJson>, AppError> {
        gauge::of_facts(self, asked, at)
    }

    /// A nested study of the gaugings of one end.
    ///
    /// # Errors
    ///
    /// Unknown labels; facts that are no nested study.
    pub fn nested_study(
        &self,
        asked: &NestedStudyAsked,
        at: Moment,
    ) -> Result<StudyAnswerJson<NestedStudyJson>, AppError> {
        nested::of_facts(self, asked, at)
    }

    /// Charts of a gauge's zero checks.
    ///
    /// # Errors
    ///
    /// Unknown labels; too few checks.
    pub fn chart_study(
        &self,
        asked: &ChartAsked,
        at: Moment,
    ) -> Result<StudyAnswerJson<ChartJson>, AppError> {
        chart::of_facts(self, asked, at)
    }

    /// The last gaugings of an end with two gauges beside each other.
    ///
    /// # Errors
    ///
    /// Unknown labels; a gauging that is missing or has no uncertainty.
    pub fn compare_study(
        &self,
        asked: &CompareAsked,
        at: Moment,
    ) -> Result<StudyAnswerJson<CompareJson>, AppError> {
        compare::of_facts(self, asked, at)
    }

    /// The last check of a wrench, evaluated.
    ///
    /// # Errors
    ///
    /// Unknown labels; a wrench without a check.
    pub fn torque_study(
        &self,
        asked: &TorqueStudyAsked,
        at: Moment,
    ) -> Result<StudyAnswerJson<TorqueStudyJson>, AppError> {
        if asked.tool.is_some() {
            torque::of_facts(self, asked, at)
        } else {
            torque::of_readings(&self.sheets, None, asked)
        }
    }

    /// What a set point means in torque: the one asked, or of every wrench.
    ///
    /// # Errors
    ///
    /// A set point or type that is not understood.
    pub fn torque_windows(
        &self,
        asked: &WindowAsked,
        at: Moment,
    ) -> Result<StudyAnswerJson<WindowsJson>, AppError> {
        torque::windows(self, asked, at)
    }
}
