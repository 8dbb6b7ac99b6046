//! Measured frames as a work table: only causality is left to simulate.

use super::judge;
use super::mapping::Role;
use super::measured::Measured;
use crate::scenario::Scenario;
use crate::time::ms_to_ns;
use crate::work::{self, WorkTable};

/// Fewest frames that a run can have.
const FEWEST: usize = 10;

/// The measured frames of the scenario's slice count as a work table, and the scenario at their number. What was not
/// measured of a frame is drawn. None for fewer than ten frames of that count.
pub fn replay(scenario: &Scenario, measured: &Measured) -> Option<(Scenario, WorkTable)> {
    let part = judge::comparable(measured, scenario);
    if part.frames < FEWEST {
        return None;
    }
    let mut scenario = scenario.clone();
    scenario.run.frames = part.frames as u32;
    scenario.run.keep_half();
    let mut table = work::draw(&scenario);
    let slices = f64::from(scenario.slices.count);
    let header_bits = slices * 8.0 * f64::from(scenario.stream.slice_header_bytes);
    let overhead = |frame: f64, slice: f64| frame + slices * slice;
    let encode = overhead(scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms);
    let decode = overhead(scenario.decode.frame_overhead_ms, scenario.decode.slice_overhead_ms);
    for passage in &part.passages {
        let (work_ms, pipeline_ms) = match passage.role {
            Role::Encode => (encode, scenario.encode.pipeline_ms),
            _ => (decode, scenario.decode.pipeline_ms),
        };
        for (frame, row) in table.frames.iter_mut().enumerate() {
            let Some(service_ms) = passage.service_at(frame, pipeline_ms) else { continue };
            let ns = ms_to_ns((service_ms - work_ms).max(0.0));
            if passage.role == Role::Encode { row.encode_ns = ns } else { row.decode_ns = ns }
        }
    }
    for values in &part.values {
        for (frame, &value) in table.frames.iter_mut().zip(&values.values).filter(|(_, value)| value.is_finite()) {
            let ns = |overhead_ms: f64| ms_to_ns((value - overhead_ms).max(0.0));
            match values.role {
                Role::Simulate => frame.simulate_ns = ns(0.0),
                Role::Render => frame.render_ns = ns(0.0),
                Role::Encode => frame.encode_ns = ns(encode),
                Role::Decode => frame.decode_ns = ns(decode),
                Role::Uplink => frame.uplink_ns = ns(0.0),
                Role::Size => frame.bits = (value - header_bits).round().max(0.0) as i64,
                _ => {}
            }
        }
    }
    if let Some(intra) = &part.intra {
        // Nothing comes before the first frame, so it is intra whatever was measured.
        table.frames.iter_mut().zip(intra).skip(1).for_each(|(frame, &intra)| frame.intra = intra);
    }
    Some((scenario, table))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::Values;
    use crate::study::{self, Workspace};

    #[test]
    fn measured_frames_run_as_they_were() {
        let frames = 40;
        let values = |role, value: &dyn Fn(usize) -> f64| Values { role, values: (0..frames).map(value).collect() };
        let measured = Measured {
            frames,
            slices: vec![8; frames],
            values: vec![
                values(Role::Encode, &|k| 5.0 + 0.1 * k as f64),
                values(Role::Decode, &|k| if k == 3 { f64::NAN } else { 7.0 }),
                values(Role::Size, &|_| 2e6),
            ],
            starts: vec![0],
            ..Measured::default()
        };
        let (scenario, table) = replay(&Scenario::default(), &measured).unwrap();
        assert_eq!((scenario.run.frames, scenario.run.warmup), (40, 20));
        // 0.3 and 8 x 0.12 ms of overheads are the engine's to add.
        assert_eq!(table.frames[10].encode_ns, 6_000_000 - 300_000 - 960_000);
        assert_eq!(table.frames[2].decode_ns, 7_000_000 - 400_000 - 1_200_000);
        assert_ne!(table.frames[3].decode_ns, table.frames[2].decode_ns);
        assert_eq!(table.frames[5].bits, 2_000_000 - 8 * 8 * 70);
        let answer = study::replay(&scenario, table, &mut Workspace::new());
        assert_eq!(answer.summary.frames, 40);
        assert_eq!(replay(&Scenario::default(), &measured.part(|k| k < 5)), None);
    }
}
