//! Fits to times whose parameters are known.

use super::*;
use crate::calibrate::measured::Values;
use crate::scenario::{CodecCost, Scenario, Stall};
use crate::work;

/// Encode times and sizes of a scenario whose numbers are known.
fn drawn(frames: u32, seed: u64, change: impl Fn(&mut Scenario)) -> Measured {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.seed, scenario.run.warmup) = (frames, seed, 0);
    scenario.stream.intra.every = None;
    change(&mut scenario);
    let table = work::draw(&scenario);
    let rows = || table.frames.iter().skip(1);
    let overhead = scenario.encode.slice_overhead_ms * f64::from(scenario.slices.count);
    let encode = rows().map(|frame| frame.encode_ns as f64 * 1e-6 + overhead).collect();
    Measured {
        frames: frames as usize - 1,
        slices: vec![scenario.slices.count; frames as usize - 1],
        values: vec![
            Values { role: Role::Encode, values: encode },
            Values { role: Role::Size, values: rows().map(|frame| frame.bits as f64).collect() },
        ],
        starts: vec![0],
        ..Measured::default()
    }
}

/// 3 ms and 2 ms a Mbit, sizes with a cv of 0.3, jitter of 5 % and no memory.
fn known(scenario: &mut Scenario) {
    scenario.content.cv = 0.0;
    scenario.stream.vbv_frames = 0.0;
    scenario.stream.size = Spread::LogNormal { cv: 0.3 };
    scenario.slices.bits_penalty_pct = 0.0;
    (scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms) = (0.0, 0.0);
    scenario.encode.work = CodecCost {
        fixed_ms: 3.0,
        per_mpx_ms: 0.0,
        per_mbit_ms: 2.0,
        content: 0.0,
        spread: Spread::LogNormal { cv: 0.05 },
        stall: Stall { chance: 0.0, mean_ms: 0.0 },
    };
}

fn joined(parts: &[Measured]) -> Measured {
    let mut all = parts[0].clone();
    for part in &parts[1..] {
        all.starts.push(all.frames);
        all.frames += part.frames;
        all.slices.extend(&part.slices);
        for (values, more) in all.values.iter_mut().zip(&part.values) {
            values.values.extend(&more.values);
        }
    }
    all
}

#[track_caller]
fn assert_near(found: Option<Estimate>, expected: f64, relative: f64) {
    let found = found.unwrap();
    assert!((found.value / expected - 1.0).abs() < relative, "{found:?} is not {expected}");
}

#[test]
fn known_costs_come_out_again() {
    let counts = [1_u32, 4, 16];
    let parts: Vec<Measured> = (0_u64..)
        .zip(counts)
        .map(|(seed, count)| {
            drawn(1500, 11 + seed, |scenario| {
                known(scenario);
                scenario.slices.count = count;
                scenario.encode.slice_overhead_ms = 0.1;
            })
        })
        .collect();
    let fit = StageFit::of(&joined(&parts), Role::Encode).unwrap();
    assert_near(fit.constant_ms, 3.0, 0.02);
    assert_near(fit.per_mbit_ms, 2.0, 0.02);
    assert_near(fit.slice_overhead_ms, 0.1, 0.05);
    assert_near(fit.cv, 0.05, 0.05);
    assert!(fit.law_serves && fit.slow.is_none() && fit.stall_chance.is_none(), "{fit:?}");
}

#[test]
fn stalls_are_told_from_jitter() {
    let measured = drawn(6000, 3, |scenario| {
        known(scenario);
        scenario.encode.work.stall = Stall { chance: 0.01, mean_ms: 8.0 };
    });
    let fit = StageFit::of(&measured, Role::Encode).unwrap();
    let (chance, mean) = (fit.stall_chance.unwrap(), fit.stall_mean_ms.unwrap());
    let within =
        |estimate: Estimate, truth: f64| estimate.ci95.is_some_and(|[low, high]| low <= truth && truth <= high);
    assert!(within(chance, 0.01) && within(mean, 8.0), "{chance:?} {mean:?}");
    assert_near(fit.cv, 0.05, 0.1);
}

#[test]
fn what_lasts_is_told_from_what_does_not() {
    let measured = drawn(9000, 5, |scenario| {
        known(scenario);
        scenario.encode.work.per_mbit_ms = 0.0;
        (scenario.content.cv, scenario.content.memory, scenario.stream.content) = (0.1, 0.9, 0.0);
        scenario.encode.work.content = 1.0;
    });
    let slow = StageFit::of(&measured, Role::Encode).unwrap().slow.unwrap();
    assert!((slow.memory - 0.9).abs() < 0.02, "{slow:?}");
    assert!((content::cv_of(slow.variance) / 0.1 - 1.0).abs() < 0.15, "{slow:?}");
}

#[test]
fn too_few_frames_are_not_fitted() {
    assert_eq!(StageFit::of(&drawn(20, 1, known), Role::Encode), None);
    assert_eq!(StageFit::of(&drawn(200, 1, known), Role::Decode), None);
}

/// Too few frames that remember: the spread is told without an interval, and how many it takes.
#[test]
fn a_spread_without_an_interval_says_what_it_takes() {
    let told = |frames: u32| {
        let measured = drawn(frames, 5, |scenario| {
            known(scenario);
            scenario.encode.work.per_mbit_ms = 0.0;
            (scenario.content.cv, scenario.content.memory, scenario.stream.content) = (0.1, 0.9, 0.0);
            scenario.encode.work.content = 1.0;
        });
        let fit = StageFit::of(&measured, Role::Encode).unwrap();
        let says = fit.notes.iter().any(|note| note.contains("too few for an interval of the spread: it takes"));
        (fit.cv.unwrap().ci95.is_some(), fit.constant_ms.unwrap().ci95.is_some(), says)
    };
    assert_eq!(told(200), (false, true, true));
    assert_eq!(told(3000), (true, true, false));
}

/// Three frames of a thousand take four times as long: too few for stalls, and the fit says where they are. None do, or ten:
/// nothing of the kind is said.
#[test]
fn a_few_long_frames_are_told() {
    let said = |long: usize| {
        let mut measured = drawn(1000, 5, known);
        for k in 0..long {
            measured.values[0].values[37 + 90 * k] *= 4.0;
        }
        let fit = StageFit::of(&measured, Role::Encode).unwrap();
        let notes = fit.notes.iter().filter(|note| note.contains("too few to be told as stalls")).cloned();
        (notes.collect::<Vec<_>>(), fit.stall_chance.is_some())
    };
    let (notes, stalls) = said(3);
    assert!(notes.len() == 1 && notes[0].starts_with("3 frames took far longer") && !stalls, "{notes:?}");
    assert_eq!(said(0).0, Vec::<String>::new());
    assert_eq!(said(10).0, Vec::<String>::new());
}
