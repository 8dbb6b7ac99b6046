//! Lanes of runs small enough to be checked by eye: blocks, ways, folding, the gain.

mod closer;

use super::*;
use crate::engine::Engine;
use crate::scenario::{Lead, Pacing, Scenario, Spread};
use crate::work::{FrameWork, Shares, WorkTable};

/// A small world without chance: 40 frames, so many slices, a lead in ms.
fn world(slices: u32, lead_ms: f64) -> Lanes {
    world_with(slices, lead_ms, |_| {})
}

/// The same with some frames changed.
fn world_with(slices: u32, lead_ms: f64, change: impl FnOnce(&mut [FrameWork])) -> Lanes {
    let mut scenario = Scenario::default();
    scenario.slices.count = slices;
    scenario.run.frames = 40;
    scenario.run.warmup = 4;
    scenario.pacing = Pacing::Fixed { lead: Lead::Ms(lead_ms), every: 1 };
    scenario.pose.uplink.spread = Spread::Constant;
    let work = FrameWork {
        simulate_ns: 2_000_000,
        render_ns: 5_850_000,
        encode_ns: 4_500_000,
        decode_ns: 6_200_000,
        bits: 2_222_222,
        uplink_ns: 300_000,
        link_delay_ns: 100_000,
        ..FrameWork::default()
    };
    let share = 1.0 / f64::from(slices);
    let shares = Shares::new(slices as usize, vec![share; slices as usize]);
    let mut frames = vec![work; 40];
    change(&mut frames);
    let table = WorkTable {
        frames,
        row_shares: shares.clone(),
        bit_shares: shares,
        compose_ns: vec![2_000_000],
        ..WorkTable::default()
    };
    let mut engine = Engine::new();
    let run = engine.simulate(&scenario, &table);
    Lanes::new(&scenario, &table, run)
}

fn pair() -> LanesPair {
    LanesPair::new(["Whole frame".to_owned(), "8 slices".to_owned()], [world(1, 30.0), world(8, 20.0)])
}

fn block(start_ns: i64, end_ns: i64) -> Block {
    Block { come_ns: start_ns, start_ns, end_ns, frame: 0, part: 0, work: Work::Encode }
}

#[test]
fn every_slice_is_a_block_in_three_lanes() {
    let lanes = world(8, 20.0);
    for stage in [Stage::Encoder, Stage::Link, Stage::Decoder] {
        let blocks: usize = lanes.lane(stage).rows.iter().map(|row| row.blocks().len()).sum();
        assert_eq!(blocks, 320, "{}", stage.name());
    }
    assert_eq!(lanes.lane(Stage::Gpu).rows[0].blocks().len(), 40);
    assert_eq!(lanes.lane(Stage::Display).rows.len(), 2);
}

#[test]
fn blocks_of_a_row_are_in_order_and_apart() {
    for row in world(8, 20.0).lanes.iter().flat_map(|lane| &lane.rows) {
        for two in row.blocks().windows(2) {
            assert!(two[0].end_ns <= two[1].start_ns, "{two:?}");
            assert!(two[0].waited_ns() >= 0 && two[0].length_ns() >= 0);
        }
    }
}

#[test]
fn the_dimension_is_the_difference_of_the_photons_after_the_pose() {
    let pair = pair();
    let frame = 20;
    let [baseline, candidate] = [0, 1].map(|side| pair.sides[side].ways[frame]);
    let after_pose = |way: Way| way.photon_ns.unwrap() - way.from_ns.unwrap();
    assert_eq!(pair.gain_ns(frame), Some(after_pose(baseline) - after_pose(candidate)));
    // Both meet the latch they were planned for; 10 ms of lead are 10 ms of pose to photon, up to one pose period.
    assert!((pair.gain_ns(frame).unwrap() - 10_000_000).abs() <= 1_000_000);
}

#[test]
fn the_light_of_a_frame_ends_at_its_photons() {
    let lanes = world(8, 20.0);
    for light in lanes.lane(Stage::Display).rows[1].blocks() {
        assert_eq!(Some(light.end_ns), lanes.ways[light.frame as usize].photon_ns);
    }
}

#[test]
fn a_lead_too_short_makes_trouble_that_can_be_stepped_through() {
    let late = LanesPair::new(Default::default(), [world(1, 30.0), world(8, 12.0)]);
    assert!(late.sides[1].ways.iter().all(|way| way.late == Some(true)));
    assert_eq!(late.next_troubled(5), Some(6));
    assert_eq!(late.next_troubled(39), Some(0));
    assert_eq!(pair().next_troubled(5), None);
    assert!(pair().worst.is_some_and(|frame| frame >= 4));
    assert!((4..40).contains(&pair().typical));
}

#[test]
fn folding_keeps_every_block_at_every_scale() {
    let mut blocks: Vec<Block> = (0..5000).map(|index| block(index * 700, index * 700 + 100 + index % 500)).collect();
    blocks.push(block(5000 * 700, 5000 * 700 + 90_000));
    let total: i64 = blocks.iter().map(Block::length_ns).sum();
    let row = Row::new(blocks);
    for pixel_ns in [1, 300, 599, 700, 5_000, 1_000_000, 100_000_000] {
        let (mut seen, mut work, mut drawn) = (0, 0, 0);
        row.view(-1, 10_000_000, pixel_ns, |what| {
            drawn += 1;
            match what {
                Drawn::Block(block) => {
                    seen += 1;
                    work += block.length_ns();
                }
                Drawn::Folded { count, work_ns, .. } => {
                    seen += count;
                    work += work_ns;
                }
            }
        });
        assert_eq!((seen, work), (5001, total), "{pixel_ns} ns a pixel");
        assert!(i64::from(drawn) <= 3_600_000 / pixel_ns * 2 + 3, "{drawn} drawn at {pixel_ns} ns a pixel");
    }
}

#[test]
fn the_blocks_of_a_frame_are_found_within_its_time() {
    let lanes = world(8, 20.0);
    let way = lanes.ways[20];
    let row = &lanes.lane(Stage::Decoder).rows[0];
    let parts: Vec<u16> =
        row.of_frame(20, way.from_ns.unwrap(), way.to_ns().unwrap()).map(|block| block.part).collect();
    assert_eq!(parts, [0, 1, 2, 3, 4, 5, 6, 7]);
}

#[test]
fn a_view_holds_what_touches_it_and_nothing_else() {
    let row = Row::new(vec![block(0, 10), block(20, 900), block(900, 910), block(1_000, 1_010)]);
    let mut seen = Vec::new();
    row.view(500, 1_000, 1, |what| match what {
        Drawn::Block(block) => seen.push(block.start_ns),
        Drawn::Folded { .. } => unreachable!("nothing is narrower than a nanosecond"),
    });
    assert_eq!(seen, [20, 900]);
    assert_eq!(row.near(15, 4), None);
    assert_eq!(row.near(15, 5).map(|block| block.start_ns), Some(0));
    assert_eq!(row.near(500, 0).map(|block| block.start_ns), Some(20));
}

#[test]
fn a_late_frame_says_by_how_much_and_why() {
    let lanes = world_with(8, 14.0, |work| work[20].render_ns = 9_000_000);
    let scenario_render = 5_850_000;
    let late = lanes.lateness(20).unwrap();
    let way = &lanes.ways[20];
    let own = |block: &&Block| block.frame == 20 && block.work == Work::Render;
    let took: i64 = lanes.lane(Stage::Gpu).rows[0].blocks().iter().filter(own).map(Block::length_ns).sum();
    assert_eq!(late.slowest, Some(("render", took, scenario_render)));
    // By the grid alone: the latches lie a period apart; the frame two before was due at the last latch before it was ready,
    // for the lead is too short for all of them.
    let latch = lanes.grid.latch_ns(0);
    let ready = way.ready_ns.unwrap();
    let period = lanes.grid.refresh_period_ns();
    let usual = lanes.ways[18].ready_ns.unwrap();
    let due = latch + ((((usual - latch) as f64 / period).floor() + 2.0) * period).round() as i64;
    assert!((late.by_ns - (ready - due)).abs() <= 2, "{} against {}", late.by_ns, ready - due);
    let told = format!("{}; {}", late.amount(), late.cause());
    let [by, took] = [late.by_ns, took].map(|ns| ns as f64 / 1e6);
    assert_eq!(
        told,
        format!(
            "missed its latch by {by:.1} ms; render took {took:.1} ms, usually {}",
            crate::report::format::number(5.85, 1)
        )
    );
    assert_eq!(lanes.lateness(18).map(|late| late.slowest), Some(None), "nothing took longer than usual");
}
