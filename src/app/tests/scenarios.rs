//! Scenarios come and go: undo, swap, presets, files.

use super::*;
use crate::scenario::{self, presets};

#[test]
fn undo_and_redo() {
    let mut window = window();
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(12.0);
    window.run_steps(2);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 8);
    window.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 12);
    choose(&mut window, &["Edit", "Undo"]);
    assert_eq!(candidate(&window).slices.count, 8);
}

#[test]
fn drag_of_a_slider_is_one_step() {
    let mut window = window();
    let slider = window.get_by_role_and_label(Role::Slider, "Slices").rect();
    window.drag_at(slider.left_center());
    window.run_steps(1);
    for step in 1..=8 {
        window.hover_at(slider.left_center() + eframe::egui::vec2(step as f32 * slider.width() / 10.0, 0.0));
        window.run_steps(1);
    }
    window.drop_at(slider.left_center() + eframe::egui::vec2(slider.width() * 0.8, 0.0));
    window.run_steps(2);
    assert!(candidate(&window).slices.count > 30, "{}", candidate(&window).slices.count);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 8);
    assert!(!window.state().history.can_undo());
}

#[test]
fn drag_that_ends_within_one_frame_with_its_last_move_is_one_step() {
    let mut window = window();
    let slider = window.get_by_role_and_label(Role::Slider, "Slices").rect();
    let at = |share: f32| slider.left_center() + eframe::egui::vec2(share * slider.width(), 0.0);
    window.drag_at(at(0.0));
    window.run_steps(1);
    for share in [0.2, 0.4, 0.6] {
        window.hover_at(at(share));
        window.run_steps(1);
    }
    let before = candidate(&window).slices.count;
    let released = eframe::egui::Event::PointerButton {
        pos: at(0.8),
        button: eframe::egui::PointerButton::Primary,
        pressed: false,
        modifiers: Modifiers::NONE,
    };
    window.input_mut().events.extend([eframe::egui::Event::PointerMoved(at(0.8)), released]);
    window.run_steps(3);
    assert!(candidate(&window).slices.count > before, "the last move counts");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 8);
    assert!(!window.state().history.can_undo());
}

#[test]
fn swap_and_take_over() {
    let mut window = window();
    choose(&mut window, &["Swap"]);
    assert_eq!((baseline(&window).slices.count, candidate(&window).slices.count), (8, 1));
    choose(&mut window, &["Keep as baseline"]);
    assert_eq!((baseline(&window).slices.count, candidate(&window).slices.count), (1, 1));
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    choose(&mut window, &["Back to baseline"]);
    assert_eq!((baseline(&window).slices.count, candidate(&window).slices.count), (8, 8));
}

#[test]
fn preset_becomes_candidate() {
    let mut window = window();
    let preset = scenario::presets::find("7").unwrap();
    choose(&mut window, &["Presets", "As candidate", preset.name()]);
    assert_eq!(*candidate(&window), preset.scenario());
    assert_eq!(window.state().title_of(Side::Candidate), preset.name());
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(5.0);
    window.run_steps(2);
    assert_eq!(window.state().title_of(Side::Candidate), format!("{}*", preset.name()), "it is not saved");
}

#[test]
fn broken_file_is_refused_with_its_line_and_the_picture_stays() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.ron");
    std::fs::write(&path, "Scenario(\n    slices: (count: 8),\n    slizes: (count: 9),\n)\n").unwrap();
    let mut window = window();
    let before = window.state().state.clone();
    open_by_typed_path(&mut window, &path);
    let message = window.state().message.clone().unwrap();
    assert!(message.contains("bad.ron:3") && message.contains("slizes"), "{message}");
    window.get_by_label_contains("slizes");
    assert_eq!(window.state().state, before);
    assert!(window.state().answers.shown.is_some());
    choose(&mut window, &["Dismiss"]);
    assert!(window.state().message.is_none());
}

#[test]
fn saved_file_opens_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = window();
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(12.0);
    window.run_steps(2);
    assert!(window.state().title_of(Side::Candidate).ends_with('*'));
    choose(&mut window, &["File", "By typed path", "Path to save candidate to…"]);
    let path = folder.path().join("mine");
    type_path(&mut window, &path);
    assert_eq!(window.state().message, None);
    assert!(!window.state().title_of(Side::Candidate).ends_with('*'));
    let saved = candidate(&window).clone();
    assert_eq!(scenario::load(&path.with_extension("ron")).unwrap(), saved);
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(3.0);
    window.run_steps(2);
    assert!(window.state().title_of(Side::Candidate).ends_with('*'), "changed since");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert!(!window.state().title_of(Side::Candidate).ends_with('*'), "undone to what is saved");
}

#[test]
fn missing_file_is_refused() {
    let mut window = window();
    open_by_typed_path(&mut window, std::path::Path::new("/nowhere/at/all.ron"));
    let message = window.state().message.clone().unwrap();
    assert!(message.contains("/nowhere/at/all.ron") && message.contains("no such file"), "{message}");
    // It can be mended instead of typed again.
    choose(&mut window, &["File", "By typed path", "Path to open as candidate…"]);
    let field = window.get_by_role_and_label(Role::TextInput, "Path of the scenario file");
    assert_eq!(field.value().as_deref(), Some("/nowhere/at/all.ron"));
}

#[test]
fn theme_is_chosen_in_the_menu() {
    let mut window = window();
    for theme in [ThemeChoice::Light, ThemeChoice::Dark] {
        choose(&mut window, &["View", theme.name()]);
        assert_eq!(window.state().state.theme, theme);
        assert_eq!(window.ctx.theme() == eframe::egui::Theme::Dark, theme == ThemeChoice::Dark);
    }
}

#[test]
fn keys_are_listed() {
    let mut window = window();
    window.key_press(Key::F1);
    window.run_steps(SETTLING);
    for binding in &keys::ALL {
        assert!(window.query_all_by_label(binding.name).next().is_some(), "{}", binding.name);
    }
    choose(&mut window, &["Close"]);
    assert!(!window.state().keys_shown);
}

pub(super) fn open_by_typed_path(window: &mut Harness<'static, App>, path: &std::path::Path) {
    choose(window, &["File", "By typed path", "Path to open as candidate…"]);
    type_path(window, path);
}

pub(super) fn type_path(window: &mut Harness<'static, App>, path: &std::path::Path) {
    let field = window.get_by_role_and_label(Role::TextInput, "Path of the scenario file");
    field.focus();
    window.run_steps(2);
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    let field = window.get_by_role_and_label(Role::TextInput, "Path of the scenario file");
    field.type_text(&path.display().to_string());
    window.run_steps(1);
    window.key_press(Key::Enter);
    window.run_steps(3);
}

#[test]
fn what_is_suggested_goes_with_the_first_letter() {
    let mut window = window();
    choose(&mut window, &["File", "By typed path", "Path to save candidate to…"]);
    window.run_steps(3);
    let field = |window: &Harness<'static, App>| {
        window.get_by_role_and_label(Role::TextInput, "Path of the scenario file").value().unwrap_or_default()
    };
    assert!(!field(&window).is_empty());
    window.get_by_role_and_label(Role::TextInput, "Path of the scenario file").type_text("x.ron");
    window.run_steps(2);
    assert_eq!(field(&window), "x.ron");
}

/// A frame that was chosen belongs to the run before: another scenario begins as the program does. What changes a scenario
/// keeps it.
#[test]
fn another_scenario_is_looked_at_as_at_the_start() {
    let mut window = window();
    let look = |window: &mut Harness<'static, App>| {
        let views = &mut window.state_mut().views;
        views.lanes.go_to(250);
        views.lanes.look_through_ms([2.0, 30.0]);
        views.walk.begin();
        window.run_steps(2);
    };
    look(&mut window);
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(12.0);
    window.run_steps(2);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!((candidate(&window).slices.count, window.state().views.lanes.chosen()), (8, Some(250)));
    let folder = tempfile::tempdir().unwrap();
    let path = guarding::file(folder.path(), "other.ron", 4);
    let start = |window: &Harness<'static, App>, name: &str| {
        let views = &window.state().views;
        assert_eq!(views.lanes, LanesView::default(), "{name}");
        assert!(!views.walk.is_open(), "{name}");
    };
    open_by_typed_path(&mut window, &path);
    choose(&mut window, &["Go on without saving"]);
    assert_eq!(candidate(&window).slices.count, 4);
    start(&window, "a file");
    look(&mut window);
    let ctx = window.ctx.clone();
    window.state_mut().run(command::Command::Preset(presets::all()[3].slug, Side::Candidate), &ctx);
    start(&window, "a preset");
    look(&mut window);
    window.state_mut().run(command::Command::StartAgain, &ctx);
    start(&window, "the start");
    look(&mut window);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(window.state().views.lanes.chosen(), Some(250), "undo keeps the frame");
}
