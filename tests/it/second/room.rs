//! "Waiting rooms": the waiting room before encode, link or decode.

use std::collections::{BTreeSet, VecDeque};

use framelap::scenario::{Buffer, WhenFull};

/// A frame's slice: both numbers.
pub(super) type Slice = (usize, usize);

/// A server with a waiting room before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    Encode,
    Link,
    Decode,
}

/// One waiting room.
pub(super) struct Room {
    buffer: Buffer,
    /// Slices that came and have not begun, first in first out.
    pub(super) slices: VecDeque<Slice>,
    /// "A frame waits there from the coming of its first slice until its first slice begins."
    waiting: VecDeque<usize>,
    /// Frames begun at the stage before whose first slice has not yet come.
    on_the_way: BTreeSet<usize>,
}

impl Room {
    pub(super) fn new(buffer: Buffer) -> Self {
        Self { buffer, slices: VecDeque::new(), waiting: VecDeque::new(), on_the_way: BTreeSet::new() }
    }

    /// "`Block`: the stage before begins a frame only while (frames waiting + frames begun there whose first slice has not
    /// yet come) < `frames`."
    pub(super) fn lets_a_frame_begin_before(&self) -> bool {
        match self.buffer {
            Buffer { frames: Some(frames), when_full: WhenFull::Block } => {
                self.waiting.len() + self.on_the_way.len() < frames as usize
            }
            _ => true,
        }
    }

    /// The stage before begins a frame.
    pub(super) fn begun_before(&mut self, frame: usize) {
        self.on_the_way.insert(frame);
    }

    pub(super) fn put_in(&mut self, (frame, slice): Slice) {
        if slice == 0 {
            self.on_the_way.remove(&frame);
            self.waiting.push_back(frame);
        }
        self.slices.push_back((frame, slice));
    }

    /// The foremost slice begins.
    pub(super) fn begin(&mut self) -> Slice {
        let (frame, slice) = self.slices.pop_front().unwrap();
        if slice == 0 {
            self.waiting.retain(|&other| other != frame);
        }
        (frame, slice)
    }

    /// "if then more than `frames` frames wait, `DropNewest` drops the one that came, `DropOldest` the one waiting longest"
    pub(super) fn too_many(&self, came: usize) -> Option<usize> {
        let frames = self.buffer.frames? as usize;
        if self.waiting.len() <= frames {
            return None;
        }
        match self.buffer.when_full {
            WhenFull::Block => None,
            WhenFull::DropNewest => Some(came),
            WhenFull::DropOldest => self.waiting.front().copied(),
        }
    }

    /// All of a frame that is here vanishes.
    pub(super) fn vanish(&mut self, frame: usize) {
        self.waiting.retain(|&other| other != frame);
        self.slices.retain(|&(other, _)| other != frame);
    }
}
