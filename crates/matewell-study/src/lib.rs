//! Is the gauge good, is the end drifting? Gauge studies, charts, regression, drift to a limit.
