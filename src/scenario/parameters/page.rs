//! The reference page of the parameters, as it stands in `assets/docs/`.

use std::fmt::Write as _;

use super::{Bound, Kind, Parameter, Scale, Stage, Value, all};
use crate::scenario::Scenario;

/// The page, in Markdown.
pub(super) fn page() -> String {
    let mut page = String::from(
        "# Parameters\n\n\
         Every value of a scenario that can be turned, in pipeline order. Made from the program's own list by a test: do not edit.\n\n\
         Ranges marked *log* are walked in equal ratios. The default is that of the default scenario, or the value that choosing \
         the alternative gives. A value may be typed with another unit of its kind: `500 us`, `1.2 Gbps`, `5 %`.\n",
    );
    for stage in Stage::ALL {
        // Writing to a string cannot fail.
        let _ = write!(page, "\n## {}\n\n| path | allowed | default | meaning |\n|---|---|---|---|\n", stage.name());
        for parameter in all().iter().filter(|parameter| parameter.stage == stage) {
            let when =
                parameter.only_while.as_ref().map_or(String::new(), |condition| format!(" Only while {condition}."));
            let _ = writeln!(
                page,
                "| `{}` | {}{} | {} | {}{when} |",
                parameter.path,
                allowed(parameter),
                if is_logarithmic(parameter) { ", *log*" } else { "" },
                default(parameter),
                parameter.meaning,
            );
        }
    }
    page
}

fn is_logarithmic(parameter: &Parameter) -> bool {
    parameter.numeric().is_some_and(|numeric| matches!(numeric.scale, Scale::Logarithmic { .. }))
}

fn allowed(parameter: &Parameter) -> String {
    let bound = parameter.numeric().map_or(Bound::Free, |numeric| numeric.bound);
    match bound {
        Bound::Free => parameter.allowed(),
        Bound::RefreshPeriods(1.0) => "0 ms to the refresh period".to_owned(),
        Bound::RefreshPeriods(periods) => format!("0 ms to {periods} refresh periods"),
        Bound::BlockRows => format!("{}, at most the rows of coding blocks", parameter.allowed()),
        Bound::BelowFrames => format!("{}, below run.frames", parameter.allowed()),
    }
}

fn default(parameter: &Parameter) -> String {
    let outer: Vec<_> = all().iter().filter(|outer| parameter.lies_in(outer)).collect();
    let value = existing(parameter, &outer, Scenario::default()).and_then(|scenario| parameter.get(&scenario));
    value.map_or(String::new(), |value| parameter.format(&value))
}

/// The scenario with alternatives of `outer`, outermost first, chosen so that the parameter exists.
fn existing(parameter: &Parameter, outer: &[&Parameter], scenario: Scenario) -> Option<Scenario> {
    if parameter.get(&scenario).is_some() {
        return Some(scenario);
    }
    let (choice, inner) = outer.split_first()?;
    let Kind::Choice(names) = choice.kind else { return None };
    names.iter().find_map(|name| {
        let mut chosen = scenario.clone();
        choice.set(&mut chosen, &Value::Choice(name)).ok()?;
        existing(parameter, inner, chosen)
    })
}
