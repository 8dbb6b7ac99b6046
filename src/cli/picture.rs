//! `framelap picture`: the window's first screen as a PNG, without a display.

use anyhow::anyhow;

use super::arguments::pictures::Picture;
use super::{Outcome, output, scenarios};
use crate::app::{self, Kind, Scene};

pub(super) fn run(options: &Picture) -> anyhow::Result<Outcome> {
    let candidate = options.candidate.as_deref().map(scenarios::find).transpose()?;
    let baseline = options.baseline.as_deref().map(scenarios::find).transpose()?;
    let size = options.size.map(|points| points as f32);
    let scene = Scene { present: options.present.as_deref().and_then(Kind::named), walk_ms: options.walk };
    let picture = app::picture_of(scene, size, options.scale, options.theme.into(), baseline, candidate);
    let picture = picture.map_err(|end_ms| {
        let found = options.walk.unwrap_or_default();
        anyhow!("--walk: found {found} ms, allowed: 0 to {} ms, the length of the walk", (end_ms * 1e3).floor() / 1e3)
    })?;
    output::save(&options.out, |to| picture.write_png(to))?;
    Ok(Outcome::Done)
}
