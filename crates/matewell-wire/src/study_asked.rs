//! Questions of studies as people type them, for both doors: one struct is at
//! once the options of a command and the parameters of a URL.

use clap::Args;
use serde::Deserialize;
use utoipa::IntoParams;

macro_rules! asked {
    ($(#[$doc:meta])* $name:ident { $($(#[$field_doc:meta])* $field:ident,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Default, PartialEq, Eq, Args, Deserialize, IntoParams)]
        #[serde(deny_unknown_fields)]
        #[into_params(parameter_in = Query)]
        pub struct $name {
            $($(#[$field_doc])* #[arg(long, allow_hyphen_values = true)] pub $field: Option<String>,)*
            // The command line has one option for all its commands.
            /// Facts as of this time, RFC 3339; now when left out
            #[arg(skip)]
            pub as_of: Option<String>,
        }
    };
    // With the way its table is read.
    ($(#[$doc:meta])* $name:ident: table { $($rest:tt)* }) => {
        asked! {
            $(#[$doc])* $name {
                $($rest)*
                /// Unit of the numbers where the header has none, for example um
                unit,
                /// Decimal sign where the numbers do not show it: comma or point
                decimal,
                /// Which header is which column, for example "part=Connector; reading=Depth (um)"
                columns,
            }
        }
        impl $name {
            /// How the table is read.
            pub fn table(&self) -> TableTexts<'_> {
                TableTexts {
                    unit: self.unit.as_deref(),
                    decimal: self.decimal.as_deref(),
                    columns: self.columns.as_deref(),
                }
            }
        }
    };
}

/// How a table of readings is read, as typed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct TableTexts<'a> {
    /// Unit of the numbers.
    pub unit: Option<&'a str>,
    /// Decimal sign.
    pub decimal: Option<&'a str>,
    /// Which header is which column.
    pub columns: Option<&'a str>,
}

asked! {
    /// Several appraisers measured several parts several times.
    GaugeStudyAsked: table {
        /// When the interaction is pooled with repeatability: keep, always, or a probability such as 0.25. Works differ, so there is no default
        pool,
        /// What the ratios divide by: repeatability or interaction. Works differ, so there is no default
        f_over,
        /// Width of the tolerance band with unit, for the share the gauge takes of it
        tolerance,
        /// From the lab's facts instead of a table: labels of ends, separated by commas
        ends,
        /// Who counts as appraiser in the facts: person (the default) or gauge
        by,
        /// Facts from this time on
        since,
        /// Facts up to this time
        until,
    }
}

asked! {
    /// Repeats within days within runs.
    NestedStudyAsked: table {
        /// Readings behind each daily mean, when the table has means and standard deviations
        repeats,
        /// From the lab's facts instead of a table: label of one end; runs are the appraisers, days the gaugings
        end,
        /// Who counts as run in the facts: person (the default) or gauge
        by,
        /// Facts from this time on
        since,
        /// Facts up to this time
        until,
    }
}

asked! {
    /// Is a check standard still what it was?
    ChartAsked: table {
        /// Value the chart is held against, with unit; the mean of each phase when left out
        target,
        /// Standard deviation with unit; from the moving range when left out
        sigma,
        /// Weight of the newest value in the weighted mean, above 0 to 1; 0.2 when left out
        lambda,
        /// Reach of the limits in standard deviations; 3 when left out
        reach,
        /// Allowance of the cumulative sum in standard deviations; 0.5 when left out
        cusum_k,
        /// Decision interval of the cumulative sum in standard deviations; 5 when left out
        cusum_h,
        /// From the lab's facts instead of a table: label of a gauge, whose zero checks are charted
        tool,
        /// Facts from this time on
        since,
        /// Facts up to this time
        until,
    }
}

asked! {
    /// Do two gauges or labs agree?
    CompareAsked: table {
        /// From the lab's facts instead of a table: label of an end that both gauges read
        end,
        /// Labels of the two gauges, separated by a comma
        gauges,
        /// Coverage of the expanded uncertainties from facts; 0.95 when left out
        coverage,
    }
}

asked! {
    /// Deviation and uncertainty of a torque tool.
    TorqueStudyAsked: table {
        /// Torque the tool was set to or showed, for example 0.9N.m
        set,
        /// What the reference said, separated by spaces, for example "0.905N.m 0.912N.m"
        reads,
        /// Type of the tool in the table of permissible deviations, for example II-B
        tool_type,
        /// Permissible deviation in percent, instead of the table's
        permissible,
        /// Resolution of the tool's own indication with unit; 0 for a fixed setting
        resolution,
        /// Range of the means when the tool was taken off and set on again, with unit
        reproducibility,
        /// Range of the means when the output drive was turned, with unit
        output_drive,
        /// Range of the means when the interface was turned, with unit
        interface,
        /// Range of the means when the loading point was moved, with unit
        loading_point,
        /// Relative standard uncertainty of the reference in percent
        device,
        /// Relative error of the reference that is not corrected, in percent
        device_error,
        /// From the lab's facts instead of a table: label of a wrench, whose last check is evaluated
        tool,
    }
}

asked! {
    /// What a tool may have applied at a set point.
    WindowAsked {
        /// Torque the tool is set to, for example 0.9N.m; all wrenches of the lab when left out
        set,
        /// Type of the tool in the table of permissible deviations, for example II-B
        tool_type,
        /// Permissible deviation in percent, instead of the table's
        permissible,
    }
}

asked! {
    /// Is the pin of an end moving towards a limit?
    DriftAsked {
        /// Only gaugings with this gauge; all, broken where the gauge changes, when left out
        gauge,
        /// What a cleaning does to the series: breaks (the default) or keeps, for ends cleaned before every gauging
        cleaning,
        /// Limit such as "recessed 3um" or "protruding 2um"; the plane and the sheet's limits when left out
        limit,
        /// One-sided confidence of the bound; 0.95 when left out
        confidence,
        /// Largest probability by chance at which a slope counts; 0.10 when left out
        slope_risk,
    }
}
