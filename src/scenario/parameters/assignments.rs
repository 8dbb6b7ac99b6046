//! What must be set to make one scenario of another.

use super::{Kind, Parameter, Value, all, assign};
use crate::scenario::Scenario;

/// One parameter and the value that it is set to.
#[derive(Debug, Clone)]
pub struct Assignment {
    /// The parameter.
    pub parameter: &'static Parameter,
    /// Its value as text that reads back exactly, without a unit.
    pub value: String,
}

impl PartialEq for Assignment {
    fn eq(&self, other: &Self) -> bool {
        self.parameter.path == other.parameter.path && self.value == other.value
    }
}

impl Assignment {
    /// As on the command line: `slices.count=8`.
    pub fn text(&self) -> String {
        format!("{}={}", self.parameter.path, self.value)
    }
}

/// What must be set, in order, to make `to` of `from`; notes, which change nothing that is simulated or shown, are left alone.
pub fn assignments(from: &Scenario, to: &Scenario) -> Vec<Assignment> {
    let mut now = from.clone();
    let mut assignments = Vec::new();
    // The list names an alternative before its fields, which choosing it changes.
    for parameter in all().iter().filter(|parameter| parameter.path != "notes") {
        let Some(value) = parameter.get(to) else { continue };
        if parameter.get(&now).as_ref() == Some(&value) {
            continue;
        }
        let assignment = Assignment { parameter, value: plain(parameter, &value) };
        // A value of the list can be set where it exists.
        let _ = assign(&mut now, &assignment.text());
        assignments.push(assignment);
    }
    assignments
}

/// A value as text that reads back exactly.
fn plain(parameter: &Parameter, value: &Value) -> String {
    match (value, parameter.kind) {
        (Value::Number(number), _) => super::text::in_full(*number),
        (Value::Whole(number), _) => number.to_string(),
        (Value::Text(text), _) => text.clone(),
        (Value::None, Kind::NumberOrNone { .. }) => "none".to_owned(),
        (value, _) => parameter.format(value),
    }
}
