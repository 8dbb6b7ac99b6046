//! `framelap picture`: the window's first screen as a PNG, without a display.

use anyhow::anyhow;

use super::arguments::pictures::Picture;
use super::{Outcome, output, scenarios};
use crate::app::{self, Kind, Scene, Unseen};

pub(super) fn run(options: &Picture) -> anyhow::Result<Outcome> {
    let candidate = options.candidate.as_deref().map(scenarios::find).transpose()?;
    let baseline = options.baseline.as_deref().map(scenarios::find).transpose()?;
    let size = options.size.map(|points| points as f32);
    let scene = Scene { present: options.present.as_deref().and_then(Kind::named), walk_ms: options.walk };
    let picture = app::picture_of(scene, size, options.scale, options.theme.into(), baseline, candidate);
    let presented = options.present.as_deref().unwrap_or_default();
    let picture = picture.map_err(|unseen| match unseen {
        Unseen::Walked(end_ms) => {
            let found = options.walk.unwrap_or_default();
            anyhow!(
                "--walk: found {found} ms, allowed: 0 to {} ms, the length of the walk",
                (end_ms * 1e3).floor() / 1e3
            )
        }
        Unseen::Study(why) => anyhow!("{presented}: {why}"),
        Unseen::Size(least) => too_small(options.size, least, presented),
    })?;
    output::save(&options.out, |to| picture.write_png(to))?;
    Ok(Outcome::Done)
}

/// A picture of a figure that is too small for it.
pub(super) fn too_small([width, height]: [u32; 2], least: [u32; 2], figure: &str) -> anyhow::Error {
    anyhow!("--size: found {width}x{height} for {figure}, allowed: at least {}x{}", least[0], least[1])
}
