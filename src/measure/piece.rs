//! What the time from pose to photon is made of, and who answers for it.

use std::fmt;

use serde::ser::{Serialize, SerializeMap, Serializer};

/// A piece of the time from pose to photon, in the order in which a frame meets them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Piece {
    /// Age of the pose when simulate, or render, takes it.
    Pose,
    /// Simulate.
    Simulate,
    /// Wait for the GPU.
    WaitGpu,
    /// Render, up to the end of the part that holds the slice.
    Render,
    /// Wait before the encoder.
    WaitEncode,
    /// Service at the encoder.
    Encode,
    /// From the end of that service until the slice can come out.
    EncodePipeline,
    /// Wait before the link, behind resends of other units too.
    WaitLink,
    /// Sending.
    Link,
    /// Sending held up by a closure.
    Closure,
    /// Propagation.
    Propagation,
    /// Delay after sending.
    Delay,
    /// From the arrival of a unit with losses to that of the resend that completed it.
    Repair,
    /// Done, but an earlier slice is not: behind the encoder, on the way, before delivery, behind the decoder.
    Order,
    /// Wait before the decoder.
    WaitDecode,
    /// Service at the decoder.
    Decode,
    /// From the end of that service until the slice can come out.
    DecodePipeline,
    /// Ready, waiting for the latch.
    WaitLatch,
    /// From latch to vsync: late correction and composition.
    Latch,
    /// From vsync to photons.
    Light,
}

impl Piece {
    /// How many there are.
    pub const COUNT: usize = 20;

    /// All pieces, from pose to photon.
    pub const ALL: [Self; Self::COUNT] = [
        Self::Pose,
        Self::Simulate,
        Self::WaitGpu,
        Self::Render,
        Self::WaitEncode,
        Self::Encode,
        Self::EncodePipeline,
        Self::WaitLink,
        Self::Link,
        Self::Closure,
        Self::Propagation,
        Self::Delay,
        Self::Repair,
        Self::Order,
        Self::WaitDecode,
        Self::Decode,
        Self::DecodePipeline,
        Self::WaitLatch,
        Self::Latch,
        Self::Light,
    ];

    /// Its name in tables and JSON.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pose => "pose",
            Self::Simulate => "simulate",
            Self::WaitGpu => "wait_gpu",
            Self::Render => "render",
            Self::WaitEncode => "wait_encode",
            Self::Encode => "encode",
            Self::EncodePipeline => "encode_pipeline",
            Self::WaitLink => "wait_link",
            Self::Link => "link",
            Self::Closure => "closure",
            Self::Propagation => "propagation",
            Self::Delay => "delay",
            Self::Repair => "repair",
            Self::Order => "order",
            Self::WaitDecode => "wait_decode",
            Self::Decode => "decode",
            Self::DecodePipeline => "decode_pipeline",
            Self::WaitLatch => "wait_latch",
            Self::Latch => "latch",
            Self::Light => "light",
        }
    }

    /// Its name for people.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Pose => "Pose age",
            Self::Simulate => "Simulate",
            Self::WaitGpu => "Wait for GPU",
            Self::Render => "Render",
            Self::WaitEncode => "Wait for encoder",
            Self::Encode => "Encoder work",
            Self::EncodePipeline => "Encoder pipeline",
            Self::WaitLink => "Wait for link",
            Self::Link => "Link sending",
            Self::Closure => "Link closed",
            Self::Propagation => "Propagation",
            Self::Delay => "Link delay",
            Self::Repair => "Repair",
            Self::Order => "Wait for order",
            Self::WaitDecode => "Wait for decoder",
            Self::Decode => "Decoder work",
            Self::DecodePipeline => "Decoder pipeline",
            Self::WaitLatch => "Wait for latch",
            Self::Latch => "Latch to vsync",
            Self::Light => "Vsync to photons",
        }
    }

    /// The share of the budget that it draws on.
    pub const fn team(self) -> Team {
        match self {
            Self::Pose => Team::Pose,
            Self::Simulate => Team::Simulate,
            Self::Render => Team::Render,
            Self::Encode | Self::EncodePipeline => Team::Encode,
            Self::Link | Self::Closure | Self::Propagation | Self::Delay | Self::Repair => Team::Link,
            Self::Decode | Self::DecodePipeline => Team::Decode,
            Self::WaitGpu | Self::WaitEncode | Self::WaitLink | Self::Order | Self::WaitDecode | Self::WaitLatch => {
                Team::Wait
            }
            Self::Latch => Team::Latch,
            Self::Light => Team::Light,
        }
    }
}

/// Who answers for a piece: the shares into which the budget splits the time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Team {
    /// Pose tracking and the uplink.
    Pose,
    /// Simulation.
    Simulate,
    /// Rendering.
    Render,
    /// Encoding, its pipeline included.
    Encode,
    /// The link, with propagation, delay, repair and closures.
    Link,
    /// Decoding, its pipeline included.
    Decode,
    /// Waits of every kind: the architect's own.
    Wait,
    /// From latch to vsync.
    Latch,
    /// From vsync to photons.
    Light,
}

impl Team {
    /// All of them, from pose to photon.
    pub const ALL: [Self; 9] = [
        Self::Pose,
        Self::Simulate,
        Self::Render,
        Self::Encode,
        Self::Link,
        Self::Decode,
        Self::Wait,
        Self::Latch,
        Self::Light,
    ];

    /// Its name in tables and JSON.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pose => "pose",
            Self::Simulate => "simulate",
            Self::Render => "render",
            Self::Encode => "encode",
            Self::Link => "link",
            Self::Decode => "decode",
            Self::Wait => "wait",
            Self::Latch => "latch",
            Self::Light => "light",
        }
    }

    /// Its name for people: that of its piece where it has one alone; of several none has the team's name.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Pose => Piece::Pose.label(),
            Self::Simulate => Piece::Simulate.label(),
            Self::Render => Piece::Render.label(),
            Self::Encode => "Encode",
            Self::Link => "Link",
            Self::Decode => "Decode",
            Self::Wait => "Waits",
            Self::Latch => Piece::Latch.label(),
            Self::Light => Piece::Light.label(),
        }
    }
}

/// Mean exposed time by piece \[ms\]; nothing when no counted frame was shown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Exposed(Option<[f64; Piece::COUNT]>);

impl Exposed {
    /// Means in the order of [`Piece::ALL`] \[ms\], or none when there is nothing to take the mean of.
    pub(super) const fn new(means_ms: Option<[f64; Piece::COUNT]>) -> Self {
        Self(means_ms)
    }

    /// Mean exposed time of one piece \[ms\].
    pub fn of(&self, piece: Piece) -> Option<f64> {
        self.0.map(|means| means[piece as usize])
    }

    /// Mean exposed time of all pieces of a team \[ms\].
    pub fn of_team(&self, team: Team) -> Option<f64> {
        let of_team = |piece: &Piece| piece.team() == team;
        self.0.map(|means| Piece::ALL.into_iter().filter(of_team).map(|piece| means[piece as usize]).sum())
    }

    /// The sum of all pieces \[ms\]: the mean pose to photon.
    pub fn total(&self) -> Option<f64> {
        self.0.map(|means| means.iter().sum())
    }
}

/// A map from every piece's name to its mean, or to null.
impl Serialize for Exposed {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(Piece::COUNT))?;
        for piece in Piece::ALL {
            map.serialize_entry(piece.name(), &self.of(piece))?;
        }
        map.end()
    }
}

impl fmt::Display for Piece {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.label())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_index_themselves_and_have_names_of_their_own() {
        for (index, piece) in Piece::ALL.into_iter().enumerate() {
            assert_eq!(piece as usize, index);
            assert!(Piece::ALL.into_iter().filter(|other| other.name() == piece.name()).count() == 1);
            // A piece is named as its team only where it is all of it.
            let lone = Piece::ALL.into_iter().filter(|other| other.team() == piece.team()).count() == 1;
            let teams = Team::ALL.into_iter().filter(|team| team.label() == piece.label()).count();
            assert_eq!(teams, usize::from(lone), "{piece:?}");
        }
    }

    #[test]
    fn teams_share_out_every_piece() {
        let exposed = Exposed::new(Some(std::array::from_fn(|index| index as f64)));
        let by_team: f64 = Team::ALL.into_iter().filter_map(|team| exposed.of_team(team)).sum();
        assert!((by_team - 190.0).abs() < 1e-12);
        assert_eq!(exposed.total(), Some(190.0));
        assert_eq!(exposed.of_team(Team::Encode), Some(5.0 + 6.0));
        assert_eq!(Exposed::default().of_team(Team::Wait), None);
    }
}
