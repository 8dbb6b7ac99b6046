//! The fields, each with a profile of its density along the horizontal below.

use eframe::egui::{
    Align2, Mesh, Painter, Pos2, Rangef, Rect, Response, Shape, Stroke, StrokeKind, Ui, Vec2, pos2, vec2,
};

use crate::app::figures::ink::{self, Mark};
use crate::app::theme::{self, Palette};
use crate::report::figures::Side;
use crate::report::figures::eye::{Eye, Eyes};
use crate::report::format::{number, share};

/// Height of a line of text.
const LINE: f32 = 17.0;
/// Space between the two fields.
const BETWEEN: f32 = 20.0;
/// Height of the profile, and the height of a cell from which there is room for it.
const PROFILE: f32 = 62.0;
const WITH_PROFILE: f32 = 290.0;
/// Room for the profile's angles below it.
const ANGLES: f32 = 20.0;
/// How the density comes about, where there is room to say it.
const FORMULA: &str = "Spread evenly over the angle: eye's pixels / field of view x the layout's density.";
/// Cells of the shading along an axis.
const CELLS: u32 = 48;
/// Width of a field from which its contours are named.
const WITH_NAMES: f32 = 150.0;
/// Heights of a design's name, and of the lines below its field, where the field is drawn large.
const LARGE: [f32; 2] = [30.0, 26.0];
/// Parts of the centre's pixels at which a contour is drawn.
const CONTOURS: [(f64, &str); 2] = [(0.5, "1/2"), (0.25, "1/4")];

/// Draws both fields side by side and to one scale.
pub(super) fn paint(ui: &Ui, rect: Rect, eyes: &Eyes, names: &[String; 2], response: &Response) {
    let palette = Palette::current(ui);
    let width = (rect.width() - BETWEEN) / 2.0;
    let profile = rect.height() >= WITH_PROFILE;
    let formula = profile && ink::width(ui.painter(), FORMULA, theme::small()) <= rect.width();
    let below = 2.0 * LINE + if profile { PROFILE + ANGLES } else { LINE };
    if formula {
        let at = pos2(rect.left(), rect.bottom());
        ui.painter().text(at, Align2::LEFT_BOTTOM, FORMULA, theme::small(), palette.soft);
    }
    let height = rect.height() - LINE - below - 8.0;
    let Common { per_deg, row, densest } = Common::of(eyes, vec2(width, height));
    for side in Side::BOTH {
        let eye = &eyes.sides[side.index()];
        let left = rect.left() + side.index() as f32 * (width + BETWEEN);
        let size = vec2((eye.fov_deg[0] * per_deg) as f32, (eye.fov_deg[1] * per_deg) as f32);
        let top = rect.top() + LINE + 2.0 + (row - size.y) / 2.0;
        let field = Field { side, eye, rect: Rect::from_min_size(pos2(left, top), size), palette };
        let painter = ui.painter();
        field.name(painter, pos2(left, rect.top()), &names[side.index()]);
        field.shade(painter, densest);
        field.lines(painter);
        let mut below = rect.top() + LINE + 2.0 + row + 6.0;
        if profile {
            let greatest = eyes.sides.iter().map(|eye| eye.px_per_deg[0]).fold(0.0, f64::max);
            field.profile(painter, below, greatest);
            below += PROFILE + ANGLES;
        }
        field.numbers(painter, below, width, !profile);
        field.hover(ui, names, response);
    }
}

/// Draws both fields as large as they can be, the densities in large type upon them.
pub(super) fn paint_large(ui: &Ui, rect: Rect, eyes: &Eyes, names: &[String; 2], response: &Response) {
    let palette = Palette::current(ui);
    let painter = ui.painter();
    let width = (rect.width() - BETWEEN) / 2.0;
    let [head, line] = LARGE;
    let height = rect.height() - head - line - super::limits::LEVELS - 12.0;
    let Common { per_deg, row, densest } = Common::of(eyes, vec2(width, height));
    for side in Side::BOTH {
        let eye = &eyes.sides[side.index()];
        let left = rect.left() + side.index() as f32 * (width + BETWEEN);
        let size = vec2((eye.fov_deg[0] * per_deg) as f32, (eye.fov_deg[1] * per_deg) as f32);
        let left = left + (width - size.x) / 2.0;
        let field = Field { side, eye, rect: Rect::from_min_size(pos2(left, rect.top() + head), size), palette };
        let at = pos2(left + 8.0, rect.top() + head / 2.0);
        Mark::of(side).draw(painter, at, 13.0, palette.side(side), palette.sheet);
        let name = &names[side.index()];
        let large = ink::width(painter, name, theme::title()) <= width - 24.0;
        let font = if large { theme::title() } else { theme::small() };
        painter.text(at + vec2(14.0, 0.0), Align2::LEFT_CENTER, name, font, palette.ink);
        field.shade(painter, densest);
        field.lines(painter);
        field.densities(painter);
        let [wide, high] = eye.fov_deg.map(|deg| number(deg, 0));
        let below = pos2(left, rect.top() + head + row + 4.0 + line / 2.0);
        let text = format!("{wide}° x {high}°, {} x {} px coded", eye.coded_px.0, eye.coded_px.1);
        painter.text(below, Align2::LEFT_CENTER, text, theme::text(), palette.ink);
        field.hover(ui, names, response);
    }
}

/// What both fields share, so that they can be compared.
struct Common {
    /// Points per degree.
    per_deg: f64,
    /// Height of the higher one \[pt\].
    row: f32,
    /// Most coded pixels of a square degree.
    densest: f64,
}

impl Common {
    /// Fields as large as each can be in so much room.
    fn of(eyes: &Eyes, room: Vec2) -> Self {
        let [wide, high] = [0, 1].map(|axis| eyes.sides.iter().map(|eye| eye.fov_deg[axis]).fold(1.0, f64::max));
        let per_deg = (f64::from(room.x) / wide).min(f64::from(room.y) / high).max(0.1);
        let densest = eyes.sides.iter().map(Eye::densest).fold(0.0, f64::max);
        Self { per_deg, row: (high * per_deg) as f32, densest }
    }
}

struct Field<'a> {
    side: Side,
    eye: &'a Eye,
    rect: Rect,
    palette: &'a Palette,
}

impl Field<'_> {
    /// Where an angle from the centre is.
    fn place(&self, [right, up]: [f64; 2]) -> Pos2 {
        let [wide, high] = self.eye.fov_deg;
        pos2(
            self.rect.center().x + self.rect.width() * (right / wide) as f32,
            self.rect.center().y - self.rect.height() * (up / high) as f32,
        )
    }

    fn name(&self, painter: &Painter, left_top: Pos2, name: &str) {
        let middle = left_top.y + LINE / 2.0;
        let mark = pos2(left_top.x + 5.0, middle);
        Mark::of(self.side).draw(painter, mark, 9.0, self.palette.side(self.side), self.palette.sheet);
        let at = pos2(left_top.x + 14.0, middle);
        painter.text(at, Align2::LEFT_CENTER, name, theme::small(), self.palette.ink);
    }

    /// The darker, the more coded pixels a square degree has.
    fn shade(&self, painter: &Painter, densest: f64) {
        let mut mesh = Mesh::default();
        let columns = CELLS + 1;
        for up in 0..columns {
            for right in 0..columns {
                let part = |step: u32, fov: f64| (f64::from(step) / f64::from(CELLS) - 0.5) * fov;
                let at = [part(right, self.eye.fov_deg[0]), part(up, self.eye.fov_deg[1])];
                let density = self.eye.density(at).map_or(0.0, |found| found.px_per_deg[0] * found.px_per_deg[1]);
                // Ink is heavier than blue.
                let weight = if self.side == Side::Baseline { 0.34 } else { 0.6 };
                let dark = 0.06 + weight * (density / densest) as f32;
                let color = theme::blend(self.palette.sheet, self.palette.side(self.side), dark);
                mesh.colored_vertex(self.place(at), color);
            }
        }
        for up in 0..CELLS {
            for right in 0..CELLS {
                let corner = up * columns + right;
                mesh.add_triangle(corner, corner + 1, corner + columns);
                mesh.add_triangle(corner + 1, corner + columns, corner + columns + 1);
            }
        }
        painter.add(Shape::mesh(mesh));
    }

    /// Borders between slices light, contours of the density dark, the field's own border as its design is drawn.
    fn lines(&self, painter: &Painter) {
        let palette = self.palette;
        let light = Stroke::new(1.0, theme::blend(palette.side(self.side), palette.sheet, 0.75));
        for up in &self.eye.borders_deg {
            let y = self.place([0.0, *up]).y;
            painter.hline(self.rect.x_range(), (y * 2.0).round() / 2.0, light);
        }
        let dark = Stroke::new(1.2, palette.ink);
        for (left, name) in CONTOURS {
            let quarter = self.eye.contour(left);
            for [right, up] in [[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]] {
                let line: Vec<Pos2> = quarter.iter().map(|at| self.place([at[0] * right, at[1] * up])).collect();
                painter.extend(Shape::dashed_line(&line, dark, 4.0, 3.0));
            }
            if let Some(middle) = quarter.get(quarter.len() / 2).filter(|_| self.rect.width() >= WITH_NAMES) {
                let ground = theme::blend(palette.sheet, palette.side(self.side), 0.15);
                let at = self.place([-middle[0], middle[1]]);
                ink::text_on(painter, at, Align2::CENTER_CENTER, name, theme::small(), [palette.ink, ground]);
            }
        }
        painter.rect_stroke(self.rect, 0.0, Stroke::new(1.5, palette.side(self.side)), StrokeKind::Inside);
    }

    /// The density at the centre, and at the edge where it is another, upon the field.
    fn densities(&self, painter: &Painter) {
        let [center, edge] = self.eye.px_per_deg.map(|px| number(px, 1));
        let colors = [self.palette.ink, self.palette.sheet];
        let text = format!("{center} px/deg");
        let at = self.rect.center();
        let taken = ink::text_on(painter, at, Align2::CENTER_CENTER, text, theme::title_face(theme::LARGE), colors);
        let (text, at) = (format!("{edge} at the edge"), self.rect.right_center() - vec2(8.0, 0.0));
        let free = at.x - ink::width(painter, &text, theme::text()) - 10.0;
        if edge != center && free > taken.right() {
            ink::text_on(painter, at, Align2::RIGHT_CENTER, text, theme::text(), colors);
        }
    }

    /// Horizontal pixels per degree along the horizontal through the centre.
    fn profile(&self, painter: &Painter, top: f32, greatest: f64) {
        let palette = self.palette;
        let area = Rect::from_x_y_ranges(self.rect.x_range(), top + 12.0..=top + PROFILE);
        let place = |right: f64, px: f64| {
            pos2(self.place([right, 0.0]).x, area.bottom() - area.height() * (px / greatest) as f32)
        };
        painter.hline(area.x_range(), area.bottom(), Stroke::new(1.0, palette.soft));
        let half = self.eye.fov_deg[0] / 2.0;
        let steps = 2 * CELLS;
        let points = (0..=steps).filter_map(|step| {
            let right = (f64::from(step) / f64::from(steps) - 0.5) * 2.0 * half;
            Some(place(right, self.eye.density([right, 0.0])?.px_per_deg[0]))
        });
        let points: Vec<Pos2> = points.collect();
        let stroke = Stroke::new(2.0, palette.side(self.side));
        match self.side {
            Side::Baseline => painter.extend(Shape::dashed_line(&points, stroke, 6.0, 4.0)),
            Side::Candidate => {
                painter.add(Shape::line(points, stroke));
            }
        }
        self.profile_numbers(painter, place(0.0, self.eye.px_per_deg[0]), place(half, self.eye.px_per_deg[1]), &area);
        let angles = [
            (-half, Align2::LEFT_TOP, format!("−{}°", number(half, 0))),
            (0.0, Align2::CENTER_TOP, "0°".to_owned()),
            (half, Align2::RIGHT_TOP, format!("{}°", number(half, 0))),
        ];
        for (right, anchor, text) in angles {
            let at = place(right, 0.0);
            painter.vline(at.x, Rangef::new(at.y, at.y + 3.0), Stroke::new(1.0, palette.soft));
            painter.text(at + vec2(0.0, 3.0), anchor, text, theme::small(), palette.soft);
        }
    }

    /// The density at the centre over the profile's top, that at the edge under its end where there is room.
    fn profile_numbers(&self, painter: &Painter, center: Pos2, edge: Pos2, area: &Rect) {
        let texts = self.eye.px_per_deg.map(|px| number(px, 1));
        let font = || theme::figures(theme::SMALL);
        let color = self.palette.ink;
        let text = format!("{} px/deg", texts[0]);
        let taken = painter.text(center - vec2(0.0, 2.0), Align2::CENTER_BOTTOM, text, font(), color);
        let level = (edge.y - center.y).abs() < 16.0;
        let left = edge.x - 2.0 - ink::width(painter, &texts[1], font());
        if level && left < taken.right() + 6.0 {
            return;
        }
        let (down, anchor) = if level || area.bottom() - edge.y < 18.0 {
            (-2.0, Align2::RIGHT_BOTTOM)
        } else {
            (2.0, Align2::RIGHT_TOP)
        };
        let colors = [color, self.palette.sheet];
        ink::text_on(painter, edge + vec2(-2.0, down), anchor, &texts[1], font(), colors);
    }

    /// Size and density in numbers.
    fn numbers(&self, painter: &Painter, top: f32, width: f32, density: bool) {
        let Eye { fov_deg, coded_px, px_per_deg, .. } = self.eye;
        let [wide, high] = fov_deg.map(|deg| number(deg, 0));
        let field = format!("{wide}° x {high}°");
        let coded = format!("{} x {} px coded", coded_px.0, coded_px.1);
        let [center, edge] = px_per_deg.map(|px| number(px, 1));
        let fits = |text: &str| ink::width(painter, text, theme::small()) <= width;
        let mut lines = Vec::new();
        let whole = format!("{field}, {coded}");
        if fits(&whole) {
            lines.push(whole);
        } else {
            lines.extend([field, coded]);
        }
        if density {
            let one = format!("px/deg: centre {center}, edge {edge}");
            lines.push(if fits(&one) { one } else { format!("{center} to {edge} px/deg") });
        }
        for (number, line) in lines.iter().enumerate() {
            let at = pos2(self.rect.left(), top + number as f32 * LINE);
            let color = if number == 0 { self.palette.ink } else { self.palette.soft };
            painter.text(at, Align2::LEFT_TOP, line, theme::small(), color);
        }
    }

    /// The density of the place under the pointer.
    fn hover(&self, ui: &Ui, names: &[String; 2], response: &Response) {
        let Some(pointer) = response.hover_pos().filter(|at| self.rect.contains(*at)) else { return };
        let [wide, high] = self.eye.fov_deg;
        let right = f64::from((pointer.x - self.rect.center().x) / self.rect.width()) * wide;
        let up = f64::from((self.rect.center().y - pointer.y) / self.rect.height()) * high;
        let Some(density) = self.eye.density([right, up]) else { return };
        let stroke = Stroke::new(1.0, self.palette.ink);
        ui.painter().hline(self.rect.x_range(), pointer.y, stroke);
        ui.painter().vline(pointer.x, self.rect.y_range(), stroke);
        let [across, upward] = density.px_per_deg.map(|px| number(px, 2));
        let ways = [(right, "right", "left"), (up, "up", "down")]
            .map(|(deg, more, less)| format!("{}° {}", number(deg.abs(), 1), if deg < 0.0 { less } else { more }));
        let slice = self.eye.slice_at(up) + 1;
        response.clone().on_hover_text_at_pointer(format!(
            "{}, {} and {} of the centre\n{across} px/deg across, {upward} px/deg upward\n{} of the display's pixels \
             coded here\nslice {slice} of {}",
            names[self.side.index()],
            ways[0],
            ways[1],
            share(density.share),
            self.eye.slices
        ));
    }
}
