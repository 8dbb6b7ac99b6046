//! The window's own tests: values through the accessibility tree, pictures through the painter.

mod answering;
mod calibrating;
mod choosing;
mod cpu;
mod guarding;
mod names;
mod own;
mod parameters;
mod pictures;
mod presenting;
mod random;
mod reaching;
mod replacing;
mod scenarios;
mod sessions;
mod studies_drawn;
mod studying;
mod taking;
mod talks;
mod telling;

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;

use super::*;

/// Scenarios short enough that a test answers them in no time.
fn short(mut scenario: Scenario) -> Scenario {
    scenario.run.frames = 300;
    scenario.run.warmup = 60;
    scenario
}

/// The pair of the program's start, shortened.
fn short_pair() -> pair::Pair {
    let mut pair = pair::Pair::default();
    for side in Side::BOTH {
        let document = pair.of_mut(side);
        document.scenario = short(document.scenario.clone());
    }
    pair
}

/// A window without a worker whose first answers are in.
fn window() -> Harness<'static, App> {
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).renderer(cpu::Cpu::default()).build_eframe(|creation| {
            let mut app = App::still(&creation.egui_ctx, None, None);
            app.state.pair = short_pair();
            app.answer_now();
            app
        });
    window.run_steps(3);
    window
}

fn candidate<'a>(window: &'a Harness<'static, App>) -> &'a Scenario {
    &window.state().state.pair.candidate.scenario
}

fn baseline<'a>(window: &'a Harness<'static, App>) -> &'a Scenario {
    &window.state().state.pair.baseline.scenario
}

/// Frames until a menu or a dialog has found its size and can be used.
const SETTLING: usize = 4;

/// Opens a menu of the bar and presses items on the way.
fn choose(window: &mut Harness<'static, App>, way: &[&str]) {
    for name in way {
        // An item with a key has the key in its label too.
        match window.query_by_label(name) {
            Some(item) => item.click(),
            None => window.get_by_label_contains(name).click(),
        }
        window.run_steps(SETTLING);
    }
}
