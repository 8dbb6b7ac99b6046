//! `framelap figure`: one figure of a head-to-head as a file.

use std::ffi::OsStr;

use anyhow::{anyhow, bail};

use super::arguments::Figure;
use super::{Outcome, output, scenarios};
use crate::app::{Exhibit, Given, Kind};
use crate::report::figures::Side;

pub(super) fn run(options: &Figure) -> anyhow::Result<Outcome> {
    let kind = Kind::named(&options.name).ok_or_else(|| anyhow!("{}: there is no such figure", options.name))?;
    known_ending(options)?;
    if options.frame.is_some() && !kind.of_one_frame() {
        bail!("--frame: {} shows no single frame; lanes and fronts do", options.name);
    }
    let baseline = side(options, options.baseline.as_deref(), Side::Baseline)?;
    let candidate = side(options, options.candidate.as_deref(), Side::Candidate)?;
    let mut exhibit = Exhibit::new(kind, baseline, candidate);
    if let Some(frame) = options.frame {
        exhibit.look_at(frame).map_err(|last| anyhow!("--frame: found {frame}, allowed: 0 to {last}"))?;
    }
    let table = exhibit.table();
    output::save(&options.out, |to| table.csv(to))?;
    Ok(Outcome::Done)
}

fn known_ending(options: &Figure) -> anyhow::Result<()> {
    let ending = options.out.extension().unwrap_or_default();
    if ending.eq_ignore_ascii_case("csv") {
        return Ok(());
    }
    bail!("{}: found a name that ends in {:?}, allowed: .csv", options.out.display(), ending.to_string_lossy())
}

/// A side's scenario with the changes to it.
fn side(options: &Figure, given: Option<&OsStr>, side: Side) -> anyhow::Result<Given> {
    let mut scenario = given.map_or_else(|| Ok(Given::start(side)), scenarios::given)?;
    let (option, more) = match side {
        Side::Baseline => ("--set-baseline", &options.set_baseline),
        Side::Candidate => ("--set-candidate", &options.set_candidate),
    };
    scenarios::change_side(scenario.scenario_mut(), &options.changes, option, more)?;
    Ok(scenario)
}
