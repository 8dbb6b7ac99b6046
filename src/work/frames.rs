//! The columns of a frame: content, size and rate control, stage costs, delays, intervals, clock error.

use super::law::{Law, log_sigma, stall_ms, standard_normal};
use super::luck::{Column, Luck};
use super::table::FrameWork;
use crate::scenario::{Clock, CodecCost, Content, Delay, Layout, Pacing, PixelCost, Scenario, Spread, Stall};
use crate::stop::{Stop, Stopped, in_chunks};
use crate::time::{ms_to_ns, round_to_ns, us_to_ns};

/// Draws every column of every frame.
pub(super) fn draw_frames(scenario: &Scenario, frames: &mut Vec<FrameWork>, stop: Stop<'_>) -> Result<(), Stopped> {
    let seed = scenario.run.seed;
    let (coded_mpx, rendered_mpx) = (scenario.coded_mpx(), scenario.rendered_mpx());
    let resample_ms = match scenario.pixels.layout {
        Layout::Full => 0.0,
        Layout::Uniform { .. } | Layout::Foveated { .. } => scenario.pixels.resample_per_mpx_ms * coded_mpx,
    };
    let mut content = Complexity::new(&scenario.content, seed);
    let mut size = Size::new(scenario);
    let mut clock = ClockError::new(&scenario.clock, scenario.frame_period_ns() / 1e9, seed);
    let simulate = Cost::of_pixels(&scenario.host.simulate, rendered_mpx, seed, SIMULATE);
    let render = Cost::of_pixels(&scenario.host.render, rendered_mpx, seed, RENDER);
    let encode = Cost::of_codec(&scenario.encode.work, coded_mpx, seed, ENCODE);
    let decode = Cost::of_codec(&scenario.decode.work, coded_mpx, seed, DECODE);
    let uplink = Varying::delay(&scenario.pose.uplink, seed, Column::Uplink);
    let link_delay = Varying::delay(&scenario.link.delay, seed, Column::LinkDelay);
    let interval = match &scenario.pacing {
        Pacing::Intervals { mean_ms, spread } => Varying::new(0.0, *mean_ms, spread, seed, Column::Interval),
        Pacing::Fixed { .. } | Pacing::Adaptive { .. } => {
            Varying::new(0.0, 0.0, &Spread::Constant, seed, Column::Interval)
        }
    };
    let mut work = |frame| {
        let complexity = content.next(frame);
        let (bits, intra) = size.next(frame, complexity);
        let mbit = bits as f64 / 1e6;
        FrameWork {
            simulate_ns: ms_to_ns(simulate.ms(frame, mbit, complexity)),
            render_ns: ms_to_ns(render.ms(frame, mbit, complexity) + resample_ms),
            encode_ns: ms_to_ns(encode.ms(frame, mbit, complexity)),
            decode_ns: ms_to_ns(decode.ms(frame, mbit, complexity)),
            bits,
            uplink_ns: ms_to_ns(uplink.ms(frame)),
            link_delay_ns: ms_to_ns(link_delay.ms(frame)),
            interval_ns: ms_to_ns(interval.ms(frame)),
            clock_error_ns: us_to_ns(clock.next_us(frame)),
            intra,
        }
    };
    let count = scenario.run.frames as usize;
    frames.clear();
    frames.reserve(count);
    in_chunks(count, stop, |chunk| frames.extend(chunk.map(&mut work)))
}

/// Content complexity: log-normal of mean 1, an AR(1) in the log domain that starts in its stationary law.
struct Complexity {
    sigma: f64,
    memory: f64,
    fresh: f64,
    luck: Luck,
    /// The logarithm in units of sigma.
    level: f64,
}

impl Complexity {
    fn new(content: &Content, seed: u64) -> Self {
        Self {
            sigma: log_sigma(content.cv),
            memory: content.memory,
            fresh: (1.0 - content.memory * content.memory).sqrt(),
            luck: Luck::new(seed, Column::Content),
            level: 0.0,
        }
    }

    fn next(&mut self, frame: usize) -> f64 {
        if self.sigma == 0.0 {
            return 1.0;
        }
        let news = standard_normal(&mut self.luck.at(frame));
        self.level = if frame == 0 { news } else { self.memory * self.level + self.fresh * news };
        (self.sigma * self.level - self.sigma * self.sigma / 2.0).exp()
    }
}

/// Coded sizes, as rate control leaves them.
struct Size<'a> {
    law: Law<'a>,
    luck: Luck,
    target: f64,
    content: f64,
    intra_every: Option<usize>,
    intra_factor: f64,
    penalty: f64,
    vbv_frames: f64,
    /// Bits in the rate control's buffer.
    fullness: f64,
}

impl<'a> Size<'a> {
    fn new(scenario: &'a Scenario) -> Self {
        let stream = &scenario.stream;
        let further = f64::from(scenario.slices.count.saturating_sub(1));
        Self {
            law: Law::new(&stream.size),
            luck: Luck::new(scenario.run.seed, Column::Size),
            target: scenario.target_bits(),
            content: stream.content,
            intra_every: stream.intra.every.map(|every| every as usize),
            intra_factor: stream.intra.factor,
            penalty: 1.0 + scenario.slices.bits_penalty_pct / 100.0 * further,
            vbv_frames: stream.vbv_frames,
            fullness: 0.0,
        }
    }

    /// Bits of the next frame, and whether it is intra.
    fn next(&mut self, frame: usize, complexity: f64) -> (i64, bool) {
        let intra = frame == 0 || self.intra_every.is_some_and(|every| frame.is_multiple_of(every));
        let size = self.law.draw_at(self.luck, frame);
        let factor = if intra { self.intra_factor } else { 1.0 };
        let drawn = self.target * size * (1.0 + self.content * (complexity - 1.0)) * factor * self.penalty;
        (self.control(whole(drawn)) as i64, intra)
    }

    /// Rate control: a frame may fill the buffer but not overflow it, and has at least a tenth of the target.
    fn control(&mut self, drawn: f64) -> f64 {
        if self.vbv_frames <= 0.0 {
            return drawn;
        }
        let least = 0.1 * self.target;
        let most = f64::max(least, self.vbv_frames * self.target - self.fullness);
        let bits = whole(drawn.clamp(least, most));
        self.fullness = f64::max(0.0, self.fullness + bits - self.target);
        bits
    }
}

/// Whole bits, as `f64::round` has them without its library call.
fn whole(bits: f64) -> f64 {
    round_to_ns(bits) as f64
}

/// Error of the host's clock: a fresh error after each synchronisation, and drift since.
struct ClockError {
    error_us: f64,
    drift_ppm: f64,
    resync_s: f64,
    period_s: f64,
    luck: Luck,
    /// Synchronisation in force and the error it left \[us\].
    epoch: Option<(u64, f64)>,
}

impl ClockError {
    fn new(clock: &Clock, period_s: f64, seed: u64) -> Self {
        let Clock { error_us, drift_ppm, resync_s } = *clock;
        Self { error_us, drift_ppm, resync_s, period_s, luck: Luck::new(seed, Column::ClockError), epoch: None }
    }

    fn next_us(&mut self, frame: usize) -> f64 {
        let nominal_s = frame as f64 * self.period_s;
        let epoch = if self.resync_s > 0.0 { (nominal_s / self.resync_s) as u64 } else { 0 };
        let left_us = match self.epoch {
            Some((current, left_us)) if current == epoch => left_us,
            _ => self.error_us * standard_normal(&mut self.luck.at(epoch as usize)),
        };
        self.epoch = Some((epoch, left_us));
        let since_s = nominal_s - epoch as f64 * self.resync_s;
        let drift_us = if self.resync_s > 0.0 { self.drift_ppm * since_s } else { 0.0 };
        left_us + drift_us
    }
}

/// Columns of a stage's cost and of its stalls.
type Columns = [Column; 2];
const SIMULATE: Columns = [Column::Simulate, Column::SimulateStall];
const RENDER: Columns = [Column::Render, Column::RenderStall];
const ENCODE: Columns = [Column::Encode, Column::EncodeStall];
const DECODE: Columns = [Column::Decode, Column::DecodeStall];

/// A stage's work on a frame: `(fixed + pixels + bits) * (1 + content (c - 1)) * f + stall`.
struct Cost<'a> {
    /// Fixed and pixel cost \[ms\].
    base_ms: f64,
    per_mbit_ms: f64,
    content: f64,
    law: Law<'a>,
    luck: Luck,
    stall: Stall,
    stall_luck: Luck,
}

impl<'a> Cost<'a> {
    fn of_pixels(cost: &'a PixelCost, mpx: f64, seed: u64, [column, stall]: Columns) -> Self {
        Self {
            base_ms: cost.fixed_ms + cost.per_mpx_ms * mpx,
            per_mbit_ms: 0.0,
            content: cost.content,
            law: Law::new(&cost.spread),
            luck: Luck::new(seed, column),
            stall: cost.stall,
            stall_luck: Luck::new(seed, stall),
        }
    }

    fn of_codec(cost: &'a CodecCost, mpx: f64, seed: u64, [column, stall]: Columns) -> Self {
        Self {
            base_ms: cost.fixed_ms + cost.per_mpx_ms * mpx,
            per_mbit_ms: cost.per_mbit_ms,
            content: cost.content,
            law: Law::new(&cost.spread),
            luck: Luck::new(seed, column),
            stall: cost.stall,
            stall_luck: Luck::new(seed, stall),
        }
    }

    #[inline]
    fn ms(&self, frame: usize, mbit: f64, complexity: f64) -> f64 {
        let mean = (self.base_ms + self.per_mbit_ms * mbit) * (1.0 + self.content * (complexity - 1.0));
        let factor = self.law.draw_at(self.luck, frame);
        let stalled = self.stall.chance > 0.0;
        mean * factor + if stalled { stall_ms(self.stall, &mut self.stall_luck.at(frame)) } else { 0.0 }
    }
}

/// A time of which a part varies: `fixed + mean * draw`.
struct Varying<'a> {
    fixed_ms: f64,
    mean_ms: f64,
    law: Law<'a>,
    luck: Luck,
}

impl<'a> Varying<'a> {
    fn new(fixed_ms: f64, mean_ms: f64, spread: &'a Spread, seed: u64, column: Column) -> Self {
        // A part that is 0 needs no draw.
        let law = if mean_ms == 0.0 { Law::One } else { Law::new(spread) };
        Self { fixed_ms, mean_ms, law, luck: Luck::new(seed, column) }
    }

    fn delay(delay: &'a Delay, seed: u64, column: Column) -> Self {
        Self::new(delay.fixed_ms, delay.jitter_ms, &delay.spread, seed, column)
    }

    #[inline]
    fn ms(&self, frame: usize) -> f64 {
        let draw = self.law.draw_at(self.luck, frame);
        self.fixed_ms + self.mean_ms * draw
    }
}
