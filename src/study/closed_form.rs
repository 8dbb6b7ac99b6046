//! The slice count that arithmetic finds: one frame alone, equal slices, costs at their means.
//!
//! Encoder, link and decoder are a flow shop that the slices go through one after another. With stage totals `p`, overheads
//! a slice `o` and one bottleneck `b`, all of them linear in 1/n, the last slice is out at
//! `L(n) = p_b + (P - p_b)/n + O - o_b + n o_b`, least at `n* = sqrt((P - p_b)/o_b)` (lot streaming: Potts and Baker, Oper.
//! Res. Lett. 8, 1989; Trietsch and Baker, Oper. Res. 41, 1993).

use serde::Serialize;

use crate::measure::Server;
use crate::scenario::{CodecCost, HandOff, Repair, Scenario, Shape};

/// A stage for one frame cut into n: `total/n + overhead` a slice, and `first` once more for the first slice \[ms\].
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(clippy::struct_field_names, reason = "the unit belongs to the name")]
struct Stage {
    total_ms: f64,
    overhead_ms: f64,
    first_ms: f64,
}

impl Stage {
    fn slice_ms(&self, count: f64) -> f64 {
        self.total_ms / count + self.overhead_ms
    }
}

/// The line that one frame goes through: encoder, link, decoder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    stages: [Stage; 3],
    /// Pipelines, propagation and delay, which every slice suffers \[ms\].
    beside_ms: f64,
}

/// The best slice count by the closed form.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BestCount {
    /// `n*`; between two whole numbers as a rule.
    pub slices: f64,
    /// The stage that is longest per slice.
    pub bottleneck: &'static str,
    /// Latency of the frame alone, from rendered to ready, at the better of the two whole numbers about it \[ms\].
    pub alone_ms: f64,
}

/// What a codec takes for the whole frame: the part that goes with bits, and the rest \[ms\].
fn codec_ms(cost: &CodecCost, mpx: f64, mbit: f64) -> (f64, f64) {
    let factor = cost.spread.mean();
    let stall_ms = cost.stall.chance * cost.stall.mean_ms;
    (cost.per_mbit_ms * mbit * factor, (cost.fixed_ms + cost.per_mpx_ms * mpx) * factor + stall_ms)
}

impl Line {
    /// The line of a scenario at mean costs, or why there is none.
    pub fn of(scenario: &Scenario) -> Result<Self, &'static str> {
        let Scenario { encode, link, decode, slices, .. } = scenario;
        if slices.shape != Shape::Equal {
            return Err("slices are not equal");
        }
        if slices.spread_cv > 0.0 {
            return Err("the bits of slices vary");
        }
        if encode.hand_off == HandOff::Frame || link.hand_off == HandOff::Frame {
            return Err("a stage hands on whole frames");
        }
        if encode.engines > 1 || decode.engines > 1 {
            return Err("a stage has several engines");
        }
        if scenario.host.parts > 1 {
            return Err("slices come from the renderer in parts");
        }
        let bits = bits(scenario);
        // More bits for each further slice: `bits (1 + grow (n - 1))`, so `(1 - grow)/n + grow` of them in a slice.
        let grow = if scenario.stream.vbv_frames > 0.0 { 0.0 } else { slices.bits_penalty_pct / 100.0 };
        let stage = |with_bits_ms: f64, rest_ms: f64, overhead_ms: f64, first_ms| Stage {
            total_ms: rest_ms + with_bits_ms * (1.0 - grow),
            overhead_ms: overhead_ms + with_bits_ms * grow,
            first_ms,
        };
        let codec = |cost, overhead_ms, first_ms| {
            let (with_bits_ms, rest_ms) = codec_ms(cost, scenario.coded_mpx(), bits / 1e6);
            stage(with_bits_ms, rest_ms, overhead_ms, first_ms)
        };
        // Bits on the wire for each coded one: packet headers and parity, but for the rounding to whole packets.
        let parity = if let Repair::Parity { overhead_pct } = link.repair { overhead_pct / 100.0 } else { 0.0 };
        let header = f64::from(link.packet_header_bytes) / f64::from(link.packet_payload_bytes);
        let wire_ms = |bits: f64| bits * (1.0 + parity) * (1.0 + header) / link.rate_mbps / 1e3;
        let slice_header_ms = wire_ms(8.0 * f64::from(scenario.stream.slice_header_bytes));
        Ok(Self {
            stages: [
                codec(&encode.work, encode.slice_overhead_ms, encode.frame_overhead_ms),
                stage(wire_ms(bits), 0.0, link.unit_overhead_ms + slice_header_ms, 0.0),
                codec(&decode.work, decode.slice_overhead_ms, decode.frame_overhead_ms),
            ],
            beside_ms: encode.pipeline_ms
                + decode.pipeline_ms
                + link.propagation_us / 1e3
                + link.delay.fixed_ms
                + link.delay.jitter_ms * link.delay.spread.mean(),
        })
    }

    /// Latency of the frame alone cut into so many slices, from rendered to ready, by the recurrence of flow shops \[ms\].
    pub fn alone_ms(&self, count: u32) -> f64 {
        let mut out = [0.0; 3];
        for slice in 0..count {
            let mut come = 0.0;
            for (stage, out) in self.stages.iter().zip(&mut out) {
                let first_ms = if slice == 0 { stage.first_ms } else { 0.0 };
                *out = f64::max(*out, come) + stage.slice_ms(f64::from(count)) + first_ms;
                come = *out;
            }
        }
        out[2] + self.beside_ms
    }

    /// The stage that is longest per slice.
    fn bottleneck(&self, count: f64) -> usize {
        let longer = |a: &usize, b: &usize| self.stages[*a].slice_ms(count).total_cmp(&self.stages[*b].slice_ms(count));
        (0..3).max_by(longer).unwrap_or_default()
    }

    /// `n*`, or why the closed form does not hold: it must be the recurrence's own branch about `n*`.
    pub fn best_count(&self) -> Result<BestCount, &'static str> {
        let total_ms: f64 = self.stages.iter().map(|stage| stage.total_ms).sum();
        let overheads_ms: f64 = self.stages.iter().map(|stage| stage.overhead_ms).sum();
        let candidates = (0..3).filter_map(|at| {
            let stage = self.stages[at];
            let best = ((total_ms - stage.total_ms) / stage.overhead_ms).sqrt();
            (best.is_finite() && best > 0.0 && self.bottleneck(best) == at).then_some((at, best))
        });
        let Some((at, slices)) = candidates.min_by(|a, b| a.1.total_cmp(&b.1)) else {
            return Err("no stage with an overhead per slice is the longest at its own best count");
        };
        let bottleneck = self.stages[at];
        let formula_ms = |count: u32| {
            let n = f64::from(count);
            let rest_ms = (total_ms - bottleneck.total_ms) / n + overheads_ms - bottleneck.overhead_ms;
            bottleneck.total_ms + rest_ms + n * bottleneck.overhead_ms
        };
        // First slices' overheads shift it as a whole.
        let below = (slices.floor() as u32).max(1);
        let shift_ms = self.alone_ms(below) - formula_ms(below);
        let near = [below.saturating_sub(1).max(1), below, below + 1, below + 2];
        if near.iter().any(|&count| (self.alone_ms(count) - formula_ms(count) - shift_ms).abs() > 1e-9) {
            return Err("another stage leads at counts about it");
        }
        let name = [Server::Encoder, Server::Link, Server::Decoder][at].name();
        let alone_ms = self.alone_ms(below).min(self.alone_ms(below + 1));
        Ok(BestCount { slices, bottleneck: name, alone_ms })
    }
}

/// Mean bits of a frame cut once. Rate control keeps them to the target.
fn bits(scenario: &Scenario) -> f64 {
    let stream = &scenario.stream;
    let intra = stream.intra.every.map_or(0.0, |every| (stream.intra.factor - 1.0) / f64::from(every));
    let factor = stream.size.mean() * (1.0 + intra);
    scenario.target_bits() * if stream.vbv_frames > 0.0 { factor.min(1.0) } else { factor }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(totals: [f64; 3], overheads: [f64; 3], first: [f64; 3]) -> Line {
        let stage = |at: usize| Stage { total_ms: totals[at], overhead_ms: overheads[at], first_ms: first[at] };
        Line { stages: [stage(0), stage(1), stage(2)], beside_ms: 0.0 }
    }

    /// Rows of flow shops with overheads, computed by another program by the recurrence.
    #[test]
    fn curves_are_the_published_rows() {
        let decoder = line([4.0, 1.0, 6.0], [0.1, 0.02, 0.15], [0.0; 3]);
        for (count, ms) in [(1, 11.27), (2, 8.92), (4, 7.97), (6, 7.853_333), (8, 7.945), (16, 8.8325), (32, 11.076_25)]
        {
            assert!((decoder.alone_ms(count) - ms).abs() < 1e-6, "{count}: {}", decoder.alone_ms(count));
        }
        let best = decoder.best_count().unwrap();
        assert!((best.slices - (5.0_f64 / 0.15).sqrt()).abs() < 1e-12 && best.bottleneck == "decoder");
        assert!((best.alone_ms - 7.853_333).abs() < 1e-6);
        let encoder = line([6.0, 4.0, 3.0], [0.1, 0.05, 0.2], [0.3, 0.0, 0.4]);
        for (count, ms) in
            [(1, 14.05), (2, 10.25), (4, 8.7), (6, 8.316_667), (8, 8.225), (10, 8.25), (16, 8.5875), (32, 10.5625)]
        {
            assert!((encoder.alone_ms(count) - ms).abs() < 1e-6, "{count}: {}", encoder.alone_ms(count));
        }
        let best = encoder.best_count().unwrap();
        assert!((best.slices - 70.0_f64.sqrt()).abs() < 1e-12 && best.bottleneck == "encoder", "{best:?}");
    }

    #[test]
    fn where_it_does_not_hold_it_says_why() {
        assert!(line([4.0, 1.0, 6.0], [0.1, 0.02, 0.0], [0.0; 3]).best_count().is_err());
        let mut scenario = Scenario::default();
        assert!(Line::of(&scenario).is_ok());
        scenario.decode.engines = 2;
        assert_eq!(Line::of(&scenario), Err("a stage has several engines"));
        scenario.slices.shape = Shape::Geometric { ratio: 0.8 };
        assert_eq!(Line::of(&scenario), Err("slices are not equal"));
    }

    /// More bits for more slices are an overhead per slice: `bits (1 + g (n - 1)) / n = bits ((1 - g)/n + g)`.
    #[test]
    fn more_bits_for_more_slices_bend_the_curve_as_the_engine_does() {
        let mut scenario = Scenario::default();
        scenario.stream.vbv_frames = 0.0;
        scenario.slices.bits_penalty_pct = 2.0;
        scenario.encode.work.per_mbit_ms = 2.0;
        let with = Line::of(&scenario).unwrap();
        scenario.slices.bits_penalty_pct = 0.0;
        let without = Line::of(&scenario).unwrap();
        let mbit = scenario.target_bits() / 1e6;
        let encode = |line: &Line, n: f64| n * line.stages[0].slice_ms(n);
        assert!((encode(&with, 8.0) - encode(&without, 8.0) - 0.02 * 7.0 * 2.0 * mbit).abs() < 1e-9);
        assert!((encode(&with, 1.0) - encode(&without, 1.0)).abs() < 1e-9);
    }
}
