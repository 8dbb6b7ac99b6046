//! All there is to know of one block: its times, how long it waited and why, its share of the way.

mod cause;

pub use cause::{Cause, Other};

use super::path::CriticalPath;
use super::{Block, Lanes, Lateness, Work};
use crate::report::format::{exact_ms, share};
use crate::study::Answer;
use crate::time::{ms_to_ns, us_to_ns};

/// Time that a block's slice spent after its service before the next stage had it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Held {
    /// What for, in words.
    pub what: &'static str,
    /// How long \[ns\].
    pub ns: i64,
}

/// What is told of a block.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Card {
    /// The block.
    pub block: Block,
    /// Slices a frame, or parts of the rendering.
    pub parts: u32,
    /// When it came out for the next stage to have \[ns\].
    pub out_ns: Option<i64>,
    /// Why it waited; none where it did not, or nothing explains it.
    pub cause: Option<Cause>,
    /// Part of the service in which the link was closed \[ns\].
    pub closed_ns: i64,
    /// From the end of the service until it came out.
    pub held: Vec<Held>,
    /// How much of the critical path of its frame lies in it; none where the frame was not shown \[ns\].
    pub on_path_ns: Option<i64>,
    /// Pose to photon of its frame; none where it was not shown \[ns\].
    pub way_ns: Option<i64>,
    /// Why its frame was late; none where it was not.
    pub late: Option<Lateness>,
}

impl Card {
    /// The card of a block of `lanes`, which were made from `answer`.
    pub fn new(answer: &Answer, lanes: &Lanes, block: &Block) -> Self {
        let Answer { scenario, run, .. } = answer;
        let path = CriticalPath::of(answer, lanes, block.frame as usize);
        let parts = match block.work {
            Work::Render => scenario.host.parts,
            work if work.sliced() => run.slice_count as u32,
            _ => 1,
        };
        let (out_ns, held) = after(answer, block);
        Self {
            block: *block,
            parts,
            out_ns,
            cause: (block.waited_ns() > 0).then(|| cause::cause(answer, block)).flatten(),
            closed_ns: closed_ns(answer, block),
            held,
            on_path_ns: path.as_ref().map(|path| path.within_ns(block)),
            way_ns: path.as_ref().map(CriticalPath::length_ns),
            late: lanes.lateness(block.frame as usize),
        }
    }

    /// What it is, of which frame, which slice.
    pub fn title(&self) -> String {
        let Block { work, frame, part, .. } = self.block;
        let kind = if work == Work::Render { "part" } else { "slice" };
        let part = if self.parts > 1 { format!(", {kind} {} of {}", part + 1, self.parts) } else { String::new() };
        format!("{}, frame {}{part}", work.name(), crate::report::format::count(u64::from(frame)))
    }

    /// Label and value of every line; instants count from `origin_ns`.
    pub fn lines(&self, origin_ns: i64) -> Vec<(&'static str, String)> {
        let block = &self.block;
        let at = |ns: i64| exact_ms(ns - origin_ns);
        let mut lines = vec![("Stage", block.work.stage().name().to_owned())];
        lines.extend([("Came", at(block.come_ns)), ("Began", at(block.start_ns)), ("Ended", at(block.end_ns))]);
        lines.extend(self.out_ns.map(|out| ("Out", at(out))));
        lines.push(("Took", exact_ms(block.length_ns())));
        if self.closed_ns > 0 {
            lines.push(("of it closed", exact_ms(self.closed_ns)));
        }
        let cause = self.cause.map_or_else(String::new, |cause| format!(", {}", cause.words(block)));
        lines.push(("Waited", format!("{}{cause}", exact_ms(block.waited_ns()))));
        lines.extend(self.held.iter().map(|held| ("Then", format!("{} {}", exact_ms(held.ns), held.what))));
        lines.push(("Share", self.share()));
        lines.extend(self.late.map(|late| ("Its frame", format!("{}; {}", late.amount(), late.cause()))));
        lines
    }

    /// How much of its frame's pose to photon it is, and how much of it was hidden.
    fn share(&self) -> String {
        let Some((on_path, way)) = self.on_path_ns.zip(self.way_ns).filter(|(_, way)| *way > 0) else {
            return "its frame was not shown".to_owned();
        };
        let part = share(on_path as f64 / way as f64);
        match self.block.length_ns() - on_path {
            _ if on_path == 0 => "nothing of pose to photon: hidden".to_owned(),
            0 => format!("{part} of pose to photon"),
            hidden => format!("{part} of pose to photon, {} hidden", exact_ms(hidden)),
        }
    }
}

/// When a slice came out, and what it spent the time since its service on.
fn after(answer: &Answer, block: &Block) -> (Option<i64>, Vec<Held>) {
    let Answer { scenario, table, run, .. } = answer;
    let slices = run.slices_of(block.frame as usize);
    let Some(record) = slices.get(usize::from(block.part)) else { return (None, Vec::new()) };
    let in_codec = |out: Option<i64>, pipeline_ms: f64| {
        let pipeline_ns = ms_to_ns(pipeline_ms);
        let order_ns = out.map_or(0, |out| out - block.end_ns - pipeline_ns);
        (out, vec![Held { what: "in the pipeline", ns: pipeline_ns }, Held { what: "for order", ns: order_ns }])
    };
    let (out, mut held) = match block.work {
        Work::Encode => in_codec(record.encode_out().ns(), scenario.encode.pipeline_ms),
        Work::Decode => in_codec(record.decode_out().ns(), scenario.decode.pipeline_ms),
        Work::Send => {
            let travel_ns = us_to_ns(scenario.link.propagation_us) + table.frames[block.frame as usize].link_delay_ns;
            let due_ns = block.end_ns + travel_ns;
            let (complete, arrive) = (record.complete().ns(), record.arrive().ns());
            let late_ns = complete.map_or(0, |complete| complete - due_ns);
            let late = if record.resends() > 0 { "for repair" } else { "for order on the way" };
            let order_ns = complete.zip(arrive).map_or(0, |(complete, arrive)| arrive - complete);
            let travel = if complete.is_some() { travel_ns } else { 0 };
            let held = [("on the way", travel), (late, late_ns), ("for order", order_ns)];
            (arrive, held.map(|(what, ns)| Held { what, ns }).to_vec())
        }
        _ => (None, Vec::new()),
    };
    held.retain(|held| held.ns > 0);
    (out, held)
}

/// How long the link was closed while a block was sent \[ns\].
fn closed_ns(answer: &Answer, block: &Block) -> i64 {
    let holds = answer.scenario.link.closures.effect == crate::scenario::Effect::Hold;
    if !holds || !matches!(block.work, Work::Send | Work::Resend) {
        return 0;
    }
    let overlap = |from: i64, to: i64| (to.min(block.end_ns) - from.max(block.start_ns)).max(0);
    answer.table.closures.iter().map(|closure| overlap(closure.start_ns, closure.end_ns)).sum()
}
