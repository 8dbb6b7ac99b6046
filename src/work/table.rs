//! The work table: every random quantity of a run, drawn beforehand or measured.

use crate::stop::Stopped;

/// Chance, settled: what each frame, refresh and packet costs. The engine is a pure function of a scenario and this.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WorkTable {
    /// One entry a frame, at least `run.frames` of them.
    pub frames: Vec<FrameWork>,
    /// Share of the rows of each slice.
    pub row_shares: Shares,
    /// Share of the bits of each slice.
    pub bit_shares: Shares,
    /// Compositor time of each refresh from 0 \[ns\]; beyond the end the last one repeats.
    pub compose_ns: Vec<i64>,
    /// When the link is closed; ascending, apart from each other.
    pub closures: Vec<Closure>,
    /// Packets lost.
    pub losses: Losses,
}

/// What one frame costs each stage, overheads aside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FrameWork {
    /// Simulation \[ns\].
    pub simulate_ns: i64,
    /// Rendering, resampling included \[ns\].
    pub render_ns: i64,
    /// Encoding of the whole frame \[ns\].
    pub encode_ns: i64,
    /// Decoding of the whole frame \[ns\].
    pub decode_ns: i64,
    /// Coded size \[bits\].
    pub bits: i64,
    /// Delay of a message from device to host \[ns\].
    pub uplink_ns: i64,
    /// Delay of this frame's units after sending \[ns\].
    pub link_delay_ns: i64,
    /// Time from this plan to the next, with `Pacing::Intervals` \[ns\].
    pub interval_ns: i64,
    /// How much too late the host plans this frame \[ns\].
    pub clock_error_ns: i64,
    /// Whether the frame is intra.
    pub intra: bool,
}

/// The shares of a frame's slices, which sum to 1: the same for every frame, or a row for each.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shares {
    slices: usize,
    /// One row, or one a frame, of `slices` values; rows that are all the same are kept once.
    values: Vec<f64>,
}

impl Shares {
    /// Shares from rows of `slices` values: one row for all frames, or a row for each.
    ///
    /// # Panics
    /// When `values` is not made of whole rows.
    pub fn new(slices: usize, values: Vec<f64>) -> Self {
        assert!(slices > 0 && values.len().is_multiple_of(slices), "shares come in whole rows");
        let mut shares = Self { slices, values };
        shares.fold();
        shares
    }

    /// Replaces all shares by the rows that `fill` puts into the empty list, unless it is stopped.
    pub(super) fn refill(
        &mut self,
        slices: usize,
        fill: impl FnOnce(&mut Vec<f64>) -> Result<(), Stopped>,
    ) -> Result<(), Stopped> {
        self.slices = slices;
        self.values.clear();
        fill(&mut self.values)?;
        self.fold();
        Ok(())
    }

    /// Keeps rows that are all the same once.
    fn fold(&mut self) {
        let same = self.values.chunks_exact(self.slices).all(|row| *row == self.values[..self.slices]);
        if same {
            self.values.truncate(self.slices);
        }
    }

    /// Slices a frame.
    pub fn slices(&self) -> usize {
        self.slices
    }

    /// The shares of one frame's slices.
    pub fn of(&self, frame: usize) -> &[f64] {
        let row = if self.values.len() == self.slices { 0 } else { frame };
        &self.values[row * self.slices..][..self.slices]
    }
}

/// A time in which the link is closed, `start_ns..end_ns`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Closure {
    /// Beginning \[ns\].
    pub start_ns: i64,
    /// End \[ns\], after the beginning.
    pub end_ns: i64,
}

/// Packets lost of one unit: the first sending of a slice (`attempt` 0) or one of its resends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Loss {
    /// Frame.
    pub frame: u32,
    /// Slice.
    pub slice: u32,
    /// 0 for the first sending, 1 for the first resend and so on.
    pub attempt: u32,
    /// Packets lost.
    pub lost: u32,
}

/// All losses, found by frame, slice and attempt; what is absent lost nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Losses {
    /// Ascending.
    rows: Vec<Loss>,
    /// Where each frame's rows begin; one more entry than frames; empty when there are no rows.
    starts: Vec<u32>,
}

impl Losses {
    /// Losses from rows in any order; of rows for the same unit the last one in order of `lost` counts.
    pub fn new(rows: Vec<Loss>) -> Self {
        let mut losses = Self { rows, starts: Vec::new() };
        losses.index();
        losses
    }

    /// Replaces all losses by the rows that `fill` puts into the empty list, unless it is stopped.
    pub(super) fn refill(&mut self, fill: impl FnOnce(&mut Vec<Loss>) -> Result<(), Stopped>) -> Result<(), Stopped> {
        self.rows.clear();
        fill(&mut self.rows)?;
        self.index();
        Ok(())
    }

    fn index(&mut self) {
        self.rows.sort_unstable();
        self.starts.clear();
        let Some(last) = self.rows.last() else { return };
        let frames = last.frame as usize + 1;
        self.starts.resize(frames + 1, 0);
        for row in &self.rows {
            self.starts[row.frame as usize + 1] += 1;
        }
        for frame in 0..frames {
            self.starts[frame + 1] += self.starts[frame];
        }
    }

    /// All rows, ascending.
    pub fn rows(&self) -> &[Loss] {
        &self.rows
    }

    /// Packets lost of one unit.
    pub fn lost(&self, frame: usize, slice: usize, attempt: u32) -> u32 {
        let (Some(&start), Some(&end)) = (self.starts.get(frame), self.starts.get(frame + 1)) else { return 0 };
        let rows = &self.rows[start as usize..end as usize];
        let wanted = (slice as u32, attempt);
        let after = rows.partition_point(|row| (row.slice, row.attempt) <= wanted);
        after
            .checked_sub(1)
            .map(|at| rows[at])
            .filter(|row| (row.slice, row.attempt) == wanted)
            .map_or(0, |row| row.lost)
    }
}
