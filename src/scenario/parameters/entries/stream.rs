//! What is coded and sent: pixels, slices, encoder, stream, link.

use super::super::list::{CONTENT, ENGINES, List, OVERHEAD, PER_MPX, PIPELINE};
use super::super::range::{Bound, Numeric};
use super::super::unit::Unit;
use super::super::way::{Way, inside, way};
use crate::scenario::{Layout, References, Repair, Shape};

/// Pixel layout.
pub(super) fn pixels(list: &mut List) {
    let layout: Way<Layout> = way!(pixels.layout);
    list.choice(
        "pixels.layout",
        layout.clone(),
        "Layout",
        "How many pixels are coded, and where: as displayed, each axis scaled, or dense only at the centre.",
    )
    .common();
    list.number(
        "pixels.layout.scale",
        inside!(layout, Layout::Uniform { scale } => scale),
        Numeric::new(Unit::NONE, 0.25, 1.5),
        "Scale",
        "Linear scale of each axis.",
    )
    .common()
    .only_while("pixels.layout is Uniform");
    list.number(
        "pixels.layout.center",
        inside!(layout, Layout::Foveated { center, .. } => center),
        Numeric::new(Unit::SHARE, 0.05, 1.0),
        "Centre",
        "Central share of each axis at full density.",
    )
    .only_while("pixels.layout is Foveated");
    list.number(
        "pixels.layout.edge_density",
        inside!(layout, Layout::Foveated { edge_density, .. } => edge_density),
        Numeric::new(Unit::NONE, 0.1, 1.0),
        "Edge density",
        "Linear density at the edge, the centre's being 1.",
    )
    .only_while("pixels.layout is Foveated");
    list.number(
        "pixels.resample_per_mpx_ms",
        way!(pixels.resample_per_mpx_ms),
        PER_MPX,
        "Resample per Mpx",
        "GPU time to resample a million coded pixels, where the layout is not full.",
    );
}

/// Slices.
pub(super) fn slices(list: &mut List) {
    list.number(
        "slices.count",
        way!(slices.count),
        Numeric::count(Unit::NONE, 1.0, 64.0).bound(Bound::BlockRows),
        "Slices",
        "Slices, bands of rows, that a frame is cut into.",
    )
    .common();
    let shape: Way<Shape> = way!(slices.shape);
    list.choice("slices.shape", shape.clone(), "Shape", "Relative sizes of a frame's slices.");
    list.number(
        "slices.shape.ratio",
        inside!(shape, Shape::Geometric { ratio } => ratio),
        Numeric::new(Unit::NONE, 0.05, 20.0).log(0.05),
        "Shape: ratio",
        "Size of a slice over that of the one before.",
    )
    .only_while("slices.shape is Geometric");
    list.list(
        "slices.shape.weights",
        inside!(shape, Shape::Weights(weights) => weights),
        Numeric::new(Unit::NONE, 0.0, 1e6),
        "Shape: weights",
        "Relative sizes of the slices, one each.",
    )
    .only_while("slices.shape is Weights");
    list.number(
        "slices.block_px",
        way!(slices.block_px),
        Numeric::count(Unit::PX, 1.0, 64.0).only(&[1.0, 16.0, 32.0, 64.0]),
        "Block height",
        "Height of a row of coding blocks: slices are cut between rows.",
    );
    list.number(
        "slices.spread_cv",
        way!(slices.spread_cv),
        Numeric::new(Unit::NONE, 0.0, 1.0),
        "Share spread: cv",
        "Spread of bits per row between a frame's slices; 0 is none.",
    );
    list.number(
        "slices.bits_penalty_pct",
        way!(slices.bits_penalty_pct),
        Numeric::new(Unit::PERCENT, 0.0, 5.0),
        "Bits penalty",
        "More bits per further slice for the same quality.",
    );
}

/// The encoder.
pub(super) fn encode(list: &mut List) {
    list.codec_cost("encode.work", &way!(encode.work), "encode");
    list.number(
        "encode.frame_overhead_ms",
        way!(encode.frame_overhead_ms),
        OVERHEAD,
        "Frame overhead",
        "Extra time to encode a frame's first slice.",
    );
    list.number(
        "encode.slice_overhead_ms",
        way!(encode.slice_overhead_ms),
        OVERHEAD,
        "Slice overhead",
        "Extra time to encode every slice.",
    )
    .common();
    list.number(
        "encode.pipeline_ms",
        way!(encode.pipeline_ms),
        PIPELINE,
        "Pipeline",
        "Time from the end of service until a slice comes out of the encoder.",
    );
    list.number("encode.engines", way!(encode.engines), ENGINES, "Engines", "Encode engines that work side by side.");
    list.choice(
        "encode.hand_off",
        way!(encode.hand_off),
        "Hand-off",
        "When slices move on to the link: each when done, or all when the frame's last is done.",
    );
    list.buffer("encode.buffer", &way!(encode.buffer), "encoder", Some("renderer"));
}

/// Coded stream.
pub(super) fn stream(list: &mut List) {
    list.choice("stream.codec", way!(stream.codec), "Codec", "Video codec; its standard's levels set limits.");
    list.number(
        "stream.bitrate_mbps",
        way!(stream.bitrate_mbps),
        Numeric::new(Unit::MBPS, 0.1, 5000.0).log(0.1).usually(1.0, 2000.0),
        "Bitrate",
        "Target bitrate of the coded stream.",
    )
    .common();
    list.number(
        "stream.content",
        way!(stream.content),
        CONTENT,
        "Content strength",
        "How strongly content complexity scales the bits of a frame: 0 not, 1 in proportion.",
    );
    list.spread("stream.size", &way!(stream.size), "Frame size", "the bits of a frame");
    list.number(
        "stream.vbv_frames",
        way!(stream.vbv_frames),
        Numeric::new(Unit::FRAMES, 1.0, 60.0).or_zero("off").step(0.1),
        "Rate control buffer",
        "Buffer of the rate control, in frames of target size.",
    );
    list.number_or_none(
        "stream.intra.every",
        way!(stream.intra.every),
        Numeric::count(Unit::FRAMES, 1.0, 100_000.0).log(1.0).usually(1.0, 10_000.0),
        "only the first",
        "Intra frames",
        "One intra frame every so many frames.",
    );
    list.number(
        "stream.intra.factor",
        way!(stream.intra.factor),
        Numeric::new(Unit::NONE, 1.0, 10.0),
        "Intra factor",
        "Bits of an intra frame over those of another.",
    );
    list.number(
        "stream.slice_header_bytes",
        way!(stream.slice_header_bytes),
        Numeric::count(Unit::BYTES, 0.0, 10_000.0).usually(0.0, 500.0),
        "Slice header",
        "Bytes added to every slice.",
    );
    let references: Way<References> = way!(stream.references);
    list.choice(
        "stream.references",
        references.clone(),
        "References",
        "What a slice needs of earlier frames before an engine may begin it: all of them, bands nearby, nothing.",
    );
    list.number(
        "stream.references.reach",
        inside!(references, References::Bands { reach } => reach),
        Numeric::count(Unit::NONE, 0.0, 63.0),
        "References: reach",
        "Slices beyond its own that a slice refers to in earlier frames.",
    )
    .only_while("stream.references is Bands");
    list.choice(
        "stream.after_missing",
        way!(stream.after_missing),
        "After a missing frame",
        "What happens after a frame goes missing: the decoder conceals it, or an intra frame is asked for.",
    );
}

/// Link.
pub(super) fn link(list: &mut List) {
    list.number(
        "link.rate_mbps",
        way!(link.rate_mbps),
        Numeric::new(Unit::MBPS, 1.0, 100_000.0).log(1.0).usually(10.0, 10_000.0),
        "Rate",
        "Rate on the wire.",
    )
    .common();
    list.number(
        "link.unit_overhead_ms",
        way!(link.unit_overhead_ms),
        OVERHEAD,
        "Unit overhead",
        "Extra time of every unit sent: a slice or a resend.",
    );
    list.number(
        "link.packet_payload_bytes",
        way!(link.packet_payload_bytes),
        Numeric::count(Unit::BYTES, 64.0, 65_000.0).log(64.0),
        "Packet payload",
        "Payload of a packet.",
    );
    list.number(
        "link.packet_header_bytes",
        way!(link.packet_header_bytes),
        Numeric::count(Unit::BYTES, 0.0, 1000.0).usually(0.0, 200.0),
        "Packet header",
        "Header of a packet, on the wire with its payload.",
    );
    list.number(
        "link.propagation_us",
        way!(link.propagation_us),
        Numeric::new(Unit::US, 0.0, 10_000.0).log(0.01),
        "Propagation",
        "Time of flight; about 5 us for each km of fibre.",
    );
    list.delay("link.delay", &way!(link.delay), "Delay", "slice sent");
    if let Some(jitter) = list.parameters.iter_mut().find(|parameter| parameter.path == "link.delay.jitter_ms") {
        jitter.common();
    }
    list.choice(
        "link.hand_off",
        way!(link.hand_off),
        "Hand-off",
        "When slices move on to the decoder: each when delivered, or all when the frame's last is.",
    );
    list.number(
        "link.loss",
        way!(link.loss),
        Numeric::new(Unit::SHARE, 0.0, 0.5).log(1e-6).step(1e-6),
        "Loss",
        "Probability that a packet is lost.",
    );
    list.number(
        "link.closures.per_minute",
        way!(link.closures.per_minute),
        Numeric::new(Unit::PER_MINUTE, 0.0, 600.0).log(0.1).step(0.1),
        "Closures",
        "Mean number of times a minute in which nothing gets through.",
    );
    list.number(
        "link.closures.mean_ms",
        way!(link.closures.mean_ms),
        Numeric::new(Unit::MS, 0.1, 5000.0).log(0.1).step(0.1),
        "Closures: length",
        "Mean length of a closure.",
    );
    list.choice(
        "link.closures.effect",
        way!(link.closures.effect),
        "Closures: effect",
        "What a closure does to the unit being sent: it waits, or packets sent meanwhile are lost.",
    );
    repair(list);
    list.buffer("link.buffer", &way!(link.buffer), "link", Some("encoder"));
}

fn repair(list: &mut List) {
    let repair: Way<Repair> = way!(link.repair);
    list.choice("link.repair", repair.clone(), "Repair", "What is done about lost packets.");
    list.number(
        "link.repair.tries",
        inside!(repair, Repair::Resend { tries } => tries),
        Numeric::count(Unit::NONE, 1.0, 10.0),
        "Repair: tries",
        "Times at most that the lost packets of a slice are sent again.",
    )
    .only_while("link.repair is Resend");
    list.number(
        "link.repair.overhead_pct",
        inside!(repair, Repair::Parity { overhead_pct } => overhead_pct),
        Numeric::new(Unit::PERCENT, 0.0, 100.0).step(0.5),
        "Repair: parity",
        "Parity packets per packet.",
    )
    .only_while("link.repair is Parity");
}
