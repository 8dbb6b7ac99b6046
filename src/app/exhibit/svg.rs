//! Shapes of the toolkit as SVG, which stays sharp at any size and keeps text as text.
//!
//! The writer is our own: what is drawn here are rectangles, lines, circles, polygons and rows of text, and the attributes
//! that keep a row of text as wide as it was laid out are no matter of a library for documents.

mod mesh;
mod paint;
mod text;

use std::fmt::Write as _;

use eframe::egui::epaint::{ClippedShape, StrokeKind};
use eframe::egui::{Pos2, Rect, Shape, Vec2};

use paint::{fill, line, number, point, stroke};

/// What a document says of itself.
#[derive(Debug, Clone, Copy)]
pub(in crate::app) struct About<'a> {
    /// Its title.
    pub(in crate::app) title: &'a str,
    /// Where it comes from, line by line.
    pub(in crate::app) description: &'a str,
}

/// Faces of running text, the window's own first; others are set as wide.
const PROPORTIONAL: &str = "Ubuntu, 'Ubuntu Light', 'Segoe UI', 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif";
/// Faces of numbers in columns.
const MONOSPACE: &str = "Hack, 'DejaVu Sans Mono', Menlo, Consolas, monospace";

/// A document of shapes on an area of that size \[pt\].
pub(in crate::app) fn document(size: Vec2, shapes: &[ClippedShape], about: About<'_>) -> String {
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}", element(size, shapes, about, ""))
}

/// The same as an element of a page, whose ids all begin with `id`.
pub(super) fn element(size: Vec2, shapes: &[ClippedShape], about: About<'_>, id: &str) -> String {
    let mut writer = Writer::new(Rect::from_min_size(Pos2::ZERO, size), id);
    for ClippedShape { clip_rect, shape, .. } in shapes {
        writer.clipped(*clip_rect, shape);
    }
    writer.finish(size, about)
}

/// Text that may stand within an element or an attribute; what XML cannot hold is left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' => out.push(letter),
            letter if letter.is_control() || matches!(letter, '\u{fffe}' | '\u{ffff}') => {}
            letter => out.push(letter),
        }
    }
    out
}

/// A document as it grows.
struct Writer {
    /// What every id begins with.
    id: String,
    /// All of it that can be seen.
    area: Rect,
    body: String,
    clips: Vec<Rect>,
    /// The clip of the group that is open.
    open: Option<usize>,
    /// A path that may still grow: its attributes and its way.
    path: Option<(String, String)>,
}

impl Writer {
    fn new(area: Rect, id: &str) -> Self {
        let id = if id.is_empty() { String::new() } else { format!("{id}-") };
        Self { id, area, body: String::new(), clips: Vec::new(), open: None, path: None }
    }

    fn finish(mut self, size: Vec2, About { title, description }: About<'_>) -> String {
        self.close_path();
        self.group(None);
        let [width, height] = [size.x, size.y].map(number);
        let mut out = String::with_capacity(self.body.len() + 2000);
        let id = &self.id;
        // Writing to a string does not fail.
        let _ = writeln!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
             role=\"img\" aria-labelledby=\"{id}title {id}desc\" font-family=\"{PROPORTIONAL}\" font-weight=\"300\">"
        );
        let _ = writeln!(
            out,
            "<title id=\"{id}title\">{}</title>\n<desc id=\"{id}desc\">{}</desc>",
            escaped(title),
            escaped(description)
        );
        if !self.clips.is_empty() {
            out.push_str("<defs>\n");
            for (number, clip) in self.clips.iter().enumerate() {
                let _ = writeln!(out, "<clipPath id=\"{id}c{number}\"><rect {}/></clipPath>", place(*clip));
            }
            out.push_str("</defs>\n");
        }
        out.push_str(&self.body);
        out.push_str("</svg>\n");
        out
    }

    /// Adds a shape of which only what lies within `clip` is seen.
    fn clipped(&mut self, clip: Rect, shape: &Shape) {
        if let Shape::Vec(shapes) = shape {
            for shape in shapes {
                self.clipped(clip, shape);
            }
            return;
        }
        let seen = clip.intersect(self.area);
        let bounds = shape.visual_bounding_rect();
        if matches!(shape, Shape::Noop | Shape::Callback(_)) || !seen.is_positive() || !seen.intersects(bounds) {
            return;
        }
        let whole = seen.expand(0.5).contains_rect(bounds);
        let group = (!whole).then(|| self.clip(seen));
        self.group(group);
        self.shape(shape);
    }

    fn clip(&mut self, clip: Rect) -> usize {
        self.clips.iter().position(|known| *known == clip).unwrap_or_else(|| {
            self.clips.push(clip);
            self.clips.len() - 1
        })
    }

    /// Sees to it that what follows lies in the group of a clip, or in none.
    fn group(&mut self, clip: Option<usize>) {
        if self.open == clip {
            return;
        }
        self.close_path();
        if self.open.is_some() {
            self.body.push_str("</g>\n");
        }
        if let Some(clip) = clip {
            let _ = writeln!(self.body, "<g clip-path=\"url(#{}c{clip})\">", self.id);
        }
        self.open = clip;
    }

    /// Adds to the path that is open, if it has the same attributes and may be drawn in one with it.
    fn path(&mut self, attributes: String, way: &str, joins: bool) {
        match &mut self.path {
            Some((open, so_far)) if joins && *open == attributes => so_far.push_str(way),
            _ => {
                self.close_path();
                self.path = Some((attributes, way.to_owned()));
            }
        }
        if !joins {
            self.close_path();
        }
    }

    fn close_path(&mut self) {
        if let Some((attributes, way)) = self.path.take() {
            let _ = writeln!(self.body, "<path d=\"{way}\"{attributes}/>");
        }
    }

    fn element(&mut self, element: &str) {
        self.close_path();
        self.body.push_str(element);
        self.body.push('\n');
    }

    fn shape(&mut self, shape: &Shape) {
        match shape {
            Shape::Rect(rect) => self.rect(rect),
            Shape::Circle(circle) => self.element(&format!(
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}{}/>",
                number(circle.center.x),
                number(circle.center.y),
                number(circle.radius),
                fill(circle.fill),
                stroke(circle.stroke)
            )),
            Shape::Ellipse(ellipse) => self.element(&format!(
                "<ellipse cx=\"{}\" cy=\"{}\" rx=\"{}\" ry=\"{}\"{}{}{}/>",
                number(ellipse.center.x),
                number(ellipse.center.y),
                number(ellipse.radius.x),
                number(ellipse.radius.y),
                fill(ellipse.fill),
                stroke(ellipse.stroke),
                turned(ellipse.angle, ellipse.center)
            )),
            Shape::LineSegment { points, stroke: pen } => {
                let straight =
                    [points[0].x - points[1].x, points[0].y - points[1].y].iter().any(|apart| apart.abs() < 1e-3);
                let attributes = format!("{}{}", stroke(*pen), if straight { SHARP } else { "" });
                self.path(attributes, &line(points, false), pen.color.is_opaque());
            }
            Shape::Path(path) => {
                let pen = paint::solid(&path.stroke);
                let attributes = format!("{}{} stroke-linejoin=\"round\"", fill(path.fill), stroke(pen));
                self.path(attributes, &line(&path.points, path.closed), false);
            }
            Shape::Text(text) => text::rows(self, text),
            Shape::Mesh(mesh) => mesh::triangles(self, mesh),
            Shape::QuadraticBezier(curve) => {
                let [from, over, to] = curve.points.map(point);
                let way = format!("M{from}Q{over} {to}{}", if curve.closed { "z" } else { "" });
                self.path(format!("{}{}", fill(curve.fill), stroke(paint::solid(&curve.stroke))), &way, false);
            }
            Shape::CubicBezier(curve) => {
                let [from, over, past, to] = curve.points.map(point);
                let way = format!("M{from}C{over} {past} {to}{}", if curve.closed { "z" } else { "" });
                self.path(format!("{}{}", fill(curve.fill), stroke(paint::solid(&curve.stroke))), &way, false);
            }
            // No figure draws bands or what only a graphics driver can.
            Shape::Noop | Shape::Vec(_) | Shape::Band(_) | Shape::Callback(_) => {}
        }
    }

    fn rect(&mut self, shape: &eframe::egui::epaint::RectShape) {
        let half = shape.stroke.width / 2.0;
        let rect = match shape.stroke_kind {
            _ if shape.stroke.is_empty() => shape.rect,
            StrokeKind::Inside => shape.rect.shrink(half),
            StrokeKind::Middle => shape.rect,
            StrokeKind::Outside => shape.rect.expand(half),
        };
        let radius = shape.corner_radius;
        let corner = f32::from(radius.nw.max(radius.ne).max(radius.sw).max(radius.se));
        let form = if corner > 0.0 { format!(" rx=\"{}\"", number(corner)) } else { SHARP.to_owned() };
        let angle = turned(shape.angle, rect.center());
        self.element(&format!("<rect {}{form}{}{}{angle}/>", place(rect), fill(shape.fill), stroke(shape.stroke)));
    }
}

/// Edges along the axes lie on whole pixels.
const SHARP: &str = " shape-rendering=\"crispEdges\"";

fn place(rect: Rect) -> String {
    let [x, y, width, height] = [rect.left(), rect.top(), rect.width(), rect.height()].map(number);
    format!("x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"")
}

/// A turn by radians about a point.
fn turned(angle: f32, about: Pos2) -> String {
    if angle == 0.0 {
        return String::new();
    }
    format!(" transform=\"rotate({} {})\"", number(angle.to_degrees()), point(about))
}

#[cfg(test)]
mod tests;
