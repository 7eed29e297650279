//! ISO 6789 arithmetic on sums of this project.

use super::{nth, rows};
use crate::{
    StudyError,
    torque_tool::{ToolCheck, applied_window, deviation_percent, evaluate},
};
use matewell_published::{
    Check,
    Grade::{ClosedForm, Own},
};

pub(super) fn checks() -> Result<Vec<Check>, StudyError> {
    let check = ToolCheck {
        set: 0.90,
        references: vec![0.905, 0.912, 0.899, 0.908, 0.903, 0.910, 0.906, 0.901, 0.909, 0.907],
        resolution: 0.0,
        reproducibility: 0.008,
        output_drive: 0.006,
        interface: 0.005,
        loading_point: 0.004,
        device_percent: 0.25,
        device_error_percent: 0.1,
    };
    let found = evaluate(&check)?;
    let d = |i| nth(&found.deviations, i);
    let window = |set| applied_window(set, 6.0);
    let (low, middle, high) = (window(0.56)?, window(0.90)?, window(1.36)?);
    Ok(rows(
        "iso-6789-2-2017",
        [
            ("5.1, own sums", "deviation of reading 1 / %", "-0.552", d(0), Own),
            ("5.1, own sums", "deviation of reading 2 / %", "-1.316", d(1), Own),
            ("5.1, own sums", "deviation of reading 3 / %", "0.111", d(2), Own),
            ("5.1, own sums", "deviation of reading 6 / %", "-1.099", d(5), Own),
            ("5.1, own sums", "deviation of reading 10 / %", "-0.772", d(9), Own),
            ("5.1, own sums", "largest deviation / %", "1.316", found.largest_deviation(), Own),
            ("5.1, own sums", "deviation from the mean reference / %", "-0.66225", found.mean_deviation, Own),
            ("6.2, own sums", "reproducibility / %", "0.25490", found.reproducibility, Own),
            ("6.2, own sums", "output drive / %", "0.19118", found.output_drive, Own),
            ("6.2, own sums", "interface / %", "0.15931", found.interface, Own),
            ("6.2, own sums", "loading point / %", "0.12745", found.loading_point, Own),
            ("6.3, own sums", "repeatability / %", "0.14249", found.repeatability, Own),
            ("6, own sums", "w / %", "0.47534", found.combined, Own),
            ("6, own sums", "W / %", "0.95069", found.expanded, Own),
            ("6, own sums (form from memory)", "W' / %", "1.71294", found.interval, Own),
            (
                "5.1, own sums",
                "0.90 set, 0.94 applied / %",
                "-4.2553",
                deviation_percent(0.90, 0.94)?,
                ClosedForm,
            ),
            (
                "5.1, own sums",
                "1.02 set, 1.00 applied / %",
                "2.0000",
                deviation_percent(1.02, 1.00)?,
                ClosedForm,
            ),
            ("5.1, solved", "0.90 N.m at 6 %, low end", "0.8491", middle.0, ClosedForm),
            ("5.1, solved", "0.90 N.m at 6 %, high end", "0.9574", middle.1, ClosedForm),
            ("5.1, solved", "0.56 N.m at 6 %, low end", "0.5283", low.0, ClosedForm),
            ("5.1, solved", "0.56 N.m at 6 %, high end", "0.5957", low.1, ClosedForm),
            ("5.1, solved", "1.36 N.m at 6 %, low end", "1.2830", high.0, ClosedForm),
            ("5.1, solved", "1.36 N.m at 6 %, high end", "1.4468", high.1, ClosedForm),
        ],
    ))
}
