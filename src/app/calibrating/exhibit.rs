//! A figure of a calibration on its way out of the program: as a table, or as a picture that says where it comes from.

use std::fmt::Write as _;
use std::io::{self, Write};
use std::sync::Arc;

use eframe::egui::epaint::ClippedShape;
use eframe::egui::{
    Align, CentralPanel, Context, FontId, Frame, Layout, Margin, Rect, RichText, Stroke, TexturesDelta, Ui, UiBuilder,
    Vec2, pos2, vec2,
};

use crate::app::exhibit::{Format, Slide, slide, svg};
use crate::app::figures::{self, Form};
use crate::app::painter::Painter;
use crate::app::picture::{self, Picture};
use crate::app::theme::{self, Palette};
use crate::calibrate::Role;
use crate::report::figures::measured::course::Strip;
use crate::report::figures::measured::{Figures, overlay, title};
use crate::report::figures::table::Table;

/// A figure of a calibration.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasuredFigure {
    /// Both spreads of a role.
    Overlay(Role),
    /// Quantiles of all roles.
    Quantiles,
    /// What the fit of a role leaves over time.
    Course(Role),
}

impl MeasuredFigure {
    /// All that there are of a calibration.
    pub fn all(figures: &Figures) -> Vec<Self> {
        let overlays = figures.overlays.iter().map(|overlay| Self::Overlay(overlay.measure));
        let strips = figures.strips.iter().map(|strip| Self::Course(strip.role));
        overlays.chain([Self::Quantiles]).chain(strips).collect()
    }

    /// What it is called.
    pub fn name(self) -> String {
        match self {
            Self::Overlay(role) => format!("{}, measured against simulated", title(role)),
            Self::Quantiles => "Quantiles, measured against simulated".to_owned(),
            Self::Course(role) => format!("{} over time", title(role)),
        }
    }

    /// Its name in files.
    pub fn slug(self) -> String {
        match self {
            Self::Overlay(role) => format!("overlay-{}", role.name()),
            Self::Quantiles => "quantiles".to_owned(),
            Self::Course(role) => format!("over-time-{}", role.name()),
        }
    }

    /// Its data.
    pub fn table(self, figures: &Figures) -> Option<Table> {
        match self {
            Self::Overlay(role) => figures.overlay(role).map(overlay::table),
            Self::Quantiles => Some(figures.quantiles.table()),
            Self::Course(role) => figures.strip(role).map(Strip::table),
        }
    }
}

/// One figure of a calibration with all that it shows.
#[derive(Debug, Clone)]
pub struct MeasuredExhibit {
    /// Which.
    pub figure: MeasuredFigure,
    /// All figures.
    pub figures: Arc<Figures>,
    /// How spreads are drawn.
    pub form: Form,
    /// Name of the file of measurements.
    pub file: String,
    /// The command that makes the figures again.
    pub command: String,
}

impl MeasuredExhibit {
    /// Its data; without rows where there is none.
    pub fn table(&self) -> Table {
        self.figure.table(&self.figures).unwrap_or_else(|| Table::new("Calibration", &[]))
    }

    /// It as a picture of pixels; `date` is the day on which it is made.
    pub fn picture(&self, slide: &Slide, date: &str) -> Picture {
        let (ctx, mut painter) = (slide::context(slide), Painter::default());
        let (shapes, scale) = self.lay_out(&ctx, slide, date, |textures| painter.update(textures));
        picture::painted(&ctx, &painter, shapes, slide.size, scale)
    }

    /// Writes it.
    ///
    /// # Errors
    /// Those of the system.
    pub fn write(&self, format: Format, slide: &Slide, date: &str, mut to: impl Write) -> io::Result<()> {
        let (title, description) = (self.title(), self.description(date));
        match format {
            Format::Csv => self.table().csv(to),
            Format::Png => {
                let software = format!("framelap {}", crate::version::version());
                let texts = [("Title", title.as_str()), ("Description", &description), ("Software", &software)];
                self.picture(slide, date).write_png_with(to, &texts)
            }
            Format::Svg => {
                // At one pixel a point, as every figure.
                let slide = Slide { scale: 1.0, ..*slide };
                let shapes = self.lay_out(&slide::context(&slide), &slide, date, |_| ()).0;
                let about = svg::About { title: &title, description: &description };
                to.write_all(svg::document(Vec2::from(slide.size), &shapes, about).as_bytes())
            }
        }
    }

    fn title(&self) -> String {
        format!("{}: {}", self.figure.name(), self.file)
    }

    fn run(&self, date: &str) -> String {
        let base = if self.command.contains(BASE) {
            "; BASE.ron: the scenario it was based on, to be saved first"
        } else {
            ""
        };
        format!("{}; framelap {}, {date}{base}", self.figures.basis, crate::version::version())
    }

    fn description(&self, date: &str) -> String {
        let mut lines = format!("{}\n{}\n", self.file, self.run(date));
        // Writing to a string does not fail.
        let _ = writeln!(lines, "{}", self.figures.largest);
        let _ = write!(lines, "Made by: {}", self.command);
        lines
    }

    fn lay_out(
        &self,
        ctx: &Context,
        slide: &Slide,
        date: &str,
        textures: impl FnMut(&mut TexturesDelta),
    ) -> (Vec<ClippedShape>, f32) {
        let run = self.run(date);
        let mut form = self.form;
        let contents = |ui: &mut Ui| {
            let heading = |ui: &mut Ui| {
                ui.label(RichText::new(&self.file).font(theme::title()).color(Palette::current(ui).ink));
            };
            page(ui, heading, [&run, &self.command], |ui| self.figure.draw(ui, &self.figures, &mut form));
        };
        picture::lay_out(ctx, contents, slide.size, slide.scale, textures)
    }
}

/// Name in commands of a base scenario that is in no file.
pub(super) const BASE: &str = "BASE.ron";
/// Margin around everything, and the distance of figure and foot \[pt\].
const MARGIN: i8 = 20;
const GAP: f32 = 8.0;
/// Size of the command: to be copied, not to be read from afar \[pt\].
const COMMAND: f32 = 11.0;

/// Heading, figure, and below it what was compared and the command.
fn page(ui: &mut Ui, heading: impl FnOnce(&mut Ui), [run, command]: [&str; 2], figure: impl FnOnce(&mut Ui)) {
    let palette = Palette::current(ui);
    let frame = Frame::new().fill(palette.sheet).inner_margin(Margin::same(MARGIN));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        heading(ui);
        let (space, top, painter) = (ui.max_rect(), ui.cursor().top(), ui.painter());
        let laid = |text: &str, font: FontId| painter.layout(text.to_owned(), font, palette.soft, space.width());
        let (run, command) = (laid(run, theme::small()), laid(command, theme::figures(COMMAND)));
        let foot = space.bottom() - run.size().y - command.size().y - 7.0;
        painter.hline(space.x_range(), foot, Stroke::new(1.0, palette.rule));
        let below = pos2(space.left(), foot + 5.0 + run.size().y + 2.0);
        painter.galley(pos2(space.left(), foot + 5.0), run, palette.soft);
        painter.galley(below, command, palette.soft);
        let place = Rect::from_min_max(pos2(space.left(), top), pos2(space.right(), foot - GAP));
        let paper = UiBuilder::new().max_rect(place).layout(Layout::top_down(Align::Min));
        ui.scope_builder(paper.ui_stack_info(figures::on_paper()), |ui| {
            ui.spacing_mut().item_spacing = vec2(8.0, 6.0);
            figure(ui);
        });
    });
}

impl MeasuredFigure {
    /// Draws it over the space there is.
    pub(super) fn draw(self, ui: &mut Ui, figures: &Figures, form: &mut Form) {
        match self {
            Self::Overlay(role) => {
                if let Some(overlay) = figures.overlay(role) {
                    figures::overlay(ui, overlay, form, &figures.basis);
                }
            }
            Self::Quantiles => figures::quantiles(ui, &figures.quantiles, &figures.largest, &figures.basis),
            Self::Course(role) => {
                if let Some(strip) = figures.strip(role) {
                    figures::course(ui, strip);
                }
            }
        }
    }
}
