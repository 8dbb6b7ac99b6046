//! The waiting room before encoder, link and decoder, with the frames begun there that have slices to come.

use super::fifo::Fifo;
use super::setup::BufferSetup;
use crate::scenario::WhenFull;

/// A frame at a stage: how many of its slices have come and how many have begun.
#[derive(Debug, Clone, Copy)]
struct Entry {
    frame: u32,
    come: u16,
    begun: u16,
}

/// Frames at a stage, first in, first out. Slices come in order, of frames in order.
#[derive(Debug)]
pub(super) struct Queue {
    entries: Fifo<Entry>,
    /// Frames of which no slice has begun.
    waiting: u32,
    buffer: BufferSetup,
    slices: u16,
}

impl Queue {
    pub(super) fn new(buffer: BufferSetup, slices: usize) -> Self {
        Self { entries: Fifo::new(), waiting: 0, buffer, slices: slices as u16 }
    }

    /// A slice comes. False where it vanishes, since its frame was dropped. The caller lets the server start what it
    /// can and then calls [`Queue::overflow`] when it was a first slice.
    #[inline]
    pub(super) fn come(&mut self, frame: u32, slice: u32) -> bool {
        if slice == 0 {
            self.entries.push(Entry { frame, come: 1, begun: 0 });
            self.waiting += 1;
            return true;
        }
        match self.entries.back_mut() {
            Some(entry) if entry.frame == frame => {
                entry.come += 1;
                true
            }
            _ => false,
        }
    }

    /// The next slice to begin, if it is there.
    #[inline]
    pub(super) fn head(&self) -> Option<(u32, u32)> {
        let entry = self.entries.front()?;
        (entry.begun < entry.come).then_some((entry.frame, u32::from(entry.begun)))
    }

    /// The head begins.
    #[inline]
    pub(super) fn begin(&mut self) {
        let Some(entry) = self.entries.front_mut() else { return };
        if entry.begun == 0 {
            self.waiting -= 1;
        }
        entry.begun += 1;
        if entry.begun == self.slices {
            self.entries.pop();
        }
    }

    /// Takes out the frame that a full room drops now that `newest` has come, if it is full.
    #[inline]
    pub(super) fn overflow(&mut self, newest: u32) -> Option<u32> {
        if self.waiting <= self.buffer.frames {
            return None;
        }
        let dropped = match self.buffer.when_full {
            WhenFull::Block => return None,
            WhenFull::DropNewest => self.take(newest),
            WhenFull::DropOldest => {
                self.entries.items().iter().position(|entry| entry.begun == 0).map(|place| self.entries.take(place))
            }
        };
        self.waiting -= 1;
        dropped.map(|entry| entry.frame)
    }

    /// A frame's slices that have not begun vanish.
    pub(super) fn remove(&mut self, frame: u32) {
        if let Some(entry) = self.take(frame)
            && entry.begun == 0
        {
            self.waiting -= 1;
        }
    }

    /// Takes out a frame. They are in order, and a backlog may hold all of a long run: nothing is looked through.
    fn take(&mut self, frame: u32) -> Option<Entry> {
        let place = self.entries.items().partition_point(|entry| entry.frame < frame);
        let there = self.entries.items().get(place).is_some_and(|entry| entry.frame == frame);
        there.then(|| self.entries.take(place))
    }

    /// When a frame that comes at `come_ns` begins if no policy can meet it: no frame is before it, it finds the stage,
    /// which is free from `free_ns`, ready or a room to wait in, and it has begun by `next_ns`, before which no other
    /// frame comes. None where it may meet one.
    #[inline]
    pub(super) fn passage(&self, free_ns: i64, come_ns: i64, next_ns: i64) -> Option<i64> {
        let start_ns = come_ns.max(free_ns);
        let room = start_ns == come_ns || self.buffer.frames > 0;
        (self.entries.is_empty() && room && start_ns <= next_ns).then_some(start_ns)
    }

    /// Whether a full room stops the stage before.
    #[inline]
    pub(super) fn blocks(&self) -> bool {
        self.buffer.when_full == WhenFull::Block
    }

    /// Whether the stage before may begin a frame, `announced` ones having begun there and not yet come here.
    #[inline]
    pub(super) fn admits(&self, announced: u32) -> bool {
        !self.blocks() || self.waiting.saturating_add(announced) < self.buffer.frames
    }
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;

    /// A million frames wait and a tenth of them, the newest, are lost: looking through the backlog for each would take
    /// minutes.
    #[test]
    fn a_frame_lost_from_a_long_backlog_costs_no_look_through_it() {
        let buffer = BufferSetup { frames: u32::MAX, when_full: WhenFull::DropNewest };
        let mut queue = Queue::new(buffer, 2);
        for frame in 0..1_000_000 {
            assert!(queue.come(2 * frame, 0));
        }
        let began = Instant::now();
        for frame in (900_000..1_000_000).rev() {
            queue.remove(2 * frame);
            queue.remove(2 * frame + 1);
        }
        assert!(began.elapsed() < Duration::from_secs(10), "{:?}", began.elapsed());
        assert_eq!((queue.waiting, queue.entries.items().len()), (900_000, 900_000));
        assert_eq!(queue.head(), Some((0, 0)));
    }
}
