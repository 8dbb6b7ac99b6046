//! What rate control did to the sizes of a work table.

use super::WorkTable;
use crate::scenario::Scenario;

/// How much rate control took from the frames.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// Share of the counted frames that have exactly as many bits as the buffer had room for.
    pub share: f64,
    /// Share of the bits that the scenario asks for on average and that the counted frames do not have; negative where
    /// they have more.
    pub missing: f64,
}

/// How often the counted frames of a table are at the limit of rate control, found by filling its buffer with them; none
/// where there is no rate control, or no counted frame.
pub fn held(scenario: &Scenario, table: &WorkTable) -> Option<Held> {
    let stream = &scenario.stream;
    let warmup = scenario.run.warmup as usize;
    let frames = &table.frames[..table.frames.len().min(scenario.run.frames as usize)];
    if stream.vbv_frames <= 0.0 || frames.len() <= warmup {
        return None;
    }
    let target = scenario.target_bits();
    let (mut fullness, mut held, mut sum) = (0.0, 0_u32, 0.0);
    for (number, frame) in frames.iter().enumerate() {
        let bits = frame.bits as f64;
        let most = f64::max(0.1 * target, stream.vbv_frames * target - fullness);
        fullness = f64::max(0.0, fullness + bits - target);
        if number >= warmup {
            held += u32::from(frame.bits == most.round() as i64);
            sum += bits;
        }
    }
    let counted = (frames.len() - warmup) as f64;
    let intra = stream.intra.every.map_or(0.0, |every| (stream.intra.factor - 1.0) / f64::from(every));
    let penalty = scenario.slices.bits_penalty_pct / 100.0 * f64::from(scenario.slices.count.saturating_sub(1));
    let wanted = target * stream.size.mean() * (1.0 + intra) * (1.0 + penalty);
    Some(Held { share: f64::from(held) / counted, missing: 1.0 - sum / counted / wanted })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Spread;
    use crate::work::draw;

    fn constant(penalty_pct: f64) -> Scenario {
        let mut scenario = Scenario::default();
        scenario.stream.size = Spread::Constant;
        scenario.content.cv = 0.0;
        scenario.slices.bits_penalty_pct = penalty_pct;
        scenario.run.frames = 1000;
        scenario
    }

    #[test]
    fn what_the_buffer_has_no_room_for_is_missing() {
        // Frames of exactly the target leave the buffer as it is; only the first one, an intra frame, is held.
        let even = constant(0.0);
        let found = held(&even, &draw(&even)).unwrap();
        assert!(found.share == 0.0 && found.missing.abs() < 1e-6, "{found:?}");
        // Each frame asks for 1 + 7 x 2 % and gets the target once the buffer is full: 1 - 1 / 1.14 is missing.
        let heavy = constant(2.0);
        let found = held(&heavy, &draw(&heavy)).unwrap();
        assert!((found.share - 1.0).abs() < 1e-12 && (found.missing - (1.0 - 1.0 / 1.14)).abs() < 1e-6, "{found:?}");
        let mut free = heavy;
        free.stream.vbv_frames = 0.0;
        assert_eq!(held(&free, &draw(&free)), None);
    }
}
