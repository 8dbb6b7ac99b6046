//! Values as text: written with their unit, and read from what was typed.

use super::{Kind, Parameter, Value};
use crate::scenario::{Scenario, ScenarioError};

impl Parameter {
    /// A value as text, with its unit: `0.12 ms`, `DropOldest`, `without bound`.
    pub fn format(&self, value: &Value) -> String {
        let number = |text: String| self.numeric().map_or(text.clone(), |numeric| numeric.unit.with(text));
        match value {
            Value::Number(given) => number(given.to_string()),
            Value::Whole(given) => number(given.to_string()),
            Value::None => match self.kind {
                Kind::NumberOrNone { none, .. } => none.to_owned(),
                _ => "none".to_owned(),
            },
            Value::Choice(name) => (*name).to_owned(),
            Value::Switch(on) => if *on { "on" } else { "off" }.to_owned(),
            Value::Text(text) => format!("{text:?}"),
            Value::List(list) => {
                let numbers: Vec<String> = list.iter().map(ToString::to_string).collect();
                format!("[{}]", numbers.join(", "))
            }
        }
    }

    /// Reads what was typed: `500 us`, `1.2 Gbps`, `5 %`, `none`, `DropOldest`, `on`, `1, 2, 3`.
    pub fn parse(&self, text: &str) -> Result<Value, ScenarioError> {
        let typed = text.trim();
        let value = match &self.kind {
            Kind::Number(numeric) => {
                numeric.unit.parse(typed).and_then(|number| of_number(number, numeric.whole, typed))
            }
            Kind::NumberOrNone { numeric, none } => {
                if typed.eq_ignore_ascii_case("none") || typed.eq_ignore_ascii_case(none) {
                    Some(Value::None)
                } else {
                    numeric.unit.parse(typed).and_then(|number| of_number(number, numeric.whole, typed))
                }
            }
            Kind::Choice(names) => {
                names.iter().find(|name| name.eq_ignore_ascii_case(typed)).map(|name| Value::Choice(name))
            }
            Kind::Switch => match typed.to_ascii_lowercase().as_str() {
                "on" | "true" | "yes" => Some(Value::Switch(true)),
                "off" | "false" | "no" => Some(Value::Switch(false)),
                _ => None,
            },
            Kind::Text => Some(Value::Text(text.to_owned())),
            Kind::List(numeric) => {
                let inner = typed.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')).unwrap_or(typed);
                let items = inner.split(',').map(str::trim).filter(|item| !item.is_empty());
                items.map(|item| numeric.unit.parse(item)).collect::<Option<Vec<f64>>>().map(Value::List)
            }
        };
        value.ok_or_else(|| ScenarioError::value(&self.path, quoted(typed), self.allowed()))
    }

    /// What is allowed, in words, bounds of the scenario aside.
    pub fn allowed(&self) -> String {
        self.allowed_by(super::Numeric::words)
    }

    /// What is allowed in this scenario, in words.
    pub fn allowed_in(&self, scenario: &Scenario) -> String {
        self.allowed_by(|numeric| numeric.words_in(scenario))
    }

    fn allowed_by(&self, words: impl Fn(&super::Numeric) -> String) -> String {
        match &self.kind {
            Kind::Number(numeric) => words(numeric),
            Kind::NumberOrNone { numeric, none } => format!("None ({none}) or {}", words(numeric)),
            Kind::Choice(names) => names.join(", "),
            Kind::Switch => "true, false".to_owned(),
            Kind::Text => "text in quotes".to_owned(),
            Kind::List(numeric) => format!("a list of numbers, each {}", words(numeric)),
        }
    }
}

/// A typed number as a value: whole ones exactly, also beyond what a float holds.
fn of_number(number: f64, whole: bool, typed: &str) -> Option<Value> {
    if !whole {
        return Some(Value::Number(number));
    }
    if let Ok(exact) = typed.parse() {
        return Some(Value::Whole(exact));
    }
    (number >= 0.0 && number.fract() == 0.0 && number < 1e15).then_some(Value::Whole(number as u64))
}

/// What was typed, in quotes, cut to a length that a line can hold.
pub(in crate::scenario) fn quoted(text: &str) -> String {
    const LONGEST: usize = 60;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.chars().count() > LONGEST {
        let start: String = text.chars().take(LONGEST).collect();
        format!("`{start}…`")
    } else {
        format!("`{text}`")
    }
}
