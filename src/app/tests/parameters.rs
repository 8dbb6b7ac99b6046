//! The parameter column.

use super::*;

#[test]
fn slider_sets_the_candidate_alone() {
    let mut window = window();
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(12.0);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 12);
    assert_eq!(baseline(&window).slices.count, 1);
    assert_eq!(window.state().answers.freshness(), answers::Freshness::Stale, "the figures are of 8 slices still");
}

#[test]
fn typed_value_may_have_another_unit() {
    let mut window = window();
    typed(&mut window, "Encode: Slice overhead", "300 us");
    assert!((candidate(&window).encode.slice_overhead_ms - 0.3).abs() < f64::EPSILON);
    typed(&mut window, "Link: Rate", "1.2 Gbps");
    assert!((candidate(&window).link.rate_mbps - 1200.0).abs() < f64::EPSILON);
}

#[test]
fn refused_value_is_said_beside_the_field() {
    let mut window = window();
    typed(&mut window, "Slices", "70");
    assert_eq!(candidate(&window).slices.count, 8);
    window.get_by_label_contains("allowed: whole numbers 1 to 64");
    typed(&mut window, "Slices", "many");
    window.get_by_label_contains("many");
    typed(&mut window, "Slices", "9");
    assert_eq!(candidate(&window).slices.count, 9);
    assert!(window.query_by_label_contains("allowed:").is_none(), "the complaint is gone with its cause");
}

#[test]
fn both_sides_change_together() {
    let mut window = window();
    choose(&mut window, &["Both"]);
    typed(&mut window, "Link: Rate", "600");
    assert!((candidate(&window).link.rate_mbps - 600.0).abs() < f64::EPSILON);
    assert!((baseline(&window).link.rate_mbps - 600.0).abs() < f64::EPSILON);
}

#[test]
fn values_that_do_not_fit_each_other_are_said_and_the_picture_stays() {
    let mut window = window();
    window.state_mut().state.pair.candidate.scenario.display.refresh_hz = 120.0;
    window.run_steps(3);
    window.get_by_label_contains("The candidate cannot be simulated. display.scanout_ms");
    assert!(window.state().answers.shown.is_some());
    assert_eq!(window.state().answers.freshness(), answers::Freshness::Refused);
    choose(&mut window, &["Show it"]);
    window.run_steps(6);
    window.get_by_role_and_label(Role::TextInput, "Scanout");
}

#[test]
fn search_finds_by_meaning_and_path() {
    let mut window = window();
    window.key_press_modifiers(Modifiers::COMMAND, Key::F);
    window.run_steps(2);
    window.get_by_role_and_label(Role::SearchInput, "Find a parameter").type_text("overhead slice");
    window.run_steps(2);
    let found: Vec<_> = window.get_all_by_role_and_label(Role::TextInput, "Slice overhead").collect();
    assert_eq!(found.len(), 2, "encoder and decoder");
    assert!(window.query_by_role_and_label(Role::TextInput, "Link: Rate").is_none());
}

#[test]
fn reset_brings_the_default_back() {
    let mut window = window();
    typed(&mut window, "Link: Rate", "600");
    choose(&mut window, &["reset"]);
    assert!((candidate(&window).link.rate_mbps - 2400.0).abs() < f64::EPSILON);
}

/// Types a value into a field of the column and presses Enter.
fn typed(window: &mut Harness<'static, App>, label: &str, text: &str) {
    let field = window.get_by_role_and_label(Role::TextInput, label);
    field.focus();
    window.run_steps(2);
    window.get_by_role_and_label(Role::TextInput, label).type_text(text);
    window.run_steps(1);
    window.key_press(Key::Enter);
    window.run_steps(2);
}
