//! What is seen: late correction and the eye's field.

use eframe::egui::{Vec2, pos2};

use super::*;
use crate::report::figures::eye::Eyes;
use crate::report::figures::left_over::{LeftOvers, Rank, What};
use crate::scenario::{Layout, Scenario};

const ROOMS: [(&str, Vec2); 3] =
    [("row", vec2(360.0, 330.0)), ("place", vec2(272.0, 224.0)), ("middle", vec2(1100.0, 420.0))];

/// Whole frames in full against foveated slices, without prediction.
fn world() -> World {
    let mut scenario = Scenario::default();
    scenario.run.frames = 400;
    scenario.motion.predict = false;
    let mut candidate = scenario.clone();
    scenario.slices.count = 1;
    candidate.slices.count = 12;
    candidate.pixels.layout = Layout::Foveated { center: 0.3, edge_density: 0.4 };
    World::new(&scenario, &candidate, &[])
}

/// That much of a picture is drawn.
fn drawn(pictures: &[crate::app::picture::Picture]) {
    for picture in pictures {
        let ground = picture.rgba[..4].to_vec();
        let drawn = picture.rgba.chunks(4).filter(|pixel| **pixel != ground).count();
        assert!(drawn * 20 > picture.rgba.len() / 4, "{drawn} pixels drawn");
    }
}

#[test]
fn late_correction_tells_what_is_left_at_the_pointer() {
    let world = world();
    let data = LeftOvers::new(world.answers());
    let mut harness = harness(LeftOverView::default(), |ui, view: &mut LeftOverView| {
        view.show(ui, &data, &world.names);
    });
    let told = |view: &LeftOverView| {
        let left = data.panel(What::Rotation).here(&data.sides[1], view.rank);
        let [without, with] = left.map(|angle| format!("{:.3}° {:.1} px", angle.unwrap().deg, angle.unwrap().px));
        format!("12 slices {without} without correction, {with} with it")
    };
    let at_p99 = told(harness.state());
    harness.get_by_label_contains(&at_p99);
    harness.get_by_label("p50").click();
    harness.run();
    assert_eq!(harness.state().rank, Rank::Median);
    let at_p50 = told(harness.state());
    assert_ne!(at_p50, at_p99);
    harness.get_by_label_contains(&at_p50);
    // In the middle of the first of three panels.
    let canvas = harness.get_by_role(Role::Canvas).rect();
    harness.hover_at(pos2(canvas.left() + canvas.width() / 6.0, canvas.center().y));
    harness.run_steps(60);
    harness.get_by_label_contains("Rotation at head speed");
    harness.get_by_label_contains("tests with people");
}

#[test]
fn late_correction_has_a_switch_where_it_is_narrow() {
    let world = world();
    let data = LeftOvers::new(world.answers());
    let mut harness = Harness::builder().with_size(vec2(290.0, 240.0)).build_ui_state(
        |ui, view: &mut LeftOverView| {
            theme::apply(ui.ctx());
            view.show(ui, &data, &world.names);
        },
        LeftOverView::default(),
    );
    harness.get_by_label("Guard band").click();
    harness.run();
    assert_eq!(harness.state().what, What::GuardBand);
}

#[test]
fn eyes_field_tells_the_density_at_the_pointer_and_the_limits() {
    let world = world();
    let data = Eyes::new(world.answers());
    let mut harness = harness(EyeView::default(), |ui, view: &mut EyeView| {
        view.show(ui, &data, &world.names);
    });
    harness.get_by_label_contains("Whole frame 20.5 px/deg at the centre, 20.5 at the edge");
    harness.get_by_label_contains("12 slices 20.5 px/deg at the centre, 8.2 at the edge");
    let canvas = harness.get_by_role(Role::Canvas).rect();
    // A little off the middle of the left field.
    harness.hover_at(pos2(canvas.left() + canvas.width() * 0.15, canvas.top() + canvas.height() * 0.3));
    harness.run_steps(60);
    harness.get_by_label_contains("100.0 % of the display's pixels coded here");
    let size = data.limits.bars.iter().find(|bar| bar.name == "Picture size").unwrap();
    let share = format!("{:.1} %", 100.0 * size.sides[1].unwrap().share());
    for step in 1..60 {
        harness.hover_at(pos2(canvas.right() - 60.0, canvas.top() + canvas.height() * step as f32 / 60.0));
        harness.run_steps(60);
        if harness.query_all_by_label_contains("Picture size").next().is_some() {
            break;
        }
    }
    assert!(harness.query_all_by_label_contains(&share).next().is_some(), "{share}");
    assert!(harness.query_all_by_label_contains("at most 8\u{2009}912\u{2009}896 samples").next().is_some());
}

#[test]
fn pictures_of_late_correction() {
    let world = world();
    let plain = LeftOvers::new(world.answers());
    let other = World::small();
    let predicted = LeftOvers::new(other.answers());
    for (room, size) in ROOMS {
        for what in What::ALL {
            let pictures = looks::look(&format!("left-{room}-{}", what as usize), size, None, |ui| {
                LeftOverView { what, rank: Rank::P99 }.show(ui, &plain, &world.names);
            });
            drawn(&pictures);
        }
        let pictures = looks::look(&format!("left-{room}-predicted"), size, Some(pos2(150.0, 150.0)), |ui| {
            LeftOverView::default().show(ui, &predicted, &other.names);
        });
        drawn(&pictures);
    }
}

#[test]
fn pictures_of_the_eyes_field() {
    let world = world();
    let data = Eyes::new(world.answers());
    for (room, size) in ROOMS {
        for (limits, name) in [(false, "field"), (true, "limits")] {
            for pointer in [None, Some(pos2(size.x * 0.2, size.y * 0.5))] {
                let told = if pointer.is_some() { "-told" } else { "" };
                let pictures = looks::look(&format!("eye-{room}-{name}{told}"), size, pointer, |ui| {
                    EyeView { limits }.show(ui, &data, &world.names);
                });
                drawn(&pictures);
            }
        }
    }
}
