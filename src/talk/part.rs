//! Parts of a figure that a step highlights: stages of the pipeline, and pieces of the time from pose to photon.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::measure::{Piece, Team};
use crate::report::figures::fronts::Front;
use crate::report::figures::lanes::{Stage, stage_of};
use crate::report::figures::ledger::{Entry, Ledger};

/// A part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A stage: its lane, its load, its front, and what its work takes of the exposed time; of waits none.
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

    /// Whether a piece of exposed time is highlighted: by its own name, or as work of its stage. The waits before a stage are
    /// none of its work.
    fn time(&self, piece: Piece) -> bool {
        let of_stage = piece.team() != Team::Wait && self.0.contains(&Part::Stage(stage_of(piece)));
        of_stage || self.0.contains(&Part::Piece(piece))
    }

    /// Which entries of a ledger are highlighted, in its order: pieces, and teams with any piece that is.
    pub fn entries(&self, ledger: &Ledger) -> Vec<bool> {
        // The entries that are no parts are the teams in their order.
        let mut teams = Team::ALL.into_iter();
        let entry = |entry: &Entry| {
            let team = if entry.part { None } else { teams.next() };
            let within =
                |piece: &Piece| if entry.part { piece.label() == entry.name } else { team == Some(piece.team()) };
            Piece::ALL.into_iter().filter(within).any(|piece| self.time(piece))
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
    fn piece_lights_its_stage_and_stage_its_work_alone() {
        let waits = Highlight::of(&[Part::Piece(Piece::WaitDecode)]);
        assert!(waits.stage(Stage::Decoder) && waits.front(Front::Decoded));
        assert!(waits.time(Piece::WaitDecode) && !waits.time(Piece::Decode));
        let decoder = Highlight::of(&[Part::Stage(Stage::Decoder)]);
        assert!(decoder.time(Piece::Decode) && decoder.time(Piece::DecodePipeline));
        assert!(!decoder.time(Piece::WaitDecode) && !decoder.time(Piece::Link));
        assert!(!Highlight::default().fades());
    }

    #[test]
    fn entries_of_a_ledger_are_lit_by_what_is_named() {
        let entry = |name, part| Entry {
            name,
            part,
            stage: Stage::Decoder,
            values_ms: [Some(1.0); 2],
            allowance_ms: None,
            met: None,
            hidden_ms: [None; 2],
        };
        // A row a team in their order, the parts of decoding and of the waits below theirs.
        let mut entries: Vec<Entry> = Team::ALL.map(|team| entry(team.name(), false)).to_vec();
        let decode = Team::Decode as usize;
        entries.insert(decode + 1, entry(Piece::DecodePipeline.label(), true));
        entries.insert(decode + 3, entry(Piece::WaitDecode.label(), true));
        let ledger = Ledger { entries, totals_ms: [Some(9.0); 2], allowance_ms: 9.0 };
        let lit = |parts: &[Part]| {
            let lit = Highlight::of(parts).entries(&ledger);
            (0..lit.len()).filter(|place| lit[*place]).map(|place| ledger.entries[place].name).collect::<Vec<_>>()
        };
        assert_eq!(lit(&[Part::Stage(Stage::Decoder)]), ["decode", "Decoder pipeline"]);
        assert_eq!(lit(&[Part::Piece(Piece::WaitDecode)]), ["wait", "Wait for decoder"]);
        assert_eq!(lit(&[Part::Stage(Stage::Display)]), ["latch", "light"]);
    }
}
