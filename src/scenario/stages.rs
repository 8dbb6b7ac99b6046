//! The pipeline's stages as a scenario describes them: display, pose, host, encoder, link, decoder.

use serde::{Deserialize, Deserializer, Serialize};

use super::spread::{
    Buffer, BufferFields, CodecCost, CodecCostFields, Compose, ComposeFields, Delay, DelayFields, PixelCost,
    PixelCostFields, Spread, Stall, WhenFull, read_over,
};

const NO_STALL: Stall = Stall { chance: 0.0, mean_ms: 0.0 };

/// Declares the reader of one field that keeps the defaults of its own place.
macro_rules! placed {
    ($reader:ident, $fields:ty, $whole:ty, $base:expr) => {
        fn $reader<'de, D: Deserializer<'de>>(deserializer: D) -> Result<$whole, D::Error> {
            read_over::<D, $fields>(deserializer, $base)
        }
    };
}
placed!(compose, ComposeFields, Compose, Display::default().compose);
placed!(uplink, DelayFields, Delay, Pose::default().uplink);
placed!(simulate, PixelCostFields, PixelCost, Host::default().simulate);
placed!(render, PixelCostFields, PixelCost, Host::default().render);
placed!(encode_work, CodecCostFields, CodecCost, Encode::default().work);
placed!(encode_buffer, BufferFields, Buffer, Encode::default().buffer);
placed!(link_delay, DelayFields, Delay, Link::default().delay);
placed!(link_buffer, BufferFields, Buffer, Link::default().buffer);
placed!(decode_work, CodecCostFields, CodecCost, Decode::default().work);
placed!(decode_buffer, BufferFields, Buffer, Decode::default().buffer);

/// The display of the worn device and its compositor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Display {
    /// Refreshes per second \[Hz\].
    pub refresh_hz: f64,
    /// Rendered size of one eye's picture, width and height \[px\].
    pub eye_px: (u32, u32),
    /// Eyes with a picture of their own, 1 or 2.
    pub eyes: u32,
    /// Field of view of one eye, horizontal and vertical \[deg\].
    pub fov_deg: (f64, f64),
    /// How long before vsync the compositor takes its frame \[ms\].
    pub latch_lead_ms: f64,
    /// How the panel lights.
    pub light: Light,
    /// Time the panel takes to fill from first to last row \[ms\].
    pub scanout_ms: f64,
    /// Time the light of a row is on \[ms\].
    pub persistence_ms: f64,
    /// Which ready frame the compositor takes.
    pub choose: Choose,
    /// Late correction and composition.
    #[serde(deserialize_with = "compose")]
    pub compose: Compose,
}

impl Default for Display {
    fn default() -> Self {
        Self {
            refresh_hz: 90.0,
            eye_px: (2048, 2176),
            eyes: 2,
            fov_deg: (100.0, 96.0),
            latch_lead_ms: 4.0,
            light: Light::Global,
            scanout_ms: 9.0,
            persistence_ms: 1.0,
            choose: Choose::Newest,
            compose: Compose {
                fixed_ms: 2.0,
                spread: Spread::Normal { cv: 0.1, low: 0.5, high: 1.5 },
                stall: Stall { chance: 0.001, mean_ms: 1.0 },
            },
        }
    }
}

/// How the panel lights.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Light {
    /// The panel fills, then flashes whole.
    Global,
    /// Each row lights as it is filled.
    Rolling,
}

/// Which ready frame the compositor takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Choose {
    /// The newest.
    Newest,
    /// The newest whose target refresh has come.
    OnTarget,
}

/// Head pose: sampled on the device, sent up to the host.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Pose {
    /// Pose samples per second \[Hz\].
    pub rate_hz: f64,
    /// Time from a sample to a pose that can be used \[ms\].
    pub processing_ms: f64,
    /// When the host takes the pose of a frame.
    pub taken: Taken,
    /// The way from the device to the host.
    #[serde(deserialize_with = "uplink")]
    pub uplink: Delay,
}

impl Default for Pose {
    fn default() -> Self {
        Self {
            rate_hz: 1000.0,
            processing_ms: 1.0,
            taken: Taken::AtSimulate,
            uplink: Delay { fixed_ms: 0.3, jitter_ms: 0.05, spread: Spread::Exponential },
        }
    }
}

/// When the host takes the pose of a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Taken {
    /// At the start of simulate.
    AtSimulate,
    /// At the start of render.
    AtRender,
}

/// The host's processor and graphics processor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Host {
    /// Simulation of a frame on the CPU.
    #[serde(deserialize_with = "simulate")]
    pub simulate: PixelCost,
    /// Rendering of a frame on the GPU.
    #[serde(deserialize_with = "render")]
    pub render: PixelCost,
    /// Parts a frame is rendered in; slices go to the encoder at the end of their part.
    pub parts: u32,
    /// Frames allowed between the start of simulate and the last slice out of the encoder.
    pub frames_in_flight: u32,
}

impl Default for Host {
    fn default() -> Self {
        let cost = |fixed_ms, per_mpx_ms, content, cv| PixelCost {
            fixed_ms,
            per_mpx_ms,
            content,
            spread: Spread::LogNormal { cv },
            stall: NO_STALL,
        };
        Self { simulate: cost(2.0, 0.0, 0.5, 0.15), render: cost(0.5, 0.6, 1.0, 0.05), parts: 1, frames_in_flight: 2 }
    }
}

/// The encoder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Encode {
    /// Work of a frame, overheads aside.
    #[serde(deserialize_with = "encode_work")]
    pub work: CodecCost,
    /// Extra time of a frame's first slice \[ms\].
    pub frame_overhead_ms: f64,
    /// Extra time of every slice \[ms\].
    pub slice_overhead_ms: f64,
    /// Time from the end of service until a slice comes out \[ms\].
    pub pipeline_ms: f64,
    /// Engines that work side by side.
    pub engines: u32,
    /// When slices move on to the link.
    pub hand_off: HandOff,
    /// Waiting room before the encoder.
    #[serde(deserialize_with = "encode_buffer")]
    pub buffer: Buffer,
}

impl Default for Encode {
    fn default() -> Self {
        Self {
            work: CodecCost {
                fixed_ms: 0.0,
                per_mpx_ms: 0.5,
                per_mbit_ms: 0.1,
                content: 0.3,
                spread: Spread::LogNormal { cv: 0.03 },
                stall: NO_STALL,
            },
            frame_overhead_ms: 0.3,
            slice_overhead_ms: 0.12,
            pipeline_ms: 0.0,
            engines: 1,
            hand_off: HandOff::Slice,
            buffer: Buffer { frames: Some(1), when_full: WhenFull::DropOldest },
        }
    }
}

/// When slices move on to the next stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum HandOff {
    /// Each when it is done.
    Slice,
    /// All when the frame's last one is done.
    Frame,
}

/// The link from host to device.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Link {
    /// Rate on the wire \[Mbit/s\].
    pub rate_mbps: f64,
    /// Extra time of every unit sent \[ms\].
    pub unit_overhead_ms: f64,
    /// Payload of a packet \[bytes\].
    pub packet_payload_bytes: u32,
    /// Header of a packet \[bytes\].
    pub packet_header_bytes: u32,
    /// Propagation \[us\].
    pub propagation_us: f64,
    /// Delay after sending.
    #[serde(deserialize_with = "link_delay")]
    pub delay: Delay,
    /// When slices move on to the decoder.
    pub hand_off: HandOff,
    /// Probability that a packet is lost, 0 to 0.5.
    pub loss: f64,
    /// Times in which nothing gets through.
    pub closures: Closures,
    /// What is done about lost packets.
    pub repair: Repair,
    /// Waiting room before the link.
    #[serde(deserialize_with = "link_buffer")]
    pub buffer: Buffer,
}

impl Default for Link {
    fn default() -> Self {
        Self {
            rate_mbps: 2400.0,
            unit_overhead_ms: 0.02,
            packet_payload_bytes: 1400,
            packet_header_bytes: 66,
            propagation_us: 0.1,
            delay: Delay { fixed_ms: 0.1, jitter_ms: 0.05, spread: Spread::Exponential },
            hand_off: HandOff::Slice,
            loss: 0.0,
            closures: Closures::default(),
            repair: Repair::Nothing,
            buffer: Buffer { frames: Some(2), when_full: WhenFull::DropOldest },
        }
    }
}

/// Times in which the link is closed: Poisson starts, exponential lengths.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Closures {
    /// Mean number per minute.
    pub per_minute: f64,
    /// Mean length \[ms\].
    pub mean_ms: f64,
    /// What happens to the unit being sent.
    pub effect: Effect,
}

impl Default for Closures {
    fn default() -> Self {
        Self { per_minute: 0.0, mean_ms: 8.0, effect: Effect::Hold }
    }
}

/// What a closure does to the unit being sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Effect {
    /// Sending stops and goes on afterwards.
    Hold,
    /// Sending goes on, packets sent meanwhile are lost.
    Lose,
}

/// What is done about lost packets.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Repair {
    /// The frame is lost.
    Nothing,
    /// Lost packets are sent again on request.
    Resend {
        /// Times at most for one slice.
        tries: u32,
    },
    /// Every slice carries parity packets.
    Parity {
        /// Parity packets per packet \[%\].
        overhead_pct: f64,
    },
}

/// The decoder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Decode {
    /// Work of a frame, overheads aside.
    #[serde(deserialize_with = "decode_work")]
    pub work: CodecCost,
    /// Extra time of a frame's first slice \[ms\].
    pub frame_overhead_ms: f64,
    /// Extra time of every slice \[ms\].
    pub slice_overhead_ms: f64,
    /// Time from the end of service until a slice comes out \[ms\].
    pub pipeline_ms: f64,
    /// Engines that work side by side.
    pub engines: u32,
    /// Waiting room before the decoder.
    #[serde(deserialize_with = "decode_buffer")]
    pub buffer: Buffer,
}

impl Default for Decode {
    fn default() -> Self {
        Self {
            work: CodecCost {
                fixed_ms: 0.0,
                per_mpx_ms: 0.6,
                per_mbit_ms: 0.4,
                content: 0.3,
                spread: Spread::LogNormal { cv: 0.05 },
                stall: NO_STALL,
            },
            frame_overhead_ms: 0.4,
            slice_overhead_ms: 0.15,
            pipeline_ms: 0.0,
            engines: 1,
            buffer: Buffer { frames: Some(1), when_full: WhenFull::DropOldest },
        }
    }
}
