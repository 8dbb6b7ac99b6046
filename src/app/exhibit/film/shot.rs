//! One picture of a walk: the names of the designs, the figure up to an instant, and below it where it comes from.

use eframe::egui::epaint::ClippedShape;
use eframe::egui::{
    Align, Align2, CentralPanel, Context, Frame, Layout, Margin, Rect, RichText, TexturesDelta, Ui, UiBuilder, pos2,
    vec2,
};

use super::{Film, Shooting};
use crate::app::Views;
use crate::app::exhibit::slide;
use crate::app::figures::{self, WalkView};
use crate::app::painter::Painter;
use crate::app::picture::{self, Picture};
use crate::app::theme::{self, Palette};

/// Height of a picture \[pt\]: the smallest text is a fortieth of it, and a little more.
const HEIGHT: f32 = 40.0 * theme::SMALL - 4.0;
const MARGIN: i8 = 14;
/// Height of the line below.
const FOOT: f32 = 20.0;

/// What pictures of one walk share.
pub(super) struct Camera {
    ctx: Context,
    painter: Painter,
    size: [f32; 2],
    scale: f32,
    names: [String; 2],
    foot: String,
}

impl Camera {
    pub(super) fn new(film: &Film, shooting: &Shooting, date: &str) -> Self {
        let [width, height] = shooting.size.map(|pixels| pixels as f32);
        let scale = height / HEIGHT;
        let ctx = Context::default();
        shooting.theme.show(&ctx);
        let made = film.exhibit.provenance(date);
        let size = [width / scale, HEIGHT];
        Self { ctx, painter: Painter::default(), size, scale, foot: made.run(), names: made.names }
    }

    /// The walk so long after the pose \[ms\].
    pub(super) fn at(&mut self, film: &Film, at_ms: f64) -> Picture {
        let mut walk = WalkView::default();
        walk.pause_at_ms(at_ms);
        self.shoot(film, walk, None)
    }

    /// The end: all of the figure, and the gain in words.
    pub(super) fn held(&mut self, film: &Film) -> Picture {
        let gain = film.exhibit.drawn.verdict.headline.clone();
        self.shoot(film, WalkView::default(), Some(&gain))
    }

    /// The width that a picture of that height has at least, so that nothing of the figure is cut off; none where it has
    /// it \[px\].
    pub(super) fn least_width(&mut self, film: &Film) -> Option<u32> {
        let (views, ..) = self.lay_out(film, WalkView::default(), None);
        let lacks = views.lacks.x;
        (lacks > 0.0).then(|| ((self.size[0] + lacks) * self.scale).ceil() as u32)
    }

    fn shoot(&mut self, film: &Film, walk: WalkView, gain: Option<&str>) -> Picture {
        let (_, shapes, scale) = self.lay_out(film, walk, gain);
        picture::painted(&self.ctx, &self.painter, shapes, self.size, scale)
    }

    fn lay_out(&mut self, film: &Film, walk: WalkView, gain: Option<&str>) -> (Views, Vec<ClippedShape>, f32) {
        let exhibit = &film.exhibit;
        let mut views = Views { walk, presented: true, ..exhibit.views.clone() };
        let Self { ctx, painter, size, scale, names, foot } = self;
        let mut around = |ui: &mut Ui, figure: &mut dyn FnMut(&mut Ui)| page(ui, names, foot, gain, figure);
        let textures = |textures: &mut TexturesDelta| painter.update(textures);
        let (shapes, scale) =
            slide::lay_out_in(ctx, exhibit, exhibit.figure, (*size, *scale), &mut views, &mut around, textures);
        (views, shapes, scale)
    }
}

fn page(ui: &mut Ui, names: &[String; 2], foot: &str, gain: Option<&str>, figure: &mut dyn FnMut(&mut Ui)) {
    let palette = Palette::current(ui);
    let frame = Frame::new().fill(palette.sheet).inner_margin(Margin::same(MARGIN));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let space = ui.max_rect();
        ui.with_layout(Layout::right_to_left(Align::Min), |ui| {
            // Its room is kept free before it is told.
            let gain = RichText::new(gain.unwrap_or(" ")).font(theme::title_face(theme::LARGE)).color(palette.ink);
            ui.label(gain);
            ui.with_layout(Layout::left_to_right(Align::Min), |ui| figures::heading(ui, names));
        });
        let top = ui.cursor().top();
        let at = pos2(space.left(), space.bottom());
        ui.painter().text(at, Align2::LEFT_BOTTOM, foot, theme::small(), palette.soft);
        let place = Rect::from_min_max(pos2(space.left(), top), pos2(space.right(), space.bottom() - FOOT));
        let paper = UiBuilder::new().max_rect(place).layout(Layout::top_down(Align::Min));
        ui.scope_builder(paper.ui_stack_info(figures::on_paper()), |ui| {
            ui.spacing_mut().item_spacing = vec2(8.0, 6.0);
            figure(ui);
        });
    });
}
