//! A list to pick from with a search over it: parameters and measures.

use eframe::egui::containers::menu::{MenuButton, MenuConfig};
use eframe::egui::{Button, PopupCloseBehavior, Role, ScrollArea, TextEdit, Ui, WidgetInfo};

/// One of the things to pick.
pub(super) struct Item {
    /// What is given back for it.
    pub(super) key: &'static str,
    /// Its name.
    pub(super) name: String,
    /// What it means.
    pub(super) meaning: String,
}

/// A button that names what is picked and opens the list; returns what was picked anew.
pub(super) fn picker(ui: &mut Ui, what: &str, now: &str, items: impl FnOnce() -> Vec<Item>) -> Option<&'static str> {
    let button = MenuButton::from_button(Button::new(now).truncate())
        .config(MenuConfig::new().close_behavior(PopupCloseBehavior::CloseOnClickOutside));
    let (response, inner) = button.ui(ui, |ui| list(ui, what, &items()));
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, format!("{what}: {now}")));
    response.on_hover_text(format!("{what}: choose another"));
    inner.and_then(|inner| inner.inner)
}

fn list(ui: &mut Ui, what: &str, items: &[Item]) -> Option<&'static str> {
    ui.set_width(340.0);
    let id = ui.scope_id().with(("search", what));
    let mut search: String = ui.data_mut(|data| data.get_temp(id).unwrap_or_default());
    let hint = "Words of the name or the meaning";
    let field = ui.add(TextEdit::singleline(&mut search).hint_text(hint).desired_width(f32::INFINITY));
    field.widget_info(|| WidgetInfo::labeled(Role::SearchInput, true, "Search this list"));
    if ui.memory(|memory| memory.focused().is_none()) {
        field.request_focus();
    }
    let words: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
    let found = |item: &&Item| {
        let text = format!("{} {} {}", item.name, item.key, item.meaning).to_lowercase();
        words.iter().all(|word| text.contains(word.as_str()))
    };
    let mut picked = None;
    ScrollArea::vertical().max_height(300.0).auto_shrink([false, true]).show(ui, |ui| {
        let mut none = true;
        for item in items.iter().filter(found) {
            none = false;
            if ui.button(&item.name).on_hover_text(format!("{}\n{}", item.meaning, item.key)).clicked() {
                picked = Some(item.key);
            }
        }
        if none {
            ui.weak("Nothing has all these words.");
        }
    });
    if picked.is_some() {
        search.clear();
        ui.close();
    }
    ui.data_mut(|data| data.insert_temp(id, search));
    picked
}
