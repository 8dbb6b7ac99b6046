//! The roles that columns can have, and what their values measure.

use serde::{Deserialize, Serialize};

/// What a column stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Role {
    /// Nothing that is used.
    Unused,
    /// Setting, run or mode: rows of different words or numbers are not of one kind.
    Group,
    /// Number of the frame.
    Frame,
    /// Number of the slice within its frame: the file holds a row a slice.
    Slice,
    /// Slices a frame.
    Slices,
    /// Whether the frame is intra: 0 or 1.
    Intra,
    /// Coded size.
    Size,
    /// Coded pixels.
    Pixels,
    /// Time of the simulation.
    Simulate,
    /// Time of rendering.
    Render,
    /// Time of encoding.
    Encode,
    /// Time on the link.
    Link,
    /// Time of decoding.
    Decode,
    /// Delay of a message from device to host.
    Uplink,
    /// Time of the compositor.
    Compose,
    /// From plan to ready.
    Turnaround,
    /// From pose to photons.
    PoseToPhoton,
    /// Instant at which a frame or slice goes into the encoder, on any clock.
    EncodeIn,
    /// Instant at which it comes out of it, on the same clock.
    EncodeOut,
    /// Instant at which a frame or slice goes into the decoder, on any clock.
    DecodeIn,
    /// Instant at which it comes out of it, on the same clock.
    DecodeOut,
}

/// What a role's values measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A number, a word or a mark.
    Mark,
    /// A duration.
    Time,
    /// A coded size.
    Size,
    /// Pixels.
    Pixels,
    /// An instant on some clock.
    Instant,
}

impl Role {
    /// All, in the order of lists.
    pub const ALL: [Self; 21] = [
        Self::Unused,
        Self::Group,
        Self::Frame,
        Self::Slice,
        Self::Slices,
        Self::Intra,
        Self::Size,
        Self::Pixels,
        Self::Simulate,
        Self::Render,
        Self::Encode,
        Self::Link,
        Self::Decode,
        Self::Uplink,
        Self::Compose,
        Self::Turnaround,
        Self::PoseToPhoton,
        Self::EncodeIn,
        Self::EncodeOut,
        Self::DecodeIn,
        Self::DecodeOut,
    ];

    /// Its name in lists and on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Unused => "unused",
            Self::Group => "group",
            Self::Frame => "frame",
            Self::Slice => "slice",
            Self::Slices => "slices",
            Self::Intra => "intra",
            Self::Size => "size",
            Self::Pixels => "pixels",
            Self::Simulate => "simulate",
            Self::Render => "render",
            Self::Encode => "encode",
            Self::Link => "link",
            Self::Decode => "decode",
            Self::Uplink => "uplink",
            Self::Compose => "compose",
            Self::Turnaround => "turnaround",
            Self::PoseToPhoton => "pose-to-photon",
            Self::EncodeIn => "encode-in",
            Self::EncodeOut => "encode-out",
            Self::DecodeIn => "decode-in",
            Self::DecodeOut => "decode-out",
        }
    }

    /// The role of a name.
    pub fn find(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.name() == name)
    }

    /// What its values measure.
    pub const fn kind(self) -> Kind {
        match self {
            Self::Unused | Self::Group | Self::Frame | Self::Slice | Self::Slices | Self::Intra => Kind::Mark,
            Self::Size => Kind::Size,
            Self::Pixels => Kind::Pixels,
            Self::EncodeIn | Self::EncodeOut | Self::DecodeIn | Self::DecodeOut => Kind::Instant,
            _ => Kind::Time,
        }
    }
}
