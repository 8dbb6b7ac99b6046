//! Service against latency: what the instants at which frames or slices went into a codec and came out of it tell.
//!
//! A codec with a pipeline of length P puts things out at the rate of its service, but each of them P later: what comes at
//! `c`, while the one before is served up to `e`, is out at `max(c, e) + service + P`. So where a thing came while the one
//! before it was in service, the spacing of both outs is its service; where it found the codec idle, out less in is its
//! service and the pipeline. Which is which must not hang on the thing's own service: it is judged by what was there when it
//! came, with bounds of P from all of them.

use super::mapping::Role;
use super::regression::median;
use super::stage::FEWEST_FRAMES;
use crate::measure::statistics::{self, quantile_of_sorted};

/// Fewest frames that a pipeline or a frame's overhead is told from.
pub(super) const FEWEST_STARTS: usize = 10;
/// Services shorter than this share of them bound the pipeline from below.
const NEARLY_ALL: f64 = 0.99;
/// Least share of a frame's slices after the first whose service must be known.
const ENOUGH_SLICES: f64 = 0.5;

/// One frame or slice on its way through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Item {
    /// Frame that it belongs to, among those kept.
    pub(super) frame: usize,
    /// The frame's number in the file.
    pub(super) number: f64,
    /// When it went in \[ms\].
    pub(super) came_ms: f64,
    /// When it came out \[ms\].
    pub(super) out_ms: f64,
    /// Whether what came before it is known.
    pub(super) follows: bool,
}

/// What instants tell of one stage, frame by frame; not a number where they do not.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    /// The stage: encode or decode.
    pub role: Role,
    /// Whether the file holds a row a slice.
    pub by_slice: bool,
    /// Service of frames that came back to back; with a row a slice, of as many slices as the frame has, each like those
    /// after the first, and what the first one takes more on average, where that is known \[ms\].
    pub service_ms: Vec<f64>,
    /// Time through the stage of frames that found it idle: service and pipeline; with a row a slice, that of the first
    /// slice less the service of an average one \[ms\].
    pub idle_ms: Vec<f64>,
    /// The same of slices after the first that found it idle, less the service of an average one \[ms\].
    pub idle_later_ms: Vec<f64>,
    /// How much longer the service of a first slice that came back to back was than that of the others \[ms\].
    pub first_more_ms: Vec<f64>,
    /// Mean of what the first slice takes more, where it is known and above 0 \[ms\].
    pub overhead_ms: Option<f64>,
    /// Out less in of each frame; only with a row a frame \[ms\].
    pub through_ms: Vec<f64>,
    /// Out less the out of the frame before; only with a row a frame \[ms\].
    pub spacing_ms: Vec<f64>,
    /// Frames or slices that came back to back.
    pub back_to_back: usize,
    /// Frames or slices that found the stage idle.
    pub idle: usize,
    /// Frames or slices that came out before the one that went in before them.
    pub disordered: usize,
}

/// What was there when an item came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Found {
    Busy,
    Idle,
    Unknown,
}

impl Passage {
    /// What instants tell; none without any.
    pub(super) fn of(role: Role, items: &[Item], frames: usize, by_slice: bool) -> Option<Self> {
        let found = found(items)?;
        let unknown = || vec![f64::NAN; frames];
        let mut made = Self {
            role,
            by_slice,
            service_ms: unknown(),
            idle_ms: unknown(),
            idle_later_ms: if by_slice { unknown() } else { Vec::new() },
            first_more_ms: if by_slice { unknown() } else { Vec::new() },
            overhead_ms: None,
            through_ms: if by_slice { Vec::new() } else { unknown() },
            spacing_ms: if by_slice { Vec::new() } else { unknown() },
            back_to_back: found.iter().filter(|found| **found == Found::Busy).count(),
            idle: found.iter().filter(|found| **found == Found::Idle).count(),
            disordered: items.windows(2).filter(|two| two[1].follows && two[1].out_ms < two[0].out_ms).count(),
        };
        let mut start = 0;
        while start < items.len() {
            let length = items[start..].iter().take_while(|item| item.frame == items[start].frame).count();
            let range = start..start + length;
            if by_slice {
                made.take_slices(items, &found, range);
            } else {
                made.take_frame(items, &found, start);
            }
            start += length;
        }
        made.put_overhead();
        Some(made)
    }

    fn take_frame(&mut self, items: &[Item], found: &[Found], at: usize) {
        let Item { frame, came_ms, out_ms, follows, .. } = items[at];
        self.through_ms[frame] = out_ms - came_ms;
        if follows {
            self.spacing_ms[frame] = out_ms - items[at - 1].out_ms;
        }
        match found[at] {
            Found::Busy => self.service_ms[frame] = self.spacing_ms[frame],
            Found::Idle => self.idle_ms[frame] = self.through_ms[frame],
            Found::Unknown => {}
        }
    }

    fn take_slices(&mut self, items: &[Item], found: &[Found], range: std::ops::Range<usize>) {
        let (first, frame, slices) = (range.start, items[range.start].frame, range.len() as f64);
        let spacing = |at: usize| items[at].out_ms - items[at - 1].out_ms;
        let through = |at: usize| items[at].out_ms - items[at].came_ms;
        let later = || range.clone().skip(1);
        let mean = |values: &mut dyn Iterator<Item = f64>| {
            let (count, sum) = values.fold((0.0, 0.0), |(count, sum), value| (count + 1.0, sum + value));
            (count, sum / count)
        };
        // A frame of one slice has no other to be held against, and none is known here.
        let (known, slice) = mean(&mut later().filter(|&at| found[at] == Found::Busy).map(spacing));
        if known < (ENOUGH_SLICES * (slices - 1.0)).max(1.0) {
            return;
        }
        self.service_ms[frame] = slice * slices;
        match found[first] {
            Found::Busy => self.first_more_ms[frame] = spacing(first) - slice,
            Found::Idle => self.idle_ms[frame] = through(first) - slice,
            Found::Unknown => {}
        }
        let (_, late) = mean(&mut later().filter(|&at| found[at] == Found::Idle).map(through));
        self.idle_later_ms[frame] = late - slice;
    }

    /// From first slices that came back to back, else from those that found the stage idle, held against later ones.
    fn put_overhead(&mut self) {
        let known = |values: &[f64]| {
            let known: Vec<f64> = values.iter().copied().filter(|x| x.is_finite()).collect();
            if known.len() < FEWEST_STARTS { None } else { statistics::mean(&known) }
        };
        let idle = || Some(known(&self.idle_ms)? - known(&self.idle_later_ms)?);
        let found = if self.by_slice { known(&self.first_more_ms).or_else(idle) } else { None };
        self.overhead_ms = found.filter(|overhead| *overhead > 0.0);
        let overhead = self.overhead_ms.unwrap_or(0.0);
        self.service_ms.iter_mut().for_each(|service| *service += overhead);
    }

    /// The frames of these numbers.
    #[must_use]
    pub(super) fn part(&self, kept: &[usize]) -> Self {
        let pick = |values: &[f64]| {
            if values.is_empty() { Vec::new() } else { kept.iter().map(|&frame| values[frame]).collect() }
        };
        Self {
            service_ms: pick(&self.service_ms),
            idle_ms: pick(&self.idle_ms),
            idle_later_ms: pick(&self.idle_later_ms),
            first_more_ms: pick(&self.first_more_ms),
            through_ms: pick(&self.through_ms),
            spacing_ms: pick(&self.spacing_ms),
            ..*self
        }
    }

    /// Whether the service of enough frames is known.
    pub(super) fn tells_service(&self) -> bool {
        enough(&self.service_ms)
    }

    /// The service of a frame whose pipeline is known \[ms\]: what it took from when it came or the one before it was served,
    /// whichever was later.
    pub(super) fn service_at(&self, frame: usize, pipeline_ms: f64) -> Option<f64> {
        let (through, spacing) = (self.through_ms.get(frame)?, self.spacing_ms.get(frame)?);
        // Where the one before is not known, the frame may have waited.
        (spacing.is_finite() && *spacing >= 0.0).then(|| spacing.min(through - pipeline_ms)).filter(|ms| *ms >= 0.0)
    }
}

/// Whether enough frames have a value to be fitted.
pub(super) fn enough(values: &[f64]) -> bool {
    values.iter().filter(|x| x.is_finite()).count() >= FEWEST_FRAMES
}

/// What each item found; none where nothing passed.
fn found(items: &[Item]) -> Option<Vec<Found>> {
    let usual = usual_step(items);
    // Whatever an item waited and was served, its time through holds the pipeline.
    let most_ms = items.iter().map(|item| item.out_ms - item.came_ms).min_by(f64::total_cmp)?;
    let before = |at: usize| {
        let known = items[at].follows && items[at].number - items[at - 1].number <= usual;
        known.then(|| items[at - 1].out_ms).filter(|out_ms| *out_ms <= items[at].out_ms)
    };
    let busy = |at: usize| before(at).is_some_and(|out_ms| items[at].came_ms <= out_ms - most_ms);
    let mut services: Vec<f64> =
        (1..items.len()).filter(|&at| busy(at)).map(|at| items[at].out_ms - items[at - 1].out_ms).collect();
    services.sort_unstable_by(f64::total_cmp);
    // The least time through holds a service, and hardly one is longer than this: the rest of it is pipeline. Were it waiting,
    // everything would have waited as long, and nothing would count as idle below.
    let least_ms = quantile_of_sorted(&services, NEARLY_ALL).map_or(0.0, |service| (most_ms - service).max(0.0));
    let idle = |at: usize| before(at).is_some_and(|out_ms| items[at].came_ms >= out_ms - least_ms);
    let judged = (0..items.len()).map(|at| match at {
        0 => Found::Unknown,
        _ if busy(at) => Found::Busy,
        _ if idle(at) => Found::Idle,
        _ => Found::Unknown,
    });
    Some(judged.collect())
}

/// How far apart the numbers of frames that follow each other mostly are: what comes after a gap follows something unknown.
fn usual_step(items: &[Item]) -> f64 {
    let steps = items.windows(2).filter(|two| two[1].follows).map(|two| two[1].number - two[0].number);
    let mut steps: Vec<f64> = steps.filter(|step| *step > 0.0).collect();
    median(&mut steps).unwrap_or(f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Times through a codec of this pipeline, of what comes at given instants and is served as long as given.
    fn through(pipeline_ms: f64, things: &[(usize, f64, f64)]) -> Vec<Item> {
        let mut free_ms = f64::NEG_INFINITY;
        let mut last = None;
        things
            .iter()
            .map(|&(frame, came_ms, service_ms)| {
                free_ms = came_ms.max(free_ms) + service_ms;
                let follows = last.replace(frame).is_some();
                Item { frame, number: frame as f64, came_ms, out_ms: free_ms + pipeline_ms, follows }
            })
            .collect()
    }

    fn known(values: &[f64]) -> Vec<(usize, f64)> {
        values.iter().copied().enumerate().filter(|(_, value)| value.is_finite()).collect()
    }

    /// Frames 1, 2 come while the one before is in service, frame 3 long after, frame 4 within the pipeline of frame 3, but
    /// after its service.
    #[test]
    fn frames_tell_service_where_they_wait_and_pipeline_where_they_do_not() {
        let items = through(10.0, &[(0, 0.0, 4.0), (1, 0.0, 5.0), (2, 1.0, 4.0), (3, 60.0, 4.0), (4, 69.0, 4.5)]);
        let passage = Passage::of(Role::Encode, &items, 5, false).unwrap();
        assert_eq!(known(&passage.service_ms), [(1, 5.0), (2, 4.0)]);
        // The least time through is 14, the longest service seen nearly 5: the pipeline is 9 at least, so frame 4, which comes
        // 5 before the one before is out, finds the codec idle.
        assert_eq!(known(&passage.idle_ms), [(3, 14.0), (4, 14.5)]);
        assert_eq!((passage.back_to_back, passage.idle, passage.disordered), (2, 2, 0));
        assert_eq!(passage.service_at(3, 10.0), Some(4.0));
        assert_eq!(passage.service_at(2, 10.0), Some(4.0));
        assert_eq!(passage.service_at(0, 10.0), None);
    }

    #[test]
    fn a_codec_that_never_rests_shows_no_idle_start_and_one_that_never_waits_no_service() {
        let saturated: Vec<_> = (0..50).map(|k| (k, k as f64 - 20.0, 3.0 + 0.1 * (k % 3) as f64)).collect();
        let passage = Passage::of(Role::Encode, &through(5.0, &saturated), 50, false).unwrap();
        assert_eq!(passage.idle, 0);
        assert!(passage.back_to_back > 40);
        let idle: Vec<_> = (0..50).map(|k| (k, 20.0 * k as f64, 3.0 + 0.1 * (k % 3) as f64)).collect();
        let passage = Passage::of(Role::Encode, &through(5.0, &idle), 50, false).unwrap();
        assert_eq!((passage.back_to_back, passage.idle), (0, 49));
    }

    #[test]
    fn what_follows_a_gap_or_comes_out_of_order_tells_nothing() {
        let mut items = through(1.0, &[(0, 0.0, 4.0), (1, 0.0, 4.0), (2, 0.0, 4.0), (3, 0.0, 4.0), (4, 0.0, 4.0)]);
        items[2].number = 7.0;
        items[3].number = 8.0;
        items[4].number = 9.0;
        items[4].out_ms = 3.0;
        let passage = Passage::of(Role::Encode, &items, 5, false).unwrap();
        assert_eq!(known(&passage.service_ms), [(1, 4.0), (3, 4.0)]);
        assert_eq!(passage.disordered, 1);
    }

    /// Two frames of four slices that come together; the first slice takes 1 ms more.
    #[test]
    fn slices_tell_the_frame_and_what_its_first_slice_takes_more() {
        let frame = |frame: usize, came: f64| (0..4).map(move |k| (frame, came, if k == 0 { 3.0 } else { 2.0 }));
        let things: Vec<_> = frame(0, 0.0).chain(frame(1, 30.0)).chain(frame(2, 31.0)).collect();
        let passage = Passage::of(Role::Decode, &through(6.0, &things), 3, true).unwrap();
        assert_eq!(known(&passage.service_ms), [(0, 8.0), (1, 8.0), (2, 8.0)]);
        // 6 ms of pipeline and 1 ms that the first slice takes more.
        assert_eq!(known(&passage.idle_ms), [(1, 7.0)]);
        assert_eq!(known(&passage.first_more_ms), [(2, 1.0)]);
        assert!(known(&passage.idle_later_ms).is_empty());
    }
}
