//! The steps of a talk as pictures, as they are presented, without a display.

use eframe::egui::{Context, Vec2};

use crate::app::answers::too_long;
use crate::app::exhibit::svg_document;
use crate::app::painter::Painter;
use crate::app::picture::{self, Picture};
use crate::app::{App, Slide};
use crate::talk::Talk;

/// Presents a talk step by step where nobody looks.
pub struct TalkPictures {
    ctx: Context,
    app: App,
    painter: Painter,
    slide: Slide,
    left: usize,
    title: String,
}

/// Why a step is too much to show, and which, from 0.
pub fn too_long_for_pictures(talk: &Talk) -> Option<(usize, String)> {
    (0..talk.steps.len()).find_map(|step| {
        let (_, why) = talk.pair(step)?.into_iter().find_map(too_long)?;
        Some((step, why))
    })
}

impl TalkPictures {
    /// Of a talk that was checked; at the first step.
    pub fn new(talk: &Talk, slide: Slide) -> Self {
        let ctx = Context::default();
        let mut app = App::still(&ctx, None, None);
        slide.theme.show(&ctx);
        app.state.theme = slide.theme;
        app.present_talk(talk, 0, &ctx);
        let left = talk.steps.len().saturating_sub(1);
        Self { ctx, app, painter: Painter::default(), slide, left, title: talk.title.clone() }
    }

    /// Goes to the next step; false where there is none.
    pub fn go_on(&mut self) -> bool {
        if self.left == 0 {
            return false;
        }
        self.left -= 1;
        self.app.turn_step(1, &self.ctx);
        true
    }

    /// Width and height that pictures of this step and those after it have at least, where this one is too small for its
    /// figure \[pt\]. The step must have been laid out.
    pub fn least_size(&mut self) -> Option<[u32; 2]> {
        let Self { ctx, app, painter, slide, .. } = self;
        let mut least = picture::least_size(ctx, app, painter, slide.size)?;
        while self.go_on() {
            let Self { ctx, app, painter, .. } = self;
            let size = least.map(|points| points as f32);
            picture::lay_out(ctx, |ui| app.contents(ui), size, 1.0, |textures| painter.update(textures));
            least = picture::least_size(ctx, app, painter, size).unwrap_or(least);
        }
        Some(least)
    }

    /// The step as pixels.
    pub fn picture(&mut self) -> Picture {
        picture::paint(&self.ctx, &mut self.app, &mut self.painter, self.slide.size, self.slide.scale)
    }

    /// The step as an SVG document.
    pub fn svg(&mut self) -> String {
        let Self { ctx, app, painter, slide, title, .. } = self;
        let textures = |textures: &mut _| painter.update(textures);
        let (shapes, _) = picture::lay_out(ctx, |ui| app.contents(ui), slide.size, 1.0, textures);
        let zoom = ctx.zoom_factor();
        let caption = app.facts().zip(app.presenting.as_ref().and_then(|presenting| presenting.cast.as_ref()));
        let description = caption.map_or_else(String::new, |(facts, cast)| {
            let step = cast.step();
            [&step.headline, &step.text].map(|text| crate::talk::fill(text, Some(&facts))).join("\n")
        });
        svg_document(Vec2::from(slide.size) / zoom, &shapes, title, &description)
    }
}
