//! The way of frames through the pipeline: a lane a server, its work as blocks in flat arrays sorted by start, made once
//! per answer so that drawing only looks up what is in view.

mod build;
mod card;
mod late;
mod path;
mod row;
mod table;

pub use card::{Card, Cause, Held, Other};
pub use late::Lateness;
pub use path::{CriticalPath, Leg, stage_of};
pub use row::{Drawn, Row};

use crate::engine::{Fate, Grid};
use crate::report::format::{count, exact_ms};

/// A gain that is no further from the median one is as good as it \[ns\].
const NEAR_NS: i64 = 100_000;

/// Whose lane it is, in the order in which a frame meets them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Pose tracking and the way up to the host.
    Pose,
    /// Simulate.
    Cpu,
    /// Render.
    Gpu,
    /// Encoder.
    Encoder,
    /// Link.
    Link,
    /// Decoder.
    Decoder,
    /// Compositor and panel.
    Display,
}

impl Stage {
    /// All lanes from top to bottom.
    pub const ALL: [Self; 7] =
        [Self::Pose, Self::Cpu, Self::Gpu, Self::Encoder, Self::Link, Self::Decoder, Self::Display];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pose => "Pose, uplink",
            Self::Cpu => "CPU",
            Self::Gpu => "GPU",
            Self::Encoder => "Encoder",
            Self::Link => "Link",
            Self::Decoder => "Decoder",
            Self::Display => "Display",
        }
    }
}

/// What a block is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// From the pose sample until the host can use it.
    Pose,
    /// Simulate a frame.
    Simulate,
    /// Render a part.
    Render,
    /// Encode a slice.
    Encode,
    /// Send a slice.
    Send,
    /// Send lost packets again.
    Resend,
    /// Decode a slice.
    Decode,
    /// Late correction and composition, from the latch.
    Compose,
    /// From vsync to photons.
    Light,
}

impl Work {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pose => "Pose to host",
            Self::Simulate => "Simulate",
            Self::Render => "Render",
            Self::Encode => "Encode",
            Self::Send => "Send",
            Self::Resend => "Send again",
            Self::Decode => "Decode",
            Self::Compose => "Compose",
            Self::Light => "Vsync to photons",
        }
    }

    /// The lane that it is drawn on.
    pub const fn stage(self) -> Stage {
        match self {
            Self::Pose => Stage::Pose,
            Self::Simulate => Stage::Cpu,
            Self::Render => Stage::Gpu,
            Self::Encode => Stage::Encoder,
            Self::Send | Self::Resend => Stage::Link,
            Self::Decode => Stage::Decoder,
            Self::Compose | Self::Light => Stage::Display,
        }
    }

    /// Whether it is done slice by slice.
    pub const fn sliced(self) -> bool {
        matches!(self, Self::Encode | Self::Send | Self::Resend | Self::Decode)
    }
}

/// One piece of work of one server.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// It could have begun \[ns\].
    pub come_ns: i64,
    /// It began \[ns\].
    pub start_ns: i64,
    /// It ended \[ns\].
    pub end_ns: i64,
    /// Frame.
    pub frame: u32,
    /// Slice, or part of the rendering; from 0.
    pub part: u16,
    /// What it is.
    pub work: Work,
}

impl Block {
    /// Its length \[ns\].
    pub const fn length_ns(&self) -> i64 {
        self.end_ns - self.start_ns
    }

    /// How long it waited before it began \[ns\].
    pub const fn waited_ns(&self) -> i64 {
        self.start_ns - self.come_ns
    }
}

/// One server's work: as many rows as things are done at once.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lane {
    /// Its rows.
    pub rows: Vec<Row>,
}

/// One frame from end to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Way {
    /// Where its time begins: at its pose, or at its plan if it never took one; none if never planned \[ns\].
    pub from_ns: Option<i64>,
    /// When its last slice came out of the decoder \[ns\].
    pub ready_ns: Option<i64>,
    /// Photons of the refresh that first showed it \[ns\].
    pub photon_ns: Option<i64>,
    /// When its fate befell it \[ns\].
    pub fate_ns: Option<i64>,
    /// How it ended.
    pub fate: Fate,
    /// Whether it was late; none without a target.
    pub late: Option<bool>,
    /// From when it was ready to the latch of its refresh; negative: late \[ns\].
    pub slack_ns: Option<i64>,
}

impl Way {
    /// From pose to photons, if it was shown \[ns\].
    pub fn length_ns(&self) -> Option<i64> {
        Some(self.photon_ns? - self.from_ns?)
    }

    /// Where its bar ends: at its photons, or where its fate befell it \[ns\].
    pub fn to_ns(&self) -> Option<i64> {
        self.photon_ns.or(self.fate_ns)
    }

    /// Whether something went wrong with it.
    pub fn troubled(&self) -> bool {
        self.from_ns.is_some() && (self.late == Some(true) || !matches!(self.fate, Fate::Shown | Fate::InFlight))
    }
}

/// All lanes of one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Lanes {
    /// In the order of [`Stage::ALL`].
    pub lanes: [Lane; 7],
    /// One a frame.
    pub ways: Vec<Way>,
    /// Photons that were due and did not come: of missed refreshes \[ns\], ascending.
    pub missed_ns: Vec<i64>,
    /// When refreshes, latches and photons are.
    pub grid: Grid,
    /// First frame that counts.
    pub warmup: usize,
    /// What the stages had to do for every frame, and what they usually have \[ns\].
    costs: Vec<late::Costs>,
    usual: late::Costs,
}

/// Lanes of baseline and candidate.
#[derive(Debug, Clone, PartialEq)]
pub struct LanesPair {
    /// Baseline and candidate.
    pub sides: [Lanes; 2],
    /// What they are called.
    pub names: [String; 2],
    /// A frame whose gain is the median one, and usual in itself: the one to begin with.
    pub typical: usize,
    /// The counted frame that took longest from pose to photon in the candidate.
    pub worst: Option<usize>,
    /// Frames that were late or not shown, in either run; ascending.
    troubled: Vec<usize>,
}

impl LanesPair {
    /// Lanes of two runs under their names.
    pub fn new(names: [String; 2], sides: [Lanes; 2]) -> Self {
        let mut pair = Self { sides, names, typical: 0, worst: None, troubled: Vec::new() };
        pair.typical = pair.find_typical();
        pair.worst = pair.find_worst();
        pair.troubled = (0..pair.frames()).filter(|k| pair.sides.iter().any(|run| run.ways[*k].troubled())).collect();
        pair
    }

    /// Frames that both runs have.
    pub fn frames(&self) -> usize {
        self.sides[0].ways.len().min(self.sides[1].ways.len())
    }

    /// How much sooner the candidate's photons come after the pose than the baseline's, for one frame \[ns\].
    pub fn gain_ns(&self, frame: usize) -> Option<i64> {
        let [baseline, candidate] = [0, 1].map(|side| self.sides[side].ways.get(frame).and_then(Way::length_ns));
        Some(baseline? - candidate?)
    }

    fn counted(&self) -> std::ops::Range<usize> {
        let warmup = self.sides[0].warmup.max(self.sides[1].warmup);
        warmup.min(self.frames())..self.frames()
    }

    /// Of the counted frames shown by both; the first counted one, if there is none.
    fn find_typical(&self) -> usize {
        let mut gains: Vec<(i64, usize)> =
            self.counted().filter_map(|frame| Some((self.gain_ns(frame)?, frame))).collect();
        if gains.is_empty() {
            return self.counted().start.min(self.frames().saturating_sub(1));
        }
        let middle = gains.len() / 2;
        let (median, _) = *gains.select_nth_unstable_by_key(middle, |(gain, _)| *gain).1;
        // Of those with the median gain, the one that is itself most usual.
        let usual = |side: usize| {
            let mut lengths: Vec<i64> = self.counted().filter_map(|k| self.sides[side].ways[k].length_ns()).collect();
            let middle = lengths.len() / 2;
            *lengths.select_nth_unstable(middle).1
        };
        let usual = [usual(0), usual(1)];
        let oddness = |frame: usize| -> i64 {
            let away = |side: usize| self.sides[side].ways[frame].length_ns().map_or(0, |ns| (ns - usual[side]).abs());
            away(0) + away(1)
        };
        let close = gains.iter().filter(|(gain, _)| (gain - median).abs() < NEAR_NS);
        close.map(|(_, frame)| *frame).min_by_key(|frame| (oddness(*frame), *frame)).unwrap_or(0)
    }

    fn find_worst(&self) -> Option<usize> {
        let lengths = self.counted().filter_map(|frame| Some((self.sides[1].ways[frame].length_ns()?, frame)));
        lengths.max_by_key(|(length, frame)| (*length, std::cmp::Reverse(*frame))).map(|(_, frame)| frame)
    }

    /// Which counted frame took longest from pose to photon in the candidate, and how long.
    pub fn longest_in_words(&self) -> String {
        let longest = self.worst.and_then(|frame| Some((frame, self.sides[1].ways[frame].length_ns()?)));
        longest.map_or_else(
            || "The candidate's longest pose to photon: no counted frame was shown".to_owned(),
            |(frame, ns)| {
                format!("The candidate's longest pose to photon: frame {}, {}", count(frame as u64), exact_ms(ns))
            },
        )
    }

    /// The next frame after `frame` that was late or not shown, in either run; from the beginning again after the last.
    pub fn next_troubled(&self, frame: usize) -> Option<usize> {
        let after = self.troubled.partition_point(|troubled| *troubled <= frame);
        let next = self.troubled.get(after).or_else(|| self.troubled.first());
        next.copied().filter(|next| *next != frame)
    }
}

#[cfg(test)]
mod tests;
