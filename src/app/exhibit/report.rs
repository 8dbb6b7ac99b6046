//! All figures of a head-to-head on one page that stays behind.

use std::io::{self, Write};

use eframe::egui::{Color32, Theme, vec2};

use super::{Exhibit, Kind, Slide, slide, svg};
use crate::app::Views;
use crate::app::gallery::Figure;
use crate::app::given::Given;
use crate::app::state::ThemeChoice;
use crate::app::theme::Palette;
use crate::report::html::{self, Colors, Drawing, Page};

/// Figures of the page, in their order: width and height \[pt\], and what each shows. The width is nearly that of a page of
/// A4 within its margins.
const FIGURES: [(Figure, [f32; 2], &str); 9] = [
    (
        Figure::Lanes,
        [780.0, 420.0],
        "One typical frame's way through the pipeline, slice by slice, on one clock from its pose",
    ),
    (Figure::Fronts, [780.0, 380.0], "How the picture of that frame moves through the stages, slice by slice"),
    (Figure::Distribution, [780.0, 320.0], "How pose to photon is spread over the counted frames, with the budget"),
    (Figure::Ledger, [780.0, 340.0], "Where the time from pose to photon goes, piece by piece, and what changes"),
    (
        Figure::Outcomes,
        [780.0, 330.0],
        "What became of every frame and every refresh; what is not as wanted is hatched",
    ),
    (Figure::SliceCurve, [780.0, 320.0], "The candidate's latency against its slice count"),
    (Figure::Lead, [780.0, 320.0], "How many frames would be late if the host planned them at another lead"),
    (
        Figure::Loads,
        [780.0, 320.0],
        "What every server is asked to do against what it can, and how much later frames might be ready",
    ),
    (
        Figure::LeftOver,
        [900.0, 360.0],
        "Rotation and parallax that late correction leaves, and the guard band, against the wearer's motion",
    ),
];

/// A head-to-head to be written as one page.
pub struct Report(Exhibit);

impl Report {
    /// The report on two checked scenarios, which are answered at once, on this thread.
    pub fn new(baseline: Given, candidate: Given) -> Self {
        // The slice count's figure is the one that needs more than both answers.
        let mut exhibit = Exhibit::new(Kind(Figure::SliceCurve), baseline, candidate);
        exhibit.make_sure();
        Self(exhibit)
    }

    /// The report of what an exhibit of the slice count holds. What was looked at is left aside: the page's command says
    /// nothing of it.
    pub(in crate::app) fn of(exhibit: Exhibit) -> Self {
        Self(Exhibit { views: Views::default(), ..exhibit })
    }

    /// The page; `date` is the day on which it is made, `out` the name of its file.
    pub fn html(&self, theme: ThemeChoice, date: &str, out: &str) -> String {
        let exhibit = &self.0;
        let drawings: Vec<Drawing> =
            FIGURES.iter().map(|(figure, size, meaning)| self.drawing(*figure, *size, meaning, theme)).collect();
        let options = theme.option().map_or_else(Vec::new, |name| vec!["--theme".to_owned(), name.to_owned()]);
        html::page(&Page {
            answers: exhibit.answers.each_ref().map(AsRef::as_ref),
            verdict: &exhibit.drawn.verdict,
            warnings: &exhibit.drawn.warnings,
            ledger: &exhibit.drawn.ledger,
            drawings: &drawings,
            made: &exhibit.provenance(date),
            options: &options,
            out,
            colors: &colors(theme),
            printed: &colors(on_paper(theme)),
        })
    }

    /// Writes the page.
    ///
    /// # Errors
    /// Those of the system.
    pub fn write(&self, theme: ThemeChoice, date: &str, out: &str, mut to: impl Write) -> io::Result<()> {
        to.write_all(self.html(theme, date, out).as_bytes())
    }

    fn drawing(&self, figure: Figure, size: [f32; 2], meaning: &'static str, theme: ThemeChoice) -> Drawing {
        let entry = figure.entry();
        let draw = |theme: ThemeChoice, id: &str| {
            let slide = Slide { size, scale: 1.0, theme };
            let shapes = slide::bare(&self.0, figure, &slide);
            let about = svg::About { title: entry.name, description: meaning };
            svg::element(vec2(size[0], size[1]), &shapes, about, id)
        };
        let printed = (on_paper(theme) != theme).then(|| draw(on_paper(theme), &format!("{}-printed", entry.slug)));
        Drawing { name: entry.name, slug: entry.slug, meaning, svg: draw(theme, entry.slug), printed }
    }
}

/// The theme in which a page is printed.
const fn on_paper(theme: ThemeChoice) -> ThemeChoice {
    match theme {
        ThemeChoice::Dark => ThemeChoice::Light,
        ThemeChoice::ContrastDark => ThemeChoice::Contrast,
        light => light,
    }
}

/// The window's colours for the page.
fn colors(theme: ThemeChoice) -> Colors {
    let dark = matches!(theme, ThemeChoice::Dark | ThemeChoice::ContrastDark);
    let of = if dark { Theme::Dark } else { Theme::Light };
    let palette = if theme.high_contrast() { Palette::contrast(of) } else { Palette::of(of) };
    let hex = |color: Color32| format!("#{:02x}{:02x}{:02x}", color.r(), color.g(), color.b());
    Colors {
        dark,
        paper: hex(palette.paper),
        sheet: hex(palette.sheet),
        ink: hex(palette.ink),
        soft: hex(palette.soft),
        rule: hex(palette.rule),
        good: hex(palette.good),
        doubt: hex(palette.doubt),
        bad: hex(palette.bad),
        candidate: hex(palette.candidate),
    }
}
