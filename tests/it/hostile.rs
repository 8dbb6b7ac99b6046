//! Measurements as no bench should write them: whatever they hold, what comes of them is a scenario that passes its check, or
//! a refusal in words.

use std::fs;

use framelap::calibrate::{Fit, Judgement, Mapping, Measured, Role, Samples, Sheet, Unit, adopt, replay};
use framelap::scenario::{Scenario, Spread};
use framelap::study::{Workspace, answer};

struct Made {
    measured: Measured,
    fit: Fit,
    scenario: Scenario,
}

/// Reads, fits, adopts, runs and judges; the scenario must pass its check.
#[track_caller]
fn made(text: &str, change: impl Fn(&mut Mapping, &Sheet)) -> Made {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("m.csv");
    fs::write(&path, text).unwrap();
    let sheet = Sheet::read(&path).unwrap();
    let mut mapping = Mapping::propose(&sheet);
    change(&mut mapping, &sheet);
    let measured = Measured::of(&sheet, &mapping);
    let fit = Fit::of(&measured);
    let mut base = Scenario::default();
    (base.run.frames, base.run.warmup) = (200, 20);
    let adopted = adopt(&base, &fit, Samples::WhereNoLawFits);
    let scenario = adopted.scenario;
    scenario.check().unwrap();
    let judgement = Judgement::of(&measured, &answer(&scenario, &mut Workspace::new()));
    assert!(judgement.comparisons.iter().all(|comparison| comparison.ks.is_finite()));
    let _ = replay(&scenario, &measured);
    Made { measured, fit, scenario }
}

fn as_it_is(_: &mut Mapping, _: &Sheet) {}

fn rows(count: u32, row: impl Fn(u32) -> String) -> String {
    (0..count).map(row).collect()
}

#[test]
fn equal_values_are_constant() {
    let Made { fit, scenario, .. } = made(&format!("encode_ms,bytes\n{}", "5,100000\n".repeat(100)), as_it_is);
    let encode = fit.stage(Role::Encode).unwrap();
    assert!((encode.constant_ms.unwrap().value - 5.0).abs() < 1e-9 && encode.laws.is_empty());
    assert_eq!((&scenario.encode.work.spread, &scenario.stream.size), (&Spread::Constant, &Spread::Constant));
}

#[test]
fn only_intra_frames_are_a_kind_of_their_own() {
    let text = rows(200, |k| format!("{k},1,{},{}\n", 50_000 + 100 * (k * 7 % 10), 4.0 + 0.01 * f64::from(k * 3 % 10)));
    let Made { fit, scenario, .. } = made(&format!("frame,intra,bytes,encode_ms\n{text}"), as_it_is);
    assert_eq!(fit.sizes.as_ref().unwrap().frames, 200);
    assert_eq!((scenario.stream.intra.every, scenario.stream.intra.factor), (Some(1), 1.0));
    assert!(fit.stage(Role::Encode).is_some());
}

#[test]
fn two_rows_are_too_few() {
    let Made { fit, .. } = made("frame,encode_ms,bytes\n0,3,1000\n1,4,1100\n", as_it_is);
    assert!(fit.stages.is_empty() && fit.sizes.is_none());
    assert_eq!(fit.too_few, [Role::Encode, Role::Size]);
}

#[test]
fn a_lone_column_without_a_name_is_fitted_once_it_is_named() {
    let text = rows(100, |k| format!("{}\n", 3.0 + 0.1 * f64::from(k * 7 % 10)));
    assert!(made(&text, as_it_is).fit.stages.is_empty());
    let Made { fit, .. } = made(&text, |mapping, sheet| mapping.assign(sheet, "column 1", Role::Decode));
    assert!((fit.stage(Role::Decode).unwrap().constant_ms.unwrap().value - 3.45).abs() < 0.02);
}

#[test]
fn missing_negative_and_zero_times_are_told() {
    let cell = |k: u32| match k % 10 {
        0 => String::new(),
        1 => "nan".to_owned(),
        2 => "0".to_owned(),
        3 => "-1".to_owned(),
        _ => format!("{}", 3.0 + 0.01 * f64::from(k % 7)),
    };
    let Made { measured, fit, .. } = made(&format!("render_ms\n{}", rows(400, |k| cell(k) + "\n")), as_it_is);
    // Missing cells alone on their line are empty lines or rows of nothing.
    assert_eq!((measured.bad.count, measured.frames), (40, 320));
    let render = fit.stage(Role::Render).unwrap();
    assert_eq!(render.frames, 240);
    assert!(render.notes.iter().any(|note| note.starts_with("40 frames of 0 ms are left out")), "{:?}", render.notes);
}

/// 4 ms written as seconds and read as ms: the scenario is wrong, but it is one, and the table shows the unit that was read.
#[test]
fn a_unit_that_is_told_wrongly_is_kept_within_ranges() {
    let text = format!("encode\n{}", rows(100, |k| format!("{}\n", 0.004 + 1e-5 * f64::from(k * 7 % 10))));
    let guessed = made(&text, as_it_is);
    assert!((guessed.scenario.encode.work.fixed_ms - 4.045).abs() < 0.02);
    for unit in [Unit::Ns, Unit::Us, Unit::Ms] {
        made(&text, |mapping, _| mapping.columns[0].unit = unit);
    }
    let large = format!("encode\n{}", rows(100, |k| format!("{}\n", 4000 + k % 10)));
    let Made { scenario, .. } = made(&large, |mapping, _| mapping.columns[0].unit = Unit::Ms);
    assert!((scenario.encode.work.fixed_ms - 50.0).abs() < 1e-9, "{}", scenario.encode.work.fixed_ms);
}

#[test]
fn huge_and_wild_values_leave_a_scenario() {
    let wild = |k: u32| 10.0_f64.powi((k * 7 % 13) as i32 - 6);
    let text = rows(200, |k| format!("{},{},{},{}\n", k * 1_000_000, wild(k), wild(k + 3), wild(k + 5) * 1e3));
    made(&format!("frame,encode_ms,decode_ms,bytes\n{text}"), as_it_is);
    let huge = rows(200, |k| format!("{},{}\n", 9e6 + f64::from(k), 1.2e9));
    made(&format!("encode_ms,bytes\n{huge}"), as_it_is);
    // Every frame a stall, or none of them alike.
    made(&format!("encode_ms\n{}", rows(300, |k| format!("{}\n", if k % 2 == 0 { 1.0 } else { 1000.0 }))), as_it_is);
}

#[test]
fn rows_of_another_kind_do_not_mix() {
    let text =
        rows(200, |k| format!("{},{}\n", if k % 2 == 0 { "low" } else { "high" }, if k % 2 == 0 { 2 } else { 8 }));
    let text = format!("quality;encode_ms\n{}", text.replace(',', ";"));
    let low = made(&text, as_it_is);
    assert_eq!(low.measured.frames, 100);
    assert!((low.fit.stage(Role::Encode).unwrap().constant_ms.unwrap().value - 2.0).abs() < 1e-9);
    let high = made(&text, |mapping, _| mapping.group = Some("high".to_owned()));
    assert!((high.fit.stage(Role::Encode).unwrap().constant_ms.unwrap().value - 8.0).abs() < 1e-9);
}

/// Found by damaging the worked example: a value times the rate of a gamma law was no longer above 0, a panic of the library.
#[test]
fn a_gamma_law_beyond_what_doubles_hold_is_left_out() {
    let made = made(include_str!("hostile/gamma.csv"), as_it_is);
    assert!(made.scenario.check().is_ok());
}
