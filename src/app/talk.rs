//! Talks in the window: the one in hand and what is done with it, how it is presented, and its steps as pictures.

mod ahead;
mod caption;
mod cast;
mod desk;
mod look;
mod panel;
mod pictures;
mod told;

pub(super) use cast::Cast;
pub(super) use desk::{Act, Desk, InHand, Source};
pub use pictures::{TalkPictures, too_long_for_pictures};
