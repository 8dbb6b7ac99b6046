//! The units that columns can have.

use serde::{Deserialize, Serialize};

use super::Kind;

/// Unit of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Unit {
    /// None.
    One,
    /// Seconds.
    S,
    /// Milliseconds.
    Ms,
    /// Microseconds.
    Us,
    /// Nanoseconds.
    Ns,
    /// Bits.
    Bits,
    /// Bytes.
    Bytes,
    /// Thousands of bytes.
    Kb,
    /// Pixels.
    Px,
    /// Millions of pixels.
    Mpx,
}

impl Unit {
    /// The units that values of a kind can have.
    pub const fn of(kind: Kind) -> &'static [Self] {
        match kind {
            Kind::Mark => &[Self::One],
            Kind::Time | Kind::Instant => &[Self::S, Self::Ms, Self::Us, Self::Ns],
            Kind::Size => &[Self::Bytes, Self::Kb, Self::Bits],
            Kind::Pixels => &[Self::Px, Self::Mpx],
        }
    }

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::One => "",
            Self::S => "s",
            Self::Ms => "ms",
            Self::Us => "us",
            Self::Ns => "ns",
            Self::Bits => "bits",
            Self::Bytes => "bytes",
            Self::Kb => "kB",
            Self::Px => "px",
            Self::Mpx => "Mpx",
        }
    }

    /// The unit of a name.
    pub fn find(name: &str) -> Option<Self> {
        const ALL: [Unit; 9] =
            [Unit::S, Unit::Ms, Unit::Us, Unit::Ns, Unit::Bits, Unit::Bytes, Unit::Kb, Unit::Px, Unit::Mpx];
        ALL.into_iter().find(|unit| unit.name() == name)
    }

    /// What a value of 1 is in ms, bits or Mpx.
    pub const fn factor(self) -> f64 {
        match self {
            Self::One | Self::Ms | Self::Bits | Self::Mpx => 1.0,
            Self::S => 1e3,
            Self::Us => 1e-3,
            Self::Ns | Self::Px => 1e-6,
            Self::Bytes => 8.0,
            Self::Kb => 8e3,
        }
    }
}
