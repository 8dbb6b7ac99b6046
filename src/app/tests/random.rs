//! Whatever is done in whatever order: nothing panics, and undo and redo lead exactly where they should.

use std::path::{Path, PathBuf};

use eframe::egui::RawInput;
use proptest::prelude::*;

use super::*;
use crate::app::command::{Command, Purpose};
use crate::app::own::Library;
use crate::app::state::Edited;
use crate::scenario::parameters::{self, Kind, Parameter, Value};
use crate::scenario::{self, presets};

/// One thing that a hand does; numbers choose among what there is.
#[derive(Debug, Clone)]
enum Act {
    Set { parameter: usize, share: f64, edited: usize },
    TakeBaseline(usize),
    Reset { parameter: usize, edited: usize },
    ResetStage { parameter: usize, edited: usize },
    ResetAll(bool),
    Slices(u32),
    Undo,
    Redo,
    Swap,
    Copy(bool),
    Preset(usize, bool),
    Own(bool),
    StartAgain,
    Open(usize, bool),
    Save(usize, bool),
    SaveOwn(bool),
}

fn act() -> impl Strategy<Value = Act> {
    let (index, side) = (0..1000_usize, any::<bool>());
    prop_oneof![
        8 => (index.clone(), -0.1..1.1_f64, 0..3_usize)
            .prop_map(|(parameter, share, edited)| Act::Set { parameter, share, edited }),
        2 => index.clone().prop_map(Act::TakeBaseline),
        2 => (index.clone(), 0..3_usize).prop_map(|(parameter, edited)| Act::Reset { parameter, edited }),
        1 => (index.clone(), 0..3_usize).prop_map(|(parameter, edited)| Act::ResetStage { parameter, edited }),
        1 => side.prop_map(Act::ResetAll),
        1 => (0..80_u32).prop_map(Act::Slices),
        4 => Just(Act::Undo),
        3 => Just(Act::Redo),
        2 => Just(Act::Swap),
        2 => side.prop_map(Act::Copy),
        2 => (index.clone(), side).prop_map(|(preset, side)| Act::Preset(preset, side)),
        1 => side.prop_map(Act::Own),
        1 => Just(Act::StartAgain),
        3 => (index.clone(), side).prop_map(|(file, side)| Act::Open(file, side)),
        2 => (index, side).prop_map(|(file, side)| Act::Save(file, side)),
        1 => side.prop_map(Act::SaveOwn),
    ]
}

const fn side(of: bool) -> Side {
    if of { Side::Candidate } else { Side::Baseline }
}

/// A value of a parameter, now and then one that it does not allow.
fn value(parameter: &Parameter, scenario: &Scenario, share: f64) -> Value {
    let number = |numeric: &parameters::Numeric| {
        let (low, high) = numeric.slider_in(scenario);
        let number = low + share * (high - low);
        if numeric.whole && number >= 0.0 { Value::Whole(number.round() as u64) } else { Value::Number(number) }
    };
    let chosen = |among: usize| ((share.clamp(0.0, 0.999)) * among as f64) as usize;
    match &parameter.kind {
        Kind::Number(numeric) => number(numeric),
        Kind::NumberOrNone { numeric, .. } => {
            if share < 0.3 {
                Value::None
            } else {
                number(numeric)
            }
        }
        Kind::Choice(names) => Value::Choice(names[chosen(names.len())]),
        Kind::Switch => Value::Switch(share > 0.5),
        Kind::Text => Value::Text(format!("text {share:.2}\n\"quoted\"")),
        Kind::List(_) => Value::List(vec![share; chosen(4)]),
    }
}

/// The command of an act.
fn command(act: &Act, app: &App, folder: &Path) -> Command {
    let of = |index: usize| &parameters::all()[index % parameters::all().len()];
    let files = ["good.ron", "other.ron", "broken.ron", "missing.ron", "noise.ron", "folder.ron", "no/where.ron"];
    let path = |index: usize| folder.join(files[index % files.len()]);
    match *act {
        Act::Set { parameter, share, edited } => {
            let edited = Edited::ALL[edited];
            let shown = &app.state.pair.of(edited.shown()).scenario;
            Command::Set(&of(parameter).path, value(of(parameter), shown, share), edited)
        }
        Act::TakeBaseline(index) => Command::TakeBaseline(&of(index).path),
        Act::Reset { parameter, edited } => Command::Reset(vec![&of(parameter).path], Edited::ALL[edited]),
        Act::ResetStage { parameter, edited } => {
            let stage = of(parameter).stage;
            let of_stage = parameters::all().iter().filter(|parameter| parameter.stage == stage);
            Command::Reset(of_stage.map(|parameter| parameter.path.as_str()).collect(), Edited::ALL[edited])
        }
        Act::ResetAll(of) => Command::ResetAll(side(of)),
        Act::Slices(count) => Command::Slices(count),
        Act::Undo => Command::Undo,
        Act::Redo => Command::Redo,
        Act::Swap => Command::Swap,
        Act::Copy(true) => Command::CandidateToBaseline,
        Act::Copy(false) => Command::BaselineToCandidate,
        Act::Preset(index, of) => Command::Preset(presets::all()[index % presets::all().len()].slug, side(of)),
        Act::Own(of) => Command::OwnPreset(folder.join("own/mine.ron"), side(of)),
        Act::StartAgain => Command::StartAgain,
        Act::Open(index, of) => Command::Picked(Purpose::Open(side(of)), path(index)),
        Act::Save(index, of) => Command::Typed(Purpose::Save(side(of)), path(index)),
        Act::SaveOwn(of) => Command::Named(side(of), "Mine".to_owned()),
    }
}

/// A folder with files that open and files that do not.
fn files() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().to_path_buf();
    for (name, slices) in [("good.ron", 3), ("other.ron", 17)] {
        let mut scenario = Scenario { name: name.to_owned(), ..Scenario::default() };
        scenario.slices.count = slices;
        scenario::save(&path.join(name), &scenario).unwrap();
    }
    std::fs::write(path.join("broken.ron"), "Scenario(\n slizes: (count: 8),\n)").unwrap();
    std::fs::write(path.join("noise.ron"), [0_u8, 159, 146, 150]).unwrap();
    std::fs::create_dir(path.join("folder.ron")).unwrap();
    (folder, path)
}

/// Answers every question that is open: some are given up, some gone on with.
fn answer(app: &mut App, go_on: bool, ctx: &Context) {
    app.replacing = None;
    if app.own.asking() {
        app.own = Library::at(std::env::temp_dir().join("framelap-no-such-folder"));
    }
    if go_on {
        app.release(ctx);
    }
    app.guard = None;
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn undo_leads_to_the_start_and_redo_to_the_end(
        acts in prop::collection::vec((act(), 0.0..1.5_f64, any::<bool>()), 1..50)
    ) {
        let (_kept, folder) = files();
        let ctx = Context::default();
        let mut app = App::still(&ctx, None, None);
        app.own = Library::at(folder.join("own"));
        let start = app.state.pair.clone();
        let mut time_s = 0.0;
        for (act, pause_s, go_on) in &acts {
            time_s += pause_s;
            let input = RawInput { time: Some(time_s), ..RawInput::default() };
            ctx.run_ui(input, |_| ()).drop_without_applying_deltas();
            let (before, undoes) = (app.state.pair.clone(), app.history.can_undo());
            let command = command(act, &app, &folder);
            app.run(command, &ctx);
            answer(&mut app, *go_on, &ctx);
            if matches!(act, Act::Undo) && undoes {
                app.run(Command::Redo, &ctx);
                prop_assert!(app.state.pair.same_scenarios(&before), "redo takes back what undo did");
                app.run(Command::Undo, &ctx);
            }
        }
        let end = app.state.pair.clone();
        while app.history.can_redo() {
            app.run(Command::Redo, &ctx);
        }
        let last = app.state.pair.clone();
        let mut steps = 0;
        while app.history.can_undo() {
            app.run(Command::Undo, &ctx);
            steps += 1;
        }
        prop_assert!(app.state.pair.same_scenarios(&start), "{steps} steps back from {end:?}");
        for _ in 0..steps {
            prop_assert!(app.history.can_redo());
            app.run(Command::Redo, &ctx);
        }
        prop_assert!(app.state.pair.same_scenarios(&last));
        // What came out can be laid out.
        ctx.run_ui(RawInput { time: Some(time_s + 1.0), ..RawInput::default() }, |ui| app.contents(ui))
            .drop_without_applying_deltas();
    }
}
