//! How many digits a number needs beside its limit.

/// A value above a limit and the limit, both in micrometres, as a sentence
/// says them: the limit as the sheet gives it, to the nanometre, the value to
/// a tenth, or with as many digits more as it takes to be seen above.
pub(crate) fn over(value: f64, limit: f64) -> (String, String) {
    let limit = (limit * 1000.0).round() / 1000.0;
    let text = (1..=6)
        .map(|digits| format!("{value:.digits$}"))
        .find(|text| text.parse::<f64>().is_ok_and(|shown| shown > limit))
        .unwrap_or_else(|| format!("{value:.1}"));
    (text, limit.to_string())
}

#[cfg(test)]
mod tests {
    use super::over;

    #[test]
    fn what_is_over_a_limit_never_looks_like_it() {
        let shown = |value, limit| {
            let (value, limit) = over(value, limit);
            format!("{value} over {limit}")
        };
        assert_eq!(shown(17.34, 13.0), "17.3 over 13");
        // Half a thousandth of an inch is not 13.
        assert_eq!(shown(17.34, 12.7), "17.3 over 12.7");
        assert_eq!(shown(13.04, 13.0), "13.04 over 13");
        assert_eq!(shown(12.7004, 12.7), "12.7004 over 12.7");
        assert_eq!(shown(76.22, 25.4 * 3.0), "76.22 over 76.2");
    }
}
