//! The run as strips: what is told, what a click brings, zoom and pan.

use eframe::egui::{Event, Modifiers, MouseWheelUnit, Rect, pos2};
use egui_kittest::kittest::NodeT as _;

use super::*;
use crate::report::figures::run_strip::{Outcome, Strip};
use crate::report::format::{count, exact_ms};
use crate::scenario::{Lead, Pacing, Scenario};

/// A head-to-head in which frames are late, lost and missed.
fn rough() -> World {
    let mut scenario = Scenario::default();
    scenario.run.frames = 2500;
    scenario.link.loss = 2e-5;
    scenario.pacing = Pacing::Fixed { lead: Lead::Ms(23.0), every: 1 };
    let mut whole = scenario.clone();
    whole.slices.count = 1;
    World::new(&whole, &scenario, &[8])
}

type State = (RunStripView, Option<usize>);

fn strips(world: &World) -> Harness<'_, State> {
    harness((RunStripView::default(), None), |ui, (view, clicked): &mut State| {
        *clicked = view.show(ui, &world.strips, &world.names, 300).or(*clicked);
    })
}

/// The axis of frames, from the figure's own margins.
fn axis(harness: &Harness<'_, State>) -> Rect {
    let canvas = harness.get_by_role(Role::Canvas).rect();
    Rect::from_min_max(pos2(canvas.left() + 44.0, canvas.top()), pos2(canvas.right() - 8.0, canvas.bottom()))
}

fn hover(harness: &mut Harness<'_, State>, x: f32, share: f32) {
    let axis = axis(harness);
    harness.hover_at(pos2(x, axis.top() + share * axis.height()));
    harness.run_steps(60);
}

/// The middle of a frame on the axis when the whole run is seen.
fn place_of(harness: &Harness<'_, State>, world: &World, frame: usize) -> f32 {
    let (axis, all) = (axis(harness), world.strips.frames());
    axis.left() + (frame - all.start) as f32 / all.len() as f32 * axis.width()
}

#[test]
fn frames_under_the_pointer_are_told_exactly() {
    let world = World::small();
    let mut harness = strips(&world);
    let x = place_of(&harness, &world, 700);
    hover(&mut harness, x, 0.2);
    // Some frame or frames about 700: whichever are told, their values must be those of the run.
    let told = (690..711).flat_map(|first| (first + 1..first + 4).map(move |end| first..end)).find(|frames| {
        let words = crate::report::figures::run_strip::frames_in_words(frames);
        harness.query_all_by_label_contains(&format!("{words}\n")).next().is_some()
    });
    let frames = told.expect("frames about 700 are told");
    for side in 0..2 {
        let latencies = frames.clone().filter_map(|frame| {
            let run = &world.answers()[side].run;
            Some(run.photon_ns(frame)? - run.frames[frame].pose.ns()?)
        });
        let greatest = latencies.max().map(exact_ms).unwrap();
        let line = format!("{}: ", world.names[side]);
        let found = harness
            .query_all_by_label_contains(&line)
            .any(|node| node.accesskit_node().value().is_some_and(|label| label.contains(&greatest)));
        assert!(found, "{line}{greatest}");
    }
}

#[test]
fn a_click_gives_the_worst_frame_there() {
    let world = rough();
    let strip: &Strip = &world.strips.sides[1];
    let gone = strip.frame_numbers().find(|frame| strip.frame(*frame).unwrap().outcome() == Outcome::Failed);
    let gone = gone.expect("a frame is lost");
    let mut harness = strips(&world);
    let x = place_of(&harness, &world, gone);
    hover(&mut harness, x, 0.75);
    let line = format!("Click for frame {}", count(gone as u64));
    assert!(harness.query_all_by_label_contains(&line).next().is_some(), "{line}");
    let canvas = axis(&harness);
    let at = pos2(x, canvas.top() + 0.75 * canvas.height());
    harness.drag_at(at);
    harness.drop_at(at);
    harness.run();
    assert_eq!(harness.state().1, Some(gone));
}

#[test]
fn a_missed_refresh_is_told_and_brings_the_frame_that_was_due() {
    let world = rough();
    let strip = &world.strips.sides[0];
    let misses = strip.refreshes.iter().filter(|beat| beat.kind == crate::engine::RefreshKind::Miss);
    let due = misses.map(|beat| beat.at.round() as usize).next().expect("a refresh is missed");
    let mut harness = strips(&world);
    let (x, axis) = (place_of(&harness, &world, due), axis(&harness));
    // The baseline's refreshes end where its half does.
    let y = axis.top() + (axis.height() - 22.0 - 4.0) / 2.0 - 6.0;
    hover(&mut harness, x, (y - axis.top()) / axis.height());
    assert!(harness.query_all_by_label_contains("missed").next().is_some());
    harness.drag_at(pos2(x, y));
    harness.drop_at(pos2(x, y));
    harness.run();
    assert_eq!(harness.state().1, Some(due));
}

#[test]
fn scrolling_zooms_dragging_pans_and_a_double_click_shows_all() {
    let world = World::small();
    let mut harness = strips(&world);
    let whole = harness.state().0;
    let centre = harness.get_by_role(Role::Canvas).rect().center();
    harness.hover_at(centre);
    harness.run();
    let (unit, phase) = (MouseWheelUnit::Point, eframe::egui::TouchPhase::Move);
    let source = eframe::egui::MouseWheelSource::Wheel;
    harness.event(Event::MouseWheel { unit, delta: vec2(0.0, 600.0), phase, modifiers: Modifiers::NONE, source });
    harness.run_steps(20);
    let near = harness.state().0;
    assert_ne!(near, whole);
    harness.drag_at(centre);
    harness.run();
    harness.hover_at(centre + vec2(90.0, 0.0));
    harness.run();
    harness.drop_at(centre + vec2(90.0, 0.0));
    harness.run();
    assert_ne!(harness.state().0, near);
    assert_eq!(harness.state().1, None, "a drag is no click");
    for _ in 0..2 {
        harness.get_by_role(Role::Canvas).click();
    }
    harness.run();
    assert_eq!(harness.state().0, whole);
}

#[test]
fn the_run_is_told_in_words() {
    let world = rough();
    let harness = strips(&world);
    let fold = world.strips.sides[1].fold(0..usize::MAX);
    let gone = format!("{} failed", fold.of(Outcome::Failed));
    let freeze = world.strips.sides[1].freeze.map(|freeze| crate::report::format::ms(freeze.length_ms)).unwrap();
    harness.get_by_label_contains(&gone);
    harness.get_by_label_contains(&format!("longest freeze {freeze}"));
}

#[test]
fn pictures_of_the_run() {
    let (calm, rough) = (World::small(), rough());
    for (name, world, size, pointer) in [
        ("run-calm", &calm, vec2(1140.0, 420.0), None),
        ("run-rough", &rough, vec2(1140.0, 420.0), Some(pos2(500.0, 300.0))),
        ("run-small", &rough, vec2(272.0, 224.0), None),
    ] {
        let pictures = looks::look(name, size, pointer, |ui| {
            RunStripView::default().show(ui, &world.strips, &world.names, 700);
        });
        for picture in pictures {
            let plain = &picture.rgba[..4];
            let drawn = picture.rgba.chunks(4).filter(|pixel| *pixel != plain).count();
            assert!(drawn * 12 > picture.rgba.len() / 4, "{name}: {drawn} pixels are drawn");
        }
    }
}
