//! Boxes to tick and rings to choose by: what is not chosen must be seen too.

use eframe::egui::Ui;

/// Adds boxes or rings with an outline in the ink of quiet words, which stands out from the ground by more than 3:1, as success
/// criterion 1.4.11 of the Web Content Accessibility Guidelines 2.2 asks of controls (W3C 2023). Buttons have words to be seen by,
/// and a fainter outline.
pub fn outlined<R>(ui: &mut Ui, add: impl FnOnce(&mut Ui) -> R) -> R {
    let usual = ui.visuals().widgets.inactive.bg_stroke.color;
    ui.visuals_mut().widgets.inactive.bg_stroke.color = ui.visuals().weak_text_color();
    let added = add(ui);
    ui.visuals_mut().widgets.inactive.bg_stroke.color = usual;
    added
}
