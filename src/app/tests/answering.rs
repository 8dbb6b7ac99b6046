//! The window and its worker together.

use std::time::{Duration, Instant};

use super::*;

/// A window with a worker, on short scenarios.
fn living() -> Harness<'static, App> {
    Harness::builder().with_size([1280.0, 800.0]).renderer(cpu::Cpu::default()).with_max_steps(10_000).build_eframe(
        |creation| {
            let [baseline, candidate] = [short_pair().baseline.scenario, short_pair().candidate.scenario];
            App::new(&creation.egui_ctx, Some(baseline.into()), Some(candidate.into()))
        },
    )
}

/// Lets the window live until it says what is expected, or long enough to know that it never will.
fn wait(window: &mut Harness<'static, App>, what: &str, done: impl Fn(&App) -> bool) {
    let start = Instant::now();
    while !done(window.state()) {
        assert!(start.elapsed() < Duration::from_mins(1), "waited in vain for: {what}");
        std::thread::sleep(Duration::from_millis(2));
        window.step();
    }
}

fn current(app: &App) -> bool {
    app.answers.freshness() == answers::Freshness::Current
}

fn curve_is_whole(app: &App) -> bool {
    app.answers.curve_progress().is_none() && app.answers.curve.complete() && app.answers.curve.points().len() > 20
}

#[test]
fn first_answers_come_without_a_click() {
    let mut window = living();
    wait(&mut window, "the first answers", current);
    wait(&mut window, "the curve", curve_is_whole);
    window.run_steps(2);
    window.get_by_label_contains("frames, seed 1");
}

#[test]
fn answers_follow_the_slider_and_the_picture_never_blanks() {
    let mut window = living();
    wait(&mut window, "the first answers", current);
    let before = median(window.state());
    window.get_by_role_and_label(Role::Slider, "Encode: Per Mpx").set_value_accesskit(2.0);
    window.run_steps(2);
    assert!(window.state().answers.shown.is_some(), "the old picture stays");
    wait(&mut window, "the new answers", current);
    assert!(median(window.state()) > before + 2.0, "{before} ms, then {} ms", median(window.state()));
}

fn median(app: &App) -> f64 {
    app.answers.shown.as_ref().unwrap().candidate.summary.pose_to_photon_ms.p50.unwrap()
}

#[test]
fn at_rest_nothing_is_repainted() {
    let mut window = living();
    wait(&mut window, "the first answers", |app| current(app) && curve_is_whole(app));
    // The worker's last word wakes the window once more.
    std::thread::sleep(Duration::from_millis(100));
    window.run_steps(6);
    let asked_again = window.output().viewport_output.values().map(|viewport| viewport.repaint_delay).min().unwrap();
    assert!(asked_again > Duration::from_mins(1), "the window asks to be painted again after {asked_again:?}");
}
