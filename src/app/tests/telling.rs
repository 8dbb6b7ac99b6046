//! Warnings in the window: the line, the list, and the way to the parameter.

use super::*;
use crate::app::state::Edited;

/// The window with an overloaded design as one side.
fn overloaded(side: Side) -> Harness<'static, App> {
    let mut window = window();
    let over = crate::scenario::presets::find("over-budget").unwrap().scenario();
    window.state_mut().state.pair.of_mut(side).scenario = short(over);
    window.state_mut().answer_now();
    window.run_steps(SETTLING);
    window
}

/// Opens the list of warnings and clicks the one that begins so.
fn pick(window: &mut Harness<'static, App>, start: &str) {
    window.get_by_label("and 4 more").click();
    window.run_steps(SETTLING);
    // The text is there as a whole and line by line.
    window.query_all_by_label_contains(start).next().unwrap().click();
    window.run_steps(SETTLING);
}

#[test]
fn a_click_on_a_warning_leads_to_its_parameter() {
    let mut window = overloaded(Side::Candidate);
    assert!(window.query_by_label_contains("Warm-up").is_none(), "the run's parameters are folded away");
    pick(&mut window, "Candidate: 183 frames count");
    assert!(window.query_all_by_label_contains("Warm-up").next().is_some());
    let told = window.query_all_by_label_contains("Candidate: 183 frames count").next();
    assert!(told.is_none(), "the list is closed");
}

#[test]
fn a_warning_of_the_baseline_turns_the_column_to_it() {
    let mut window = overloaded(Side::Baseline);
    assert_eq!(window.state().state.edited, Edited::Candidate);
    pick(&mut window, "Baseline: The decoder is offered");
    assert_eq!(window.state().state.edited, Edited::Baseline);
}
