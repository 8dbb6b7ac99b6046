//! Unsaved work is not lost unasked.

use std::path::{Path, PathBuf};

use eframe::egui::{ViewportCommand, ViewportEvent, ViewportId};

use super::scenarios::{open_by_typed_path, type_path};
use super::*;
use crate::scenario;

/// A scenario file in a folder.
pub(super) fn file(folder: &Path, name: &str, slices: u32) -> PathBuf {
    let path = folder.join(name);
    let mut scenario = short(Scenario::default());
    scenario.slices.count = slices;
    scenario::save(&path, &scenario).unwrap();
    path
}

/// A window on a file as candidate, and as baseline where another is given.
pub(super) fn on_files(candidate: &Path, baseline: Option<&Path>) -> Harness<'static, App> {
    let given = |path: &Path| Given::file(path, scenario::load(path).unwrap());
    let (baseline, candidate) = (baseline.map(given), Some(given(candidate)));
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).renderer(cpu::Cpu::default()).build_eframe(move |creation| {
            let mut app = App::at_rest(&creation.egui_ctx, State::default(), [baseline, candidate]);
            app.answer_now();
            app
        });
    window.run_steps(3);
    window
}

pub(super) fn set_slices(window: &mut Harness<'static, App>, count: f64) {
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(count);
    window.run_steps(2);
}

/// Presses the window's close button; returns what the program made of it at once.
pub(super) fn close(window: &mut Harness<'static, App>) -> Vec<ViewportCommand> {
    let viewport = window.input_mut().viewports.entry(ViewportId::ROOT).or_default();
    viewport.events.push(ViewportEvent::Close);
    window.step();
    let commands = window.output().viewport_output[&ViewportId::ROOT].commands.clone();
    window.run_steps(SETTLING);
    commands
}

pub(super) fn asks(window: &Harness<'static, App>) -> bool {
    window.query_by_label("Changes are not saved").is_some()
}

#[test]
fn file_of_the_command_line_is_saved_to() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    assert!(window.state().origin_of(Side::Candidate).contains("a.ron"));
    set_slices(&mut window, 6.0);
    assert!(window.state().title_of(Side::Candidate).ends_with('*'));
    window.key_press_modifiers(Modifiers::COMMAND, Key::S);
    window.run_steps(2);
    assert_eq!(scenario::load(&path).unwrap().slices.count, 6);
    assert!(!window.state().title_of(Side::Candidate).ends_with('*'));
}

#[test]
fn baseline_is_saved_too() {
    let folder = tempfile::tempdir().unwrap();
    let paths = [file(folder.path(), "a.ron", 4), file(folder.path(), "b.ron", 2)];
    let mut window = on_files(&paths[0], Some(&paths[1]));
    window.get_by_role_and_label(Role::Button, "Baseline").click();
    window.run_steps(2);
    set_slices(&mut window, 3.0);
    choose(&mut window, &["File", "Save baseline "]);
    assert_eq!(paths.map(|path| scenario::load(&path).unwrap().slices.count), [4, 3]);
}

#[test]
fn closing_with_nothing_unsaved_asks_nothing() {
    let mut window = window();
    window.state_mut().state.pair = pair::Pair::default();
    let commands = close(&mut window);
    assert!(!commands.contains(&ViewportCommand::CancelClose));
    assert!(window.state().leaving && !asks(&window));
}

#[test]
fn closing_asks_and_escape_keeps_all_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    assert!(close(&mut window).contains(&ViewportCommand::CancelClose));
    assert!(asks(&window) && !window.state().leaving);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 6, "the question has the keyboard for itself");
    window.key_press(Key::Escape);
    window.run_steps(SETTLING);
    assert!(!asks(&window) && !window.state().leaving);
    assert!(close(&mut window).contains(&ViewportCommand::CancelClose), "it asks again");
}

#[test]
fn closing_saves_at_enter_and_closes() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    close(&mut window);
    window.key_press(Key::Enter);
    window.run_steps(2);
    assert_eq!(scenario::load(&path).unwrap().slices.count, 6);
    assert!(window.state().leaving);
}

#[test]
fn closing_without_saving_leaves_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    close(&mut window);
    choose(&mut window, &["Close without saving"]);
    assert_eq!(scenario::load(&path).unwrap().slices.count, 4);
    assert!(window.state().leaving);
}

#[test]
fn closing_saves_both_sides_one_of_them_to_a_typed_path() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    choose(&mut window, &["Both"]);
    set_slices(&mut window, 6.0);
    close(&mut window);
    // The baseline has no file.
    choose(&mut window, &["Type path…"]);
    type_path(&mut window, &folder.path().join("b.ron"));
    window.run_steps(SETTLING);
    assert_eq!(scenario::load(&folder.path().join("b.ron")).unwrap().slices.count, 6);
    assert_eq!(scenario::load(&path).unwrap().slices.count, 6);
    assert!(window.state().leaving);
}

#[test]
fn a_save_that_fails_does_not_close() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    std::fs::remove_file(&path).unwrap();
    std::fs::create_dir(&path).unwrap();
    close(&mut window);
    window.key_press(Key::Enter);
    window.run_steps(SETTLING);
    assert!(asks(&window) && !window.state().leaving);
    assert!(window.state().message.as_ref().unwrap().contains("Not saved"));
}

#[test]
fn opening_asks_about_the_side_that_would_be_lost_alone() {
    let folder = tempfile::tempdir().unwrap();
    let paths = ["a.ron", "b.ron", "c.ron"].map(|name| file(folder.path(), name, 4));
    scenario::save(&paths[2], &Scenario { name: "Third".to_owned(), ..short(Scenario::default()) }).unwrap();
    let mut window = on_files(&paths[0], Some(&paths[1]));
    window.get_by_role_and_label(Role::Button, "Baseline").click();
    window.run_steps(2);
    set_slices(&mut window, 3.0);
    open_by_typed_path(&mut window, &paths[2]);
    assert!(!asks(&window), "the candidate is saved");
    assert_eq!(candidate(&window).name, "Third");
    choose(&mut window, &["File", "By typed path", "Path to open as baseline…"]);
    type_path(&mut window, &paths[2]);
    window.run_steps(SETTLING);
    assert!(asks(&window));
    assert_eq!(baseline(&window).slices.count, 3, "nothing is done before the answer");
    choose(&mut window, &["Go on without saving"]);
    assert_eq!(baseline(&window).name, "Third");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(baseline(&window).slices.count, 3, "undo brings it back");
    assert!(window.state().title_of(Side::Baseline).ends_with('*'), "still not saved");
}

#[test]
fn preset_asks_about_a_file_and_not_about_a_preset_tried_out() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let preset = |number: &str| scenario::presets::find(number).unwrap().name();
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    choose(&mut window, &["Presets", "As candidate", preset("7")]);
    assert!(asks(&window));
    choose(&mut window, &["Save"]);
    assert_eq!(scenario::load(&path).unwrap().slices.count, 6);
    assert_eq!(window.state().title_of(Side::Candidate), preset("7"));
    set_slices(&mut window, 6.0);
    choose(&mut window, &["Presets", "As candidate", preset("2")]);
    assert!(!asks(&window));
    assert_eq!(window.state().title_of(Side::Candidate), preset("2"));
}
