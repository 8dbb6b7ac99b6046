//! How the picture moves through the stages: cumulative curves, after Newell ("A simplified theory of kinematic waves in
//! highway traffic", Transportation Research Part B 27, 1993): the share of the picture that a stage has done, over time.

use super::table::{DESIGNS, Table, cells};
use crate::engine::{Slice, Stamp};
use crate::study::Answer;

/// A front: how far one stage has got.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Front {
    /// Rendered, and come to the encoder.
    Rendered,
    /// Out of the encoder.
    Encoded,
    /// Delivered on the device.
    Arrived,
    /// Out of the decoder.
    Decoded,
}

impl Front {
    /// All, in the order in which the picture meets them.
    pub const ALL: [Self; 4] = [Self::Rendered, Self::Encoded, Self::Arrived, Self::Decoded];

    /// What has been done to the picture before the front.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Rendered => "rendered",
            Self::Encoded => "encoded",
            Self::Arrived => "arrived",
            Self::Decoded => "decoded",
        }
    }

    /// What happens between the front before and this one.
    pub const fn gap(self) -> &'static str {
        match self {
            Self::Rendered => "render",
            Self::Encoded => "encode",
            Self::Arrived => "send",
            Self::Decoded => "decode",
        }
    }

    fn stamp(self, slice: Slice<'_>) -> Stamp {
        match self {
            Self::Rendered => slice.come(),
            Self::Encoded => slice.encode_out(),
            Self::Arrived => slice.arrive(),
            Self::Decoded => slice.decode_out(),
        }
    }
}

/// One slice on its way; instants since the frame's pose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// The part of the picture that it covers, 0 to 1.
    pub rows: [f64; 2],
    /// When each front passed over it, in the order of [`Front::ALL`]; none: never \[ns\].
    pub passed_ns: [Option<i64>; 4],
}

/// One frame of one run; instants since its pose.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Its slices from the top.
    pub strips: Vec<Strip>,
    /// When its last slice came out of the decoder \[ns\].
    pub ready_ns: Option<i64>,
    /// Latch, vsync and photons of the refresh that first showed it \[ns\].
    pub shown_ns: Option<[i64; 3]>,
}

impl Course {
    /// None for a frame that took no pose.
    fn of(answer: &Answer, frame: usize) -> Option<Self> {
        let Answer { table, run, .. } = answer;
        let record = run.frames.get(frame)?;
        let pose_ns = record.pose.ns()?;
        let since = |stamp: Stamp| stamp.ns().map(|ns| ns - pose_ns);
        let mut done = 0.0;
        let slices = run.slices_of(frame).iter().zip(table.row_shares.of(frame));
        let strips = slices.map(|(slice, share)| {
            let rows = [done, (done + share).min(1.0)];
            done += share;
            Strip { rows, passed_ns: Front::ALL.map(|front| since(front.stamp(slice))) }
        });
        let strips = strips.collect();
        let shown_ns = record.shown.map(|refresh| {
            let refresh = i64::from(refresh);
            let grid = &run.grid;
            [grid.latch_ns(refresh), grid.vsync_ns(refresh), grid.photon_ns(refresh)].map(|ns| ns - pose_ns)
        });
        Some(Self { strips, ready_ns: since(record.ready), shown_ns })
    }

    /// When a front has passed over the whole picture \[ns\].
    pub fn whole_ns(&self, front: Front) -> Option<i64> {
        let passed = self.strips.iter().map(|strip| strip.passed_ns[front as usize]);
        passed.collect::<Option<Vec<i64>>>()?.into_iter().max()
    }

    /// How long a row of the picture is between a front and the one before it, on average over the picture \[ns\]: the area
    /// between the two. None for the first front, and where a part never came there.
    pub fn gap_ns(&self, front: Front) -> Option<f64> {
        let before = (front as usize).checked_sub(1)?;
        let of = |strip: &Strip| {
            let gap_ns = strip.passed_ns[front as usize]? - strip.passed_ns[before]?;
            Some((strip.rows[1] - strip.rows[0]) * gap_ns as f64)
        };
        self.strips.iter().map(of).sum()
    }

    /// The last thing that is known of it \[ns\].
    fn end_ns(&self) -> i64 {
        let passed = self.strips.iter().flat_map(|strip| strip.passed_ns).flatten();
        passed.chain(self.shown_ns.into_iter().flatten()).max().unwrap_or(0)
    }
}

/// The same frame in both runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Fronts {
    /// Which one.
    pub frame: usize,
    /// Baseline and candidate; none where it took no pose.
    pub sides: [Option<Course>; 2],
}

impl Fronts {
    /// The fronts of a frame.
    pub fn of(answers: [&Answer; 2], frame: usize) -> Self {
        Self { frame, sides: answers.map(|answer| Course::of(answer, frame)) }
    }

    /// How much sooner after the pose the candidate's frame is ready \[ns\].
    pub fn gain_ns(&self) -> Option<i64> {
        let [baseline, candidate] = self.sides.each_ref().map(|side| side.as_ref().and_then(|side| side.ready_ns));
        Some(baseline? - candidate?)
    }

    /// When the later of the two ends \[ns\].
    pub fn end_ns(&self) -> i64 {
        self.sides.iter().flatten().map(Course::end_ns).max().unwrap_or(0)
    }
}

const COLUMNS: [&str; 13] = [
    "frame",
    "design",
    "row",
    "slice",
    "from_pct",
    "to_pct",
    "rendered_ns",
    "encoded_ns",
    "arrived_ns",
    "decoded_ns",
    "latch_ns",
    "vsync_ns",
    "photons_ns",
];

impl Fronts {
    /// When each front passed over every slice and over the whole picture, since the pose; and how long the picture is between
    /// a front and the one before it, on average.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Fronts", &COLUMNS);
        let none = None::<i64>;
        for (design, course) in DESIGNS.into_iter().zip(&self.sides) {
            let Some(course) = course else { continue };
            for (slice, Strip { rows, passed_ns: [rendered, encoded, arrived, decoded] }) in
                course.strips.iter().enumerate()
            {
                let [from, to] = rows.map(|share| 100.0 * share);
                table.row(cells![
                    self.frame, design, "slice", slice, from, to, *rendered, *encoded, *arrived, *decoded, none, none,
                    none
                ]);
            }
            let [rendered, encoded, arrived, decoded] = Front::ALL.map(|front| course.whole_ns(front));
            let [latch, vsync, photons] = [0, 1, 2].map(|mark| course.shown_ns.map(|shown| shown[mark]));
            table.row(cells![
                self.frame, design, "whole", none, 0.0, 100.0, rendered, encoded, arrived, decoded, latch, vsync,
                photons
            ]);
            let [rendered, encoded, arrived, decoded] = Front::ALL.map(|front| course.gap_ns(front));
            table.row(cells![
                self.frame, design, "gap", none, 0.0, 100.0, rendered, encoded, arrived, decoded, none, none, none
            ]);
        }
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{HandOff, Scenario};
    use crate::study::{self, Workspace};

    fn answer(slices: u32) -> Answer {
        let mut scenario = Scenario::default();
        scenario.run.frames = 200;
        scenario.run.warmup = 20;
        scenario.slices.count = slices;
        study::answer(&scenario, &mut Workspace::new())
    }

    #[test]
    fn fronts_follow_each_other_over_the_whole_picture() {
        let answers = [answer(1), answer(8)];
        for frame in 20..200 {
            let fronts = Fronts::of(answers.each_ref(), frame);
            for (side, course) in fronts.sides.iter().enumerate() {
                let course = course.as_ref().unwrap();
                assert_eq!(course.strips.len(), [1, 8][side]);
                assert!((course.strips.last().unwrap().rows[1] - 1.0).abs() < 1e-12);
                for strip in &course.strips {
                    assert!(strip.passed_ns.is_sorted(), "frame {frame}: {strip:?}");
                }
                assert!(course.strips.windows(2).all(|two| two[0].rows[1].to_bits() == two[1].rows[0].to_bits()));
                assert!(course.strips.windows(2).all(|two| two[0].passed_ns[3] <= two[1].passed_ns[3]));
                assert_eq!(course.whole_ns(Front::Decoded), course.ready_ns);
            }
        }
    }

    #[test]
    fn gain_is_the_difference_of_the_ready_times_since_the_pose() {
        let answers = [answer(1), answer(8)];
        let fronts = Fronts::of(answers.each_ref(), 100);
        let since = |answer: &Answer| {
            let record = &answer.run.frames[100];
            record.ready.ns().unwrap() - record.pose.ns().unwrap()
        };
        assert_eq!(fronts.gain_ns(), Some(since(&answers[0]) - since(&answers[1])));
        assert!(fronts.gain_ns().unwrap() > 2_000_000, "{:?}", fronts.gain_ns());
        let light = answers[0].run.photon_ns(100).unwrap() - answers[0].run.frames[100].pose.ns().unwrap();
        assert_eq!(fronts.end_ns(), light);
        let rows = fronts.table().rows;
        assert_eq!(rows.len(), 1 + 2 + 8 + 2);
        assert_eq!(rows[1][2..4], cells!["whole", None::<i64>]);
        assert_eq!(rows[1][12], light.into());
        assert_eq!(rows[11][9], since(&answers[1]).into());
    }

    /// Between two fronts of a whole frame lies the time of its one slice; the gaps of slices weigh by their rows.
    #[test]
    fn gaps_are_areas_between_fronts() {
        let whole = answer(1);
        let course = Course::of(&whole, 100).unwrap();
        let record = whole.run.slices_of(100).at(0);
        let encode = record.encode_out().ns().unwrap() - record.come().ns().unwrap();
        assert!((course.gap_ns(Front::Encoded).unwrap() - encode as f64).abs() < 1e-3);
        assert_eq!(course.gap_ns(Front::Rendered), None);
        let strip = |rows, passed| Strip { rows, passed_ns: [Some(0), passed, None, None] };
        let strips = vec![strip([0.0, 0.25], Some(100)), strip([0.25, 1.0], Some(300))];
        let course = Course { strips, ready_ns: None, shown_ns: None };
        assert_eq!(course.gap_ns(Front::Encoded), Some(250.0));
        assert_eq!(course.gap_ns(Front::Arrived), None);
        assert_eq!(course.whole_ns(Front::Encoded), Some(300));
        assert_eq!(course.whole_ns(Front::Decoded), None);
    }

    #[test]
    fn frame_handed_on_whole_is_a_cliff_where_it_arrives() {
        let mut scenario = Scenario::default();
        scenario.run.frames = 100;
        scenario.run.warmup = 20;
        scenario.encode.hand_off = HandOff::Frame;
        let answer = study::answer(&scenario, &mut Workspace::new());
        let course = Course::of(&answer, 50).unwrap();
        let first_arrived = course.strips[0].passed_ns[2].unwrap();
        assert!(first_arrived > course.whole_ns(Front::Encoded).unwrap());
    }
}
