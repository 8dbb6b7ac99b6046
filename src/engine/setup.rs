//! A scenario as the engine needs it: whole nanoseconds, counts and switches.

use crate::scenario::{
    AfterMissing, Buffer, Choose, Effect, HandOff, Lead, Pacing, References, Repair, Scenario, Taken, WhenFull,
};
use crate::time::{ms_to_ns, round_to_ns, us_to_ns};
use crate::work::WorkTable;
use crate::work::units::Packing;

/// Lead of the pilot run, and of a run for which no lead meets the share \[ns\].
pub(super) const PILOT_LEAD_NS: i64 = 60_000_000;

/// Everything about a scenario that stays the same during a run.
#[derive(Debug, Clone)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of the scenario")]
pub(super) struct Setup {
    pub frames: usize,
    pub warmup: usize,
    pub slices: usize,
    /// Whether nothing can come between the slices of a frame, so that it goes through each stage at one stride.
    pub strides: bool,
    pub parts: usize,
    pub frames_in_flight: u32,
    pub pose_at_render: bool,
    pub encode: CodecSetup,
    pub encode_hands_on_frames: bool,
    pub link: LinkSetup,
    pub packing: Packing,
    pub decode: CodecSetup,
    pub slice_header_bytes: i64,
    pub intra_factor: f64,
    /// Most bits of an intra frame on request; none without rate control.
    pub intra_limit_bits: Option<i64>,
    pub request_intra: bool,
    /// Whether something hangs on the instant at which a frame is ready, beside the next latch.
    pub ready_is_told: bool,
    /// A compositor that takes longer than this misses \[ns\].
    pub compose_limit_ns: f64,
    pub on_target: bool,
    pub pacing: PacingSetup,
}

/// Encoder or decoder.
#[derive(Debug, Clone, Copy)]
pub(super) struct CodecSetup {
    pub frame_overhead_ns: i64,
    pub slice_overhead_ns: i64,
    pub pipeline_ns: i64,
    pub engines: usize,
    /// One engine and no pipeline: a slice comes out at the instant at which its service ends.
    pub direct: bool,
    pub references: References,
    pub buffer: BufferSetup,
}

/// Waiting room.
#[derive(Debug, Clone, Copy)]
pub(super) struct BufferSetup {
    /// Frames that may wait.
    pub frames: u32,
    pub when_full: WhenFull,
}

/// The link.
#[derive(Debug, Clone, Copy)]
pub(super) struct LinkSetup {
    pub propagation_ns: i64,
    pub hands_on_frames: bool,
    pub closures_lose: bool,
    pub repair: Repair,
    pub buffer: BufferSetup,
}

/// When frames are planned.
#[derive(Debug, Clone, Copy)]
pub(super) enum PacingSetup {
    /// For every so-manyth refresh.
    Targets {
        /// Lead of the first plan \[ns\].
        start_lead_ns: i64,
        /// Refreshes per frame.
        every: u32,
        /// How the lead follows the device's word.
        adapt: Option<Adapt>,
    },
    /// At the table's intervals.
    Intervals,
}

/// How an adaptive lead moves \[ns\].
#[derive(Debug, Clone, Copy)]
#[expect(clippy::struct_field_names, reason = "the unit belongs to the name")]
pub(super) struct Adapt {
    pub min_ns: i64,
    pub max_ns: i64,
    pub step_ns: i64,
    /// Step down after the first late word.
    pub down_ns: i64,
}

impl Setup {
    /// The setup of a checked scenario on a table; a tuned lead starts as the pilot's. Frames go at one stride where
    /// they may and nothing can come between their slices.
    pub(super) fn new(scenario: &Scenario, table: &WorkTable, may_stride: bool) -> Self {
        let Scenario { display, pose, host, slices, encode, stream, link, decode, run, .. } = scenario;
        let codec = |frame_ms: f64, slice_ms: f64, pipeline_ms: f64, engines: u32, buffer: Buffer| CodecSetup {
            frame_overhead_ns: ms_to_ns(frame_ms),
            slice_overhead_ns: ms_to_ns(slice_ms),
            pipeline_ns: ms_to_ns(pipeline_ms),
            engines: engines as usize,
            direct: engines == 1 && ms_to_ns(pipeline_ms) == 0,
            references: stream.references,
            buffer: buffer_setup(buffer),
        };
        let mut setup = Self {
            frames: run.frames as usize,
            warmup: run.warmup as usize,
            slices: slices.count as usize,
            strides: false,
            parts: host.parts as usize,
            frames_in_flight: host.frames_in_flight,
            pose_at_render: pose.taken == Taken::AtRender,
            encode: codec(
                encode.frame_overhead_ms,
                encode.slice_overhead_ms,
                encode.pipeline_ms,
                encode.engines,
                encode.buffer,
            ),
            encode_hands_on_frames: encode.hand_off == HandOff::Frame,
            link: LinkSetup {
                propagation_ns: us_to_ns(link.propagation_us),
                hands_on_frames: link.hand_off == HandOff::Frame,
                closures_lose: link.closures.effect == Effect::Lose,
                repair: link.repair,
                buffer: buffer_setup(link.buffer),
            },
            packing: Packing::new(scenario),
            decode: codec(
                decode.frame_overhead_ms,
                decode.slice_overhead_ms,
                decode.pipeline_ms,
                decode.engines,
                decode.buffer,
            ),
            slice_header_bytes: i64::from(stream.slice_header_bytes),
            intra_factor: stream.intra.factor,
            intra_limit_bits: (stream.vbv_frames > 0.0)
                .then(|| (stream.vbv_frames * scenario.target_bits()).floor() as i64),
            ready_is_told: stream.after_missing == AfterMissing::RequestIntra
                || matches!(scenario.pacing, Pacing::Adaptive { .. }),
            request_intra: stream.after_missing == AfterMissing::RequestIntra,
            compose_limit_ns: (ms_to_ns(display.latch_lead_ms) as f64).min(scenario.refresh_period_ns()),
            on_target: display.choose == Choose::OnTarget,
            pacing: pacing_setup(&scenario.pacing),
        };
        setup.strides = may_stride && setup.one_stride(table);
        setup
    }
}

impl Setup {
    /// Whether nothing can come between the slices of a frame.
    fn one_stride(&self, table: &WorkTable) -> bool {
        let lossless = table.losses.rows().is_empty() && (table.closures.is_empty() || !self.link.closures_lose);
        self.encode.direct && self.decode.direct && self.parts == 1 && lossless
    }
}

fn buffer_setup(buffer: Buffer) -> BufferSetup {
    BufferSetup { frames: buffer.frames.unwrap_or(u32::MAX), when_full: buffer.when_full }
}

fn pacing_setup(pacing: &Pacing) -> PacingSetup {
    match *pacing {
        Pacing::Fixed { lead, every } => {
            let start_lead_ns = match lead {
                Lead::Ms(ms) => ms_to_ns(ms),
                Lead::Tuned { .. } => PILOT_LEAD_NS,
            };
            PacingSetup::Targets { start_lead_ns, every, adapt: None }
        }
        Pacing::Adaptive { start_ms, min_ms, max_ms, step_ms, late_target, every } => {
            let step_ns = ms_to_ns(step_ms);
            PacingSetup::Targets {
                start_lead_ns: ms_to_ns(start_ms),
                every,
                adapt: Some(Adapt {
                    min_ns: ms_to_ns(min_ms),
                    max_ns: ms_to_ns(max_ms),
                    step_ns,
                    down_ns: round_to_ns(step_ns as f64 * late_target / (1.0 - late_target)),
                }),
            }
        }
        Pacing::Intervals { .. } => PacingSetup::Intervals,
    }
}
