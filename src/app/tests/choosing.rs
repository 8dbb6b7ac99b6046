//! Which figure stands where.

use super::*;
use crate::app::state::Places;
use gallery::Figure;

#[test]
fn title_offers_every_figure_that_fits() {
    let mut window = large_window();
    press(&mut window, "Distribution");
    for entry in &gallery::ALL {
        assert!(window.query_all_by_label(entry.name).next().is_some(), "{} is not offered", entry.name);
    }
    pick(&mut window, "Slice count");
    let places = window.state().state.places;
    let row = Places::ROW.map(|place| places.at(place));
    assert_eq!(row, [Figure::SliceCurve, Figure::Outcomes, Figure::Distribution], "the two have changed places");
}

#[test]
fn middle_can_show_another_figure() {
    let mut window = large_window();
    press(&mut window, "Lanes");
    pick(&mut window, "Outcomes");
    assert_eq!(window.state().state.places.at(Places::MIDDLE), Figure::Outcomes);
    assert_eq!(window.state().state.places.at(2), Figure::Lanes);
}

#[test]
fn figure_without_room_is_not_taken() {
    let mut window = sized(1600.0, 900.0);
    let before = window.state().state.places;
    press(&mut window, "Distribution");
    pick(&mut window, "Lanes");
    assert_eq!(window.state().state.places, before, "the lanes do not fit into the row");
}

#[test]
fn the_list_fits_the_least_window() {
    let mut window = sized(1024.0, 640.0);
    press(&mut window, "Lanes");
    let last = window.get_by_role_and_label(Role::Button, "Keep as a step").rect();
    assert!(last.bottom() <= 640.0 && last.right() <= 1024.0, "{last:?}");
    pick(&mut window, "Keep as a step");
    assert_eq!(window.state().state.talk.as_ref().unwrap().talk.steps.len(), 1);
}

/// A window with room for every figure everywhere.
fn large_window() -> Harness<'static, App> {
    sized(2560.0, 1440.0)
}

fn sized(width: f32, height: f32) -> Harness<'static, App> {
    let mut window = window();
    window.set_size(eframe::egui::vec2(width, height));
    window.run_steps(SETTLING);
    window
}

/// Presses the title of a figure.
fn press(window: &mut Harness<'static, App>, title: &str) {
    window.get_by_role_and_label(Role::Button, &format!("{title}: choose a figure")).click();
    window.run_steps(SETTLING);
}

/// Picks a figure from the list that is open.
fn pick(window: &mut Harness<'static, App>, name: &str) {
    window.get_by_role_and_label(Role::Button, name).click();
    window.run_steps(SETTLING);
}
