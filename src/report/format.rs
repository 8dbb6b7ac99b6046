//! Numbers as text: one place that chooses decimals, signs and units, so that a quantity looks the same everywhere.

mod adding_up;

pub use adding_up::{adding_up, adding_up_beside, adding_up_where_known};

/// Stands where there is nothing to show.
pub const NOTHING: &str = "–";

/// A number with so many decimals, a true minus sign and thin spaces between thousands.
pub fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NOTHING.to_owned();
    }
    let text = format!("{:.decimals$}", value.abs());
    let (whole, fraction) = text.split_once('.').map_or((text.as_str(), None), |(whole, rest)| (whole, Some(rest)));
    let mut out = String::with_capacity(text.len() + 6);
    if value < 0.0 && !is_zero(&text) {
        out.push('−');
    }
    for (place, digit) in whole.chars().enumerate() {
        let left = whole.len() - place;
        if place > 0 && left.is_multiple_of(3) && whole.len() > 4 {
            out.push('\u{2009}');
        }
        out.push(digit);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

/// A number as text, with a plus where it is above what is shown as 0.
pub fn signed(value: f64, text: String) -> String {
    if value > 0.0 && !is_zero(&text) { format!("+{text}") } else { text }
}

/// Whether a number was rounded to 0 as text.
pub fn is_zero(text: &str) -> bool {
    !text.bytes().any(|byte| matches!(byte, b'1'..=b'9'))
}

/// A noun in its number: `frame` for one, `frames`, `refreshes`.
pub fn noun(count: u64, one: &str) -> String {
    match count {
        1 => one.to_owned(),
        _ if one.ends_with("sh") => format!("{one}es"),
        _ => format!("{one}s"),
    }
}

/// A whole number with its noun: `1 frame`, `6000 frames`.
pub fn of(count: u64, one: &str) -> String {
    format!("{} {}", self::count(count), noun(count, one))
}

/// How many frames count: `1 frame counts`, `183 frames count`.
pub fn counting(frames: u64) -> String {
    format!("{} {}", of(frames, "frame"), if frames == 1 { "counts" } else { "count" })
}

/// Which frames of a run do not count, behind their number: `of which the first 500 do not count`.
pub fn uncounted(warmup: u32) -> String {
    match warmup {
        0 => "all of which count".to_owned(),
        1 => "of which the first does not count".to_owned(),
        _ => format!("of which the first {warmup} do not count"),
    }
}

/// A whole number, with thin spaces between thousands from 10 000 on.
pub fn count(value: u64) -> String {
    number(value as f64, 0)
}

/// A duration in ms, one decimal: `31.4 ms`.
pub fn ms(value: f64) -> String {
    with_unit(Some(value), 1, "ms")
}

/// A duration in ms that may not exist.
pub fn maybe_ms(value: Option<f64>) -> String {
    with_unit(value, 1, "ms")
}

/// A duration given in ns, to the microsecond: `3.125 ms`.
pub fn exact_ms(ns: i64) -> String {
    with_unit(Some(ns as f64 / 1e6), 3, "ms")
}

/// A share as per cent: `2.1 %`. Small shares keep two decimals, so that one frame in thousands is not rounded away.
pub fn share(value: f64) -> String {
    let percent = 100.0 * value;
    let decimals = if percent != 0.0 && percent.abs() < 0.995 { 2 } else { 1 };
    share_pct(Some(percent), decimals)
}

/// A share that is in per cent already. One that is less than all keeps as many decimals more as it takes not to be shown
/// as 100 %.
pub fn share_pct(percent: Option<f64>, decimals: usize) -> String {
    let rounds_to_all = |decimals: usize| {
        percent.is_some_and(|pct| pct < 100.0 && format!("{pct:.decimals$}") == format!("{:.decimals$}", 100.0))
    };
    let decimals =
        (decimals..MOST_SHARE_DECIMALS).find(|&decimals| !rounds_to_all(decimals)).unwrap_or(MOST_SHARE_DECIMALS);
    with_unit(percent, decimals, "%")
}

/// Decimals of a share at most: one frame in a hundred million.
const MOST_SHARE_DECIMALS: usize = 6;

/// Decimals, two or three, that tell the ends of an interval apart; none where it is narrower than those show.
pub fn decimals_of_ends([low, high]: [f64; 2]) -> Option<usize> {
    (2..=3).find(|&decimals| format!("{low:.decimals$}") != format!("{high:.decimals$}"))
}

/// Stands for an interval in ms that three decimals do not show the width of.
pub const NARROW: &str = "< 0.001 wide";

/// What such an interval says.
pub const NARROW_MEANS: &str =
    "An interval less than 0.001 wide has both ends on one value that many frames share; that is no certainty.";

/// A number that may not exist, with its unit.
pub fn with_unit(value: Option<f64>, decimals: usize, unit: &str) -> String {
    match value {
        Some(value) if value.is_finite() && unit.is_empty() => number(value, decimals),
        Some(value) if value.is_finite() => format!("{} {unit}", number(value, decimals)),
        _ => NOTHING.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_carry_true_minus_and_thin_spaces() {
        assert_eq!(number(-1234.5, 1), "−1234.5");
        assert_eq!(number(12345.0, 0), "12\u{2009}345");
        assert_eq!(number(1_234_567.25, 2), "1\u{2009}234\u{2009}567.25");
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(f64::NAN, 1), "–");
    }

    #[test]
    fn what_is_shown_as_nothing_has_no_sign() {
        let told = [0.3, 0.04, 0.0, -0.04, -0.3].map(|value| signed(value, number(value, 1)));
        assert_eq!(told, ["+0.3", "0.0", "0.0", "0.0", "−0.3"]);
        assert_eq!(signed(f64::INFINITY, number(f64::INFINITY, 1)), NOTHING);
    }

    #[test]
    fn one_of_a_thing_is_no_plural() {
        assert_eq!([0, 1, 2].map(|count| of(count, "frame")), ["0 frames", "1 frame", "2 frames"]);
        assert_eq!([1, 12_345].map(|count| of(count, "refresh")), ["1 refresh", "12\u{2009}345 refreshes"]);
        assert_eq!(
            [0, 1, 500].map(uncounted),
            ["all of which count", "of which the first does not count", "of which the first 500 do not count"]
        );
    }

    #[test]
    fn less_than_all_is_not_shown_as_all() {
        let told = [Some(99.6), Some(99.5), Some(99.9996), Some(100.0), Some(66.4)].map(|pct| share_pct(pct, 0));
        assert_eq!(told, ["99.6 %", "99.5 %", "99.9996 %", "100 %", "66 %"]);
        assert_eq!(share_pct(None, 0), NOTHING);
    }

    #[test]
    fn ends_of_an_interval_are_told_apart_or_it_is_narrow() {
        let ends = [[35.61, 46.28], [35.611, 35.614], [35.611_111, 35.611_112], [0.0, 0.0]];
        assert_eq!(ends.map(decimals_of_ends), [Some(2), Some(3), None, None]);
    }

    #[test]
    fn units_follow_one_rule() {
        assert_eq!(ms(31.44), "31.4 ms");
        assert_eq!(maybe_ms(None), "–");
        assert_eq!(exact_ms(3_125_000), "3.125 ms");
        assert_eq!(share(0.021), "2.1 %");
        assert_eq!(share(0.0004), "0.04 %");
        assert_eq!(share(0.0), "0.0 %");
        assert_eq!((share(0.9996), share(1.0)), ("99.96 %".to_owned(), "100.0 %".to_owned()));
        assert_eq!(with_unit(Some(8.9128), 2, ""), "8.91");
    }
}
