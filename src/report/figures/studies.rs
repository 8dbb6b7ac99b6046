//! The answers of studies as figures: whole, or as far as they have come.

pub mod comparison;
pub mod map;
pub mod search;
pub mod sensitivity;
pub mod split;
pub mod sweep;
pub mod what_if;

use super::super::format::{self, NOTHING, number};
use crate::study::luck::{Difference, Mean, Verdict};

/// A number of any measure with as many decimals as its size asks for.
pub fn plain(value: f64) -> String {
    number(value, decimals(value))
}

/// The same with its sign.
pub fn signed(value: f64) -> String {
    format::signed(value, plain(value))
}

fn decimals(value: f64) -> usize {
    match value.abs() {
        size if size >= 1000.0 => 0,
        size if size >= 100.0 => 1,
        size if size >= 1.0 => 2,
        _ => 3,
    }
}

/// `31.42 ± 0.12`, as much of it as there is.
pub fn of_mean(mean: Mean) -> String {
    with_interval(mean.mean, mean.half_width, plain)
}

/// `−9.81 ± 0.12`, as much of it as there is.
pub fn of_difference(difference: &Difference) -> String {
    with_interval(difference.mean, difference.half_width, signed)
}

fn with_interval(mean: Option<f64>, half_width: Option<f64>, text: fn(f64) -> String) -> String {
    match (mean, half_width) {
        (Some(mean), Some(half)) => format!("{} ± {}", text(mean), plain(half)),
        (Some(mean), None) => text(mean),
        _ => NOTHING.to_owned(),
    }
}

/// A difference in words; where it cannot be told, what would tell it.
pub fn verdict(difference: &Difference) -> String {
    let words = difference.verdict.words();
    match (difference.verdict, difference.frames_to_tell, difference.half_width) {
        (Verdict::Unclear, Some(frames), _) => format!("{words}; {} frames a run would", number(frames as f64, 0)),
        (Verdict::Unclear, None, None) => format!("{words} by one seed"),
        (Verdict::Unclear, None, Some(_)) => format!("{words}, at any length worth running"),
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
        assert_eq!(of_mean(Mean { mean: Some(31.416), half_width: Some(0.1204) }), "31.42 ± 0.120");
        assert_eq!(of_mean(Mean { mean: Some(0.25), half_width: None }), "0.250");
        assert_eq!(of_mean(Mean::default()), NOTHING);
        let run = RunLength { frames: 100, warmup: 0, seed: 1 };
        let of = |other: [f64; 3]| Difference::of(&[1.0, 2.0, 3.0].map(Some), &other.map(Some), measures::usual(), run);
        assert_eq!(of_difference(&of([0.0, 1.0, 2.0])), "−1.00 ± 0.000");
        assert_eq!(verdict(&of([0.0, 1.0, 2.0])), "better");
        let unclear = of([1.5, 1.6, 3.5]);
        let frames = unclear.frames_to_tell.unwrap();
        assert_eq!(verdict(&unclear), format!("not to be told apart; {frames} frames a run would"));
        let one_seed = Difference::of(&[Some(1.0)], &[Some(2.0)], measures::usual(), run);
        assert_eq!(verdict(&one_seed), "not to be told apart by one seed");
    }
}
