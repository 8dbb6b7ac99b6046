//! How long one repaint of the whole first screen takes, laid out and cut into triangles, at 1600x900 with 10 000 frames:
//! what the window does for every frame of a display while a slider is dragged, the driver's part aside. And the same with
//! the lanes zoomed out over all of 100 000 frames.

use divan::Bencher;
use eframe::egui::{Context, Event, Pos2, RawInput, Rect, pos2, vec2};
use framelap::app::App;
use framelap::scenario::Scenario;

const FRAMES: u32 = 10_000;
/// Frames of a long run, and how many times closer the lanes look at first than at all of it: they show some 45 ms of the
/// 1 111 s that it takes.
const MANY_FRAMES: u32 = 100_000;
const ALL_OVER_FIRST: f32 = 25_000.0;
/// A place over the lanes \[pt\].
const OVER_LANES: Pos2 = pos2(500.0, 400.0);

fn main() {
    divan::main();
}

fn input(events: Vec<Event>) -> RawInput {
    let screen = Rect::from_min_size(Pos2::ZERO, vec2(1600.0, 900.0));
    RawInput { screen_rect: Some(screen), events, focused: true, ..RawInput::default() }
}

/// Lays the window out and cuts it into triangles; returns how many meshes there are.
fn repaint(ctx: &Context, app: &mut App, events: Vec<Event>) -> usize {
    let mut output = ctx.run_ui(input(events), |ui| app.contents(ui));
    let shapes = std::mem::take(&mut output.shapes);
    let meshes = ctx.tessellate(shapes, output.pixels_per_point).len();
    output.drop_without_applying_deltas();
    meshes
}

fn window(frames: u32) -> (Context, App) {
    let ctx = Context::default();
    let scenario = |count| {
        let mut scenario = Scenario::default();
        scenario.run.frames = frames;
        scenario.slices.count = count;
        scenario
    };
    let mut app = App::still(&ctx, Some(scenario(1)), Some(scenario(8)));
    app.answer_now();
    for _ in 0..4 {
        repaint(&ctx, &mut app, Vec::new());
    }
    (ctx, app)
}

/// Nothing moves.
#[divan::bench]
fn at_rest(bencher: Bencher) {
    let (ctx, mut app) = window(FRAMES);
    bencher.bench_local(|| repaint(&ctx, &mut app, Vec::new()));
}

/// The pointer moves over the lanes, which look up what lies under it.
#[divan::bench]
fn pointer_over_the_lanes(bencher: Bencher) {
    let (ctx, mut app) = window(FRAMES);
    let mut x = 0.0;
    bencher.bench_local(|| {
        x = (x + 7.0) % 900.0;
        repaint(&ctx, &mut app, vec![Event::PointerMoved(pos2(500.0 + x, 400.0))])
    });
}

/// The lanes show the whole of a long run.
#[divan::bench]
fn zoomed_out_over_a_long_run(bencher: Bencher) {
    let (ctx, mut app) = window(MANY_FRAMES);
    repaint(&ctx, &mut app, vec![Event::PointerMoved(OVER_LANES)]);
    repaint(&ctx, &mut app, vec![Event::Zoom(1.0 / ALL_OVER_FIRST)]);
    bencher.bench_local(|| repaint(&ctx, &mut app, Vec::new()));
}
