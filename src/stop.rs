//! Whether long work is to be given up: asked at every step by what may take longer than a hand waits.

use std::sync::atomic::{AtomicBool, Ordering};

/// A flag that may be raised while the work goes on, or none.
#[derive(Debug, Clone, Copy)]
pub struct Stop<'a>(Option<&'a AtomicBool>);

impl<'a> Stop<'a> {
    /// Work that is never given up.
    pub const NEVER: Self = Self(None);

    /// Work that is given up soon after `flag` is set.
    pub const fn when(flag: &'a AtomicBool) -> Self {
        Self(Some(flag))
    }

    /// Whether the work is to be given up now.
    #[inline]
    pub fn asked(self) -> bool {
        self.0.is_some_and(|flag| flag.load(Ordering::Relaxed))
    }
}

/// The work was given up before it was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("given up before it was done")]
pub struct Stopped;

/// Numbers of things done between two looks at the flag: some microseconds' worth.
const CHUNK: usize = 4096;

/// Does `step` for the numbers from 0 to `count`, some thousands at a time, unless stopped in between.
pub fn in_chunks(count: usize, stop: Stop<'_>, mut step: impl FnMut(std::ops::Range<usize>)) -> Result<(), Stopped> {
    let mut start = 0;
    while start < count {
        if stop.asked() {
            return Err(Stopped);
        }
        let end = count.min(start + CHUNK);
        step(start..end);
        start = end;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chunks_hold_every_number_once_and_end_when_stopped() {
        let mut seen = Vec::new();
        in_chunks(10_000, Stop::NEVER, |chunk| seen.extend(chunk)).unwrap();
        assert_eq!(seen, (0..10_000).collect::<Vec<_>>());
        let flag = AtomicBool::new(false);
        let mut chunks = 0;
        let stopped = in_chunks(100_000, Stop::when(&flag), |_| {
            chunks += 1;
            flag.store(chunks == 2, Ordering::Relaxed);
        });
        assert_eq!((stopped, chunks), (Err(Stopped), 2));
    }
}
