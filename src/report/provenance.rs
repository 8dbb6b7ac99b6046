//! Where the numbers of a figure come from: the command that makes them again, and what to write below a picture.

use std::fmt::Write as _;

use super::figures::Side;
use super::format;
use crate::scenario::parameters::{self, Assignment};
use crate::scenario::{Scenario, presets};

/// Where one design comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// What it is called on the command line, a preset or a file; none for what the program starts with.
    pub argument: Option<String>,
    /// What is found there.
    pub holds: Scenario,
}

impl Source {
    /// The preset that a scenario differs least from.
    pub fn nearest(scenario: &Scenario) -> Self {
        let differing = |preset: &&presets::Preset| parameters::assignments(&preset.scenario(), scenario).len();
        let nearest = presets::all().iter().min_by_key(differing);
        let argument = nearest.map(|preset| preset.slug.to_owned());
        Self { argument, holds: nearest.map(presets::Preset::scenario).unwrap_or_default() }
    }
}

/// A figure of two designs, and all that it takes to make it again.
#[derive(Debug, Clone, PartialEq)]
pub struct Provenance {
    /// The figure's name in commands.
    pub figure: &'static str,
    /// What is to be seen of it, as options of the command.
    pub options: Vec<String>,
    /// Names of baseline and candidate.
    pub names: [String; 2],
    /// The scenarios that were simulated.
    pub scenarios: [Scenario; 2],
    /// Where they come from.
    pub sources: [Source; 2],
    /// Under how many seeds each was simulated, from its own on.
    pub seeds: u32,
    /// The day on which it was made, as ISO 8601 has it.
    pub date: String,
}

impl Provenance {
    /// The command that writes the figure into a file of that name, for a POSIX shell.
    pub fn command(&self, out: &str) -> String {
        self.command_of(&format!("figure {}", self.figure), out, &self.options)
    }

    /// A command on both designs that writes a file of that name; `what` is the command with what comes before the file.
    pub fn command_of(&self, what: &str, out: &str, options: &[String]) -> String {
        self.line(what, out, options, false)
    }

    /// The command that writes a page about both designs. Notes stand on it too.
    pub fn page_command(&self, out: &str, options: &[String]) -> String {
        self.line("report", out, options, true)
    }

    /// The command that simulates one design and prints its measures in full.
    pub fn simulate(&self, side: Side) -> String {
        let scenario = &self.scenarios[side.index()];
        let given = &self.sources[side.index()];
        let source = if given.argument.is_some() { given.clone() } else { Source::nearest(scenario) };
        let mut words: Vec<String> = ["framelap", "simulate"].map(str::to_owned).to_vec();
        words.extend(source.argument);
        for one in parameters::assignments(&source.holds, scenario) {
            words.extend(["--set".to_owned(), one.text()]);
        }
        words.push("--json".to_owned());
        line_of(&words)
    }

    fn line(&self, what: &str, out: &str, options: &[String], notes: bool) -> String {
        let mut words = vec!["framelap".to_owned()];
        words.extend(what.split(' ').map(str::to_owned));
        words.push(out.to_owned());
        let [mut baseline, mut candidate] = self.sources.clone();
        if baseline.argument.is_some() && candidate.argument.is_none() {
            // The candidate comes first and cannot be left out alone.
            candidate = Source::nearest(&self.scenarios[1]);
        }
        words.extend(candidate.argument.take());
        words.extend(baseline.argument.take());
        let changes = [(0, &baseline.holds), (1, &candidate.holds)]
            .map(|(side, holds)| parameters::assignments(holds, &self.scenarios[side]));
        // What both change, and what needs no other choice before it, is said once.
        let common =
            |one: &&Assignment| one.parameter.only_while.is_none() && changes.iter().all(|all| all.contains(one));
        let mut option = |name: &str, text: String| words.extend([name.to_owned(), text]);
        changes[1].iter().filter(common).for_each(|one| option("--set", one.text()));
        for (side, name, holds) in [(1, "--set-candidate", &candidate.holds), (0, "--set-baseline", &baseline.holds)] {
            changes[side].iter().filter(|one| !common(one)).for_each(|one| option(name, one.text()));
            let wanted = &self.scenarios[side].notes;
            if notes && *wanted != holds.notes {
                option(name, format!("notes={wanted}"));
            }
        }
        words.extend(options.iter().cloned());
        line_of(&words)
    }

    /// The designs by name: `Sliced frames against Whole frames`.
    pub fn title(&self) -> String {
        let [baseline, candidate] = &self.names;
        format!("{candidate} against {baseline}")
    }

    /// Length and luck of the runs, version and date in a line.
    pub fn run(&self) -> String {
        let each = |of: fn(&Scenario) -> String| {
            let [baseline, candidate] = self.scenarios.each_ref().map(of);
            if baseline == candidate { candidate } else { format!("{candidate} against {baseline}") }
        };
        let frames = each(|scenario| format::count(u64::from(scenario.run.frames)));
        let seed = each(|scenario| scenario.run.seed.to_string());
        let seed = if self.seeds > 1 { format!("{} seeds from {seed}", self.seeds) } else { format!("seed {seed}") };
        format!("{frames} frames, {seed}, framelap {}, {}", crate::version::version(), self.date)
    }

    /// All of it, a line each, the command last.
    pub fn description(&self, out: &str) -> String {
        let mut lines = String::new();
        for side in [Side::Candidate, Side::Baseline] {
            let name = if side == Side::Candidate { "Candidate" } else { "Baseline" };
            // Writing to a string does not fail.
            let _ = writeln!(lines, "{name}: {}", self.names[side.index()]);
        }
        let _ = write!(lines, "{}\nMade by: {}", self.run(), self.command(out));
        lines
    }
}

fn line_of(words: &[String]) -> String {
    words.iter().map(|word| quoted(word)).collect::<Vec<_>>().join(" ")
}

/// A word as a POSIX shell takes it: as it is where that is safe, else in single quotes (IEEE Std 1003.1, 2.2.2).
pub(crate) fn quoted(word: &str) -> String {
    let plain = |letter: char| letter.is_ascii_alphanumeric() || "_./=:,+-@%".contains(letter);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    format!("'{}'", word.replace('\'', "'\\''"))
}

/// Today's date as ISO 8601 has it; that of `SOURCE_DATE_EPOCH` where it is set, so that files can be made the same again
/// (its specification, reproducible-builds.org, 2017).
pub fn today() -> String {
    let fixed = std::env::var("SOURCE_DATE_EPOCH").ok().and_then(|seconds| seconds.parse().ok());
    let fixed = fixed.and_then(|seconds| jiff::Timestamp::from_second(seconds).ok());
    let now = fixed.map_or_else(jiff::ZonedDateTime::now, |instant| instant.to_zoned_datetime(jiff::tz::TimeZone::UTC));
    now.date().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Layout;

    fn start(slices: u32) -> Source {
        let mut holds = Scenario::default();
        holds.slices.count = slices;
        Source { argument: None, holds }
    }

    fn provenance(sources: [Source; 2]) -> Provenance {
        Provenance {
            figure: "outcomes",
            options: Vec::new(),
            names: ["Old".to_owned(), "It's new".to_owned()],
            scenarios: sources.clone().map(|source| source.holds),
            sources,
            seeds: 1,
            date: "2024-02-29".to_owned(),
        }
    }

    #[test]
    fn start_of_the_program_needs_no_argument() {
        let mut made = provenance([start(1), start(8)]);
        assert_eq!(made.command("out.svg"), "framelap figure outcomes out.svg");
        for scenario in &mut made.scenarios {
            scenario.run.seed = 7;
        }
        made.scenarios[0].slices.count = 2;
        let command = "framelap figure outcomes 'my file.svg' --set run.seed=7 --set-baseline slices.count=2";
        assert_eq!(made.command("my file.svg"), command);
    }

    #[test]
    fn candidate_is_named_where_the_baseline_is() {
        let preset = presets::find("1").unwrap();
        let mut made =
            provenance([Source { argument: Some(preset.slug.to_owned()), holds: preset.scenario() }, start(8)]);
        made.scenarios[1].name = "It's new".to_owned();
        assert_eq!(
            made.command("a.csv"),
            "framelap figure outcomes a.csv wired-90-8-slices wired-90-whole-frame --set-candidate 'name=It'\\''s new'"
        );
    }

    #[test]
    fn nearest_preset_is_the_one_that_differs_least() {
        for preset in presets::all() {
            let mut scenario = preset.scenario();
            scenario.budget.pose_to_photon_ms += 1.0;
            assert_eq!(Source::nearest(&scenario).argument.as_deref(), Some(preset.slug));
        }
    }

    #[test]
    fn assignments_make_every_preset_of_every_other() {
        let scenarios = presets::all().iter().map(presets::Preset::scenario);
        let mut odd = Scenario::default();
        odd.pixels.layout = Layout::Foveated { center: 0.1 + 0.2, edge_density: 0.4 };
        let scenarios: Vec<Scenario> = scenarios.chain([odd]).collect();
        for from in &scenarios {
            for to in &scenarios {
                let mut made = from.clone();
                for assignment in parameters::assignments(from, to) {
                    parameters::assign(&mut made, &assignment.text()).unwrap();
                }
                made.notes.clone_from(&to.notes);
                assert_eq!(made, *to);
            }
        }
    }

    #[test]
    fn description_names_run_version_and_date() {
        let mut made = provenance([start(1), start(8)]);
        let frames = format::count(u64::from(Scenario::default().run.frames));
        let version = crate::version::version();
        assert_eq!(made.run(), format!("{frames} frames, seed 1, framelap {version}, 2024-02-29"));
        made.seeds = 8;
        assert_eq!(made.run(), format!("{frames} frames, 8 seeds from 1, framelap {version}, 2024-02-29"));
        assert!(made.description("a.png").ends_with("\nMade by: framelap figure outcomes a.png"));
        assert_eq!(made.title(), "It's new against Old");
    }
}
