//! What can be done about a calibration.

use std::path::{Path, PathBuf};

use eframe::egui::{Align, Context, Id, Layout, Modal, RichText};

use super::exhibit::{BASE, MeasuredExhibit, MeasuredFigure};
use super::job::{Change, Work};
use super::{Base, Calibrating, Tab};
use crate::app::App;
use crate::app::command::{Command, Purpose};
use crate::app::figures::{Form, Take};
use crate::app::given::absolute;
use crate::app::pair::Origin;
use crate::app::target::Target;
use crate::app::theme::Palette;
use crate::calibrate::{self, Mapping, Role, Samples, Unit};
use crate::report::calibration;
use crate::report::figures::Side;
use crate::scenario::{self, Scenario, presets};
use crate::work;

/// Something to do.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum Ask {
    /// Shows the page.
    Show,
    /// Goes back to the figures.
    Leave,
    /// Asks for a file of measurements.
    Open,
    /// Reads a file of measurements.
    Read(PathBuf),
    /// Turns to a part of the page.
    Turn(Tab),
    /// A column stands for something else.
    Assign(String, Role),
    /// A column has another unit.
    Unit(String, Unit),
    /// Uses the rows of another group.
    Group(String),
    /// Leaves out so many frames at the start of every run.
    Skip(u32),
    /// Takes the mapping that names and values propose.
    Propose,
    /// Finds out again what becomes of the rows.
    LookAgain,
    /// Fits on one half and judges on the other, or not.
    HoldOut(bool),
    /// When samples stand for a law.
    Samples(Samples),
    /// Where what was not measured comes from.
    Base(Base),
    /// Fits and judges.
    Fit,
    /// Gives up what is under way.
    Cancel,
    /// Looks at another role.
    Look(Role),
    /// Draws spreads in another form.
    Form(Form),
    /// A side becomes the fitted scenario.
    Adopt(Side),
    /// Asks for a path, by the system's dialog.
    Path(BenchPurpose),
    /// Takes a figure out.
    Take(MeasuredFigure, Take),
}

/// What a path is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::app) enum BenchPurpose {
    /// Measurements are read.
    Open,
    /// What columns stand for is read.
    OpenMapping,
    /// What columns stand for is written.
    SaveMapping,
    /// The fitted scenario is written.
    SaveScenario,
    /// The measured frames are written as a work table, into a folder.
    SaveWork,
    /// A figure is written.
    Figure(MeasuredFigure, Take),
}

impl BenchPurpose {
    /// What a dialog is called.
    pub(in crate::app) fn title(self) -> String {
        match self {
            Self::Open => "Open measurements".to_owned(),
            Self::OpenMapping => "Read what the columns stand for".to_owned(),
            Self::SaveMapping => "Save what the columns stand for".to_owned(),
            Self::SaveScenario => "Save the fitted scenario".to_owned(),
            Self::SaveWork => "Save the measured frames as a work table".to_owned(),
            Self::Figure(figure, _) => format!("Save {}", figure.name()),
        }
    }

    /// What kind of files a dialog shows, and their endings.
    pub(in crate::app) const fn endings(self) -> (&'static str, &'static [&'static str]) {
        match self {
            Self::Open => ("Measurements", &ENDINGS),
            Self::OpenMapping | Self::SaveMapping => ("Mapping", &["ron"]),
            Self::SaveScenario | Self::SaveWork => ("Scenario", &["ron"]),
            Self::Figure(_, Take::SaveTable) => ("Table", &["csv"]),
            Self::Figure(..) => ("Picture", &["png", "svg"]),
        }
    }

    /// Label, example and verb of the field for a typed path.
    pub(in crate::app) const fn typed(self) -> [&'static str; 3] {
        match self {
            Self::Open => ["Path of the file of measurements", "bench.csv", "Open"],
            Self::OpenMapping => ["Path of the mapping", "mapping.ron", "Open"],
            Self::SaveMapping => ["Path of the mapping", "mapping.ron", "Save"],
            Self::SaveScenario => ["Path of the scenario file", "bench.ron", "Save"],
            Self::SaveWork => ["Path of the folder for the work table", "measured", "Save"],
            Self::Figure(..) => ["Path of a .png, .svg or .csv file", "overlay.svg", "Save"],
        }
    }

    /// Whether a file is picked that is there; else one is named, or a folder.
    pub(in crate::app) const fn reads(self) -> bool {
        matches!(self, Self::Open | Self::OpenMapping)
    }

    /// Whether it is a folder.
    pub(in crate::app) const fn folder(self) -> bool {
        matches!(self, Self::SaveWork)
    }
}

/// Endings of files of measurements.
const ENDINGS: [&str; 3] = ["csv", "tsv", "txt"];

/// Whether a file that is dropped is one of measurements, by its name.
pub(in crate::app) fn wants(path: &Path) -> bool {
    let ending = path.extension().unwrap_or_default().to_ascii_lowercase();
    ENDINGS.iter().any(|known| ending == *known)
}

impl App {
    /// Does something about the calibration.
    pub(in crate::app) fn ask_bench(&mut self, ask: Ask, ctx: &Context) {
        let bench = &mut self.calibrating;
        match ask {
            Ask::Show => bench.shown = true,
            Ask::Leave => bench.shown = false,
            Ask::Open => self.run(Command::Bench(Ask::Path(BenchPurpose::Open)), ctx),
            Ask::Read(path) => self.read_bench(&path, ctx),
            Ask::Turn(tab) => bench.tab = tab,
            Ask::Assign(column, role) => bench.look(Some(Change::Assign(column, role)), ctx),
            Ask::Propose => bench.look(Some(Change::Propose), ctx),
            Ask::LookAgain => bench.look(None, ctx),
            Ask::Unit(..) | Ask::Group(_) | Ask::Skip(_) => bench.map(ask, ctx),
            Ask::HoldOut(hold_out) => bench.hold_out = hold_out,
            Ask::Samples(samples) => bench.samples = samples,
            Ask::Base(base) => bench.base = Some(base),
            Ask::Fit => {
                let pair = Side::BOTH.map(|side| &self.state.pair.of(side).scenario);
                if let Some((question, opened)) = bench.question(pair).zip(bench.opened.as_ref()) {
                    let work = Work::Fit(std::sync::Arc::clone(&opened.sheet), Box::new(question));
                    bench.start(work, ctx);
                }
            }
            Ask::Cancel => bench.cancel(),
            Ask::Look(role) => bench.role = Some(role),
            Ask::Form(form) => bench.form = form,
            Ask::Adopt(side) => {
                let Some(found) = &bench.found else { return };
                let scenario = found.whole.adopted.scenario.clone();
                self.change("calibration", ctx, |pair| pair.of_mut(side).scenario = scenario);
                self.column.forget_notes();
            }
            Ask::Path(purpose) => {
                let suggested = bench.suggested(purpose);
                self.files.ask(Purpose::Bench(purpose), suggested, ctx.clone());
            }
            Ask::Take(figure, take) => {
                if let Some(exhibit) = self.bench_exhibit(figure) {
                    self.take_out_measured(exhibit, take, ctx);
                }
            }
        }
    }

    /// A path was picked or typed; `agreed` tells whether the system's dialog has asked about a file of that name.
    pub(in crate::app) fn bench_path(&mut self, purpose: BenchPurpose, path: &Path, agreed: bool, ctx: &Context) {
        let path = absolute(path);
        match purpose {
            BenchPurpose::Open => self.read_bench(&path, ctx),
            BenchPurpose::OpenMapping => {
                let Some(opened) = &mut self.calibrating.opened else { return };
                match Mapping::load(&path, &opened.sheet) {
                    Ok(mapping) => {
                        (opened.mapping, opened.kept) = (mapping.clone(), mapping);
                        self.message = None;
                        self.calibrating.look(None, ctx);
                    }
                    Err(error) => self.message = Some(format!("Not opened. {error}")),
                }
            }
            BenchPurpose::Figure(_, take) => self.put_out(&path, take, agreed, ctx),
            BenchPurpose::SaveMapping | BenchPurpose::SaveScenario | BenchPurpose::SaveWork => {
                self.message = self.save_bench(purpose, &path, agreed).err();
            }
        }
    }

    fn save_bench(&mut self, purpose: BenchPurpose, path: &Path, agreed: bool) -> Result<(), String> {
        let path = Target::of(path, if purpose.folder() { "" } else { "ron" }, agreed).free()?;
        let scenario = self.calibrating.found.as_ref().map(|found| &found.whole.adopted.scenario);
        let refused = |error: &dyn std::fmt::Display| format!("Not saved. {error}");
        match (purpose, scenario) {
            (BenchPurpose::SaveMapping, _) => {
                let Some(opened) = &mut self.calibrating.opened else { return Ok(()) };
                opened.mapping.save(&path).map_err(|error| refused(&error))?;
                opened.kept = opened.mapping.clone();
            }
            (BenchPurpose::SaveScenario, Some(scenario)) => {
                scenario::save(&path, scenario).map_err(|error| refused(&error))?;
                self.state.note_recent(&path);
            }
            (BenchPurpose::SaveWork, Some(scenario)) => {
                let Some(found) = &self.calibrating.found else { return Ok(()) };
                let (scenario, table) = calibrate::replay(scenario, &found.whole.measured).ok_or_else(|| {
                    refused(&"There are fewer than 10 measured frames of the scenario's slice count.")
                })?;
                work::write(&path, &scenario, &table).map_err(|error| refused(&error))?;
            }
            _ => {}
        }
        let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        self.calibrating.saved = Some(format!("{name} saved"));
        Ok(())
    }

    /// Reads measurements, or asks first about a mapping that would be lost.
    fn read_bench(&mut self, path: &Path, ctx: &Context) {
        self.message = None;
        self.calibrating.shown = true;
        let path = absolute(path);
        if self.calibrating.unsaved() {
            self.calibrating.waiting = Some(path);
        } else {
            self.calibrating.read(path, ctx);
        }
    }

    /// The question about a mapping that is not saved.
    pub(in crate::app) fn show_bench_question(&mut self, ctx: &Context) {
        let Some(path) = self.calibrating.waiting.clone() else { return };
        if self.files.busy() {
            return;
        }
        if !self.calibrating.unsaved() {
            self.calibrating.waiting = None;
            self.calibrating.read(path, ctx);
            return;
        }
        let mut save = false;
        let mut go_on = None;
        let modal = Modal::new(Id::unique("unsaved mapping")).show(ctx, |ui| {
            ui.set_width(440.0);
            ui.heading("What the columns stand for is not saved");
            ui.add_space(6.0);
            ui.label(format!("{} takes the place of the present table.", path.display()));
            let lost = "Without saving, what was changed by hand is lost.";
            ui.label(RichText::new(lost).color(Palette::current(ui).soft));
            if let Some(message) = &self.message {
                ui.label(RichText::new(message).color(ui.visuals().error_fg_color));
            }
            ui.add_space(8.0);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                save = ui.button("Save as…").clicked();
                if ui.button("Go on without saving").clicked() {
                    go_on = Some(true);
                }
                if ui.button("Cancel").clicked() {
                    go_on = Some(false);
                }
            });
        });
        if save {
            self.run(Command::TypePath(Purpose::Bench(BenchPurpose::SaveMapping)), ctx);
        }
        match go_on.or_else(|| (!save && modal.should_close()).then_some(false)) {
            Some(true) => {
                self.calibrating.waiting = None;
                self.calibrating.read(path, ctx);
            }
            Some(false) => self.calibrating.waiting = None,
            None => {}
        }
        ctx.request_repaint();
    }

    /// A figure of what was found, with the command that makes it again.
    pub(in crate::app) fn bench_exhibit(&self, figure: MeasuredFigure) -> Option<MeasuredExhibit> {
        let found = self.calibrating.found.as_ref()?;
        let opened = self.calibrating.opened.as_ref()?;
        Some(MeasuredExhibit {
            figure,
            figures: std::sync::Arc::clone(&found.figures),
            form: self.calibrating.form,
            file: opened.path.file_name().unwrap_or_default().to_string_lossy().into_owned(),
            command: calibration::command(
                &opened.path.display().to_string(),
                &opened.sheet,
                &found.question,
                self.base_argument(&found.question.base).as_deref(),
            ),
        })
    }

    /// What the base of a calibration is called on the command line: none for the default scenario.
    fn base_argument(&self, base: &Scenario) -> Option<String> {
        let plain = |scenario: &Scenario| Scenario { name: String::new(), notes: String::new(), ..scenario.clone() };
        if plain(base) == plain(&Scenario::default()) {
            return None;
        }
        let document = Side::BOTH.into_iter().map(|side| self.state.pair.of(side)).find(|doc| doc.scenario == *base);
        match document.map(|document| (&document.origin, self.saved.differs(document))) {
            Some((Origin::Preset(name), false)) => presets::find(name).map(|preset| preset.slug.to_owned()),
            Some((Origin::File(path) | Origin::Own(path), false)) => Some(path.display().to_string()),
            // It is in no file: its name says which one is to be saved first.
            _ => Some(BASE.to_owned()),
        }
    }
}

impl Calibrating {
    fn read(&mut self, path: PathBuf, ctx: &Context) {
        self.start(Work::Read(path), ctx);
    }

    /// Changes the mapping where that takes no time, and finds out what becomes of the rows.
    fn map(&mut self, ask: Ask, ctx: &Context) {
        let Some(opened) = &mut self.opened else { return };
        match ask {
            Ask::Unit(column, unit) => {
                if let Some(mapped) = opened.mapping.columns.iter_mut().find(|mapped| mapped.column == column) {
                    (mapped.unit, mapped.guessed) = (unit, false);
                }
            }
            Ask::Group(group) => opened.mapping.group = Some(group),
            Ask::Skip(skip) => opened.mapping.skip = skip,
            _ => return,
        }
        self.look(None, ctx);
    }

    /// Gives up what is under way; a change of the mapping that was on its way does not come.
    fn cancel(&mut self) {
        self.job = None;
        self.changes.clear();
        self.problem = None;
    }

    /// A name for a file.
    pub(in crate::app) fn suggested(&self, purpose: BenchPurpose) -> String {
        let stem = self.opened.as_ref().and_then(|opened| opened.path.file_stem()).unwrap_or_default();
        let stem = stem.to_string_lossy();
        match purpose {
            BenchPurpose::Open | BenchPurpose::OpenMapping => String::new(),
            BenchPurpose::SaveMapping => format!("{stem}-mapping.ron"),
            BenchPurpose::SaveScenario => format!("{stem}.ron"),
            BenchPurpose::SaveWork => format!("{stem}-work"),
            BenchPurpose::Figure(figure, Take::SaveTable) => format!("{}.csv", figure.slug()),
            BenchPurpose::Figure(figure, _) => format!("{}.png", figure.slug()),
        }
    }

    /// Opens a file and fits it at once, on this thread: for pictures and tests.
    ///
    /// # Errors
    /// Why not, in words.
    #[cfg(test)]
    pub(in crate::app) fn open_now(
        &mut self,
        path: &Path,
        kept: &mut super::Kept,
        ctx: &Context,
    ) -> Result<(), String> {
        let watch = calibrate::Watch::nobody();
        let made = Work::Read(path.to_path_buf()).run(&watch)?;
        self.take(made, kept, ctx);
        self.job = None;
        let Some(opened) = &self.opened else { return Ok(()) };
        let look = Work::Look(std::sync::Arc::clone(&opened.sheet), opened.mapping.clone(), Vec::new()).run(&watch)?;
        self.take(look, kept, ctx);
        Ok(())
    }

    /// Fits at once.
    #[cfg(test)]
    pub(in crate::app) fn fit_now(
        &mut self,
        pair: [&Scenario; 2],
        kept: &mut super::Kept,
        ctx: &Context,
    ) -> Result<(), String> {
        let Some((question, opened)) = self.question(pair).zip(self.opened.as_ref()) else { return Ok(()) };
        let work = Work::Fit(std::sync::Arc::clone(&opened.sheet), Box::new(question));
        let made = work.run(&calibrate::Watch::nobody())?;
        self.take(made, kept, ctx);
        Ok(())
    }
}
