//! A target split among those who answer for a piece of it.

use crate::report::figures::table::{Cell, Table, cells};
use crate::report::format::{NOTHING, adding_up_where_known, ms, number, share};
use crate::study::split::{Share, Split};

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

/// Times as they are shown: what is taken and what may be taken at the quantile, the change, what may be taken on average.
pub type Times = [String; 4];

/// What is shown of every team, and of all of them: times that add up as they are shown, and changes between these.
pub fn times(found: &Split) -> (Vec<Times>, Times) {
    let column = |of: fn(&Share) -> Option<f64>, sum: Option<f64>| {
        let sum = sum.or_else(|| found.shares.iter().map(of).sum());
        let values: Vec<Option<f64>> = found.shares.iter().map(of).collect();
        let mut shown = adding_up_where_known(&values, sum, DECIMALS);
        shown.push(sum.map(|sum| adding_up_where_known(&[Some(sum)], Some(sum), DECIMALS)[0].unwrap_or(sum)));
        shown
    };
    let now = column(|share| share.at_quantile_ms.mean, found.at_quantile_ms.mean);
    let may = column(|share| share.may_take_ms, None);
    let mean = column(|share| share.may_take_mean_ms, None);
    let fixed = |row: usize| found.shares.get(row).is_some_and(|share| share.fixed);
    let told = |row: usize| {
        let moved = change(now[row], may[row].filter(|_| !fixed(row)));
        [time(now[row]), time(may[row]), moved, time(mean[row])]
    };
    let rows = found.shares.len();
    ((0..rows).map(told).collect(), told(rows))
}

/// What a team takes or may take \[ms\].
fn time(ms: Option<f64>) -> String {
    ms.map_or_else(|| NOTHING.to_owned(), |ms| number(ms, DECIMALS))
}

/// What a team may take more, with its sign \[ms\].
fn change(now_ms: Option<f64>, may_ms: Option<f64>) -> String {
    let change = now_ms.zip(may_ms).map(|(now, may)| may - now);
    change.map_or_else(|| NOTHING.to_owned(), |change| signed_to(change, DECIMALS))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Scenario;
    use crate::study::split::{Question, split};
    use crate::study::{Runner, Watch};

    #[test]
    fn what_is_shown_adds_up() {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup) = (600, 100);
        for target_ms in [34.0, 36.01, 40.005] {
            let question = Question { target_ms, seeds: 2, ..Question::new(&scenario) };
            let found = split(&scenario, &question, &Runner::new(), &Watch::nobody()).unwrap();
            let (rows, all) = times(&found);
            let number = |text: &String| text.replace('−', "-").parse::<f64>().unwrap_or(0.0);
            for column in 0..4 {
                let sum: f64 = rows.iter().map(|row| number(&row[column])).sum();
                assert!((sum - number(&all[column])).abs() < 1e-9, "{column}: {sum} {rows:?} {all:?}");
            }
        }
    }

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
