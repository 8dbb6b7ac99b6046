//! Name, budget, length of the run.

use super::super::list::List;
use super::super::range::{Bound, Numeric};
use super::super::unit::Unit;
use super::super::way::way;

/// Name and notes.
pub(super) fn about(list: &mut List) {
    list.text("name", way!(name), "Name", "Name of the scenario, one line.");
    list.text("notes", way!(notes), "Notes", "What to see in the scenario.");
}

/// What the design must hold.
pub(super) fn budget(list: &mut List) {
    let per_cent = Numeric::new(Unit::PERCENT, 0.0, 100.0);
    list.number(
        "budget.pose_to_photon_ms",
        way!(budget.pose_to_photon_ms),
        Numeric::new(Unit::MS, 0.0, 1000.0).usually(0.0, 100.0).step(0.1),
        "Pose to photon",
        "Longest time from pose to photon allowed at the quantile.",
    );
    list.number(
        "budget.quantile",
        way!(budget.quantile),
        Numeric::new(Unit::SHARE, 0.0, 1.0).above(0.5).below(0.999).step(0.001),
        "Quantile",
        "Share of frames that must hold the pose-to-photon line.",
    );
    list.number(
        "budget.missed_pct",
        way!(budget.missed_pct),
        per_cent.usually(0.0, 10.0),
        "Missed refreshes",
        "Greatest share of refreshes that may miss their frame.",
    );
    list.number(
        "budget.load_pct",
        way!(budget.load_pct),
        Numeric::new(Unit::PERCENT, 0.0, 200.0).usually(0.0, 100.0).step(0.1),
        "Load",
        "Greatest offered load of any server.",
    );
    list.text(
        "budget.level_max",
        way!(budget.level_max),
        "Highest level",
        "Highest level of the codec's standard that every decoder in the field holds.",
    );
    list.number(
        "budget.bits_per_px_min",
        way!(budget.bits_per_px_min),
        Numeric::new(Unit::BITS_PER_PX, 0.0, 100.0).usually(0.0, 2.0).step(0.001),
        "Least bits per pixel",
        "Least bits per coded pixel for the picture to hold up.",
    );
    let piece = Numeric::new(Unit::MS, 0.0, 1000.0).usually(0.0, 20.0);
    let mut add = |path: &str, way, label: &str, meaning: &str| {
        list.number::<f64>(path, way, piece, label, meaning);
    };
    add(
        "budget.pieces.pose_ms",
        way!(budget.pieces.pose_ms),
        "Piece: pose age",
        "Exposed time allowed to the pose's age.",
    );
    add(
        "budget.pieces.simulate_ms",
        way!(budget.pieces.simulate_ms),
        "Piece: simulate",
        "Exposed time allowed to simulate.",
    );
    add("budget.pieces.render_ms", way!(budget.pieces.render_ms), "Piece: render", "Exposed time allowed to render.");
    add("budget.pieces.encode_ms", way!(budget.pieces.encode_ms), "Piece: encode", "Exposed time allowed to encode.");
    add("budget.pieces.link_ms", way!(budget.pieces.link_ms), "Piece: link", "Exposed time allowed to the link.");
    add("budget.pieces.decode_ms", way!(budget.pieces.decode_ms), "Piece: decode", "Exposed time allowed to decode.");
    add(
        "budget.pieces.wait_ms",
        way!(budget.pieces.wait_ms),
        "Piece: waits",
        "Exposed time allowed to waits of every kind.",
    );
    add(
        "budget.pieces.latch_ms",
        way!(budget.pieces.latch_ms),
        "Piece: latch to vsync",
        "Exposed time allowed from latch to vsync.",
    );
    add(
        "budget.pieces.light_ms",
        way!(budget.pieces.light_ms),
        "Piece: vsync to photons",
        "Exposed time allowed from vsync to photons.",
    );
}

/// Length of the run.
pub(super) fn run(list: &mut List) {
    list.number(
        "run.frames",
        way!(run.frames),
        Numeric::count(Unit::FRAMES, 10.0, 1_000_000.0).log(10.0).usually(10.0, 100_000.0),
        "Frames",
        "Frames planned.",
    );
    list.number(
        "run.warmup",
        way!(run.warmup),
        Numeric::count(Unit::FRAMES, 0.0, 999_999.0).usually(0.0, 10_000.0).bound(Bound::BelowFrames),
        "Warm-up",
        "First frames that do not count.",
    );
    list.number(
        "run.seed",
        way!(run.seed),
        Numeric::count(Unit::NONE, 0.0, u64::MAX as f64).usually(0.0, 1000.0),
        "Seed",
        "Seed of all chance: two scenarios with one seed meet the same luck.",
    );
}
