//! How many digits a number needs to be read rightly.

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

/// A probability in per cent, never rounded to impossible or certain.
pub(crate) fn chance(probability: f64) -> String {
    let percent = 100.0 * probability;
    if percent < 0.005 {
        "less than 0.01 %".to_owned()
    } else if percent >= 99.995 {
        "more than 99.99 %".to_owned()
    } else {
        format!("{percent:.2} %")
    }
}

/// A length in micrometres: whole, or to a tenth where whole would hide it.
pub(crate) fn length(um: f64) -> String {
    if um < 10.0 { format!("{um:.1} µm") } else { format!("{um:.0} µm") }
}

/// Why a pin that reads recessed is not shown safe: the chance, or what is
/// wrong with the gauging although the chance is within the accepted risk.
pub(crate) fn not_shown_safe(um: f64, protrudes: Option<f64>, risk: f64) -> String {
    match protrudes {
        Some(p) if p <= risk => format!(
            "The pin reads recessed by {um:.1} µm, with a chance of {} that it protrudes; but the gauging itself is in doubt.",
            chance(p)
        ),
        Some(p) => {
            format!(
                "The pin reads recessed by {um:.1} µm, but the chance that it protrudes is {}.",
                chance(p)
            )
        }
        None => format!("The pin reads recessed by {um:.1} µm, which shows nothing safe."),
    }
}

#[cfg(test)]
mod tests {
    use super::{chance, length, not_shown_safe, over};

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
    #[test]
    fn no_chance_reads_impossible_or_certain_and_no_length_nothing() {
        let shown = [1e-9, 4.9e-5, 5.1e-5, 0.5, 0.999_94, 0.999_96].map(chance);
        assert_eq!(
            shown,
            ["less than 0.01 %", "less than 0.01 %", "0.01 %", "50.00 %", "99.99 %", "more than 99.99 %"]
        );
        assert_eq!([0.4, 9.9, 62.0].map(length), ["0.4 µm", "9.9 µm", "62 µm"]);
    }
    #[test]
    fn a_small_chance_is_not_given_as_the_reason() {
        let said = |p| not_shown_safe(19.04, p, 0.025);
        assert_eq!(
            said(Some(1e-6)),
            "The pin reads recessed by 19.0 µm, with a chance of less than 0.01 % that it protrudes; but the gauging itself is in doubt."
        );
        assert_eq!(
            said(Some(0.0312)),
            "The pin reads recessed by 19.0 µm, but the chance that it protrudes is 3.12 %."
        );
    }
}
