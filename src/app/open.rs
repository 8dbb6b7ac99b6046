//! Opens the window on a display, and says in words why it cannot.

use std::path::PathBuf;
use std::sync::Arc;

use eframe::egui::{IconData, ViewportBuilder};
use thiserror::Error;

use super::own::Library;
use super::session::Found;
use super::state::State;
use super::{App, Given};
use crate::talk::Talk;

/// What the program and its desktop entry are called.
const APP_ID: &str = "framelap";
/// Size of the window at first start \[points\].
pub(super) const SIZE: [f32; 2] = [1440.0, 860.0];
/// Smallest size that still shows everything \[points\].
pub(super) const LEAST_SIZE: [f32; 2] = [900.0, 560.0];

/// Why the window cannot be opened.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "cannot open a window: {cause}\nEverything also works without one: `framelap simulate SCENARIO`, `framelap picture OUT.png`; see `framelap --help`."
)]
pub struct OpenError {
    cause: String,
}

/// Opens the window and returns when it is closed. Without scenarios it shows those of the last session, at the first
/// start whole frames against slices.
///
/// A talk that is given, with its file, is taken in hand.
pub fn open(baseline: Option<Given>, candidate: Option<Given>, talk: Option<(Talk, PathBuf)>) -> Result<(), OpenError> {
    let found = Found::of_user();
    let State { size, maximized, .. } = found.state.clone().unwrap_or_default();
    let options = eframe::NativeOptions {
        viewport: ViewportBuilder::default()
            .with_title(APP_ID)
            .with_app_id(APP_ID)
            .with_inner_size(size)
            .with_maximized(maximized)
            .with_min_inner_size(LEAST_SIZE)
            .with_clamp_size_to_monitor_size(true)
            .with_icon(Arc::new(icon())),
        // The fonts shipped hold every sign the window shows, and text looks the same everywhere.
        system_font_fallback: false,
        // Flat colours show no bands; where software draws, dithering costs a third of a repaint.
        dithering: false,
        ..eframe::NativeOptions::default()
    };
    let create: eframe::AppCreator = Box::new(|creation| {
        let mut app = App::kept(&creation.egui_ctx, [baseline, candidate], found);
        app.own = Library::of_user();
        if let Some((talk, path)) = talk {
            app.open_talk(talk, &path);
        }
        Ok(Box::new(app.working(&creation.egui_ctx)))
    });
    eframe::run_native(APP_ID, options, create).map_err(|error| {
        // Its own text names files of the machine that built it.
        log::debug!("{error}");
        OpenError { cause: cause(&error, display()) }
    })
}

/// The display that the surroundings name, if any.
fn display() -> Option<String> {
    let named =
        |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty()).map(|value| format!("{name}={value}"));
    named("WAYLAND_DISPLAY").or_else(|| named("DISPLAY"))
}

fn cause(error: &eframe::Error, display: Option<String>) -> String {
    match (error, display) {
        (eframe::Error::AppCreation(inner), _) => format!("it cannot be set up ({inner})"),
        (eframe::Error::Winit(_) | eframe::Error::WinitEventLoop(_), None) if cfg!(target_os = "linux") => {
            "there is no display (neither WAYLAND_DISPLAY nor DISPLAY is set)".to_owned()
        }
        (eframe::Error::Winit(_) | eframe::Error::WinitEventLoop(_), display) => match display {
            Some(display) => format!("the display does not answer ({display})"),
            None => "the system's windows do not answer".to_owned(),
        },
        // What is left is the graphics driver, whichever of them was built in.
        _ => "the graphics driver gives no OpenGL surface".to_owned(),
    }
}

fn icon() -> IconData {
    eframe::icon_data::from_png_bytes(include_bytes!("../../assets/icon.png")).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn error_is_in_words_and_names_what_works_without_a_window() {
        let error = eframe::Error::AppCreation("no room".into());
        let text = OpenError { cause: cause(&error, None) }.to_string();
        assert!(text.starts_with("cannot open a window: it cannot be set up (no room)\n"), "{text}");
        assert!(text.contains("`framelap simulate SCENARIO`") && text.contains("`framelap picture OUT.png`"));
    }
}
