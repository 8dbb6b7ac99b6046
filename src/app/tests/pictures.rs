//! Pictures of the window.

use std::path::PathBuf;

use super::*;

/// Writes a picture where `FRAMELAP_PICTURES` names a folder, to be looked at.
fn keep(name: &str, picture: &Picture) {
    if let Some(folder) = std::env::var_os("FRAMELAP_PICTURES") {
        let path = PathBuf::from(folder).join(format!("{name}.png"));
        picture.write_png(std::fs::File::create(path).unwrap()).unwrap();
    }
}

#[test]
fn first_screen() {
    for (name, size) in [("wide", [1600.0, 900.0]), ("small", [1024.0, 640.0])] {
        for theme in [ThemeChoice::Light, ThemeChoice::Dark] {
            let picture = picture(size, 1.0, theme, None, None);
            keep(&format!("{name}-{theme:?}"), &picture);
        }
    }
}
