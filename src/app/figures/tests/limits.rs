//! What a lead and a load come to: readings, clicks, pictures.

use eframe::egui::pos2;

use super::*;
use crate::report::figures::lanes::Stage;
use crate::report::figures::late_share::LateShares;
use crate::report::figures::loads::Loads;
use crate::report::format::share;
use crate::scenario::{Lead, Pacing, Scenario};

fn world(change: impl Fn(&mut Scenario)) -> World {
    let mut scenario = Scenario::default();
    scenario.run.frames = 3000;
    change(&mut scenario);
    let mut whole = scenario.clone();
    whole.slices.count = 1;
    World::new(&whole, &scenario, &[])
}

#[test]
fn the_lead_under_the_pointer_is_read_off_the_curve() {
    let world = world(|_| ());
    let figure = LateShares::new(world.answers());
    let mut harness = harness((), |ui, ()| {
        late_share(ui, &figure, &world.names);
    });
    let canvas = harness.get_by_role(Role::Canvas).rect();
    harness.hover_at(pos2(canvas.center().x, canvas.center().y));
    harness.run_steps(60);
    // The lead that is told, read back, has the shares that are told.
    let node = harness.query_all_by_label_contains("Lead ").next().expect("a reading");
    let text = egui_kittest::kittest::NodeT::accesskit_node(&node).value().expect("a text");
    let lead_ms: f64 = text.trim_start_matches("Lead ").split(' ').next().and_then(|word| word.parse().ok()).unwrap();
    for (needs, name) in figure.sides.iter().zip(&world.names) {
        let late = share(needs.as_ref().unwrap().late((lead_ms * 1e6).round() as i64));
        assert!(text.contains(&format!("{name}: {late} late")), "{text}: {name} {late}");
    }
}

#[test]
fn leads_are_told_in_words_with_what_no_lead_helps() {
    let world = world(|scenario| scenario.link.loss = 1e-4);
    let figure = LateShares::new(world.answers());
    let harness = harness((), |ui, ()| {
        late_share(ui, &figure, &world.names);
    });
    let floor = share(figure.sides[1].as_ref().unwrap().floor());
    harness.get_by_label_contains(&format!("{floor} never get ready: no lead helps"));
}

#[test]
fn pacing_without_a_curve_says_why() {
    let world = world(|scenario| {
        scenario.pacing = Pacing::Intervals { mean_ms: 14.0, spread: crate::scenario::Spread::Constant };
    });
    let figure = LateShares::new(world.answers());
    let harness = harness((), |ui, ()| {
        late_share(ui, &figure, &world.names);
    });
    harness.get_by_label_contains("no refresh to be late for");
}

#[test]
fn a_click_on_a_load_gives_its_stage() {
    let world = world(|_| ());
    let figure = Loads::new(world.answers());
    let mut harness = harness(None, |ui, clicked: &mut Option<Stage>| {
        *clicked = loads(ui, &figure, &world.names).or(*clicked);
    });
    harness.get_by_label_contains("Decoder load: baseline").click();
    harness.run();
    assert_eq!(*harness.state(), Some(Stage::Decoder));
}

#[test]
fn headroom_is_explained_under_the_pointer() {
    let world = world(|_| ());
    let figure = Loads::new(world.answers());
    let mut harness = harness((), |ui, ()| {
        loads(ui, &figure, &world.names);
    });
    let line = harness.get_by_label_contains("8 slices: bottleneck decoder").rect();
    harness.hover_at(line.center());
    harness.run_steps(60);
    let meaning = figure.sides[1].headroom_meaning().unwrap();
    assert!(harness.query_all_by_label_contains(&meaning).next().is_some(), "{meaning}");
}

#[test]
fn pictures_of_limits() {
    let calm = world(|_| ());
    let over = world(|scenario| {
        scenario.slices.count = 32;
        scenario.link.loss = 2e-5;
        scenario.pacing = Pacing::Fixed { lead: Lead::Ms(25.0), every: 1 };
    });
    for (name, world, size) in [
        ("limits", &calm, vec2(700.0, 330.0)),
        ("limits-over", &over, vec2(700.0, 330.0)),
        ("limits-small", &over, vec2(272.0, 224.0)),
    ] {
        let (late, busy) = (LateShares::new(world.answers()), Loads::new(world.answers()));
        let pointer = (size.x > 300.0).then_some(pos2(400.0, 180.0));
        let lead = looks::look(&format!("lead-{name}"), size, pointer, |ui| {
            late_share(ui, &late, &world.names);
        });
        let load = looks::look(&format!("loads-{name}"), size, None, |ui| {
            loads(ui, &busy, &world.names);
        });
        for picture in lead.iter().chain(&load) {
            let plain = &picture.rgba[..4];
            let drawn = picture.rgba.chunks(4).filter(|pixel| *pixel != plain).count();
            assert!(drawn * 25 > picture.rgba.len() / 4, "{name}: {drawn} pixels are drawn");
        }
    }
}
