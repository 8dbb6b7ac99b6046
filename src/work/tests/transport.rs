//! Closures and losses.

use super::{assert_share, draw, mean, steady};
use crate::scenario::{Repair, Scenario};
use crate::work::link::merge;
use crate::work::units::{Packing, borders, frame_bytes};
use crate::work::{Closure, Loss, WorkTable};

/// Frames of exactly 160 full packets.
fn packets_160(frames: u32, slices: u32, loss: f64, repair: Repair) -> Scenario {
    let mut scenario = steady(frames);
    scenario.display.refresh_hz = 100.0;
    scenario.display.eye_px = (1024, 1024);
    scenario.stream.bitrate_mbps = 128.0;
    scenario.stream.slice_header_bytes = 0;
    scenario.link.packet_payload_bytes = 1000;
    scenario.slices.count = slices;
    scenario.link.loss = loss;
    scenario.link.repair = repair;
    scenario
}

/// Frames of which a unit of some slice loses more than `beyond` packets at the given try.
fn frames_lost(table: &WorkTable, attempt: u32, beyond: u32) -> usize {
    let mut frames: Vec<u32> = table
        .losses
        .rows()
        .iter()
        .filter(|row| row.attempt == attempt && row.lost > beyond)
        .map(|row| row.frame)
        .collect();
    frames.dedup();
    frames.len()
}

#[test]
fn the_frame_is_160_packets() {
    let scenario = packets_160(10, 8, 0.0, Repair::Nothing);
    let table = draw(&scenario);
    let packing = Packing::new(&scenario);
    let bytes = frame_bytes(table.frames[0].bits);
    let units: Vec<_> = borders(table.bit_shares.of(0)).map(|border| packing.unit(bytes, border)).collect();
    assert!(units.iter().all(|unit| (unit.packets, unit.parity) == (20, 0)), "{units:?}");
}

/// Without repair a frame of N packets is lost with probability 1 - (1 - p)^N: 0.015873, 0.147924, 0.799723.
#[test]
fn losses_without_repair() {
    for (loss, expected) in [(1e-4, 0.015_873), (1e-3, 0.147_924), (1e-2, 0.799_723)] {
        let table = draw(&packets_160(50_000, 8, loss, Repair::Nothing));
        assert_share(frames_lost(&table, 0, 0), 50_000, expected);
        let lost: usize = table.losses.rows().iter().map(|row| row.lost as usize).sum();
        assert_share(lost, 50_000 * 160, loss);
        assert!(table.losses.rows().iter().all(|row| row.attempt == 0 && (1..=20).contains(&row.lost)));
    }
}

/// With t resends it is lost with probability 1 - (1 - p^(t + 1))^N.
#[test]
fn losses_with_resends() {
    for (tries, expected) in [(1, 0.015_873), (2, 0.000_160)] {
        let table = draw(&packets_160(100_000, 8, 0.01, Repair::Resend { tries }));
        assert_share(frames_lost(&table, tries, 0), 100_000, expected);
        assert!(table.losses.rows().iter().all(|row| row.attempt <= tries));
        // A resend cannot lose more than was sent.
        for row in table.losses.rows().iter().filter(|row| row.attempt > 0) {
            let before = table.losses.lost(row.frame as usize, row.slice as usize, row.attempt - 1);
            assert!(row.lost <= before);
        }
    }
    // At high loss each try loses its share of the one before.
    let table = draw(&packets_160(2000, 4, 0.3, Repair::Resend { tries: 3 }));
    let lost = |attempt: u32| -> usize {
        table.losses.rows().iter().filter(|row| row.attempt == attempt).map(|row| row.lost as usize).sum()
    };
    for attempt in 1..=3 {
        assert_share(lost(attempt), lost(attempt - 1), 0.3);
    }
    assert_eq!(lost(4), 0);
}

/// Parity of Q packets over P fails with probability P(Binomial(P + Q, p) > Q): 20 + 2 at 0.01: 0.00133563 a slice,
/// 0.01063522 for eight; the same frame in one slice, 160 + 16: 4.2e-12.
#[test]
fn losses_against_parity() {
    let parity = Repair::Parity { overhead_pct: 10.0 };
    let sliced = draw(&packets_160(100_000, 8, 0.01, parity));
    let failed = sliced.losses.rows().iter().filter(|row| row.lost > 2).count();
    assert_share(failed, 800_000, 0.001_335_63);
    assert_share(frames_lost(&sliced, 0, 2), 100_000, 0.010_635_22);
    let lost: usize = sliced.losses.rows().iter().map(|row| row.lost as usize).sum();
    assert_share(lost, 100_000 * 176, 0.01);
    let whole = draw(&packets_160(100_000, 1, 0.01, parity));
    assert_eq!(frames_lost(&whole, 0, 16), 0);
}

#[test]
fn the_slice_count_moves_only_the_borders_between_lost_packets() {
    let by_frame = |slices: u32| {
        let table = draw(&packets_160(2000, slices, 0.02, Repair::Resend { tries: 2 }));
        let mut lost = vec![[0; 3]; 2000];
        for row in table.losses.rows() {
            lost[row.frame as usize][row.attempt as usize] += row.lost;
        }
        lost
    };
    let whole = by_frame(1);
    assert!(whole.iter().any(|lost| lost[2] > 0));
    for slices in [2, 4, 8, 16] {
        assert_eq!(by_frame(slices), whole, "{slices} slices");
    }
}

#[test]
fn more_loss_loses_sooner_what_less_loss_loses() {
    let lost = |loss: f64| -> u32 {
        draw(&packets_160(500, 8, loss, Repair::Nothing)).losses.rows().iter().map(|row| row.lost).sum()
    };
    let counts = [1e-4, 1e-3, 1e-2, 0.1, 0.5].map(lost);
    assert!(counts.is_sorted() && counts[0] < counts[4], "{counts:?}");
    assert_eq!(lost(0.0), 0);
}

#[test]
fn losses_are_found_by_frame_slice_and_try() {
    let loss = |frame, slice, attempt, lost| Loss { frame, slice, attempt, lost };
    let losses = crate::work::Losses::new(vec![loss(4, 1, 1, 3), loss(2, 0, 0, 9), loss(4, 1, 0, 5), loss(4, 0, 2, 1)]);
    let found =
        [(2, 0, 0), (4, 0, 2), (4, 1, 0), (4, 1, 1)].map(|(frame, slice, tried)| losses.lost(frame, slice, tried));
    assert_eq!(found, [9, 1, 5, 3]);
    let absent = [(0, 0, 0), (2, 0, 1), (2, 1, 0), (3, 0, 0), (4, 0, 0), (4, 1, 2), (5, 0, 0), (99, 9, 9)];
    assert!(absent.iter().all(|&(frame, slice, tried)| losses.lost(frame, slice, tried) == 0));
}

#[test]
fn closures_come_with_their_rate_and_length() {
    let mut scenario = steady(90_000);
    scenario.link.closures.per_minute = 60.0;
    scenario.link.closures.mean_ms = 0.1;
    let closures = draw(&scenario).closures;
    // 1000 s of run and a little more; so short that hardly two overlap.
    let in_run: Vec<_> = closures.iter().filter(|closure| closure.start_ns < 1_000_000_000_000).collect();
    assert!((in_run.len() as f64 - 1000.0).abs() < 4.0 * 1000_f64.sqrt(), "{}", in_run.len());
    let lengths: Vec<f64> = in_run.iter().map(|closure| (closure.end_ns - closure.start_ns) as f64 / 1e6).collect();
    assert!((mean(&lengths) - 0.1).abs() < 4.0 * 0.1 / (lengths.len() as f64).sqrt());
    assert!(closures.last().unwrap().start_ns > 1_000_000_000_000, "they reach beyond the last plan");
}

#[test]
fn closures_keep_their_luck() {
    let mut scenario = steady(2000);
    scenario.link.closures.per_minute = 30.0;
    scenario.link.closures.mean_ms = 1.0;
    let starts = |scenario: &Scenario| -> Vec<i64> { draw(scenario).closures.iter().map(|c| c.start_ns).collect() };
    let before = starts(&scenario);
    scenario.link.closures.mean_ms = 2.0;
    assert_eq!(starts(&scenario), before, "lengths leave starts alone");
    scenario.link.closures.per_minute = 60.0;
    let twice = starts(&scenario);
    assert!(
        before.iter().zip(&twice).all(|(before, twice)| (before - 2 * twice).abs() <= 1),
        "the same in half the time"
    );
}

#[test]
fn closures_that_overlap_or_touch_are_one() {
    let closure = |start_ns, end_ns| Closure { start_ns, end_ns };
    let mut closures =
        vec![closure(50, 60), closure(10, 40), closure(20, 30), closure(60, 61), closure(5, 5), closure(62, 70)];
    merge(&mut closures);
    assert_eq!(closures, [closure(10, 40), closure(50, 61), closure(62, 70)]);
}
