//! Whether a scenario may be simulated: every value in its range, and the rules between values.

use super::parameters::{self, Kind, Numeric, Parameter, Value};
use super::{Buffer, Choose, Delay, Pacing, Scenario, ScenarioError, Shape, Spread, WhenFull, levels};

impl Scenario {
    /// Refuses a scenario with a value out of range or values that contradict each other; says the first such.
    pub fn check(&self) -> Result<(), ScenarioError> {
        self.problems().into_iter().next().map_or(Ok(()), Err)
    }

    /// Everything that [`Scenario::check`] would refuse: values out of range, or, where there are none, values that contradict
    /// each other. What hangs on other values is judged only once those are in range themselves.
    pub fn problems(&self) -> Vec<ScenarioError> {
        let ranges =
            |bounds| parameters::all().iter().filter_map(move |parameter| out_of_range(parameter, self, bounds));
        let problems: Vec<_> = ranges(Bounds::Own).collect();
        if !problems.is_empty() {
            return problems;
        }
        let contradictions = self.contradictions().into_iter();
        ranges(Bounds::OfScenario)
            .chain(contradictions.map(|(path, found, allowed)| ScenarioError::value(path, found, allowed)))
            .collect()
    }

    /// Rules between values: path, what was found, what is allowed.
    fn contradictions(&self) -> Vec<(&'static str, String, String)> {
        let mut found = Vec::new();
        if self.format != super::Format::CURRENT {
            found.push(("format", self.format.0.to_string(), super::Format::CURRENT.0.to_string()));
        }
        if self.name.contains(['\n', '\r']) {
            found.push(("name", "a line break".to_owned(), "one line".to_owned()));
        }
        if levels::rank(&self.budget.level_max).is_none() {
            found.push(("budget.level_max", format!("{:?}", self.budget.level_max), levels::NAMES_ALLOWED.to_owned()));
        }
        found.extend(self.weights());
        for (path, delay) in [("pose.uplink.jitter_ms", &self.pose.uplink), ("link.delay.jitter_ms", &self.link.delay)]
        {
            let Delay { jitter_ms, spread, .. } = delay;
            if *jitter_ms > 0.0 && *spread == Spread::Constant {
                found.push((path, format!("{jitter_ms} ms with spread Constant"), "0, or another spread".to_owned()));
            }
        }
        for (path, buffer) in [("encode.buffer.frames", self.encode.buffer), ("link.buffer.frames", self.link.buffer)] {
            if buffer == (Buffer { frames: Some(0), when_full: WhenFull::Block }) {
                let allowed = "1 to 16 frames, None, or another when_full";
                found.push((path, "0 with when_full Block".to_owned(), allowed.to_owned()));
            }
        }
        if self.decode.buffer.when_full == WhenFull::Block {
            let allowed = "DropNewest, DropOldest (the host cannot see this buffer)";
            found.push(("decode.buffer.when_full", "Block".to_owned(), allowed.to_owned()));
        }
        if self.display.choose == Choose::OnTarget && matches!(self.pacing, Pacing::Intervals { .. }) {
            let allowed = "Newest, or another pacing (frames at intervals have no targets)";
            found.push(("display.choose", "OnTarget with pacing Intervals".to_owned(), allowed.to_owned()));
        }
        if let Pacing::Adaptive { start_ms, min_ms, max_ms, .. } = self.pacing {
            if min_ms > max_ms {
                found.push(("pacing.min_ms", format!("{min_ms} ms"), format!("up to pacing.max_ms, {max_ms} ms")));
            } else if !(min_ms..=max_ms).contains(&start_ms) {
                let allowed = format!("{min_ms} to {max_ms} ms (pacing.min_ms to pacing.max_ms)");
                found.push(("pacing.start_ms", format!("{start_ms} ms"), allowed));
            }
        }
        found
    }

    fn weights(&self) -> Option<(&'static str, String, String)> {
        let path = "slices.shape.weights";
        let Shape::Weights(weights) = &self.slices.shape else { return None };
        let count = self.slices.count;
        if weights.len() != count as usize {
            return Some((
                path,
                format!("a list of {}", weights.len()),
                format!("a list of {count}, one weight a slice"),
            ));
        }
        (!weights.iter().any(|&weight| weight > 0.0))
            .then(|| (path, "only zeros".to_owned(), "at least one weight above 0".to_owned()))
    }
}

/// Which bounds of a range count.
#[derive(Clone, Copy)]
enum Bounds {
    /// The range's own.
    Own,
    /// Those that the rest of the scenario sets, too.
    OfScenario,
}

fn out_of_range(parameter: &Parameter, scenario: &Scenario, bounds: Bounds) -> Option<ScenarioError> {
    let allows = |numeric: Numeric, number| match bounds {
        Bounds::Own => numeric.allows(number),
        Bounds::OfScenario => numeric.allows_in(number, scenario),
    };
    let found = match (parameter.get(scenario)?, parameter.kind) {
        (Value::List(list), Kind::List(_)) if list.is_empty() => "an empty list".to_owned(),
        (Value::List(list), Kind::List(numeric)) => {
            numeric.unit.with(list.iter().find(|&&number| !allows(numeric, number))?)
        }
        (value, Kind::Number(numeric) | Kind::NumberOrNone { numeric, .. }) => {
            if allows(numeric, value.as_f64()?) {
                return None;
            }
            parameter.format(&value)
        }
        _ => return None,
    };
    let allowed = match bounds {
        Bounds::Own => parameter.allowed(),
        Bounds::OfScenario => parameter.allowed_in(scenario),
    };
    Some(ScenarioError::value(&parameter.path, found, allowed))
}
