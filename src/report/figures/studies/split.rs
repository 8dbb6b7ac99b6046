//! A target split among those who answer for a piece of it.

use crate::report::figures::table::{Cell, Table, cells};
use crate::report::format::{ms, share};
use crate::study::split::Split;

use super::signed;

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

/// What a team may take more, with its sign.
pub fn change(now_ms: Option<f64>, may_ms: Option<f64>) -> Option<String> {
    Some(signed(may_ms? - now_ms?))
}
