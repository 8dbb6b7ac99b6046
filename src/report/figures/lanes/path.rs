//! The critical path of one frame, laid through the lanes.

use super::{Block, Lanes, Stage};
use crate::measure::{Piece, walk_back};
use crate::study::Answer;

/// A part of the path: what the time went on, and on whose lane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leg {
    /// What the time went on.
    pub piece: Piece,
    /// The lane that it is drawn on.
    pub stage: Stage,
    /// The row of that lane.
    pub row: usize,
    /// The slice, where it is one slice's; from 0.
    pub slice: Option<u32>,
    /// Beginning \[ns\].
    pub start_ns: i64,
    /// End \[ns\]; the next leg begins here.
    pub end_ns: i64,
}

impl Leg {
    /// Its length \[ns\].
    pub const fn length_ns(&self) -> i64 {
        self.end_ns - self.start_ns
    }

    /// Whether something waited in it, so that nobody worked on what the photons needed.
    pub const fn waits(&self) -> bool {
        matches!(
            self.piece,
            Piece::WaitGpu
                | Piece::WaitEncode
                | Piece::WaitLink
                | Piece::Closure
                | Piece::Repair
                | Piece::Order
                | Piece::WaitDecode
                | Piece::WaitLatch
        )
    }
}

/// What one frame's photons waited for, from its pose on without a gap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CriticalPath {
    /// From pose to photons.
    pub legs: Vec<Leg>,
}

/// The lane on which a piece of the time is spent.
pub const fn stage_of(piece: Piece) -> Stage {
    match piece {
        Piece::Pose => Stage::Pose,
        Piece::Simulate => Stage::Cpu,
        Piece::WaitGpu | Piece::Render => Stage::Gpu,
        Piece::WaitEncode | Piece::Encode | Piece::EncodePipeline => Stage::Encoder,
        Piece::WaitLink
        | Piece::Link
        | Piece::Closure
        | Piece::Propagation
        | Piece::Delay
        | Piece::Repair
        | Piece::Order => Stage::Link,
        Piece::WaitDecode | Piece::Decode | Piece::DecodePipeline => Stage::Decoder,
        Piece::WaitLatch | Piece::Latch | Piece::Light => Stage::Display,
    }
}

impl CriticalPath {
    /// The path of a frame; none where it was not shown.
    pub fn of(answer: &Answer, lanes: &Lanes, frame: usize) -> Option<Self> {
        let Answer { scenario, table, run, .. } = answer;
        if frame >= run.frames.len() {
            return None;
        }
        let mut legs: Vec<Leg> = Vec::new();
        for span in walk_back(scenario, table, run, frame)? {
            let before = legs.last();
            // What is held back for order stays where it was worked on last.
            let stage = match (span.piece, before) {
                (Piece::Order, Some(before)) => before.stage,
                (piece, _) => stage_of(piece),
            };
            let mut leg = Leg {
                piece: span.piece,
                stage,
                row: 0,
                slice: span.slice,
                start_ns: span.start_ns,
                end_ns: span.end_ns,
            };
            let stays = before.filter(|before| before.stage == stage).map(|before| before.row);
            leg.row = row(lanes, frame, &leg).or(stays).unwrap_or(0);
            legs.push(leg);
        }
        Some(Self { legs })
    }

    /// From pose to photons \[ns\].
    pub fn length_ns(&self) -> i64 {
        self.legs.iter().map(Leg::length_ns).sum()
    }

    /// The time by piece, in the order in which a frame meets them \[ns\]; they add up to the path.
    pub fn pieces(&self) -> Vec<(Piece, i64)> {
        let of = |piece: Piece| self.legs.iter().filter(|leg| leg.piece == piece).map(Leg::length_ns).sum();
        Piece::ALL.into_iter().map(|piece| (piece, of(piece))).filter(|(_, ns)| *ns != 0).collect()
    }

    /// How much of the path lies in a block \[ns\]: the rest of it was hidden behind something else.
    pub fn within_ns(&self, block: &Block) -> i64 {
        let own = |leg: &&Leg| {
            let slice = !block.work.sliced() || leg.slice == Some(u32::from(block.part));
            slice && leg.stage == block.work.stage()
        };
        let overlap = |leg: &Leg| (leg.end_ns.min(block.end_ns) - leg.start_ns.max(block.start_ns)).max(0);
        self.legs.iter().filter(own).map(overlap).sum()
    }
}

/// The row that holds the work of a leg.
fn row(lanes: &Lanes, frame: usize, leg: &Leg) -> Option<usize> {
    if leg.stage == Stage::Display {
        return Some(usize::from(leg.piece == Piece::Light));
    }
    let own = |block: &Block| leg.slice.is_none_or(|slice| u32::from(block.part) == slice);
    let rows = &lanes.lane(leg.stage).rows;
    rows.iter().position(|row| row.of_frame(frame as u32, leg.start_ns, leg.end_ns).any(own))
}
