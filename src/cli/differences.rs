//! `framelap differences`: in which parameters two scenarios differ.

use super::arguments::Differences;
use super::{Outcome, output, scenarios};
use crate::report::differences;
use crate::scenario::parameters;

pub(super) fn run(options: &Differences) -> anyhow::Result<Outcome> {
    let (a, b) = (scenarios::find(&options.a)?, scenarios::find(&options.b)?);
    let found = parameters::differences(&a, &b);
    if !options.csv {
        return output::print(&differences::text([&a.name, &b.name], &found));
    }
    let mut table = Vec::new();
    differences::csv(&found, &mut table)?;
    output::print(&String::from_utf8(table)?)
}
