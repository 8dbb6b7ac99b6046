//! Packets lost, repaired or not, and a link that closes.
//!
//! Shares of lost frames follow from the binomial law of independent packets. Closures overlap and merge as the
//! customers of M/G/infinity do: the link is open with probability `exp(-rate * mean)` (Takacs, Introduction to the
//! Theory of Queues, Oxford 1962).

use framelap::engine::{Fate, Run};
use framelap::measure::Repairs;
use framelap::scenario::{Closures, Effect, Repair, Scenario, Spread, presets};
use framelap::study::Workspace;
use framelap::work::{Closure, FrameWork, Loss, Losses, Shares, WorkTable};
use statrs::distribution::{Binomial, DiscreteCDF as _};

use crate::world::{
    MS, assert_independent_share, assert_mean, assert_near, assert_share, at, bare, codec_cost, cut, draw_without_bits,
    play, simulate,
};

/// Frames of `packets` full packets at 30 Hz, cut into `n` slices, each packet lost with probability `loss`.
fn lossy(packets: u32, n: u32, loss: f64, repair: Repair, frames: u32) -> Scenario {
    let mut scenario = bare(frames);
    scenario.stream.bitrate_mbps = f64::from(packets) * 1400.0 * 8.0 * 30.0 / 1e6;
    scenario.slices.count = n;
    scenario.link.loss = loss;
    scenario.link.repair = repair;
    scenario
}

fn lost(run: &Run) -> impl Iterator<Item = bool> {
    run.frames.iter().map(|frame| frame.fate == Fate::Lost)
}

/// `1 - (1 - p)^N`, however the packets are spread over slices.
#[test]
fn without_repair_one_packet_loses_the_frame() {
    for (loss, share) in [(1e-4, 0.015_873), (1e-3, 0.147_924), (1e-2, 0.799_723)] {
        for n in [1, 8] {
            let (_, run) = simulate(&lossy(160, n, loss, Repair::Nothing, 30_000));
            assert_independent_share(&format!("loss {loss}, {n} slices"), lost(&run), share);
        }
    }
}

/// `1 - (1 - p^(t+1))^N`: a packet must be lost t + 1 times.
#[test]
fn resending_needs_every_try_to_fail() {
    for (tries, loss, share) in [(1, 0.01, 0.015_873), (2, 0.05, 0.019_802), (1, 0.05, 0.330_016)] {
        let formula = 1.0 - (1.0 - f64::powi(loss, tries + 1)).powi(160);
        assert_near("formula", formula, share, 1e-6);
        for n in [1, 8] {
            let repair = Repair::Resend { tries: tries.cast_unsigned() };
            let (_, run) = simulate(&lossy(160, n, loss, repair, 20_000));
            assert_independent_share(&format!("loss {loss}, {tries} tries, {n} slices"), lost(&run), share);
        }
    }
}

/// P(more than `parity` of `sent` packets are lost), for each of `n` slices.
fn parity_fails(sent: u64, parity: u64, n: i32, loss: f64) -> f64 {
    let slice = Binomial::new(loss, sent).expect("a law").sf(parity);
    1.0 - (1.0 - slice).powi(n)
}

/// The same overhead protects a whole frame far better than its slices: 20 + 2 packets in each of 8 slices lose one frame
/// in 94 at 1 % loss, 160 + 16 in one slice one in 10^11.
#[test]
fn slices_weaken_parity() {
    let repair = Repair::Parity { overhead_pct: 10.0 };
    assert_near("a slice", parity_fails(22, 2, 1, 0.01), 0.001_335_63, 1e-8);
    assert_near("a frame", parity_fails(22, 2, 8, 0.01), 0.010_635_22, 1e-8);
    assert_near("one slice", parity_fails(176, 16, 1, 0.01), 4.2e-12, 0.1e-12);
    for (n, loss, sent, parity) in
        [(8, 0.01, 22, 2), (8, 0.05, 22, 2), (4, 0.05, 44, 4), (1, 0.05, 176, 16), (1, 0.1, 176, 16)]
    {
        let share = parity_fails(sent, parity, n, loss);
        let (_, run) = simulate(&lossy(160, n.cast_unsigned(), loss, repair, 20_000));
        assert_independent_share(&format!("{n} slices at {loss}"), lost(&run), share);
    }
    // Parity packets are whole: 12 % of 20 are 3.
    let (_, run) = simulate(&lossy(160, 8, 0.05, Repair::Parity { overhead_pct: 12.0 }, 20_000));
    assert_independent_share("12 %", lost(&run), parity_fails(23, 3, 8, 0.05));
    let (_, run) = simulate(&lossy(160, 1, 0.01, repair, 20_000));
    assert_eq!(lost(&run).filter(|&lost| lost).count(), 0);
}

/// Ten frames of 10 packets that take the link 4 ms each, in one slice. Frame 0 is planned at 0, as all have no target.
fn hand_made(closures: &[(i64, i64)], losses: Vec<Loss>) -> (Scenario, WorkTable) {
    let mut scenario = bare(10);
    scenario.pacing = crate::world::intervals(100.0, framelap::scenario::Spread::Constant);
    scenario.link.packet_payload_bytes = 1000;
    scenario.link.rate_mbps = 20.0;
    scenario.run.frames = 10;
    let frame = FrameWork { bits: 80_000, interval_ns: 100_000_000, uplink_ns: 500_000, ..FrameWork::default() };
    let table = WorkTable {
        frames: vec![FrameWork { link_delay_ns: 250_000, ..frame }; 10],
        row_shares: Shares::new(1, vec![1.0]),
        bit_shares: Shares::new(1, vec![1.0]),
        compose_ns: vec![0],
        closures: closures.iter().map(|&(start_ns, end_ns)| Closure { start_ns, end_ns }).collect(),
        losses: Losses::new(losses),
    };
    (scenario, table)
}

fn held(closures: &[(i64, i64)]) -> i64 {
    let (mut scenario, table) = hand_made(closures, Vec::new());
    scenario.link.closures.effect = Effect::Hold;
    let run = crate::world::play(&scenario, &table);
    assert_eq!(run.frames[0].link_start.ns(), Some(0));
    assert_eq!(at(run.frames[0].arrived), at(run.frames[0].sent) + 250_000);
    assert_eq!(at(run.frames[1].sent), 104_000_000, "the next frame meets no closure");
    at(run.frames[0].sent)
}

/// A service ends once it has had its time with the link open.
#[test]
fn closures_hold_what_is_being_sent() {
    const MS: i64 = 1_000_000;
    assert_eq!(held(&[]), 4 * MS);
    assert_eq!(held(&[(MS, 3 * MS)]), 6 * MS);
    assert_eq!(held(&[(-5 * MS, 2 * MS)]), 6 * MS, "closed from before the start");
    assert_eq!(held(&[(0, 1)]), 4 * MS + 1);
    assert_eq!(held(&[(4 * MS, 9 * MS)]), 4 * MS, "closed as it ends");
    assert_eq!(held(&[(4 * MS - 1, 9 * MS)]), 9 * MS + 1, "closed with a nanosecond to go");
    assert_eq!(
        held(&[(MS, 2 * MS), (3 * MS, 5 * MS), (6 * MS, 7 * MS), (8 * MS, 9 * MS)]),
        8 * MS,
        "three of the four"
    );
    assert_eq!(held(&[(-3 * MS, 0)]), 4 * MS, "open again as it starts");
}

fn losing(closures: &[(i64, i64)], repair: Repair, losses: Vec<Loss>) -> Run {
    let (mut scenario, table) = hand_made(closures, losses);
    scenario.link.closures.effect = Effect::Lose;
    scenario.link.repair = repair;
    crate::world::play(&scenario, &table)
}

/// A closure loses the packets of its share of the service, at least one; a frame without repair is lost on arrival.
#[test]
fn closures_lose_what_is_being_sent() {
    const MS: i64 = 1_000_000;
    let run = losing(&[(MS, MS + 1)], Repair::Nothing, Vec::new());
    assert_eq!((run.frames[0].fate, at(run.frames[0].fate_at)), (Fate::Lost, 4_250_000));
    assert_eq!(run.frames[1].fate, Fate::Shown);
    let run = losing(&[(4 * MS, 9 * MS)], Repair::Nothing, Vec::new());
    assert_eq!(run.frames[0].fate, Fate::Shown, "closed as it ends");

    // Asked for on arrival at 4.25 ms, queued 0.5 ms later; each packet of 1000 bytes takes 0.4 ms, the way 0.25 ms.
    for (closures, losses, packets) in [
        (vec![(MS, MS + 1)], 0, 1),
        (vec![(0, 400_000)], 0, 1),
        (vec![(0, 400_001)], 0, 2),
        (vec![(MS, 3 * MS)], 0, 5),
        (vec![(MS, 3 * MS)], 2, 7),
        (vec![(-MS, 2 * MS), (3 * MS, 4 * MS)], 4, 10),
    ] {
        let row = Loss { frame: 0, slice: 0, attempt: 0, lost: losses };
        let run = losing(&closures, Repair::Resend { tries: 3 }, vec![row]);
        let what = format!("{closures:?} and {losses} packets");
        assert_eq!((run.resends.len(), run.slices.all().at(0).resends()), (1, 1), "{what}");
        assert_eq!(at(run.resends[0].link_start), 4_750_000, "{what}");
        assert_eq!(at(run.resends[0].link_end), 4_750_000 + packets * 400_000, "{what}");
        assert_eq!(at(run.frames[0].arrived), at(run.resends[0].link_end) + 250_000, "{what}");
        assert_eq!(at(run.frames[0].sent), 4 * MS, "{what}");
    }
}

/// Resends that are lost again are asked for again, until the tries are used up.
#[test]
fn resends_stop_after_their_tries() {
    let rows = |attempts: u32| (0..attempts).map(|attempt| Loss { frame: 0, slice: 0, attempt, lost: 2 }).collect();
    for tries in [1, 2, 3] {
        let run = losing(&[], Repair::Resend { tries }, rows(tries));
        // Every try: 0.25 ms down, 0.5 up, 0.8 on the link; the first sending took 4 ms.
        let arrived = 4_000_000 + 250_000 + i64::from(tries) * 1_550_000;
        assert_eq!((run.frames[0].arrived.ns(), run.slices.all().at(0).resends()), (Some(arrived), tries));
        assert_eq!(run.frames[0].fate, Fate::Shown);
        let run = losing(&[], Repair::Resend { tries }, rows(tries + 1));
        assert_eq!((run.frames[0].fate, at(run.frames[0].fate_at)), (Fate::Lost, arrived));
        assert_eq!((run.resends.len(), run.frames[0].arrived.ns()), (tries as usize, None));
    }
}

/// Units that arrive at one instant do so by frame and slice, not as they were sent: the resend of slice 0, sent after
/// slice 1 and there with it, loses the frame first, and slice 1 is not asked for any more.
#[test]
fn units_that_arrive_together_arrive_by_slice() {
    let mut scenario = cut(bare(10), 2);
    scenario.encode.work = codec_cost(2.0, Spread::Constant);
    scenario.link.delay.fixed_ms = 1.0;
    scenario.link.repair = Repair::Resend { tries: 1 };
    let mut table = draw_without_bits(&scenario);
    let loss = |slice, attempt| Loss { frame: 0, slice, attempt, lost: 1 };
    table.losses = Losses::new(vec![loss(0, 0), loss(0, 1), loss(1, 0)]);
    let run = play(&scenario, &table);
    let (first, second) = (run.slices.all().at(0).record(), run.slices.all().at(1).record());
    assert_eq!((at(second.link_end), second.resends), (at(first.link_end) + 1_000_000, 0));
    let [resend] = run.resends[..] else { panic!("{:?}", run.resends) };
    assert_eq!((resend.slice, resend.link_end), (0, second.link_end));
    assert_eq!((run.frames[0].fate, run.frames[0].fate_at), (Fate::Lost, resend.arrive));
}

/// Frames of 4 ms at 30 Hz under closures at random times.
fn closing(effect: Effect, mean_ms: f64, frames: u32) -> Scenario {
    let mut scenario = bare(frames);
    scenario.link.rate_mbps = 1000.0;
    scenario.stream.bitrate_mbps = 120.0;
    scenario.link.closures = Closures { per_minute: 600.0, mean_ms, effect };
    scenario
}

/// A frame gets through if the link is open as it starts and no closure starts before it ends:
/// `exp(-rate * (mean + service))`.
#[test]
fn random_closures_lose_their_share() {
    for (mean_ms, share) in [(8.0, 0.113_080), (20.0, 0.213_372)] {
        assert_near("formula", 1.0 - f64::exp(-0.01 * (mean_ms + 4.0)), share, 1e-6);
        let (_, run) = simulate(&closing(Effect::Lose, mean_ms, 60_000));
        assert_share(&format!("closures of {mean_ms} ms"), lost(&run), share, 0.1);
    }
}

/// A service begun while open meets `rate * service` closures on average, each as long as a busy period of M/G/infinity,
/// `(exp(rate * mean) - 1)/rate`: it takes `service * exp(rate * mean)`.
#[test]
fn random_closures_stretch_what_they_hold() {
    let scenario = closing(Effect::Hold, 20.0, 200_000);
    let (table, run) = simulate(&scenario);
    let mut closures = table.closures.iter().peekable();
    let mut services = Vec::new();
    for frame in &run.frames {
        let start_ns = at(frame.link_start);
        while closures.next_if(|closure| closure.end_ns <= start_ns).is_some() {}
        if closures.peek().is_none_or(|closure| closure.start_ns > start_ns) {
            services.push((at(frame.sent) - start_ns) as f64 / MS);
        }
    }
    assert_mean("service", &services, 4.0 * f64::exp(0.2), 0.05);
    let open = services.len() as f64 / run.frames.len() as f64;
    assert!(open > 0.7 && open < 0.95, "{open}");
}

/// What the notes of the preset say of its repairs.
#[test]
fn five_in_six_repairs_of_the_preset_come_in_time() {
    let mut scenario = presets::find("radio-72-resend-or-parity").unwrap().scenario();
    assert!(scenario.notes.contains("about five in six of the repairs come in time"));
    let (mut in_time, mut all) = (0, 0);
    for seed in 1..=4 {
        scenario.run.seed = seed;
        let Repairs { resent, repaired, in_time: now } = Workspace::new().summary(&scenario).repairs;
        // That a third try were needed comes up once in some 10^8 slices.
        assert_eq!(resent, repaired);
        (in_time, all) = (in_time + now.unwrap(), all + resent);
    }
    assert_independent_share("repairs in time", (0..all).map(|slice| slice < in_time), 5.0 / 6.0);
}
