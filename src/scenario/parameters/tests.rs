//! The list as a whole, and what it is for.

use std::collections::BTreeSet;

use super::*;
use crate::scenario::{Lead, Pacing, Spread, WhenFull};

fn set(scenario: &mut Scenario, path: &str, text: &str) {
    let parameter = find(path).unwrap();
    parameter.set(scenario, &parameter.parse(text).unwrap()).unwrap();
}

#[test]
fn every_entry_is_whole() {
    let mut paths = BTreeSet::new();
    let mut labels = BTreeSet::new();
    let mut stage = Stage::About;
    for parameter in all() {
        let path = &parameter.path;
        assert!(paths.insert(path.clone()), "{path} is there twice");
        assert!(labels.insert(parameter.full_label()), "{} is there twice", parameter.full_label());
        assert!(parameter.stage >= stage, "{path} is out of pipeline order");
        stage = parameter.stage;
        let meaning = &parameter.meaning;
        assert!(meaning.ends_with('.') && !meaning.contains('\n') && meaning.len() < 130, "{path}: {meaning}");
        if let Some(numeric) = parameter.numeric() {
            let (low, high) = numeric.slider;
            assert!(low < high && low.is_finite() && high.is_finite() && numeric.step > 0.0, "{path}");
            assert!(numeric.allows(high) && (numeric.allows(low) || numeric.only.contains(&low)), "{path}");
            let logarithmic = matches!(numeric.scale, Scale::Logarithmic { least } if least > 0.0 && least < high);
            assert!(logarithmic || numeric.scale == Scale::Linear, "{path}");
        }
    }
    assert!(Stage::ALL.iter().all(|stage| all().iter().any(|parameter| parameter.stage == *stage)));
    assert!(Stage::ALL.is_sorted());
}

#[test]
fn the_common_dozen() {
    let common: Vec<&str> = all().iter().filter(|parameter| parameter.common).map(|p| p.path.as_str()).collect();
    assert_eq!(
        common,
        [
            "pacing.lead",
            "pacing.lead.ms",
            "host.render.per_mpx_ms",
            "pixels.layout",
            "pixels.layout.scale",
            "slices.count",
            "encode.work.per_mpx_ms",
            "encode.slice_overhead_ms",
            "stream.bitrate_mbps",
            "link.rate_mbps",
            "link.delay.jitter_ms",
            "decode.work.per_mpx_ms",
            "decode.slice_overhead_ms",
            "decode.buffer.frames",
            "display.refresh_hz",
            "display.latch_lead_ms",
        ]
    );
}

#[test]
fn every_alternative_can_be_chosen_and_left_again() {
    for parameter in all() {
        let Kind::Choice(names) = parameter.kind else { continue };
        for name in names {
            let mut scenario = Scenario::default();
            // What the choice lies in comes first.
            match parameter.path.as_str() {
                path if path.starts_with("pacing.spread") => set(&mut scenario, "pacing", "Intervals"),
                _ => {}
            }
            let before = scenario.clone();
            parameter.set(&mut scenario, &Value::Choice(name)).unwrap();
            assert_eq!(parameter.get(&scenario), Some(Value::Choice(name)));
            scenario.settle(&parameter.path);
            scenario.check().unwrap_or_else(|error| panic!("{name}: {error}"));
            for inner in all().iter().filter(|inner| inner.lies_in(parameter)) {
                let exists = inner.get(&scenario).is_some();
                let direct = !inner.path[parameter.path.len() + 1..].contains('.');
                let says = inner.only_while.as_ref().is_some_and(|text| {
                    text.starts_with(&parameter.path) && text.split([' ', ',']).any(|word| word == *name)
                });
                assert!(!direct || exists == says, "{} with {name}", inner.path);
                assert_eq!(inner.default_in(&scenario).is_some(), exists, "{}", inner.path);
            }
            if let Some(old) = parameter.get(&before) {
                parameter.set(&mut scenario, &old).unwrap();
                assert_eq!(parameter.get(&scenario), parameter.get(&before));
            }
        }
    }
}

#[test]
fn choosing_keeps_what_both_have() {
    let mut scenario = Scenario::default();
    set(&mut scenario, "encode.work.spread.cv", "0.25");
    set(&mut scenario, "encode.work.spread", "gamma");
    assert_eq!(scenario.encode.work.spread, Spread::Gamma { cv: 0.25 });
    set(&mut scenario, "pacing.every", "2");
    set(&mut scenario, "pacing", "Adaptive");
    assert!(matches!(scenario.pacing, Pacing::Adaptive { every: 2, .. }));
    // Frames every 22.222 ms then come at intervals of their own.
    set(&mut scenario, "pacing", "Intervals");
    assert_eq!(scenario.pacing, Pacing::Intervals { mean_ms: 22.222, spread: Spread::Constant });
}

#[test]
fn values_are_typed_with_units() {
    let mut scenario = Scenario::default();
    for (path, text, shown) in [
        ("encode.slice_overhead_ms", "500 us", "0.5 ms"),
        ("link.rate_mbps", "1.2 Gbps", "1200 Mbps"),
        ("display.refresh_hz", "72 Hz", "72 Hz"),
        ("slices.bits_penalty_pct", "0.5 %", "0.5 %"),
        ("link.loss", "5 %", "0.05"),
        ("stream.intra.every", "60", "60 frames"),
        ("stream.intra.every", "None", "only the first"),
        ("decode.buffer.frames", "without bound", "without bound"),
        ("decode.buffer.when_full", "dropnewest", "DropNewest"),
        ("motion.predict", "off", "off"),
        ("slices.shape", "Weights", "Weights"),
        ("slices.shape.weights", "1, 2, 3.5", "[1, 2, 3.5]"),
        ("name", "A name", "\"A name\""),
        ("run.seed", "18446744073709551615", "18446744073709551615"),
        ("link.propagation_us", "1e-9", "1e-9 us"),
    ] {
        set(&mut scenario, path, text);
        let parameter = find(path).unwrap();
        assert_eq!(parameter.format(&parameter.get(&scenario).unwrap()), shown, "{path}");
    }
    assert_eq!(scenario.decode.buffer.when_full, WhenFull::DropNewest);
    assert_eq!(scenario.run.seed, u64::MAX);
}

#[test]
fn what_cannot_be_set_says_why() {
    let said = |path: &str, text: &str| {
        let parameter = find(path).unwrap();
        let set = |value| parameter.set(&mut Scenario::default(), &value);
        parameter.parse(text).and_then(set).unwrap_err().to_string()
    };
    for (path, text, message) in [
        ("slices.count", "1.5", "slices.count: found `1.5`, allowed: whole numbers 1 to 64"),
        ("slices.count", "many", "slices.count: found `many`, allowed: whole numbers 1 to 64"),
        ("encode.slice_overhead_ms", "5 Hz", "encode.slice_overhead_ms: found `5 Hz`, allowed: 0 to 20 ms"),
        ("encode.hand_off", "Slise", "encode.hand_off: found `Slise`, allowed: Slice, Frame"),
        ("motion.predict", "maybe", "motion.predict: found `maybe`, allowed: true, false"),
        (
            "encode.work.spread.low",
            "0.5",
            "encode.work.spread.low: found 0.5, allowed: only while encode.work.spread is Normal",
        ),
        ("pacing.min_ms", "5", "pacing.min_ms: found 5 ms, allowed: only while pacing is Adaptive"),
        (
            "run.frames",
            "5000000000",
            "run.frames: found 5000000000 frames, allowed: whole numbers 10 to 1000000 frames",
        ),
    ] {
        assert_eq!(said(path, text), message);
    }
}

#[test]
fn differences_are_listed_in_pipeline_order() {
    let a = Scenario::default();
    let mut b = a.clone();
    set(&mut b, "slices.count", "1");
    set(&mut b, "pacing.lead", "Ms");
    set(&mut b, "decode.buffer.frames", "none");
    let table: Vec<_> =
        differences(&a, &b).into_iter().map(|d| format!("{} | {} | {} | {}", d.path, d.label, d.a, d.b)).collect();
    assert_eq!(
        table,
        [
            "pacing.lead | Pacing: Lead | Tuned | Ms",
            "pacing.lead.ms | Pacing: Lead: time | – | 25 ms",
            "pacing.lead.late_share | Pacing: Lead: late share | 0.005 | –",
            "slices.count | Slices | 8 | 1",
            "decode.buffer.frames | Decode: Buffer | 1 frame | without bound",
        ]
    );
    assert_eq!(differences(&a, &a), []);
}

#[test]
fn defaults_are_those_of_the_place_and_of_the_alternative() {
    let mut scenario = Scenario::default();
    set(&mut scenario, "encode.work.spread", "Normal");
    set(&mut scenario, "encode.work.spread.low", "0.2");
    set(&mut scenario, "pacing.lead", "Ms");
    set(&mut scenario, "pacing.lead.ms", "40");
    let default = |path: &str| find(path).unwrap().default_in(&scenario);
    assert_eq!(default("encode.slice_overhead_ms"), Some(Value::Number(0.12)));
    assert_eq!(default("decode.slice_overhead_ms"), Some(Value::Number(0.15)));
    assert_eq!(default("encode.work.spread"), Some(Value::Choice("LogNormal")));
    assert_eq!(default("encode.work.spread.cv"), Some(Value::Number(0.03)));
    assert_eq!(default("encode.work.spread.low"), Some(Value::Number(0.5)));
    assert_eq!(default("pacing.lead.ms"), Some(Value::Number(25.0)));
    assert_eq!(default("pacing.lead.late_share"), None);
    assert_eq!(scenario.pacing, Pacing::Fixed { lead: Lead::Ms(40.0), every: 1 });
}

#[test]
fn assignments_are_read_and_mistyped_paths_get_a_hint() {
    let mut scenario = Scenario::default();
    assign(&mut scenario, "link.rate_mbps = 1.2 Gbps").unwrap();
    assign(&mut scenario, "name=a=b").unwrap();
    assert_eq!((scenario.link.rate_mbps.to_string(), scenario.name.as_str()), ("1200".to_owned(), "a=b"));
    let mut said = |text: &str| assign(&mut scenario, text).unwrap_err().to_string();
    for (text, message) in [
        ("slices", "slices: found no value, allowed: path=value, such as slices.count=8"),
        ("slices.cuont=8", "slices.cuont: there is no such parameter; the nearest is slices.count"),
        (
            "encoder.slice_overhead_ms=1",
            "encoder.slice_overhead_ms: there is no such parameter; the nearest is encode.slice_overhead_ms",
        ),
        ("decode.buffer=None", "decode.buffer: there is no such parameter; the nearest is decode.buffer.frames"),
        ("hand_off=Frame", "hand_off: there is no such parameter; the nearest is link.hand_off"),
        ("slices.count=x", "slices.count: found `x`, allowed: whole numbers 1 to 64"),
    ] {
        assert_eq!(said(text), message);
    }
}

#[test]
fn the_reference_page_is_that_of_the_list() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/docs/parameters.md");
    let page = super::page::page();
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&path, &page).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == page, "{} is stale: run this test with UPDATE=1", path.display());
}
