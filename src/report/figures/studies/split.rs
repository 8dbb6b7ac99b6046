//! A target split among those who answer for a piece of it.

use crate::report::figures::table::{Cell, Table, cells};
use crate::report::format::{NOTHING, ms, number, share};
use crate::study::split::Split;

use super::signed_to;

const COLUMNS: [&str; 12] = [
    "team",
    "fixed",
    "mean_ms",
    "mean_half_width_ms",
    "sd_ms",
    "at_quantile_ms",
    "at_quantile_half_width_ms",
    "may_take_ms",
    "may_take_mean_ms",
    "quantile",
    "target_ms",
    "rule",
];

/// A row a team.
pub fn table(found: &Split) -> Table {
    let mut table = Table::new("Budget split", &COLUMNS);
    for one in &found.shares {
        table.row(cells![
            one.team,
            Cell::yes(one.fixed),
            one.mean_ms.mean,
            one.mean_ms.half_width,
            one.sd_ms.mean,
            one.at_quantile_ms.mean,
            one.at_quantile_ms.half_width,
            one.may_take_ms,
            one.may_take_mean_ms,
            found.quantile,
            found.target_ms,
            found.rule.name()
        ]);
    }
    table
}

/// What is left to the target, or lacking, in words.
pub fn told(found: &Split) -> String {
    let now = found.at_quantile_ms.mean.map_or_else(String::new, ms);
    let quantile = share(found.quantile);
    if !found.possible {
        return format!("{} cannot be: from latch to photons alone takes longer", ms(found.target_ms));
    }
    let left = if found.left_ms >= 0.0 { "to share" } else { "lacking" };
    let (target, gap) = (ms(found.target_ms), ms(found.left_ms.abs()));
    format!("{now} at {quantile} against {target}: {gap} {left}, {}", found.rule.brief())
}

/// Decimals of every time of the split \[ms\]: hundredths are as fine as anyone allows.
const DECIMALS: usize = 2;

/// What a team takes or may take \[ms\].
pub fn time(ms: Option<f64>) -> String {
    ms.map_or_else(|| NOTHING.to_owned(), |ms| number(ms, DECIMALS))
}

/// What a team may take more, with its sign \[ms\].
pub fn change(now_ms: Option<f64>, may_ms: Option<f64>) -> String {
    let change = now_ms.zip(may_ms).map(|(now, may)| may - now);
    change.map_or_else(|| NOTHING.to_owned(), |change| signed_to(change, DECIMALS))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_time_has_the_same_decimals() {
        assert_eq!([Some(0.2919), Some(9.5), Some(134.0), None].map(time), ["0.29", "9.50", "134.00", NOTHING]);
        let change = |now, may| change(Some(now), may);
        let changes =
            [change(2.32, Some(2.729)), change(7.74, Some(9.11)), change(5.0, Some(4.999)), change(1.0, None)];
        assert_eq!(changes, ["+0.41", "+1.37", "0.00", NOTHING]);
        assert_eq!(change(120.0, Some(3.5)), "−116.50");
    }
}
