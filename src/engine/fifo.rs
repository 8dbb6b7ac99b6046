//! First in, first out, in a plain vector: what the engine's inner loop asks of a queue and no more.

/// A queue whose front moves along a vector that starts over when it runs empty.
#[derive(Debug)]
pub(super) struct Fifo<T> {
    items: Vec<T>,
    /// Items before this one are gone.
    front: usize,
}

impl<T: Copy> Fifo<T> {
    /// Gone items are cleared away when they are at least this many and half of all.
    const CLEAR_AWAY: usize = 256;

    pub(super) fn new() -> Self {
        Self { items: Vec::new(), front: 0 }
    }

    #[inline]
    pub(super) fn push(&mut self, item: T) {
        self.items.push(item);
    }

    #[inline]
    pub(super) fn front(&self) -> Option<&T> {
        self.items.get(self.front)
    }

    #[inline]
    pub(super) fn front_mut(&mut self) -> Option<&mut T> {
        self.items.get_mut(self.front)
    }

    /// The newest item. An item that is gone is never returned: the vector is cleared when it runs empty.
    #[inline]
    pub(super) fn back_mut(&mut self) -> Option<&mut T> {
        self.items.last_mut()
    }

    #[inline]
    pub(super) fn pop(&mut self) -> Option<T> {
        let item = *self.items.get(self.front)?;
        self.front += 1;
        if self.front == self.items.len() {
            self.items.clear();
            self.front = 0;
        } else if self.front >= Self::CLEAR_AWAY && self.front * 2 >= self.items.len() {
            self.items.drain(..self.front);
            self.front = 0;
        }
        Some(item)
    }

    /// All items, the oldest first.
    pub(super) fn items(&self) -> &[T] {
        &self.items[self.front..]
    }

    /// Moves the newest item ahead of the `passed` ones before it.
    pub(super) fn bring_newest_forward(&mut self, passed: usize) {
        let place = self.items.len() - 1 - passed;
        self.items[place..].rotate_right(1);
    }

    #[inline]
    pub(super) fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// Takes out the item at a place in [`Self::items`].
    pub(super) fn take(&mut self, place: usize) -> T {
        let item = self.items.remove(self.front + place);
        if self.front == self.items.len() {
            self.items.clear();
            self.front = 0;
        }
        item
    }
}

#[cfg(test)]
mod tests {
    use std::collections::VecDeque;

    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn behaves_like_the_library_queue(steps in prop::collection::vec(0..7u8, 0..3000)) {
            let (mut fifo, mut other) = (Fifo::new(), VecDeque::new());
            for (number, step) in steps.into_iter().enumerate() {
                match step {
                    0..=2 => { fifo.push(number); other.push_back(number); }
                    3 | 4 => prop_assert_eq!(fifo.pop(), other.pop_front()),
                    5 => {
                        let passed = other.len().min(3);
                        if let (Some(passed), Some(newest)) = (passed.checked_sub(1), other.back().copied()) {
                            fifo.bring_newest_forward(passed);
                            other.pop_back();
                            other.insert(other.len() - passed, newest);
                        }
                    }
                    _ => {
                        if let Some(at) = other.iter().position(|item| item % 7 == 3) {
                            prop_assert_eq!(Some(fifo.take(at)), other.remove(at));
                        }
                    }
                }
                prop_assert_eq!(fifo.front(), other.front());
                prop_assert_eq!(fifo.back_mut(), other.back_mut());
                prop_assert_eq!(fifo.is_empty(), other.is_empty());
                prop_assert_eq!(fifo.items(), other.make_contiguous());
            }
        }
    }
}
