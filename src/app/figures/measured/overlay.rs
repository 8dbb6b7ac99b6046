//! Both spreads of a role over each other, measured open and simulated solid.

use eframe::egui::{Rect, Response, RichText, Role, Sense, Stroke, Ui, WidgetInfo, vec2};

use crate::app::figures::distribution::{Form, LEAST_HEIGHT, Look, plot_of, x_scale};
use crate::app::figures::ink;
use crate::app::theme::{self, Palette};
use crate::report::calibration::unit_of;
use crate::report::figures::measured::overlay::Overlay;
use crate::report::figures::measured::{NAMES, title};
use crate::report::format::{count, number, share};

/// Draws an overlay over the space there is; `basis` says what is compared.
pub(in crate::app) fn overlay(ui: &mut Ui, figure: &Overlay, form: &mut Form, basis: &str) -> Response {
    let palette = Palette::current(ui);
    let heading = title(figure.measure);
    ui.horizontal(|ui| {
        ink::title(ui, &heading);
        if ink::is_on_paper(ui) {
            let text = format!("measured against simulated, {}", form.name().to_lowercase());
            ui.label(RichText::new(text).font(theme::small()).color(palette.soft));
            return;
        }
        ui.spacing_mut().item_spacing.x = 3.0;
        ui.add_space(6.0);
        for other in Form::ALL {
            ui.selectable_value(form, other, RichText::new(other.name()).font(theme::small()));
        }
    });
    if ink::is_on_paper(ui) {
        ui.label(RichText::new(basis).font(theme::small()).color(palette.soft));
    }
    let size = vec2(ui.available_width(), ui.available_height().max(LEAST_HEIGHT));
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, in_words(figure)));
    if ui.is_rect_visible(rect) {
        let names = NAMES.map(str::to_owned);
        let unit = unit_of(figure.measure).0;
        let axis = format!("{heading}, {unit}");
        let look = Look { form: *form, names: &names, axis: &axis, samples: "frames", unit: &format!(" {unit}") };
        look.paint(ui, rect, figure);
        readout(ui, rect, *form, figure, &response);
    }
    response
}

fn readout(ui: &Ui, rect: Rect, form: Form, figure: &Overlay, response: &Response) {
    let plot = plot_of(rect);
    let Some(pointer) = response.hover_pos().filter(|at| plot.contains(*at)) else { return };
    let palette = Palette::current(ui);
    let at = x_scale(form, plot, figure).value(pointer.x);
    ui.painter().vline(pointer.x, plot.y_range(), Stroke::new(1.0, palette.soft));
    let unit = unit_of(figure.measure).0;
    let mut lines = vec![format!("{} {} {unit}", title(figure.measure), number(at, 3))];
    for (side, name) in figure.sides.iter().zip(NAMES) {
        let bin = ((at - figure.first_ms) / figure.bin_ms).floor();
        let here = (bin >= 0.0).then(|| side.bins.get(bin as usize)).flatten().copied().unwrap_or(0);
        if let Some(later) = side.share_later(at) {
            let here = count(u64::from(here));
            let total = count(u64::from(side.total));
            lines.push(format!("{name}: {} above, {here} of {total} in this bin", share(later)));
        }
    }
    response.clone().on_hover_text_at_pointer(lines.join("\n"));
}

fn in_words(figure: &Overlay) -> String {
    let unit = unit_of(figure.measure).0;
    let told = figure.sides.iter().zip(NAMES).map(|(side, name)| {
        let [p50, p95, p99] = side.quantiles_ms.map(|q| q.map_or_else(|| "–".to_owned(), |q| number(q, 2)));
        format!("{name} p50 {p50}, p95 {p95}, p99 {p99} {unit}")
    });
    format!("{}, measured against simulated: {}", title(figure.measure), told.collect::<Vec<_>>().join("; "))
}
