//! The three tables of a run as CSV: every frame, every slice, every refresh, in whole nanoseconds.
//!
//! An instant that never came and a number that does not exist are empty. Columns are documented in the model's page,
//! `assets/docs/model.md`.

use std::io::{self, Write};

use super::rows::Rows;
use crate::engine::Run;

const FRAME_COLUMNS: [&str; 23] = [
    "frame",
    "fate",
    "late",
    "target_refresh",
    "shown_refresh",
    "plan_ns",
    "pose_ns",
    "start_ns",
    "simulated_ns",
    "render_start_ns",
    "rendered_ns",
    "encode_start_ns",
    "encoded_ns",
    "link_start_ns",
    "sent_ns",
    "arrived_ns",
    "decode_start_ns",
    "ready_ns",
    "photon_ns",
    "fate_ns",
    "slack_ns",
    "bits",
    "intra",
];

const SLICE_COLUMNS: [&str; 14] = [
    "frame",
    "slice",
    "come_ns",
    "encode_start_ns",
    "encode_end_ns",
    "encode_out_ns",
    "link_start_ns",
    "link_end_ns",
    "arrive_ns",
    "decode_start_ns",
    "decode_end_ns",
    "decode_out_ns",
    "bytes",
    "resends",
];

const REFRESH_COLUMNS: [&str; 8] =
    ["refresh", "vsync_ns", "latch_ns", "frame", "kind", "photon_ns", "photon_age_ns", "correction_age_ns"];

/// Writes one row a frame.
pub fn frames(run: &Run, to: impl Write) -> io::Result<()> {
    let mut rows = Rows::new(to, &FRAME_COLUMNS)?;
    for (number, frame) in run.frames.iter().enumerate() {
        rows.number(number)?.word(frame.fate.name())?;
        rows.maybe(run.late(number).map(u8::from))?.maybe(frame.target)?.maybe(frame.shown)?;
        for stamp in [
            frame.plan,
            frame.pose,
            frame.start,
            frame.simulated,
            frame.render_start,
            frame.rendered,
            frame.encode_start,
            frame.encoded,
            frame.link_start,
            frame.sent,
            frame.arrived,
            frame.decode_start,
            frame.ready,
        ] {
            rows.stamp(stamp)?;
        }
        rows.maybe(run.photon_ns(number))?.stamp(frame.fate_at)?.maybe(run.slack_ns(number))?;
        rows.number(frame.bits)?.number(u8::from(frame.intra))?.end()?;
    }
    rows.finish()
}

/// Writes one row a slice that began encode.
pub fn slices(run: &Run, to: impl Write) -> io::Result<()> {
    let mut rows = Rows::new(to, &SLICE_COLUMNS)?;
    for (place, slice) in run.slices.all().records().enumerate().filter(|(_, slice)| slice.encode_start.happened()) {
        rows.number(place / run.slice_count)?.number(place % run.slice_count)?;
        for stamp in [
            slice.come,
            slice.encode_start,
            slice.encode_end,
            slice.encode_out,
            slice.link_start,
            slice.link_end,
            slice.arrive,
            slice.decode_start,
            slice.decode_end,
            slice.decode_out,
        ] {
            rows.stamp(stamp)?;
        }
        rows.number(slice.bytes)?.number(slice.resends)?.end()?;
    }
    rows.finish()
}

/// Writes one row a refresh, from refresh 0 to the last whose latch was handled.
pub fn refreshes(run: &Run, to: impl Write) -> io::Result<()> {
    let mut rows = Rows::new(to, &REFRESH_COLUMNS)?;
    let mut corrected_ns = None;
    for (j, refresh) in (0_i64..).zip(&run.refreshes) {
        let photon_ns = run.grid.photon_ns(j);
        if refresh.composed {
            corrected_ns = Some(run.grid.newest_pose_ns(run.grid.latch_ns(j), 0));
        }
        rows.number(j)?.number(run.grid.vsync_ns(j))?.number(run.grid.latch_ns(j))?;
        let shown_ns = refresh.frame.and_then(|frame| run.frames[frame as usize].pose.ns());
        rows.maybe(refresh.frame)?.word(refresh.kind.name())?.number(photon_ns)?;
        rows.maybe(shown_ns.map(|pose_ns| photon_ns - pose_ns))?;
        rows.maybe(corrected_ns.map(|pose_ns| photon_ns - pose_ns))?.end()?;
    }
    rows.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::{Fate, FrameRecord, Grid, Pilot, RefreshKind, RefreshRecord, SliceRecord, Stamp};
    use crate::scenario::Scenario;

    /// At 100 Hz, latch 4 ms before vsync, photons 9.5 ms after it, pose every ms: frame 0 is shown a refresh late,
    /// frame 1 was never begun; the second compositor run misses.
    fn world() -> Run {
        let mut scenario = Scenario::default();
        scenario.display.refresh_hz = 100.0;
        let at = Stamp::at;
        let shown = FrameRecord {
            plan: at(1),
            pose: at(-2_000_000),
            start: at(2),
            simulated: at(3),
            render_start: at(4),
            rendered: at(5),
            encode_start: at(6),
            encoded: at(9),
            link_start: at(8),
            sent: at(10),
            arrived: at(12),
            decode_start: at(13),
            ready: at(6_000_001),
            fate_at: at(16_000_000),
            lead_ns: 6_000_000,
            bits: 4321,
            target: Some(1),
            shown: Some(2),
            fate: Fate::Shown,
            intra: true,
        };
        let skipped = FrameRecord {
            plan: at(100),
            fate: Fate::Skipped,
            fate_at: at(101),
            target: Some(2),
            bits: 7,
            ..FrameRecord::default()
        };
        let slice = SliceRecord {
            come: at(5),
            encode_start: at(6),
            encode_end: at(7),
            encode_out: at(8),
            link_start: at(8),
            link_end: at(10),
            complete: at(11),
            bytes: 611,
            resends: 2,
            ..SliceRecord::default()
        };
        let refresh = |frame, kind, composed| RefreshRecord { frame, kind, composed };
        Run {
            frames: vec![shown, skipped],
            slice_count: 2,
            slices: [SliceRecord::default(), slice, SliceRecord::default(), SliceRecord::default()]
                .into_iter()
                .collect(),
            resends: Vec::new(),
            refreshes: vec![
                refresh(None, RefreshKind::None, false),
                refresh(None, RefreshKind::Miss, true),
                refresh(Some(0), RefreshKind::New, true),
                refresh(Some(0), RefreshKind::ComposeMiss, false),
            ],
            grid: Grid::new(&scenario),
            pilot: Pilot::None,
            end_ns: 26_000_000,
        }
    }

    fn written(write: impl FnOnce(&Run, &mut Vec<u8>) -> io::Result<()>) -> String {
        let mut bytes = Vec::new();
        write(&world(), &mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn a_frame_a_row_with_what_never_came_left_empty() {
        let table = written(|run, to| frames(run, to));
        let rows: Vec<&str> = table.lines().skip(1).collect();
        assert_eq!(
            rows,
            [
                "0,shown,1,1,2,1,-2000000,2,3,4,5,6,9,8,10,12,13,6000001,29500000,16000000,-1,4321,1",
                "1,skipped,1,2,,100,,,,,,,,,,,,,,101,,7,0",
            ]
        );
    }

    #[test]
    fn only_slices_that_began_encode_have_a_row() {
        let table = written(|run, to| slices(run, to));
        assert_eq!(table.lines().skip(1).collect::<Vec<_>>(), ["0,1,5,6,7,8,8,10,,,,,611,2"]);
    }

    #[test]
    fn ages_follow_what_is_on_display_and_the_last_correction_in_time() {
        // The correction at latch 16 ms uses the pose of 15 ms, for the refresh after it too.
        let table = written(|run, to| refreshes(run, to));
        assert_eq!(
            table.lines().skip(1).collect::<Vec<_>>(),
            [
                "0,0,-4000000,,none,9500000,,",
                "1,10000000,6000000,,miss,19500000,,14500000",
                "2,20000000,16000000,0,new,29500000,31500000,14500000",
                "3,30000000,26000000,0,compose_miss,39500000,41500000,24500000",
            ]
        );
    }
}
