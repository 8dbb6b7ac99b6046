//! The answers of studies as figures: whole, or as far as they have come.

pub mod comparison;
pub mod map;
pub mod search;
pub mod sensitivity;
pub mod split;
pub mod sweep;
pub mod what_if;

use super::super::format::{self, NOTHING, count, number};
use crate::study::luck::{Difference, Mean, Verdict};

/// A number of any measure with as many decimals as its size asks for.
pub fn plain(value: f64) -> String {
    number(value, decimals(value))
}

/// The same with its sign.
pub fn signed(value: f64) -> String {
    signed_to(value, decimals(value))
}

/// A number with its sign and so many decimals.
pub fn signed_to(value: f64, decimals: usize) -> String {
    format::signed(value, number(value, decimals))
}

fn decimals(value: f64) -> usize {
    match value.abs() {
        size if size >= 1000.0 => 0,
        size if size >= 100.0 => 1,
        size if size >= 1.0 => 2,
        _ => MOST_DECIMALS,
    }
}

/// Decimals of any measure at most.
const MOST_DECIMALS: usize = 3;

/// Decimals that a value and half its interval share: as many as the larger asks for, and more where the interval would be
/// told as 0 with those.
fn decimals_with(value: f64, half_width: Option<f64>) -> usize {
    let half = half_width.unwrap_or(0.0);
    let tells = |decimals: &usize| half <= 0.0 || !format::is_zero(&number(half, *decimals));
    (decimals(value.abs().max(half))..MOST_DECIMALS).find(tells).unwrap_or(MOST_DECIMALS)
}

/// Decimals that a column of values of one measure, each with half its interval, shares: as many as that asks for which asks
/// for most. Nothing and 0 ask for none.
pub fn decimals_of(values: impl IntoIterator<Item = (Option<f64>, Option<f64>)>) -> usize {
    let some = values.into_iter().filter_map(|(value, half)| Some((value?, half)));
    let asks = some.filter(|(value, half)| *value != 0.0 || half.is_some_and(|half| half > 0.0));
    asks.map(|(value, half)| decimals_with(value, half)).max().unwrap_or(MOST_DECIMALS)
}

/// `31.42 ± 0.12`, as much of it as there is.
pub fn of_mean(mean: Mean) -> String {
    with_interval((mean.mean, mean.half_width), None, number)
}

/// The same with so many decimals.
pub fn of_mean_to(mean: Mean, decimals: usize) -> String {
    with_interval((mean.mean, mean.half_width), Some(decimals), number)
}

/// `−9.81 ± 0.12`, as much of it as there is.
pub fn of_difference(difference: &Difference) -> String {
    with_interval((difference.mean, difference.half_width), None, signed_to)
}

/// The same with so many decimals.
pub fn of_difference_to(difference: &Difference, decimals: usize) -> String {
    with_interval((difference.mean, difference.half_width), Some(decimals), signed_to)
}

fn with_interval(
    (mean, half_width): (Option<f64>, Option<f64>),
    decimals: Option<usize>,
    text: fn(f64, usize) -> String,
) -> String {
    let Some(mean) = mean else { return NOTHING.to_owned() };
    let decimals = decimals.unwrap_or_else(|| decimals_with(mean, half_width));
    let told = text(mean, decimals);
    half_width.map_or_else(|| told.clone(), |half| format!("{told} ± {}", number(half, decimals)))
}

/// A difference in words; where it cannot be told, what would tell it.
pub fn verdict(difference: &Difference) -> String {
    let words = difference.verdict.words();
    match (difference.verdict, difference.frames_to_tell, difference.half_width) {
        (Verdict::Unclear, Some(frames), _) => format!("{words}; {} frames would tell", count(frames)),
        (Verdict::Unclear, None, None) => format!("{words} with one seed"),
        (Verdict::Unclear, None, Some(_)) => format!("{words} at any length worth running"),
        _ => words.to_owned(),
    }
}

/// A number as text with its unit: `31.42 ms`.
pub fn in_unit(text: String, unit: &str) -> String {
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

/// A measure or a parameter with its unit: `Slices: Count`, `Link: Rate, Mbps`.
pub fn with_unit(label: &str, unit: &str) -> String {
    if unit.is_empty() { label.to_owned() } else { format!("{label}, {unit}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::measures;
    use crate::scenario::RunLength;

    #[test]
    fn numbers_carry_their_interval_and_unclear_ones_what_would_tell() {
        assert_eq!(of_mean(Mean { mean: Some(31.416), half_width: Some(0.1204) }), "31.42 ± 0.12");
        assert_eq!(of_mean(Mean { mean: Some(0.25), half_width: None }), "0.250");
        assert_eq!(of_mean(Mean::default()), NOTHING);
        let run = RunLength { frames: 100, warmup: 0, seed: 1 };
        let of = |other: [f64; 3]| Difference::of(&[1.0, 2.0, 3.0].map(Some), &other.map(Some), measures::usual(), run);
        assert_eq!(of_difference(&of([0.0, 1.0, 2.0])), "−1.00 ± 0.00");
        assert_eq!(verdict(&of([0.0, 1.0, 2.0])), "better");
        let unclear = of([1.5, 1.6, 3.5]);
        let frames = unclear.frames_to_tell.unwrap();
        assert_eq!(verdict(&unclear), format!("unclear; {frames} frames would tell"));
        let one_seed = Difference::of(&[Some(1.0)], &[Some(2.0)], measures::usual(), run);
        assert_eq!(verdict(&one_seed), "unclear with one seed");
    }

    #[test]
    fn a_value_and_its_interval_share_their_decimals_and_so_does_a_column() {
        let told = |mean, half| of_mean(Mean { mean: Some(mean), half_width: Some(half) });
        assert_eq!(told(37.8213, 0.1764), "37.82 ± 0.18");
        assert_eq!(told(0.1404, 0.0612), "0.140 ± 0.061");
        assert_eq!(told(0.2, 1.894), "0.20 ± 1.89", "the larger tells");
        assert_eq!(told(37.8213, 0.0031), "37.821 ± 0.003", "no interval is told as 0");
        assert_eq!(told(1234.5, 0.3), "1234.5 ± 0.3");
        assert_eq!(told(37.8213, 0.0), "37.82 ± 0.00");
        let column = [(Some(34.32), Some(0.14)), (Some(-0.055), Some(0.054)), (Some(0.0), Some(0.0)), (None, None)];
        assert_eq!(decimals_of(column), 3);
        assert_eq!(decimals_of([column[0], column[2], column[3]]), 2);
        assert_eq!(of_mean_to(Mean { mean: Some(34.32), half_width: Some(0.14) }, 3), "34.320 ± 0.140");
    }
}
