//! The run as strips on one axis of frames: latency and outcome of every counted frame, and what every counted refresh
//! shows; folded where many share a place, so that each still counts.

mod fold;
mod table;
mod told;

use std::ops::Range;

pub use fold::{Fold, RefreshFold};
pub use told::frames_in_words;

use crate::engine::{Fate, Grid, RefreshKind, Run};
use crate::measure::counted_refreshes;
use crate::study::Answer;
use crate::time::ns_to_ms;

/// What became of a frame, as far as it is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Shown at its refresh, or without one to be late for.
    OnTime,
    /// Shown, but later than at its refresh.
    Late,
    /// Ready, but a newer frame was taken instead.
    Superseded,
    /// It failed on its way: skipped, dropped, lost on the link or undecodable.
    Failed,
    /// The run ended before it did.
    InFlight,
}

impl Outcome {
    /// All, in the order of counts.
    pub const ALL: [Self; 5] = [Self::OnTime, Self::Late, Self::Superseded, Self::Failed, Self::InFlight];

    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::OnTime => "on time",
            Self::Late => "late",
            Self::Superseded => "superseded",
            Self::Failed => "failed",
            Self::InFlight => "in flight at the end",
        }
    }
}

/// One counted frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shot {
    /// From its pose to its photons; none where it was not shown \[ns\].
    pub latency_ns: Option<i64>,
    /// How it ended.
    pub fate: Fate,
    /// Whether it was late; none without a target.
    pub late: Option<bool>,
}

impl Shot {
    /// How it is marked.
    pub const fn outcome(&self) -> Outcome {
        match (self.fate, self.late) {
            (Fate::Shown, Some(true)) => Outcome::Late,
            (Fate::Shown, _) => Outcome::OnTime,
            (Fate::Superseded, _) => Outcome::Superseded,
            (Fate::InFlight, _) => Outcome::InFlight,
            _ => Outcome::Failed,
        }
    }
}

/// One counted refresh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beat {
    /// Where it is on the axis of frames: at the frame that it is the target of, with intervals where its latch lies
    /// between two plans.
    pub at: f64,
    /// The frame on display.
    pub frame: Option<u32>,
    /// What it shows.
    pub kind: RefreshKind,
    /// Age of the pose of what is on display; none where nothing is \[ns\].
    pub age_ns: Option<i64>,
}

/// The longest run of refreshes without a new frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Freeze {
    /// Its refreshes, by their places in [`Strip::refreshes`].
    pub first: usize,
    /// How many.
    pub refreshes: usize,
    /// So many refresh periods \[ms\].
    pub length_ms: f64,
}

/// One run.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Number of the first counted frame.
    pub first_frame: usize,
    /// The counted frames.
    pub frames: Vec<Shot>,
    /// Number of the first counted refresh.
    pub first_refresh: usize,
    /// The counted refreshes.
    pub refreshes: Vec<Beat>,
    /// Longest freeze; none where every refresh shows a new frame.
    pub freeze: Option<Freeze>,
    /// All counted frames together.
    pub total: Fold,
    frame_blocks: Vec<Fold>,
    refresh_blocks: Vec<RefreshFold>,
}

/// Both runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Strips {
    /// Baseline and candidate.
    pub sides: [Strip; 2],
    /// The budget's limit of pose to photon \[ms\].
    pub limit_ms: f64,
    /// Least and greatest latency worth the vertical scale; few frames far beyond do not squeeze the rest \[ms\].
    pub range_ms: Option<[f64; 2]>,
    /// The greatest latency, where it is beyond the range \[ms\].
    pub beyond_ms: Option<f64>,
}

/// Share of the frames shown that set the vertical scale, and how far beyond them it may go as a multiple of what they
/// span.
const BODY: f64 = 0.99;
const BEYOND: f64 = 2.0;

impl Strips {
    /// The strips of two answers; the limit is the candidate's.
    pub fn new(answers: [&Answer; 2]) -> Self {
        let sides = answers.map(|answer| Strip::new(&answer.run, answer.summary.warmup as usize));
        let (range_ms, beyond_ms) = range_of(&sides).map_or((None, None), |(range, beyond)| (Some(range), beyond));
        Self { sides, limit_ms: answers[1].scenario.budget.pose_to_photon_ms, range_ms, beyond_ms }
    }

    /// Numbers of the counted frames of either run.
    pub fn frames(&self) -> Range<usize> {
        let [one, two] = self.sides.each_ref().map(Strip::frame_numbers);
        one.start.min(two.start)..one.end.max(two.end)
    }
}

/// Least and greatest latency for the scale, and the greatest of all where that is beyond.
fn range_of(sides: &[Strip; 2]) -> Option<([f64; 2], Option<f64>)> {
    let mut all: Vec<i64> =
        sides.iter().flat_map(|side| side.frames.iter().filter_map(|shot| shot.latency_ns)).collect();
    let (least, greatest) = (*all.iter().min()?, *all.iter().max()?);
    let place = ((all.len() - 1) as f64 * BODY) as usize;
    let body = *all.select_nth_unstable(place).1;
    let highest = body as f64 + BEYOND * (body - least) as f64;
    let beyond = (greatest as f64 > highest).then(|| ns_to_ms(greatest));
    Some(([ns_to_ms(least), (greatest as f64).min(highest) / 1e6], beyond))
}

impl Strip {
    /// The strip of a run whose first `warmup` frames do not count.
    pub fn new(run: &Run, warmup: usize) -> Self {
        let first_frame = warmup.min(run.frames.len());
        let shot = |frame: usize| Shot {
            latency_ns: run.photon_ns(frame).zip(run.frames[frame].pose.ns()).map(|(photon, pose)| photon - pose),
            fate: run.frames[frame].fate,
            late: run.late(frame),
        };
        let frames: Vec<Shot> = (first_frame..run.frames.len()).map(shot).collect();
        let counted = counted_refreshes(run, first_frame);
        let first_refresh = counted.map_or(0, |(first, _)| first);
        let refreshes = counted.map_or_else(Vec::new, |(first, last)| beats(run, first..last + 1));
        let frame_blocks = fold::blocks(&frames);
        Self {
            first_frame,
            total: fold::of(&frames, &frame_blocks, 0..frames.len()),
            frame_blocks,
            refresh_blocks: fold::blocks(&refreshes),
            freeze: longest_freeze(&refreshes, &run.grid),
            frames,
            first_refresh,
            refreshes,
        }
    }

    /// Numbers of its counted frames.
    pub fn frame_numbers(&self) -> Range<usize> {
        self.first_frame..self.first_frame + self.frames.len()
    }

    /// A counted frame by its number.
    pub fn frame(&self, number: usize) -> Option<&Shot> {
        self.frames.get(number.checked_sub(self.first_frame)?)
    }

    /// What the counted frames of these numbers come to.
    pub fn fold(&self, numbers: Range<usize>) -> Fold {
        fold::of(&self.frames, &self.frame_blocks, self.places(numbers))
    }

    /// Places in the list of counted frames.
    fn places(&self, numbers: Range<usize>) -> Range<usize> {
        let place = |number: usize| number.saturating_sub(self.first_frame).min(self.frames.len());
        place(numbers.start)..place(numbers.end)
    }

    /// The frame of these numbers that is most worth a look: one that failed before a superseded one, that before a late
    /// one, and of these the longest on its way.
    pub fn worst(&self, numbers: Range<usize>) -> Option<usize> {
        let rank = |shot: &Shot| match shot.outcome() {
            Outcome::InFlight => 0,
            Outcome::OnTime => 1,
            Outcome::Late => 2,
            Outcome::Superseded => 3,
            Outcome::Failed => 4,
        };
        let places = self.places(numbers);
        let shots = places.clone().zip(&self.frames[places]);
        let worst = shots.max_by_key(|(place, shot)| (rank(shot), shot.latency_ns, std::cmp::Reverse(*place)));
        worst.map(|(place, _)| self.first_frame + place)
    }

    /// Places in the list of counted refreshes that lie in a part of the axis.
    pub fn refreshes_in(&self, axis: Range<f64>) -> Range<usize> {
        let before = |end: f64| self.refreshes.partition_point(|beat| beat.at < end);
        before(axis.start)..before(axis.end)
    }

    /// The first place in the list, from `first` on, that lies at `end` or beyond: found by growing steps, for a walk over
    /// the axis.
    pub fn refreshes_until(&self, first: usize, end: f64) -> usize {
        let rest = self.refreshes.get(first..).unwrap_or_default();
        let mut step = 1;
        while rest.get(step).is_some_and(|beat| beat.at < end) {
            step *= 2;
        }
        let near = &rest[..rest.len().min(step + 1)];
        first + near.partition_point(|beat| beat.at < end)
    }

    /// What refreshes at these places in the list come to.
    pub fn fold_refreshes(&self, places: Range<usize>) -> RefreshFold {
        let clip = |place: usize| place.min(self.refreshes.len());
        fold::of(&self.refreshes, &self.refresh_blocks, clip(places.start)..clip(places.end))
    }

    /// Of refreshes at these places the one most worth a look: the first of the rarest kind there is.
    pub fn worst_refresh(&self, places: Range<usize>) -> Option<usize> {
        let rank = |kind: RefreshKind| match kind {
            RefreshKind::None => 0,
            RefreshKind::New => 1,
            RefreshKind::Repeat => 2,
            RefreshKind::ComposeMiss => 3,
            RefreshKind::Miss => 4,
        };
        let places = places.start.min(self.refreshes.len())..places.end.min(self.refreshes.len());
        places.max_by_key(|place| (rank(self.refreshes[*place].kind), std::cmp::Reverse(*place)))
    }

    /// The frame that a refresh sends one to: at a miss the one that was due, else the one on display.
    pub fn frame_of(&self, place: usize) -> Option<usize> {
        let beat = self.refreshes.get(place)?;
        if beat.kind == RefreshKind::Miss { Some(beat.at.round() as usize) } else { Some(beat.frame? as usize) }
    }
}

/// The refreshes of a range, laid on the axis of frames.
fn beats(run: &Run, refreshes: Range<usize>) -> Vec<Beat> {
    let axis = Axis::of(run);
    let mut plan = 0;
    let beat = |number: usize| {
        let record = &run.refreshes[number];
        let pose_ns = record.frame.and_then(|frame| run.frames[frame as usize].pose.ns());
        Beat {
            at: axis.place(run, number, &mut plan),
            frame: record.frame,
            kind: record.kind,
            age_ns: pose_ns.map(|pose_ns| run.grid.photon_ns(number as i64) - pose_ns),
        }
    };
    refreshes.map(beat).collect()
}

/// How refreshes lie on the axis of frames.
enum Axis {
    /// Frames have targets: that of the first one, and refreshes a frame.
    Targets { first: f64, every: f64 },
    /// They have none: between the plans.
    Plans,
}

impl Axis {
    fn of(run: &Run) -> Self {
        let target = |frame: usize| run.frames.get(frame).and_then(|record| record.target).map(f64::from);
        match (target(0), target(1)) {
            (Some(first), second) => {
                Self::Targets { first, every: second.map_or(1.0, |second| second - first).max(1.0) }
            }
            (None, _) => Self::Plans,
        }
    }

    /// Where a refresh is; `plan` is the last plan before the refresh asked for last, and only moves on.
    fn place(&self, run: &Run, refresh: usize, plan: &mut usize) -> f64 {
        if let Self::Targets { first, every } = self {
            return (refresh as f64 - first) / every;
        }
        let latch_ns = run.grid.latch_ns(refresh as i64);
        let planned = |frame: usize| run.frames.get(frame).and_then(|record| record.plan.ns());
        while planned(*plan + 1).is_some_and(|next_ns| next_ns <= latch_ns) {
            *plan += 1;
        }
        let Some(from_ns) = planned(*plan) else { return *plan as f64 };
        let part = planned(*plan + 1)
            .filter(|next_ns| *next_ns > from_ns)
            .map_or(0.0, |next_ns| (latch_ns - from_ns) as f64 / (next_ns - from_ns) as f64);
        *plan as f64 + part.clamp(0.0, 1.0)
    }
}

/// The first of the longest runs of refreshes without a new frame.
fn longest_freeze(refreshes: &[Beat], grid: &Grid) -> Option<Freeze> {
    let (mut longest, mut now) = ((0, 0), 0);
    for (place, beat) in refreshes.iter().enumerate() {
        now = if beat.kind == RefreshKind::New { 0 } else { now + 1 };
        if now > longest.1 {
            longest = (place + 1 - now, now);
        }
    }
    let (first, refreshes) = longest;
    (refreshes > 0).then(|| Freeze { first, refreshes, length_ms: refreshes as f64 * (grid.refresh_period_ns() / 1e6) })
}

#[cfg(test)]
mod tests;
