//! Folding: what many frames or refreshes at one place come to. Blocks of a fixed length are folded once, so that a wide
//! range costs little.

use std::ops::Range;

use super::{Beat, Outcome, Shot};
use crate::engine::RefreshKind;

/// Frames or refreshes of a block.
const BLOCK: usize = 8;

/// What frames come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Fold {
    /// Frames by outcome, in the order of [`Outcome::ALL`].
    pub outcomes: [u32; 5],
    /// Frames that were shown.
    pub shown: u32,
    /// Least and greatest latency of those \[ns\].
    pub ends_ns: Option<[i64; 2]>,
    /// Sum of their latencies \[ns\].
    pub sum_ns: i64,
}

impl Fold {
    /// All frames.
    pub fn total(&self) -> u32 {
        self.outcomes.iter().sum()
    }

    /// Frames of one outcome.
    pub const fn of(&self, outcome: Outcome) -> u32 {
        self.outcomes[outcome as usize]
    }

    /// Mean latency of the frames shown; none without any \[ns\].
    pub fn mean_ns(&self) -> Option<f64> {
        (self.shown > 0).then(|| self.sum_ns as f64 / f64::from(self.shown))
    }
}

/// What refreshes come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RefreshFold {
    /// Refreshes by kind, in the order of [`RefreshKind::ALL`].
    pub kinds: [u32; 5],
    /// Least and greatest age of what is on display \[ns\].
    pub ages_ns: Option<[i64; 2]>,
}

impl RefreshFold {
    /// Refreshes of one kind.
    pub fn of(&self, kind: RefreshKind) -> u32 {
        RefreshKind::ALL.iter().zip(self.kinds).find_map(|(one, found)| (*one == kind).then_some(found)).unwrap_or(0)
    }

    /// All refreshes.
    pub fn total(&self) -> u32 {
        self.kinds.iter().sum()
    }
}

/// Something that single things fold into.
pub(super) trait Folded<T>: Default + Copy {
    fn add(&mut self, one: &T);
    fn join(&mut self, other: &Self);
}

fn widen(ends: &mut Option<[i64; 2]>, other: Option<[i64; 2]>) {
    *ends = match (*ends, other) {
        (Some([least, most]), Some([low, high])) => Some([least.min(low), most.max(high)]),
        (ends, other) => ends.or(other),
    };
}

impl Folded<Shot> for Fold {
    fn add(&mut self, shot: &Shot) {
        self.outcomes[shot.outcome() as usize] += 1;
        if let Some(ns) = shot.latency_ns {
            self.shown += 1;
            self.sum_ns += ns;
            widen(&mut self.ends_ns, Some([ns; 2]));
        }
    }

    fn join(&mut self, other: &Self) {
        for (count, more) in self.outcomes.iter_mut().zip(other.outcomes) {
            *count += more;
        }
        self.shown += other.shown;
        self.sum_ns += other.sum_ns;
        widen(&mut self.ends_ns, other.ends_ns);
    }
}

impl Folded<Beat> for RefreshFold {
    fn add(&mut self, beat: &Beat) {
        if let Some(place) = RefreshKind::ALL.iter().position(|kind| *kind == beat.kind) {
            self.kinds[place] += 1;
        }
        widen(&mut self.ages_ns, beat.age_ns.map(|ns| [ns; 2]));
    }

    fn join(&mut self, other: &Self) {
        for (count, more) in self.kinds.iter_mut().zip(other.kinds) {
            *count += more;
        }
        widen(&mut self.ages_ns, other.ages_ns);
    }
}

/// All of a list, folded block by block.
pub(super) fn blocks<T, F: Folded<T>>(list: &[T]) -> Vec<F> {
    list.chunks(BLOCK).map(all).collect()
}

fn all<T, F: Folded<T>>(list: &[T]) -> F {
    let mut fold = F::default();
    for one in list {
        fold.add(one);
    }
    fold
}

/// A part of a list, by whole blocks where it holds some. `places` lies within the list.
pub(super) fn of<T, F: Folded<T>>(list: &[T], blocks: &[F], places: Range<usize>) -> F {
    let whole = places.start.div_ceil(BLOCK)..places.end / BLOCK;
    if whole.start >= whole.end {
        return all(&list[places.start..places.end.max(places.start)]);
    }
    let mut fold: F = all(&list[places.start..whole.start * BLOCK]);
    for block in &blocks[whole.clone()] {
        fold.join(block);
    }
    fold.join(&all(&list[whole.end * BLOCK..places.end]));
    fold
}
