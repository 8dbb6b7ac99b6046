//! What a study is asked, as it is set on the page.

use crate::measure::{Measure, measures};
use crate::report::figures::Side;
use crate::scenario::Scenario;
use crate::scenario::parameters::{self, Kind as Values, Parameter, Scale, Value};
use crate::study::StudyError;
use crate::study::luck::USUAL_SEEDS;
use crate::study::search::Free;
use crate::study::split::Rule;
use crate::study::vary::Vary;

/// The studies of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::app) enum Kind {
    /// Baseline against candidate over several seeds.
    Comparison,
    /// One parameter.
    Sweep,
    /// Two parameters.
    Map,
    /// A tenth of every parameter.
    Sensitivity,
    /// The best under limits.
    Search,
    /// A target split among the pieces.
    Split,
    /// The same design over other links.
    WhatIf,
}

impl Kind {
    /// How many there are.
    pub(super) const COUNT: usize = 7;

    /// All of them.
    pub(in crate::app) const ALL: [Self; Self::COUNT] =
        [Self::Comparison, Self::Sweep, Self::Map, Self::Sensitivity, Self::Search, Self::Split, Self::WhatIf];

    /// Its name.
    pub(in crate::app) const fn name(self) -> &'static str {
        match self {
            Self::Comparison => "Comparison",
            Self::Sweep => "Sweep",
            Self::Map => "Map",
            Self::Sensitivity => "Sensitivity",
            Self::Search => "Search",
            Self::Split => "Budget split",
            Self::WhatIf => "What if",
        }
    }

    /// What it will tell, before it is run.
    pub(in crate::app) const fn promise(self) -> &'static str {
        match self {
            Self::Comparison => {
                "Runs baseline and candidate over several seeds and says of every measure whether the candidate is better, \
                 worse, or that it is unclear."
            }
            Self::Sweep => {
                "Turns one parameter over its range and draws a measure against it: where it is best, how wide that is, and \
                 where more work is asked for than can be done."
            }
            Self::Map => {
                "Turns two parameters and colours every pair by a measure, with the lines where the budget ends, where the \
                 baseline is as good, and where encoder, link or decoder can do no more."
            }
            Self::Sensitivity => {
                "Turns every number of the candidate a tenth, or a whole step, down and up and ranks them by what that does to a \
                 measure."
            }
            Self::Search => {
                "Seeks the best candidate that meets its budget when some parameters are free, and says plainly when none \
                 does."
            }
            Self::Split => "Says what every piece of the way from pose to photon may take so that a target is met.",
            Self::WhatIf => "Tries the candidate on other links, cable to radio, and with less and more jitter.",
        }
    }

    /// Most frames a run unless told otherwise: where there are many runs, a part of the scenario's.
    const fn usual_frames(self) -> u32 {
        match self {
            Self::Comparison | Self::Sweep | Self::Split | Self::Sensitivity | Self::WhatIf => 10_000,
            Self::Map | Self::Search => 2_000,
        }
    }
}

/// What a study is asked.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) struct Setup {
    /// Seeds.
    pub(in crate::app) seeds: u32,
    /// Frames a run; none: as many as the candidate's, up to what is usual.
    pub(in crate::app) frames: Option<u32>,
    /// Name of the measure.
    pub(in crate::app) measure: &'static str,
    /// Parameters to be turned.
    pub(in crate::app) ranges: Vec<Range>,
    /// Whether the baseline is turned too.
    pub(in crate::app) both: bool,
    /// Name of the second measure of a search.
    pub(in crate::app) second: Option<&'static str>,
    /// Runs of a search.
    pub(in crate::app) runs: usize,
    /// Whether the lines of the budget are limits of a search.
    pub(in crate::app) budget: bool,
    /// Target of a split \[ms\]; none: the candidate's budget.
    pub(in crate::app) target_ms: Option<f64>,
    /// Quantile that must hold it; none: that of the budget.
    pub(in crate::app) quantile: Option<f64>,
    /// How what is left is shared.
    pub(in crate::app) rule: Rule,
}

impl Setup {
    /// What is usual.
    pub(super) fn usual(kind: Kind) -> Self {
        use Spacing::{Linear, Logarithmic};
        let counts = |high, points| Range::between("slices.count", ["1", high], points, Linear);
        let overheads = Range::between("encode.slice_overhead_ms", ["0.02", "1"], 16, Logarithmic);
        let bitrates = Range::between("stream.bitrate_mbps", ["50", "800"], 16, Logarithmic);
        Self {
            seeds: if kind == Kind::Sweep { 1 } else { USUAL_SEEDS },
            frames: None,
            measure: &measures::usual().name,
            ranges: match kind {
                Kind::Sweep => vec![counts("64", 64)],
                Kind::Map => vec![counts("32", 16), overheads],
                Kind::Search => vec![counts("32", 32), bitrates],
                Kind::Comparison | Kind::Sensitivity | Kind::Split | Kind::WhatIf => Vec::new(),
            },
            both: matches!(kind, Kind::Sweep | Kind::Map),
            second: None,
            runs: 300,
            budget: true,
            target_ms: None,
            quantile: None,
            rule: Rule::Exposed,
        }
    }

    /// The measure.
    pub(in crate::app) fn measure(&self) -> &'static Measure {
        measures::find(self.measure).unwrap_or_else(measures::usual)
    }

    /// Frames a run on a scenario.
    pub(in crate::app) fn frames_on(&self, kind: Kind, scenario: &Scenario) -> u32 {
        self.frames.unwrap_or_else(|| scenario.run.frames.min(kind.usual_frames()))
    }
}

/// How values lie between the ends of a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::app) enum Spacing {
    /// In equal steps.
    Linear,
    /// In equal ratios.
    Logarithmic,
    /// As listed.
    List,
}

impl Spacing {
    /// All of them.
    pub(in crate::app) const ALL: [Self; 3] = [Self::Linear, Self::Logarithmic, Self::List];

    /// In words.
    pub(in crate::app) const fn words(self) -> &'static str {
        match self {
            Self::Linear => "equal steps",
            Self::Logarithmic => "equal ratios",
            Self::List => "as listed",
        }
    }
}

/// A parameter and the values it is to take, as typed.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) struct Range {
    /// Path of the parameter.
    pub(in crate::app) path: &'static str,
    /// Its least value.
    pub(in crate::app) low: String,
    /// Its greatest.
    pub(in crate::app) high: String,
    /// How many values.
    pub(in crate::app) points: usize,
    /// How they lie.
    pub(in crate::app) spacing: Spacing,
    /// Values that are listed.
    pub(in crate::app) list: String,
}

impl Range {
    fn between(path: &'static str, [low, high]: [&str; 2], points: usize, spacing: Spacing) -> Self {
        Self { path, low: low.to_owned(), high: high.to_owned(), points, spacing, list: String::new() }
    }

    /// The usual range of a parameter: what its slider walks, or every choice.
    pub(in crate::app) fn usual(parameter: &'static Parameter, scenario: &Scenario, points: usize) -> Self {
        let mut range = Self {
            path: &parameter.path,
            low: String::new(),
            high: String::new(),
            points,
            spacing: Spacing::List,
            list: String::new(),
        };
        match parameter.kind {
            Values::Choice(names) => range.list = names.join(", "),
            Values::Switch => "off, on".clone_into(&mut range.list),
            _ => {
                let Some(numeric) = parameter.numeric() else { return range };
                if !numeric.only.is_empty() {
                    range.list = numeric.only.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
                    return range;
                }
                let (mut low, high) = numeric.slider_in(scenario);
                range.spacing = Spacing::Linear;
                if let Scale::Logarithmic { least } = numeric.scale {
                    range.spacing = Spacing::Logarithmic;
                    low = low.max(least);
                }
                (range.low, range.high) = (low.to_string(), high.to_string());
                if numeric.whole {
                    range.points = range.points.min((high - low) as usize + 1);
                }
            }
        }
        range
    }

    /// The parameter.
    pub(in crate::app) fn parameter(&self) -> Option<&'static Parameter> {
        parameters::find(self.path)
    }

    /// All between the ends, or what is wrong with them.
    pub(super) fn free(&self) -> Result<Free, StudyError> {
        let Self { path, low, high, .. } = self;
        match self.spacing {
            Spacing::List => Free::parse(&format!("{path}={}", self.list)),
            Spacing::Linear => Free::parse(&format!("{path}={low}..{high}")),
            Spacing::Logarithmic => Free::parse(&format!("{path}={low}..{high}:log")),
        }
    }

    /// The values, or what is wrong with them.
    pub(super) fn vary(&self) -> Result<Vary, StudyError> {
        let Self { path, low, high, points, .. } = self;
        match self.spacing {
            Spacing::List => Vary::parse(&format!("{path}={}", self.list)),
            Spacing::Linear => Vary::parse(&format!("{path}={low}..{high}:{points}")),
            Spacing::Logarithmic => Vary::parse(&format!("{path}={low}..{high}:{points}:log")),
        }
    }
}

/// Whether a parameter can be turned by a study.
pub(in crate::app) fn can_turn(parameter: &Parameter) -> bool {
    !matches!(parameter.kind, Values::Text | Values::List(_)) && !parameter.path.starts_with("run.")
}

/// A question that was asked: the setup and the scenarios, at the length of the study.
#[derive(Debug, Clone)]
pub(in crate::app) struct Asked {
    /// Which study.
    pub(in crate::app) kind: Kind,
    /// As it was set.
    pub(in crate::app) setup: Setup,
    /// The scenarios as they were, baseline first.
    pub(in crate::app) scenarios: [Scenario; 2],
}

impl Asked {
    /// Under how many seeds each run is made.
    pub(in crate::app) fn seeds(&self) -> u32 {
        if matches!(self.kind, Kind::Map | Kind::Search) { 1 } else { self.setup.seeds }
    }

    /// A scenario at the length of the study.
    pub(in crate::app) fn of(&self, side: Side) -> Scenario {
        let mut scenario = self.scenarios[side.index()].clone();
        scenario.run = self.scenarios[Side::Candidate.index()].run;
        let frames = self.setup.frames_on(self.kind, &self.scenarios[Side::Candidate.index()]);
        if frames != scenario.run.frames {
            scenario.run.warmup = scenario.run.warmup.min(frames / 10);
            scenario.run.frames = frames;
        }
        scenario
    }

    /// Whether it is still what would be asked of these scenarios. What the study turns itself may differ, and so may names
    /// and notes.
    pub(super) fn holds_for(&self, setup: &Setup, now: [&Scenario; 2]) -> bool {
        let about = |side: Side, scenario: &Scenario| {
            let mut scenario = scenario.clone();
            scenario.name.clear();
            scenario.notes.clear();
            let then = &self.scenarios[side.index()];
            if self.kind == Kind::Split {
                // What it proposes may be taken.
                scenario.budget.pieces = then.budget.pieces;
            }
            for parameter in self.setup.ranges.iter().filter_map(Range::parameter) {
                let value: Option<Value> = parameter.get(then);
                if let Some(value) = value {
                    // It was of that kind then; where it is not there now, the scenarios differ anyway.
                    let _ = parameter.set(&mut scenario, &value);
                }
            }
            scenario
        };
        let same = |side: Side| about(side, now[side.index()]) == about(side, &self.scenarios[side.index()]);
        self.setup == *setup && Side::BOTH.into_iter().filter(|side| self.looks_at(*side)).all(same)
    }

    fn looks_at(&self, side: Side) -> bool {
        side == Side::Candidate || self.kind == Kind::Comparison || self.setup.both
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_ranges_can_be_asked() {
        let scenario = Scenario::default();
        for parameter in parameters::all().iter().filter(|parameter| can_turn(parameter)) {
            let range = Range::usual(parameter, &scenario, 12);
            let vary = range.vary().unwrap_or_else(|error| panic!("{range:?}: {error}"));
            assert!((1..=12).contains(&vary.values.len()), "{range:?}: {} values", vary.values.len());
        }
        for kind in Kind::ALL {
            assert!(Setup::usual(kind).ranges.iter().all(|range| range.vary().is_ok()));
        }
    }

    #[test]
    fn a_question_holds_until_something_else_is_turned() {
        let scenario = Scenario::default();
        let setup = Setup::usual(Kind::Sweep);
        let asked = Asked { kind: Kind::Sweep, setup: setup.clone(), scenarios: [scenario.clone(), scenario.clone()] };
        let mut turned = scenario.clone();
        turned.slices.count = 3;
        "Another name".clone_into(&mut turned.name);
        assert!(asked.holds_for(&setup, [&scenario, &turned]), "the slice count is what is swept");
        turned.link.rate_mbps = 100.0;
        assert!(!asked.holds_for(&setup, [&scenario, &turned]));
        assert!(!asked.holds_for(&setup, [&turned, &scenario]), "the baseline is drawn too");
        assert!(!asked.holds_for(&Setup { seeds: 5, ..setup.clone() }, [&scenario, &scenario]));
        let alone = Setup { both: false, ..setup };
        let asked = Asked { setup: alone.clone(), ..asked };
        assert!(asked.holds_for(&alone, [&turned, &scenario]));
    }

    #[test]
    fn length_of_the_study_is_that_of_both() {
        let mut scenario = Scenario::default();
        scenario.run.frames = 300;
        scenario.run.warmup = 60;
        let other = Scenario::default();
        let setup = Setup::usual(Kind::Comparison);
        let mut asked = Asked { kind: Kind::Comparison, setup, scenarios: [other, scenario] };
        assert_eq!(Side::BOTH.map(|side| asked.of(side).run.frames), [300, 300]);
        asked.setup.frames = Some(500);
        assert_eq!((asked.of(Side::Baseline).run.frames, asked.of(Side::Baseline).run.warmup), (500, 50));
    }
}
