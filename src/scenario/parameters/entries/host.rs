//! What happens on the host before the encoder: pacing, clock, content, simulate, render.

use super::super::list::List;
use super::super::range::Numeric;
use super::super::unit::Unit;
use super::super::way::{Way, inside, way};
use crate::scenario::{Lead, Pacing, Spread};

const LEAD: Numeric = Numeric::new(Unit::MS, 1.0, 200.0).usually(1.0, 100.0).step(0.1);
const SHARE_LATE: Numeric = Numeric::new(Unit::SHARE, 0.001, 0.5).log(0.001).step(0.001);

/// When frames are planned.
pub(super) fn pacing(list: &mut List) {
    let pacing: Way<Pacing> = way!(pacing);
    let (fixed, intervals, adaptive) = ("pacing is Fixed", "pacing is Intervals", "pacing is Adaptive");
    list.choice(
        "pacing",
        pacing.clone(),
        "Pacing",
        "When the host plans frames: a lead before their latch, at intervals of its own, or a lead that adapts.",
    );
    let lead: Way<Lead> = inside!(pacing, Pacing::Fixed { lead, .. } => lead);
    list.choice(
        "pacing.lead",
        lead.clone(),
        "Lead",
        "How long before its latch a frame is planned: so many ms, or the least lead with so many late frames.",
    )
    .common()
    .only_while(fixed);
    list.number("pacing.lead.ms", inside!(lead, Lead::Ms(ms) => ms), LEAD, "Lead: time", "Time from plan to latch.")
        .common()
        .unnamed()
        .only_while("pacing.lead is Ms");
    let late_share = inside!(lead, Lead::Tuned { late_share } => late_share);
    list.number(
        "pacing.lead.late_share",
        late_share,
        SHARE_LATE,
        "Lead: late share",
        "Share of late frames that the lead is tuned to.",
    )
    .only_while("pacing.lead is Tuned");
    list.number(
        "pacing.every",
        inside!(pacing, Pacing::Fixed { every, .. } | Pacing::Adaptive { every, .. } => every),
        Numeric::count(Unit::NONE, 1.0, 8.0),
        "Refreshes per frame",
        "One frame for every so many refreshes.",
    )
    .only_while("pacing is Fixed or Adaptive");
    list.number(
        "pacing.mean_ms",
        inside!(pacing, Pacing::Intervals { mean_ms, .. } => mean_ms),
        Numeric::new(Unit::MS, 1.0, 1000.0).log(1.0),
        "Interval",
        "Mean time from plan to plan.",
    )
    .only_while(intervals);
    let spread: Way<Spread> = inside!(pacing, Pacing::Intervals { spread, .. } => spread);
    list.spread("pacing.spread", &spread, "Interval: spread", "the time from plan to plan");
    if let Some(spread) = list.parameters.iter_mut().find(|parameter| parameter.path == "pacing.spread") {
        spread.only_while(intervals);
    }
    adaptive_lead(list, &pacing, adaptive);
}

fn adaptive_lead(list: &mut List, pacing: &Way<Pacing>, adaptive: &str) {
    let mut add = |path: &str, way: Way<f64>, numeric, label: &str, meaning: &str| {
        list.number(path, way, numeric, label, meaning).only_while(adaptive);
    };
    let start = inside!(pacing, Pacing::Adaptive { start_ms, .. } => start_ms);
    add("pacing.start_ms", start, LEAD, "First lead", "Lead that the run starts with.");
    let min = inside!(pacing, Pacing::Adaptive { min_ms, .. } => min_ms);
    add("pacing.min_ms", min, LEAD, "Least lead", "The lead never shrinks below this.");
    let max = inside!(pacing, Pacing::Adaptive { max_ms, .. } => max_ms);
    add("pacing.max_ms", max, LEAD, "Greatest lead", "The lead never grows beyond this.");
    let step = inside!(pacing, Pacing::Adaptive { step_ms, .. } => step_ms);
    let step_range = Numeric::new(Unit::MS, 0.001, 10.0).log(0.001).step(0.001);
    add("pacing.step_ms", step, step_range, "Lead step", "Growth of the lead at a late frame.");
    let target = inside!(pacing, Pacing::Adaptive { late_target, .. } => late_target);
    add(
        "pacing.late_target",
        target,
        SHARE_LATE,
        "Late share aimed at",
        "Share of late frames that the lead settles at.",
    );
}

/// Host clock.
pub(super) fn clock(list: &mut List) {
    list.number(
        "clock.error_us",
        way!(clock.error_us),
        Numeric::new(Unit::US, 0.0, 20_000.0).log(1.0).step(1.0),
        "Error",
        "Standard deviation of the host clock's error after each synchronisation.",
    );
    list.number(
        "clock.drift_ppm",
        way!(clock.drift_ppm),
        Numeric::new(Unit::PPM, -200.0, 200.0).step(1.0),
        "Drift",
        "Drift of the host clock between synchronisations.",
    );
    list.number(
        "clock.resync_s",
        way!(clock.resync_s),
        Numeric::new(Unit::S, 0.01, 3600.0).log(0.01).or_zero("never"),
        "Synchronisation",
        "Time between synchronisations of the host clock.",
    );
}

/// Content complexity.
pub(super) fn content(list: &mut List) {
    list.number(
        "content.cv",
        way!(content.cv),
        Numeric::new(Unit::NONE, 0.0, 1.0),
        "Complexity: cv",
        "Standard deviation over mean of the content's complexity.",
    );
    list.number(
        "content.memory",
        way!(content.memory),
        Numeric::new(Unit::NONE, 0.0, 0.9999).step(0.0001),
        "Memory",
        "Correlation of complexity from frame to frame.",
    );
}

/// Simulate, on the CPU.
pub(super) fn simulate(list: &mut List) {
    list.pixel_cost("host.simulate", &way!(host.simulate), "simulate", "rendered");
    list.number(
        "host.frames_in_flight",
        way!(host.frames_in_flight),
        Numeric::count(Unit::FRAMES, 1.0, 8.0),
        "Frames in flight",
        "Frames allowed between the start of simulate and the last slice out of the encoder.",
    );
}

/// Render, on the GPU.
pub(super) fn render(list: &mut List) {
    list.pixel_cost("host.render", &way!(host.render), "render", "rendered");
    if let Some(per_mpx) = list.parameters.iter_mut().find(|parameter| parameter.path == "host.render.per_mpx_ms") {
        per_mpx.common();
    }
    list.number(
        "host.parts",
        way!(host.parts),
        Numeric::count(Unit::NONE, 1.0, 8.0),
        "Parts",
        "Parts that a frame is rendered in; slices go to the encoder at the end of their part.",
    );
}
