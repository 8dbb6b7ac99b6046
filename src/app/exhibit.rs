//! One figure on its own, to be taken out of the program: as a table, or as a picture that says where it comes from.

mod film;
mod report;
pub(super) mod slide;
pub(super) mod svg;

use std::ffi::OsStr;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use eframe::egui::Vec2;
use eframe::egui::epaint::ClippedShape;

pub use film::{Cut, Film, HOLD_S, Progress, Shooting, holds_pictures};
pub use report::Report;
pub use slide::Slide;

use super::Views;
use super::compute::{Bench, Drawn};
use super::figures::Form;
use super::gallery::{self, Data, Entry, Figure};
use super::given::Given;
use super::pair::{Document, Origin, Pair, start};
use super::picture::Picture;
use super::studies::{Asked, Setup, Studies};
use crate::report::figures::Side;
use crate::report::figures::curve::Curve;
use crate::report::figures::distribution::Measure;
use crate::report::figures::left_over::Rank;
use crate::report::figures::table::Table;
use crate::report::provenance::{Provenance, Source};
use crate::scenario::presets;
use crate::study::Answer;

/// One figure of a head-to-head with all that it shows.
pub struct Exhibit {
    pub(super) figure: Figure,
    pub(super) pair: Pair,
    pub(super) answers: [Arc<Answer>; 2],
    pub(super) drawn: Arc<Drawn>,
    pub(super) curve: Curve,
    pub(super) views: Views,
    /// What the study found, where it is one.
    pub(super) studies: Studies,
    /// Why the study found nothing.
    pub(super) problem: Option<String>,
    /// The folder that the command is to be given in, if it is known: files below it go by the shorter name.
    pub(super) folder: Option<PathBuf>,
}

/// A figure that can leave the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind(pub(super) Figure);

/// Shapes on an area of that size as an SVG document \[pt\].
pub(super) fn svg_document(size: Vec2, shapes: &[ClippedShape], title: &str, description: &str) -> String {
    svg::document(size, shapes, svg::About { title, description })
}

/// As what a figure leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// A table.
    Csv,
    /// A picture of pixels.
    Png,
    /// A picture that stays sharp, with text as text.
    Svg,
}

impl Format {
    /// The endings that files may have, in words.
    pub const ENDINGS: &str = ".csv, .png, .svg";

    /// The one that a file's name ends in, letter case aside.
    pub fn of(path: &Path) -> Option<Self> {
        let ending = path.extension().unwrap_or(OsStr::new("")).to_ascii_lowercase();
        [("csv", Self::Csv), ("png", Self::Png), ("svg", Self::Svg)]
            .into_iter()
            .find(|(known, _)| ending == *known)
            .map(|(_, format)| format)
    }
}

impl Kind {
    /// All, in the order of the gallery.
    pub fn all() -> impl Iterator<Item = Self> {
        gallery::ALL.iter().map(|entry| Self(entry.figure()))
    }

    /// The one of that name in commands.
    pub fn named(slug: &str) -> Option<Self> {
        Self::all().find(|kind| kind.slug() == slug)
    }

    /// Its name in commands.
    pub fn slug(self) -> &'static str {
        self.entry().slug
    }

    /// What it tells, in a sentence.
    pub fn meaning(self) -> &'static str {
        self.entry().meaning
    }

    /// Whether it shows or marks one frame, which can be chosen.
    pub fn of_one_frame(self) -> bool {
        matches!(self.0, Figure::Lanes | Figure::Fronts | Figure::Run)
    }

    /// Whether it is a study, which runs many times.
    pub fn is_study(self) -> bool {
        self.0.study().is_some()
    }

    /// Whether it shows a span of time, which can be chosen.
    pub fn of_a_span(self) -> bool {
        self.0 == Figure::Lanes
    }

    /// Whether it shows one of several measures, in one of several forms.
    pub fn of_measures(self) -> bool {
        self.0 == Figure::Distribution
    }

    /// Whether it shows one of two quantiles.
    pub fn of_quantiles(self) -> bool {
        self.0 == Figure::LeftOver
    }

    fn entry(self) -> &'static Entry {
        self.0.entry()
    }
}

impl Exhibit {
    /// A figure of two checked scenarios, which are answered at once, on this thread.
    pub fn new(kind: Kind, baseline: Given, candidate: Given) -> Self {
        let [baseline, candidate] = [baseline, candidate].map(Given::into_document);
        let pair = Pair { baseline, candidate };
        let mut bench = Bench::default();
        let (baseline, candidate, mut drawn) = bench.answers(&pair);
        if kind.0 == Figure::Verdict {
            bench.make_sure(&baseline, &candidate, &mut drawn);
        }
        let curve = if kind.0 == Figure::SliceCurve { bench.whole_curve(&pair) } else { Curve::default() };
        let answers = [baseline, candidate];
        let folder = std::env::current_dir().ok();
        let mut studies = Studies::default();
        let run = kind.0.study().map(|study| {
            // As long as the commands of the studies run; the window asks less, to answer while one waits.
            let frames = Some(pair.candidate.scenario.run.frames);
            studies.set_up(study, Setup { frames, ..studies.setup(study) });
            studies.run_now(study, &pair)
        });
        let problem = run.and_then(Result::err).map(|error| error.to_string());
        let (drawn, views) = (Arc::new(drawn), Views::default());
        Self { figure: kind.0, pair, answers, drawn, curve, views, studies, problem, folder }
    }

    /// Finds out how sure the gain is.
    fn make_sure(&mut self) {
        let [baseline, candidate] = &self.answers;
        Bench::default().make_sure(baseline, candidate, Arc::make_mut(&mut self.drawn));
    }

    /// Why there is nothing to show.
    pub fn problem(&self) -> Option<&str> {
        self.problem.as_deref()
    }

    /// Shows a frame instead of the typical one.
    ///
    /// # Errors
    /// The last frame that both runs have, where there is no such frame.
    pub fn look_at(&mut self, frame: u32) -> Result<(), usize> {
        let last = self.drawn.lanes.frames().saturating_sub(1);
        if frame as usize > last {
            return Err(last);
        }
        self.views.lanes.go_to(frame as usize);
        Ok(())
    }

    /// Shows a span of time instead of what fits; both ends count from the frame's pose, the first is the smaller \[ms\].
    pub fn look_through_ms(&mut self, span: [f64; 2]) {
        self.views.lanes.look_through_ms(span);
    }

    /// Shows the spread of another measure, or in another form.
    pub fn choose(&mut self, measure: Option<Measure>, form: Option<Form>) {
        let view = &mut self.views.distribution;
        view.measure = measure.unwrap_or(view.measure);
        view.form = form.unwrap_or(view.form);
    }

    /// Shows another quantile.
    pub fn choose_quantile(&mut self, rank: Rank) {
        self.views.left_over.rank = rank;
    }

    /// Its data.
    pub fn table(&self) -> Table {
        let frame = self.views.lanes.frame(&self.drawn.lanes);
        let answers = self.answers.each_ref().map(AsRef::as_ref);
        self.figure.entry().table(&Data {
            drawn: &self.drawn,
            answers,
            curve: &self.curve,
            frame,
            studies: &self.studies,
        })
    }

    /// Where it comes from; `date` is the day on which it is made.
    pub fn provenance(&self, date: &str) -> Provenance {
        let document = |side| self.pair.of(side);
        // A study may be of shorter runs than the page, and of several.
        let asked = self.figure.study().and_then(|study| self.studies.asked(study));
        let mut scenarios = self.answers.each_ref().map(|answer| answer.scenario.clone());
        if let Some(asked) = asked {
            for (side, scenario) in Side::BOTH.into_iter().zip(&mut scenarios) {
                scenario.run = asked.of(side).run;
            }
        }
        Provenance {
            figure: self.figure.entry().slug,
            options: self.options(),
            names: Side::BOTH.map(|side| document(side).title()),
            scenarios,
            seeds: asked.map_or(1, Asked::seeds),
            sources: Side::BOTH.map(|side| self.source(side)),
            date: date.to_owned(),
        }
    }

    /// It as a picture of pixels; the command on it writes a file of the name `out`.
    pub fn picture(&self, slide: &Slide, date: &str, out: &str) -> Picture {
        slide::paint(self, slide, &self.provenance(date), out)
    }

    /// Width and height that a picture of it has at least, so that nothing of the figure is cut off \[pt\]; how many lines what
    /// stands below the figure takes is that of the slide's width.
    pub fn least_size(&self, slide: &Slide, date: &str, out: &str) -> [u32; 2] {
        slide::least(self.figure, slide, &self.provenance(date), out)
    }

    /// Writes it; the command on a picture writes a file of the name `out`.
    ///
    /// # Errors
    /// Those of the system.
    pub fn write(&self, format: Format, slide: &Slide, date: &str, out: &str, to: impl Write) -> io::Result<()> {
        match format {
            Format::Csv => self.table().csv(to),
            Format::Png => self.png(slide, date, out, to),
            Format::Svg => self.svg(slide, date, out, to),
        }
    }

    fn png(&self, slide: &Slide, date: &str, out: &str, to: impl Write) -> io::Result<()> {
        let made = self.provenance(date);
        let (title, description) = (self.title(&made), made.description(out));
        let software = format!("framelap {}", crate::version::version());
        let texts = [("Title", title.as_str()), ("Description", &description), ("Software", &software)];
        slide::paint(self, slide, &made, out).write_png_with(to, &texts)
    }

    fn svg(&self, slide: &Slide, date: &str, out: &str, mut to: impl Write) -> io::Result<()> {
        let made = self.provenance(date);
        let (title, description) = (self.title(&made), made.description(out));
        let about = svg::About { title: &title, description: &description };
        let shapes = slide::shapes(self, slide, &made, out);
        to.write_all(svg::document(Vec2::from(slide.size), &shapes, about).as_bytes())
    }

    fn title(&self, made: &Provenance) -> String {
        format!("{}: {}", self.figure.entry().name, made.title())
    }

    /// What is to be seen, as options of the command; what would be seen without them is not said.
    fn options(&self) -> Vec<String> {
        let kind = Kind(self.figure);
        let mut options = Vec::new();
        let mut option = |name: &str, value: String| options.extend([format!("--{name}"), value]);
        if let (true, Some(frame)) = (kind.of_one_frame(), self.views.lanes.chosen()) {
            option("frame", frame.to_string());
        }
        if let (true, Some(span)) = (kind.of_a_span(), self.views.lanes.through_ms()) {
            // To the nanosecond.
            let [from, to] = span.map(|ms| ((ms * 1e6).round() / 1e6).to_string());
            option("from", from);
            option("to", to);
        }
        let rank = self.views.left_over.rank;
        if kind.of_quantiles() && rank != Rank::default() {
            option("quantile", rank.name().to_owned());
        }
        let view = self.views.distribution;
        if kind.of_measures() && view.measure != Measure::default() {
            option("measure", view.measure.name().to_lowercase().replace(' ', "-"));
        }
        if kind.of_measures() && view.form != Form::default() {
            option("form", view.form.name().to_lowercase());
        }
        options
    }

    /// Where a side comes from, by what is there now.
    fn source(&self, side: Side) -> Source {
        let Document { scenario, origin } = self.pair.of(side);
        let found = match origin {
            Origin::Start => Some(Source { argument: None, holds: start(side) }),
            Origin::Preset(name) => presets::find(name)
                .map(|preset| Source { argument: Some(preset.slug.to_owned()), holds: preset.scenario() }),
            Origin::File(path) | Origin::Own(path) => self.argument(path).and_then(|argument| {
                let holds = crate::scenario::load(path).ok()?;
                Some(Source { argument: Some(argument), holds })
            }),
            Origin::Elsewhere => None,
        };
        found.unwrap_or_else(|| Source::nearest(scenario))
    }

    /// A file as an argument; none where its name is no text.
    fn argument(&self, path: &Path) -> Option<String> {
        let shorter = self.folder.as_ref().and_then(|folder| path.strip_prefix(folder).ok());
        shorter.unwrap_or(path).to_str().map(str::to_owned)
    }
}
