//! The figures driven as a user drives them: by pointer, keys and accessible names.

mod closer;
mod limits;
mod looks;
mod over_the_run;
mod sight;
mod world;

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Theme, Ui, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;

use super::*;
use crate::app::theme;
use world::World;

/// A harness that draws `contents` in the look of the window.
fn harness<'a, State: 'a>(state: State, mut contents: impl FnMut(&mut Ui, &mut State) + 'a) -> Harness<'a, State> {
    Harness::builder().with_size(vec2(1000.0, 600.0)).with_theme(Theme::Light).with_step_dt(1.0 / 60.0).build_ui_state(
        move |ui, state| {
            theme::apply(ui.ctx());
            contents(ui, state);
        },
        state,
    )
}

#[test]
fn the_handle_moves_by_keys_and_by_accessibility() {
    let world = World::small();
    let mut harness = harness(8, |ui, today: &mut u32| {
        if let Some(asked) = slice_curve(ui, &world.curve, *today, 64).asked {
            *today = asked;
        }
    });
    harness.get_by_role(Role::Slider).focus();
    harness.run();
    harness.key_press(Key::ArrowRight);
    harness.run();
    assert_eq!(*harness.state(), 9);
    harness.key_press(Key::Home);
    harness.run();
    assert_eq!(*harness.state(), 1);
    harness.get_by_role(Role::Slider).set_value_accesskit(32.0);
    harness.run();
    assert_eq!(*harness.state(), 32);
}

#[test]
fn the_handle_is_dragged_to_a_count() {
    let world = World::small();
    let mut harness = harness(8, |ui, today: &mut u32| {
        if let Some(asked) = slice_curve(ui, &world.curve, *today, 64).asked {
            *today = asked;
        }
    });
    let rect = harness.get_by_role(Role::Slider).rect();
    harness.drag_at(rect.center());
    harness.run();
    harness.hover_at(rect.right_center());
    harness.run();
    harness.drop_at(rect.right_center());
    harness.run();
    assert_eq!(*harness.state(), 64);
}

#[test]
fn frames_are_stepped_through_by_buttons_and_keys() {
    let world = World::small();
    let mut harness = harness(LanesView::default(), |ui, view: &mut LanesView| {
        view.show(ui, &world.lanes, world.answers());
    });
    let frame = |harness: &Harness<'_, LanesView>| harness.state().frame(&world.lanes);
    let first = frame(&harness);
    assert_eq!(first, world.lanes.typical);
    harness.get_by_label("Next").click();
    harness.run();
    assert_eq!(frame(&harness), first + 1);
    harness.get_by_role(Role::Canvas).click();
    harness.run();
    harness.key_press(Key::ArrowLeft);
    harness.run();
    assert_eq!(frame(&harness), first);
    harness.get_by_label("Longest").click();
    harness.run();
    assert_eq!(Some(frame(&harness)), world.lanes.worst);
}

#[test]
fn dragging_moves_the_window_and_a_double_click_fits_it() {
    let world = World::small();
    let mut harness = harness(LanesView::default(), |ui, view: &mut LanesView| {
        view.show(ui, &world.lanes, world.answers());
    });
    let at_rest = *harness.state();
    let centre = harness.get_by_role(Role::Canvas).rect().center();
    harness.drag_at(centre);
    harness.run();
    harness.hover_at(centre + vec2(80.0, 0.0));
    harness.run();
    harness.drop_at(centre + vec2(80.0, 0.0));
    harness.run();
    assert_ne!(*harness.state(), at_rest);
    for _ in 0..2 {
        harness.get_by_role(Role::Canvas).click();
    }
    harness.run();
    assert_eq!(*harness.state(), at_rest);
}

#[test]
fn scrolling_zooms() {
    let world = World::small();
    let mut harness = harness(LanesView::default(), |ui, view: &mut LanesView| {
        view.show(ui, &world.lanes, world.answers());
    });
    let at_rest = *harness.state();
    let centre = harness.get_by_role(Role::Canvas).rect().center();
    harness.hover_at(centre);
    harness.run();
    let delta = vec2(0.0, 120.0);
    let (unit, source) = (eframe::egui::MouseWheelUnit::Point, eframe::egui::MouseWheelSource::Wheel);
    let (phase, modifiers) = (eframe::egui::TouchPhase::Move, eframe::egui::Modifiers::NONE);
    harness.event(eframe::egui::Event::MouseWheel { unit, delta, phase, modifiers, source });
    // Scrolling glides for some frames.
    harness.run_steps(20);
    assert_ne!(*harness.state(), at_rest);
}

#[test]
fn lanes_say_what_they_show() {
    let world = World::small();
    let harness = harness(LanesView::default(), |ui, view: &mut LanesView| {
        view.show(ui, &world.lanes, world.answers());
    });
    let frame = world.lanes.typical;
    let gain = format!("{:.1} ms sooner", crate::time::ns_to_ms(world.lanes.gain_ns(frame).unwrap()));
    harness.get_by_label_contains(&format!("Lanes of frame {frame}: Whole frame"));
    assert!(harness.query_all_by_label_contains(&gain).next().is_some(), "{gain}");
}

#[test]
fn a_click_on_a_budget_line_names_it() {
    let world = World::small();
    let mut harness = harness(None, |ui, clicked: &mut Option<&'static str>| {
        verdict(ui, &world.verdict);
        *clicked = clicked.or(budget(ui, &world.verdict.lines));
    });
    harness.get_by_label_contains("Budget: Pose to photon").click();
    harness.run();
    assert_eq!(*harness.state(), Some("pose_to_photon"));
}

#[test]
fn every_form_of_every_measure_is_drawn_in_any_room() {
    let world = World::small();
    for size in [vec2(1200.0, 500.0), vec2(300.0, 200.0), vec2(20.0, 10.0)] {
        for form in Form::ALL {
            for measure in crate::report::figures::distribution::Measure::ALL {
                let mut view = DistributionView { measure, form };
                let mut harness = Harness::builder().with_size(size).build_ui(|ui| {
                    view.show(ui, &world.distributions, &world.names);
                });
                harness.run();
            }
        }
        let mut harness = Harness::builder().with_size(size).build_ui(|ui| {
            outcomes(ui, &world.outcomes, &world.names);
            LanesView::default().show(ui, &world.lanes, world.answers());
        });
        harness.run();
    }
}
