//! The typed scenario: what is simulated, its defaults, ranges, units and meanings; RON in and out; the preset library;
//! and what follows from a scenario alone. Knows nothing of chance and time.

mod check;
mod derived;
mod error;
pub mod levels;
pub(crate) mod outline;
pub mod parameters;
mod picture;
mod policies;
pub mod presets;
mod reader;
mod settle;
mod spread;
mod stages;
#[cfg(test)]
mod tests;
mod writer;

use serde::{Deserialize, Serialize};

pub use error::{Place, ScenarioError};
pub use picture::{AfterMissing, Codec, Intra, Layout, Pixels, References, Shape, Slices, Stream};
pub use policies::{Budget, BudgetPieces, Clock, Content, Lead, Motion, Pacing, RunLength};
pub(crate) use reader::{begins_with, byte_of, in_short, is_about_type};
pub use reader::{from_ron, load};
pub use spread::{Buffer, CodecCost, Compose, Delay, PixelCost, Spread, Stall, WhenFull};
pub use stages::{Choose, Closures, Decode, Display, Effect, Encode, HandOff, Host, Light, Link, Pose, Repair, Taken};
pub(crate) use writer::quoted;
pub use writer::{comments_in, save, to_ron};

/// A split-rendering headset's pipeline, its display, its budget and the length of the run: all that a simulation needs.
///
/// The default is the shipped default scenario.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Scenario {
    /// Version of the file format.
    pub format: Format,
    /// Name, one line.
    pub name: String,
    /// What to see in it.
    pub notes: String,
    /// Display and compositor.
    pub display: Display,
    /// Head pose.
    pub pose: Pose,
    /// Host: simulate and render.
    pub host: Host,
    /// Pixel layout.
    pub pixels: Pixels,
    /// Slices.
    pub slices: Slices,
    /// Encoder.
    pub encode: Encode,
    /// Coded stream.
    pub stream: Stream,
    /// Link.
    pub link: Link,
    /// Decoder.
    pub decode: Decode,
    /// Pacing of the host.
    pub pacing: Pacing,
    /// Host clock.
    pub clock: Clock,
    /// Content complexity.
    pub content: Content,
    /// Motion of the wearer.
    pub motion: Motion,
    /// Budget.
    pub budget: Budget,
    /// Length of the run.
    pub run: RunLength,
}

/// Version of the scenario file format; this program reads and writes [`Format::CURRENT`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Format(pub u32);

impl Format {
    /// The version that this program reads and writes.
    pub const CURRENT: Self = Self(1);
}

impl Default for Format {
    fn default() -> Self {
        Self::CURRENT
    }
}
