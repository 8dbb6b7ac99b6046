//! Runs commands: the one place where the window's state changes.

use std::path::Path;

use eframe::egui::{Context, ViewportCommand};

use super::App;
use super::command::{Command, Purpose};
use super::given::absolute;
use super::guard::Step;
use super::outbox;
use super::pair::{Document, Origin, Pair};
use super::state::{Edited, Places};
use crate::files;
use crate::report::figures::Side;
use crate::report::words::capital;
use crate::scenario::parameters::{self, Parameter, Value};
use crate::scenario::{self, Scenario, presets};

impl App {
    /// Runs the commands of one frame.
    pub(super) fn run_all(&mut self, commands: Vec<Command>, ctx: &Context) {
        if commands.is_empty() {
            return;
        }
        for command in commands {
            self.run(command, ctx);
        }
        // What was laid out before the commands ran shows what was before them.
        ctx.request_repaint();
    }

    pub(super) fn run(&mut self, command: Command, ctx: &Context) {
        match command {
            Command::Set(path, value, edited) => self.set(path, &value, edited, ctx),
            Command::Refused(path, why) => self.column.note(path, Some(as_note(path, &why))),
            Command::ForgetRefusals => self.column.forget_notes(),
            Command::Reset(paths, edited) => self.reset(&paths, edited, ctx),
            Command::TakeBaseline(path) => self.take_baseline(path, ctx),
            Command::Slices(count) => {
                self.set("slices.count", &Value::Whole(u64::from(count)), Edited::Candidate, ctx);
            }
            Command::TakeValues(values) => self.take_values(&values, ctx),
            Command::TakeScenario(scenario) => {
                self.change("take from study", ctx, |pair| pair.candidate.scenario = *scenario);
                self.column.forget_notes();
            }
            Command::Undo => self.go(Self::undone),
            Command::Redo => self.go(Self::redone),
            Command::Swap => {
                self.change("swap", ctx, |pair| std::mem::swap(&mut pair.baseline, &mut pair.candidate));
            }
            Command::CandidateToBaseline => {
                self.change("to baseline", ctx, |pair| pair.baseline = pair.candidate.clone());
            }
            Command::BaselineToCandidate => {
                self.change("to candidate", ctx, |pair| pair.candidate = pair.baseline.clone());
            }
            Command::ResetAll(side) => self.change("reset all", ctx, |pair| {
                let scenario = &mut pair.of_mut(side).scenario;
                let (name, notes) = (std::mem::take(&mut scenario.name), std::mem::take(&mut scenario.notes));
                *scenario = Scenario { name, notes, ..Scenario::default() };
            }),
            Command::StartAgain => self.step(Step::StartAgain, ctx),
            Command::Preset(name, side) => self.take_preset(name, side, ctx),
            Command::Open(side) => self.files.ask(Purpose::Open(side), String::new(), ctx.clone()),
            Command::OwnPreset(path, side) => self.take_own(&path, side, ctx),
            Command::SaveOwn(side) => self.own.ask_name(side, self.state.pair.of(side).title()),
            Command::Named(side, name) => self.save_own(side, &name, false, ctx),
            Command::Save(side) => self.save(side, ctx),
            Command::SaveAs(side) => self.files.ask(Purpose::Save(side), self.suggested_name(side), ctx.clone()),
            Command::TypePath(purpose) => {
                let text = match purpose {
                    Purpose::Open(_) | Purpose::OpenTalk => String::new(),
                    Purpose::SaveTalk => self.suggested_talk_name(),
                    Purpose::Save(side) => self.suggested_name(side),
                    Purpose::Figure(figure, take) => outbox::suggested_name(figure, take),
                    Purpose::Bench(purpose) => self.calibrating.suggested(purpose),
                    Purpose::Report => outbox::REPORT.to_owned(),
                    Purpose::Walk => outbox::WALK.to_owned(),
                };
                self.files.type_path(purpose, text);
            }
            Command::Picked(Purpose::Open(side), path) | Command::Typed(Purpose::Open(side), path) => {
                self.load(&path, side, ctx);
            }
            Command::Picked(Purpose::Save(side), path) => self.save_to(&path, side, true, ctx),
            Command::Typed(Purpose::Save(side), path) => self.save_to(&path, side, false, ctx),
            Command::Picked(Purpose::Figure(_, take), path) => self.put_out(&path, take, true, ctx),
            Command::Typed(Purpose::Figure(_, take), path) => self.put_out(&path, take, false, ctx),
            Command::Picked(Purpose::Bench(purpose), path) => self.bench_path(purpose, &path, true, ctx),
            Command::Typed(Purpose::Bench(purpose), path) => self.bench_path(purpose, &path, false, ctx),
            Command::Bench(ask) => self.ask_bench(ask, ctx),
            Command::Picked(Purpose::OpenTalk, path) | Command::Typed(Purpose::OpenTalk, path) => {
                self.load_talk(&path, ctx);
            }
            Command::Picked(Purpose::SaveTalk, path) => self.save_talk_to(&path, true, ctx),
            Command::Typed(Purpose::SaveTalk, path) => self.save_talk_to(&path, false, ctx),
            Command::Talk(act) => self.act_talk(act, ctx),
            Command::Picked(Purpose::Report, path) => self.put_out_report(&path, true, ctx),
            Command::Typed(Purpose::Report, path) => self.put_out_report(&path, false, ctx),
            Command::Picked(Purpose::Walk, path) => self.put_out_walk(&path, true, ctx),
            Command::Typed(Purpose::Walk, path) => self.put_out_walk(&path, false, ctx),
            Command::SaveWalk(typed) => self.take_out_walk(typed, ctx),
            Command::StopWalk => self.outbox.stop(),
            Command::Report(typed) => self.take_out_report(typed, ctx),
            Command::Take(figure, take) => self.take_out(figure, take, ctx),
            _ => self.run_view(command, ctx),
        }
    }

    /// Commands that leave the scenarios alone.
    fn run_view(&mut self, command: Command, ctx: &Context) {
        let left = command.needs_the_page() && self.calibrating.leave();
        // Where the steps of a talk stand in their place, parameters are shown instead of hidden.
        let hidden = command.needs_parameters() && self.steps_for_parameters(ctx);
        if hidden {
            self.talk.shown = false;
        }
        if (left || hidden) && command == Command::ToggleParameters {
            self.state.parameters = true;
            return;
        }
        match command {
            Command::Edit(edited) => self.state.edited = edited,
            Command::Theme(theme) => {
                self.state.theme = theme;
                theme.show(ctx);
            }
            Command::Zoom(zoom) => ctx.set_zoom_factor(zoom),
            Command::ToggleParameters => self.state.parameters = !self.state.parameters,
            Command::Search => {
                self.state.parameters = true;
                self.column.search_now();
            }
            Command::Reveal(what) => {
                self.state.parameters = true;
                self.column.reveal(&what);
            }
            Command::Put(place, figure) => {
                self.state.places.put(place, figure);
                // Where there is not room for all, it is turned to.
                self.state.page = place;
            }
            Command::Study(kind) => self.studies.start(kind, &self.state.pair, ctx),
            Command::SetUpStudy(kind, setup) => self.studies.set_up(kind, setup),
            Command::StudyInTheMiddle => {
                if let Some(kind) = self.state.places.at(Places::MIDDLE).study() {
                    self.studies.start(kind, &self.state.pair, ctx);
                }
            }
            Command::CancelStudy => self.studies.cancel(),
            Command::Turn(place) => self.state.page = place,
            Command::Present => self.toggle_presenting(ctx),
            Command::Presented(act) => self.act_presenting(act, ctx),
            Command::Walk => self.toggle_walk(),
            Command::ToggleKeys => self.keys_shown = !self.keys_shown,
            Command::About => self.about_shown = true,
            Command::ReadOwn => self.own.read(),
            Command::Copy(text) => ctx.copy_text(text),
            Command::Dismiss => self.message = None,
            Command::Quit => ctx.send_viewport_cmd(ViewportCommand::Close),
            _ => {}
        }
    }

    /// Changes the pair as one step of undo; `what` names the thing changed. Nothing happens where nothing changes.
    pub(super) fn change(&mut self, what: &str, ctx: &Context, change: impl FnOnce(&mut Pair)) {
        let mut pair = self.state.pair.clone();
        change(&mut pair);
        self.take(pair, what, ctx);
    }

    fn take(&mut self, pair: Pair, what: &str, ctx: &Context) {
        if pair != self.state.pair {
            let (now_s, held) = moment(ctx);
            self.history.record(&self.state.pair, what, now_s, held);
            self.state.pair = pair;
        }
    }

    /// A value that its own range refuses is said beside the field and changes nothing; others settle around one that is
    /// taken. While a slider is dragged they do so from where the drag began, so that dragging back brings them back.
    fn set(&mut self, path: &'static str, value: &Value, edited: Edited, ctx: &Context) {
        let Some(parameter) = parameters::find(path) else { return };
        let (now_s, held) = moment(ctx);
        let base = self.history.step_base(path, now_s, held).unwrap_or(&self.state.pair);
        let mut pair = base.clone();
        let mut refused = None;
        for &side in edited.sides() {
            let scenario = &mut pair.of_mut(side).scenario;
            // A parameter of an alternative that this side has not chosen is not there to be set.
            if parameter.get(scenario).is_some() {
                refused = refused.or(try_to_set(parameter, scenario, value));
            }
        }
        if refused.is_none() {
            self.take(pair, path, ctx);
            self.column.forget_notes();
        }
        self.column.note(path, refused);
    }

    /// Values that a study was asked about are allowed together there; others settle around them.
    fn take_values(&mut self, values: &[(&'static str, Value)], ctx: &Context) {
        let paths: Vec<&str> = values.iter().map(|(path, _)| *path).collect();
        self.change(&format!("take {}", paths.join(" ")), ctx, |pair| {
            let scenario = &mut pair.of_mut(Side::Candidate).scenario;
            for (path, value) in values {
                if let Some(parameter) = parameters::find(path)
                    && parameter.set(scenario, value).is_ok()
                {
                    scenario.settle(path);
                }
            }
        });
        self.column.forget_notes();
    }

    fn reset(&mut self, paths: &[&'static str], edited: Edited, ctx: &Context) {
        self.change(&format!("reset {}", paths.join(" ")), ctx, |pair| {
            for parameter in paths.iter().filter_map(|path| parameters::find(path)) {
                for &side in edited.sides() {
                    let scenario = &mut pair.of_mut(side).scenario;
                    if let Some(value) = parameter.default_in(scenario) {
                        // A default is of the right kind, so this cannot be refused.
                        let _ = parameter.set(scenario, &value);
                        scenario.settle(&parameter.path);
                    }
                }
            }
        });
        self.column.forget_notes();
    }

    fn take_baseline(&mut self, path: &'static str, ctx: &Context) {
        let Some(parameter) = parameters::find(path) else { return };
        let Pair { baseline, mut candidate } = self.state.pair.clone();
        let refused = parameter.copy(&baseline.scenario, &mut candidate.scenario).err();
        if refused.is_none() {
            candidate.scenario.settle(path);
            self.take(Pair { baseline, candidate }, &format!("baseline's {path}"), ctx);
            self.column.forget_notes();
        }
        self.column.note(path, refused.map(|error| as_note(path, &error.to_string())));
    }

    fn go(&mut self, step: fn(&mut Self) -> Option<Pair>) {
        if let Some(pair) = step(self) {
            self.state.pair = pair;
            self.column.forget_notes();
        }
    }

    fn undone(&mut self) -> Option<Pair> {
        self.history.undo(&self.state.pair)
    }

    fn redone(&mut self) -> Option<Pair> {
        self.history.redo(&self.state.pair)
    }

    fn take_preset(&mut self, name: &str, side: Side, ctx: &Context) {
        let Some(preset) = presets::find(name) else { return };
        let document = Document { scenario: preset.scenario(), origin: Origin::Preset(preset.slug.to_owned()) };
        self.step(Step::Preset(side, document), ctx);
    }

    /// A preset of the user's own, read anew: what is in the file now is what was meant.
    fn take_own(&mut self, path: &Path, side: Side, ctx: &Context) {
        self.own.read();
        match self.own.of(path).map(|own| own.scenario.clone()) {
            Some(Ok(scenario)) => {
                self.message = None;
                let document = Document { scenario, origin: Origin::Own(path.to_path_buf()) };
                self.step(Step::Preset(side, document), ctx);
            }
            Some(Err(error)) => self.message = Some(format!("Not opened. {error}")),
            None => self.message = Some(format!("Not opened. {}: there is no such preset now", path.display())),
        }
    }

    /// Puts a scenario on a side as one step of undo.
    pub(super) fn put(&mut self, what: &str, side: Side, document: Document, ctx: &Context) {
        let what = format!("{what} {:?}", document.origin);
        self.saved.note_source(&document);
        if let Some(path) = document.file() {
            self.state.note_recent(path);
        }
        self.change(&what, ctx, |pair| *pair.of_mut(side) = document);
        self.column.forget_notes();
    }

    /// A file that cannot be used is refused in words; what is on screen stays.
    fn load(&mut self, path: &Path, side: Side, ctx: &Context) {
        // Taken before the file is read: what changes in between shows as a change.
        let mark = files::mark(path);
        match scenario::load(path) {
            Ok(scenario) => {
                self.message = None;
                let document = Document { scenario, origin: Origin::File(absolute(path)) };
                self.step(Step::Open(side, document, mark), ctx);
            }
            Err(error) => self.message = Some(format!("Not opened. {error}")),
        }
    }
}

/// Now, in seconds, and whether a pointer is down, or was until this frame: what it did last is still its doing.
fn moment(ctx: &Context) -> (f64, bool) {
    ctx.input(|input| (input.time, input.pointer.any_down() || input.pointer.any_released()))
}

/// An error under the field that it is about: the field names the path already.
fn as_note(path: &str, error: &str) -> String {
    let told = error.strip_prefix(path).and_then(|rest| rest.strip_prefix(": ")).unwrap_or(error);
    format!("{}.", capital(told.trim_end_matches('.')))
}

/// Sets a parameter unless its own range forbids the value; returns why not.
fn try_to_set(parameter: &Parameter, scenario: &mut Scenario, value: &Value) -> Option<String> {
    let mut changed = scenario.clone();
    if let Err(error) = parameter.set(&mut changed, value) {
        return Some(as_note(&parameter.path, &error.to_string()));
    }
    let numbers: Vec<f64> = match value {
        Value::List(list) => list.clone(),
        value => value.as_f64().into_iter().collect(),
    };
    if let Some(numeric) = parameter.numeric()
        && !numbers.iter().all(|number| numeric.allows_in(*number, &changed))
    {
        return Some(format!("Found {}, allowed: {}.", parameter.format(value), parameter.allowed_in(&changed)));
    }
    changed.settle(&parameter.path);
    *scenario = changed;
    None
}
