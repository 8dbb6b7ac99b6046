//! Looking closer: cards, the critical path, the ledger and the fronts.

use eframe::egui::{Pos2, Rect, pos2};

use super::*;
use crate::report::figures::fronts::Fronts;
use crate::report::figures::lanes::Stage;
use crate::report::figures::ledger::Ledger;

/// A harness on the lanes that keeps the stage clicked.
fn lanes(world: &World) -> Harness<'_, Option<Stage>> {
    let mut view = LanesView::default();
    harness(None, move |ui, clicked: &mut Option<Stage>| {
        *clicked = clicked.or(view.show(ui, &world.lanes, world.answers()).clicked);
    })
}

/// Where an instant since the pose and a share of the figure's height are, by the figure's own axis from 0 to its light.
fn over(canvas: Rect, x: f32, y: f32) -> Pos2 {
    pos2(canvas.left() + x * canvas.width(), canvas.top() + y * canvas.height())
}

/// Moves the pointer down the figure at a share of its width until something is told that holds `text`.
fn hover_for<State>(harness: &mut Harness<'_, State>, x: f32, text: &str) -> Option<Pos2> {
    let canvas = harness.get_by_role(Role::Canvas).rect();
    for step in 1..60 {
        let at = over(canvas, x, step as f32 / 60.0);
        harness.hover_at(at);
        harness.run_steps(60);
        if harness.query_all_by_label_contains(text).next().is_some() {
            return Some(at);
        }
    }
    None
}

#[test]
fn card_of_a_block_tells_its_times_and_why_it_waited() {
    let world = World::small();
    let mut harness = lanes(&world);
    assert!(hover_for(&mut harness, 0.4, "Decode, frame").is_some());
    for name in ["Stage", "Came", "Began", "Ended", "Out", "Took", "Waited", "Share"] {
        harness.get_by_label(name);
    }
}

#[test]
fn bar_lists_the_path_and_a_click_on_it_gives_the_stage() {
    let world = World::small();
    let mut harness = lanes(&world);
    let at = hover_for(&mut harness, 0.3, "In all").unwrap();
    let whole = world.lanes.sides[0].ways[world.lanes.typical].length_ns().unwrap();
    let whole = crate::report::format::exact_ms(whole);
    assert!(harness.query_all_by_label_contains(&whole).next().is_some(), "{whole}");
    harness.drag_at(at);
    harness.drop_at(at);
    harness.run();
    assert!(matches!(*harness.state(), Some(Stage::Gpu | Stage::Encoder)), "{:?}", harness.state());
}

#[test]
fn pictures_of_cards() {
    let world = World::small();
    for (name, size, pointer) in [
        ("card-wide", vec2(1140.0, 420.0), pos2(517.0, 152.0)),
        ("card-slice", vec2(1140.0, 420.0), pos2(436.0, 331.0)),
        ("path-list", vec2(1140.0, 420.0), pos2(391.0, 192.0)),
    ] {
        let pictures = looks::look(name, size, Some(pointer), |ui| {
            LanesView::default().show(ui, &world.lanes, world.answers());
        });
        let bare = looks::look("lanes", size, None, |ui| {
            LanesView::default().show(ui, &world.lanes, world.answers());
        });
        for (with, without) in pictures.iter().zip(&bare) {
            let differing = with.rgba.chunks(4).zip(without.rgba.chunks(4)).filter(|(a, b)| a != b).count();
            assert!(differing > 10_000, "{name}: {differing} pixels tell something");
        }
    }
}

#[test]
fn ledger_is_read_and_clicked() {
    let world = World::small();
    let data = Ledger::new(world.answers());
    let mut harness = harness(None, |ui, clicked: &mut Option<Stage>| {
        *clicked = clicked.or(ledger(ui, &data, &world.names));
    });
    let encode = data.entries.iter().find(|entry| entry.name == "Encode").unwrap();
    let [baseline, candidate] = encode.values_ms.map(|value| format!("{:.1} ms", value.unwrap()));
    let total = format!("Pose to photon, mean: baseline {:.3} ms", data.totals_ms[0].unwrap());
    harness.get_by_label_contains(&total);
    harness.get_by_label_contains("Encode: baseline").hover();
    harness.run_steps(60);
    let hidden = format!("candidate {:.3} ms", encode.hidden_ms[1].unwrap());
    assert!(harness.query_all_by_label_contains(&hidden).next().is_some(), "{hidden}");
    harness.get_by_label_contains(&format!("Encode: baseline {baseline}, candidate {candidate}, allowed")).click();
    harness.run();
    assert_eq!(*harness.state(), Some(Stage::Encoder));
}

#[test]
fn fronts_say_what_they_show_and_tell_of_the_slice_under_the_pointer() {
    let world = World::small();
    let data = Fronts::of(world.answers(), world.lanes.typical);
    let mut harness = harness((), |ui, ()| {
        fronts(ui, &data, &world.names, None);
    });
    let gain = format!("ready {:.1} ms sooner", crate::time::ns_to_ms(data.gain_ns().unwrap()));
    assert!(harness.query_all_by_label_contains(&gain).next().is_some(), "{gain}");
    assert!(hover_for(&mut harness, 0.5, "Slice 8 of 8, 87.5 % to 100.0 % of the picture").is_some());
}

#[test]
fn pictures_of_ledger_and_fronts() {
    let world = World::small();
    let entries = Ledger::new(world.answers());
    let picture = Fronts::of(world.answers(), world.lanes.typical);
    for (room, size) in [("row", vec2(360.0, 330.0)), ("place", vec2(272.0, 224.0)), ("middle", vec2(1100.0, 420.0))] {
        let over = pos2(size.x * 0.5, size.y * 0.3);
        for pointer in [None, Some(over)] {
            let told = if pointer.is_some() { "-told" } else { "" };
            let pictures = [
                looks::look(&format!("ledger-{room}{told}"), size, pointer, |ui| {
                    ledger(ui, &entries, &world.names);
                }),
                looks::look(&format!("fronts-{room}{told}"), size, pointer, |ui| {
                    fronts(ui, &picture, &world.names, None);
                }),
            ];
            for picture in pictures.iter().flatten() {
                let ground = picture.rgba[..4].to_vec();
                let drawn = picture.rgba.chunks(4).filter(|pixel| **pixel != ground).count();
                assert!(drawn * 20 > picture.rgba.len() / 4, "{room}: {drawn} pixels drawn");
            }
        }
    }
}
