//! From a run to lanes.

use super::{Block, Lane, Lanes, Row, Stage, Way, Work, late};
use crate::engine::{FrameRecord, RefreshKind, Run, Stamp};
use crate::scenario::{HandOff, Scenario};
use crate::time::ms_to_ns;
use crate::work::WorkTable;

/// Rows at most in a lane; more things at once share the last.
const ROWS: usize = 4;

impl Lanes {
    /// Lanes of a run.
    pub fn new(scenario: &Scenario, table: &WorkTable, run: &Run) -> Self {
        let mut blocks: [Vec<Block>; 7] = Default::default();
        let per_slice = run.frames.len() * run.slice_count;
        for stage in [Stage::Encoder, Stage::Link, Stage::Decoder] {
            blocks[stage as usize].reserve(per_slice);
        }
        let mut collect = Collect { blocks, run_end_ns: run.end_ns };
        for (frame, record) in run.frames.iter().enumerate() {
            collect.host(scenario, table, frame, record);
            collect.slices(scenario, run, frame, record);
        }
        for resend in &run.resends {
            let times = [resend.asked, resend.link_start, resend.link_end];
            collect.add(Work::Resend, resend.frame, resend.slice as u16, times);
        }
        collect.display(table, run);
        let Collect { blocks, .. } = collect;
        let [pose, cpu, gpu, encoder, link, decoder, display] = blocks;
        let lanes = [
            stacked(pose, 1),
            stacked(cpu, 1),
            stacked(gpu, 1),
            stacked(encoder, scenario.encode.engines as usize),
            stacked(link, 1),
            stacked(decoder, scenario.decode.engines as usize),
            display_lane(display),
        ];
        let missed = |kind| matches!(kind, RefreshKind::Miss | RefreshKind::ComposeMiss);
        let refreshes = run.refreshes.iter().enumerate();
        let missed_ns =
            refreshes.filter(|(_, refresh)| missed(refresh.kind)).map(|(j, _)| run.grid.photon_ns(j as i64));
        let ways = (0..run.frames.len()).map(|frame| way(run, frame)).collect();
        let warmup = scenario.run.warmup as usize;
        let costs = late::all(scenario, table, run);
        let usual = late::usual(&costs[warmup.min(costs.len())..]);
        Self { lanes, ways, missed_ns: missed_ns.collect(), grid: run.grid, warmup, costs, usual }
    }

    /// The lane of a stage.
    pub fn lane(&self, stage: Stage) -> &Lane {
        &self.lanes[stage as usize]
    }
}

fn way(run: &Run, frame: usize) -> Way {
    let record = &run.frames[frame];
    Way {
        from_ns: record.pose.ns().or(record.plan.ns()),
        ready_ns: record.ready.ns(),
        photon_ns: run.photon_ns(frame),
        fate_ns: record.fate_at.ns(),
        fate: record.fate,
        late: run.late(frame),
        slack_ns: run.slack_ns(frame),
    }
}

struct Collect {
    blocks: [Vec<Block>; 7],
    run_end_ns: i64,
}

impl Collect {
    /// Adds a block, if it began; one that the end of the run cut short ends there.
    fn add(&mut self, work: Work, frame: u32, part: u16, [come, start, end]: [Stamp; 3]) {
        let Some(start_ns) = start.ns() else { return };
        let end_ns = end.ns().unwrap_or(self.run_end_ns.max(start_ns));
        let come_ns = come.ns().unwrap_or(start_ns).min(start_ns);
        self.blocks[work.stage() as usize].push(Block { come_ns, start_ns, end_ns, frame, part, work });
    }

    fn host(&mut self, scenario: &Scenario, table: &WorkTable, frame: usize, record: &FrameRecord) {
        let number = frame as u32;
        if let (Some(pose), Some(work)) = (record.pose.ns(), table.frames.get(frame)) {
            let usable = pose + ms_to_ns(scenario.pose.processing_ms) + work.uplink_ns;
            self.add(Work::Pose, number, 0, [record.pose, record.pose, Stamp::at(usable)]);
        }
        self.add(Work::Simulate, number, 0, [record.plan, record.start, record.simulated]);
        self.render(scenario, number, record);
    }

    /// Part p ends at `start + round(render * (p + 1) / parts)`, as the engine has it.
    fn render(&mut self, scenario: &Scenario, frame: u32, record: &FrameRecord) {
        let parts = i64::from(scenario.host.parts.max(1));
        let (Some(start), Some(end)) = (record.render_start.ns(), record.rendered.ns()) else {
            self.add(Work::Render, frame, 0, [record.simulated, record.render_start, record.rendered]);
            return;
        };
        let border = |part: i64| start + ((end - start) as f64 * part as f64 / parts as f64).round() as i64;
        for part in 0..parts {
            let come = if part == 0 { record.simulated } else { Stamp::at(border(part)) };
            let times = [come, Stamp::at(border(part)), Stamp::at(border(part + 1))];
            self.add(Work::Render, frame, part as u16, times);
        }
    }

    fn slices(&mut self, scenario: &Scenario, run: &Run, frame: usize, record: &FrameRecord) {
        let number = frame as u32;
        for (index, slice) in run.slices_of(frame).iter().enumerate() {
            let part = index as u16;
            let to_link = if scenario.encode.hand_off == HandOff::Slice { slice.encode_out() } else { record.encoded };
            let to_decoder = if scenario.link.hand_off == HandOff::Slice { slice.arrive() } else { record.arrived };
            self.add(Work::Encode, number, part, [slice.come(), slice.encode_start(), slice.encode_end()]);
            self.add(Work::Send, number, part, [to_link, slice.link_start(), slice.link_end()]);
            self.add(Work::Decode, number, part, [to_decoder, slice.decode_start(), slice.decode_end()]);
        }
    }

    /// The first showing of every frame: composition from the latch, then light from vsync to photons.
    fn display(&mut self, table: &WorkTable, run: &Run) {
        for (refresh, record) in run.refreshes.iter().enumerate() {
            let (RefreshKind::New, Some(frame)) = (record.kind, record.frame) else { continue };
            let number = refresh as i64;
            let latch = run.grid.latch_ns(number);
            let compose = table.compose_ns.get(refresh).or(table.compose_ns.last()).copied().unwrap_or(0);
            let ready = run.frames[frame as usize].ready;
            self.add(Work::Compose, frame, 0, [ready, Stamp::at(latch), Stamp::at(latch + compose)]);
            let vsync = Stamp::at(run.grid.vsync_ns(number));
            self.add(Work::Light, frame, 0, [vsync, vsync, Stamp::at(run.grid.photon_ns(number))]);
        }
    }
}

/// Lays blocks on rows so that those of a row do not overlap: each on the first row that is free, at least `engines` rows.
fn stacked(mut blocks: Vec<Block>, engines: usize) -> Lane {
    if !blocks.is_sorted_by_key(|block| block.start_ns) {
        blocks.sort_by_key(|block| block.start_ns);
    }
    let apart = blocks.windows(2).all(|pair| pair[0].end_ns <= pair[1].start_ns);
    if apart && engines <= 1 {
        return Lane { rows: vec![Row::new(blocks)] };
    }
    let mut rows: Vec<Vec<Block>> = vec![Vec::new(); engines.clamp(1, ROWS)];
    for block in blocks {
        let free = rows.iter().position(|row| row.last().is_none_or(|last| last.end_ns <= block.start_ns));
        let at = match free {
            Some(at) => at,
            None if rows.len() < ROWS => {
                rows.push(Vec::new());
                rows.len() - 1
            }
            None => ROWS - 1,
        };
        rows[at].push(block);
    }
    Lane { rows: rows.into_iter().map(Row::new).collect() }
}

/// Composition above, light below: one frame's light overlaps the next one's composition.
fn display_lane(blocks: Vec<Block>) -> Lane {
    let (compose, light) = blocks.into_iter().partition(|block| block.work == Work::Compose);
    Lane { rows: vec![Row::new(compose), Row::new(light)] }
}
