//! Presets of the user's own.

use egui_kittest::kittest::NodeT as _;

use super::guarding::{file, on_files, set_slices};
use super::*;
use crate::app::own::Library;
use crate::scenario::{self, presets};

/// A window that keeps own presets in a folder.
fn with_folder(folder: &std::path::Path) -> Harness<'static, App> {
    let mut window = window();
    window.state_mut().own = Library::at(folder.to_path_buf());
    window
}

fn save_as(window: &mut Harness<'static, App>, name: &str) {
    choose(window, &["Presets", "Save candidate as own preset…"]);
    type_name(window, name);
}

fn type_name(window: &mut Harness<'static, App>, name: &str) {
    window.get_by_role_and_label(Role::TextInput, "Name of the preset").focus();
    window.run_steps(2);
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.get_by_role_and_label(Role::TextInput, "Name of the preset").type_text(name);
    window.run_steps(1);
    window.key_press(Key::Enter);
    window.run_steps(SETTLING);
}

#[test]
fn saved_preset_is_listed_and_taken() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("framelap/presets");
    let mut window = with_folder(&folder);
    set_slices(&mut window, 13.0);
    save_as(&mut window, "My bench");
    assert_eq!(window.state().message, None);
    assert_eq!(scenario::load(&folder.join("my-bench.ron")).unwrap().slices.count, 13);
    assert_eq!(window.state().title_of(Side::Candidate), "My bench", "saved, so without a mark");
    set_slices(&mut window, 3.0);
    assert_eq!(window.state().title_of(Side::Candidate), "My bench*");
    choose(&mut window, &["Presets", "As baseline", "My bench"]);
    assert_eq!(baseline(&window).slices.count, 13);
    assert_eq!(candidate(&window).slices.count, 3);
    choose(&mut window, &["Presets", "As candidate", presets::find("7").unwrap().name()]);
    assert_eq!(candidate(&window).name, presets::find("7").unwrap().name(), "a try is given up unasked");
}

#[test]
fn taken_name_asks_before_it_replaces() {
    let home = tempfile::tempdir().unwrap();
    let mut window = with_folder(home.path());
    save_as(&mut window, "Bench");
    set_slices(&mut window, 5.0);
    save_as(&mut window, "bench");
    assert!(window.query_by_label("There is such a preset of your own already").is_some());
    choose(&mut window, &["Another name…"]);
    type_name(&mut window, "Bench two");
    let slices = |name: &str| scenario::load(&home.path().join(name)).unwrap().slices.count;
    assert_eq!((slices("bench.ron"), slices("bench-two.ron")), (8, 5));
    save_as(&mut window, "BENCH");
    choose(&mut window, &["Replace"]);
    assert_eq!(slices("bench.ron"), 5);
}

#[test]
fn name_of_a_shipped_preset_is_refused_in_place() {
    let home = tempfile::tempdir().unwrap();
    let mut window = with_folder(home.path());
    save_as(&mut window, "Wired 90 Hz, 8 slices");
    window.get_by_label_contains("is the name of a shipped preset");
    type_name(&mut window, "Wired mine");
    assert!(home.path().join("wired-mine.ron").exists());
}

#[test]
fn broken_preset_is_listed_greyed_and_tells_why_on_hover() {
    let home = tempfile::tempdir().unwrap();
    let mut window = with_folder(home.path());
    // Written while the window is open: the list is read when it comes into sight.
    std::fs::write(home.path().join("worn.ron"), "Scenario(\n    slizes: (count: 9),\n)\n").unwrap();
    choose(&mut window, &["Presets", "As candidate"]);
    window.run_steps(SETTLING);
    let entry = window.get_by_role_and_label(Role::Button, "worn");
    assert!(entry.accesskit_node().is_disabled());
    entry.hover();
    window.run_steps(60);
    window.get_by_label_contains("worn.ron:2: ");
}

#[test]
fn folder_that_cannot_be_written_is_one_message() {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("file"), "").unwrap();
    let mut window = with_folder(&home.path().join("file/presets"));
    let before = window.state().state.pair.clone();
    save_as(&mut window, "Bench");
    let message = window.state().message.clone().unwrap();
    assert!(message.contains("Not saved.") && message.contains("cannot be written"), "{message}");
    assert_eq!(window.state().state.pair, before);
}

#[test]
fn who_works_on_a_file_goes_on_with_it() {
    let home = tempfile::tempdir().unwrap();
    let path = file(home.path(), "work.ron", 4);
    let mut window = on_files(&path, None);
    window.state_mut().own = Library::at(home.path().join("presets"));
    save_as(&mut window, "Copy");
    assert!(home.path().join("presets/copy.ron").exists());
    assert_eq!(window.state().state.pair.candidate.file(), Some(path.as_path()));
}

#[test]
fn window_without_a_folder_says_so() {
    let mut window = window();
    save_as(&mut window, "Bench");
    window.get_by_label("There is no folder for them.");
    window.key_press(Key::Escape);
    window.run_steps(SETTLING);
    assert!(!window.state().own.asking());
}
