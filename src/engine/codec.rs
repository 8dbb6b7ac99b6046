//! Encoder and decoder: engines side by side, references, costs cut into slices, outs in order.

use super::calendar::{self, NEVER};
use super::fifo::Fifo;
use super::queue::Queue;
use super::setup::CodecSetup;
use crate::scenario::References;
use crate::time::round_to_ns;

/// Most engines of a stage.
const MOST_ENGINES: usize = 4;

/// A slice in service.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Service {
    pub end_ns: i64,
    pub frame: u32,
    pub slice: u32,
}

/// An encoder or a decoder.
#[derive(Debug)]
pub(super) struct Codec {
    setup: CodecSetup,
    pub queue: Queue,
    in_service: [Service; MOST_ENGINES],
    busy: usize,
    /// Slices begun that have not come out, in order; not kept where they come out as they end.
    begun: Fifo<(u32, u32)>,
    /// Slices whose coming out is an event to come, with its key, where they come out as they end.
    held: Fifo<(i64, u32, u32)>,
    last_out_ns: i64,
    /// Where frames go at one stride: when the last one begun ends \[ns\].
    free_ns: i64,
    cut: Cut,
    end_kind: i64,
    out_kind: i64,
    /// Key of the next end of service.
    pub next_end: i64,
    /// Key of the next coming out.
    pub next_out: i64,
}

impl Codec {
    pub(super) fn new(setup: CodecSetup, slices: usize, end_kind: i64, out_kind: i64) -> Self {
        Self {
            setup,
            queue: Queue::new(setup.buffer, slices),
            in_service: [Service::default(); MOST_ENGINES],
            busy: 0,
            begun: Fifo::new(),
            held: Fifo::new(),
            last_out_ns: 0,
            free_ns: 0,
            cut: Cut::default(),
            end_kind,
            out_kind,
            next_end: NEVER,
            next_out: NEVER,
        }
    }

    /// Whether a slice comes out at the instant at which its service ends: one engine, no pipeline.
    #[inline]
    pub(super) fn direct(&self) -> bool {
        self.setup.direct
    }

    /// The frame that can begin now, where frames go at one stride. One that waits for another makes the end of that an
    /// event; if none waits, nothing happens there.
    pub(super) fn startable_frame(&mut self, now: i64) -> Option<u32> {
        let (frame, _) = self.queue.head()?;
        // At the very instant, an end that is an event comes first.
        if now > self.free_ns || (now == self.free_ns && self.next_end == NEVER) {
            return Some(frame);
        }
        self.tell_end();
        None
    }

    /// What a slice costs beside its part of the work: its own overhead, and with the first one the frame's \[ns\].
    pub(super) fn overhead_ns(&self, slice: usize) -> i64 {
        let of_frame = if slice == 0 { self.setup.frame_overhead_ns } else { 0 };
        self.setup.slice_overhead_ns + of_frame
    }

    /// The slice that can begin now: it is there, an engine is free and its references allow.
    #[inline]
    pub(super) fn startable(&self) -> Option<(u32, u32)> {
        if self.busy == self.setup.engines {
            return None;
        }
        let (frame, slice) = self.queue.head()?;
        if self.busy == 0 {
            return Some((frame, slice));
        }
        let reach = match self.setup.references {
            References::Independent => return Some((frame, slice)),
            References::Frame => u32::MAX,
            References::Bands { reach } => slice.saturating_add(reach),
        };
        let bound = self.in_service[..self.busy].iter().any(|other| other.frame < frame && other.slice <= reach);
        (!bound).then_some((frame, slice))
    }

    /// The head begins service now; `work_ns` is the whole frame's work and `shares` its slices' parts of it.
    #[inline]
    pub(super) fn begin(&mut self, now: i64, frame: u32, slice: u32, work_ns: i64, shares: &[f64]) {
        let mut cost = self.setup.slice_overhead_ns;
        if slice == 0 {
            self.cut = Cut::default();
            self.cut.prepare(0, work_ns, shares);
            cost += self.setup.frame_overhead_ns;
        }
        cost += self.cut.part_ns;
        self.cut.prepare(slice as usize + 1, work_ns, shares);
        let end_ns = now + cost;
        self.in_service[self.busy] = Service { end_ns, frame, slice };
        self.busy += 1;
        if !self.setup.direct {
            self.begun.push((frame, slice));
        }
        self.queue.begin();
        self.next_end = self.next_end.min(calendar::key(end_ns, self.end_kind));
    }

    /// The slice whose service ends next leaves its engine.
    #[inline]
    pub(super) fn end(&mut self) -> (u32, u32) {
        if self.busy == 1 {
            let Service { frame, slice, .. } = self.in_service[0];
            self.busy = 0;
            self.next_end = NEVER;
            return (frame, slice);
        }
        let mut first = 0;
        for other in 1..self.busy {
            if self.in_service[other] < self.in_service[first] {
                first = other;
            }
        }
        let ended = self.in_service[first];
        self.busy -= 1;
        self.in_service[first] = self.in_service[self.busy];
        let next = self.in_service[..self.busy].iter().map(|service| service.end_ns).min();
        self.next_end = next.map_or(NEVER, |end_ns| calendar::key(end_ns, self.end_kind));
        (ended.frame, ended.slice)
    }

    /// The slice that comes out next: the oldest begun.
    pub(super) fn oldest(&self) -> Option<(u32, u32)> {
        self.begun.front().copied()
    }

    /// When the oldest slice's service has ended, at `end_ns`, it comes out as its pipeline and those before it allow.
    pub(super) fn schedule_out(&mut self, end_ns: Option<i64>) {
        self.next_out = end_ns.map_or(NEVER, |end_ns| {
            calendar::key((end_ns + self.setup.pipeline_ns).max(self.last_out_ns), self.out_kind)
        });
    }

    /// When a frame that comes at `come_ns` begins if no policy can meet it, see [`Queue::passage`].
    pub(super) fn passage(&self, come_ns: i64, next_ns: i64) -> Option<i64> {
        self.queue.passage(self.free_ns, come_ns, next_ns)
    }

    /// A frame begins, all its slices at one stride: the last one's service ends at `end_ns`. That is an event if another
    /// waits for it, or something that tells so.
    pub(super) fn begin_frame(&mut self, end_ns: i64) {
        self.free_ns = end_ns;
        self.next_end = NEVER;
        if self.queue.head().is_some() {
            self.tell_end();
        }
    }

    /// The end of the frame begun at one stride becomes an event.
    pub(super) fn tell_end(&mut self) {
        self.next_end = calendar::key(self.free_ns, self.end_kind);
    }

    /// The frame begun at one stride has ended, as an event.
    pub(super) fn end_frame(&mut self) {
        self.next_end = NEVER;
    }

    /// The slice held that comes out by `now`.
    pub(super) fn held_out_by(&mut self, now: i64) -> Option<(u32, u32)> {
        if calendar::time_of(self.next_out) <= now { self.held_out() } else { None }
    }

    /// A slice that comes out as it ends will do so at `ns`, as an event of its own.
    pub(super) fn hold_out(&mut self, ns: i64, frame: u32, slice: u32) {
        self.held.push((calendar::key(ns, self.out_kind), frame, slice));
        self.find_held_out();
    }

    /// The slice held longest comes out.
    pub(super) fn held_out(&mut self) -> Option<(u32, u32)> {
        let (_, frame, slice) = self.held.pop()?;
        self.find_held_out();
        Some((frame, slice))
    }

    fn find_held_out(&mut self) {
        self.next_out = self.held.front().map_or(NEVER, |&(key, ..)| key);
    }

    /// The oldest slice comes out now.
    pub(super) fn out(&mut self, now: i64) -> Option<(u32, u32)> {
        self.last_out_ns = now;
        self.begun.pop()
    }
}

/// Cuts a frame's work into slices so that the parts add up to the nanosecond. Each part is worked out
/// when the one before it begins, so that no event waits for it.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Cut {
    share: f64,
    done_ns: i64,
    /// The part of the next slice to begin \[ns\].
    pub part_ns: i64,
}

impl Cut {
    /// Works out the part of `slice`: `round(W * S_(i+1)) - round(W * S_i)`, of the last one the rest.
    #[inline]
    pub(super) fn prepare(&mut self, slice: usize, work_ns: i64, shares: &[f64]) {
        if let Some(&share) = shares.get(slice) {
            self.take(work_ns, share, slice + 1 == shares.len());
        }
    }

    /// Works out the part of the next slice, whose share is `share`.
    #[inline]
    pub(super) fn take(&mut self, work_ns: i64, share: f64, last: bool) {
        self.share += share;
        // Rounding may carry the sum past 1 before a last share of 0; a slice must not cost less than nothing.
        let border = self.share.min(1.0);
        let done_ns = if last { work_ns } else { round_to_ns(work_ns as f64 * border) };
        self.part_ns = done_ns - std::mem::replace(&mut self.done_ns, done_ns);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Shares of a table may sum to 1 within a millionth: none of its slices takes less than nothing, and all take the work.
    #[test]
    fn shares_that_sum_to_more_than_one_cost_no_slice_less_than_nothing() {
        let shares = [0.5, 0.500_000_9, 0.0];
        let mut cut = Cut::default();
        let parts = [0, 1, 2].map(|slice| {
            cut.prepare(slice, 10_000_000, &shares);
            cut.part_ns
        });
        assert_eq!(parts, [5_000_000, 5_000_000, 0]);
    }
}
