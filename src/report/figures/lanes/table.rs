//! One frame of the lanes as a table.

use super::{Block, CriticalPath, LanesPair, Stage};
use crate::report::figures::table::{DESIGNS, Table, cells};

const COLUMNS: [&str; 10] =
    ["frame", "design", "row", "stage", "what", "part", "came_ns", "start_ns", "end_ns", "waited_ns"];

impl LanesPair {
    /// The blocks of one frame, what its photons waited for (its critical path) and its marks, in both designs. Instants count
    /// from the frame's pose; a part is a slice, or a part of the rendering, from 0.
    pub fn table(&self, frame: usize, paths: [Option<&CriticalPath>; 2]) -> Table {
        let mut table = Table::new("Lanes", &COLUMNS);
        for (side, design) in DESIGNS.into_iter().enumerate() {
            let lanes = &self.sides[side];
            let Some(way) = lanes.ways.get(frame) else { continue };
            let Some((from_ns, to_ns)) = way.from_ns.zip(way.to_ns()) else { continue };
            let since = |ns: i64| ns - from_ns;
            for stage in Stage::ALL {
                let rows = lanes.lane(stage).rows.iter();
                let mut blocks: Vec<&Block> = rows.flat_map(|row| row.of_frame(frame as u32, from_ns, to_ns)).collect();
                blocks.sort_by_key(|block| (block.start_ns, block.part));
                for block in blocks {
                    let [came, start, end] = [block.come_ns, block.start_ns, block.end_ns].map(since);
                    let (part, waited) = (u32::from(block.part), block.waited_ns());
                    let what = block.work.name();
                    table.row(cells![frame, design, "block", stage.name(), what, part, came, start, end, waited]);
                }
            }
            for leg in paths[side].iter().flat_map(|path| &path.legs) {
                let [start, end] = [leg.start_ns, leg.end_ns].map(since);
                let (what, none) = (leg.piece.label(), None::<i64>);
                table.row(cells![frame, design, "path", leg.stage.name(), what, leg.slice, none, start, end, none]);
            }
            let marks = [("ready", way.ready_ns), ("photons", way.photon_ns), (way.fate.name(), way.fate_ns)];
            for (what, ns) in marks {
                let (at, none) = (ns.map(since), None::<i64>);
                table.row(cells![frame, design, "mark", None::<&str>, what, none, none, at, at, none]);
            }
        }
        table
    }
}
