//! Latency against the slice count: overheads grow with it, waiting shrinks.

use super::table::{Cell, Table, cells};
pub use crate::study::CurvePoint;
use crate::study::PLATEAU_MS;

/// The slice-count curve, complete or as far as it has come.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curve {
    /// Points by ascending count.
    points: Vec<CurvePoint>,
    /// Points that are to come in all.
    pub expected: usize,
    /// The budget's limit for pose to photon \[ms\].
    pub budget_ms: Option<f64>,
    /// Where the curve belongs to an earlier scenario: how many points of the next one have come, and of how many; 0 of 0
    /// before it begins. None: it belongs to the scenario as it is.
    pub next: Option<(usize, usize)>,
}

impl Curve {
    /// An empty curve that expects so many points.
    pub fn new(expected: usize, budget_ms: Option<f64>) -> Self {
        Self { points: Vec::with_capacity(expected), expected, budget_ms, next: None }
    }

    /// Takes in a point; one of the same count is replaced.
    pub fn insert(&mut self, point: CurvePoint) {
        match self.points.binary_search_by_key(&point.slices, |known| known.slices) {
            Ok(at) => self.points[at] = point,
            Err(at) => self.points.insert(at, point),
        }
    }

    /// The points by ascending count.
    pub fn points(&self) -> &[CurvePoint] {
        &self.points
    }

    /// Whether every point has come.
    pub fn complete(&self) -> bool {
        self.points.len() >= self.expected
    }

    /// The point with the least p99; the smaller count of equals.
    pub fn best(&self) -> Option<&CurvePoint> {
        let measured = self.points.iter().filter_map(|point| Some((point.p99_ms?, point)));
        measured.reduce(|best, next| if next.0 < best.0 { next } else { best }).map(|(_, point)| point)
    }

    /// Least and greatest count around the best that are as good as it, to 0.2 ms of p99.
    pub fn plateau(&self) -> Option<(u32, u32)> {
        let best = self.best()?;
        let limit = best.p99_ms? + PLATEAU_MS;
        let good = |point: &&CurvePoint| point.p99_ms.is_some_and(|p99| p99 <= limit);
        let at = self.points.iter().position(|point| point.slices == best.slices)?;
        let first = self.points[..at].iter().rev().take_while(good).last().unwrap_or(best);
        let last = self.points[at..].iter().take_while(good).last().unwrap_or(best);
        Some((first.slices, last.slices))
    }

    /// Where the curve begins to be overloaded: the count, not whole, at which the greatest load comes to all that can be
    /// done, on a straight line between the points on either side; halfway by ratio where a load is not known.
    pub fn border(&self) -> Option<f64> {
        let first = self.points.iter().position(CurvePoint::overloaded)?;
        let count = |point: &CurvePoint| f64::from(point.slices);
        let above = &self.points[first];
        let Some(below) = first.checked_sub(1).map(|before| &self.points[before]) else { return Some(count(above)) };
        let loads = below.load.zip(above.load).filter(|(low, high)| *low <= 1.0 && *high > 1.0);
        Some(loads.map_or_else(
            || (count(below) * count(above)).sqrt(),
            |(low, high)| count(below) + (count(above) - count(below)) * (1.0 - low) / (high - low),
        ))
    }

    /// The least count above the best that asks for more than can be done.
    pub fn cliff(&self) -> Option<u32> {
        let best = self.best().filter(|best| !best.overloaded())?.slices;
        // A load of just 1 is not too much.
        let first = self.border()?.floor() as u32 + 1;
        (first > best).then_some(first)
    }

    /// Least and greatest value drawn \[ms\].
    pub fn range_ms(&self) -> Option<(f64, f64)> {
        let values = self.points.iter().flat_map(|point| [point.p50_ms, point.p99_ms]).flatten();
        values.fold(None, |range, value| {
            Some(range.map_or((value, value), |(low, high): (f64, f64)| (low.min(value), high.max(value))))
        })
    }

    /// The measured point of a count.
    pub fn at(&self, slices: u32) -> Option<&CurvePoint> {
        self.points.binary_search_by_key(&slices, |point| point.slices).ok().map(|at| &self.points[at])
    }
}

const COLUMNS: [&str; 12] = [
    "slices",
    "p50_ms",
    "p99_ms",
    "lead_ms",
    "stream_p50_ms",
    "photon_age_mean_ms",
    "missed_pct",
    "greatest_load_pct",
    "steady",
    "best",
    "candidate",
    "budget_ms",
];

impl Curve {
    /// A row a count; `today` is the candidate's.
    pub fn table(&self, today: u32) -> Table {
        let mut table = Table::new("Slice count", &COLUMNS);
        let best = self.best().map(|point| point.slices);
        for point in &self.points {
            table.row(cells![
                point.slices,
                point.p50_ms,
                point.p99_ms,
                point.lead_ms,
                point.stream_p50_ms,
                point.photon_age_mean_ms,
                point.missed_pct,
                point.load.map(|load| 100.0 * load),
                Cell::yes(point.steady),
                Cell::yes(best == Some(point.slices)),
                Cell::yes(today == point.slices),
                self.budget_ms
            ]);
        }
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(slices: u32, p99_ms: Option<f64>) -> CurvePoint {
        CurvePoint {
            slices,
            p50_ms: p99_ms.map(|p99| p99 - 2.0),
            p99_ms,
            lead_ms: None,
            stream_p50_ms: None,
            photon_age_mean_ms: None,
            missed_pct: None,
            load: Some(0.5),
            steady: p99_ms.is_some(),
        }
    }

    #[test]
    fn points_may_come_in_any_order() {
        let mut curve = Curve::new(3, None);
        for (slices, p99) in [(8, 30.0), (1, 40.0), (8, 31.0), (4, 31.0)] {
            curve.insert(point(slices, Some(p99)));
        }
        assert_eq!(curve.points().iter().map(|point| point.slices).collect::<Vec<_>>(), [1, 4, 8]);
        assert_eq!(curve.at(8).and_then(|point| point.p99_ms), Some(31.0));
        assert_eq!(curve.best().map(|point| point.slices), Some(4));
        assert!(curve.complete());
        let rows = curve.table(8).rows;
        assert_eq!(rows[1][..3], cells![4_u32, 29.0, 31.0]);
        assert_eq!([&rows[1][9], &rows[1][10], &rows[2][9], &rows[2][10]].map(Cell::text), ["yes", "no", "no", "yes"]);
    }

    #[test]
    fn plateau_reaches_as_far_as_equals_join() {
        let mut curve = Curve::new(7, Some(38.0));
        assert_eq!((curve.best(), curve.plateau(), curve.range_ms()), (None, None, None));
        for (slices, p99) in [(1, 40.0), (2, 35.0), (4, 31.15), (8, 31.0), (12, 31.19), (16, 31.3), (24, 31.1)] {
            curve.insert(point(slices, Some(p99)));
        }
        curve.insert(point(32, None));
        assert_eq!(curve.plateau(), Some((4, 12)));
        assert_eq!(curve.range_ms(), Some((29.0, 40.0)));
    }

    #[test]
    fn cliff_stands_where_the_load_passes_all_that_can_be_done() {
        let mut curve = Curve::new(4, None);
        assert_eq!((curve.border(), curve.cliff()), (None, None));
        let loaded = |slices, p99, load| CurvePoint { load: Some(load), ..point(slices, Some(p99)) };
        for (slices, p99, load) in [(8, 35.0, 0.7), (16, 36.0, 0.8), (28, 46.0, 0.95), (32, 53.0, 1.03)] {
            curve.insert(loaded(slices, p99, load));
        }
        // 28 + 4 x 0.05 / 0.08 = 30.5: 31 is the first that is too many, though 32 was the first that was tried.
        assert!((curve.border().unwrap() - 30.5).abs() < 1e-9);
        assert_eq!(curve.cliff(), Some(31));
        // All that can be done and no more is not too much.
        curve.insert(loaded(28, 46.0, 1.0));
        assert_eq!(curve.cliff(), Some(29));
        // A load that is not known leaves the middle by ratio.
        curve.insert(point(32, None));
        curve.insert(CurvePoint { load: None, ..point(28, Some(46.0)) });
        assert!((curve.border().unwrap() - (28.0_f64 * 32.0).sqrt()).abs() < 1e-9);
        // Where all are too many, nothing above the best is a cliff.
        let mut all = Curve::new(2, None);
        all.insert(loaded(4, 53.0, 1.2));
        all.insert(loaded(8, 54.0, 1.3));
        assert_eq!((all.border(), all.cliff()), (Some(4.0), None));
    }
}
