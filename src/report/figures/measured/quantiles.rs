//! Quantiles side by side: measured, simulated, how far they lie apart and within which interval.

use crate::calibrate::{Difference, Differences, Role};
use crate::report::calibration::unit_of;
use crate::report::figures::table::{Table, cells};
use crate::report::format::{NOTHING, number, signed};

/// Quantiles of every role, in its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantiles {
    /// A block a role.
    pub blocks: Vec<Block>,
}

/// Quantiles of one role.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// The role.
    pub role: Role,
    /// Its unit.
    pub unit: &'static str,
    /// The rows, values in that unit.
    pub rows: Vec<Difference>,
}

/// What an interval says of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Within luck: the interval holds 0.
    WithinLuck,
    /// Beyond luck.
    Apart,
    /// Not known: there is no interval.
    NotKnown,
}

impl Standing {
    /// In words.
    pub const fn name(self) -> &'static str {
        match self {
            Self::WithinLuck => "within luck",
            Self::Apart => "beyond luck",
            Self::NotKnown => "too few frames for an interval",
        }
    }
}

/// How a difference stands.
pub fn standing(row: &Difference) -> Standing {
    match row.relative_ci95 {
        Some([low, high]) if low <= 0.0 && high >= 0.0 => Standing::WithinLuck,
        Some(_) => Standing::Apart,
        None => Standing::NotKnown,
    }
}

/// A difference in per cent with its sign, and its interval.
pub fn in_per_cent(row: &Difference) -> [String; 2] {
    let told = |share: f64| signed(share, number(share * 100.0, 1));
    let relative = row.relative.map_or_else(|| NOTHING.to_owned(), |relative| format!("{} %", told(relative)));
    let interval = row.relative_ci95.map_or_else(String::new, |[low, high]| format!("{} to {}", told(low), told(high)));
    [relative, interval]
}

const COLUMNS: [&str; 13] = [
    "role",
    "unit",
    "quantile",
    "measured",
    "measured_low",
    "measured_high",
    "simulated",
    "simulated_low",
    "simulated_high",
    "difference_pct",
    "difference_low_pct",
    "difference_high_pct",
    "standing",
];

impl Quantiles {
    /// Those of a calibration.
    pub fn of(differences: &[Differences]) -> Self {
        Self { blocks: differences.iter().map(Block::of).collect() }
    }

    /// The rows of a role.
    pub fn block(&self, role: Role) -> Option<&Block> {
        self.blocks.iter().find(|block| block.role == role)
    }

    /// It as rows.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Quantiles", &COLUMNS);
        for block in &self.blocks {
            for row in &block.rows {
                let end = |ends: Option<[f64; 2]>, at: usize| ends.map(|ends| ends[at]);
                let pct = |share: Option<f64>| share.map(|share| share * 100.0);
                table.row(cells![
                    block.role.name(),
                    block.unit,
                    row.quantile,
                    row.measured,
                    end(row.measured_ci95, 0),
                    end(row.measured_ci95, 1),
                    row.simulated,
                    end(row.simulated_ci95, 0),
                    end(row.simulated_ci95, 1),
                    pct(row.relative),
                    pct(end(row.relative_ci95, 0)),
                    pct(end(row.relative_ci95, 1)),
                    standing(row).name()
                ]);
            }
        }
        table
    }
}

impl Block {
    fn of(differences: &Differences) -> Self {
        let (unit, scale) = unit_of(differences.role);
        let ends = |ends: Option<[f64; 2]>| ends.map(|ends| ends.map(|end| end * scale));
        let scaled = |row: &Difference| Difference {
            measured: row.measured * scale,
            measured_ci95: ends(row.measured_ci95),
            simulated: row.simulated * scale,
            simulated_ci95: ends(row.simulated_ci95),
            ..*row
        };
        Self { role: differences.role, unit, rows: differences.rows.iter().map(scaled).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figures::table::Cell;

    fn row(relative_ci95: Option<[f64; 2]>) -> Difference {
        Difference {
            quantile: 0.5,
            measured: 2000.0,
            measured_ci95: Some([1900.0, 2100.0]),
            simulated: 2100.0,
            simulated_ci95: None,
            relative: Some(0.05),
            relative_ci95,
        }
    }

    #[test]
    fn standing_is_that_of_the_interval_and_sizes_are_in_kbit() {
        assert_eq!(standing(&row(Some([-0.01, 0.1]))), Standing::WithinLuck);
        assert_eq!(standing(&row(Some([0.01, 0.1]))), Standing::Apart);
        assert_eq!(standing(&row(None)), Standing::NotKnown);
        let [relative, interval] = in_per_cent(&row(Some([-0.01, 0.1])));
        assert_eq!((relative.as_str(), interval.as_str()), ("+5.0 %", "\u{2212}1.0 to +10.0"));
        let quantiles = Quantiles::of(&[Differences { role: Role::Size, rows: vec![row(None)] }]);
        let table = quantiles.table();
        assert_eq!(table.rows[0][1..4], [Cell::from("kbit"), Cell::from(0.5), Cell::from(2.0)]);
        assert_eq!(table.rows[0][7], Cell::None);
    }
}
