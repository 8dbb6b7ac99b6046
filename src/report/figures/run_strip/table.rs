//! The strips as a table.

use super::Strips;
use crate::report::figures::table::{DESIGNS, Table, cells};
use crate::time::ns_to_ms;

const COLUMNS: [&str; 8] =
    ["of", "number", "design", "outcome", "late", "pose_to_photon_ms", "photon_age_ms", "frame_on_display"];

impl Strips {
    /// Every counted frame and every counted refresh of both designs.
    pub fn table(&self) -> Table {
        let mut table = Table::new("The run", &COLUMNS);
        for (design, strip) in DESIGNS.into_iter().zip(&self.sides) {
            for (number, shot) in strip.frame_numbers().zip(&strip.frames) {
                let late = shot.late.map(|late| if late { "yes" } else { "no" });
                let latency_ms = shot.latency_ns.map(ns_to_ms);
                let name = shot.fate.name();
                table.row(cells!["frame", number as u64, design, name, late, latency_ms, None::<f64>, None::<u64>]);
            }
            for (place, beat) in strip.refreshes.iter().enumerate() {
                let number = (strip.first_refresh + place) as u64;
                let (age_ms, frame) = (beat.age_ns.map(ns_to_ms), beat.frame.map(u64::from));
                let name = beat.kind.name();
                table.row(cells!["refresh", number, design, name, None::<&str>, None::<f64>, age_ms, frame]);
            }
        }
        table
    }
}
