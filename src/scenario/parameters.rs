//! Every value of a scenario that can be turned, in one list in pipeline order: path, label, unit, range, meaning, how to
//! read and set it.
//!
//! Range checks and their messages, files, sliders, values set on the command line, the differences between two scenarios and
//! the reference page all read this list. Adding a parameter is one entry here and its use.

mod assignments;
mod choices;
mod entries;
mod list;
#[cfg(test)]
mod page;
mod range;
#[cfg(test)]
mod tests;
mod text;
mod unit;
mod value;
mod way;

use std::fmt;
use std::sync::LazyLock;

pub use assignments::{Assignment, assignments};
pub use range::{Bound, Numeric, Scale};
pub use unit::Unit;
pub use value::Value;

use serde::{Deserialize, Serialize};

use super::{Scenario, ScenarioError};
use way::Access;

/// One value of a scenario that can be turned.
pub struct Parameter {
    /// Path, as in a file and on the command line: `encode.slice_overhead_ms`.
    pub path: String,
    /// Stage that it belongs to.
    pub stage: Stage,
    /// Short name, read under its stage.
    pub label: String,
    /// What it means, one line.
    pub meaning: String,
    /// What kind of value it holds, and which are allowed.
    pub kind: Kind,
    /// Whether it is one of the common dozen.
    pub common: bool,
    /// When it exists, for one that belongs to an alternative: `encode.work.spread is Normal`.
    pub only_while: Option<String>,
    /// Whether a file gives it by place, without a name of its own: `Ms(25.0)`, `eye_px: (2048, 2176)`.
    pub(super) unnamed: bool,
    access: Access,
}

/// What kind of value a parameter holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A number: [`Value::Whole`] where [`Numeric::whole`], otherwise [`Value::Number`].
    Number(Numeric),
    /// A whole number or [`Value::None`].
    NumberOrNone {
        /// The number.
        numeric: Numeric,
        /// What none means.
        none: &'static str,
    },
    /// One of the named alternatives.
    Choice(&'static [&'static str]),
    /// On or off.
    Switch,
    /// Text.
    Text,
    /// A list of such numbers.
    List(Numeric),
}

/// Stages that the parameters are folded by, in pipeline order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Stage {
    /// Name and notes.
    About,
    /// Head pose and its way up.
    Pose,
    /// When frames are planned.
    Pacing,
    /// Host clock.
    Clock,
    /// Content complexity.
    Content,
    /// Simulate, on the CPU.
    Simulate,
    /// Render, on the GPU.
    Render,
    /// Pixel layout.
    Pixels,
    /// Slices.
    Slices,
    /// Encoder.
    Encode,
    /// Coded stream.
    Stream,
    /// Link.
    Link,
    /// Decoder.
    Decode,
    /// Display and compositor.
    Display,
    /// Motion of the wearer.
    Motion,
    /// Budget.
    Budget,
    /// Length of the run.
    Run,
}

impl Stage {
    /// All, in pipeline order.
    pub const ALL: [Self; 17] = [
        Self::About,
        Self::Pose,
        Self::Pacing,
        Self::Clock,
        Self::Content,
        Self::Simulate,
        Self::Render,
        Self::Pixels,
        Self::Slices,
        Self::Encode,
        Self::Stream,
        Self::Link,
        Self::Decode,
        Self::Display,
        Self::Motion,
        Self::Budget,
        Self::Run,
    ];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::About => "About",
            Self::Pose => "Pose",
            Self::Pacing => "Pacing",
            Self::Clock => "Clock",
            Self::Content => "Content",
            Self::Simulate => "Simulate",
            Self::Render => "Render",
            Self::Pixels => "Pixels",
            Self::Slices => "Slices",
            Self::Encode => "Encode",
            Self::Stream => "Stream",
            Self::Link => "Link",
            Self::Decode => "Decode",
            Self::Display => "Display",
            Self::Motion => "Motion",
            Self::Budget => "Budget",
            Self::Run => "Run",
        }
    }
}

/// A parameter in which two scenarios differ.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Its path.
    pub path: &'static str,
    /// Stage and label: `Encode: Slice overhead`.
    pub label: String,
    /// Value in the first, with its unit; a dash where it does not exist there.
    pub a: String,
    /// Value in the second.
    pub b: String,
}

static LIST: LazyLock<Vec<Parameter>> = LazyLock::new(entries::list);

/// All parameters, in pipeline order.
pub fn all() -> &'static [Parameter] {
    &LIST
}

/// The parameter of that path.
pub fn find(path: &str) -> Option<&'static Parameter> {
    all().iter().find(|parameter| parameter.path == path)
}

/// The parameter of that path, or an error that names one like it.
pub fn named(path: &str) -> Result<&'static Parameter, ScenarioError> {
    find(path).ok_or_else(|| {
        let last = |path: &str| path.rsplit('.').next().unwrap_or_default().to_owned();
        let within = |parameter: &&Parameter| {
            parameter.path.strip_prefix(path).is_some_and(|rest| !path.is_empty() && rest.starts_with('.'))
        };
        if let Some(field) = all().iter().find(within) {
            return ScenarioError::NoSuchParameter { path: path.to_owned(), nearest: &field.path };
        }
        // What ends alike is what was meant more often than what is spelt alike.
        let alike = |parameter: &&Parameter| (last(&parameter.path) != last(path), spelling(&parameter.path, path));
        let nearest = all().iter().min_by_key(alike).map_or("", |parameter| parameter.path.as_str());
        ScenarioError::NoSuchParameter { path: path.to_owned(), nearest }
    })
}

/// Sets what `path=value` says, the value with or without a unit: `link.rate_mbps=1.2 Gbps`.
pub fn assign(scenario: &mut Scenario, assignment: &str) -> Result<(), ScenarioError> {
    let Some((path, value)) = assignment.split_once('=') else {
        return Err(ScenarioError::value(assignment, "no value", "path=value, such as slices.count=8"));
    };
    let parameter = named(path.trim())?;
    parameter.set(scenario, &parameter.parse(value)?)
}

/// How many letters must be changed, put in or left out to make one word the other (Levenshtein 1966), of the first 64.
fn spelling(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(64).collect(), b.chars().take(64).collect());
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let least = (diagonal + usize::from(x != y)).min(row[j] + 1).min(row[j + 1] + 1);
            diagonal = row[j + 1];
            row[j + 1] = least;
        }
    }
    row[b.len()]
}

/// The parameters in which two scenarios differ, in pipeline order.
pub fn differences(a: &Scenario, b: &Scenario) -> Vec<Difference> {
    let value = |parameter: &Parameter, value: Option<Value>| value.map_or("–".to_owned(), |v| parameter.format(&v));
    all()
        .iter()
        .filter_map(|parameter| {
            let (in_a, in_b) = (parameter.get(a), parameter.get(b));
            (in_a != in_b).then(|| Difference {
                path: &parameter.path,
                label: parameter.full_label(),
                a: value(parameter, in_a),
                b: value(parameter, in_b),
            })
        })
        .collect()
}

impl Parameter {
    /// Its value; none while it does not exist, because another alternative is chosen.
    pub fn get(&self, scenario: &Scenario) -> Option<Value> {
        (self.access.get)(scenario)
    }

    /// Its value as a number, where it is one.
    pub fn get_f64(&self, scenario: &Scenario) -> Option<f64> {
        self.get(scenario).and_then(|value| value.as_f64())
    }

    /// Sets it. Choosing an alternative gives its fields sensible values. Refuses a value of another kind, and a parameter
    /// that does not exist in this scenario; ranges are left to [`Scenario::check`], which sees all values together.
    pub fn set(&self, scenario: &mut Scenario, value: &Value) -> Result<(), ScenarioError> {
        if (self.access.set)(scenario, value) {
            return Ok(());
        }
        let allowed = match &self.only_while {
            Some(condition) if self.get(scenario).is_none() => format!("only while {condition}"),
            _ => self.allowed(),
        };
        Err(ScenarioError::value(&self.path, self.format(value), allowed))
    }

    /// Its default: that of the default scenario, or, for a field of an alternative that is not chosen there, the value that
    /// choosing the alternative gives. None while it does not exist in `scenario`.
    pub fn default_in(&self, scenario: &Scenario) -> Option<Value> {
        self.get(scenario)?;
        let mut base = Scenario::default();
        // Choose what the scenario chooses, from the outermost alternative on.
        for outer in all().iter().filter(|outer| self.lies_in(outer)) {
            if let Some(choice) = outer.get(scenario) {
                outer.set(&mut base, &choice).ok()?;
            }
        }
        self.get(&base)
    }

    /// Gives one scenario the value of another; with an alternative, its fields too. Refuses a parameter that does not exist
    /// in both.
    pub fn copy(&self, from: &Scenario, to: &mut Scenario) -> Result<(), ScenarioError> {
        let absent = || ScenarioError::value(&self.path, "no value to take", "a parameter of both scenarios");
        self.set(to, &self.get(from).ok_or_else(absent)?)?;
        for field in all().iter().filter(|field| field.lies_in(self)) {
            if let Some(value) = field.get(from) {
                field.set(to, &value)?;
            }
        }
        Ok(())
    }

    /// Whether it is a field of one of the other's alternatives.
    pub(super) fn lies_in(&self, outer: &Self) -> bool {
        let within = self.path.strip_prefix(&outer.path).is_some_and(|rest| rest.starts_with('.'));
        within && matches!(outer.kind, Kind::Choice(_))
    }

    /// What it is called out of its stage, with the stage: `Encode: Slice overhead`; once where both are called the same:
    /// `Slices`.
    pub fn full_label(&self) -> String {
        let stage = self.stage.name();
        if self.label == stage { self.label.clone() } else { format!("{stage}: {}", self.label) }
    }

    /// Its numbers, for a kind that has some.
    pub const fn numeric(&self) -> Option<&Numeric> {
        match &self.kind {
            Kind::Number(numeric) | Kind::NumberOrNone { numeric, .. } | Kind::List(numeric) => Some(numeric),
            Kind::Choice(_) | Kind::Switch | Kind::Text => None,
        }
    }

    /// The unit that it is held in, as it is written; empty for what has none.
    pub const fn unit(&self) -> &'static str {
        match self.numeric() {
            Some(numeric) => numeric.unit.symbol,
            None => "",
        }
    }

    /// Marks it as one of the common dozen.
    fn common(&mut self) -> &mut Self {
        self.common = true;
        self
    }

    /// Says which alternative it belongs to.
    fn only_while(&mut self, condition: &str) -> &mut Self {
        self.only_while = Some(condition.to_owned());
        self
    }

    /// Says that a file gives it by place.
    fn unnamed(&mut self) -> &mut Self {
        self.unnamed = true;
        self
    }
}

impl fmt::Debug for Parameter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Parameter").field("path", &self.path).field("kind", &self.kind).finish_non_exhaustive()
    }
}
