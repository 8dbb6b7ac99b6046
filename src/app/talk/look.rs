//! Between a talk's figures and looks and those of the window.

use crate::app::Views;
use crate::app::exhibit::Kind;
use crate::app::gallery::Figure;
use crate::talk::{Look, Shown};

/// The window's figure.
pub(in crate::app) fn figure(shown: Shown) -> Figure {
    // A test holds that both lists have the same names.
    Kind::named(shown.slug()).map_or(Figure::Lanes, |kind| kind.0)
}

/// The talk's figure; none for a study.
pub(in crate::app) fn shown(figure: Figure) -> Option<Shown> {
    Shown::named(figure.entry().slug)
}

/// What figures remember when they are first looked at as a step says.
pub(in crate::app) fn views(look: &Look) -> Views {
    let mut views = Views::default();
    if let Some(frame) = look.frame {
        views.lanes.go_to(frame as usize);
    }
    if let Some(span) = look.span_ms {
        views.lanes.look_through_ms(span);
    }
    if let Some(at_ms) = look.walk_ms {
        views.walk.pause_at_ms(at_ms);
    }
    views.distribution.measure = look.measure;
    views.distribution.form = look.form;
    views.left_over.rank = look.quantile;
    views
}

/// What of the views a step with a figure keeps; `last` is the last frame that both runs have.
pub(in crate::app) fn look(shown: Shown, views: &Views, last: usize) -> Look {
    let mut look = Look::at(shown);
    let to_ns = |ms: f64| (ms * 1e6).round() / 1e6;
    if shown.has_frame() {
        look.frame = views.lanes.chosen().map(|frame| frame.min(last) as u32);
    }
    if shown.has_span() {
        look.span_ms = views.lanes.through_ms().map(|span| span.map(to_ns));
    }
    if shown.walks() {
        look.walk_ms = views.walk.at_ns().map(|at_ns| at_ns as f64 / 1e6);
    }
    if shown.has_measures() {
        (look.measure, look.form) = (views.distribution.measure, views.distribution.form);
    }
    if shown.has_quantiles() {
        look.quantile = views.left_over.rank;
    }
    look
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::gallery;

    #[test]
    fn talks_and_gallery_know_the_same_figures() {
        let figures = gallery::ALL.iter().map(gallery::Entry::figure).filter(|figure| figure.study().is_none());
        let slugs: Vec<&str> = figures.map(|figure| figure.entry().slug).collect();
        assert_eq!(slugs, Shown::ALL.map(Shown::slug));
        for shown_ in Shown::ALL {
            let kind = Kind(figure(shown_));
            assert_eq!(shown(kind.0), Some(shown_));
            assert_eq!(kind.of_one_frame(), shown_.has_frame());
            assert_eq!(kind.of_a_span(), shown_.has_span());
            assert_eq!(kind.of_measures(), shown_.has_measures());
            assert_eq!(kind.of_quantiles(), shown_.has_quantiles());
        }
    }

    #[test]
    fn what_is_looked_at_comes_back() {
        let mut look_ = Look::at(Shown::Lanes);
        (look_.frame, look_.span_ms, look_.walk_ms) = (Some(812), Some([2.5, 41.0]), Some(12.25));
        assert_eq!(look(Shown::Lanes, &views(&look_), 8999), look_);
        assert_eq!(look(Shown::Lanes, &views(&look_), 99).frame, Some(99));
        assert_eq!(look(Shown::Outcomes, &views(&look_), 8999), Look::at(Shown::Outcomes));
    }
}
