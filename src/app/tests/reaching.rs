//! From what is seen to its parameters, and from frame to frame.

use super::*;

fn wide() -> Harness<'static, App> {
    let mut window = window();
    window.set_size(eframe::egui::vec2(2560.0, 1440.0));
    window.state_mut().state.parameters = false;
    window.run_steps(SETTLING);
    window
}

/// Whether the parameter column is there and shows a field.
fn shows(window: &Harness<'static, App>, label: &str) -> bool {
    window.state().state.parameters && window.query_all_by_role_and_label(Role::TextInput, label).next().is_some()
}

#[test]
fn chip_of_the_budget_brings_its_limit_up() {
    let mut window = wide();
    window.query_all_by_label_contains("Budget: Pose to photon").next().unwrap().click();
    window.run_steps(20);
    let limit = crate::scenario::parameters::find("budget.pose_to_photon_ms").unwrap();
    assert!(shows(&window, &limit.label), "{}", limit.label);
}

#[test]
fn entry_of_the_ledger_brings_its_stage_up() {
    let mut window = wide();
    window.state_mut().state.places = state::Places::default().with(1, gallery::Figure::Ledger);
    window.run_steps(SETTLING);
    window.query_all_by_label_contains("Encode: baseline").next().unwrap().click();
    window.run_steps(20);
    let fixed = crate::scenario::parameters::find("encode.work.fixed_ms").unwrap();
    assert!(shows(&window, &fixed.label), "{}", fixed.label);
}

#[test]
fn name_of_a_lane_brings_its_stage_up() {
    let mut window = wide();
    let canvas = window
        .get_all_by_role(Role::Canvas)
        .find(|node| format!("{node:?}").contains("Lanes of frame"))
        .map(|node| node.rect())
        .unwrap();
    // Down the left edge, where the lanes' names are, until one of them answers.
    for step in 4..40 {
        let at = canvas.left_top() + eframe::egui::vec2(20.0, canvas.height() * step as f32 / 40.0);
        window.drag_at(at);
        window.drop_at(at);
        window.run_steps(20);
        if window.state().state.parameters {
            break;
        }
    }
    assert!(window.query_by_label("Reset all of this stage").is_some(), "a stage is unfolded");
}

#[test]
fn frames_are_stepped_through_in_the_window() {
    let mut window = wide();
    let lanes = |window: &Harness<'static, App>| {
        let app = window.state();
        let lanes = &app.answers.shown.as_ref().unwrap().drawn.lanes;
        (app.views.lanes.frame(lanes), lanes.typical, lanes.worst, lanes.next_troubled(app.views.lanes.frame(lanes)))
    };
    let (first, typical, worst, _) = lanes(&window);
    assert_eq!(first, typical);
    choose(&mut window, &["Next"]);
    assert_eq!(lanes(&window).0, first + 1);
    choose(&mut window, &["Previous"]);
    assert_eq!(lanes(&window).0, first);
    choose(&mut window, &["Longest"]);
    assert_eq!(Some(lanes(&window).0), worst);
    choose(&mut window, &["Typical"]);
    assert_eq!(lanes(&window).0, typical);
    if let Some(next) = lanes(&window).3 {
        choose(&mut window, &["Next late"]);
        assert_eq!(lanes(&window).0, next);
    }
    let number = window.get_by_role_and_label(Role::SpinButton, "Frame");
    number.set_value_accesskit(42.0);
    window.run_steps(2);
    assert_eq!(lanes(&window).0, 42);
}

#[test]
fn scale_is_chosen_in_the_menu_and_kept() {
    let mut window = wide();
    choose(&mut window, &["View", "Scale", "125 %"]);
    assert!((window.ctx.zoom_factor() - 1.25).abs() < 1e-6);
    assert!((window.state().state.zoom - 1.25).abs() < 1e-6);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Num0);
    window.run_steps(SETTLING);
    assert!((window.state().state.zoom - 1.0).abs() < 1e-6);
}
