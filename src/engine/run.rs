//! What happened: the records that a run leaves for every frame, slice, resend and refresh.

use super::grid::Grid;
use super::slices::{Slices, SlicesOf};
use crate::scenario::Scenario;
use crate::stop::{Stop, Stopped, in_chunks};

/// An instant of a run \[ns from 0\], or never, which is before all instants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stamp(i64);

impl Stamp {
    /// It did not happen.
    pub const NEVER: Self = Self(i64::MIN);

    /// The instant `ns`.
    pub const fn at(ns: i64) -> Self {
        Self(ns)
    }

    /// The instant \[ns\], if it happened.
    pub const fn ns(self) -> Option<i64> {
        if self.0 == i64::MIN { None } else { Some(self.0) }
    }

    /// Whether it happened.
    pub const fn happened(self) -> bool {
        self.0 != i64::MIN
    }
}

impl Default for Stamp {
    fn default() -> Self {
        Self::NEVER
    }
}

/// How a frame ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Fate {
    /// The compositor took it.
    Shown,
    /// A newer frame was taken instead.
    Superseded,
    /// The next plan fell due before it began.
    Skipped,
    /// Dropped by the buffer before encode.
    DroppedEncode,
    /// Dropped by the buffer before the link.
    DroppedLink,
    /// Dropped by the buffer before decode.
    DroppedDecode,
    /// Packets were lost and not repaired.
    Lost,
    /// It came out of the decoder, but a frame that it needs did not.
    Undecodable,
    /// The run ended first.
    #[default]
    InFlight,
}

impl Fate {
    /// All fates in table order.
    pub const ALL: [Self; 9] = [
        Self::Shown,
        Self::Superseded,
        Self::Skipped,
        Self::DroppedEncode,
        Self::DroppedLink,
        Self::DroppedDecode,
        Self::Lost,
        Self::Undecodable,
        Self::InFlight,
    ];

    /// Its name in tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Shown => "shown",
            Self::Superseded => "superseded",
            Self::Skipped => "skipped",
            Self::DroppedEncode => "dropped_encode",
            Self::DroppedLink => "dropped_link",
            Self::DroppedDecode => "dropped_decode",
            Self::Lost => "lost",
            Self::Undecodable => "undecodable",
            Self::InFlight => "in_flight",
        }
    }
}

/// One frame's way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FrameRecord {
    /// When the host planned it; never for a frame whose plan the run did not reach.
    pub plan: Stamp,
    /// The pose it was made with.
    pub pose: Stamp,
    /// Simulate began.
    pub start: Stamp,
    /// Simulate ended.
    pub simulated: Stamp,
    /// Render began.
    pub render_start: Stamp,
    /// The last part was rendered.
    pub rendered: Stamp,
    /// The first slice began encode.
    pub encode_start: Stamp,
    /// The last slice came out of the encoder.
    pub encoded: Stamp,
    /// The first slice was begun to be sent.
    pub link_start: Stamp,
    /// The last slice's first sending ended.
    pub sent: Stamp,
    /// The last slice was delivered.
    pub arrived: Stamp,
    /// The first slice began decode.
    pub decode_start: Stamp,
    /// The last slice came out of the decoder.
    pub ready: Stamp,
    /// When its fate befell it; never for a frame in flight.
    pub fate_at: Stamp,
    /// The lead that its plan was made with \[ns\]; 0 with intervals.
    pub lead_ns: i64,
    /// Coded size as encoded, or as in the table \[bits\].
    pub bits: i64,
    /// Refresh it was planned for; none with intervals.
    pub target: Option<u32>,
    /// Refresh that first showed it.
    pub shown: Option<u32>,
    /// How it ended.
    pub fate: Fate,
    /// Intra as encoded, or as in the table.
    pub intra: bool,
}

/// One slice's way; a slice that came to the encoder and did not begin there has come and nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct SliceRecord {
    /// Came to the encoder.
    pub come: Stamp,
    /// Began encode.
    pub encode_start: Stamp,
    /// Ended service at the encoder.
    pub encode_end: Stamp,
    /// Came out of the encoder.
    pub encode_out: Stamp,
    /// First sending began.
    pub link_start: Stamp,
    /// First sending ended.
    pub link_end: Stamp,
    /// The unit that made it complete arrived.
    pub complete: Stamp,
    /// Delivered, in order.
    pub arrive: Stamp,
    /// Began decode.
    pub decode_start: Stamp,
    /// Ended service at the decoder.
    pub decode_end: Stamp,
    /// Came out of the decoder.
    pub decode_out: Stamp,
    /// Bytes of the first sending, slice header included, parity and packet headers not.
    pub bytes: i64,
    /// Resends queued.
    pub resends: u32,
}

/// One resend's way over the link.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ResendRecord {
    /// Frame.
    pub frame: u32,
    /// Slice.
    pub slice: u32,
    /// 1 for the first resend of the slice.
    pub attempt: u32,
    /// The host heard of the loss and queued it.
    pub asked: Stamp,
    /// Sending began.
    pub link_start: Stamp,
    /// Sending ended.
    pub link_end: Stamp,
    /// It arrived.
    pub arrive: Stamp,
}

/// What a refresh shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RefreshKind {
    /// A frame not shown before.
    New,
    /// The compositor was too slow; nothing new could be taken.
    ComposeMiss,
    /// A frame was due and is not on display.
    Miss,
    /// The frame before, and none was due.
    Repeat,
    /// Nothing is on display.
    None,
}

impl RefreshKind {
    /// All kinds in table order.
    pub const ALL: [Self; 5] = [Self::New, Self::Repeat, Self::Miss, Self::ComposeMiss, Self::None];

    /// Its name in tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::New => "new",
            Self::ComposeMiss => "compose_miss",
            Self::Miss => "miss",
            Self::Repeat => "repeat",
            Self::None => "none",
        }
    }
}

/// One refresh.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RefreshRecord {
    /// The frame on display.
    pub frame: Option<u32>,
    /// What it shows.
    pub kind: RefreshKind,
    /// Whether the compositor ran and was in time; false for a latch before 0.
    pub composed: bool,
}

/// What the pilot run of a tuned lead found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pilot {
    /// The pacing asked for none.
    None,
    /// The lead that meets the share \[ns\].
    Found(i64),
    /// No lead meets the share; 60 ms was used.
    Infinite,
}

/// All that happened. Kept and handed back to the engine, its arrays are used again.
#[derive(Debug, Clone)]
pub struct Run {
    /// One record a frame, `run.frames` of them.
    pub frames: Vec<FrameRecord>,
    /// Slices a frame.
    pub slice_count: usize,
    /// `slice_count` records a frame, in order.
    pub slices: Slices,
    /// Resends in the order in which they were queued.
    pub resends: Vec<ResendRecord>,
    /// Refreshes from 0 to the last whose latch was handled.
    pub refreshes: Vec<RefreshRecord>,
    /// When refreshes, latches, photons and poses are.
    pub grid: Grid,
    /// What the pilot found.
    pub pilot: Pilot,
    /// Time of the last event handled \[ns\].
    pub end_ns: i64,
}

impl Default for Run {
    fn default() -> Self {
        Self {
            frames: Vec::new(),
            slice_count: 0,
            slices: Slices::default(),
            resends: Vec::new(),
            refreshes: Vec::new(),
            grid: Grid::new(&Scenario::default()),
            pilot: Pilot::None,
            end_ns: 0,
        }
    }
}

impl Run {
    /// Makes room for a run. Records of frames and slices are as they were: the engine writes each anew.
    pub(super) fn reset(
        &mut self,
        grid: Grid,
        frames: usize,
        slice_count: usize,
        stop: Stop<'_>,
    ) -> Result<(), Stopped> {
        grow(&mut self.frames, frames, FrameRecord::default(), stop)?;
        self.slices.grow(frames * slice_count, stop)?;
        self.slice_count = slice_count;
        self.resends.clear();
        self.refreshes.clear();
        self.grid = grid;
        Ok(())
    }

    /// The slices of one frame.
    #[inline]
    pub fn slices_of(&self, frame: usize) -> SlicesOf<'_> {
        self.slices.within(frame * self.slice_count..(frame + 1) * self.slice_count)
    }

    /// Photons of the refresh that first showed a frame \[ns\].
    pub fn photon_ns(&self, frame: usize) -> Option<i64> {
        self.frames[frame].shown.map(|refresh| self.grid.photon_ns(i64::from(refresh)))
    }

    /// Time from ready to the latch of its target \[ns\]; negative: late. None without a target or when never ready.
    pub fn slack_ns(&self, frame: usize) -> Option<i64> {
        let record = &self.frames[frame];
        Some(self.grid.latch_ns(i64::from(record.target?)) - record.ready.ns()?)
    }

    /// Whether a frame was late: negative slack, or never ready. None without a target.
    pub fn late(&self, frame: usize) -> Option<bool> {
        self.frames[frame].target.map(|_| self.slack_ns(frame).is_none_or(|slack| slack < 0))
    }
}

/// Makes a list so long. The memory of a long run takes a while to come, so it comes in pieces.
pub(super) fn grow<T: Clone>(list: &mut Vec<T>, length: usize, fresh: T, stop: Stop<'_>) -> Result<(), Stopped> {
    let there = list.len().min(length);
    list.truncate(there);
    list.reserve(length - there);
    in_chunks(length - there, stop, |chunk| list.resize(there + chunk.end, fresh.clone()))
}
