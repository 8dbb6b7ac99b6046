//! Parts of a figure that a step highlights: stages of the pipeline, and pieces of the time from pose to photon.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::measure::{Piece, Team};
use crate::report::figures::fronts::Front;
use crate::report::figures::lanes::{Stage, stage_of};
use crate::report::figures::ledger::{Entry, Ledger};

/// A part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A stage: its lane, its load, all pieces that belong to it.
    Stage(Stage),
    /// One piece of the time from pose to photon.
    Piece(Piece),
}

/// Stages by their names in files.
const STAGES: [(&str, Stage); 7] = [
    ("pose", Stage::Pose),
    ("simulate", Stage::Cpu),
    ("render", Stage::Gpu),
    ("encode", Stage::Encoder),
    ("link", Stage::Link),
    ("decode", Stage::Decoder),
    ("display", Stage::Display),
];

impl Part {
    /// All parts, the stages first. A name that a stage has means the stage.
    pub fn all() -> impl Iterator<Item = Self> {
        let stages = STAGES.into_iter().map(|(_, stage)| Self::Stage(stage));
        let own = |piece: &Piece| STAGES.iter().all(|(name, _)| *name != piece.name());
        stages.chain(Piece::ALL.into_iter().filter(own).map(Self::Piece))
    }

    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Stage(stage) => STAGES[stage as usize].0,
            Self::Piece(piece) => piece.name(),
        }
    }

    /// Its name for people.
    pub fn label(self) -> &'static str {
        match self {
            Self::Stage(stage) => stage.name(),
            Self::Piece(piece) => piece.label(),
        }
    }

    /// The one of that name.
    pub fn named(name: &str) -> Option<Self> {
        Self::all().find(|part| part.name() == name)
    }

    /// The names of all, in a list.
    pub fn names() -> String {
        Self::all().map(Self::name).collect::<Vec<_>>().join(", ")
    }

    /// The stage that it is, or belongs to.
    const fn stage(self) -> Stage {
        match self {
            Self::Stage(stage) => stage,
            Self::Piece(piece) => stage_of(piece),
        }
    }
}

impl Serialize for Part {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

impl<'de> Deserialize<'de> for Part {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let name = String::deserialize(deserializer)?;
        Self::named(&name).ok_or_else(|| serde::de::Error::custom(format!("{name:?} is no part")))
    }
}

/// What is highlighted in a figure; nothing: all of it has full strength.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Highlight(Vec<Part>);

impl Highlight {
    /// Of those parts.
    pub fn of(parts: &[Part]) -> Self {
        Self(parts.to_vec())
    }

    /// Whether some parts fade.
    pub fn fades(&self) -> bool {
        !self.0.is_empty()
    }

    /// Whether a stage, or a piece of it, is highlighted.
    pub fn stage(&self, stage: Stage) -> bool {
        self.0.iter().any(|part| part.stage() == stage)
    }

    /// Whether a piece, or its stage, is highlighted.
    pub fn piece(&self, piece: Piece) -> bool {
        self.0.contains(&Part::Piece(piece)) || self.0.contains(&Part::Stage(stage_of(piece)))
    }

    /// Whether a team's stage, or any piece of it, is highlighted; waits belong to no stage as a whole.
    fn team(&self, team: Team) -> bool {
        let of_team = |piece: &Piece| piece.team() == team;
        Piece::ALL.into_iter().filter(of_team).any(|piece| match team {
            Team::Wait => self.0.contains(&Part::Piece(piece)),
            _ => self.piece(piece),
        })
    }

    /// Which entries of a ledger are highlighted, in its order.
    pub fn entries(&self, ledger: &Ledger) -> Vec<bool> {
        // The entries that are no parts are the teams in their order.
        let mut teams = Team::ALL.into_iter();
        let entry = |entry: &Entry| {
            if entry.part {
                Piece::ALL.into_iter().any(|piece| piece.label() == entry.name && self.piece(piece))
            } else {
                teams.next().is_some_and(|team| self.team(team))
            }
        };
        ledger.entries.iter().map(entry).collect()
    }

    /// Whether a front is that of a highlighted stage.
    pub fn front(&self, front: Front) -> bool {
        self.stage(match front {
            Front::Rendered => Stage::Gpu,
            Front::Encoded => Stage::Encoder,
            Front::Arrived => Stage::Link,
            Front::Decoded => Stage::Decoder,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_is_found_by_its_name_alone() {
        let names: Vec<&str> = Part::all().map(Part::name).collect();
        for (place, part) in Part::all().enumerate() {
            assert_eq!(Part::named(part.name()), Some(part));
            assert_eq!(names.iter().position(|name| *name == part.name()), Some(place));
        }
        for (place, (_, stage)) in STAGES.into_iter().enumerate() {
            assert_eq!(stage as usize, place);
        }
        assert_eq!(Part::named("encoder"), None);
    }

    #[test]
    fn piece_lights_its_stage_and_stage_lights_its_pieces() {
        let waits = Highlight::of(&[Part::Piece(Piece::WaitDecode)]);
        assert!(waits.stage(Stage::Decoder) && waits.front(Front::Decoded));
        assert!(waits.piece(Piece::WaitDecode) && !waits.piece(Piece::Decode));
        let decoder = Highlight::of(&[Part::Stage(Stage::Decoder)]);
        assert!(decoder.piece(Piece::WaitDecode) && decoder.piece(Piece::Decode) && !decoder.piece(Piece::Link));
        assert!(!Highlight::default().fades());
    }
}
