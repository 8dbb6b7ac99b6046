//! Baseline against candidate over several seeds.

use crate::report::figures::table::{Table, cells};
use crate::study::compare::Comparison;

const COLUMNS: [&str; 14] = [
    "measure",
    "label",
    "unit",
    "better",
    "baseline",
    "baseline_half_width",
    "candidate",
    "candidate_half_width",
    "difference",
    "difference_half_width",
    "verdict",
    "seeds_to_tell",
    "frames_to_tell",
    "seeds",
];

/// A row a measure; differences are of the second scenario less the first.
pub fn table(comparison: &Comparison) -> Table {
    let mut table = Table::new("Comparison", &COLUMNS);
    for row in &comparison.rows {
        let ([baseline, candidate, ..], [difference, ..]) = (&row.values[..], &row.differences[..]) else { continue };
        table.row(cells![
            row.measure,
            row.label,
            row.unit,
            format!("{:?}", row.better).to_lowercase(),
            baseline.mean,
            baseline.half_width,
            candidate.mean,
            candidate.half_width,
            difference.mean,
            difference.half_width,
            difference.verdict.words(),
            difference.seeds_to_tell,
            difference.frames_to_tell,
            comparison.seeds.len()
        ]);
    }
    table
}

/// What a comparison rests on, in words.
pub fn basis(comparison: &Comparison) -> String {
    let seeds = match comparison.seeds.len() {
        1 => "one seed: no intervals".to_owned(),
        count => format!("{count} seeds, ± half the 95 % interval"),
    };
    let unsteady = comparison.scenarios.iter().zip(["baseline", "candidate"]).filter_map(|(scenario, side)| {
        let times = comparison.seeds.len() as u32 - scenario.steady_seeds;
        (times > 0).then(|| format!("; {side} not steady at {times} of {}", comparison.seeds.len()))
    });
    let frames = crate::report::format::count(u64::from(comparison.frames));
    format!("{seeds}, {frames} frames each, the same luck for both{}", unsteady.collect::<String>())
}
