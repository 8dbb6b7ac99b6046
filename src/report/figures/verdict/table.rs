//! The verdict's numbers and the budget as a table.

use super::{Difference, Measured, Met, repeated_pct};
use crate::measure::{BudgetLine, Sense};
use crate::report::figures::table::{Table, cells};
use crate::study::Gains;

const COLUMNS: [&str; 12] = [
    "row",
    "line",
    "unit",
    "baseline",
    "candidate",
    "gain",
    "gain_over_seeds",
    "half_width_95",
    "bound",
    "limit",
    "room",
    "met",
];

/// The gain at the median and at p99, its mean over seeds with half its 95 % interval, what else the sentence tells, every
/// line of the candidate's budget, and its allowances. Units differ from row to row and have a column of their own.
pub fn table(both: [Measured<'_>; 2], gains: Option<&Gains>) -> Table {
    let mut table = Table::new("Verdict", &COLUMNS);
    let known = both.iter().all(|one| one.summary.pose_to_photon_ms.p50.is_some() && one.summary.steady);
    let none = None::<f64>;
    for (name, at) in [("Pose to photon, p50", 0), ("Pose to photon, p99", 1)] {
        let difference = known.then(|| Difference::of(at, both, gains));
        let baseline = difference.map(|one| one.baseline_ms);
        let candidate = difference.map(|one| one.candidate_ms);
        let gain = difference.map(|one| one.gain_ms());
        let (mean, half) = difference.and_then(|one| one.over_seeds_ms).map(|[mean, half]| (mean, half)).unzip();
        let [bound, met] = [None::<&str>; 2];
        table.row(cells!["gain", name, "ms", baseline, candidate, gain, mean, half, bound, none, none, met]);
    }
    let [baseline, candidate] = both.map(|one| one.summary);
    // What the sentence tells beside latency and the budget's lines.
    let told =
        [("outcome", "Frames shown"), ("outcome", "Repeated refreshes"), ("load", "Encoder"), ("load", "Decoder")];
    let values = [baseline, candidate].map(|summary| {
        let pct = |share: Option<f64>| share.map(|share| 100.0 * share);
        let loads = summary.offered_load;
        [pct(summary.delivered_share), repeated_pct(summary), pct(loads.encoder), pct(loads.decoder)]
    });
    for (place, (row, name)) in told.into_iter().enumerate() {
        let [baseline, candidate] = values.map(|values| values[place]);
        let [bound, met] = [None::<&str>; 2];
        table.row(cells![row, name, "%", baseline, candidate, none, none, none, bound, none, none, met]);
    }
    let parts =
        [("budget", &candidate.budget, &baseline.budget), ("allowance", &candidate.allowances, &baseline.allowances)];
    for (row, lines, others) in parts {
        for line in lines {
            let other = others.iter().find(|other| other.name == line.name).and_then(|other| other.value);
            add(&mut table, row, line, other);
        }
    }
    table
}

fn add(table: &mut Table, row: &str, line: &BudgetLine, baseline: Option<f64>) {
    let bound = match line.sense {
        Sense::AtMost => "at most",
        Sense::AtLeast => "at least",
    };
    let unit = (!line.unit.is_empty()).then_some(line.unit);
    let none = None::<f64>;
    let met = Met::of(line).word();
    table.row(cells![
        row,
        line.label,
        unit,
        baseline,
        line.value,
        none,
        none,
        none,
        bound,
        line.limit,
        line.room(),
        met
    ]);
}
