//! How a role is spread, measured and simulated, on the same bins.

use crate::calibrate::{Comparison, QUANTILES, Role};
use crate::report::calibration::unit_of;
use crate::report::figures::distribution::Histograms;
use crate::report::figures::table::{Table, cells};

/// Both spreads of a role, measured first, in its unit: ms, or kbit of a size.
pub type Overlay = Histograms<Role>;

/// Widths that a bin may have \[ms, kbit\].
const WIDTHS: [f64; 22] = [
    1e-5, 2e-5, 5e-5, 1e-4, 2e-4, 5e-4, 1e-3, 2e-3, 5e-3, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 50.0,
    100.0, 500.0,
];
/// Quantiles that are marked: places of p50, p95 and p99 in [`QUANTILES`].
const MARKED: [usize; 3] = [2, 5, 6];

/// The overlay of a comparison.
pub fn of(comparison: &Comparison) -> Overlay {
    let (_, scale) = unit_of(comparison.role);
    let scaled = |values: &[f64]| values.iter().map(|value| value * scale).collect();
    let samples = [scaled(&comparison.measured), scaled(&comparison.simulated)];
    let mut figure = Histograms::new(comparison.role, samples, None, &WIDTHS);
    for (side, histogram) in figure.sides.iter_mut().enumerate() {
        histogram.quantiles_ms = MARKED.map(|at| comparison.quantiles.get(at).map(|pair| pair[side] * scale));
    }
    figure
}

const COLUMNS: [&str; 9] =
    ["role", "unit", "row", "from", "to", "measured_count", "simulated_count", "measured_value", "simulated_value"];

/// It as rows: every bin, what lies outside, the quantiles and the ends.
pub fn table(figure: &Overlay) -> Table {
    let mut table = Table::new("Measured against simulated", &COLUMNS);
    let (role, (unit, _)) = (figure.measure.name(), unit_of(figure.measure));
    let (nothing, no_count) = (None::<f64>, None::<u32>);
    let [measured, simulated] = &figure.sides;
    let mut counted = |row: &str, from: Option<f64>, to: Option<f64>, counts: [u32; 2]| {
        table.row(cells![role, unit, row, from, to, counts[0], counts[1], nothing, nothing]);
    };
    counted("all", None, None, [measured.total, simulated.total]);
    counted("before the bins", None, Some(figure.first_ms), [measured.before, simulated.before]);
    for (bin, counts) in measured.bins.iter().zip(&simulated.bins).enumerate() {
        let border = |bin: usize| Some(figure.first_ms + figure.bin_ms * bin as f64);
        counted("bin", border(bin), border(bin + 1), [*counts.0, *counts.1]);
    }
    counted("beyond the bins", Some(figure.last_ms()), None, [measured.beyond, simulated.beyond]);
    let mut valued = |row: &str, values: [Option<f64>; 2]| {
        table.row(cells![role, unit, row, nothing, nothing, no_count, no_count, values[0], values[1]]);
    };
    let sides = [measured, simulated];
    for (place, at) in MARKED.into_iter().enumerate() {
        let name = format!("p{}", (QUANTILES[at] * 100.0).round());
        valued(&name, sides.map(|side| side.quantiles_ms[place]));
    }
    valued("least", sides.map(|side| side.ends_ms.map(|ends| ends.0)));
    valued("greatest", sides.map(|side| side.ends_ms.map(|ends| ends.1)));
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_told_in_kbit_and_every_value_is_counted() {
        let measured: Vec<f64> = (0..500).map(|k| 400_000.0 + 100.0 * f64::from(k)).collect();
        let simulated: Vec<f64> = (0..800).map(|k| 405_000.0 + 60.0 * f64::from(k)).collect();
        let quantiles = QUANTILES.map(|p| [400_000.0 + 50_000.0 * p, 405_000.0 + 48_000.0 * p]).to_vec();
        let comparison = Comparison { role: Role::Size, measured, simulated, quantiles, ks: 0.1 };
        let figure = of(&comparison);
        assert!((figure.sides[0].quantiles_ms[0].unwrap() - 425.0).abs() < 1e-9);
        assert!((figure.sides[1].quantiles_ms[2].unwrap() - 452.52).abs() < 1e-9);
        for (side, count) in figure.sides.iter().zip([500, 800]) {
            assert_eq!(side.bins.iter().sum::<u32>() + side.before + side.beyond, count);
        }
        assert!(figure.first_ms > 390.0 && figure.last_ms() < 460.0);
        let rows = table(&figure).rows;
        assert_eq!(rows.len(), figure.sides[0].bins.len() + 3 + 5);
    }
}
