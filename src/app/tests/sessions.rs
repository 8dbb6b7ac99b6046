//! The session comes back; files come by drop and from the list of recent ones.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{DroppedFile, HoveredFile, ViewportEvent, ViewportId};

use super::*;
use crate::app::gallery::Figure;
use crate::app::session::Found;
use crate::scenario;

/// A window without a worker that keeps its session in a file.
pub(super) fn kept(path: &Path, given: [Option<Given>; 2]) -> Harness<'static, App> {
    let found = Found::at(path);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).renderer(cpu::Cpu::default()).build_eframe(move |creation| {
            let mut app = App::kept(&creation.egui_ctx, given, found);
            app.answer_now();
            app
        });
    window.run_steps(3);
    window
}

fn set_slices(window: &mut Harness<'static, App>, count: f64) {
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(count);
    window.run_steps(2);
}

/// Lets the time pass after which a session is written, and waits for the file.
fn rest(window: &mut Harness<'static, App>, done: impl Fn() -> bool) {
    let start = Instant::now();
    while !done() {
        assert!(start.elapsed() < Duration::from_mins(1), "the session is not written");
        window.step();
        std::thread::sleep(Duration::from_millis(1));
    }
    window.run_steps(2);
}

#[derive(Debug)]
pub(super) struct Dropped(pub(super) std::path::PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}

#[test]
fn session_comes_back_after_a_kill() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("state/framelap/session.ron");
    let mut window = kept(&path, [None, None]);
    set_slices(&mut window, 13.0);
    assert!(!path.exists(), "not while things change");
    choose(&mut window, &["View", ThemeChoice::Dark.name()]);
    window.key_press_modifiers(Modifiers::COMMAND, Key::P);
    window.run_steps(2);
    let all_written = |text: String| text.contains("theme: Dark") && text.contains("parameters: false");
    rest(&mut window, || std::fs::read_to_string(&path).is_ok_and(all_written));
    let before = window.state().state.clone();
    // Nothing is written at its end: this is what a kill does.
    drop(window);
    let window = kept(&path, [None, None]);
    assert_eq!(candidate(&window).slices.count, 13);
    assert_eq!(window.state().state, before);
    assert_eq!((window.state().state.theme, window.state().state.parameters), (ThemeChoice::Dark, false));
    assert_eq!(window.state().message, None);
    assert!(std::fs::read_to_string(&path).unwrap().contains("version: 1"));
}

#[test]
fn session_is_written_when_the_window_closes_and_what_came_back_asks_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.ron");
    let mut window = kept(&path, [None, None]);
    set_slices(&mut window, 13.0);
    let close = |window: &mut Harness<'static, App>| {
        window.input_mut().viewports.entry(ViewportId::ROOT).or_default().events.push(ViewportEvent::Close);
        window.run_steps(SETTLING);
    };
    close(&mut window);
    choose(&mut window, &["Close without saving"]);
    assert!(window.state().leaving && path.exists());
    let mut window = kept(&path, [None, None]);
    assert_eq!(candidate(&window).slices.count, 13);
    close(&mut window);
    assert!(window.state().leaving);
}

#[test]
fn broken_and_newer_sessions_are_set_aside() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.ron");
    for (number, text) in [(1, "(version: 1, state: (pair: 3))"), (2, "(version: 99, future: true)"), (3, "\u{1}")] {
        std::fs::write(&path, text).unwrap();
        let window = kept(&path, [None, None]);
        let aside = folder.path().join(format!("session-aside-{number}.ron"));
        assert_eq!(std::fs::read_to_string(&aside).unwrap(), text);
        assert!(!path.exists());
        let message = window.state().message.clone().unwrap();
        assert!(message.contains("starts afresh") && message.contains(&aside.display().to_string()), "{message}");
        assert_eq!(window.state().state.pair, pair::Pair::default());
    }
}

#[test]
fn folder_that_cannot_be_written_is_told_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file/session.ron");
    let mut window = kept(&path, [None, None]);
    std::fs::write(folder.path().join("file"), "").unwrap();
    assert_eq!(window.state().message, None);
    set_slices(&mut window, 13.0);
    let start = Instant::now();
    while window.state().message.is_none() {
        assert!(start.elapsed() < Duration::from_mins(1), "nothing is said");
        window.step();
        std::thread::sleep(Duration::from_millis(1));
    }
    assert!(window.state().message.as_ref().unwrap().contains("The session is not kept"));
    window.run_steps(2);
    choose(&mut window, &["Dismiss"]);
    set_slices(&mut window, 5.0);
    window.run_steps(300);
    std::thread::sleep(Duration::from_millis(50));
    window.run_steps(2);
    assert_eq!(window.state().message, None);
}

#[test]
fn scenario_that_is_given_comes_before_that_of_last_time() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.ron");
    let mut window = kept(&path, [None, None]);
    set_slices(&mut window, 13.0);
    rest(&mut window, || path.exists());
    let given = Given::preset(scenario::presets::find("7").unwrap());
    let mut window = kept(&path, [None, Some(given)]);
    assert_eq!(candidate(&window).name, scenario::presets::find("7").unwrap().name());
    assert!(window.state().message.as_ref().unwrap().contains("gave way (candidate)"));
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 13);
}

#[test]
fn what_was_looked_at_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.ron");
    let mut window = kept(&path, [None, None]);
    window.set_size(eframe::egui::vec2(1600.0, 900.0));
    window.run_steps(SETTLING);
    choose(&mut window, &["Next", "Tail", "Photon age", "Only differences (1)"]);
    window.key_press_modifiers(Modifiers::COMMAND, Key::F);
    window.run_steps(2);
    window.get_by_role_and_label(Role::SearchInput, "Find a parameter").type_text("slices");
    window.run_steps(2);
    let frame = {
        let app = window.state();
        app.views.lanes.frame(&app.answers.shown.as_ref().unwrap().drawn.lanes)
    };
    rest(&mut window, || std::fs::read_to_string(&path).is_ok_and(|text| text.contains("search: \"slices\"")));
    let views = window.state().views.lanes;
    drop(window);
    let window = kept(&path, [None, None]);
    let app = window.state();
    assert_eq!(app.views.lanes, views);
    assert_eq!(app.views.lanes.frame(&app.answers.shown.as_ref().unwrap().drawn.lanes), frame);
    assert_eq!(app.views.distribution.form, figures::Form::Tail);
    assert_eq!(app.views.distribution.measure, crate::report::figures::distribution::Measure::PhotonAge);
    assert_eq!(window.get_by_role_and_label(Role::SearchInput, "Find a parameter").value().as_deref(), Some("slices"));
    assert_eq!(window.get_all_by_label("Take baseline's").count(), 1);
}

/// The run zoomed, the options of late correction and of the eye's field: each in the place where it was.
#[test]
fn zoom_of_the_run_and_options_of_other_figures_come_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.ron");
    let mut window = kept(&path, [None, None]);
    window.set_size(eframe::egui::vec2(1600.0, 900.0));
    window.run_steps(SETTLING);
    let places = state::Places::ROW;
    for (place, figure) in places.into_iter().zip([Figure::Run, Figure::LeftOver, Figure::Eye]) {
        window.state_mut().run(command::Command::Put(place, figure), &Context::default());
    }
    window.run_steps(SETTLING);
    choose(&mut window, &["Codec limits", "p99", "Parallax"]);
    let strip = window.get_by_label_contains("Run of both designs").rect();
    window.hover_at(strip.center());
    window.run_steps(1);
    let (unit, source) = (eframe::egui::MouseWheelUnit::Point, eframe::egui::MouseWheelSource::Wheel);
    let (delta, phase) = (eframe::egui::vec2(0.0, 400.0), eframe::egui::TouchPhase::Move);
    window.event(eframe::egui::Event::MouseWheel { unit, delta, phase, modifiers: Modifiers::NONE, source });
    window.run_steps(SETTLING);
    let seen = |app: &App| (app.views.run_strip, app.views.left_over, app.views.eye);
    let before = seen(window.state());
    assert_ne!(before.0, figures::RunStripView::default(), "the run is zoomed");
    assert_ne!(before.1, figures::LeftOverView::default());
    assert!(before.2.limits);
    rest(&mut window, || std::fs::read_to_string(&path).is_ok_and(|text| text.contains("limits: true")));
    drop(window);
    let text = std::fs::read_to_string(&path).unwrap();
    assert_eq!(seen(kept(&path, [None, None]).state()), before);
    // A file of before these were kept, and one edited by hand.
    let older: Vec<&str> = text.lines().filter(|line| !line.contains("limits: true")).collect();
    std::fs::write(&path, older.join("\n")).unwrap();
    assert!(!seen(kept(&path, [None, None]).state()).2.limits);
}

#[test]
fn unfolded_stages_come_back_and_windows_out_of_reason_do_not() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.ron");
    let mut window = kept(&path, [None, None]);
    parameters::unfold(&mut window, "Clock");
    rest(&mut window, || std::fs::read_to_string(&path).is_ok_and(|text| text.contains("Clock")));
    drop(window);
    let text = std::fs::read_to_string(&path).unwrap();
    let text = text.replacen("window: None", "window: Some((from_ns: 5.0, to_ns: -inf))", 1);
    std::fs::write(&path, text.replacen("window: None", "window: Some((from: 5.0, to: -inf))", 1)).unwrap();
    let window = kept(&path, [None, None]);
    assert!(window.query_by_label("Reset all of this stage").is_some(), "one stage is unfolded");
    assert_eq!(window.state().views.lanes, LanesView::default());
    assert_eq!(window.state().views.run_strip, figures::RunStripView::default());
    assert_eq!(window.state().message, None);
}

#[test]
fn dropped_files_open_and_stand_in_the_list_of_recent_ones() {
    let folder = tempfile::tempdir().unwrap();
    let paths = ["a.ron", "b.ron"].map(|name| folder.path().join(name));
    for (path, name) in paths.iter().zip(["First", "Second"]) {
        scenario::save(path, &Scenario { name: name.to_owned(), ..short(Scenario::default()) }).unwrap();
    }
    let mut window = window();
    window.state_mut().state.pair = pair::Pair::default();
    window.input_mut().hovered_files = vec![HoveredFile::default(), HoveredFile::default()];
    window.run_steps(2);
    assert!(window.query_by_label("Drop to open the first as candidate, the second as baseline").is_some());
    window.input_mut().hovered_files.clear();
    let dropped =
        paths.iter().map(|path| Arc::new(Dropped(path.clone())) as Arc<dyn DroppedFile + Send + Sync>).collect();
    window.input_mut().dropped_files = dropped;
    window.run_steps(3);
    assert_eq!((candidate(&window).name.as_str(), baseline(&window).name.as_str()), ("First", "Second"));
    choose(&mut window, &["File", "Recent as candidate", "b.ron"]);
    assert_eq!(candidate(&window).name, "Second");
    assert_eq!(window.state().state.recent, [paths[1].clone(), paths[0].clone()]);
}

#[test]
fn reset_all_keeps_the_name_and_is_one_step() {
    let mut window = window();
    let before = window.state().state.pair.clone();
    set_slices(&mut window, 13.0);
    choose(&mut window, &["Edit", "Reset all of candidate"]);
    let scenario = Scenario { name: before.candidate.scenario.name.clone(), ..Scenario::default() };
    assert_eq!(*candidate(&window), scenario);
    assert_eq!(window.state().state.pair.baseline, before.baseline);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 13);
}
