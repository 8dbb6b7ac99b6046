//! Talks: what an architect shows to the teams, step by step; RON in and out, captions filled in from answers, and the
//! shipped ones. Knows nothing of the window.
//!
//! A step is a head-to-head, one figure of it, what is looked at, and a caption. Scenarios stand in the talk once, under
//! names that steps refer to, so that a file can be edited by hand and holds all that it needs.

mod error;
mod fill;
mod part;
mod read;
pub mod shipped;
mod write;

use serde::{Deserialize, Serialize};

pub use error::TalkError;
pub use fill::{Facts, Numbers, allowed, fill, unknown};
pub use part::{Highlight, Part};
pub use read::{from_ron, is_talk, load, load_with_faults};
pub use write::{save, to_ron};

use crate::report::figures::distribution::{Form, Measure};
use crate::report::figures::left_over::Rank;
use crate::scenario::Scenario;

/// Version of the file format that this program reads and writes.
pub const VERSION: u32 = 1;
/// Most steps of a talk.
pub const MOST_STEPS: usize = 200;
/// Most letters of a title or a headline.
pub const MOST_HEADLINE: usize = 120;
/// Most letters of a text.
pub const MOST_TEXT: usize = 600;
/// Shortest span of time that lanes can show, and the latest instant \[ms\].
const LEAST_MS: f64 = 0.02;
const MOST_MS: f64 = 1e6;

/// A list of steps, with the scenarios that they need.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Talk {
    /// What it is called.
    pub title: String,
    /// The scenarios, each under the name that steps give.
    pub scenarios: Vec<Named>,
    /// The steps in the order in which they are told.
    pub steps: Vec<Step>,
}

/// A scenario of a talk.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Named {
    /// The name that steps give.
    pub name: String,
    /// The scenario.
    pub scenario: Scenario,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Name of the candidate among the talk's scenarios.
    pub candidate: String,
    /// Name of the baseline.
    pub baseline: String,
    /// What is seen of them.
    pub look: Look,
    /// The caption's first line.
    pub headline: String,
    /// The caption's sentences.
    pub text: String,
    /// Parts that keep their full strength while the others fade; none: all do.
    pub highlight: Vec<Part>,
}

/// A figure and what is looked at in it. What a figure does not have is at its default.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Look {
    /// The figure.
    pub figure: Shown,
    /// The frame; none: the typical one.
    pub frame: Option<u32>,
    /// The span of time since the frame's pose; none: what fits \[ms\].
    pub span_ms: Option<[f64; 2]>,
    /// How far the walk through the frame has come since its pose; none: no walk \[ms\].
    pub walk_ms: Option<f64>,
    /// Whose spread is shown.
    pub measure: Measure,
    /// How a spread is shown.
    pub form: Form,
    /// At which quantile late correction is shown.
    pub quantile: Rank,
}

impl Look {
    /// A figure as it looks at first.
    pub fn at(figure: Shown) -> Self {
        Self {
            figure,
            frame: None,
            span_ms: None,
            walk_ms: None,
            measure: Measure::default(),
            form: Form::default(),
            quantile: Rank::default(),
        }
    }
}

/// A figure that a step can show: every one but the studies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Shown {
    /// One frame's way.
    Lanes,
    /// How latencies are spread.
    Distribution,
    /// What became of frames and refreshes.
    Outcomes,
    /// Latency against the slice count.
    SliceCount,
    /// Where the time goes.
    ExposedTime,
    /// The picture on its way through the stages.
    Fronts,
    /// What late correction leaves.
    LateCorrection,
    /// One eye's field of view.
    EyesField,
    /// The whole run.
    TheRun,
    /// Late frames against the lead.
    LateShare,
    /// Loads and headroom.
    Loads,
    /// The answer: gain, interval, budget.
    Verdict,
}

impl Shown {
    /// All of them.
    pub const ALL: [Self; 12] = [
        Self::Lanes,
        Self::Distribution,
        Self::Outcomes,
        Self::SliceCount,
        Self::ExposedTime,
        Self::Fronts,
        Self::LateCorrection,
        Self::EyesField,
        Self::TheRun,
        Self::LateShare,
        Self::Loads,
        Self::Verdict,
    ];

    /// Its name in files and commands.
    pub const fn slug(self) -> &'static str {
        match self {
            Self::Lanes => "lanes",
            Self::Distribution => "distribution",
            Self::Outcomes => "outcomes",
            Self::SliceCount => "slice-count",
            Self::ExposedTime => "exposed-time",
            Self::Fronts => "fronts",
            Self::LateCorrection => "late-correction",
            Self::EyesField => "eyes-field",
            Self::TheRun => "the-run",
            Self::LateShare => "late-share",
            Self::Loads => "loads-and-headroom",
            Self::Verdict => "verdict",
        }
    }

    /// The one of that name.
    pub fn named(slug: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|figure| figure.slug() == slug)
    }

    /// Whether it shows or marks one frame.
    pub const fn has_frame(self) -> bool {
        matches!(self, Self::Lanes | Self::Fronts | Self::TheRun)
    }

    /// Whether it shows a span of time that can be chosen.
    pub const fn has_span(self) -> bool {
        matches!(self, Self::Lanes)
    }

    /// Whether it shows a walk.
    pub const fn walks(self) -> bool {
        matches!(self, Self::Lanes | Self::Fronts)
    }

    /// Whether it shows one of several measures in one of several forms.
    pub const fn has_measures(self) -> bool {
        matches!(self, Self::Distribution)
    }

    /// Whether it shows one of two quantiles.
    pub const fn has_quantiles(self) -> bool {
        matches!(self, Self::LateCorrection)
    }

    /// Whether parts of it can be highlighted.
    pub const fn has_parts(self) -> bool {
        matches!(self, Self::Lanes | Self::Fronts | Self::ExposedTime | Self::Loads)
    }
}

impl Talk {
    /// A talk without steps.
    pub fn titled(title: &str) -> Self {
        Self { title: title.to_owned(), ..Self::default() }
    }

    /// The scenario of that name.
    pub fn scenario(&self, name: &str) -> Option<&Scenario> {
        self.scenarios.iter().find(|named| named.name == name).map(|named| &named.scenario)
    }

    /// Baseline and candidate of a step; none where there is no such step.
    pub fn pair(&self, step: usize) -> Option<[&Scenario; 2]> {
        let step = self.steps.get(step)?;
        Some([self.scenario(&step.baseline)?, self.scenario(&step.candidate)?])
    }

    /// The name under which a scenario stands in the talk; it is taken in where it does not yet.
    pub fn take_in(&mut self, scenario: &Scenario) -> String {
        if let Some(named) = self.scenarios.iter().find(|named| named.scenario == *scenario) {
            return named.name.clone();
        }
        let told: String = scenario.name.trim().chars().filter(|letter| !letter.is_control()).take(60).collect();
        let stem = if told.is_empty() { "scenario".to_owned() } else { told };
        let free = |name: &String| self.scenarios.iter().all(|named| named.name != *name);
        let more = (2_u32..).map(|number| format!("{stem} {number}"));
        let name = std::iter::once(stem.clone()).chain(more).find(free).unwrap_or(stem);
        self.scenarios.push(Named { name: name.clone(), scenario: scenario.clone() });
        name
    }

    /// Leaves out scenarios that no step needs.
    pub fn prune(&mut self) {
        let Self { scenarios, steps, .. } = self;
        scenarios.retain(|named| used(steps, &named.name));
    }

    /// Whether it could be written and read back.
    ///
    /// # Errors
    /// What is wrong with which step.
    pub fn check(&self) -> Result<(), TalkError> {
        read::check(self)
    }

    /// What is wrong with captions and keeps nobody from writing, reading or showing the talk: numbers that there are none
    /// of, one a text. [`fill`] marks them.
    pub fn faults(&self) -> Vec<TalkError> {
        read::faults(self)
    }
}

/// Whether any step needs the scenario of that name.
fn used(steps: &[Step], name: &str) -> bool {
    steps.iter().any(|step| [&step.baseline, &step.candidate].into_iter().any(|used| used == name))
}

/// The name of a measure in files.
pub fn measure_name(measure: Measure) -> String {
    measure.name().to_lowercase().replace(' ', "-")
}

/// The name of a form in files.
pub fn form_name(form: Form) -> String {
    form.name().to_lowercase()
}
