//! A row of blocks that do not overlap, and what of it is seen at a scale.

use super::Block;

/// Blocks of one server, or of one engine of it, by start.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    blocks: Vec<Block>,
    /// Work of all blocks before one \[ns\]; one entry more than blocks.
    work_before_ns: Vec<i64>,
    /// Start of every so-manyth block \[ns\]: looking up a pixel's border in a long run stays within the processor's cache.
    landmarks_ns: Vec<i64>,
    longest_ns: i64,
}

/// Blocks from one landmark to the next.
const STRIDE: usize = 64;

/// What is drawn at a scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drawn<'a> {
    /// A block on its own.
    Block(&'a Block),
    /// Blocks that start within one pixel and do not reach far beyond it.
    Folded {
        /// The pixel begins \[ns\].
        start_ns: i64,
        /// Where the last of them ends \[ns\].
        end_ns: i64,
        /// How many.
        count: usize,
        /// How long they work in all \[ns\].
        work_ns: i64,
        /// Frames of the first and last.
        frames: (u32, u32),
    },
}

impl Row {
    /// A row of blocks, given in any order.
    pub(super) fn new(mut blocks: Vec<Block>) -> Self {
        if !blocks.is_sorted_by_key(|block| block.start_ns) {
            blocks.sort_by_key(|block| block.start_ns);
        }
        let mut work_before_ns = Vec::with_capacity(blocks.len() + 1);
        work_before_ns.push(0);
        let mut sum = 0;
        let mut longest_ns = 0;
        for block in &blocks {
            sum += block.length_ns();
            longest_ns = longest_ns.max(block.length_ns());
            work_before_ns.push(sum);
        }
        let landmarks_ns = blocks.iter().step_by(STRIDE).map(|block| block.start_ns).collect();
        Self { blocks, work_before_ns, landmarks_ns, longest_ns }
    }

    /// The first block that starts at or after an instant.
    fn first_from(&self, ns: i64) -> usize {
        let passed = self.landmarks_ns.partition_point(|start| *start < ns);
        let low = passed.saturating_sub(1) * STRIDE;
        let high = (passed * STRIDE).min(self.blocks.len());
        low + self.blocks[low..high].partition_point(|block| block.start_ns < ns)
    }

    /// The same for an instant after the start of the block `at`, sought from `step` blocks on in doubling strides: little
    /// memory is touched, which in a long run costs more than to compare.
    fn first_from_near(&self, at: usize, step: usize, ns: i64) -> usize {
        let before = |place: usize| self.blocks.get(place).is_some_and(|block| block.start_ns < ns);
        let guess = at + step.max(1);
        let mut stride = 1;
        let (low, high) = if before(guess) {
            let (mut low, mut high) = (guess, guess + 1);
            while before(high) {
                low = high;
                stride *= 2;
                high += stride;
            }
            (low, high)
        } else {
            let mut high = guess;
            while high > at + stride && !before(high - stride) {
                high -= stride;
                stride *= 2;
            }
            (at.max(high.saturating_sub(stride)), high)
        };
        let high = high.min(self.blocks.len());
        let low = low.min(high);
        low + self.blocks[low..high].partition_point(|block| block.start_ns < ns)
    }

    /// The blocks, by start.
    pub fn blocks(&self) -> &[Block] {
        &self.blocks
    }

    /// Hands over what is seen of `from_ns..to_ns` with `pixel_ns` to a pixel. Blocks narrower than a pixel are folded with
    /// their neighbours in that pixel, none is left out; the effort grows with the pixels, not with the blocks.
    pub fn view<'a>(&'a self, from_ns: i64, to_ns: i64, pixel_ns: i64, mut draw: impl FnMut(Drawn<'a>)) {
        let pixel_ns = pixel_ns.max(1);
        let mut at = self.first_from(from_ns.saturating_sub(self.longest_ns));
        let end = self.first_from(to_ns);
        // Pixels hold about as many blocks as their neighbours: where the last one ended tells nearly where the next one does.
        let mut step = 1;
        while at < end {
            let block = &self.blocks[at];
            if block.end_ns < from_ns {
                at += 1;
                continue;
            }
            if block.length_ns() >= pixel_ns {
                draw(Drawn::Block(block));
                at += 1;
                continue;
            }
            let pixel = block.start_ns.div_euclid(pixel_ns);
            let mut next = self.first_from_near(at, step, (pixel + 1).saturating_mul(pixel_ns)).min(end);
            step = next - at;
            if next > at + 1 && self.blocks[next - 1].length_ns() >= pixel_ns {
                next -= 1;
            }
            if next == at + 1 {
                draw(Drawn::Block(block));
            } else {
                let last = &self.blocks[next - 1];
                draw(Drawn::Folded {
                    start_ns: pixel * pixel_ns,
                    end_ns: last.end_ns,
                    count: next - at,
                    work_ns: self.work_before_ns[next] - self.work_before_ns[at],
                    frames: (block.frame, last.frame),
                });
            }
            at = next;
        }
    }

    /// The blocks of one frame among those that start from `from_ns` to `to_ns`, which should be the frame's own time: the
    /// effort grows with what lies between.
    pub fn of_frame(&self, frame: u32, from_ns: i64, to_ns: i64) -> impl Iterator<Item = &Block> {
        let first = self.first_from(from_ns);
        let within = self.blocks[first..].iter().take_while(move |block| block.start_ns <= to_ns);
        within.filter(move |block| block.frame == frame)
    }

    /// The block at an instant, or the nearest one not farther than `reach_ns`.
    pub fn near(&self, ns: i64, reach_ns: i64) -> Option<&Block> {
        let after = self.first_from(ns.saturating_add(1));
        let away = |block: &&Block| (block.start_ns - ns).max(ns - block.end_ns).max(0);
        let around = &self.blocks[after.saturating_sub(1)..(after + 1).min(self.blocks.len())];
        around.iter().min_by_key(away).filter(|block| away(block) <= reach_ns)
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn seeking_near_finds_what_seeking_everywhere_finds() {
        let mut scenario = crate::scenario::Scenario::default();
        scenario.run.frames = 60;
        let answer = crate::study::answer(&scenario, &mut crate::study::Workspace::new());
        let lanes = super::super::Lanes::new(&answer.scenario, &answer.table, &answer.run);
        let row = &lanes.lane(super::super::Stage::Encoder).rows[0];
        assert!(row.blocks.len() > 400);
        for at in (0..row.blocks.len()).step_by(37) {
            for step in [0, 1, 2, 5, 64, 1000] {
                for ahead in [0, 1, 3, 60, 399, 5000] {
                    let ns = row
                        .blocks
                        .get(at + ahead)
                        .map_or(i64::MAX, |block| block.start_ns)
                        .max(row.blocks[at].start_ns + 1);
                    assert_eq!(row.first_from_near(at, step, ns), row.first_from(ns), "{at} {step} {ahead}");
                }
            }
        }
    }
}
