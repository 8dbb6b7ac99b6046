//! What must not change, or only one way, when something else does: seeds, arrays used again, other columns, policies,
//! rates.

use framelap::engine::{Engine, Pilot};
use framelap::measure::summarize;
use framelap::report::tables;
use framelap::scenario::{Buffer, Effect, Lead, Pacing, Scenario, Spread, WhenFull};
use framelap::work::{FrameWork, WorkTable, draw};
use proptest::prelude::*;

use crate::random_worlds::{Played, played, same_every_time, scenarios};
use crate::world::play;

/// All tables and the summary, as they leave the program.
fn bytes(Played { scenario, table, run }: &Played) -> Vec<u8> {
    let mut bytes = Vec::new();
    tables::frames(run, &mut bytes).unwrap();
    tables::slices(run, &mut bytes).unwrap();
    tables::refreshes(run, &mut bytes).unwrap();
    serde_json::to_writer(&mut bytes, &summarize(scenario, table, run)).unwrap();
    bytes
}

/// Frames of a table with one column blanked.
fn without(table: &WorkTable, blank: fn(&mut FrameWork)) -> Vec<FrameWork> {
    let mut frames = table.frames.clone();
    frames.iter_mut().for_each(blank);
    frames
}

fn drawn(scenario: &Scenario, change: impl FnOnce(&mut Scenario)) -> WorkTable {
    let mut changed = scenario.clone();
    change(&mut changed);
    draw(&changed)
}

/// No frame is dropped behind the encoder, and nothing is lost or closed: the link and what is behind it tell the host
/// nothing.
fn unhindered(mut scenario: Scenario) -> Scenario {
    let endless = Buffer { frames: None, when_full: WhenFull::DropNewest };
    scenario.link.buffer = endless;
    scenario.decode.buffer = endless;
    scenario.link.loss = 0.0;
    scenario.link.closures.per_minute = 0.0;
    if !matches!(scenario.pacing, Pacing::Intervals { .. }) {
        scenario.pacing = Pacing::Fixed { lead: Lead::Ms(30.0), every: 1 };
    }
    scenario
}

/// Ready times of the frames that get ready before the run is cut off, one second after its last plan.
fn no_later(better: &Played, worse: &Played) -> Result<(), TestCaseError> {
    let mut ready = 0;
    for (number, (better, worse)) in better.run.frames.iter().zip(&worse.run.frames).enumerate() {
        prop_assert_eq!(better.encoded, worse.encoded, "the host of frame {} was told", number);
        if let (Some(better_ns), Some(worse_ns)) = (better.ready.ns(), worse.ready.ns()) {
            prop_assert!(better_ns <= worse_ns, "frame {} is ready at {} instead of {}", number, better_ns, worse_ns);
            ready += 1;
        }
        prop_assert!(better.ready.happened() || !worse.ready.happened(), "frame {} is not ready at all", number);
    }
    prop_assert!(ready > 0, "no frame got ready");
    Ok(())
}

proptest! {
    #![proptest_config(same_every_time(2))]

    #[test]
    fn the_same_seed_gives_the_same_bytes(scenario in scenarios()) {
        let (first, second) = (Played::new(scenario.clone()), Played::new(scenario));
        prop_assert!(first.table == second.table);
        prop_assert!(bytes(&first) == bytes(&second));
    }

    #[test]
    fn another_seed_gives_other_luck(scenario in scenarios()) {
        // The default pipeline has chance in every column that is compared.
        let other = drawn(&Scenario { run: scenario.run, ..Scenario::default() }, |s| s.run.seed += 1);
        let same = drawn(&Scenario { run: scenario.run, ..Scenario::default() }, |_| ());
        for (a, b) in other.frames.iter().zip(&same.frames) {
            prop_assert!(a.simulate_ns != b.simulate_ns && a.decode_ns != b.decode_ns && a.uplink_ns != b.uplink_ns);
        }
    }

    #[test]
    fn arrays_used_again_leave_no_trace(before in scenarios(), played in played()) {
        let (mut table, mut engine) = (WorkTable::default(), Engine::new());
        table.draw_into(&before);
        engine.simulate(&before, &table);
        table.draw_into(&played.scenario);
        prop_assert!(table == played.table, "the work table");
        prop_assert_eq!(format!("{:?}", engine.simulate(&played.scenario, &table)), format!("{:?}", played.run));
    }

    #[test]
    fn luck_of_a_column_stays_when_others_change(scenario in scenarios()) {
        let same = draw(&scenario);
        let other = drawn(&scenario, |s| s.decode.work.spread = Spread::Gamma { cv: 2.0 });
        prop_assert_eq!(without(&other, |f| f.decode_ns = 0), without(&same, |f| f.decode_ns = 0));
        prop_assert!(other.bit_shares == same.bit_shares && other.closures == same.closures);
        prop_assert!(other.losses == same.losses && other.compose_ns == same.compose_ns);

        let other = drawn(&scenario, |s| s.host.simulate.stall.chance = 0.5);
        prop_assert_eq!(without(&other, |f| f.simulate_ns = 0), without(&same, |f| f.simulate_ns = 0));
        let other = drawn(&scenario, |s| s.link.delay.fixed_ms += 1.0);
        for (other, same) in other.frames.iter().zip(&same.frames) {
            // Rounded to whole ns before and after.
            prop_assert!((other.link_delay_ns - same.link_delay_ns - 1_000_000).abs() <= 1);
        }
        prop_assert_eq!(without(&other, |f| f.link_delay_ns = 0), without(&same, |f| f.link_delay_ns = 0));
    }

    #[test]
    fn luck_does_not_move_with_the_slice_count(scenario in scenarios(), n in 1..20_u32) {
        let uncut = |s: &mut Scenario| s.slices.bits_penalty_pct = 0.0;
        let same = drawn(&scenario, uncut);
        let other = drawn(&scenario, |s| {
            uncut(s);
            s.slices.count = n;
            s.settle("");
        });
        prop_assert_eq!(other.frames, same.frames);
        prop_assert!(other.closures == same.closures && other.compose_ns == same.compose_ns);
    }

    #[test]
    fn a_longer_run_begins_like_a_shorter_one(scenario in scenarios()) {
        let short = draw(&scenario);
        let long = drawn(&scenario, |s| s.run.frames += 50);
        prop_assert_eq!(&long.frames[..short.frames.len()], &short.frames[..]);
        prop_assert_eq!(&long.compose_ns[..short.compose_ns.len()], &short.compose_ns[..]);
        let frame = short.frames.len() - 1;
        prop_assert_eq!(long.bit_shares.of(frame), short.bit_shares.of(frame));
        for loss in short.losses.rows() {
            prop_assert_eq!(long.losses.lost(loss.frame as usize, loss.slice as usize, loss.attempt), loss.lost);
        }
    }

    #[test]
    fn a_faster_link_makes_no_frame_later(scenario in scenarios(), factor in 1.0..8.0_f64) {
        let slow = Played::new(unhindered(scenario));
        let mut scenario = slow.scenario.clone();
        scenario.link.rate_mbps *= factor;
        let fast = Played { run: play(&scenario, &slow.table), table: slow.table.clone(), scenario };
        no_later(&fast, &slow)?;
    }

    #[test]
    fn a_faster_decoder_makes_no_frame_later(scenario in scenarios(), frame in 0..70_usize, share in 0.0..1.0_f64) {
        let slow = Played::new(unhindered(scenario));
        let mut table = slow.table.clone();
        let frame = frame % table.frames.len();
        table.frames[frame].decode_ns = (table.frames[frame].decode_ns as f64 * share) as i64;
        let fast = Played { run: play(&slow.scenario, &table), table, scenario: slow.scenario.clone() };
        no_later(&fast, &slow)?;
    }

    #[test]
    fn a_link_that_closes_less_makes_no_frame_later(scenario in scenarios(), kept in 0..40_usize) {
        let mut scenario = unhindered(scenario);
        scenario.link.closures.per_minute = 600.0;
        scenario.link.closures.effect = Effect::Hold;
        let closed = Played::new(scenario);
        let mut table = closed.table.clone();
        table.closures.truncate(kept);
        let open = Played { run: play(&closed.scenario, &table), table, scenario: closed.scenario.clone() };
        no_later(&open, &closed)?;
    }

    /// `Infinite` says that frames were never ready at the weighty end of the quantile; the run is then the pilot's own.
    /// A lead that was found leaves no more late than asked for.
    #[test]
    fn a_lead_is_infinite_only_when_too_many_frames_never_get_ready(
        scenario in scenarios(), loss in 0.0..0.004_f64, late_share in 0.02..0.4_f64
    ) {
        let mut scenario = scenario;
        scenario.pacing = Pacing::Fixed { lead: Lead::Tuned { late_share }, every: 1 };
        scenario.link.loss = loss;
        // Times of day must not matter to the frames: the pilot's plans are not those of the run proper.
        scenario.link.closures.per_minute = 0.0;
        scenario.clock.error_us = 0.0;
        scenario.clock.drift_ppm = 0.0;
        let Played { run, scenario, .. } = Played::new(scenario);
        let counted = &run.frames[scenario.run.warmup as usize..];
        let never = counted.iter().filter(|frame| !frame.ready.happened()).count();
        let position = (counted.len() - 1) as f64 * (1.0 - late_share);
        let beyond = counted.len() - 1 - position.ceil() as usize;
        match run.pilot {
            Pilot::Infinite => {
                prop_assert!(never > beyond, "{} of {} never ready", never, counted.len());
                prop_assert!(counted.iter().all(|frame| frame.lead_ns == 60_000_000));
            }
            Pilot::Found(lead_ns) => {
                prop_assert!(never <= beyond, "{} of {} never ready", never, counted.len());
                prop_assert!(counted.iter().all(|frame| frame.lead_ns == lead_ns));
                // Refreshes are rounded to whole ns, so slack may differ by one from the pilot's.
                let first = scenario.run.warmup as usize;
                let late = (first..run.frames.len()).filter(|&frame| run.slack_ns(frame).is_none_or(|slack| slack < -1));
                prop_assert!(late.count() as f64 <= late_share * counted.len() as f64 + 1.0);
            }
            Pilot::None => prop_assert!(false, "no pilot"),
        }
    }
}

/// Losses are drawn along the packets of a frame: cut into 1 to 16 slices of whole packets it loses as many.
#[test]
fn losses_do_not_move_with_the_slice_count() {
    let lost = |n: u32| {
        let mut scenario = crate::world::bare(300);
        scenario.stream.bitrate_mbps = 160.0 * 1400.0 * 8.0 * 30.0 / 1e6;
        scenario.link.loss = 0.02;
        scenario.slices.count = n;
        let losses = draw(&scenario).losses;
        let first = losses.rows().iter().filter(|loss| loss.attempt == 0);
        let mut by_frame = vec![0; 300];
        first.for_each(|loss| by_frame[loss.frame as usize] += loss.lost);
        by_frame
    };
    let whole = lost(1);
    assert!(whole.iter().sum::<u32>() > 800);
    for n in [2, 4, 8, 16] {
        assert_eq!(lost(n), whole, "{n} slices");
    }
}
