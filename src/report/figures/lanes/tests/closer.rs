//! The critical path and the cards, over every shipped preset.

use super::*;
use crate::measure::Piece;
use crate::scenario::{Buffer, Spread, WhenFull, presets};
use crate::study::{self, Answer, Workspace};

/// A short run of a scenario, and its lanes.
fn answered(mut scenario: Scenario) -> (Answer, Lanes) {
    scenario.run.frames = 240;
    scenario.run.warmup = 40;
    let answer = study::answer(&scenario, &mut Workspace::new());
    let lanes = Lanes::new(&answer.scenario, &answer.table, &answer.run);
    (answer, lanes)
}

fn all() -> impl Iterator<Item = (String, Answer, Lanes)> {
    presets::all().iter().map(|preset| {
        let (answer, lanes) = answered(preset.scenario());
        (preset.slug.to_owned(), answer, lanes)
    })
}

fn blocks(lanes: &Lanes) -> impl Iterator<Item = &Block> {
    lanes.lanes.iter().flat_map(|lane| &lane.rows).flat_map(Row::blocks)
}

#[test]
fn legs_add_up_to_pose_to_photon_without_a_gap() {
    for (name, answer, lanes) in all() {
        let mut shown = 0;
        for (frame, way) in lanes.ways.iter().enumerate() {
            let path = CriticalPath::of(&answer, &lanes, frame);
            assert_eq!(path.is_some(), way.photon_ns.is_some(), "{name}, frame {frame}");
            let Some(path) = path else { continue };
            assert_eq!(Some(path.length_ns()), way.length_ns(), "{name}, frame {frame}");
            assert_eq!(path.pieces().iter().map(|(_, ns)| ns).sum::<i64>(), path.length_ns());
            assert_eq!(path.legs.first().map(|leg| leg.start_ns), way.from_ns);
            assert!(path.legs.windows(2).all(|two| two[0].end_ns == two[1].start_ns), "{name}, frame {frame}");
            assert!(path.legs.windows(2).all(|two| two[0].stage as usize <= two[1].stage as usize), "{name}");
            shown += 1;
        }
        assert!(shown > 100, "{name}: {shown} shown");
    }
}

/// What the path spends on the work of a server lies in the blocks of its lane, on the rows that it is drawn on.
#[test]
fn work_on_the_path_lies_within_blocks() {
    let works = [
        (Piece::Simulate, Work::Simulate),
        (Piece::Encode, Work::Encode),
        (Piece::Link, Work::Send),
        (Piece::Decode, Work::Decode),
        (Piece::Light, Work::Light),
    ];
    for (name, answer, lanes) in all() {
        for frame in 100..160 {
            let Some(path) = CriticalPath::of(&answer, &lanes, frame) else { continue };
            for (piece, work) in works {
                let legs = path.legs.iter().filter(|leg| leg.piece == piece);
                for leg in legs {
                    let row = &lanes.lane(leg.stage).rows[leg.row];
                    let mut own = row.blocks().iter().filter(|block| block.work == work && block.frame == frame as u32);
                    let covers = |block: &Block| block.start_ns <= leg.start_ns && leg.end_ns <= block.end_ns;
                    assert!(own.any(covers), "{name}, frame {frame}: {leg:?}");
                }
                let of_blocks: i64 = blocks(&lanes)
                    .filter(|block| block.work == work && block.frame == frame as u32)
                    .map(|block| path.within_ns(block))
                    .sum();
                let of_pieces: i64 = path.legs.iter().filter(|leg| leg.piece == piece).map(Leg::length_ns).sum();
                // A sending holds the closures that stopped it.
                let closed: i64 = path.legs.iter().filter(|leg| leg.piece == Piece::Closure).map(Leg::length_ns).sum();
                let more = if piece == Piece::Link { closed } else { 0 };
                assert_eq!(of_blocks, of_pieces + more, "{name}, frame {frame}: {}", piece.label());
            }
        }
    }
}

#[test]
fn every_wait_has_a_cause_and_what_comes_after_adds_up() {
    for (name, answer, lanes) in all() {
        for block in blocks(&lanes) {
            let card = Card::new(&answer, &lanes, block);
            assert_eq!(card.cause.is_some(), block.waited_ns() > 0, "{name}: {block:?}");
            let held: i64 = card.held.iter().map(|held| held.ns).sum();
            if let Some(out_ns) = card.out_ns {
                assert_eq!(out_ns - block.end_ns, held, "{name}: {card:?}");
            }
            assert!(card.on_path_ns.is_none_or(|ns| ns <= block.length_ns()), "{name}: {card:?}");
        }
    }
}

/// A decoder slower than the frames come makes each wait for the one before.
#[test]
fn slow_decoder_is_named_as_the_cause() {
    let mut scenario = Scenario::default();
    scenario.slices.count = 1;
    scenario.decode.work.per_mpx_ms = 1.6;
    scenario.decode.work.spread = Spread::Constant;
    scenario.decode.buffer = Buffer { frames: None, when_full: WhenFull::DropOldest };
    let (answer, lanes) = answered(scenario);
    let blocks = lanes.lane(Stage::Decoder).rows[0].blocks();
    let block = blocks.iter().find(|block| block.frame == 120).unwrap();
    let card = Card::new(&answer, &lanes, block);
    let before = Other { frame: 119, slice: Some(0) };
    assert_eq!(card.cause, Some(Cause::Busy(before)));
    let lines = card.lines(block.come_ns);
    let waited = &lines.iter().find(|(name, _)| *name == "Waited").unwrap().1;
    assert!(waited.ends_with("busy with slice 1 of frame 119"), "{waited}");
    assert_eq!(lines[1], ("Came", "0.000 ms".to_owned()));
}
