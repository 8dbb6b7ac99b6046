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
fn a_refusal_goes_with_the_next_change_undo_or_escape() {
    let refused = |window: &Harness<'static, App>| window.query_by_label_contains("Found `many`, allowed:").is_some();
    let mut window = window();
    typed(&mut window, "Slices", "9");
    for end in 0..3 {
        typed(&mut window, "Slices", "many");
        assert!(refused(&window), "{end}");
        match end {
            0 => typed(&mut window, "Link: Rate", "600"),
            1 => choose(&mut window, &["Edit", "Undo"]),
            _ => {
                window.key_press(Key::Escape);
                window.run_steps(3);
            }
        }
        assert!(!refused(&window), "{end}");
    }
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
    choose(&mut window, &["Only differences (2)"]);
    assert!(window.query_by_role_and_label(Role::TextInput, "Link: Rate").is_none(), "only differences are left");
    for (label, baseline, candidate) in [("Slices", "1", "8"), ("Link: Rate", "2400 Mbps", "600 Mbps")] {
        for text in [label, baseline, candidate] {
            assert!(window.query_all_by_label(text).next().is_some(), "{text}");
        }
    }
    assert!(window.query_by_label("About: Name").is_none(), "a name is no parameter");
    // In pipeline order: slices, rate.
    window.get_all_by_label("Take baseline's").next().unwrap().click();
    window.run_steps(SETTLING);
    assert_eq!(candidate(&window).slices.count, 1);
    assert!((candidate(&window).link.rate_mbps - 600.0).abs() < f64::EPSILON, "only the one that was pressed");
    window.get_by_label("Only differences (1)");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 8, "taking is one step of undo");
}

#[test]
fn search_goes_through_the_differences() {
    let mut window = window();
    choose(&mut window, &["Only differences (1)"]);
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
    // All but the name.
    let count = parameters::differences(baseline(&window), candidate(&window)).len() - 1;
    choose(&mut window, &[&format!("Only differences ({count})")]);
    let label = parameters::find("pacing.min_ms").unwrap().full_label();
    window.get_by_label(&label);
    window.get_all_by_label("Take baseline's").next().unwrap().click();
    window.run_steps(SETTLING);
    assert_eq!(candidate(&window).pacing, adaptive);
    window.get_by_label("Only differences (1)");
}

#[test]
fn typed_values_have_every_unit_of_the_page() {
    let mut window = window();
    for (label, text, ms) in [("Slice overhead", "500 us", 0.5), ("Slice overhead", "2 ms", 2.0)] {
        typed(&mut window, &format!("Encode: {label}"), text);
        assert!((candidate(&window).encode.slice_overhead_ms - ms).abs() < f64::EPSILON, "{text}");
    }
    typed(&mut window, "Link: Rate", "900000 kbps");
    assert!((candidate(&window).link.rate_mbps - 900.0).abs() < f64::EPSILON);
    typed(&mut window, "Link: Rate", "5 ms");
    window.get_by_label_contains("`5 ms`");
    assert!((candidate(&window).link.rate_mbps - 900.0).abs() < f64::EPSILON, "refused and left as it was");
}

#[test]
fn long_values_are_short_for_the_eye_and_whole_for_the_hand() {
    let exact = 25.0 / 3.0;
    let mut window = window();
    window.state_mut().state.pair.candidate.scenario.link.rate_mbps = 100.0 * exact;
    window.run_steps(2);
    let text = |window: &Harness<'static, App>| {
        window.get_by_role_and_label(Role::TextInput, "Link: Rate").value().unwrap_or_default()
    };
    assert_eq!(text(&window), "833.33 Mbps");
    window.get_by_role_and_label(Role::TextInput, "Link: Rate").focus();
    window.run_steps(3);
    assert_eq!(text(&window), format!("{} Mbps", 100.0 * exact));
    window.key_press(Key::Enter);
    window.run_steps(3);
    assert_eq!(candidate(&window).link.rate_mbps.to_bits(), (100.0 * exact).to_bits(), "looking changes nothing");
    window.get_by_role_and_label(Role::TextInput, "Link: Rate").hover();
    settle(&mut window, 60);
    window.get_by_label_contains(&format!("Exactly {} Mbps", 100.0 * exact));
}

#[test]
fn dragged_value_keeps_its_unit_and_nothing_covers_the_next_one() {
    let mut window = window();
    let slider = window.get_by_role_and_label(Role::Slider, "Encode: Per Mpx").rect();
    let at = |share: f32| slider.left_center() + eframe::egui::vec2(share * slider.width(), 0.0);
    window.hover_at(at(0.3));
    settle(&mut window, 60);
    let explained = |window: &Harness<'static, App>| {
        window.query_by_label_contains("Time to encode a million coded pixels").is_some()
    };
    assert!(explained(&window), "at rest it is explained");
    window.drag_at(at(0.3));
    for step in 1..=20 {
        window.hover_at(at(step as f32 / 40.0 + 0.3));
        window.run_steps(2);
        let text = window.get_by_role_and_label(Role::TextInput, "Encode: Per Mpx").value().unwrap_or_default();
        let number = text.strip_suffix(" ms/Mpx").unwrap_or_else(|| panic!("{text} has no unit"));
        assert!(number.len() <= 7, "{text}");
    }
    settle(&mut window, 60);
    assert!(!explained(&window), "while a pointer is down nothing lies over the column");
    window.drop_at(at(0.8));
}

#[test]
fn stage_is_reset_alone() {
    let mut window = window();
    typed(&mut window, "Link: Rate", "600");
    typed(&mut window, "Encode: Slice overhead", "2 ms");
    unfold(&mut window, "Link · 1 differs");
    window.get_by_label("Reset all of this stage").click_accesskit();
    window.run_steps(2);
    assert!((candidate(&window).link.rate_mbps - 2400.0).abs() < f64::EPSILON);
    assert!((candidate(&window).encode.slice_overhead_ms - 2.0).abs() < f64::EPSILON, "of another stage");
    assert_eq!(candidate(&window).slices.count, 8);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert!((candidate(&window).link.rate_mbps - 600.0).abs() < f64::EPSILON, "one step of undo");
}

/// Unfolds a stage, in sight or not.
pub(super) fn unfold(window: &mut Harness<'static, App>, header: &str) {
    window.get_by_label(header).click_accesskit();
    settle(window, 20);
}

/// Lets so many frames pass.
fn settle(window: &mut Harness<'static, App>, frames: usize) {
    window.run_steps(frames);
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
