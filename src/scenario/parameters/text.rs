//! Values as text: written with their unit, and read from what was typed.

use super::{Kind, Parameter, Value};
use crate::quote::quoted;
use crate::scenario::{Scenario, ScenarioError};

impl Parameter {
    /// A value as text, with its unit: `0.12 ms`, `DropOldest`, `without bound`.
    pub fn format(&self, value: &Value) -> String {
        self.written(value, in_full)
    }

    /// The same for the eye: numbers rounded to five digits or so, `8.3333 ms`. Does not read back as the same value.
    pub fn brief(&self, value: &Value) -> String {
        self.written(value, in_brief)
    }

    fn written(&self, value: &Value, figures: fn(f64) -> String) -> String {
        let number = |text: String| self.numeric().map_or(text.clone(), |numeric| numeric.unit.with(text));
        match value {
            Value::Number(given) => number(figures(*given)),
            Value::Whole(given) => number(given.to_string()),
            Value::None => match self.kind {
                Kind::NumberOrNone { none, .. } => none.to_owned(),
                _ => "none".to_owned(),
            },
            Value::Choice(name) => (*name).to_owned(),
            Value::Switch(on) => if *on { "on" } else { "off" }.to_owned(),
            Value::Text(text) => format!("{text:?}"),
            Value::List(list) => {
                let numbers: Vec<String> = list.iter().map(|&item| figures(item)).collect();
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

    /// What a file may hold for it: what is allowed, alternatives with their fields.
    pub(in crate::scenario) fn forms(&self) -> String {
        let Kind::Choice(names) = self.kind else { return self.allowed() };
        let form = |name: &&'static str| {
            let mut scenario = Scenario::default();
            if self.set(&mut scenario, &Value::Choice(name)).is_err() {
                return (*name).to_owned();
            }
            let prefix = format!("{}.", self.path);
            let of_form = super::all().iter().filter(|parameter| parameter.get(&scenario).is_some());
            let fields = of_form.filter_map(|parameter| parameter.path.strip_prefix(&prefix));
            let fields: Vec<&str> = fields.filter(|rest| !rest.contains('.')).collect();
            if fields.is_empty() { (*name).to_owned() } else { format!("{name}({})", fields.join(", ")) }
        };
        names.iter().map(form).collect::<Vec<_>>().join(", ")
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

/// A number as text: in full where a person can read it, otherwise with an exponent.
pub(super) fn in_full(number: f64) -> String {
    let size = number.abs();
    if size != 0.0 && size.is_finite() && !(1e-7..1e15).contains(&size) {
        format!("{number:e}")
    } else {
        number.to_string()
    }
}

/// A number as text, to five digits, at the least one decimal; nothing is added to what has fewer.
fn in_brief(number: f64) -> String {
    let size = number.abs();
    if !(1e-4..1e9).contains(&size) {
        return in_full(number);
    }
    let decimals = (4 - size.log10().floor() as i32).clamp(1, 8) as usize;
    let rounded = format!("{number:.decimals$}");
    rounded.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brief_numbers_keep_five_digits() {
        for (number, text) in [
            (8.333_333_333_333_3, "8.3333"),
            (0.350_000_000_000_000_03, "0.35"),
            (0.012_345_678, "0.012346"),
            (11.111_111, "11.111"),
            (2400.0, "2400"),
            (1_234.567_8, "1234.6"),
            (123_456.78, "123456.8"),
            (-20.0, "-20"),
            (0.0, "0"),
            (0.000_01, "0.00001"),
            (100.0, "100"),
            (99.999_99, "100"),
        ] {
            assert_eq!(in_brief(number), text, "{number}");
        }
    }

    #[test]
    fn brief_values_carry_their_unit() {
        let scanout = crate::scenario::parameters::find("display.scanout_ms").unwrap();
        assert_eq!(scanout.brief(&Value::Number(25.0 / 3.0)), "8.3333 ms");
        assert_eq!(scanout.format(&Value::Number(25.0 / 3.0)), "8.333333333333334 ms");
    }
}
