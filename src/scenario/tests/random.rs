//! Random scenarios through the parameter list, the file and back.

use proptest::prelude::*;

use crate::scenario::parameters::{self, Kind, Numeric, Parameter, Scale, Value};
use crate::scenario::{Scenario, from_ron, load, to_ron};

/// A number of the range, from a share of it; both ends come up.
fn number(numeric: &Numeric, scenario: &Scenario, share: f64) -> f64 {
    let (low, high) = numeric.slider_in(scenario);
    let number = match numeric.scale {
        Scale::Linear => low + share * (high - low),
        Scale::Logarithmic { least } => least.max(low) * (high / least.max(low)).powf(share),
    };
    let number = if numeric.whole { number.round() } else { number };
    let listed = numeric.only.get((share * numeric.only.len() as f64) as usize);
    *listed.unwrap_or(&number.clamp(low, high))
}

/// A value of the parameter, from a share of its possibilities.
fn value(parameter: &Parameter, scenario: &Scenario, share: f64) -> Value {
    let of_number = |numeric: &Numeric, share| {
        let number = number(numeric, scenario, share);
        if numeric.whole { Value::Whole(number as u64) } else { Value::Number(number) }
    };
    match &parameter.kind {
        Kind::Number(numeric) => of_number(numeric, share),
        Kind::NumberOrNone { .. } if share < 0.2 => Value::None,
        Kind::NumberOrNone { numeric, .. } => of_number(numeric, (share - 0.2) / 0.8),
        Kind::Choice(names) => Value::Choice(names[((share * names.len() as f64) as usize).min(names.len() - 1)]),
        Kind::Switch => Value::Switch(share < 0.5),
        Kind::Text if parameter.path == "budget.level_max" => Value::Text(format!("{}.2", 1 + (share * 6.9) as u32)),
        Kind::Text => Value::Text(format!("\"{share}\" \\ // /* ( é \t\u{1}")),
        Kind::List(numeric) => {
            Value::List((1..40).map(|i| number(numeric, scenario, share * f64::from(i) / 40.0)).collect())
        }
    }
}

prop_compose! {
    /// A valid scenario: some parameters turned, one after the other, as in the window.
    fn scenarios()(turns in prop::collection::vec((0..parameters::all().len(), 0.0..=1.0_f64), 0..60)) -> Scenario {
        let mut scenario = Scenario::default();
        for (at, share) in turns {
            let parameter = &parameters::all()[at];
            if parameter.get(&scenario).is_some() {
                let value = value(parameter, &scenario, share);
                parameter.set(&mut scenario, &value).unwrap();
                scenario.settle(&parameter.path);
            }
        }
        scenario
    }
}

proptest! {
    #[test]
    fn a_scenario_comes_back_from_its_file(scenario in scenarios()) {
        prop_assert!(scenario.check().is_ok(), "{:?}", scenario.check());
        let text = to_ron(&scenario);
        prop_assert_eq!(&from_ron(&text, "text").unwrap(), &scenario, "{}", text);
    }

    #[test]
    fn a_valid_scenario_needs_no_settling(scenario in scenarios()) {
        let mut settled = scenario.clone();
        settled.settle("");
        prop_assert_eq!(settled, scenario);
    }

    #[test]
    fn setting_what_differs_makes_one_scenario_the_other(a in scenarios(), b in scenarios()) {
        let mut changed = a.clone();
        for parameter in parameters::all() {
            if let Some(value) = parameter.get(&b) {
                parameter.set(&mut changed, &value).unwrap();
            }
        }
        prop_assert_eq!(parameters::differences(&changed, &b), []);
        prop_assert_eq!(changed, b);
    }

    #[test]
    fn a_value_written_is_read(scenario in scenarios()) {
        for parameter in parameters::all().iter().filter(|parameter| parameter.kind != Kind::Text) {
            if let Some(value) = parameter.get(&scenario) {
                prop_assert_eq!(parameter.parse(&parameter.format(&value)).unwrap(), value, "{}", parameter.path);
            }
        }
    }

    #[test]
    fn broken_text_is_refused_without_panic(scenario in scenarios(), cut in 0.0..1.0_f64, with in ".{0,3}") {
        let text = to_ron(&scenario);
        let at = (cut * text.len() as f64) as usize;
        if let (Some(head), Some(tail)) = (text.get(..at), text.get(at + 1..)) {
            let _ = from_ron(&format!("{head}{with}{tail}"), "text");
            let _ = from_ron(head, "text");
        }
    }
}

#[test]
fn every_field_is_a_parameter() {
    // A field that is no parameter would be lost on the way through the file: a debug print shows them all.
    let mut scenario = Scenario::default();
    let before = format!("{scenario:#?}");
    let mut turned = 0;
    for parameter in parameters::all() {
        let Some(old) = parameter.get(&scenario) else { continue };
        let new = [0.3, 0.9, 0.1].map(|share| value(parameter, &scenario, share)).into_iter().find(|new| *new != old);
        if !matches!(parameter.kind, Kind::Choice(_)) {
            parameter.set(&mut scenario, &new.unwrap()).unwrap();
            turned += 1;
        }
    }
    let after = format!("{scenario:#?}");
    let is_number =
        |line: &&str| line.rsplit(' ').next().is_some_and(|last| last.trim_end_matches(',').parse::<f64>().is_ok());
    let unchanged = before.lines().zip(after.lines()).filter(|(before, after)| before == after);
    let numbers: Vec<_> = unchanged.map(|(line, _)| line.trim()).filter(is_number).collect();
    assert_eq!(numbers, ["1,"], "only the format is no parameter; {turned} turned");
}

#[test]
fn scenarios_with_every_field_written_out_come_back() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut count = 0;
    for file in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path().join("scenario.ron")) {
        if file.is_file() {
            let scenario = load(&file).unwrap();
            let text = to_ron(&scenario);
            assert_eq!(from_ron(&text, "text").unwrap(), scenario, "{text}");
            count += 1;
        }
    }
    assert_eq!(count, 40);
}
