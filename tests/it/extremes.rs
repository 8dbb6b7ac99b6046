//! Extreme but legal scenarios end, in bounded time: every number at both ends of its range, alone and all rates together.

use std::time::{Duration, Instant};

use framelap::scenario::parameters::{self, Kind, Numeric, Value};
use framelap::scenario::{Scenario, presets};
use framelap::study::{Workspace, answer, cost::Cost};

/// So long the answer to a short run may take: a hundred times what any takes.
const LONGEST: Duration = Duration::from_secs(10);
/// Frames of the short runs.
const FRAMES: u32 = 200;

fn numeric(kind: &Kind) -> Option<&Numeric> {
    match kind {
        Kind::Number(numeric) | Kind::NumberOrNone { numeric, .. } => Some(numeric),
        _ => None,
    }
}

/// The scenario with a parameter at one end of its range; none where the whole is no scenario then.
fn turned(scenario: &Scenario, parameter: &parameters::Parameter, high: bool) -> Option<Scenario> {
    parameter.get(scenario)?;
    let numeric = numeric(&parameter.kind)?;
    let ends = numeric.slider_in(scenario);
    let end = if high { ends.1 } else { ends.0 };
    let value = if numeric.whole { Value::Whole(end as u64) } else { Value::Number(end) };
    let mut turned = scenario.clone();
    parameter.set(&mut turned, &value).ok()?;
    turned.settle(&parameter.path);
    turned.run.frames = FRAMES;
    turned.run.warmup = turned.run.warmup.min(FRAMES / 2);
    turned.check().is_ok().then_some(turned)
}

fn ends(scenario: &Scenario, what: &str) {
    let began = Instant::now();
    let answer = answer(scenario, &mut Workspace::new());
    let took = began.elapsed();
    assert!(took < LONGEST, "{what} took {took:?}");
    assert_eq!(answer.summary.frames, FRAMES, "{what}");
}

#[test]
fn every_number_at_both_ends() {
    let mut tried = 0;
    for preset in presets::all() {
        for parameter in parameters::all() {
            for high in [false, true] {
                if let Some(scenario) = turned(&preset.scenario(), parameter, high) {
                    ends(&scenario, &format!("{} of {}, high: {high}", parameter.path, preset.name()));
                    tried += 1;
                }
            }
        }
    }
    assert!(tried > 1000, "{tried}");
}

#[test]
fn all_rates_together_at_both_ends() {
    for preset in presets::all() {
        for high in [false, true] {
            let mut scenario = preset.scenario();
            for parameter in parameters::all() {
                let rate = ["hz", "mbps", "rate", "per_min"].iter().any(|word| parameter.path.contains(word));
                if rate && let Some(turned) = turned(&scenario, parameter, high) {
                    scenario = turned;
                }
            }
            scenario.run.frames = FRAMES;
            scenario.run.warmup = 0;
            ends(&scenario, &format!("{}, high: {high}", preset.name()));
        }
    }
}

/// A million frames of one slice: as much as a run can plan, at the price told beforehand.
#[test]
fn a_million_frames_end() {
    let mut scenario = Scenario::default();
    scenario.run.frames = 1_000_000;
    scenario.slices.count = 1;
    let cost = Cost::of(&scenario);
    assert!(cost.bytes < 0.7e9 && cost.seconds < 5.0, "{cost:?}");
    let began = Instant::now();
    let answer = answer(&scenario, &mut Workspace::new());
    assert_eq!(answer.summary.frames, 1_000_000);
    let took = began.elapsed().as_secs_f64();
    assert!(took < 30.0 * cost.seconds, "{took} s, where {} were told", cost.seconds);
}
