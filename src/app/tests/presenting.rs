//! Presenting and the walk: keys, scale, what is changed live, time.

use eframe::egui::epaint::ClippedShape;
use eframe::egui::{Pos2, Rect, Shape};

use super::sessions::kept;
use super::*;
use crate::app::gallery::Figure;
use crate::app::present::Act;
use crate::app::state::Places;

/// Frames until scale and layout have settled.
const STEPS: usize = 5;

fn press(window: &mut Harness<'static, App>, key: Key) {
    window.key_press(key);
    window.run_steps(STEPS);
}

fn presented(window: &Harness<'static, App>) -> Option<Figure> {
    window.state().presenting.as_ref().map(present::Presenting::figure)
}

#[test]
fn leaving_brings_scale_and_page_back() {
    let mut window = window();
    window.ctx.set_zoom_factor(1.25);
    window.run_steps(STEPS);
    let before = window.state().state.clone();
    assert!((before.zoom - 1.25).abs() < 1e-6);
    press(&mut window, Key::F5);
    assert_eq!(presented(&window), Some(Figure::Lanes));
    assert!(window.query_by_label("Parameters").is_none(), "everything else is gone");
    let height = window.ctx.content_rect().height();
    assert!((height / 40.0) <= theme::SMALL, "{height} pt for text of {} pt", theme::SMALL);
    assert_eq!(window.state().state, before, "nothing of it is kept");
    press(&mut window, Key::F1);
    window.get_by_label("Presenting: back to the page");
    press(&mut window, Key::Escape);
    assert!(presented(&window).is_some(), "Escape closed the list of keys first");
    press(&mut window, Key::Escape);
    assert_eq!(presented(&window), None);
    window.get_by_label("Parameters");
    assert!((window.ctx.zoom_factor() - 1.25).abs() < 1e-6);
    assert_eq!(window.state().state, before);
}

#[test]
fn session_does_not_know_of_presenting() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session.ron");
    let mut window = kept(&path, [None, None]);
    let before = window.state().state.clone();
    press(&mut window, Key::F5);
    window.run_steps(12);
    assert!((window.ctx.zoom_factor() - before.zoom).abs() > 0.1);
    window.state_mut().finish_session();
    let again = kept(&path, [None, None]);
    assert_eq!(again.state().state, before);
}

/// Every figure but the studies, which show nothing before they are run.
fn shown() -> impl Iterator<Item = &'static gallery::Entry> {
    const LIST: &[gallery::Entry] = &gallery::ALL;
    LIST.iter().filter(|entry| entry.figure().study().is_none())
}

#[test]
fn keys_step_through_every_figure_those_of_the_page_first() {
    let mut window = window();
    press(&mut window, Key::F5);
    let mut seen = vec![presented(&window).unwrap()];
    for key in [Key::ArrowRight, Key::Space, Key::PageDown].into_iter().cycle().take(shown().count() + 2) {
        press(&mut window, key);
        seen.extend(presented(&window).filter(|figure| seen.last() != Some(figure)));
    }
    assert_eq!(seen.len(), shown().count(), "each once, and it stays at the last");
    let places = window.state().state.places;
    assert_eq!(seen[..4], Places::ALL.map(|place| places.at(place)));
    for key in [Key::ArrowLeft, Key::Backspace, Key::PageUp] {
        press(&mut window, key);
    }
    assert_eq!(presented(&window), Some(seen[seen.len() - 4]));
}

#[test]
fn slider_turned_before_the_audience_is_one_step_of_undo() {
    let mut window = window();
    press(&mut window, Key::F5);
    press(&mut window, Key::S);
    let rect = window.get_by_role_and_label(Role::Slider, "Slices").rect();
    window.drag_at(rect.left_center() + eframe::egui::vec2(rect.width() * 0.1, 0.0));
    window.run_steps(2);
    for share in [0.3, 0.5, 0.8] {
        window.hover_at(rect.left_center() + eframe::egui::vec2(rect.width() * share, 0.0));
        window.run_steps(2);
    }
    let end = rect.left_center() + eframe::egui::vec2(rect.width() * 0.8, 0.0);
    window.drop_at(end);
    window.run_steps(2);
    assert!(candidate(&window).slices.count > 16, "{}", candidate(&window).slices.count);
    assert_eq!(baseline(&window).slices.count, 1);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 8);
    let ctx = window.ctx.clone();
    window.state_mut().run(command::Command::Presented(Act::Choose("link.rate_mbps")), &ctx);
    window.run_steps(STEPS);
    let label = crate::scenario::parameters::find("link.rate_mbps").unwrap().full_label();
    window.get_by_role_and_label(Role::Slider, &label).set_value_accesskit(600.0);
    window.run_steps(2);
    assert!((candidate(&window).link.rate_mbps - 600.0).abs() < 50.0, "{}", candidate(&window).link.rate_mbps);
    press(&mut window, Key::S);
    assert!(window.query_by_role_and_label(Role::Slider, &label).is_none());
}

#[test]
fn handle_comes_with_the_pointer_and_goes_without_asking_for_frames() {
    let mut window = window();
    press(&mut window, Key::F5);
    assert!(window.query_by_label("Leave").is_none());
    window.hover_at(Pos2::new(300.0, 200.0));
    window.run_steps(1);
    window.hover_at(Pos2::new(320.0, 220.0));
    window.run_steps(2);
    window.get_by_label("Slider");
    window.run_steps(16);
    assert!(window.query_by_label("Slider").is_none(), "four seconds later");
    window.run();
    window.hover_at(Pos2::new(340.0, 220.0));
    window.run_steps(3);
    choose(&mut window, &["Leave"]);
    assert_eq!(presented(&window), None);
}

fn walk(window: &Harness<'static, App>) -> crate::report::figures::walk::Walk {
    let app = window.state();
    let answers::Shown { drawn, baseline, candidate, .. } = app.answers.shown.as_ref().unwrap();
    app.views.lanes.walk(&drawn.lanes, [baseline, candidate])
}

fn at_ns(window: &Harness<'static, App>) -> i64 {
    window.state().views.walk.at_ns().unwrap()
}

#[test]
fn walk_plays_to_the_end_and_then_rests() {
    let mut window = window();
    choose(&mut window, &["Walk"]);
    let end_ns = walk(&window).end_ns();
    let mut before_ns = at_ns(&window);
    let mut steps = 0_i64;
    while window.state().views.walk.plays() {
        window.step();
        steps += 1;
        assert!(at_ns(&window) > before_ns || !window.state().views.walk.plays());
        // A quarter of a second a step, 5 ms a second.
        assert!(at_ns(&window) - before_ns <= 1_250_001, "{} ns in a step", at_ns(&window) - before_ns);
        before_ns = at_ns(&window);
        assert!(steps < 100, "it does not end");
    }
    assert_eq!(at_ns(&window), end_ns);
    assert!(steps >= end_ns / 1_250_000 - 6, "{steps} steps for {end_ns} ns");
    // It would not return while frames are asked for.
    window.run();
    press(&mut window, Key::R);
    assert_eq!(at_ns(&window), 0);
    window.run();
    assert_eq!(at_ns(&window), 0, "paused");
}

#[test]
fn walk_steps_from_event_to_event_and_back() {
    let mut window = window();
    press(&mut window, Key::F6);
    press(&mut window, Key::P);
    assert!(!window.state().views.walk.plays());
    press(&mut window, Key::R);
    let walk = walk(&window);
    for event in &walk.events_ns()[1..] {
        press(&mut window, Key::Period);
        assert_eq!(at_ns(&window), *event);
    }
    assert_eq!(at_ns(&window), walk.end_ns());
    press(&mut window, Key::Comma);
    assert_eq!(at_ns(&window), walk.before_ns(walk.end_ns()));
    window.get_by_role_and_label(Role::Slider, "Walk, ms since the pose").set_value_accesskit(3.5);
    window.run_steps(2);
    assert!((at_ns(&window) - 3_500_000).abs() < 100_000, "{}", at_ns(&window));
    let here = at_ns(&window);
    window.run();
    assert_eq!(at_ns(&window), here, "who scrubs has paused it");
    press(&mut window, Key::P);
    window.run_steps(2);
    assert!(at_ns(&window) > here);
    press(&mut window, Key::F6);
    assert!(!window.state().views.walk.is_open());
}

#[test]
fn walk_is_brought_to_where_it_is_seen() {
    let mut window = window();
    window.state_mut().state.places.put(Places::MIDDLE, Figure::Ledger);
    window.state_mut().state.places.put(1, Figure::Eye);
    window.state_mut().state.places.put(2, Figure::Run);
    window.state_mut().state.places.put(3, Figure::Outcomes);
    window.run_steps(2);
    press(&mut window, Key::F6);
    assert_eq!(window.state().state.places.at(Places::MIDDLE), Figure::Lanes);
    press(&mut window, Key::F6);
    press(&mut window, Key::F5);
    press(&mut window, Key::ArrowRight);
    assert_eq!(presented(&window), Some(Figure::Eye));
    press(&mut window, Key::F6);
    assert_eq!(presented(&window), Some(Figure::Lanes));
    press(&mut window, Key::P);
    let told = walk(&window).in_words(Side::Candidate, at_ns(&window));
    assert!(!told.is_empty());
    window.get_by_label("End walk");
}

/// Every text seen, its size as a share of the height, and whether it is whole.
pub(super) fn texts(ctx: &Context, app: &mut App, size: [f32; 2]) -> Vec<(String, f32, bool)> {
    let (shapes, scale) = picture::lay_out(ctx, |ui| app.contents(ui), size, 1.0, |_| ());
    let screen = Rect::from_min_size(Pos2::ZERO, (eframe::egui::Vec2::from(size)) / scale);
    let mut texts = Vec::new();
    for ClippedShape { clip_rect, shape, .. } in &shapes {
        let Shape::Text(text) = shape else { continue };
        let (rect, seen) = (text.visual_bounding_rect(), clip_rect.intersect(screen));
        if text.galley.text().trim().is_empty() || !rect.intersects(seen) {
            continue;
        }
        let smallest = text.galley.job.sections.iter().map(|section| section.format.font_id.size);
        let smallest = smallest.fold(f32::INFINITY, f32::min) * scale / size[1];
        texts.push((text.galley.text().to_owned(), smallest, seen.expand(1.0).contains_rect(rect)));
    }
    texts
}

#[test]
fn smallest_text_is_a_fortieth_of_the_height() {
    let ctx = Context::default();
    let mut app = App::still(&ctx, None, None);
    app.state.pair = short_pair();
    app.answer_now();
    for size in [[1920.0, 1080.0], [1366.0, 768.0], [1024.0, 768.0]] {
        for entry in shown() {
            for live in [false, true] {
                app.present(Some(entry.figure()), &ctx);
                if live {
                    app.act_presenting(Act::Slider, &ctx);
                    app.walk_at_ms(12.0);
                }
                let texts = texts(&ctx, &mut app, size);
                assert!(texts.len() > 8, "{}: {texts:?}", entry.name);
                for (text, share, whole) in texts {
                    assert!(share >= 1.0 / 40.0, "{}, {size:?}: {text:?} is {share} of the height", entry.name);
                    assert!(whole, "{}, {size:?}, live {live}: {text:?} is cut off", entry.name);
                }
                app.act_presenting(Act::Leave, &ctx);
                app.views.walk.end();
            }
        }
    }
}

/// Every figure as it is presented, and the walk on its way: as large as asked for, and of high contrast.
#[test]
fn presented_figures_are_painted_in_both_themes() {
    for theme in [ThemeChoice::Light, ThemeChoice::Dark] {
        let ctx = Context::default();
        let mut app = App::still(&ctx, None, None);
        app.state.pair = short_pair();
        app.answer_now();
        app.state.theme = theme;
        theme.show(&ctx);
        let mut painter = Painter::default();
        let mut paint = |app: &mut App, name: &str| {
            let picture = picture::paint(&ctx, app, &mut painter, [1920.0, 1080.0], 1.0);
            pictures::keep(&format!("presented-{name}-{theme:?}"), &picture);
            assert_eq!([picture.width, picture.height], [1920, 1080]);
            let ground = theme::Palette::contrast(ctx.theme()).sheet;
            let of_ground = picture.rgba.chunks_exact(4).filter(|pixel| **pixel == ground.to_array()).count();
            let share = of_ground as f64 / (1920.0 * 1080.0);
            assert!((0.3..0.98).contains(&share), "{name}, {theme:?}: {share} of the picture is empty");
        };
        for entry in shown() {
            app.present(Some(entry.figure()), &ctx);
            paint(&mut app, entry.slug);
            if matches!(entry.figure(), Figure::Lanes | Figure::Fronts) {
                for at_ms in [9.0, 19.0, 1000.0] {
                    app.walk_at_ms(at_ms);
                    paint(&mut app, &format!("{}-{at_ms}", entry.slug));
                }
                app.act_presenting(Act::Slider, &ctx);
                paint(&mut app, &format!("{}-live", entry.slug));
                app.views.walk.end();
            }
            app.stop_presenting(&ctx);
        }
    }
}

#[test]
fn nothing_is_pointed_at_after_the_scale_changed_until_the_pointer_moves() {
    let mut window = window();
    let at = window.ctx.content_rect().center();
    for _ in 0..2 {
        window.hover_at(at);
        window.run_steps(STEPS);
        assert!(window.ctx.input(|input| input.pointer.has_pointer()));
        let key = if presented(&window).is_none() { Key::F5 } else { Key::Escape };
        press(&mut window, key);
        assert!(!window.ctx.input(|input| input.pointer.has_pointer()));
    }
}

#[test]
fn the_banner_says_which_figure_of_how_many() {
    let mut window = window();
    press(&mut window, Key::F5);
    let count = window.state().presenting.as_ref().unwrap().count();
    assert!(window.query_by_label(&format!("1 of {count}")).is_some());
    press(&mut window, Key::ArrowRight);
    assert!(window.query_by_label(&format!("2 of {count}")).is_some());
}
