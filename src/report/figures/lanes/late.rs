//! Why a frame was late: by how much it missed its latch, and which stage took longest against its usual time.

use super::Lanes;
use crate::engine::{Run, Slice};
use crate::report::format::{ms, number};
use crate::scenario::Scenario;
use crate::time::{ms_to_ns, ns_to_ms};
use crate::work::WorkTable;

/// What a frame's time goes on, as it is told; waits aside.
const STAGES: [&str; 7] =
    ["pose and uplink", "simulate", "render", "encode", "link", "the way after the link", "decode"];
/// Number of the link among them.
const LINK: usize = 4;
/// A stage that took less than this over its usual time does not explain anything \[ns\].
const WORTH_NS: i64 = 50_000;

/// What every stage had to do for a frame, in the order of [`STAGES`]: work in slices added up \[ns\]; none where it was not
/// all done.
pub(super) type Costs = [Option<i64>; STAGES.len()];

/// What every stage had to do for every frame.
pub(super) fn all(scenario: &Scenario, table: &WorkTable, run: &Run) -> Vec<Costs> {
    let mut all: Vec<Costs> = (0..run.frames.len()).map(|frame| costs(scenario, table, run, frame)).collect();
    for resend in &run.resends {
        let took = resend.link_start.ns().zip(resend.link_end.ns()).map(|(start, end)| end - start);
        if let (Some(Some(link)), Some(took)) =
            (all.get_mut(resend.frame as usize).map(|frame| frame[LINK].as_mut()), took)
        {
            *link += took;
        }
    }
    all
}

/// What every stage had to do for a frame, what was sent again aside.
fn costs(scenario: &Scenario, table: &WorkTable, run: &Run, frame: usize) -> Costs {
    let record = &run.frames[frame];
    let slices = run.slices_of(frame);
    let between = |from: Option<i64>, to: Option<i64>| Some(to? - from?);
    let pose = table.frames.get(frame).map(|work| ms_to_ns(scenario.pose.processing_ms) + work.uplink_ns);
    let sum = |of: &dyn Fn(Slice<'_>) -> Option<i64>| slices.iter().map(of).sum::<Option<i64>>();
    let last = slices.last();
    [
        pose.filter(|_| record.pose.ns().is_some()),
        between(record.start.ns(), record.simulated.ns()),
        between(record.render_start.ns(), record.rendered.ns()),
        sum(&|slice| between(slice.encode_start().ns(), slice.encode_end().ns())),
        sum(&|slice| between(slice.link_start().ns(), slice.link_end().ns())),
        last.and_then(|slice| between(slice.link_end().ns(), slice.arrive().ns())),
        sum(&|slice| between(slice.decode_start().ns(), slice.decode_end().ns())),
    ]
}

/// Medians over some frames: what each stage usually takes.
pub(super) fn usual(costs: &[Costs]) -> Costs {
    std::array::from_fn(|stage| {
        let mut known: Vec<i64> = costs.iter().filter_map(|frame| frame[stage]).collect();
        let middle = known.len() / 2;
        (!known.is_empty()).then(|| *known.select_nth_unstable(middle).1)
    })
}

/// Why a frame was late.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lateness {
    /// How long after the latch of its refresh it was ready \[ns\].
    pub by_ns: i64,
    /// The stage that took longest against its usual time, what it took and its median over the counted frames \[ns\]; none
    /// where no stage took longer than usual, so that the frame waited.
    pub slowest: Option<(&'static str, i64, i64)>,
}

impl Lateness {
    /// By how much: `missed its latch by 0.6 ms`.
    pub fn amount(&self) -> String {
        format!("missed its latch by {}", ms(ns_to_ms(self.by_ns)))
    }

    /// Why: `render took 7.6 ms, usually 5.8`.
    pub fn cause(&self) -> String {
        match self.slowest {
            Some((stage, took, usual)) => {
                format!("{stage} took {}, usually {}", ms(ns_to_ms(took)), number(ns_to_ms(usual), 1))
            }
            None => "no stage took longer than usual: it waited".to_owned(),
        }
    }
}

impl Lanes {
    /// Why a frame was late; none where it was in time, has no refresh to be in time for, or never got ready.
    pub fn lateness(&self, frame: usize) -> Option<Lateness> {
        let by_ns = -self.ways.get(frame)?.slack_ns.filter(|slack| *slack < 0)?;
        let over = |(stage, (took, usual)): (usize, (&Option<i64>, &Option<i64>))| {
            let (took, usual) = ((*took)?, (*usual)?);
            (took - usual >= WORTH_NS).then_some((STAGES[stage], took, usual))
        };
        let slow = self.costs.get(frame)?.iter().zip(&self.usual).enumerate().filter_map(over);
        Some(Lateness { by_ns, slowest: slow.max_by_key(|(_, took, usual)| took - usual) })
    }
}
