//! Encoder and decoder: engines side by side, references, costs cut into slices, outs in order.

use std::collections::VecDeque;

use super::calendar::{self, NEVER};
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
    slices: u32,
    pub queue: Queue,
    in_service: [Service; MOST_ENGINES],
    busy: usize,
    /// Slices begun that have not come out, in order.
    begun: VecDeque<(u32, u32)>,
    last_out_ns: i64,
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
            slices: slices as u32,
            queue: Queue::new(setup.buffer, slices),
            in_service: [Service::default(); MOST_ENGINES],
            busy: 0,
            begun: VecDeque::new(),
            last_out_ns: 0,
            cut: Cut::default(),
            end_kind,
            out_kind,
            next_end: NEVER,
            next_out: NEVER,
        }
    }

    /// The slice that can begin now: it is there, an engine is free and its references allow.
    #[inline]
    pub(super) fn startable(&self) -> Option<(u32, u32)> {
        if self.busy == self.setup.engines {
            return None;
        }
        let (frame, slice) = self.queue.head()?;
        let reach = match self.setup.references {
            References::Independent => return Some((frame, slice)),
            References::Frame => u32::MAX,
            References::Bands { reach } => slice.saturating_add(reach),
        };
        let bound = self.in_service[..self.busy].iter().any(|other| other.frame < frame && other.slice <= reach);
        (!bound).then_some((frame, slice))
    }

    /// The head begins service now; `work_ns` is the whole frame's work and `share` this slice's part of it.
    #[inline]
    pub(super) fn begin(&mut self, now: i64, frame: u32, slice: u32, work_ns: i64, share: f64) {
        let mut cost = self.setup.slice_overhead_ns;
        if slice == 0 {
            self.cut = Cut::default();
            cost += self.setup.frame_overhead_ns;
        }
        cost += self.cut.next(work_ns, share, slice + 1 == self.slices);
        let service = Service { end_ns: now + cost, frame, slice };
        self.in_service[self.busy] = service;
        self.busy += 1;
        self.begun.push_back((frame, slice));
        self.queue.begin();
        self.next_end = self.next_end.min(calendar::key(service.end_ns, self.end_kind));
    }

    /// The slice whose service ends next leaves its engine.
    #[inline]
    pub(super) fn end(&mut self) -> Service {
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
        ended
    }

    /// The slice that comes out next: the oldest begun.
    #[inline]
    pub(super) fn oldest(&self) -> Option<(u32, u32)> {
        self.begun.front().copied()
    }

    /// The oldest slice has ended service at `end_ns`: it comes out when its pipeline and those before it allow.
    #[inline]
    pub(super) fn schedule_out(&mut self, end_ns: Option<i64>) {
        self.next_out = end_ns.map_or(NEVER, |end_ns| {
            calendar::key((end_ns + self.setup.pipeline_ns).max(self.last_out_ns), self.out_kind)
        });
    }

    /// The oldest slice comes out now.
    #[inline]
    pub(super) fn out(&mut self, now: i64) -> Option<(u32, u32)> {
        self.last_out_ns = now;
        self.begun.pop_front()
    }
}

/// Cuts a frame's work into slices so that the parts add up to the nanosecond (MODEL section 4).
#[derive(Debug, Clone, Copy, Default)]
struct Cut {
    share: f64,
    done_ns: i64,
}

impl Cut {
    /// `round(W * S_(i+1)) - round(W * S_i)`; the last slice gets the rest.
    #[inline]
    fn next(&mut self, work_ns: i64, share: f64, last: bool) -> i64 {
        self.share += share;
        let done_ns = if last { work_ns } else { round_to_ns(work_ns as f64 * self.share) };
        let part = done_ns - self.done_ns;
        self.done_ns = done_ns;
        part
    }
}
