//! What a search may turn: parameters with bounds, as a box of side 1.

use serde::Serialize;

use crate::scenario::parameters::{Numeric, Parameter, Value};
use crate::scenario::{Scenario, ScenarioError};
use crate::study::StudyError;
use crate::study::vary::{Vary, value_of};

/// A parameter that a search may turn.
#[derive(Debug, Clone)]
pub struct Free {
    /// The parameter.
    pub parameter: &'static Parameter,
    /// What it may be.
    pub range: Range,
}

/// What a free parameter may be.
#[derive(Debug, Clone, PartialEq)]
pub enum Range {
    /// Any number between two, walked in equal steps or ratios.
    Between {
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
        /// Whether equal ratios are equal steps.
        logarithmic: bool,
        /// What numbers are allowed at all.
        numeric: Numeric,
    },
    /// One of these.
    Among(Vec<Value>),
}

/// What may be turned, as it is written down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Told {
    /// Path of the parameter.
    pub path: &'static str,
    /// Stage and label of the parameter.
    pub label: String,
    /// Its unit.
    pub unit: &'static str,
    /// What it may be, in words.
    pub range: String,
}

impl Free {
    /// Reads `path=low..high`, `path=low..high:log` or `path=a,b,c`.
    pub fn parse(text: &str) -> Result<Self, StudyError> {
        // Ends and values are read as those of a sweep: two points, the ends.
        let (plain, logarithmic) = text.strip_suffix(":log").map_or((text, false), |plain| (plain, true));
        let ends = if plain.contains("..") && plain.matches(':').count() == 0 {
            Vary::parse(&format!("{plain}:2{}", if logarithmic { ":log" } else { "" }))?
        } else if logarithmic || plain.contains("..") {
            return Err(StudyError::question(
                "--free",
                &format!("`{text}`"),
                "path=1..64, path=0.02..2:log or path=a,b,c",
            ));
        } else {
            Vary::parse(plain)?
        };
        let range = match (ends.parameter.numeric(), ends.numbers()) {
            (Some(numeric), Some(numbers)) if plain.contains("..") => {
                let (low, high) = (numbers[0], numbers[numbers.len() - 1]);
                if !numeric.allows(low) || !numeric.allows(high) {
                    let path = &ends.parameter.path;
                    return Err(StudyError::question(path, &format!("{low}..{high}"), ends.parameter.allowed()));
                }
                if numeric.only.is_empty() {
                    Range::Between { low, high, logarithmic, numeric: *numeric }
                } else {
                    let within = numeric.only.iter().filter(|value| (low..=high).contains(*value));
                    Range::Among(within.map(|&value| value_of(numeric, value)).collect())
                }
            }
            _ => Range::Among(ends.values),
        };
        Ok(Self { parameter: ends.parameter, range })
    }

    /// How many values it may take; none: as many as there are numbers.
    pub(super) fn count(&self) -> Option<usize> {
        match &self.range {
            Range::Between { low, high, numeric, .. } if numeric.whole => Some((high - low) as usize + 1),
            Range::Between { .. } => None,
            Range::Among(values) => Some(values.len()),
        }
    }

    /// The value at a place from 0 to 1.
    pub(super) fn value(&self, place: f64) -> Value {
        let place = place.clamp(0.0, 1.0);
        match &self.range {
            Range::Between { low, high, logarithmic, numeric } => {
                let between = if *logarithmic { low * (high / low).powf(place) } else { low + (high - low) * place };
                let within = between.clamp(*low, *high);
                value_of(numeric, if numeric.whole { within.round() } else { readable(within).clamp(*low, *high) })
            }
            Range::Among(values) => values[((place * values.len() as f64) as usize).min(values.len() - 1)].clone(),
        }
    }

    /// The place of a value, or of the nearest allowed one.
    pub(super) fn place(&self, value: &Value) -> f64 {
        match &self.range {
            Range::Between { low, high, logarithmic, .. } => {
                let number = value.as_f64().unwrap_or(*low).clamp(*low, *high);
                let share =
                    if *logarithmic { (number / low).ln() / (high / low).ln() } else { (number - low) / (high - low) };
                if share.is_finite() { share } else { 0.0 }
            }
            Range::Among(values) => {
                let at = values.iter().position(|one| one == value).unwrap_or(0);
                (at as f64 + 0.5) / values.len() as f64
            }
        }
    }

    /// Places beside a place, a step down and up; a whole number or a choice goes on by one at the least.
    pub(super) fn beside(&self, place: f64, step: f64) -> [f64; 2] {
        let least = self.count().map_or(0.0, |count| 1.0 / (count.max(2) - 1) as f64);
        let whole = match (&self.range, self.count()) {
            (Range::Between { low, high, logarithmic: true, numeric }, Some(_)) if numeric.whole => {
                // Equal ratios: the next whole number lies nearer the greater the number.
                let number = self.value(place).as_f64().unwrap_or(*low);
                let far = (number * ((high / low).powf(step) - 1.0)).max(1.0).round();
                return [number - far, number + far].map(|number| self.place(&value_of(numeric, number.max(*low))));
            }
            (Range::Among(values), _) => 1.0 / values.len() as f64,
            _ => least,
        };
        let step = step.max(whole);
        [place - step, place + step].map(|place| place.clamp(0.0, 1.0))
    }

    /// What may be turned, as it is written down.
    pub(super) fn told(&self) -> Told {
        let range = match &self.range {
            Range::Between { low, high, logarithmic, .. } => {
                format!("{low} to {high}{}", if *logarithmic { ", in equal ratios" } else { "" })
            }
            Range::Among(values) => {
                values.iter().map(|value| self.parameter.format(value)).collect::<Vec<_>>().join(", ")
            }
        };
        Told { path: &self.parameter.path, label: self.parameter.full_label(), unit: self.parameter.unit(), range }
    }
}

/// A number of seven digits: as near as a search comes, and one that can be read.
fn readable(number: f64) -> f64 {
    if number == 0.0 {
        return number;
    }
    let scale = 10_f64.powi(6 - number.abs().log10().floor() as i32);
    let rounded = (number * scale).round() / scale;
    if rounded.is_finite() { rounded } else { number }
}

/// A scenario with all free parameters at their values. Refuses values that do not go together.
pub(super) fn turned(scenario: &Scenario, free: &[Free], values: &[Value]) -> Result<Scenario, ScenarioError> {
    let mut turned = scenario.clone();
    for (one, value) in free.iter().zip(values) {
        let vary = Vary { parameter: one.parameter, values: Vec::new(), logarithmic: false };
        turned = vary.turn(&turned, value)?.scenario;
    }
    for (one, value) in free.iter().zip(values) {
        // One that had to give way to a later one: set last, it is refused in words.
        if one.parameter.get(&turned).as_ref() != Some(value) {
            one.parameter.set(&mut turned, value)?;
            turned.check()?;
        }
    }
    Ok(turned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_and_values_go_both_ways() {
        for text in [
            "slices.count=1..64",
            "slices.count=1..64:log",
            "link.rate_mbps=100..3000:log",
            "stream.codec=H264,H265,AV1",
        ] {
            let free = Free::parse(text).unwrap();
            for step in 0..=64 {
                let value = free.value(f64::from(step) / 64.0);
                let back = free.value(free.place(&value));
                let same = match (value.as_f64(), back.as_f64()) {
                    (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a,
                    _ => value == back,
                };
                assert!(same, "{text}: {value:?} became {back:?}");
            }
        }
        let count = Free::parse("slices.count=1..64").unwrap();
        assert_eq!([0.0, 1.0].map(|place| count.value(place)), [Value::Whole(1), Value::Whole(64)]);
        let read = [200.000_000_000_000_06, 0.123_456_789, 0.0].map(|number| readable(number).to_string());
        assert_eq!(read, ["200", "0.1234568", "0"]);
        assert_eq!((count.count(), Free::parse("link.rate_mbps=1..2").unwrap().count()), (Some(64), None));
        let blocks = Free::parse("slices.block_px=1..32").unwrap();
        assert_eq!(blocks.count(), Some(3));
        for wrong in ["slices.count=1..9:3", "stream.codec=H264,H265:log"] {
            assert!(Free::parse(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn the_next_whole_number_is_always_a_step_away() {
        for text in ["slices.count=1..64", "slices.count=1..64:log"] {
            let free = Free::parse(text).unwrap();
            for count in 2_u64..64 {
                let [down, up] = free.beside(free.place(&Value::Whole(count)), 1e-6).map(|place| free.value(place));
                assert_eq!([down, up], [Value::Whole(count - 1), Value::Whole(count + 1)], "{text}");
            }
        }
    }
}
