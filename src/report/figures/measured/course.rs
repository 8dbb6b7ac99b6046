//! What a fit leaves of every frame, in the order of measuring; folded where frames crowd, so that each still counts.

use crate::calibrate::{Against, Course, Role};
use crate::report::calibration::{course_in_words, unit_of};
use crate::report::figures::table::{Table, cells};

/// Folds at most: as many as a wide screen has room for.
const MOST: usize = 1024;

/// The course of one role, in its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// The role.
    pub role: Role,
    /// Its unit.
    pub unit: &'static str,
    /// What was taken off, in words.
    pub against: &'static str,
    /// Frames measured.
    pub frames: usize,
    /// Frames or folds of neighbouring ones, in order; intra frames are not among them where those are told.
    pub folds: Vec<Fold>,
    /// The same of intra frames.
    pub intra: Vec<Fold>,
    /// What they are, in words.
    pub intra_told: &'static str,
    /// Frames that begin a run, but the first.
    pub starts: Vec<usize>,
    /// Means of the first and the last third.
    pub thirds: [f64; 2],
    /// First and last frame of the worst stretch, and its mean.
    pub worst: (usize, usize, f64),
    /// All of it in a sentence.
    pub told: String,
}

/// Frames that follow each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fold {
    /// The first frame.
    pub from: usize,
    /// The last frame.
    pub to: usize,
    /// Frames of it that were measured.
    pub measured: usize,
    /// The least that is left.
    pub least: f64,
    /// The mean of what is left.
    pub mean: f64,
    /// The most that is left.
    pub most: f64,
}

impl Strip {
    /// That of a course.
    pub fn of(course: &Course) -> Self {
        let (unit, scale) = unit_of(course.role);
        let frames = course.left.len();
        let folds = frames.min(MOST);
        let border = |at: usize| at * frames / folds.max(1);
        let of_kind = |kind: bool| {
            let is = |frame: usize| course.intra.as_ref().is_some_and(|intra| intra[frame]) == kind;
            let left = course.left.iter().enumerate();
            let left: Vec<f64> = left.map(|(frame, x)| if is(frame) { *x } else { f64::NAN }).collect();
            (0..folds).filter_map(|at| Fold::of(&left, border(at), border(at + 1), scale)).collect()
        };
        let (from, to, mean) = course.worst;
        Self {
            role: course.role,
            unit,
            against: match course.against {
                Against::Fit => "measured less the fit",
                Against::SimulatedMean => "measured less the simulated mean",
            },
            frames,
            folds: of_kind(false),
            intra: of_kind(true),
            intra_told: if course.intra_aside {
                "intra frames, which the fit leaves aside"
            } else {
                "intra frames, which the fit counts with the others"
            },
            starts: course.starts.iter().copied().filter(|start| *start > 0).collect(),
            thirds: course.thirds.map(|mean| mean * scale),
            worst: (from, to, mean * scale),
            told: course_in_words(course),
        }
    }

    /// Whether every fold is one frame.
    pub fn single(&self) -> bool {
        self.frames <= MOST
    }

    /// Least and most that is left of any frame; none where nothing was measured.
    pub fn ends(&self) -> Option<[f64; 2]> {
        let all = || self.folds.iter().chain(&self.intra);
        let low = all().map(|fold| fold.least).min_by(f64::total_cmp)?;
        let high = all().map(|fold| fold.most).max_by(f64::total_cmp)?;
        Some([low, high])
    }

    /// It as rows, a fold each.
    pub fn table(&self) -> Table {
        const COLUMNS: [&str; 9] =
            ["role", "unit", "from_frame", "to_frame", "measured", "least", "mean", "most", "kind"];
        let mut table = Table::new("What the fit leaves", &COLUMNS);
        let kind = if self.intra.is_empty() { "all" } else { "not intra" };
        let folds = self.folds.iter().map(|fold| (fold, kind)).chain(self.intra.iter().map(|fold| (fold, "intra")));
        for (fold, kind) in folds {
            let (from, to, measured) = (fold.from as i64, fold.to as i64, fold.measured as i64);
            table.row(cells![self.role.name(), self.unit, from, to, measured, fold.least, fold.mean, fold.most, kind]);
        }
        table
    }
}

impl Fold {
    fn of(left: &[f64], from: usize, end: usize, scale: f64) -> Option<Self> {
        let known = || left[from..end].iter().copied().filter(|x| x.is_finite());
        let measured = known().count();
        let least = known().min_by(f64::total_cmp)? * scale;
        let most = known().max_by(f64::total_cmp)? * scale;
        let mean = known().sum::<f64>() / measured as f64 * scale;
        Some(Self { from, to: end - 1, measured, least, mean, most })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn course(frames: usize) -> Course {
        let left = (0..frames).map(|k| if k == 5 { f64::NAN } else { k as f64 }).collect();
        let (role, against) = (Role::Encode, Against::Fit);
        Course {
            role,
            against,
            left,
            starts: vec![0, 10],
            intra: None,
            intra_aside: false,
            intra_mean: None,
            thirds: [0.0, 1.0],
            half_ci95: None,
            lag_one: None,
            worst: (0, 1, 2.0),
        }
    }

    #[test]
    fn intra_frames_are_told_apart_and_none_is_counted_twice() {
        for frames in [100, 100_000] {
            let intra: Vec<bool> = (0..frames).map(|k| k % 10 == 0).collect();
            let strip = Strip::of(&Course { intra: Some(intra), intra_aside: true, ..course(frames) });
            let count = |folds: &[Fold]| folds.iter().map(|fold| fold.measured).sum::<usize>();
            assert_eq!((count(&strip.intra), count(&strip.folds)), (frames / 10, frames - frames / 10 - 1));
            assert!(strip.intra_told.contains("leaves aside"));
            assert_eq!(strip.table().rows.len(), strip.folds.len() + strip.intra.len());
        }
    }

    #[test]
    fn few_frames_stand_alone_and_many_are_folded_without_loss() {
        let strip = Strip::of(&course(100));
        assert!(strip.single() && strip.folds.len() == 99, "one was not measured");
        assert_eq!(strip.starts, [10]);
        let strip = Strip::of(&course(100_000));
        assert!(!strip.single() && strip.folds.len() == MOST);
        assert_eq!(strip.folds.iter().map(|fold| fold.measured).sum::<usize>(), 99_999);
        assert_eq!(strip.ends(), Some([0.0, 99_999.0]));
        assert!(strip.folds.windows(2).all(|pair| pair[0].to + 1 == pair[1].from));
        assert_eq!(strip.table().rows.len(), MOST);
    }
}
