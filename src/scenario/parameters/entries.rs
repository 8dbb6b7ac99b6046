//! The list itself, stage by stage.

mod device;
mod host;
mod run;
mod stream;

use super::list::List;
use super::{Parameter, Stage};

/// All parameters, in pipeline order.
pub(super) fn list() -> Vec<Parameter> {
    let mut list = List { stage: Stage::About, parameters: Vec::new() };
    let mut stage = |stage, add: fn(&mut List)| {
        list.stage = stage;
        add(&mut list);
    };
    stage(Stage::About, run::about);
    stage(Stage::Pose, device::pose);
    stage(Stage::Pacing, host::pacing);
    stage(Stage::Clock, host::clock);
    stage(Stage::Content, host::content);
    stage(Stage::Simulate, host::simulate);
    stage(Stage::Render, host::render);
    stage(Stage::Pixels, stream::pixels);
    stage(Stage::Slices, stream::slices);
    stage(Stage::Encode, stream::encode);
    stage(Stage::Stream, stream::stream);
    stage(Stage::Link, stream::link);
    stage(Stage::Decode, device::decode);
    stage(Stage::Display, device::display);
    stage(Stage::Motion, device::motion);
    stage(Stage::Budget, run::budget);
    stage(Stage::Run, run::run);
    list.parameters
}
