//! Fields and limits as a table.

use super::{Bar, Eye, Eyes, Needed, Used};
use crate::report::figures::table::{Cell, Table, cells};

const COLUMNS: [&str; 9] =
    ["row", "what", "unit", "at_deg", "baseline", "candidate", "baseline_limit", "candidate_limit", "candidate_met"];

/// Steps of the density from the centre to the edge.
const STEPS: u32 = 16;

impl Eyes {
    /// Sizes of the fields, their density along both axes from the centre outward, borders between slices, and what both ask of
    /// the codec. Units differ from row to row and have a column of their own.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Eye's field", &COLUMNS);
        self.sizes(&mut table);
        for (axis, what) in ["density across", "density up"].into_iter().enumerate() {
            // At the same angle in both designs, out to the wider of the two.
            let widest = self.sides.iter().map(|eye| eye.fov_deg[axis]).fold(0.0, f64::max);
            for step in 0..=STEPS {
                let out = widest / 2.0 * f64::from(step) / f64::from(STEPS);
                let at = if axis == 0 { [out, 0.0] } else { [0.0, out] };
                let both = self.sides.each_ref().map(|eye| eye.density(at).map(|density| density.px_per_deg[axis]));
                add(&mut table, "density", what, "px/deg", Some(out), both.map(Cell::from));
            }
        }
        let borders = self.sides.iter().map(|eye| eye.borders_deg.len()).max().unwrap_or(0);
        for place in 0..borders {
            let both = self.sides.each_ref().map(|eye| Cell::from(eye.borders_deg.get(place).copied()));
            add(&mut table, "border", &format!("below slice {place}"), "deg", None, both);
        }
        self.limits(&mut table);
        table
    }

    fn sizes(&self, table: &mut Table) {
        type Of = fn(&Eye) -> Cell;
        let sizes: [(&str, &str, Of); 9] = [
            ("field, across", "deg", |eye| eye.fov_deg[0].into()),
            ("field, up", "deg", |eye| eye.fov_deg[1].into()),
            ("display, across", "px", |eye| eye.eye_px[0].into()),
            ("display, up", "px", |eye| eye.eye_px[1].into()),
            ("coded, across", "px", |eye| eye.coded_px.0.into()),
            ("coded, up", "px", |eye| eye.coded_px.1.into()),
            ("density at the centre", "px/deg", |eye| eye.px_per_deg[0].into()),
            ("density at the edge", "px/deg", |eye| eye.px_per_deg[1].into()),
            ("slices", "slices", |eye| eye.slices.into()),
        ];
        for (what, unit, of) in sizes {
            add(table, "size", what, unit, None, self.sides.each_ref().map(of));
        }
    }

    fn limits(&self, table: &mut Table) {
        let needed = self.limits.needed.each_ref().map(Option::as_ref);
        let none = None::<f64>;
        let words = needed.map(|needed| needed.map(Needed::in_words));
        let allowed = needed.map(|needed| needed.map(|needed| needed.allowed.clone()));
        let met = needed[1].map(|needed| Cell::yes(needed.met));
        let ([before, after], [baseline, candidate]) = (words, allowed);
        table.row(cells!["limit", "Codec level", None::<&str>, none, before, after, baseline, candidate, met]);
        for Bar { name, units, scale, sides, .. } in &self.limits.bars {
            let used = sides.map(|side| side.map(|side| side.used / scale));
            let limit = sides.map(|side| side.map(|side: Used| side.limit / scale));
            let met = sides[1].map(|side| Cell::yes(side.met));
            let unit = if units[0] == units[1] { units[0].to_owned() } else { units.join(" against ") };
            table.row(cells!["limit", *name, unit, none, used[0], used[1], limit[0], limit[1], met]);
        }
    }
}

fn add(table: &mut Table, row: &str, what: &str, unit: &str, at_deg: Option<f64>, [baseline, candidate]: [Cell; 2]) {
    let none = None::<f64>;
    table.row(cells![row, what, unit, at_deg, baseline, candidate, none, none, none]);
}
