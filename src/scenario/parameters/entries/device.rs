//! What happens on the worn device: pose, decoder, display, and the wearer's motion.

use super::super::list::{COST, ENGINES, List, OVERHEAD, PIPELINE};
use super::super::range::{Bound, Numeric};
use super::super::unit::Unit;
use super::super::way::{field, way};

/// Head pose and its way up.
pub(super) fn pose(list: &mut List) {
    list.number(
        "pose.rate_hz",
        way!(pose.rate_hz),
        Numeric::new(Unit::HZ, 30.0, 8000.0).log(30.0).step(1.0),
        "Rate",
        "Pose samples per second.",
    );
    list.number(
        "pose.processing_ms",
        way!(pose.processing_ms),
        COST,
        "Processing",
        "Time from a sample to a pose that can be used.",
    );
    list.choice("pose.taken", way!(pose.taken), "Taken", "When the host takes the pose of a frame.");
    list.delay("pose.uplink", &way!(pose.uplink), "Uplink", "message from device to host");
}

/// The decoder.
pub(super) fn decode(list: &mut List) {
    list.codec_cost("decode.work", &way!(decode.work), "decode");
    list.number(
        "decode.frame_overhead_ms",
        way!(decode.frame_overhead_ms),
        OVERHEAD,
        "Frame overhead",
        "Extra time to decode a frame's first slice.",
    );
    list.number(
        "decode.slice_overhead_ms",
        way!(decode.slice_overhead_ms),
        OVERHEAD,
        "Slice overhead",
        "Extra time to decode every slice.",
    )
    .common();
    list.number(
        "decode.pipeline_ms",
        way!(decode.pipeline_ms),
        PIPELINE,
        "Pipeline",
        "Time from the end of service until a slice comes out of the decoder.",
    );
    list.number("decode.engines", way!(decode.engines), ENGINES, "Engines", "Decode engines that work side by side.");
    // The host cannot see this buffer, so nothing before it can hold back.
    list.buffer("decode.buffer", &way!(decode.buffer), "decoder", None);
    if let Some(frames) = list.parameters.iter_mut().find(|parameter| parameter.path == "decode.buffer.frames") {
        frames.common();
    }
}

/// Display and compositor.
pub(super) fn display(list: &mut List) {
    list.number(
        "display.refresh_hz",
        way!(display.refresh_hz),
        Numeric::new(Unit::HZ, 30.0, 240.0).step(1.0),
        "Refresh rate",
        "Refreshes per second.",
    )
    .common();
    let size = Numeric::count(Unit::PX, 320.0, 8192.0).usually(640.0, 4096.0).step(2.0);
    list.number(
        "display.eye_px.width",
        way!(display.eye_px.0),
        size,
        "Eye width",
        "Rendered width of one eye's picture.",
    )
    .unnamed();
    list.number(
        "display.eye_px.height",
        way!(display.eye_px.1),
        size,
        "Eye height",
        "Rendered height of one eye's picture.",
    )
    .unnamed();
    list.number(
        "display.eyes",
        way!(display.eyes),
        Numeric::count(Unit::NONE, 1.0, 2.0),
        "Eyes",
        "Eyes with a picture of their own.",
    );
    let fov = Numeric::new(Unit::DEG, 20.0, 200.0).step(0.5);
    list.number(
        "display.fov_deg.horizontal",
        way!(display.fov_deg.0),
        fov,
        "Field of view, horizontal",
        "Horizontal field of view of one eye.",
    )
    .unnamed();
    list.number(
        "display.fov_deg.vertical",
        way!(display.fov_deg.1),
        fov,
        "Field of view, vertical",
        "Vertical field of view of one eye.",
    )
    .unnamed();
    let up_to =
        |periods| Numeric::new(Unit::MS, 0.0, f64::INFINITY).usually(0.0, 34.0).bound(Bound::RefreshPeriods(periods));
    list.number(
        "display.latch_lead_ms",
        way!(display.latch_lead_ms),
        up_to(2.0),
        "Latch lead",
        "How long before vsync the compositor takes its frame.",
    )
    .common();
    list.choice(
        "display.light",
        way!(display.light),
        "Light",
        "How the panel lights: whole in a flash, or row by row.",
    );
    list.number(
        "display.scanout_ms",
        way!(display.scanout_ms),
        up_to(1.0),
        "Scanout",
        "Time the panel takes to fill from first to last row.",
    );
    list.number(
        "display.persistence_ms",
        way!(display.persistence_ms),
        up_to(1.0),
        "Persistence",
        "Time the light of a row is on.",
    );
    list.choice(
        "display.choose",
        way!(display.choose),
        "Choose",
        "Which ready frame the compositor takes: the newest, or the newest whose target refresh has come.",
    );
    let compose = way!(display.compose);
    list.number(
        "display.compose.fixed_ms",
        field!(compose, fixed_ms),
        COST,
        "Compose",
        "Mean time of late correction and composition, once a refresh.",
    );
    let spread = field!(compose, spread);
    list.spread("display.compose.spread", &spread, "Compose: spread", "the time to compose");
    list.stall("display.compose.stall", &field!(compose, stall), "a refresh's composition");
}

/// Motion of the wearer.
pub(super) fn motion(list: &mut List) {
    list.number(
        "motion.head_deg_per_s",
        way!(motion.head_deg_per_s),
        Numeric::new(Unit::DEG_PER_S, 0.0, 1000.0).usually(0.0, 400.0).step(1.0),
        "Head rotation",
        "Speed of head rotation that left-over rotation and the guard band are told for.",
    );
    list.number(
        "motion.head_deg_per_s2",
        way!(motion.head_deg_per_s2),
        Numeric::new(Unit::DEG_PER_S2, 0.0, 20_000.0).usually(0.0, 5000.0).step(10.0),
        "Head angular acceleration",
        "Acceleration of head rotation: what prediction cannot know.",
    );
    list.number(
        "motion.move_m_per_s",
        way!(motion.move_m_per_s),
        Numeric::new(Unit::M_PER_S, 0.0, 5.0),
        "Head translation",
        "Speed of head translation that left-over parallax is told for.",
    );
    list.number(
        "motion.move_m_per_s2",
        way!(motion.move_m_per_s2),
        Numeric::new(Unit::M_PER_S2, 0.0, 50.0).step(0.1),
        "Head acceleration",
        "Acceleration of head translation: what prediction cannot know.",
    );
    list.number(
        "motion.nearest_m",
        way!(motion.nearest_m),
        Numeric::new(Unit::M, 0.1, 100.0).log(0.1),
        "Nearest thing",
        "Distance of the nearest thing seen: parallax is largest there.",
    );
    list.switch("motion.predict", way!(motion.predict), "Predict", "Whether poses are predicted to their photons.");
}
