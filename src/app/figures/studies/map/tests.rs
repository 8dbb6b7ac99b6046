//! Labels across, and the legend of borders and failures.

use eframe::egui::{Context, Rect, Vec2};

use super::*;
use crate::app::picture;
use crate::measure::measures;
use crate::report::figures::studies::map::Grid;
use crate::study::map::{Question, map as study};
use crate::study::vary::Vary;
use crate::study::{Runner, Watch};

#[test]
fn as_many_labels_stand_across_as_fit() {
    assert_eq!(step(|_| 20.0, 16, 50.0), 1, "all of them");
    assert_eq!(step(|_| 20.0, 64, 16.0), 2);
    assert_eq!(step(|_| 20.0, 2, 3.0), 2, "the first alone");
    assert_eq!(step(|at| if at > 8 { 60.0 } else { 8.0 }, 16, 20.0), 4, "the widest tells");
    assert_eq!(step(|_| 20.0, 0, 1.0), 1);
}

/// A map of the default scenario that many borders cross.
fn grid() -> (Scenario, Grid) {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup, scenario.content.cv) = (200, 50, 0.0);
    let mut baseline = scenario.clone();
    baseline.slices.count = 1;
    let question = Question {
        x: Vary::parse("slices.count=1..33:9").unwrap(),
        y: Vary::parse("encode.slice_overhead_ms=0.02..1:8").unwrap(),
        measure: measures::usual(),
    };
    let whole = study(&scenario, Some(&baseline), &question, &Runner::new(), &Watch::nobody(), |_| ()).unwrap();
    (scenario, Grid::new(&question).whole(whole))
}

#[test]
fn every_border_and_failure_is_in_the_legend_and_no_words_lie_over_others() {
    let (scenario, grid) = grid();
    let borders = &grid.whole.as_ref().unwrap().borders;
    let drawn: Vec<&str> =
        borders.iter().filter(|border| !border.lines.is_empty()).map(|border| border.label).collect();
    assert!(drawn.len() >= 4, "{drawn:?}");
    let failures = grid.failures();
    assert!(!failures.is_empty());
    for size in [[960.0, 420.0], [600.0, 330.0], [400.0, 300.0]] {
        let ctx = Context::default();
        theme::apply(&ctx);
        let contents = |ui: &mut Ui| {
            map(ui, &grid, &scenario);
        };
        let (shapes, _) = picture::lay_out(&ctx, contents, size, 1.0, |_| ());
        let texts: Vec<(String, Rect)> = (shapes.iter())
            .filter_map(|clipped| match &clipped.shape {
                Shape::Text(text) => Some((text.galley.text().to_owned(), text.visual_bounding_rect())),
                _ => None,
            })
            .collect();
        for words in drawn.iter().copied().chain(failures.iter().map(|failure| failure.name())) {
            let found: Vec<&Rect> = texts.iter().filter(|(text, _)| text == words).map(|(_, rect)| rect).collect();
            let area = Rect::from_min_size(Pos2::ZERO, Vec2::from(size));
            assert!(found.len() == 1 && area.contains_rect(*found[0]), "{size:?}, {words}: {found:?}");
        }
        for (place, (text, rect)) in texts.iter().enumerate() {
            for (other, beside) in &texts[place + 1..] {
                let common = rect.intersect(*beside);
                let apart = common.width() <= 1.5 || common.height() <= 1.5;
                assert!(apart, "{size:?}: {text} over {other}");
            }
        }
    }
}
