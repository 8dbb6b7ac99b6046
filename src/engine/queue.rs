//! The waiting room before encoder, link and decoder, with the frames begun there that have slices to come.

use std::collections::VecDeque;

use super::setup::BufferSetup;
use crate::scenario::WhenFull;

/// A frame at a stage: how many of its slices have come and how many have begun.
#[derive(Debug, Clone, Copy)]
struct Entry {
    frame: u32,
    come: u32,
    begun: u32,
}

/// Frames at a stage, first in, first out. Slices come in order, of frames in order.
#[derive(Debug)]
pub(super) struct Queue {
    entries: VecDeque<Entry>,
    /// Frames of which no slice has begun.
    waiting: u32,
    buffer: BufferSetup,
    slices: u32,
}

impl Queue {
    pub(super) fn new(buffer: BufferSetup, slices: usize) -> Self {
        Self { entries: VecDeque::new(), waiting: 0, buffer, slices: slices as u32 }
    }

    /// A slice comes. False where it vanishes, since its frame was dropped. The caller lets the server start what it
    /// can and then calls [`Queue::overflow`] when it was a first slice.
    #[inline]
    pub(super) fn come(&mut self, frame: u32, slice: u32) -> bool {
        if slice == 0 {
            self.entries.push_back(Entry { frame, come: 1, begun: 0 });
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
        (entry.begun < entry.come).then_some((entry.frame, entry.begun))
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
            self.entries.pop_front();
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
            WhenFull::DropNewest => newest,
            WhenFull::DropOldest => self.entries.iter().find(|entry| entry.begun == 0)?.frame,
        };
        self.remove(dropped);
        Some(dropped)
    }

    /// A frame's slices that have not begun vanish.
    pub(super) fn remove(&mut self, frame: u32) {
        if let Some(at) = self.entries.iter().position(|entry| entry.frame == frame) {
            if self.entries[at].begun == 0 {
                self.waiting -= 1;
            }
            self.entries.remove(at);
        }
    }

    /// Whether a full room stops the stage before.
    pub(super) fn blocks(&self) -> bool {
        self.buffer.when_full == WhenFull::Block
    }

    /// Whether the stage before may begin a frame, `announced` ones having begun there and not yet come here.
    #[inline]
    pub(super) fn admits(&self, announced: u32) -> bool {
        !self.blocks() || self.waiting.saturating_add(announced) < self.buffer.frames
    }
}
