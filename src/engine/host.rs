//! The host before the encoder: the frame planned, CPU, GPU in parts, messages on their way up.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::calendar::{self, NEVER, kind};
use super::fifo::Fifo;
use crate::time::round_to_ns;

/// CPU and GPU.
#[derive(Debug)]
pub(super) struct Host {
    /// The frame planned and not begun.
    pub pending: Option<u32>,
    /// Frames between the start of simulate and their last encoded slice.
    pub in_flight: u32,
    /// When the frame in the encoder ends there and is no longer in flight, where that may be no event; else never \[ns\].
    pub leaves_ns: i64,
    /// The frame being simulated, if its end is an event.
    pub simulating: Option<u32>,
    /// Until when the CPU simulates a frame whose end may be no event \[ns\].
    pub simulates_until_ns: i64,
    /// Simulated frames that wait for the GPU.
    pub simulated: Fifo<u32>,
    /// The frame being rendered.
    pub rendering: Option<Rendering>,
    /// Key of the end of simulate.
    pub next_simulated: i64,
    /// Key of the end of the part being rendered.
    pub next_part: i64,
}

/// A frame on the GPU.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rendering {
    pub frame: u32,
    /// The part being rendered.
    pub part: usize,
    start_ns: i64,
    render_ns: i64,
    parts: usize,
}

impl Rendering {
    pub(super) fn new(frame: u32, start_ns: i64, render_ns: i64, parts: usize) -> Self {
        Self { frame, part: 0, start_ns, render_ns, parts }
    }

    /// Key of the end of the present part: `start + round(render * (p + 1) / m)`.
    pub(super) fn part_end(&self) -> i64 {
        let part_ns = round_to_ns(self.render_ns as f64 * (self.part + 1) as f64 / self.parts as f64);
        calendar::key(self.start_ns + part_ns, kind::RENDER_END)
    }

    /// Whether the present part is the last.
    pub(super) fn last_part(&self) -> bool {
        self.part + 1 == self.parts
    }
}

impl Host {
    pub(super) fn new() -> Self {
        Self {
            pending: None,
            in_flight: 0,
            leaves_ns: NEVER,
            simulating: None,
            simulates_until_ns: 0,
            simulated: Fifo::new(),
            rendering: None,
            next_simulated: NEVER,
            next_part: NEVER,
        }
    }

    /// The frame that left the encoder by `now` without an event is no longer in flight.
    pub(super) fn see_out(&mut self, now: i64) {
        if self.leaves_ns <= now {
            self.leaves_ns = NEVER;
            self.in_flight -= 1;
        }
    }
}

/// Messages of one kind on their way from the device to the host; the earliest comes first, then by frame and slice.
#[derive(Debug)]
pub(super) struct Messages {
    on_the_way: BinaryHeap<Reverse<Message>>,
    kind: i64,
    /// Key of the next to come.
    pub next: i64,
}

/// Something the device tells the host.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Message {
    pub comes_ns: i64,
    pub frame: u32,
    pub slice: u32,
    /// The resend asked for.
    pub attempt: u32,
    /// Packets to be sent again.
    pub packets: u32,
}

impl Messages {
    pub(super) fn new(kind: i64) -> Self {
        Self { on_the_way: BinaryHeap::new(), kind, next: NEVER }
    }

    pub(super) fn send(&mut self, message: Message) {
        self.on_the_way.push(Reverse(message));
        self.find_next();
    }

    pub(super) fn take(&mut self) -> Option<Message> {
        let message = self.on_the_way.pop();
        self.find_next();
        message.map(|Reverse(message)| message)
    }

    fn find_next(&mut self) {
        self.next = self.on_the_way.peek().map_or(NEVER, |Reverse(message)| calendar::key(message.comes_ns, self.kind));
    }
}
