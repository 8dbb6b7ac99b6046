//! A figure as a picture of its own: a title, the figure, and below it where it comes from.

use eframe::egui::epaint::ClippedShape;
use eframe::egui::text::LayoutJob;
use eframe::egui::{
    Align, CentralPanel, Context, FontId, Frame, Layout, Margin, Rect, Stroke, TexturesDelta, Ui, UiBuilder, Vec2,
    pos2, vec2,
};

use super::Exhibit;
use crate::app::Views;
use crate::app::figures;
use crate::app::gallery::{Figure, Hand};
use crate::app::painter::Painter;
use crate::app::picture::{self, Picture};
use crate::app::state::{State, ThemeChoice};
use crate::app::theme::{self, Palette};
use crate::report::provenance::Provenance;

/// How a picture of a figure looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slide {
    /// Width and height \[pt\].
    pub size: [f32; 2],
    /// Pixels per point.
    pub scale: f32,
    /// Light or dark.
    pub theme: ThemeChoice,
}

impl Slide {
    /// Width and height in points of the slides of usual presentations: type is as large here as it says \[pt\].
    pub const SIZE: [f32; 2] = [960.0, 540.0];
    /// Pixels per point that fill a usual projector.
    pub const SCALE: f32 = 2.0;
}

/// Margin around everything \[pt\].
const MARGIN: i8 = 20;
/// Margin around a figure that stands on a page \[pt\].
const BARE_MARGIN: i8 = 12;
/// Rows of the command that are shown; all of it is in the file.
const COMMAND_ROWS: usize = 3;
/// Size of the command: to be copied, not to be read from afar \[pt\].
const COMMAND: f32 = 11.0;
/// Distance of figure and foot \[pt\].
const GAP: f32 = 8.0;

/// Paints it.
pub(super) fn paint(exhibit: &Exhibit, slide: &Slide, made: &Provenance, out: &str) -> Picture {
    let (ctx, mut painter) = (context(slide), Painter::default());
    let (shapes, scale) = lay_out(&ctx, exhibit, slide, made, out, |textures| painter.update(textures));
    picture::painted(&ctx, &painter, shapes, slide.size, scale)
}

/// Its shapes.
pub(super) fn shapes(exhibit: &Exhibit, slide: &Slide, made: &Provenance, out: &str) -> Vec<ClippedShape> {
    // At one pixel a point: lines that are one pixel wide there are seen at every size.
    let slide = Slide { scale: 1.0, ..*slide };
    lay_out(&context(&slide), exhibit, &slide, made, out, |_| ()).0
}

/// The least size of a picture in which a figure has the room that it needs \[pt\].
pub(super) fn least(figure: Figure, slide: &Slide, made: &Provenance, out: &str) -> [u32; 2] {
    /// So high that there is room for any figure \[pt\].
    const HIGH: f32 = 2000.0;
    let needs = figure.entry().least;
    let size = [slide.size[0].max(needs.x + 2.0 * f32::from(MARGIN)), HIGH];
    let command = made.command(out);
    let mut room = Vec2::ZERO;
    let contents = |ui: &mut Ui| page(ui, made, &command, &mut |ui| room = ui.available_size());
    picture::lay_out(&context(slide), contents, size, slide.scale, |_| ());
    let around = Vec2::from(size) - room;
    [needs.x + around.x, needs.y + around.y].map(|points| points.ceil() as u32)
}

pub(in crate::app) fn context(slide: &Slide) -> Context {
    let ctx = Context::default();
    slide.theme.show(&ctx);
    ctx
}

fn lay_out(
    ctx: &Context,
    exhibit: &Exhibit,
    slide: &Slide,
    made: &Provenance,
    out: &str,
    textures: impl FnMut(&mut TexturesDelta),
) -> (Vec<ClippedShape>, f32) {
    let command = made.command(out);
    let mut around = |ui: &mut Ui, figure: &mut dyn FnMut(&mut Ui)| page(ui, made, &command, figure);
    let mut views = exhibit.views.clone();
    lay_out_in(ctx, exhibit, exhibit.figure, (slide.size, slide.scale), &mut views, &mut around, textures)
}

/// The shapes of a figure of the exhibit's answers with nothing around it, in the form that it is presented in.
pub(super) fn bare(exhibit: &Exhibit, figure: Figure, slide: &Slide) -> Vec<ClippedShape> {
    let mut around = |ui: &mut Ui, figure: &mut dyn FnMut(&mut Ui)| {
        let frame = Frame::new().fill(Palette::current(ui).sheet).inner_margin(Margin::same(BARE_MARGIN));
        CentralPanel::default().frame(frame).show(ui, |ui| {
            let space = UiBuilder::new().max_rect(ui.max_rect()).layout(Layout::top_down(Align::Min));
            ui.scope_builder(space.ui_stack_info(figures::on_paper()), |ui| {
                ui.spacing_mut().item_spacing = vec2(8.0, 6.0);
                figure(ui);
            });
        });
    };
    let mut views = Views { presented: as_presented(figure), ..exhibit.views.clone() };
    lay_out_in(&context(slide), exhibit, figure, (slide.size, slide.scale), &mut views, &mut around, |_| ()).0
}

/// Whether a figure is drawn on a page as it is presented: those that are tables otherwise, which the page has already.
const fn as_presented(figure: Figure) -> bool {
    matches!(figure, Figure::Ledger | Figure::Outcomes)
}

type Around<'a> = dyn FnMut(&mut Ui, &mut dyn FnMut(&mut Ui)) + 'a;

/// A figure of the exhibit's answers, and what `around` puts around it.
pub(super) fn lay_out_in(
    ctx: &Context,
    exhibit: &Exhibit,
    figure: Figure,
    (size, scale): ([f32; 2], f32),
    views: &mut Views,
    around: &mut Around<'_>,
    textures: impl FnMut(&mut TexturesDelta),
) -> (Vec<ClippedShape>, f32) {
    let mut state = State::default();
    state.pair.clone_from(&exhibit.pair);
    let mut commands = Vec::new();
    let contents = |ui: &mut Ui| {
        let mut hand = Hand {
            state: &state,
            drawn: &exhibit.drawn,
            answers: exhibit.answers.each_ref().map(AsRef::as_ref),
            curve: &exhibit.curve,
            ready: &|_| false,
            views,
            studies: &exhibit.studies,
            commands: &mut commands,
        };
        around(ui, &mut |ui| hand.draw(ui, figure));
    };
    picture::lay_out(ctx, contents, size, scale, textures)
}

/// Title, figure and foot.
fn page(ui: &mut Ui, made: &Provenance, command: &str, figure: &mut dyn FnMut(&mut Ui)) {
    let palette = Palette::current(ui);
    let frame = Frame::new().fill(palette.sheet).inner_margin(Margin::same(MARGIN));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let space = ui.max_rect();
        figures::heading(ui, &made.names);
        let top = ui.cursor().top();
        let foot = foot(ui, made, command, palette);
        let place = Rect::from_min_max(pos2(space.left(), top), pos2(space.right(), foot - GAP));
        let paper = UiBuilder::new().max_rect(place).layout(Layout::top_down(Align::Min));
        ui.scope_builder(paper.ui_stack_info(figures::on_paper()), |ui| {
            ui.spacing_mut().item_spacing = vec2(8.0, 6.0);
            figure(ui);
        });
    });
}

/// Where it comes from: runs, version, date; the command that makes it again. Gives its upper edge.
fn foot(ui: &Ui, made: &Provenance, command: &str, palette: &Palette) -> f32 {
    let (space, painter) = (ui.max_rect(), ui.painter());
    let laid = |text: String, font: FontId, rows: usize| {
        let mut job = LayoutJob::simple(text, font, palette.soft, space.width());
        job.wrap.max_rows = rows;
        painter.layout_job(job)
    };
    let run = laid(made.run(), theme::small(), 1);
    let command = laid(command.to_owned(), theme::figures(COMMAND), COMMAND_ROWS);
    let command_top = space.bottom() - command.size().y;
    let run_top = command_top - run.size().y - 2.0;
    let top = run_top - 5.0;
    painter.hline(space.x_range(), top, Stroke::new(1.0, palette.rule));
    painter.galley(pos2(space.left(), run_top), run, palette.soft);
    painter.galley(pos2(space.left(), command_top), command, palette.soft);
    top
}
