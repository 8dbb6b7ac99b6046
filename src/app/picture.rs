//! A picture of the window without a display.

use std::io;

use eframe::egui::epaint::ClippedShape;
use eframe::egui::{Color32, Context, Pos2, RawInput, Rect, TexturesDelta, Ui, Vec2, ViewportId, ViewportInfo, vec2};

use super::painter::Painter;
use super::{App, Kind, ThemeChoice};
use crate::scenario::Scenario;

/// Frames laid out before the one that is painted: sizes that hang on other sizes have settled by then.
const SETTLING_FRAMES: u32 = 5;

/// A picture, row by row from the top.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Width \[px\].
    pub width: u32,
    /// Height \[px\].
    pub height: u32,
    /// Red, green, blue and opacity of each pixel.
    pub rgba: Vec<u8>,
}

impl Picture {
    /// Writes it as PNG.
    pub fn write_png(&self, out: impl io::Write) -> io::Result<()> {
        self.write_png_with(out, &[])
    }

    /// Writes it as PNG with texts, each under its keyword.
    pub fn write_png_with(&self, out: impl io::Write, texts: &[(&str, &str)]) -> io::Result<()> {
        let mut encoder = png::Encoder::new(out, self.width, self.height);
        encoder.set_color(png::ColorType::Rgba);
        encoder.set_depth(png::BitDepth::Eight);
        for (keyword, text) in texts {
            encoder.add_itxt_chunk((*keyword).to_owned(), (*text).to_owned())?;
        }
        let mut writer = encoder.write_header()?;
        writer.write_image_data(&self.rgba)?;
        writer.finish()?;
        Ok(())
    }
}

/// The window on baseline and candidate, whole frames against slices where none are given, with all answers in:
/// `size` in points, `scale` in pixels per point.
pub fn picture(
    size: [f32; 2],
    scale: f32,
    theme: ThemeChoice,
    baseline: Option<Scenario>,
    candidate: Option<Scenario>,
) -> Picture {
    let (ctx, mut app) = answered(theme, baseline, candidate);
    paint(&ctx, &mut app, &mut Painter::default(), size, scale)
}

/// The window on both scenarios with all answers in.
fn answered(theme: ThemeChoice, baseline: Option<Scenario>, candidate: Option<Scenario>) -> (Context, App) {
    let ctx = Context::default();
    let mut app = App::still(&ctx, baseline, candidate);
    app.answer_now();
    theme.show(&ctx);
    (ctx, app)
}

/// What of the window is painted instead of its first screen.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Scene {
    /// The figure that is presented; none: the page.
    pub present: Option<Kind>,
    /// The frame of the lanes is walked through and has come so far since its pose \[ms\]; none: no walk.
    pub walk_ms: Option<f64>,
}

/// Why a scene cannot be painted.
#[derive(Debug, Clone, PartialEq)]
pub enum Unseen {
    /// The walk is to be seen after its end, which is then \[ms\].
    Walked(f64),
    /// The study that is presented finds nothing.
    Study(String),
    /// What is presented would be cut off in a picture that is narrower or lower than this \[pt\].
    Size([u32; 2]),
}

/// The same as [`picture`] with a figure presented or a walk open. A study that is presented is run first.
///
/// # Errors
/// Why it cannot be painted.
pub fn picture_of(
    scene: Scene,
    size: [f32; 2],
    scale: f32,
    theme: ThemeChoice,
    baseline: Option<Scenario>,
    candidate: Option<Scenario>,
) -> Result<Picture, Unseen> {
    let (ctx, mut app) = answered(theme, baseline, candidate);
    if let Some(kind) = scene.present {
        if let Some(study) = kind.0.study() {
            let pair = app.state.pair.clone();
            app.studies.run_now(study, &pair).map_err(|error| Unseen::Study(error.to_string()))?;
        }
        app.present(Some(kind.0), &ctx);
    }
    if let Some(at_ms) = scene.walk_ms {
        let end_ms = app.walk_end_ms();
        if at_ms > end_ms {
            return Err(Unseen::Walked(end_ms));
        }
        app.walk_at_ms(at_ms);
    }
    let mut painter = Painter::default();
    let picture = paint(&ctx, &mut app, &mut painter, size, scale);
    if scene.present.is_some()
        && let Some(least) = least_size(&ctx, &mut app, &mut painter, size)
    {
        return Err(Unseen::Size(least));
    }
    Ok(picture)
}

/// Width and height that what was laid out last, presented in that size, has at least, where it has not the room that it
/// needs \[pt\].
pub(super) fn least_size(ctx: &Context, app: &mut App, painter: &mut Painter, size: [f32; 2]) -> Option<[u32; 2]> {
    /// Sizes that are tried: what is presented is zoomed as it is high, so what is lacking changes with the size.
    const TRIES: usize = 16;
    let lacks = |app: &App| app.views.lacks * ctx.zoom_factor();
    if lacks(app) == Vec2::ZERO {
        return None;
    }
    let mut size = Vec2::from(size);
    for _ in 0..TRIES {
        let lacking = lacks(app);
        if lacking == Vec2::ZERO {
            break;
        }
        size = (size + lacking).ceil();
        lay_out(ctx, |ui| app.contents(ui), size.into(), 1.0, |textures| painter.update(textures));
    }
    Some([size.x, size.y].map(|points| points as u32))
}

/// Lays the page out until it has settled and paints it.
///
/// The painter is the context's own: a context hands out each texture once.
pub(super) fn paint(ctx: &Context, app: &mut App, painter: &mut Painter, size: [f32; 2], scale: f32) -> Picture {
    let (shapes, scale) = lay_out(ctx, |ui| app.contents(ui), size, scale, |textures| painter.update(textures));
    painted(ctx, painter, shapes, size, scale)
}

/// The picture of shapes that were laid out on an area of that size at the usual zoom; `scale` holds the zoom of now.
pub(super) fn painted(
    ctx: &Context,
    painter: &Painter,
    shapes: Vec<ClippedShape>,
    size: [f32; 2],
    scale: f32,
) -> Picture {
    let primitives = ctx.tessellate(shapes, scale);
    let native = scale / ctx.zoom_factor();
    let pixels = size.map(|points| (points * native).round().max(1.0) as usize);
    let image = painter.paint(pixels, scale, Color32::BLACK, &primitives);
    Picture {
        width: image.size[0] as u32,
        height: image.size[1] as u32,
        rgba: image.pixels.iter().flat_map(Color32::to_array).collect(),
    }
}

/// The shapes of settled contents, and the pixels per point that they are for.
pub(super) fn lay_out(
    ctx: &Context,
    mut contents: impl FnMut(&mut Ui),
    size: [f32; 2],
    scale: f32,
    mut textures: impl FnMut(&mut TexturesDelta),
) -> (Vec<ClippedShape>, f32) {
    ctx.all_styles_mut(|style| style.animation_time = 0.0);
    let mut settled = (Vec::new(), scale);
    for frame in 0..=SETTLING_FRAMES {
        let area = size.map(|points| points / ctx.zoom_factor());
        let mut output = ctx.run_ui(input(area, scale, frame), &mut contents);
        textures(&mut output.textures_delta);
        settled = (std::mem::take(&mut output.shapes), output.pixels_per_point);
        output.drop_without_applying_deltas();
    }
    settled
}

fn input(size: [f32; 2], scale: f32, frame: u32) -> RawInput {
    let viewport = ViewportInfo { native_pixels_per_point: Some(scale), ..ViewportInfo::default() };
    RawInput {
        screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(size[0], size[1]))),
        viewports: std::iter::once((ViewportId::ROOT, viewport)).collect(),
        time: Some(f64::from(frame) / 60.0),
        focused: true,
        ..RawInput::default()
    }
}
