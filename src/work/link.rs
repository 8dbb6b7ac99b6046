//! What befalls the link: closures, and packets lost.

use super::law::{exponential, uniform};
use super::luck::{Column, Luck};
use super::table::{Closure, FrameWork, Loss, Shares};
use super::units::{Packing, borders, frame_bytes};
use crate::scenario::{Repair, Scenario};
use crate::stop::{Stop, Stopped};
use crate::time::{ms_to_ns, round_to_ns};

const NS_PER_MINUTE: f64 = 60e9;

/// Draws the closures that start before `horizon_ns`: Poisson starts, exponential lengths, merged.
pub(super) fn draw_closures(scenario: &Scenario, horizon_ns: i64, closures: &mut Vec<Closure>) {
    let law = &scenario.link.closures;
    closures.clear();
    if law.per_minute <= 0.0 {
        return;
    }
    let [gaps, lengths] =
        [Column::ClosureGap, Column::ClosureLength].map(|column| Luck::new(scenario.run.seed, column));
    let mut start = 0.0;
    for number in 0.. {
        start += exponential(&mut gaps.at(number)) * NS_PER_MINUTE / law.per_minute;
        if start >= horizon_ns as f64 {
            break;
        }
        let start_ns = round_to_ns(start);
        let length_ns = ms_to_ns(law.mean_ms * exponential(&mut lengths.at(number)));
        closures.push(Closure { start_ns, end_ns: start_ns + length_ns });
    }
    merge(closures);
}

/// Puts closures in order, merges those that overlap or touch, leaves out empty ones.
pub(super) fn merge(closures: &mut Vec<Closure>) {
    closures.retain(|closure| closure.end_ns > closure.start_ns);
    closures.sort_unstable_by_key(|closure| closure.start_ns);
    closures.dedup_by(|next, kept| {
        let together = next.start_ns <= kept.end_ns;
        if together {
            kept.end_ns = kept.end_ns.max(next.end_ns);
        }
        together
    });
}

/// Draws the packets lost of each frame. Packets are counted along the frame, so the slice count moves only the borders.
pub(super) fn draw_losses(
    scenario: &Scenario,
    frames: &[FrameWork],
    bit_shares: &Shares,
    rows: &mut Vec<Loss>,
    stop: Stop<'_>,
) -> Result<(), Stopped> {
    let loss = scenario.link.loss;
    if loss <= 0.0 {
        return Ok(());
    }
    let tries = match scenario.link.repair {
        Repair::Resend { tries } => tries as usize,
        Repair::Nothing | Repair::Parity { .. } => 0,
    };
    let packing = Packing::new(scenario);
    let [first, again] = [Column::Loss, Column::LossAgain].map(|column| Luck::new(scenario.run.seed, column));
    // Packets from one lost packet to the next are geometric: floor(ln u / ln(1 - loss)) come through between.
    let log_through = (-loss).ln_1p();
    let mut lost = vec![0; tries + 1];
    for (frame, work) in frames.iter().enumerate() {
        if stop.asked() {
            return Err(Stopped);
        }
        let bytes = frame_bytes(work.bits);
        let mut gaps = first.at(frame);
        let mut next_lost = (uniform(&mut gaps).ln() / log_through) as i64;
        let mut end = 0;
        for (slice, border) in borders(bit_shares.of(frame)).enumerate() {
            end += packing.unit(bytes, border).sent();
            if next_lost >= end {
                continue;
            }
            while next_lost < end {
                lost[0] += 1;
                let mut luck = again.within(frame).at(next_lost as usize);
                let times = (0..tries).take_while(|_| uniform(&mut luck) < loss).count();
                for count in &mut lost[1..=times] {
                    *count += 1;
                }
                next_lost = next_lost.saturating_add(1 + (uniform(&mut gaps).ln() / log_through) as i64);
            }
            for (attempt, count) in lost.iter_mut().enumerate().filter(|(_, count)| **count > 0) {
                let (frame, slice, attempt) = (frame as u32, slice as u32, attempt as u32);
                rows.push(Loss { frame, slice, attempt, lost: std::mem::take(count) });
            }
        }
    }
    Ok(())
}
