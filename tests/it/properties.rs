//! What holds in every run, whatever the scenario: fates, refreshes, stamps, services.

use framelap::engine::{Fate, FrameRecord, RefreshKind, SliceRecord, Stamp};
use framelap::measure::{Summary, summarize, walk_back};
use framelap::scenario::{Choose, HandOff, Repair, Scenario, Taken, WhenFull};
use framelap::time::ms_to_ns;
use framelap::work::units;
use proptest::prelude::*;

use crate::random_worlds::{Played, played, same_every_time, scenarios};

/// Stamps happened one after the other; once one is missing, so are all behind it.
fn in_order(stamps: &[Stamp]) -> bool {
    let happened: Vec<i64> = stamps.iter().map_while(|stamp| stamp.ns()).collect();
    happened.is_sorted() && stamps[happened.len()..].iter().all(|stamp| !stamp.happened())
}

fn way_of_frame(frame: &FrameRecord) -> [Stamp; 5] {
    [frame.plan, frame.start, frame.simulated, frame.render_start, frame.rendered]
}

fn way_of_coded_frame(frame: &FrameRecord) -> [Stamp; 4] {
    [frame.render_start, frame.encode_start, frame.link_start, frame.decode_start]
}

fn ends_of_coded_frame(frame: &FrameRecord) -> [Stamp; 5] {
    [frame.rendered, frame.encoded, frame.sent, frame.arrived, frame.ready]
}

fn way_of_slice(slice: &SliceRecord) -> [Stamp; 11] {
    [
        slice.come,
        slice.encode_start,
        slice.encode_end,
        slice.encode_out,
        slice.link_start,
        slice.link_end,
        slice.complete,
        slice.arrive,
        slice.decode_start,
        slice.decode_end,
        slice.decode_out,
    ]
}

/// What a frame's record must say for its fate to be true.
fn fate_holds(Played { run, .. }: &Played, number: usize) -> bool {
    let frame = &run.frames[number];
    let (ready, latch_of) = (frame.ready.happened(), |refresh: u32| run.grid.latch_ns(i64::from(refresh)));
    let next_plan = run.frames.get(number + 1).and_then(|next| next.plan.ns());
    let befallen = frame.fate_at.ns();
    // A frame that never got to a stage ended before it.
    (match frame.fate {
        Fate::Shown => ready && befallen == frame.shown.map(latch_of) && frame.ready.ns() <= befallen,
        Fate::Superseded => {
            let newer = run.frames[number + 1..].iter().find(|newer| newer.fate_at == frame.fate_at);
            ready && newer.is_some_and(|newer| matches!(newer.fate, Fate::Shown | Fate::Superseded))
        }
        Fate::Skipped => frame.plan.happened() && !frame.start.happened() && befallen == next_plan,
        Fate::DroppedEncode => frame.render_start.happened() && !frame.encode_start.happened(),
        Fate::DroppedLink => frame.encode_start.happened() && !frame.link_start.happened(),
        Fate::DroppedDecode => frame.link_start.happened() && !frame.decode_start.happened(),
        Fate::Lost => frame.link_start.happened() && !frame.arrived.happened() && !ready,
        Fate::Undecodable => ready && befallen == frame.ready.ns() && !frame.intra,
        Fate::InFlight => befallen.is_none(),
    }) && (frame.fate == Fate::Shown) == frame.shown.is_some()
        && (frame.fate == Fate::InFlight) == befallen.is_none()
        && befallen <= Some(run.end_ns)
}

/// A frame's stay before encode, link or decode (stage 0 to 2), from the coming of its first slice until that begins or
/// the frame meets its fate.
fn stay(Played { scenario, run, .. }: &Played, stage: usize, number: usize) -> Option<(i64, i64)> {
    let (frame, first) = (&run.frames[number], run.slices_of(number).at(0).record());
    let (come, begin) = match stage {
        0 => (first.come, frame.encode_start),
        1 if scenario.encode.hand_off == HandOff::Frame => (frame.encoded, frame.link_start),
        1 => (first.encode_out, frame.link_start),
        _ if scenario.link.hand_off == HandOff::Frame => (frame.arrived, frame.decode_start),
        _ => (first.arrive, frame.decode_start),
    };
    Some((come.ns()?, begin.ns().or(frame.fate_at.ns()).unwrap_or(i64::MAX)))
}

/// Time that so many bytes take the link: packets with their headers, parity packets of full size, one rounding.
fn send_ns(scenario: &Scenario, bytes: i64) -> i64 {
    let link = &scenario.link;
    let packets = (bytes as f64 / f64::from(link.packet_payload_bytes)).ceil().max(1.0);
    let parity = match link.repair {
        Repair::Parity { overhead_pct } => (overhead_pct * packets / 100.0).ceil(),
        Repair::Nothing | Repair::Resend { .. } => 0.0,
    };
    let headers = (packets + parity) * f64::from(link.packet_header_bytes);
    let on_wire = bytes as f64 + parity * f64::from(link.packet_payload_bytes) + headers;
    (link.unit_overhead_ms * 1e6 + on_wire * 8000.0 / link.rate_mbps).round() as i64
}

proptest! {
    #![proptest_config(same_every_time(1))]

    #[test]
    fn random_worlds_are_valid(scenario in scenarios()) {
        prop_assert!(scenario.check().is_ok(), "{:?}", scenario.check());
    }

    #[test]
    fn every_frame_meets_one_fate_that_its_stamps_bear_out(played in played()) {
        for number in 0..played.run.frames.len() {
            prop_assert!(fate_holds(&played, number), "frame {}: {:?}", number, played.run.frames[number]);
        }
        let Played { scenario, table, run } = &played;
        let summary = summarize(scenario, table, run);
        let counted = &run.frames[scenario.run.warmup as usize..];
        for fate in Fate::ALL {
            let count = counted.iter().filter(|frame| frame.fate == fate).count();
            prop_assert_eq!(summary.fates.of(fate) as usize, count, "{:?}", fate);
        }
        prop_assert_eq!(summary.fates.total(), scenario.run.frames - scenario.run.warmup);
    }

    #[test]
    fn stamps_follow_the_pipeline(played in played()) {
        let Played { scenario, table, run } = &played;
        for (number, frame) in run.frames.iter().enumerate() {
            let told = || format!("frame {number}: {frame:?}");
            prop_assert!(in_order(&way_of_frame(frame)), "{}", told());
            prop_assert!(in_order(&way_of_coded_frame(frame)), "{}", told());
            prop_assert!(in_order(&ends_of_coded_frame(frame)), "{}", told());
            prop_assert!(number == 0 || in_order(&[run.frames[number - 1].plan, frame.plan]));
            for slice in run.slices_of(number).records() {
                prop_assert!(in_order(&way_of_slice(&slice)) || !slice.encode_start.happened(), "{:?}", slice);
            }
            if let Some(pose_ns) = frame.pose.ns() {
                let used = if scenario.pose.taken == Taken::AtRender {
                    frame.render_start
                } else {
                    frame.start
                };
                let processing_ns = ms_to_ns(scenario.pose.processing_ms);
                let known_ns = used.ns().unwrap() - processing_ns - table.frames[number].uplink_ns;
                let period_ns = run.grid.pose_period_ns();
                prop_assert!(pose_ns <= known_ns && pose_ns as f64 > known_ns as f64 - period_ns - 2.0, "{}", told());
            }
        }
    }

    #[test]
    fn plans_keep_to_their_leads_and_in_order(played in played()) {
        let Played { table, run, .. } = &played;
        let (mut last_ns, mut interval_ns) = (0, 0);
        let first_target = run.frames[0].target;
        for (number, (frame, work)) in run.frames.iter().zip(&table.frames).enumerate() {
            let Some(plan_ns) = frame.plan.ns() else { break };
            let expected = match frame.target {
                Some(target) => {
                    let latch_ns = run.grid.latch_ns(i64::from(target));
                    last_ns.max(latch_ns - frame.lead_ns + work.clock_error_ns)
                }
                None => last_ns + interval_ns,
            };
            prop_assert_eq!(plan_ns, expected, "frame {}", number);
            prop_assert!(frame.target.is_none() || number == 0 || frame.target > first_target);
            (last_ns, interval_ns) = (plan_ns, work.interval_ns);
        }
    }

    #[test]
    fn refreshes_are_of_one_kind_each(played in played()) {
        let Played { scenario, table, run } = &played;
        let limit_ns = (ms_to_ns(scenario.display.latch_lead_ms) as f64).min(scenario.refresh_period_ns());
        let mut shown = None;
        for (refresh, record) in run.refreshes.iter().enumerate() {
            let told = format!("refresh {refresh}: {record:?}");
            let happened = run.grid.latch_ns(refresh as i64) >= 0;
            let compose_ns = table.compose_ns[refresh.min(table.compose_ns.len() - 1)];
            prop_assert_eq!(record.composed, happened && compose_ns as f64 <= limit_ns, "{}", told);
            prop_assert_eq!(record.frame.is_none() || happened, true, "{}", told);

            let target_of = |frame: &FrameRecord| frame.target == Some(refresh as u32);
            let due = run.frames.iter().position(target_of).is_some_and(|due| record.frame.is_none_or(|f| (f as usize) < due));
            let new = record.frame != shown;
            let expected = match (happened, new, record.composed, due, record.frame) {
                (false, ..) => RefreshKind::None,
                (_, true, ..) => RefreshKind::New,
                (_, _, false, ..) => RefreshKind::ComposeMiss,
                (_, _, _, true, _) => RefreshKind::Miss,
                (.., Some(_)) => RefreshKind::Repeat,
                (.., None) => RefreshKind::None,
            };
            prop_assert_eq!(record.kind, expected, "{}", told);
            if new {
                prop_assert!(record.composed && shown < record.frame, "{}", told);
                let frame = record.frame.unwrap() as usize;
                prop_assert_eq!(run.frames[frame].shown, Some(refresh as u32));
            }
            shown = record.frame;
        }
        let summary = summarize(scenario, table, run);
        prop_assert_eq!(summary.refresh_kinds.total(), summary.refreshes);
    }

    #[test]
    fn compositor_takes_the_newest_frame_it_may(played in played()) {
        let Played { scenario, run, .. } = &played;
        let on_target = scenario.display.choose == Choose::OnTarget;
        let mut shown = None;
        for (refresh, record) in run.refreshes.iter().enumerate() {
            let latch_ns = run.grid.latch_ns(refresh as i64);
            let may_be_taken = |frame: &FrameRecord| {
                frame.ready.ns().is_some_and(|ready_ns| ready_ns <= latch_ns)
                    && frame.fate != Fate::Undecodable
                    && (!on_target || frame.target.is_none_or(|target| target <= refresh as u32))
            };
            let newest = run.frames.iter().rposition(may_be_taken).map(|frame| frame as u32);
            if record.composed {
                shown = shown.max(newest);
            }
            prop_assert_eq!(record.frame, shown, "refresh {}", refresh);
        }
    }

    #[test]
    fn servers_do_their_work_first_in_first_out(played in played()) {
        let Played { scenario, table, run } = &played;
        let stages = [
            (scenario.encode.engines, scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms),
            (scenario.decode.engines, scenario.decode.frame_overhead_ms, scenario.decode.slice_overhead_ms),
        ];
        for (stage, (engines, frame_ms, slice_ms)) in stages.into_iter().enumerate() {
            let mut services: Vec<(i64, i64)> = Vec::new();
            for (number, work) in table.frames.iter().enumerate().take(run.frames.len()) {
                let work_ns = [work.encode_ns, work.decode_ns][stage];
                let shares = [&table.row_shares, &table.bit_shares][stage].of(number);
                for (i, (slice, border)) in run.slices_of(number).records().zip(units::borders(shares)).enumerate() {
                    let (start, end) =
                        [(slice.encode_start, slice.encode_end), (slice.decode_start, slice.decode_end)][stage];
                    let (Some(start_ns), Some(end_ns)) = (start.ns(), end.ns()) else { continue };
                    let overhead_ns = if i == 0 { ms_to_ns(frame_ms) } else { 0 } + ms_to_ns(slice_ms);
                    prop_assert_eq!(end_ns - start_ns, overhead_ns + units::part_ns(work_ns, border));
                    services.push((start_ns, end_ns));
                }
            }
            prop_assert!(services.is_sorted_by_key(|service| service.0), "a later slice began before an earlier one");
            for (at, &(start_ns, _)) in services.iter().enumerate() {
                let busy = services[..at].iter().filter(|earlier| earlier.1 > start_ns).count();
                prop_assert!(busy < engines as usize, "{} services at once, {} engines", busy + 1, engines);
            }
        }
    }

    #[test]
    fn link_that_loses_nothing_takes_its_time_and_keeps_the_order(scenario in scenarios()) {
        let mut scenario = scenario;
        scenario.link.loss = 0.0;
        scenario.link.closures.per_minute = 0.0;
        let Played { scenario, table, run } = Played::new(scenario);
        let (mut free_ns, mut arrived_ns) = (0, 0);
        for (number, work) in table.frames.iter().enumerate().take(run.frames.len()) {
            for slice in run.slices_of(number).records() {
                let (Some(start_ns), Some(end_ns)) = (slice.link_start.ns(), slice.link_end.ns()) else { continue };
                prop_assert!(start_ns >= free_ns, "two units at once");
                prop_assert_eq!(end_ns - start_ns, send_ns(&scenario, slice.bytes));
                free_ns = end_ns;
                let Some(complete_ns) = slice.complete.ns() else { continue };
                let propagation_ns = (scenario.link.propagation_us * 1000.0).round() as i64;
                arrived_ns = arrived_ns.max(end_ns + propagation_ns + work.link_delay_ns);
                prop_assert_eq!((complete_ns, slice.arrive.ns()), (arrived_ns, Some(arrived_ns)));
            }
        }
    }

    #[test]
    fn buffers_hold_no_more_than_they_may(played in played()) {
        let Scenario { encode, link, decode, .. } = &played.scenario;
        for (stage, buffer) in [encode.buffer, link.buffer, decode.buffer].into_iter().enumerate() {
            let (Some(most), true) = (buffer.frames, buffer.when_full != WhenFull::Block) else { continue };
            let stays: Vec<(i64, i64)> =
                (0..played.run.frames.len()).filter_map(|number| stay(&played, stage, number)).collect();
            for &(come_ns, _) in &stays {
                let waiting = stays.iter().filter(|stay| stay.0 <= come_ns && stay.1 > come_ns).count();
                prop_assert!(waiting <= most as usize, "{} frames wait at {}, room for {}", waiting, come_ns, most);
            }
        }
    }

    #[test]
    fn the_way_of_a_shown_frame_adds_up_to_pose_to_photon(played in played()) {
        let Played { scenario, table, run } = &played;
        for (number, frame) in run.frames.iter().enumerate() {
            let spans = walk_back(scenario, table, run, number);
            prop_assert_eq!(spans.is_some(), frame.fate == Fate::Shown);
            let Some(spans) = spans else { continue };
            prop_assert_eq!(Some(spans[0].start_ns), frame.pose.ns());
            prop_assert_eq!(spans.last().map(|span| span.end_ns), run.photon_ns(number));
            for pair in spans.windows(2) {
                prop_assert!(pair[0].end_ns == pair[1].start_ns && pair[0].start_ns < pair[0].end_ns, "{:?}", spans);
            }
        }
        let summary = summarize(scenario, table, run);
        if let (Some(total), Some(mean)) = (summary.exposed_ms.total(), summary.pose_to_photon_ms.mean) {
            prop_assert!((total - mean).abs() < 1e-9 * mean.max(1.0), "{} exposed, {} from pose to photon", total, mean);
        }
    }

    #[test]
    fn measures_keep_their_bounds(played in played()) {
        let Played { scenario, table, run } = &played;
        let summary = summarize(scenario, table, run);
        let Summary { pose_to_photon_ms, photon_age_ms, stream_ms, turnaround_ms, .. } = &summary;
        for it in [pose_to_photon_ms, photon_age_ms, stream_ms, turnaround_ms] {
            let ladder = [it.min, it.p50, it.p90, it.p95, it.p99, it.p999, it.max];
            let ladder: Vec<f64> = ladder.into_iter().flatten().collect();
            prop_assert!(ladder.is_sorted() && ladder.iter().all(|&ms| ms >= 0.0), "{:?}", it);
        }
        for share in [summary.delivered_share, summary.late_share, summary.missed_pct.map(|pct| pct / 100.0)] {
            prop_assert!(share.is_none_or(|share| (0.0..=1.0).contains(&share)), "{:?}", share);
        }
        for server in framelap::measure::Server::ALL {
            prop_assert!(summary.busy.of(server).is_none_or(|busy| (0.0..=1.0 + 1e-12).contains(&busy)), "{:?}", server);
        }
    }
}
