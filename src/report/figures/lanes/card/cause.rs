//! Why a block waited, read from what else its server did until then.

use super::super::{Block, Work};
use crate::engine::{Run, Slice, Stamp};
use crate::report::format::count;
use crate::study::Answer;

/// Frames before a block's own among which its cause is looked for.
const FRAMES_BACK: usize = 16;

/// Another piece of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Other {
    /// Its frame.
    pub frame: u32,
    /// Its slice, where it is one; from 0.
    pub slice: Option<u32>,
}

/// What a block waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// The server, or every engine of it, was busy; this freed it.
    Busy(Other),
    /// The link was busy with packets sent again.
    Repair(Other),
    /// An engine was free, but what the block refers to was not done.
    References(Other),
    /// An engine was free, but one that goes first was not begun.
    Order(Other),
    /// There was no room further on.
    Room,
    /// As many frames as may be were in flight on the host; this one left it.
    InFlight(Other),
    /// The latch was not due.
    Latch,
}

impl Cause {
    /// In words, for the block that waited.
    pub fn words(self, block: &Block) -> String {
        let name = |other: Other| {
            let frame = if other.frame == block.frame {
                "this frame".to_owned()
            } else {
                format!("frame {}", count(u64::from(other.frame)))
            };
            other.slice.map_or_else(|| frame.clone(), |slice| format!("slice {} of {frame}", slice + 1))
        };
        match self {
            Self::Busy(other) => format!("busy with {}", name(other)),
            Self::Repair(other) => format!("busy with the repair of {}", name(other)),
            Self::References(other) => format!("for its references: {}", name(other)),
            Self::Order(other) => format!("for order, behind {}", name(other)),
            Self::Room => "for room further on".to_owned(),
            Self::InFlight(other) => format!("for {} to leave the host", name(other)),
            Self::Latch => "for the latch".to_owned(),
        }
    }
}

/// What a block that waited did so for; none where the records do not tell.
pub(super) fn cause(answer: &Answer, block: &Block) -> Option<Cause> {
    let Answer { scenario, run, .. } = answer;
    match block.work {
        Work::Pose | Work::Light => None,
        Work::Compose => Some(Cause::Latch),
        Work::Simulate => simulate(run, block),
        Work::Render => Some(render(run, block)),
        Work::Encode => {
            let begun = |slice: Slice<'_>| (slice.encode_start(), slice.encode_end());
            let found = codec(run, block, scenario.encode.engines, begun);
            found.or_else(|| (block.part == 0).then_some(Cause::Room))
        }
        Work::Decode => codec(run, block, scenario.decode.engines, |slice| (slice.decode_start(), slice.decode_end())),
        Work::Send | Work::Resend => link(run, block),
    }
}

/// Frames before that of a block, newest first.
fn frames_before(block: &Block) -> impl Iterator<Item = usize> {
    let frame = block.frame as usize;
    (frame.saturating_sub(FRAMES_BACK)..frame).rev()
}

const fn whole(frame: usize) -> Other {
    Other { frame: frame as u32, slice: None }
}

fn simulate(run: &Run, block: &Block) -> Option<Cause> {
    let now = Stamp::at(block.start_ns);
    let of = |end: fn(&crate::engine::FrameRecord) -> Stamp| {
        frames_before(block).find(|&frame| end(&run.frames[frame]) == now).map(whole)
    };
    let left = of(|frame| frame.encoded).or_else(|| of(|frame| frame.fate_at));
    of(|frame| frame.simulated).map(Cause::Busy).or(left.map(Cause::InFlight))
}

fn render(run: &Run, block: &Block) -> Cause {
    let now = Stamp::at(block.start_ns);
    let before = frames_before(block).find(|&frame| run.frames[frame].rendered == now);
    before.map_or(Cause::Room, |frame| Cause::Busy(whole(frame)))
}

/// A slice begun before.
struct Begun {
    other: Other,
    start_ns: i64,
    end_ns: i64,
}

/// What was begun before a block's slice, newest first.
fn begun_before(run: &Run, block: &Block, times: impl Fn(Slice<'_>) -> (Stamp, Stamp)) -> impl Iterator<Item = Begun> {
    let own = (0..usize::from(block.part)).rev().map(|slice| (block.frame as usize, slice));
    let earlier = frames_before(block).flat_map(|frame| (0..run.slice_count).rev().map(move |slice| (frame, slice)));
    own.chain(earlier).filter_map(move |(frame, slice)| {
        let (start, end) = times(run.slices_of(frame).at(slice));
        let start_ns = start.ns()?;
        let other = Other { frame: frame as u32, slice: Some(slice as u32) };
        Some(Begun { other, start_ns, end_ns: end.ns().unwrap_or(i64::MAX) })
    })
}

/// Why a slice waited before encoder or decoder.
fn codec(run: &Run, block: &Block, engines: u32, times: impl Fn(Slice<'_>) -> (Stamp, Stamp) + Copy) -> Option<Cause> {
    let now = block.start_ns;
    let busy = || begun_before(run, block, times).filter(|one| one.start_ns < now && one.end_ns >= now);
    let freed = busy().find(|one| one.end_ns == now);
    if busy().count() >= engines as usize {
        return freed.map(|one| Cause::Busy(one.other));
    }
    if let Some(before) = begun_before(run, block, times).next().filter(|one| one.start_ns == now) {
        return Some(Cause::Order(before.other));
    }
    freed.filter(|one| one.other.frame < block.frame).map(|one| Cause::References(one.other))
}

fn link(run: &Run, block: &Block) -> Option<Cause> {
    let now = Stamp::at(block.start_ns);
    if let Some(resend) = run.resends.iter().find(|resend| resend.link_end == now) {
        return Some(Cause::Repair(Other { frame: resend.frame, slice: Some(resend.slice) }));
    }
    let upto = Block { part: run.slice_count as u16, ..*block };
    let sent = begun_before(run, &upto, |slice| (slice.link_start(), slice.link_end()));
    let mut ended = sent.filter(|one| Stamp::at(one.end_ns) == now);
    ended.next().map(|one| Cause::Busy(one.other))
}
