//! The engine against a second one, written apart from it (`second`): random scenarios and tables over all features at
//! once, half of them on a coarse grid so that many events fall on one instant. Equal to the nanosecond.

use std::fmt;

use framelap::engine::{Engine, Run, SliceRecord};
use framelap::scenario::{
    AfterMissing, Buffer, Choose, Effect, HandOff, Lead, Light, Pacing, References, Repair, Scenario, Spread, Taken,
    WhenFull, to_ron,
};
use framelap::work::{Closure, FrameWork, Loss, Losses, Shares, WorkTable};
use proptest::prelude::*;

use crate::random_worlds::same_every_time;
use crate::second::{self, Story, latch_ns, photon_ns, vsync_ns};

/// The coarse grid \[ns\].
const GRAIN_NS: i64 = 500_000;

/// The most slices that are tried.
const MOST_SLICES: usize = 16;

/// What a run is made from.
struct World {
    scenario: Scenario,
    table: WorkTable,
}

impl fmt::Debug for World {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let World { scenario, table } = self;
        writeln!(f, "{}", to_ron(scenario))?;
        table.frames.iter().enumerate().try_for_each(|(frame, work)| writeln!(f, "{frame}: {work:?}"))?;
        writeln!(f, "rows {:?}\nbits {:?}", table.row_shares, table.bit_shares)?;
        write!(f, "compose {:?}\n{:?}\n{:?}", table.compose_ns, table.closures, table.losses.rows())
    }
}

/// From 0 to so many grains, often 0.
fn ns(most_grains: i64) -> impl Strategy<Value = i64> {
    prop_oneof![5 => (0..=most_grains).prop_map(|grains| grains * GRAIN_NS), 1 => Just(0), 3 => 0..=most_grains * GRAIN_NS]
}

/// The same in ms.
fn ms(most_grains: i64) -> impl Strategy<Value = f64> {
    ns(most_grains).prop_map(|ns| ns as f64 / 1e6)
}

fn buffer(may_block: bool) -> impl Strategy<Value = Buffer> {
    let kinds = if may_block { 3_usize } else { 2 };
    (0..kinds, prop::option::weighted(0.8, 0_u32..5)).prop_map(|(kind, frames)| {
        let when_full = [WhenFull::DropOldest, WhenFull::DropNewest, WhenFull::Block][kind];
        let least = u32::from(when_full == WhenFull::Block);
        Buffer { frames: frames.map(|frames| frames.max(least)), when_full }
    })
}

fn hand_off() -> impl Strategy<Value = HandOff> {
    prop_oneof![2 => Just(HandOff::Slice), 1 => Just(HandOff::Frame)]
}

fn pacing() -> impl Strategy<Value = Pacing> {
    let lead = prop_oneof![
        (1_u32..60).prop_map(|ms| Lead::Ms(f64::from(ms))),
        (1.0..60.0_f64).prop_map(Lead::Ms),
        (0.01..0.5_f64).prop_map(|late_share| Lead::Tuned { late_share }),
    ];
    let adaptive = (0_u32..40, 1_u32..20, 0_u32..40, 0.01..4.0_f64, 0.01..0.5_f64, 1_u32..=3);
    prop_oneof![
        3 => (lead, 1_u32..=3).prop_map(|(lead, every)| Pacing::Fixed { lead, every }),
        1 => Just(Pacing::Intervals { mean_ms: 8.0, spread: Spread::Constant }),
        2 => adaptive.prop_map(|(above_min, min, below_max, step_ms, late_target, every)| Pacing::Adaptive {
            start_ms: f64::from(min + above_min),
            min_ms: f64::from(min),
            max_ms: f64::from(min + above_min + below_max),
            step_ms,
            late_target,
            every,
        }),
    ]
}

prop_compose! {
    /// Display, pose and host.
    fn ends()(
        refresh_hz in prop_oneof![Just(100.0), Just(200.0), Just(90.0), Just(72.0), 30.0..240.0_f64],
        latch_lead in 0.0..2.0_f64,
        light in prop_oneof![Just(Light::Global), Just(Light::Rolling)],
        scanout in 0.0..1.0_f64,
        on_target in any::<bool>(),
        rate_hz in prop_oneof![Just(1000.0), Just(250.0), 30.0..8000.0_f64],
        processing_ms in ms(8),
        taken in prop_oneof![Just(Taken::AtSimulate), Just(Taken::AtRender)],
        parts in prop_oneof![2 => Just(1), 3 => 1_u32..=8],
        frames_in_flight in 1_u32..=8,
        pacing in pacing(),
    ) -> Scenario {
        let mut scenario = Scenario::default();
        let display = &mut scenario.display;
        display.refresh_hz = refresh_hz;
        display.latch_lead_ms = latch_lead * 1e3 / refresh_hz;
        display.light = light;
        display.scanout_ms = scanout * 1e3 / refresh_hz;
        display.persistence_ms = 0.1 * scanout * 1e3 / refresh_hz;
        if on_target && !matches!(pacing, Pacing::Intervals { .. }) {
            display.choose = Choose::OnTarget;
        }
        scenario.pose.rate_hz = rate_hz;
        scenario.pose.processing_ms = processing_ms;
        scenario.pose.taken = taken;
        scenario.host.parts = parts;
        scenario.host.frames_in_flight = frames_in_flight;
        scenario.pacing = pacing;
        scenario
    }
}

prop_compose! {
    /// Slices, encoder, stream and decoder.
    fn codecs()(
        mut scenario in ends(),
        count in prop_oneof![1 => Just(1), 4 => 1_u32..=8, 1 => 1..=MOST_SLICES as u32],
        encode in (ms(2), ms(2), prop_oneof![1 => Just(0.0), 1 => ms(20)], 1_u32..=4, hand_off(), buffer(true)),
        decode in (ms(2), ms(2), prop_oneof![1 => Just(0.0), 1 => ms(20)], 1_u32..=4, buffer(false)),
        references in prop_oneof![
            Just(References::Frame),
            (0_u32..6).prop_map(|reach| References::Bands { reach }),
            Just(References::Independent),
        ],
        request in any::<bool>(),
        vbv_frames in prop_oneof![1 => Just(0.0), 2 => 1.0..4.0_f64],
        factor in 1.0..6.0_f64,
        bitrate_mbps in 1.0..60.0_f64,
        slice_header_bytes in 0_u32..200,
    ) -> Scenario {
        scenario.slices.count = count;
        (
            scenario.encode.frame_overhead_ms,
            scenario.encode.slice_overhead_ms,
            scenario.encode.pipeline_ms,
            scenario.encode.engines,
            scenario.encode.hand_off,
            scenario.encode.buffer,
        ) = encode;
        (
            scenario.decode.frame_overhead_ms,
            scenario.decode.slice_overhead_ms,
            scenario.decode.pipeline_ms,
            scenario.decode.engines,
            scenario.decode.buffer,
        ) = decode;
        let stream = &mut scenario.stream;
        stream.references = references;
        stream.after_missing = if request { AfterMissing::RequestIntra } else { AfterMissing::Conceal };
        stream.vbv_frames = vbv_frames;
        stream.intra.factor = factor;
        stream.bitrate_mbps = bitrate_mbps;
        stream.slice_header_bytes = slice_header_bytes;
        scenario
    }
}

prop_compose! {
    /// The whole scenario.
    fn scenarios()(
        mut scenario in codecs(),
        rate_mbps in prop_oneof![Just(8.0), Just(80.0), 8.0..1000.0_f64],
        unit_overhead_ms in ms(1),
        packet_payload_bytes in prop_oneof![Just(64), Just(1000), 64_u32..5000],
        packet_header_bytes in 0_u32..100,
        propagation_us in prop_oneof![Just(0.0), Just(1000.0), 0.0..10_000.0_f64],
        hand_off in hand_off(),
        effect in prop_oneof![Just(Effect::Hold), Just(Effect::Lose)],
        repair in prop_oneof![
            1 => Just(Repair::Nothing),
            2 => (1_u32..=4).prop_map(|tries| Repair::Resend { tries }),
            1 => (0.0..=100.0_f64).prop_map(|overhead_pct| Repair::Parity { overhead_pct }),
        ],
        buffer in buffer(true),
    ) -> Scenario {
        let link = &mut scenario.link;
        link.rate_mbps = rate_mbps;
        link.unit_overhead_ms = unit_overhead_ms;
        link.packet_payload_bytes = packet_payload_bytes;
        link.packet_header_bytes = packet_header_bytes;
        link.propagation_us = propagation_us;
        link.hand_off = hand_off;
        link.closures.effect = effect;
        link.repair = repair;
        link.buffer = buffer;
        scenario
    }
}

prop_compose! {
    fn frame()(
        costs in (ns(10), ns(16), ns(30), ns(30)),
        stall in prop::option::weighted(0.01, 0..4_usize),
        bytes in prop_oneof![4 => (0_i64..80).prop_map(|grains| grains * 500), 1 => Just(0), 3 => 0_i64..40_000],
        uplink_ns in ns(12),
        link_delay_ns in ns(12),
        interval_ns in ns(40),
        clock_error_ns in prop_oneof![3 => Just(0), 1 => ns(8), 1 => ns(8).prop_map(|ns| -ns)],
        intra in prop::bool::weighted(0.2),
        empty in prop::bool::weighted(0.05),
    ) -> FrameWork {
        let mut costs = if empty { [0; 4] } else { costs.into() };
        if let Some(stage) = stall {
            costs[stage] += 300_000_000;
        }
        let [simulate_ns, render_ns, encode_ns, decode_ns] = costs;
        let bits = if empty { 0 } else { bytes * 8 };
        FrameWork {
            simulate_ns, render_ns, encode_ns, decode_ns, bits, uplink_ns, link_delay_ns, interval_ns, clock_error_ns, intra,
        }
    }
}

/// Apart from each other and in order.
fn closures() -> impl Strategy<Value = Vec<Closure>> {
    let length = prop_oneof![12 => ns(40), 1 => Just(1_300_000_000)];
    let some = prop::collection::vec((ns(800), length.prop_map(|ns| ns.max(1))), 0..8);
    prop_oneof![1 => Just(Vec::new()), 1 => some].prop_map(|mut rows| {
        rows.sort_unstable();
        let mut closures: Vec<Closure> = Vec::new();
        for (start_ns, length_ns) in rows {
            if closures.last().is_none_or(|last| last.end_ns < start_ns) {
                closures.push(Closure { start_ns, end_ns: start_ns + length_ns });
            }
        }
        closures
    })
}

fn losses() -> impl Strategy<Value = Vec<Loss>> {
    let row = (0_u32..60, 0..MOST_SLICES as u32, prop_oneof![2 => Just(0), 1 => 0_u32..4], 1_u32..8);
    let row = row.prop_map(|(frame, slice, attempt, lost)| Loss { frame, slice, attempt, lost });
    prop_oneof![1 => Just(Vec::new()), 1 => prop::collection::vec(row, 0..200)]
}

/// A row of shares for every frame: the same, or weights that go round.
fn shares(slices: usize, frames: usize, weights: &[u32], go_round: bool) -> Shares {
    let mut values = Vec::new();
    for frame in 0..frames {
        let first = if go_round { frame } else { 0 };
        let row: Vec<f64> = (0..slices).map(|i| f64::from(weights[(first + i) % weights.len()])).collect();
        let sum: f64 = row.iter().sum();
        values.extend(row.iter().map(|weight| if sum > 0.0 { weight / sum } else { 1.0 / slices as f64 }));
    }
    Shares::new(slices, values)
}

prop_compose! {
    fn worlds()(
        mut scenario in scenarios(),
        frames in prop::collection::vec(frame(), 10..60),
        compose_ns in prop::collection::vec(prop_oneof![3 => ns(6), 1 => ns(30)], 1..20),
        closures in closures(),
        losses in losses(),
        row_weights in prop::collection::vec(0_u32..4, MOST_SLICES),
        bit_weights in prop::collection::vec(0_u32..4, MOST_SLICES),
        go_round in any::<bool>(),
        light in prop::bool::weighted(0.6),
        slow in prop::bool::weighted(0.05),
        coarse in any::<bool>(),
    ) -> World {
        scenario.run.frames = frames.len() as u32;
        scenario.run.warmup = scenario.run.frames / 8;
        let slices = scenario.slices.count as usize;
        let mut table = WorkTable {
            row_shares: shares(slices, frames.len(), &row_weights, go_round),
            bit_shares: shares(slices, frames.len(), &bit_weights, go_round),
            frames,
            compose_ns,
            closures,
            losses: Losses::new(losses),
        };
        if light {
            lighten(&mut table);
        }
        if coarse {
            coarsen(&mut scenario, &mut table);
        }
        if slow {
            slow_down(&mut scenario, &mut table);
        }
        World { scenario, table }
    }
}

/// Frames that are seconds apart, take seconds at encoder, link and decoder, and have more than a hundred megabytes.
fn slow_down(scenario: &mut Scenario, table: &mut WorkTable) {
    scenario.pacing = Pacing::Intervals { mean_ms: 1000.0, spread: Spread::Constant };
    scenario.display.choose = Choose::Newest;
    for work in &mut table.frames {
        work.interval_ns *= 200;
        for much in [&mut work.encode_ns, &mut work.decode_ns, &mut work.link_delay_ns, &mut work.bits] {
            *much *= 3000;
        }
    }
}

/// Leaves a fraction of the work, so that most frames get through.
fn lighten(table: &mut WorkTable) {
    for work in &mut table.frames {
        for ns in [&mut work.simulate_ns, &mut work.render_ns, &mut work.encode_ns, &mut work.decode_ns, &mut work.bits]
        {
            *ns /= 4;
        }
    }
}

/// Puts what can be on the coarse grid, so that events meet on one instant.
fn coarsen(scenario: &mut Scenario, table: &mut WorkTable) {
    let floor = |ns: &mut i64| *ns -= ns.rem_euclid(GRAIN_NS);
    let floor_ms = |ms: &mut f64| *ms = (*ms * 2.0).floor() / 2.0;
    for work in &mut table.frames {
        for ns in [&mut work.simulate_ns, &mut work.render_ns, &mut work.encode_ns, &mut work.decode_ns] {
            floor(ns);
        }
        for ns in [&mut work.uplink_ns, &mut work.link_delay_ns, &mut work.interval_ns, &mut work.clock_error_ns] {
            floor(ns);
        }
        work.bits -= work.bits % 4000;
    }
    table.compose_ns.iter_mut().for_each(floor);
    for ms in [&mut scenario.encode.frame_overhead_ms, &mut scenario.encode.slice_overhead_ms] {
        floor_ms(ms);
    }
    for ms in [&mut scenario.decode.frame_overhead_ms, &mut scenario.decode.slice_overhead_ms] {
        floor_ms(ms);
    }
    for ms in [&mut scenario.encode.pipeline_ms, &mut scenario.decode.pipeline_ms, &mut scenario.display.latch_lead_ms]
    {
        floor_ms(ms);
    }
    floor_ms(&mut scenario.link.unit_overhead_ms);
    scenario.link.packet_header_bytes = 0;
    scenario.link.propagation_us -= scenario.link.propagation_us % 500.0;
    scenario.stream.slice_header_bytes = 0;
}

/// What differs between two values, field by field; the second engine's first.
fn unequal<T: PartialEq + fmt::Debug>(place: &str, second: &T, first: &T) -> Option<String> {
    let lines = |value: &T| format!("{value:#?}").replace("(\n", "(").lines().map(str::to_owned).collect::<Vec<_>>();
    (second != first).then(|| {
        let pairs = lines(second).into_iter().zip(lines(first)).filter(|(second, first)| second != first);
        pairs.fold(place.to_owned(), |all, (second, first)| format!("{all}, {} / {}", second.trim(), first.trim()))
    })
}

/// The first place at which the engine's run is not the second engine's.
fn difference(scenario: &Scenario, second: &Story, run: &Run) -> Option<String> {
    let n = run.slice_count;
    let frames = second.frames.iter().zip(&run.frames).enumerate();
    let slices = second.slices.iter().copied().zip(run.slices.all().records()).enumerate();
    let resends = second.resends.iter().zip(&run.resends).enumerate();
    let refreshes = second.refreshes.iter().zip(&run.refreshes).enumerate();
    let when = |refresh| {
        let (scenario, refresh) = (scenario, refresh as i64);
        let second = [vsync_ns(scenario, refresh), latch_ns(scenario, refresh), photon_ns(scenario, refresh)];
        (second, [run.grid.vsync_ns(refresh), run.grid.latch_ns(refresh), run.grid.photon_ns(refresh)])
    };
    let counts = (
        [second.frames.len(), second.slices.len(), second.resends.len(), second.refreshes.len()],
        [run.frames.len(), run.slices.all().len(), run.resends.len(), run.refreshes.len()],
    );
    None.or_else(|| frames.into_iter().find_map(|(k, (a, b))| unequal(&format!("frame {k}"), a, b)))
        .or_else(|| {
            let begun = |(_, (a, b)): &(usize, (SliceRecord, SliceRecord))| {
                a.encode_start.happened() || b.encode_start.happened()
            };
            let mut slices = slices.into_iter().filter(begun);
            slices.find_map(|(i, (a, b))| unequal(&format!("frame {} slice {}", i / n, i % n), &a, &b))
        })
        .or_else(|| resends.into_iter().find_map(|(i, (a, b))| unequal(&format!("resend {i}"), a, b)))
        .or_else(|| {
            refreshes.into_iter().find_map(|(j, (a, b))| {
                let (second, first) = when(j);
                unequal(&format!("refresh {j}"), a, b).or_else(|| unequal(&format!("refresh {j}"), &second, &first))
            })
        })
        .or_else(|| unequal("frames, slices, resends, refreshes", &counts.0, &counts.1))
        .or_else(|| unequal("pilot", &second.pilot, &run.pilot))
        .or_else(|| unequal("end", &second.end_ns, &run.end_ns))
}

proptest! {
    #![proptest_config({
        let config = same_every_time(17);
        ProptestConfig { cases: config.cases.max(2000), ..config }
    })]
    #[test]
    fn two_engines_leave_the_same_run(World { scenario, table } in worlds()) {
        prop_assert_eq!(scenario.check(), Ok(()));
        let second = second::play(&scenario, &table);
        for (mut engine, name) in [(Engine::new(), "strides"), (Engine::slice_by_slice(), "slice by slice")] {
            let run = engine.simulate(&scenario, &table);
            prop_assert_eq!(difference(&scenario, &second, run), None, "{}", name);
        }
    }
}
