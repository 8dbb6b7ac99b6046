//! Pictures of studies: whatever they are asked, everything that they tell can be read where it stands.

use eframe::egui::epaint::ClippedShape;
use eframe::egui::{Rect, Shape};

use super::pictures::{SIZES, THEMES, keep, shown, still};
use super::*;
use crate::app::studies::{Kind, Setup, can_turn};
use crate::measure::measures;
use crate::scenario::parameters;

/// Designs without drifting content: short runs of others may look as if latency grew.
fn even(mut pair: pair::Pair) -> pair::Pair {
    for side in Side::BOTH {
        pair.of_mut(side).scenario.content.cv = 0.0;
    }
    pair
}

/// A window on a study that was run, in the middle of the page; none where the study refuses what it is asked.
fn studied(kind: Kind, pair: &pair::Pair, setup: impl FnOnce(&mut Setup)) -> Option<(Context, App)> {
    let (ctx, mut app) = still(pair);
    let mut asked = app.studies.setup(kind);
    setup(&mut asked);
    app.studies.set_up(kind, asked);
    app.studies.run_now(kind, pair).ok()?;
    let entry = gallery::ALL.iter().find(|entry| entry.figure().study() == Some(kind))?;
    app.state.places.put(state::Places::MIDDLE, entry.figure());
    app.state.page = state::Places::MIDDLE;
    Some((ctx, app))
}

/// Every text of the page right of the column that is at least in part in sight: itself, its place, what may be seen of it, and
/// whether it ends in dots.
fn texts(ctx: &Context, app: &mut App, size: [f32; 2]) -> Vec<(String, Rect, Rect, bool)> {
    let shapes = picture::lay_out(ctx, |ui| app.contents(ui), size, 1.0, |_| ()).0;
    let text = |ClippedShape { clip_rect, shape, .. }: &ClippedShape| match shape {
        Shape::Text(text) if !text.galley.text().trim().is_empty() => {
            let rect = text.visual_bounding_rect();
            Some((text.galley.text().to_owned(), rect, *clip_rect, text.galley.elided))
        }
        _ => None,
    };
    let here = |(_, rect, clip, _): &(String, Rect, Rect, bool)| rect.left() > page::COLUMN && rect.intersects(*clip);
    shapes.iter().filter_map(text).filter(here).collect()
}

/// What cannot be read of some texts: what ends in dots, leaves its place at a side, or lies over another.
fn unread(texts: &[(String, Rect, Rect, bool)]) -> Vec<String> {
    let mut found = Vec::new();
    for (place, (text, rect, clip, elided)) in texts.iter().enumerate() {
        if *elided {
            found.push(format!("{text:?} ends in dots"));
        }
        if rect.left() < clip.left() - 1.0 || rect.right() > clip.right() + 1.0 {
            found.push(format!("{text:?} at {rect:?} is cut off by {clip:?}"));
        }
        for (other, beside, also, _) in &texts[place + 1..] {
            let common = rect.intersect(*beside).intersect(*clip).intersect(*also);
            if common.width() > 1.5 && common.height() > 1.5 {
                found.push(format!("{text:?} and {other:?} share {common:?}"));
            }
        }
    }
    found
}

/// Every study after it was run, in the middle of the page: drawn, and no text ends in dots.
#[test]
fn studies_are_drawn_in_every_size() {
    let mut found = Vec::new();
    for kind in Kind::ALL {
        let (ctx, mut app) = studied(kind, &even(short_pair()), |_| ()).unwrap();
        let mut painter = Painter::default();
        for (name, size) in SIZES {
            for theme in THEMES {
                theme.show(&ctx);
                let picture = picture::paint(&ctx, &mut app, &mut painter, size, 1.0);
                keep(&format!("study-{}-{name}-{theme:?}", kind.name().replace(' ', "-")), &picture);
            }
            let unread = unread(&texts(&ctx, &mut app, size));
            found.extend(unread.into_iter().map(|what| format!("{name}, {kind:?}: {what}")));
            let texts = shown(&ctx, &mut app, size);
            assert!(texts.iter().any(|text| text == "Run again"), "{name}, {kind:?}: {texts:?}");
            assert!(!texts.iter().any(|text| text.contains(Kind::promise(kind))), "{name}, {kind:?}");
        }
    }
    assert!(found.is_empty(), "{} of them\n{}", found.len(), found.join("\n"));
}

/// Asks for what has the longest names.
fn longest(kind: Kind, scenario: &Scenario, setup: &mut Setup) {
    let measure = measures::all().iter().max_by_key(|measure| measure.label.chars().count());
    setup.measure = &measure.unwrap().name;
    if kind == Kind::Search {
        setup.second = Some(setup.measure);
    }
    let turned = |parameter: &&parameters::Parameter| {
        parameter.get(scenario).is_some_and(|value| value.as_f64().is_some_and(|value| value > 0.0))
            && can_turn(parameter)
    };
    let mut parameters: Vec<_> = parameters::all().iter().filter(turned).collect();
    parameters.sort_by_key(|parameter| std::cmp::Reverse(parameter.full_label().chars().count()));
    for (range, parameter) in setup.ranges.iter_mut().zip(parameters) {
        *range = studies::Range::usual(parameter, scenario, 4);
    }
}

/// The same in a small window of designs of every sort, also where a study is asked for what has the longest names and lists
/// every measure.
#[test]
fn studies_tell_everything_in_a_small_window() {
    let size = [1024.0, 640.0];
    let (mut found, mut drawn) = (Vec::new(), 0);
    for number in [2, 7, 10] {
        let mut pair = short_pair();
        let preset = &crate::scenario::presets::all()[number - 1];
        pair.candidate.scenario = short(preset.scenario());
        let pair = even(pair);
        let scenario = &pair.candidate.scenario;
        for (kind, long) in Kind::ALL.into_iter().flat_map(|kind| [(kind, false), (kind, true)]) {
            let asked = |setup: &mut Setup| {
                if long {
                    longest(kind, scenario, setup);
                }
            };
            let Some((ctx, mut app)) = studied(kind, &pair, asked) else { continue };
            drawn += 1;
            app.views.studies.all_measures = long;
            let mut painter = Painter::default();
            let picture = picture::paint(&ctx, &mut app, &mut painter, size, 1.0);
            keep(&format!("told-{}-{number}-{long}", kind.name().replace(' ', "-")), &picture);
            let unread = unread(&texts(&ctx, &mut app, size));
            found.extend(unread.into_iter().map(|what| format!("preset {number}, {kind:?}, {long}: {what}")));
        }
    }
    assert!(drawn > 30, "{drawn} studies");
    assert!(found.is_empty(), "{} of them\n{}", found.len(), found.join("\n"));
}
