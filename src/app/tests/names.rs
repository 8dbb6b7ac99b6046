//! Every control has a name for those who do not see it, and can be reached by keyboard.

use egui_kittest::kittest::NodeT as _;

use super::guarding::{close, set_slices};
use super::*;
use crate::app::state::Places;

/// Roles that a hand or a key can do something with.
const CONTROLS: [Role; 13] = [
    Role::Button,
    Role::CheckBox,
    Role::ComboBox,
    Role::Link,
    Role::MenuItem,
    Role::MultilineTextInput,
    Role::RadioButton,
    Role::SearchInput,
    Role::Slider,
    Role::SpinButton,
    Role::Switch,
    Role::Tab,
    Role::TextInput,
];

/// Controls in sight without a name; and how many there are in all.
fn unnamed(window: &Harness<'static, App>) -> (Vec<String>, usize) {
    let controls: Vec<_> =
        window.root().children_recursive().filter(|node| CONTROLS.contains(&node.accesskit_node().role())).collect();
    let nameless = controls.iter().filter(|node| {
        let node = node.accesskit_node();
        node.label().is_none_or(|label| label.trim().is_empty())
    });
    (nameless.map(|node| format!("{node:?}")).collect(), controls.len())
}

fn all_named(window: &Harness<'static, App>, view: &str, least: usize) {
    let (nameless, all) = unnamed(window);
    assert!(nameless.is_empty(), "{view}: {nameless:?}");
    assert!(all >= least, "{view}: {all} controls are too few to be all");
}

fn large() -> Harness<'static, App> {
    let mut window = window();
    window.set_size(eframe::egui::vec2(2560.0, 1440.0));
    window.run_steps(SETTLING);
    window
}

#[test]
fn every_control_of_every_figure_and_place_has_a_name() {
    let mut window = large();
    all_named(&window, "start", 60);
    for entry in &gallery::ALL {
        for place in Places::ALL {
            window.state_mut().state.places = Places::default().with(place, entry.figure());
            window.run_steps(2);
            all_named(&window, entry.name, 40);
        }
    }
    window.set_size(eframe::egui::vec2(1024.0, 640.0));
    for place in Places::ALL {
        window.state_mut().state.page = place;
        window.run_steps(2);
        all_named(&window, "small", 30);
    }
}

#[test]
fn every_control_of_the_column_has_a_name() {
    let mut window = large();
    window.set_size(eframe::egui::vec2(1280.0, 9000.0));
    window.run_steps(SETTLING);
    for stage in crate::scenario::parameters::Stage::ALL {
        let header = window.query_all_by_label_contains(stage.name()).find(|node| {
            let label = node.accesskit_node().label().unwrap_or_default();
            label == stage.name() || label.starts_with(&format!("{} · ", stage.name()))
        });
        header.unwrap_or_else(|| panic!("{} has no header", stage.name())).click_accesskit();
        window.run_steps(20);
    }
    all_named(&window, "all stages", 200);
    window.key_press_modifiers(Modifiers::COMMAND, Key::F);
    window.run_steps(2);
    window.get_by_role_and_label(Role::SearchInput, "Find a parameter").type_text("ms");
    window.run_steps(SETTLING);
    all_named(&window, "search", 100);
    choose(&mut window, &["Only differences (1)"]);
    all_named(&window, "differences", 20);
}

#[test]
fn every_control_of_menus_and_dialogs_has_a_name() {
    let ways: [&[&str]; 12] = [
        &["File"],
        &["File", "By typed path"],
        &["File", "By typed path", "Path to open as candidate…"],
        &["Edit"],
        &["Presets"],
        &["Presets", "As candidate"],
        &["Presets", "Save candidate as own preset…"],
        &["View"],
        &["View", "Scale"],
        &["Help"],
        &["Help", "Keys"],
        &["Help", "About framelap"],
    ];
    for way in ways {
        let mut window = window();
        choose(&mut window, way);
        all_named(&window, &way.join(", "), 40);
    }
    let mut window = window();
    set_slices(&mut window, 6.0);
    window.state_mut().state.pair.candidate.origin = pair::Origin::File("/nowhere/a.ron".into());
    close(&mut window);
    assert!(guarding::asks(&window));
    all_named(&window, "unsaved", 40);
}

#[test]
fn tab_leads_to_the_lanes_whose_keys_move_and_zoom_them() {
    let mut window = large();
    let canvas = |window: &Harness<'static, App>| {
        window.query_all_by_role(Role::Canvas).any(|node| {
            let node = node.accesskit_node();
            node.is_focused() && node.label().is_some_and(|label| label.starts_with("Lanes of frame"))
        })
    };
    let mut tabs = 0;
    while !canvas(&window) {
        window.key_press(Key::Tab);
        window.run_steps(1);
        tabs += 1;
        assert!(tabs < 400, "the lanes cannot be reached");
    }
    let fit = window.state().views.lanes;
    let frame = |window: &Harness<'static, App>| {
        let app = window.state();
        app.views.lanes.frame(&app.answers.shown.as_ref().unwrap().drawn.lanes)
    };
    let first = frame(&window);
    let shift = Modifiers::SHIFT;
    for (modifiers, key) in
        [(Modifiers::NONE, Key::Plus), (shift, Key::ArrowRight), (Modifiers::NONE, Key::Minus), (shift, Key::ArrowLeft)]
    {
        let before = window.state().views.lanes;
        window.key_press_modifiers(modifiers, key);
        window.run_steps(2);
        assert_ne!(window.state().views.lanes, before, "{key:?}");
    }
    window.key_press(Key::F);
    window.run_steps(2);
    assert_eq!(window.state().views.lanes, fit);
    window.key_press(Key::ArrowRight);
    window.run_steps(2);
    assert_eq!(frame(&window), first + 1);
    window.key_press(Key::T);
    window.run_steps(2);
    assert_eq!(frame(&window), first);
    assert!(canvas(&window), "the keys leave the focus where it is");
}

#[test]
fn list_of_keys_names_those_of_the_figures() {
    let mut window = window();
    window.key_press(Key::F1);
    window.run_steps(SETTLING);
    for (keys, name) in keys::ELSEWHERE {
        assert!(window.query_all_by_label(name).next().is_some(), "{keys}");
    }
    for word in ["Lanes:", "figure"] {
        assert!(keys::ELSEWHERE.iter().any(|(_, name)| name.contains(word)), "{word}");
    }
}
