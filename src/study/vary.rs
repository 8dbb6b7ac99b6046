//! Which parameter a study turns, and to which values.

use super::StudyError;
use crate::scenario::parameters::{self, Kind, Numeric, Parameter, Value};
use crate::scenario::{Scenario, ScenarioError};

/// Most values of one parameter.
const MOST_VALUES: usize = 1000;

/// Values of a range of numbers that are not whole, unless told otherwise.
const USUAL_VALUES: usize = 20;

/// A parameter and the values it is to take, in order.
#[derive(Debug, Clone)]
pub struct Vary {
    /// The parameter.
    pub parameter: &'static Parameter,
    /// Its values.
    pub values: Vec<Value>,
    /// Whether they were laid out in equal ratios.
    pub logarithmic: bool,
}

/// A scenario with a parameter turned.
#[derive(Debug, Clone, PartialEq)]
pub struct Turned {
    /// The scenario, checked.
    pub scenario: Scenario,
    /// Paths of other parameters that had to follow.
    pub followed: Vec<&'static str>,
}

impl Vary {
    /// Reads `path=1..64`, `path=0.02..2:20:log`, `path=0.02..2 ms:20` or `path=a,b,c`. A range of whole numbers holds
    /// every one, unless a number of values is told; values may have units.
    pub fn parse(text: &str) -> Result<Self, StudyError> {
        let form = "path=1..64, path=0.02..2:20, path=0.02..2:20:log or path=a,b,c";
        let Some((path, values)) = text.split_once('=') else {
            return Err(StudyError::question("what to vary", &format!("`{text}`"), form));
        };
        let parameter = parameters::named(path.trim())?;
        if matches!(parameter.kind, Kind::Text | Kind::List(_)) || parameter.path == "run.seed" {
            let allowed = "a number, a choice or a switch (seeds: --seeds)";
            return Err(StudyError::question("what to vary", &parameter.path, allowed));
        }
        if let Some((low, rest)) = values.split_once("..") {
            return Self::range_of(parameter, low, rest);
        }
        let values: Result<Vec<Value>, ScenarioError> = values.split(',').map(|value| parameter.parse(value)).collect();
        Self::new(parameter, values?, false)
    }

    fn range_of(parameter: &'static Parameter, low: &str, rest: &str) -> Result<Self, StudyError> {
        let mut parts = rest.split(':');
        let number = |text: &str| parameter.parse(text).map(|value| value.as_f64());
        let (low, high) = (number(low)?, number(parts.next().unwrap_or_default())?);
        let (mut count, mut logarithmic) = (None, false);
        for part in parts.map(str::trim) {
            match (part, part.parse::<usize>()) {
                ("log", _) => logarithmic = true,
                ("lin" | "linear", _) => logarithmic = false,
                (_, Ok(given)) => count = Some(given),
                _ => {
                    let allowed = "a number of values, log or linear";
                    return Err(StudyError::question(
                        format!("{}: after the range", parameter.path),
                        &format!("`{part}`"),
                        allowed,
                    ));
                }
            }
        }
        let (Some(low), Some(high)) = (low, high) else {
            return Err(StudyError::question(&parameter.path, "a range without numbers", "two numbers, as in 1..64"));
        };
        Self::range(parameter, low, high, count, logarithmic)
    }

    /// From `low` to `high`, both included, in equal steps or ratios: so many values, or every whole number, or 20.
    pub fn range(
        parameter: &'static Parameter,
        low: f64,
        high: f64,
        count: Option<usize>,
        logarithmic: bool,
    ) -> Result<Self, StudyError> {
        let Some(numeric) = parameter.numeric().filter(|_| !matches!(parameter.kind, Kind::List(_))) else {
            return Err(StudyError::question(&parameter.path, "a range", format!("a list of {}", parameter.allowed())));
        };
        if low > high || !low.is_finite() || !high.is_finite() || (logarithmic && low <= 0.0) {
            let allowed = if logarithmic {
                "from a number above 0 up to a greater one"
            } else {
                "from a number up to a greater one"
            };
            return Err(StudyError::question(&parameter.path, &format!("{low}..{high}"), allowed));
        }
        let every = if numeric.whole { (high - low + 1.0) as usize } else { USUAL_VALUES };
        let count = count.unwrap_or(every);
        if count > MOST_VALUES {
            return Err(too_many(parameter, count));
        }
        let mut values: Vec<f64> = (0..count)
            .map(|at| {
                let share = if count > 1 { at as f64 / (count - 1) as f64 } else { 0.0 };
                let between = if logarithmic { low * (high / low).powf(share) } else { low + (high - low) * share };
                // The ends are as told, to the last bit.
                let exact = if at + 1 == count && count > 1 { high } else { between };
                if numeric.whole { exact.round() } else { exact }
            })
            .collect();
        values.dedup();
        Self::new(parameter, values.into_iter().map(|number| value_of(numeric, number)).collect(), logarithmic)
    }

    fn new(parameter: &'static Parameter, values: Vec<Value>, logarithmic: bool) -> Result<Self, StudyError> {
        if values.is_empty() || values.len() > MOST_VALUES {
            return Err(too_many(parameter, values.len()));
        }
        Ok(Self { parameter, values, logarithmic })
    }

    /// The values as numbers; none where one is no number.
    pub fn numbers(&self) -> Option<Vec<f64>> {
        self.values.iter().map(Value::as_f64).collect()
    }

    /// A scenario with the parameter at a value; others that hang on it follow, as they do behind a slider. Refuses a
    /// value that is not allowed there.
    pub fn turn(&self, scenario: &Scenario, value: &Value) -> Result<Turned, ScenarioError> {
        let mut turned = scenario.clone();
        self.parameter.set(&mut turned, value)?;
        let set = turned.clone();
        turned.settle(&self.parameter.path);
        if self.parameter.get(&turned).as_ref() != Some(value) {
            // It is out of its range: the check says so in words.
            set.check()?;
        }
        turned.check()?;
        let followed = if turned == set {
            Vec::new()
        } else {
            parameters::differences(&set, &turned).into_iter().map(|difference| difference.path).collect()
        };
        Ok(Turned { scenario: turned, followed })
    }
}

/// A number as a value of its kind.
pub(super) fn value_of(numeric: &Numeric, number: f64) -> Value {
    if numeric.whole { Value::Whole(number.max(0.0) as u64) } else { Value::Number(number) }
}

fn too_many(parameter: &Parameter, count: usize) -> StudyError {
    StudyError::question(&parameter.path, &format!("{count} values"), format!("1 to {MOST_VALUES} values"))
}

/// The numbers from 0 to `count`, coarse to fine: the first of every 2^k, then those between, and so on down to every one.
/// With each comes how many from it on it stands for until the finer ones come.
pub(super) fn coarse_to_fine(count: usize) -> Vec<(usize, usize)> {
    let mut stride = count.next_power_of_two();
    let mut order = Vec::with_capacity(count);
    while stride > 0 {
        let coarser = 2 * stride;
        let first = stride == count.next_power_of_two();
        order.extend((0..count).step_by(stride).filter(|at| first || at % coarser != 0).map(|at| (at, stride)));
        stride /= 2;
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(text: &str) -> Vec<f64> {
        Vary::parse(text).unwrap().numbers().unwrap()
    }

    #[test]
    fn ranges_and_lists_are_read() {
        assert_eq!(numbers("slices.count=1..64").len(), 64);
        assert_eq!(numbers("slices.count=1..64:7:log"), [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0]);
        assert_eq!(numbers("slices.count=1..4:9"), [1.0, 2.0, 3.0, 4.0]);
        assert_eq!(numbers("link.rate_mbps=0.1 Gbps..1 Gbps:4"), [100.0, 400.0, 700.0, 1000.0]);
        assert_eq!(numbers("encode.slice_overhead_ms=20us..2ms:3:log"), [0.02, 0.2, 2.0]);
        assert_eq!(numbers("encode.slice_overhead_ms=0.02..2").len(), 20);
        assert_eq!(numbers("link.rate_mbps=600, 1.2 Gbps"), [600.0, 1200.0]);
        let codecs = Vary::parse("stream.codec=H264,H265").unwrap();
        assert_eq!((codecs.values.len(), codecs.numbers()), (2, None));
    }

    #[test]
    fn wrong_ones_say_what_is_allowed() {
        for (text, message) in [
            (
                "slices.count",
                "what to vary: found `slices.count`, allowed: path=1..64, path=0.02..2:20, path=0.02..2:20:log or path=a,b,c",
            ),
            ("slices.cuont=1..3", "slices.cuont: there is no such parameter; the nearest is slices.count"),
            ("slices.count=1..x", "slices.count: found `x`, allowed: whole numbers 1 to 64"),
            ("slices.count=9..3", "slices.count: found 9..3, allowed: from a number up to a greater one"),
            (
                "encode.slice_overhead_ms=0..2:5:log",
                "encode.slice_overhead_ms: found 0..2, allowed: from a number above 0 up to a greater one",
            ),
            (
                "slices.count=1..3:many",
                "slices.count: after the range: found `many`, allowed: a number of values, log or linear",
            ),
            ("link.rate_mbps=1..9:5000", "link.rate_mbps: found 5000 values, allowed: 1 to 1000 values"),
            ("run.seed=1..3", "what to vary: found run.seed, allowed: a number, a choice or a switch (seeds: --seeds)"),
            (
                "stream.codec=H264..AV1",
                "stream.codec: found a range without numbers, allowed: two numbers, as in 1..64",
            ),
        ] {
            assert_eq!(Vary::parse(text).unwrap_err().to_string(), message);
        }
    }

    #[test]
    fn what_hangs_on_a_value_follows_it_and_what_is_out_of_range_is_refused() {
        let scenario = Scenario::default();
        let refresh = Vary::parse("display.refresh_hz=240").unwrap();
        let turned = refresh.turn(&scenario, &refresh.values[0]).unwrap();
        assert_eq!(turned.followed, ["display.scanout_ms"]);
        let count = Vary::parse("slices.count=4").unwrap();
        assert_eq!(count.turn(&scenario, &count.values[0]).unwrap().followed, Vec::<&str>::new());
        let most = Vary::parse("slices.count=65").unwrap();
        let refused = most.turn(&scenario, &most.values[0]).unwrap_err().to_string();
        assert_eq!(refused, "slices.count: found 65, allowed: whole numbers 1 to 64");
    }

    #[test]
    fn coarse_to_fine_holds_every_number_once_and_spreads_them_early() {
        for count in [1, 2, 3, 7, 8, 33] {
            let mut seen: Vec<usize> = coarse_to_fine(count).into_iter().map(|(at, _)| at).collect();
            seen.sort_unstable();
            assert_eq!(seen, (0..count).collect::<Vec<_>>());
        }
        assert_eq!(coarse_to_fine(6), [(0, 8), (4, 4), (2, 2), (1, 1), (3, 1), (5, 1)]);
    }
}
