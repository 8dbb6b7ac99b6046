//! One frame's way as it goes on, in both designs on one clock from the frame's pose: what is done at an instant, what the
//! photons wait for then, and the instants at which something begins or ends.

use super::Side;
use super::lanes::{Block, CriticalPath, LanesPair, Leg, Way, Work};
use crate::measure::Piece;
use crate::report::format::ms;
use crate::time::ns_to_ms;

/// The share of a block that is done at an instant of its run, 0 to 1.
pub fn share_done(block: &Block, at_ns: i64) -> f64 {
    if at_ns >= block.end_ns {
        return 1.0;
    }
    if at_ns <= block.start_ns {
        return 0.0;
    }
    // Begun and not over, so that it has a length.
    (at_ns - block.start_ns) as f64 / block.length_ns() as f64
}

/// One frame's way through both pipelines.
#[derive(Debug, Clone, PartialEq)]
pub struct Walk {
    sides: [Option<Course>; 2],
    events_ns: Vec<i64>,
}

/// One design's part of it; instants of its run.
#[derive(Debug, Clone, PartialEq)]
struct Course {
    from_ns: i64,
    way: Way,
    /// The frame's own blocks.
    blocks: Vec<Block>,
    path: Option<CriticalPath>,
}

/// Where a frame stands at an instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    /// It was never planned.
    Absent,
    /// What its photons wait for, and for how long so far \[ns\].
    Piece {
        /// What the time goes on.
        piece: Piece,
        /// Whether nobody works on what the photons need.
        waits: bool,
        /// So far \[ns\].
        for_ns: i64,
    },
    /// It never came to photons; this is done on it.
    Work(Work),
    /// It never came to photons; nothing is done on it.
    Idle,
    /// Its photons are out, so long after its pose \[ns\].
    Shown(i64),
    /// It is over and was not shown.
    Gone,
}

impl Stand {
    /// Whether the frame waits.
    pub const fn waits(self) -> bool {
        matches!(self, Self::Piece { waits: true, .. } | Self::Idle)
    }

    /// In words.
    pub fn in_words(self) -> String {
        match self {
            Self::Absent => "not planned in this run".to_owned(),
            Self::Piece { piece, for_ns, .. } => format!("{}, {} so far", piece.label(), ms(ns_to_ms(for_ns))),
            Self::Work(work) => work.name().to_owned(),
            Self::Idle => "waits".to_owned(),
            Self::Shown(length_ns) => format!("photons after {}", ms(ns_to_ms(length_ns))),
            Self::Gone => "not shown".to_owned(),
        }
    }
}

impl Walk {
    /// The way of a frame; its critical paths are those of the two runs.
    pub fn new(lanes: &LanesPair, paths: &[Option<CriticalPath>; 2], frame: usize) -> Self {
        let sides = [0, 1].map(|side| {
            let run = &lanes.sides[side];
            let way = *run.ways.get(frame)?;
            let from_ns = way.from_ns?;
            let to_ns = way.to_ns().unwrap_or(from_ns);
            let rows = run.lanes.iter().flat_map(|lane| &lane.rows);
            let blocks = rows.flat_map(|row| row.of_frame(frame as u32, from_ns, to_ns)).copied().collect();
            Some(Course { from_ns, way, blocks, path: paths[side].clone() })
        });
        let mut events_ns: Vec<i64> = sides.iter().flatten().flat_map(Course::events_ns).collect();
        events_ns.push(0);
        events_ns.sort_unstable();
        events_ns.dedup();
        Self { sides, events_ns }
    }

    /// The instants since the pose at which something of the frame begins or ends, in either design, from 0 on \[ns\].
    pub fn events_ns(&self) -> &[i64] {
        &self.events_ns
    }

    /// When all is over in both designs, since the pose \[ns\].
    pub fn end_ns(&self) -> i64 {
        self.events_ns.last().copied().unwrap_or(0)
    }

    /// The first event after an instant; the end, if there is none \[ns\].
    pub fn next_ns(&self, at_ns: i64) -> i64 {
        let after = self.events_ns.partition_point(|event| *event <= at_ns);
        self.events_ns.get(after).copied().unwrap_or_else(|| self.end_ns())
    }

    /// The last event before an instant; the pose, if there is none \[ns\].
    pub fn before_ns(&self, at_ns: i64) -> i64 {
        let from = self.events_ns.partition_point(|event| *event < at_ns);
        from.checked_sub(1).map_or(0, |before| self.events_ns[before])
    }

    /// Where the frame stands so long after its pose.
    pub fn stand(&self, side: Side, at_ns: i64) -> Stand {
        self.sides[side.index()].as_ref().map_or(Stand::Absent, |course| course.stand(at_ns))
    }

    /// Where it stands in words, with the slices that have come so far.
    pub fn in_words(&self, side: Side, at_ns: i64) -> String {
        let stand = self.stand(side, at_ns);
        let text = stand.in_words();
        match self.decoded(side, at_ns) {
            (done, all) if all > 1 && done > 0 && !matches!(stand, Stand::Shown(_)) => {
                format!("{text}; {done} of {all} slices decoded")
            }
            _ => text,
        }
    }

    /// How many of the frame's slices are decoded, and how many were encoded in all.
    pub fn decoded(&self, side: Side, at_ns: i64) -> (usize, usize) {
        let Some(course) = &self.sides[side.index()] else { return (0, 0) };
        let of = |work: Work| course.blocks.iter().filter(move |block| block.work == work);
        let done = of(Work::Decode).filter(|block| block.end_ns - course.from_ns <= at_ns).count();
        (done, of(Work::Encode).count())
    }

    /// The part of the critical path that an instant lies in.
    pub fn leg(&self, side: Side, at_ns: i64) -> Option<&Leg> {
        let course = self.sides[side.index()].as_ref()?;
        course.leg(course.from_ns + at_ns)
    }
}

impl Course {
    fn events_ns(&self) -> impl Iterator<Item = i64> {
        let blocks = self.blocks.iter().flat_map(|block| [block.start_ns, block.end_ns]);
        let since = |ns: i64| (ns - self.from_ns).max(0);
        blocks.chain(self.way.to_ns()).map(since)
    }

    fn leg(&self, ns: i64) -> Option<&Leg> {
        self.path.as_ref()?.legs.iter().find(|leg| (leg.start_ns..leg.end_ns).contains(&ns))
    }

    fn stand(&self, at_ns: i64) -> Stand {
        let ns = self.from_ns + at_ns;
        if let Some(length_ns) = self.way.length_ns().filter(|length_ns| at_ns >= *length_ns) {
            return Stand::Shown(length_ns);
        }
        if let Some(leg) = self.leg(ns) {
            return Stand::Piece { piece: leg.piece, waits: leg.waits(), for_ns: ns - leg.start_ns };
        }
        if self.way.photon_ns.is_none() && self.way.fate_ns.is_some_and(|fate_ns| ns >= fate_ns) {
            return Stand::Gone;
        }
        let now = self.blocks.iter().filter(|block| (block.start_ns..block.end_ns).contains(&ns));
        now.max_by_key(|block| block.start_ns).map_or(Stand::Idle, |block| Stand::Work(block.work))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figures::lanes::Lanes;
    use crate::report::figures::names;
    use crate::scenario::Scenario;
    use crate::study::{self, Answer, Workspace};

    fn answer(slices: u32) -> Answer {
        let mut scenario = Scenario::default();
        scenario.run.frames = 200;
        scenario.run.warmup = 40;
        scenario.slices.count = slices;
        study::answer(&scenario, &mut Workspace::new())
    }

    fn percent_done(block: &Block, at_ns: i64) -> i64 {
        (100.0 * share_done(block, at_ns)).round() as i64
    }

    struct World {
        lanes: LanesPair,
        paths: [Option<CriticalPath>; 2],
        frame: usize,
    }

    fn world() -> World {
        let both = [answer(1), answer(8)];
        let sides = both.each_ref().map(|side| Lanes::new(&side.scenario, &side.table, &side.run));
        let lanes = LanesPair::new(names(&both[0].scenario, &both[1].scenario), sides);
        let frame = lanes.typical;
        let paths = [0, 1].map(|side| CriticalPath::of(&both[side], &lanes.sides[side], frame));
        World { lanes, paths, frame }
    }

    #[test]
    fn share_of_a_block_grows_with_time() {
        let block = Block { come_ns: 50, start_ns: 100, end_ns: 300, frame: 0, part: 0, work: Work::Encode };
        let shares = [0, 100, 150, 200, 300, 900].map(|at_ns| percent_done(&block, at_ns));
        assert_eq!(shares, [0, 0, 25, 50, 100, 100]);
        let point = Block { end_ns: 100, ..block };
        assert_eq!([99, 100].map(|at_ns| percent_done(&point, at_ns)), [0, 100]);
    }

    #[test]
    fn at_the_pose_nothing_is_done_and_at_the_end_all_is() {
        let World { lanes, paths, frame } = world();
        let walk = Walk::new(&lanes, &paths, frame);
        for side in Side::BOTH {
            let course = walk.sides[side.index()].as_ref().unwrap();
            assert!(course.blocks.len() >= 8, "{} blocks", course.blocks.len());
            for block in &course.blocks {
                assert_eq!(block.frame as usize, frame);
                assert_eq!(percent_done(block, course.from_ns), 0);
                assert_eq!(percent_done(block, course.from_ns + walk.end_ns()), 100);
            }
            let length_ns = lanes.sides[side.index()].ways[frame].length_ns().unwrap();
            assert_eq!(walk.stand(side, walk.end_ns()), Stand::Shown(length_ns));
            assert_ne!(walk.stand(side, length_ns - 1), Stand::Shown(length_ns));
        }
        assert_eq!(walk.decoded(Side::Candidate, 0), (0, 8));
        assert_eq!(walk.decoded(Side::Candidate, walk.end_ns()), (8, 8));
        let lengths = [0, 1].map(|side| lanes.sides[side].ways[frame].length_ns().unwrap());
        assert_eq!(walk.end_ns(), lengths[0].max(lengths[1]), "it ends with the later photons");
    }

    #[test]
    fn events_are_the_beginnings_and_ends_of_blocks_in_order() {
        let World { lanes, paths, frame } = world();
        let walk = Walk::new(&lanes, &paths, frame);
        let events = walk.events_ns();
        assert_eq!(events[0], 0);
        assert!(events.windows(2).all(|two| two[0] < two[1]), "sorted, each once");
        for course in walk.sides.iter().flatten() {
            for block in &course.blocks {
                for ns in [block.start_ns, block.end_ns] {
                    assert!(events.contains(&(ns - course.from_ns)), "{block:?}");
                }
            }
        }
        let (mut at_ns, mut steps) = (0, 0);
        while at_ns < walk.end_ns() {
            let next_ns = walk.next_ns(at_ns);
            assert_eq!(walk.before_ns(next_ns), at_ns, "a step back undoes a step");
            (at_ns, steps) = (next_ns, steps + 1);
        }
        assert_eq!(steps + 1, events.len());
        assert_eq!(walk.next_ns(at_ns), at_ns);
        assert_eq!(walk.before_ns(0), 0);
        assert_eq!(walk.before_ns(events[1] - 1), 0);
    }

    /// What the photons wait for, summed over the walk, is the critical path.
    #[test]
    fn the_frame_stands_on_its_critical_path() {
        let World { lanes, paths, frame } = world();
        let walk = Walk::new(&lanes, &paths, frame);
        for side in Side::BOTH {
            let path = paths[side.index()].as_ref().unwrap();
            let from_ns = path.legs[0].start_ns;
            for leg in path.legs.iter().filter(|leg| leg.length_ns() > 0) {
                let middle_ns = leg.start_ns + leg.length_ns() / 2;
                let stand = walk.stand(side, middle_ns - from_ns);
                let for_ns = leg.length_ns() / 2;
                assert_eq!(stand, Stand::Piece { piece: leg.piece, waits: leg.waits(), for_ns });
                assert_eq!(stand.waits(), leg.waits());
                assert!(stand.in_words().starts_with(leg.piece.label()));
            }
        }
    }

    #[test]
    fn a_frame_that_never_came_is_gone() {
        let World { mut lanes, frame, .. } = world();
        for side in 0..2 {
            let way = &mut lanes.sides[side].ways[frame];
            way.fate_ns = way.ready_ns;
            (way.photon_ns, way.ready_ns) = (None, None);
        }
        let walk = Walk::new(&lanes, &[None, None], frame);
        let stands = [0, walk.end_ns()].map(|at_ns| walk.stand(Side::Baseline, at_ns));
        assert!(matches!(stands[0], Stand::Work(_) | Stand::Idle), "{stands:?}");
        assert_eq!(stands[1], Stand::Gone);
        let none = Walk::new(&lanes, &[None, None], usize::MAX);
        assert_eq!((none.end_ns(), none.stand(Side::Candidate, 5)), (0, Stand::Absent));
    }
}
