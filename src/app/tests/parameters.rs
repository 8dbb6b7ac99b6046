//! The parameter column.

use super::*;
use crate::scenario::{Pacing, parameters};

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

#[test]
fn only_differences_lists_both_values_and_takes_the_baselines() {
    let mut window = window();
    typed(&mut window, "Link: Rate", "600");
    assert!(window.query_by_label("Take baseline's").is_none());
    choose(&mut window, &["Only differences (3)"]);
    assert!(window.query_by_role_and_label(Role::TextInput, "Link: Rate").is_none(), "only differences are left");
    for (label, baseline, candidate) in [("Slices: Slices", "1", "8"), ("Link: Rate", "2400 Mbps", "600 Mbps")] {
        for text in [label, baseline, candidate] {
            assert!(window.query_all_by_label(text).next().is_some(), "{text}");
        }
    }
    // In pipeline order: name, slices, rate.
    window.get_all_by_label("Take baseline's").nth(1).unwrap().click();
    window.run_steps(SETTLING);
    assert_eq!(candidate(&window).slices.count, 1);
    assert!((candidate(&window).link.rate_mbps - 600.0).abs() < f64::EPSILON, "only the one that was pressed");
    window.get_by_label("Only differences (2)");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 8, "taking is one step of undo");
}

#[test]
fn search_goes_through_the_differences() {
    let mut window = window();
    choose(&mut window, &["Only differences (2)"]);
    window.key_press_modifiers(Modifiers::COMMAND, Key::F);
    window.run_steps(2);
    window.get_by_role_and_label(Role::SearchInput, "Find a parameter").type_text("slices");
    window.run_steps(SETTLING);
    assert_eq!(window.get_all_by_label("Take baseline's").count(), 1);
    choose(&mut window, &["Back to baseline", "Clear"]);
    window.get_by_label("Baseline and candidate are the same.");
}

#[test]
fn alternative_is_taken_with_its_fields() {
    let mut window = window();
    let adaptive =
        Pacing::Adaptive { start_ms: 31.0, min_ms: 7.0, max_ms: 90.0, step_ms: 0.5, late_target: 0.02, every: 2 };
    window.state_mut().state.pair.baseline.scenario.pacing = adaptive.clone();
    window.run_steps(2);
    let count = parameters::differences(baseline(&window), candidate(&window)).len();
    choose(&mut window, &[&format!("Only differences ({count})")]);
    let label = parameters::find("pacing.min_ms").unwrap().full_label();
    window.get_by_label(&label);
    // Name, then pacing.
    window.get_all_by_label("Take baseline's").nth(1).unwrap().click();
    window.run_steps(SETTLING);
    assert_eq!(candidate(&window).pacing, adaptive);
    window.get_by_label("Only differences (2)");
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
