//! What a scenario made of measurements keeps of them, on made up ones.

use rand::rngs::Xoshiro256PlusPlus;
use rand::{RngExt as _, SeedableRng as _};
use statrs::distribution::{ContinuousCDF as _, Normal};

use super::*;
use crate::calibrate::judge;
use crate::calibrate::measured::{Measured, Values};
use crate::study::{Workspace, answer};
use crate::work;

/// Sizes and times on the link of a scenario with headers and a penalty, whose own rate is not that of `Scenario::default`.
fn measured(cv: f64) -> Measured {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup) = (2000, 0);
    (scenario.link.rate_mbps, scenario.link.unit_overhead_ms) = (700.0, 0.1);
    scenario.link.delay = Delay { fixed_ms: 3.0, jitter_ms: 0.4, spread: Spread::Exponential };
    (scenario.content.cv, scenario.stream.vbv_frames, scenario.stream.intra.every) = (0.0, 0.0, None);
    scenario.stream.size = if cv > 0.0 { Spread::LogNormal { cv } } else { Spread::Constant };
    (scenario.slices.count, scenario.slices.bits_penalty_pct) = (8, 1.0);
    let table = work::draw(&scenario);
    let packing = Packing::new(&scenario);
    let sent_ms = |frame: usize| {
        let work = &table.frames[frame];
        let parts = units::borders(table.bit_shares.of(frame));
        let unit = |part| packing.unit(units::frame_bytes(work.bits), part);
        ns_to_ms(parts.map(|part| packing.send_ns(unit(part))).sum::<i64>() + work.link_delay_ns)
    };
    let bits = |frame: usize| table.frames[frame].bits as f64 + header_bits(&scenario, 8);
    let frames = table.frames.len() - 1;
    Measured {
        frames,
        slices: vec![8; frames],
        values: vec![
            Values { role: Role::Size, values: (1..=frames).map(bits).collect() },
            Values { role: Role::Link, values: (1..=frames).map(sent_ms).collect() },
        ],
        starts: vec![0],
        ..Measured::default()
    }
}

/// Headers of slices and packets, the penalty and the sending are in the measured numbers once, not twice.
#[test]
fn sizes_and_times_on_the_link_come_back_as_measured() {
    for cv in [0.0, 0.3] {
        let measured = measured(cv);
        let mut base = Scenario::default();
        (base.run.frames, base.run.warmup, base.stream.intra.every) = (3000, 10, None);
        (base.link.rate_mbps, base.stream.slice_header_bytes, base.slices.bits_penalty_pct) = (900.0, 120, 2.0);
        let adopted = adopt(&base, &Fit::of(&measured), Samples::default());
        let answer = answer(&adopted.scenario, &mut Workspace::new());
        for role in [Role::Size, Role::Link] {
            let mean = |values: &[f64]| statistics::mean(values).unwrap();
            let (found, expected) =
                (mean(&judge::simulated(role, &answer).unwrap()), mean(measured.of_role(role).unwrap()));
            assert!((found / expected - 1.0).abs() < 0.005, "{role:?}, cv {cv}: {found}, measured {expected}");
        }
        if cv > 0.0 {
            let rate = adopted.scenario.link.rate_mbps;
            assert!((rate / 700.0 - 1.0).abs() < 0.02, "{rate}");
        }
    }
}

/// Stalls, and what varies of the part that goes with bits, are in the scenario's delay.
#[test]
fn stalls_and_spread_of_the_link_are_kept() {
    let mut measured = measured(0.3);
    let times = measured.values.iter_mut().find(|values| values.role == Role::Link).unwrap();
    for (frame, ms) in times.values.iter_mut().enumerate() {
        *ms *= 1.0 + 0.02 * f64::from((frame * 7 % 11) as u32) - 0.1;
        if frame % 40 == 7 {
            *ms += 4.0 + (frame / 40 % 9) as f64;
        }
    }
    let mut base = Scenario::default();
    (base.run.frames, base.run.warmup, base.stream.intra.every) = (6000, 10, None);
    let fit = Fit::of(&measured);
    assert!(fit.stage(Role::Link).unwrap().stall_chance.is_some());
    let adopted = adopt(&base, &fit, Samples::default());
    let answer = answer(&adopted.scenario, &mut Workspace::new());
    let mut made = judge::simulated(Role::Link, &answer).unwrap();
    let mut found = measured.of_role(Role::Link).unwrap().to_vec();
    for values in [&mut made, &mut found] {
        values.sort_unstable_by(f64::total_cmp);
    }
    let mean = |values: &[f64]| statistics::mean(values).unwrap();
    assert!((mean(&made) / mean(&found) - 1.0).abs() < 0.01, "{} of {}", mean(&made), mean(&found));
    for (p, allowed) in [(0.5, 0.03), (0.95, 0.03), (0.98, 0.1), (0.99, 0.1)] {
        let [made, found] = [&made, &found].map(|values| statistics::quantile_of_sorted(values, p).unwrap());
        assert!((made / found - 1.0).abs() < allowed, "p{p}: {made}, measured {found}");
    }
    assert!(adopted.cut.is_empty(), "{:?}", adopted.cut);
}

/// What sending takes comes off the part that varies where the one that is fixed is too small, so that the mean stays; that is
/// told, and so is a link too slow for the times measured.
#[test]
fn a_delay_that_would_be_negative_is_told() {
    let delay = |rate_mbps: f64| {
        let mut measured = measured(0.0);
        measured.values.retain(|values| values.role == Role::Link);
        for (frame, ms) in measured.values[0].values.iter_mut().enumerate() {
            *ms = 1.0 + 0.1 * f64::from((frame * 7 % 31) as u32);
        }
        let mut base = Scenario::default();
        base.link.rate_mbps = rate_mbps;
        let sending = |scenario: &Scenario| {
            let mut bare = scenario.clone();
            bare.link.delay = Delay { fixed_ms: 0.0, jitter_ms: 0.0, spread: Spread::Constant };
            let sent = judge::simulated(Role::Link, &answer(&bare, &mut Workspace::new())).unwrap();
            statistics::mean(&sent).unwrap()
        };
        let adopted = adopt(&base, &Fit::of(&measured), Samples::default());
        let delay = &adopted.scenario.link.delay;
        (sending(&adopted.scenario) + delay.fixed_ms + delay.jitter_ms, adopted.cut)
    };
    let (mean_ms, cut) = delay(20_000.0);
    assert!((mean_ms - 2.5).abs() < 0.05 && cut.is_empty(), "{mean_ms} {cut:?}");
    let (mean_ms, cut) = delay(2000.0);
    assert!((mean_ms - 2.5).abs() < 0.05, "{mean_ms}");
    assert!(cut.len() == 1 && cut[0].contains("ms fixed once sending is taken off, set to 0"), "{cut:?}");
    let (mean_ms, cut) = delay(200.0);
    assert!(mean_ms > 3.0 && cut.len() == 1 && cut[0].contains("the link's rate is too low"), "{mean_ms} {cut:?}");
}

#[test]
fn what_lasts_of_a_delay_is_told_to_be_lost() {
    let mut measured = measured(0.0);
    measured.values.retain(|values| values.role == Role::Link);
    let luck = &mut Xoshiro256PlusPlus::seed_from_u64(3);
    let mut slow = 0.0;
    for ms in &mut measured.values[0].values {
        slow = 0.9 * slow + 0.1 * Normal::standard().inverse_cdf(luck.random_range(1e-9..1.0));
        *ms = 5.0 + slow;
    }
    let adopted = adopt(&Scenario::default(), &Fit::of(&measured), Samples::default());
    assert!(
        adopted.because.iter().any(|line| line.starts_with("link.delay: part of it lasts")),
        "{:?}",
        adopted.because
    );
    assert_eq!(adopted.scenario.content, Scenario::default().content);
}
