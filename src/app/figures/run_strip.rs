//! The run: latency and outcome of every frame, baseline above candidate, and what every refresh shows, on one axis of
//! frames. What is narrower than a pixel is folded: least to greatest latency with the mean, marks counted.

mod hover;
mod paint;
mod refreshes;
mod window;

use eframe::egui::{Role, Sense, Ui, WidgetInfo, vec2};
use serde::{Deserialize, Serialize};

use super::ink;
use crate::app::theme::{self, Palette};
use crate::report::figures::run_strip::{Outcome, Strips};
use crate::report::figures::{BUDGET, Side};
use crate::report::format::{count, ms};
use paint::Sheet;
use window::Window;

/// Which frames of the run are seen.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct RunStripView {
    /// Part of the axis of frames; none: all of it.
    window: Option<Window>,
}

const LEAST_HEIGHT: f32 = 190.0;

impl RunStripView {
    /// The same without a window that no hand can lead to: what is kept in a file may be edited.
    pub(in crate::app) fn within_reason(self) -> Self {
        Self { window: self.window.filter(Window::is_within_reason) }
    }

    /// Draws the strips over the space there is, with a mark at the frame that the lanes look at. Gives the frame that was
    /// clicked.
    pub fn show(&mut self, ui: &mut Ui, strips: &Strips, names: &[String; 2], looked_at: usize) -> Option<usize> {
        let palette = Palette::current(ui);
        heading(ui, strips, palette);
        let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
        let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(strips, names)));
        let all = Window::all(strips.frames());
        let mut window = self.window.map_or(all, |window| window.within(&all));
        let before = window;
        let sheet = Sheet::new(rect);
        window.handle(ui, &response, sheet.axis(), &all);
        if response.double_clicked() || window == all {
            self.window = None;
        } else if window != before || self.window.is_some() {
            self.window = Some(window);
        }
        if !ui.is_rect_visible(rect) {
            return None;
        }
        sheet.paint(ui, strips, names, &window, looked_at);
        let found = hover::hover(ui, &sheet, strips, names, &window, &response);
        found.filter(|_| response.clicked())
    }
}

/// The title, what is drawn, and as much of its legend as there is room for.
fn heading(ui: &mut Ui, strips: &Strips, palette: &Palette) {
    ui.horizontal(|ui| {
        ink::title(ui, "The run");
        let mut text = "pose to photon, ms".to_owned();
        let budget = format!(", dotted: {BUDGET} {}", ms(strips.limit_ms));
        let beyond = cut_off_ms(strips).map(|beyond| format!(", cut off: up to {}", ms(beyond)));
        for more in std::iter::once(budget).chain(beyond) {
            let longer = format!("{text}{more}");
            if ink::width(ui.painter(), &longer, theme::small()) > ui.available_width() {
                break;
            }
            text = longer;
        }
        ui.label(eframe::egui::RichText::new(text).font(theme::small()).color(palette.soft));
    });
}

/// The greatest latency, where it is above what there is room for \[ms\].
fn cut_off_ms(strips: &Strips) -> Option<f64> {
    let [_, highest] = paint::reach(strips)?;
    strips.beyond_ms.filter(|beyond| *beyond > highest)
}

/// What is to be seen, in words.
fn in_words(strips: &Strips, names: &[String; 2]) -> String {
    let of = |side: Side| {
        let strip = &strips.sides[side.index()];
        let fold = &strip.total;
        let marked = Outcome::ALL.into_iter().filter(|outcome| fold.of(*outcome) > 0);
        let marked: Vec<String> =
            marked.map(|outcome| format!("{} {}", count(u64::from(fold.of(outcome))), outcome.name())).collect();
        let freeze =
            strip.freeze.map_or_else(String::new, |freeze| format!(", longest freeze {}", ms(freeze.length_ms)));
        format!("{}: {}{freeze}", names[side.index()], marked.join(", "))
    };
    format!("Run of both designs. {}. {}", of(Side::Baseline), of(Side::Candidate))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Run;
    use crate::report::figures::run_strip::Strip;

    #[test]
    fn only_what_there_is_no_room_for_is_said_to_be_cut_off() {
        let nothing = || Strip::new(&Run::default(), 0);
        let cut_off = |limit_ms: f64, beyond_ms: f64| {
            let sides = [nothing(), nothing()];
            cut_off_ms(&Strips { sides, limit_ms, range_ms: Some([34.0, 50.0]), beyond_ms: Some(beyond_ms) })
        };
        assert_eq!(cut_off(38.0, 50.9), None, "16 ms have a margin of 0.96 ms");
        assert_eq!(cut_off(38.0, 51.0), Some(51.0));
        assert_eq!(cut_off(60.0, 61.0), None, "the axis reaches to the budget");
    }
}
