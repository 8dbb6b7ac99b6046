//! Pictures of the window: nothing is cut off, nothing lies over anything else, every part is painted.

use std::path::PathBuf;
use std::sync::Arc;

use eframe::egui::epaint::ClippedShape;
use eframe::egui::{Rect, Shape};

use super::*;

pub(super) const SIZES: [(&str, [f32; 2]); 6] = [
    ("wide", [1600.0, 900.0]),
    ("small", [1024.0, 640.0]),
    ("middle", [1280.0, 800.0]),
    ("narrow", [1400.0, 860.0]),
    ("usual", open::SIZE),
    ("large", [2560.0, 1440.0]),
];

pub(super) const THEMES: [ThemeChoice; 4] =
    [ThemeChoice::Light, ThemeChoice::Dark, ThemeChoice::Contrast, ThemeChoice::ContrastDark];

/// A message that takes two lines where there is little room.
const LONG_MESSAGE: &str = "Not opened. bad.ron:3: Unexpected field named `slizes` in `Scenario`, expected one of \
    `format`, `name`, `notes`, `display`, `pose`, `host`, `pixels`, `slices`, `encode`, `stream`, `link`, `decode`";

/// Writes a picture where `FRAMELAP_PICTURES` names a folder, to be looked at.
pub(super) fn keep(name: &str, picture: &Picture) {
    if let Some(folder) = std::env::var_os("FRAMELAP_PICTURES") {
        let path = PathBuf::from(folder).join(format!("{name}.png"));
        picture.write_png(std::fs::File::create(path).unwrap()).unwrap();
    }
}

/// The window with the answers to a pair, without a harness, whose shapes can be looked at.
pub(super) fn still(pair: &pair::Pair) -> (Context, App) {
    let ctx = Context::default();
    let mut app = App::still(&ctx, None, None);
    app.state.pair = pair.clone();
    app.answer_now();
    (ctx, app)
}

#[test]
fn every_part_is_painted_in_both_themes() {
    let (ctx, mut app) = still(&short_pair());
    let mut painter = Painter::default();
    for (name, size) in SIZES {
        for theme in THEMES {
            theme.show(&ctx);
            let picture = picture::paint(&ctx, &mut app, &mut painter, size, 1.0);
            keep(&format!("{name}-{theme:?}"), &picture);
            assert_eq!([picture.width, picture.height], size.map(|points| points as u32));
            // In squares of 160 pixels: where anything is shown, there is more than one colour.
            let plain: Vec<bool> =
                squares(&picture, 160).map(|square| square.iter().all(|pixel| *pixel == square[0])).collect();
            let empty = plain.iter().filter(|plain| **plain).count();
            assert!(empty * 10 <= plain.len(), "{name} {theme:?}: {empty} of {} squares are empty", plain.len());
        }
    }
}

/// The sheets of the page, by their places.
fn sheets(ctx: &Context, app: &mut App, size: [f32; 2]) -> Vec<Rect> {
    let ground = theme::Palette::of(ctx.theme()).sheet;
    let shapes = picture::lay_out(ctx, |ui| app.contents(ui), size, 1.0, |_| ()).0;
    let places = shapes.iter().filter_map(|ClippedShape { shape, .. }| match shape {
        Shape::Rect(shape) if shape.fill == ground && shape.rect.width() > 300.0 && shape.rect.height() > 100.0 => {
            Some(shape.rect)
        }
        _ => None,
    });
    places.collect()
}

/// While a slider is dragged the verdict, the budget and the warnings change; nothing below them may move.
#[test]
fn the_page_has_the_shape_that_its_size_gives_it() {
    use compute::Bench;
    use worker::Compute as _;
    let presets = crate::scenario::presets::all();
    let pairs: Vec<pair::Pair> = (presets.iter().map(|preset| {
        let mut pair = short_pair();
        pair.candidate.scenario = short(preset.scenario());
        pair
    }))
    .collect();
    for (name, size, count) in
        [("wide", [1600.0, 900.0], 5), ("usual", [1440.0, 860.0], 5), ("small", [1024.0, 640.0], 2)]
    {
        let mut first: Option<Vec<Rect>> = None;
        for (preset, pair) in presets.iter().zip(&pairs) {
            let (ctx, mut app) = still(pair);
            for so_far in [false, true] {
                if let Some(shown) = &mut app.answers.shown {
                    shown.drawn = Arc::new(Bench::default().draw(&shown.baseline, &shown.candidate, so_far));
                }
                let here = sheets(&ctx, &mut app, size);
                assert_eq!(here.len(), count, "{name}: {here:?}");
                let first = first.get_or_insert_with(|| here.clone());
                assert_eq!(*first, here, "{name}, {}, a part of the run {so_far}", preset.slug);
            }
        }
    }
}

#[test]
fn warnings_and_a_preview_are_drawn_at_every_scale() {
    use compute::Bench;
    use worker::Compute as _;
    let mut pair = short_pair();
    pair.candidate.scenario = short(crate::scenario::presets::find("over-budget").unwrap().scenario());
    for so_far in [false, true] {
        let (ctx, mut app) = still(&pair);
        let mut painter = Painter::default();
        if let Some(shown) = &mut app.answers.shown {
            shown.drawn = Arc::new(Bench::default().draw(&shown.baseline, &shown.candidate, so_far));
        }
        app.answers.curve.next = so_far.then_some((5, 22));
        for (name, size) in SIZES {
            for scale in [1.0, 1.5] {
                let picture = picture::paint(&ctx, &mut app, &mut painter, size, scale);
                keep(&format!("over-{name}-{scale}-{so_far}"), &picture);
                let texts = shown(&ctx, &mut app, size);
                let told = |start: &str| texts.iter().any(|text| text.starts_with(start));
                assert!(told("Candidate: The decoder is offered") && told("and "), "{name}: {texts:?}");
                assert_eq!(told("So far, from"), so_far, "{name}: {texts:?}");
            }
        }
    }
}

#[test]
fn only_differences_fill_the_column() {
    let mut pair = short_pair();
    pair.candidate.scenario.display.refresh_hz = 120.0;
    pair.candidate.scenario.settle("display.refresh_hz");
    pair.candidate.scenario.pixels.layout = crate::scenario::Layout::Foveated { center: 0.3, edge_density: 0.4 };
    let (ctx, mut app) = still(&pair);
    app.column.only_differences();
    let picture = picture::paint(&ctx, &mut app, &mut Painter::default(), [1024.0, 640.0], 1.0);
    keep("differences", &picture);
    let texts = shown(&ctx, &mut app, [1024.0, 640.0]);
    for text in ["Pixels: Edge density", "0.4", "90 Hz", "120 Hz", "Take baseline's"] {
        assert!(texts.iter().any(|shown| shown == text), "{text}: {texts:?}");
    }
}

/// Every text within sight.
pub(super) fn shown(ctx: &Context, app: &mut App, size: [f32; 2]) -> Vec<String> {
    let shapes = picture::lay_out(ctx, |ui| app.contents(ui), size, 1.0, |_| ()).0;
    let texts = shapes.iter().filter_map(|ClippedShape { clip_rect, shape, .. }| match shape {
        Shape::Text(text) if clip_rect.contains_rect(text.visual_bounding_rect()) => {
            Some(text.galley.text().to_owned())
        }
        _ => None,
    });
    texts.collect()
}

/// Whole squares of a picture, each as its pixels.
fn squares(picture: &Picture, side: usize) -> impl Iterator<Item = Vec<[u8; 4]>> {
    let width = picture.width as usize;
    let pixel = move |x: usize, y: usize| std::array::from_fn(|part| picture.rgba[(y * width + x) * 4 + part]);
    let (columns, rows) = (width / side, picture.height as usize / side);
    (0..columns * rows).map(move |square| {
        let (left, top) = (square % columns * side, square / columns * side);
        (0..side * side).map(|at| pixel(left + at % side, top + at / side)).collect()
    })
}

#[test]
fn no_text_is_cut_off_or_covered() {
    for (parameters, message) in [(true, None), (false, None), (true, Some(LONG_MESSAGE.to_owned()))] {
        let (ctx, mut app) = still(&short_pair());
        app.state.parameters = parameters;
        app.message = message;
        for (name, size) in SIZES {
            for entry in &gallery::ALL {
                let figure = entry.figure();
                app.state.places = if (entry.least - gallery::PLACE).max_elem() > 0.0 {
                    // Too large for the row.
                    state::Places::default().with(state::Places::MIDDLE, figure)
                } else {
                    state::Places::full_of(figure)
                };
                let texts = texts(&ctx, &mut app, size);
                assert!(texts.len() > 25, "{name}: {} texts", texts.len());
                for (text, rect, clip) in &texts {
                    let cut = !clip.expand(1.0).contains_rect(*rect);
                    assert!(
                        !cut,
                        "{name}, parameters {parameters}, {figure:?}: {text:?} at {rect:?} is cut off by {clip:?}"
                    );
                }
            }
        }
    }
}

/// What is too long for its place is wrapped or told in fewer words, for every preset; only names that one gives end in dots.
#[test]
fn nothing_that_is_told_ends_in_dots() {
    let mut found = Vec::new();
    for preset in crate::scenario::presets::all() {
        let mut pair = short_pair();
        pair.candidate.scenario = short(preset.scenario());
        let (ctx, mut app) = still(&pair);
        for (name, size) in SIZES {
            // Each place of the page, where there is room for one alone.
            for page in state::Places::ALL {
                app.state.page = page;
                let shapes = picture::lay_out(&ctx, |ui| app.contents(ui), size, 1.0, |_| ()).0;
                for ClippedShape { shape, .. } in &shapes {
                    let Shape::Text(text) = shape else { continue };
                    let told = text.galley.text();
                    if text.galley.elided && !told.contains(&app.title_of(Side::Candidate)) {
                        found.push(format!("{}, {name}: {told:?}", preset.slug));
                    }
                }
            }
        }
    }
    assert!(found.is_empty(), "{} of them\n{}", found.len(), found.join("\n"));
}

/// In a small window, for every preset: the lanes name latch and vsync of both designs, the fronts each front and light too.
#[test]
fn every_line_of_lanes_and_fronts_has_its_name() {
    let of_refresh = ["latch", "vsync"];
    let of_fronts = ["rendered", "encoded", "arrived", "decoded", "latch", "vsync", "light"];
    let size = [1024.0, 640.0];
    let mut lost = Vec::new();
    for preset in crate::scenario::presets::all() {
        let mut pair = short_pair();
        pair.candidate.scenario = short(preset.scenario());
        let (ctx, mut app) = still(&pair);
        let mut painter = Painter::default();
        for (figure, names) in [(gallery::Figure::Lanes, &of_refresh[..]), (gallery::Figure::Fronts, &of_fronts)] {
            app.state.places = state::Places::default().with(state::Places::MIDDLE, figure);
            app.state.page = state::Places::MIDDLE;
            let picture = picture::paint(&ctx, &mut app, &mut painter, size, 1.0);
            keep(&format!("named-{figure:?}-{}", preset.slug), &picture);
            let texts = texts(&ctx, &mut app, size);
            for name in names {
                let here =
                    texts.iter().filter(|(text, rect, seen)| text == name && seen.expand(1.0).contains_rect(*rect));
                let count = here.count();
                if count != 2 {
                    lost.push(format!("{}, {figure:?}: {name} {count} times", preset.slug));
                }
            }
        }
    }
    assert!(lost.is_empty(), "{lost:?}");
}

/// In a small window the verdict leaves no strip: from its last words to the budget it is hardly more than a line.
#[test]
fn verdict_leaves_no_strip_above_the_budget() {
    let (ctx, mut app) = still(&short_pair());
    let size = [1024.0, 640.0];
    let texts = texts(&ctx, &mut app, size);
    let place = |start: &str| texts.iter().find(|(text, ..)| text.starts_with(start)).unwrap().1;
    let (sentence, budget) = (place("Eight slices show"), place("Budget: "));
    let strip = budget.top() - sentence.bottom();
    assert!((0.0..30.0).contains(&strip), "{strip} pt between {sentence:?} and {budget:?}");
}

/// The presets whose figures are the most crowded, against whole frames, in the sizes where there is the least room.
#[test]
fn no_text_lies_over_another() {
    let mut found = Vec::new();
    for number in [4, 5, 7, 9, 10] {
        let mut pair = short_pair();
        pair.candidate.scenario = short(crate::scenario::presets::all()[number - 1].scenario());
        let (ctx, mut app) = still(&pair);
        for (name, size) in [("usual", open::SIZE), ("narrow", [1400.0, 860.0]), ("small", [1024.0, 640.0])] {
            for entry in &gallery::ALL {
                let figure = entry.figure();
                if (entry.least - gallery::PLACE).max_elem() > 0.0 {
                    continue;
                }
                app.state.places = state::Places::full_of(figure);
                let mut texts = texts(&ctx, &mut app, size);
                // A figure stands at one place only, but for this test: its scroll areas have one id.
                texts.retain(|(text, ..)| !text.contains(" use of "));
                for (place, (text, rect, seen)) in texts.iter().enumerate() {
                    for (other, beside, also) in &texts[place + 1..] {
                        let common = rect.intersect(*beside).intersect(*seen).intersect(*also);
                        if common.width() > 1.5 && common.height() > 1.5 {
                            found.push(format!("preset {number}, {name}, {figure:?}: {text:?}, {other:?}, {common:?}"));
                        }
                    }
                }
            }
        }
    }
    assert!(found.is_empty(), "{} of them\n{}", found.len(), found.join("\n"));
}

/// Every text that is shown outside the scrolling column: itself, its place and what may be seen of it.
pub(super) fn texts(ctx: &Context, app: &mut App, size: [f32; 2]) -> Vec<(String, Rect, Rect)> {
    let shapes = picture::lay_out(ctx, |ui| app.contents(ui), size, 1.0, |_| ()).0;
    let column = if app.state.parameters { page::COLUMN } else { 0.0 };
    shapes
        .iter()
        .filter_map(|ClippedShape { clip_rect, shape, .. }| match shape {
            Shape::Text(text) => {
                let rect = text.visual_bounding_rect();
                let seen = clip_rect.intersect(Rect::from_min_size(eframe::egui::Pos2::ZERO, size.into()));
                Some((text.galley.text().to_owned(), rect, seen))
            }
            _ => None,
        })
        .filter(|(text, rect, seen)| {
            let scrolls = rect.left() < column && rect.top() > 100.0;
            !text.trim().is_empty() && !scrolls && rect.intersects(*seen)
        })
        .collect()
}

type Open = fn(&mut App, &Context);

/// Windows over the page: what opens each, and a text that it must show.
const DIALOGS: [(&str, Open); 6] = [
    ("Keys", |app, _| app.keys_shown = true),
    ("About comfort", |app, _| app.about_shown = true),
    ("Path of the scenario file", |app, ctx| {
        app.run(command::Command::TypePath(command::Purpose::Open(Side::Baseline)), ctx);
    }),
    ("Name of the preset", |app, ctx| app.run(command::Command::SaveOwn(Side::Candidate), ctx)),
    ("Changes are not saved", |app, ctx| {
        app.state.pair.candidate.origin = pair::Origin::File("/a/long/way/to/a/file/of/ones/own/scenario.ron".into());
        app.step(guard::Step::Close, ctx);
    }),
    ("There is such a file already", |app, ctx| {
        let manifest = concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml");
        app.run(command::Command::Typed(command::Purpose::Save(Side::Candidate), manifest.into()), ctx);
    }),
];

#[test]
fn dialogs_fit_in_every_theme() {
    for (text, open) in DIALOGS {
        let (ctx, mut app) = still(&short_pair());
        open(&mut app, &ctx);
        let mut painter = Painter::default();
        for (name, size) in [SIZES[0], SIZES[1]] {
            for theme in THEMES {
                theme.show(&ctx);
                let picture = picture::paint(&ctx, &mut app, &mut painter, size, 1.0);
                keep(&format!("dialog-{}-{name}-{theme:?}", text.replace(' ', "-")), &picture);
            }
            let seen = shown(&ctx, &mut app, size);
            assert!(seen.iter().any(|shown| shown.contains(text)), "{name}: {text} is not in sight: {seen:?}");
        }
    }
}

#[test]
fn menus_fit_where_there_is_little_room() {
    for way in [
        &["File"][..],
        &["File", "By typed path"],
        &["Edit"],
        &["Presets"],
        &["Presets", "As candidate"],
        &["View"],
        &["View", "Scale"],
        &["Help"],
    ] {
        let mut window = window();
        window.set_size(eframe::egui::vec2(1024.0, 640.0));
        window.run_steps(SETTLING);
        choose(&mut window, way);
        let screen = Rect::from_min_size(eframe::egui::Pos2::ZERO, eframe::egui::vec2(1024.0, 640.0));
        // The menu's own texts are drawn last.
        let texts: Vec<(String, Rect)> = window
            .output()
            .shapes
            .iter()
            .filter_map(|clipped| match &clipped.shape {
                Shape::Text(text) if clipped.clip_rect.intersects(text.visual_bounding_rect()) => {
                    Some((text.galley.text().to_owned(), text.visual_bounding_rect()))
                }
                _ => None,
            })
            .collect();
        for (text, rect) in texts.iter().rev().take(8) {
            assert!(screen.contains_rect(*rect), "{way:?}: {text:?} at {rect:?} is off the screen");
        }
        if let Some(folder) = std::env::var_os("FRAMELAP_PICTURES") {
            let name = format!("menu-{}.png", way.join("-").replace(' ', "-"));
            window.render().unwrap().save(PathBuf::from(folder).join(name)).unwrap();
        }
    }
}

#[test]
fn picture_has_settled_when_it_is_painted() {
    let (ctx, mut app) = still(&short_pair());
    let mut painter = Painter::default();
    let first = picture::paint(&ctx, &mut app, &mut painter, [1024.0, 640.0], 1.0);
    let second = picture::paint(&ctx, &mut app, &mut painter, [1024.0, 640.0], 1.0);
    let differing = first.rgba.iter().zip(&second.rgba).filter(|(a, b)| a != b).count();
    assert_eq!(differing, 0);
}
