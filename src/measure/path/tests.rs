//! Ways of single frames written by hand, in us. Refresh 1 latches at 9000, its vsync is at 10 000, its photons at 15 000.

use crate::engine::{Fate, FrameRecord, Grid, ResendRecord, Run, SliceRecord, Stamp};
use crate::measure::{Piece, Span, walk_back};
use crate::scenario::{Effect, HandOff, Scenario, Taken};
use crate::work::{Closure, FrameWork, WorkTable};

/// What a frame of `slices` slices meets where every slice of it takes 100 at the encoder, 50 on the link and 80 at the
/// decoder, with nothing else on the way: pose at 0, simulate 1000 to 1500, render 2000 to 4000.
struct World {
    scenario: Scenario,
    table: WorkTable,
    run: Run,
}

fn us(us: i64) -> Stamp {
    Stamp::at(us * 1000)
}

fn slice(times_us: [i64; 10]) -> SliceRecord {
    let [
        come,
        encode_start,
        encode_end,
        encode_out,
        link_start,
        link_end,
        arrive,
        decode_start,
        decode_end,
        decode_out,
    ] = times_us.map(us);
    let complete = arrive;
    SliceRecord {
        come,
        encode_start,
        encode_end,
        encode_out,
        link_start,
        link_end,
        complete,
        arrive,
        decode_start,
        decode_end,
        decode_out,
        bytes: 1000,
        resends: 0,
    }
}

/// The first slice meets no one; the second waits for it at the encoder, and the decoder is free when it comes.
fn two_slices() -> Vec<SliceRecord> {
    vec![
        slice([4000, 4000, 4100, 4100, 4100, 4150, 4150, 4150, 4230, 4230]),
        slice([4000, 4100, 4200, 4200, 4200, 4250, 4250, 4250, 4330, 4330]),
    ]
}

fn world(slices: Vec<SliceRecord>) -> World {
    let mut scenario = Scenario::default();
    scenario.display.refresh_hz = 100.0;
    scenario.display.latch_lead_ms = 1.0;
    scenario.display.scanout_ms = 4.5;
    scenario.display.persistence_ms = 1.0;
    scenario.link.propagation_us = 0.0;
    scenario.run.frames = 1;
    scenario.run.warmup = 0;
    let mut run = Run { grid: Grid::new(&scenario), slice_count: slices.len(), ..Run::default() };
    run.frames = vec![FrameRecord {
        pose: us(0),
        plan: us(900),
        start: us(1000),
        simulated: us(1500),
        render_start: us(2000),
        rendered: us(4000),
        ready: slices[slices.len() - 1].decode_out,
        shown: Some(1),
        fate: Fate::Shown,
        fate_at: us(9000),
        ..FrameRecord::default()
    }];
    run.slices = slices.into_iter().collect();
    let table = WorkTable { frames: vec![FrameWork::default()], ..WorkTable::default() };
    World { scenario, table, run }
}

impl World {
    /// Name, slice and end \[us\] of each span; asserts that they run from pose to photon without a gap.
    fn spans(&self) -> Vec<(&'static str, Option<u32>, i64)> {
        let spans = walk_back(&self.scenario, &self.table, &self.run, 0).unwrap();
        assert_eq!(spans[0].start_ns, self.run.frames[0].pose.ns().unwrap());
        assert_eq!(spans[spans.len() - 1].end_ns, 15_000_000);
        assert!(spans.windows(2).all(|pair| pair[0].end_ns == pair[1].start_ns));
        spans.iter().map(|span| (span.piece.name(), span.slice, span.end_ns / 1000)).collect()
    }

    /// The spans from the end of render to ready.
    fn stream(&self) -> Vec<(&'static str, Option<u32>, i64)> {
        let spans = self.spans();
        let after = spans.iter().position(|&(name, ..)| name == "render").unwrap() + 1;
        spans[after..].iter().copied().take_while(|&(name, ..)| name != "wait_latch").collect()
    }

    /// Time from rendered to ready that the frame would take alone \[us\].
    fn alone_us(&self) -> i64 {
        let path = super::Path::new(&self.scenario, &self.table, &self.run);
        path.services(0).unwrap().ready_alone_ns / 1000 - 4000
    }
}

#[test]
fn from_pose_to_photon() {
    assert_eq!(
        world(two_slices()).spans(),
        [
            ("pose", None, 1000),
            ("simulate", None, 1500),
            ("wait_gpu", None, 2000),
            ("render", Some(0), 4000),
            ("encode", Some(0), 4100),
            ("encode", Some(1), 4200),
            ("link", Some(1), 4250),
            ("decode", Some(1), 4330),
            ("wait_latch", None, 9000),
            ("latch", None, 10_000),
            ("light", None, 15_000),
        ]
    );
}

#[test]
fn a_frame_not_shown_has_no_path() {
    let mut world = world(two_slices());
    world.run.frames[0].shown = None;
    assert_eq!(walk_back(&world.scenario, &world.table, &world.run, 0), None);
}

#[test]
fn a_pose_taken_at_render_leaves_simulate_out() {
    let mut world = world(two_slices());
    world.scenario.pose.taken = Taken::AtRender;
    world.run.frames[0].pose = us(1800);
    assert_eq!(world.spans()[..2], [("pose", None, 2000), ("render", Some(0), 4000)]);
}

#[test]
fn render_counts_up_to_the_part_that_holds_the_slice() {
    // The first slice comes with the first part at 3000 and is done when the second part ends.
    let mut slices = two_slices();
    slices[0].come = us(3000);
    slices[0].encode_start = us(3000);
    slices[0].encode_end = us(4100);
    assert_eq!(
        world(slices.clone()).spans()[3..6],
        [("render", Some(0), 3000), ("encode", Some(0), 4100), ("encode", Some(1), 4200)]
    );
    // Had the first slice been done by then, the second would have begun when it came: upstream, to the second part.
    slices[0].encode_end = us(4000);
    slices[1].encode_start = us(4000);
    assert_eq!(world(slices).spans()[3..5], [("render", Some(1), 4000), ("encode", Some(1), 4200)]);
}

#[test]
fn an_engine_freed_as_the_slice_comes_leads_upstream() {
    let mut slices = two_slices();
    // The first slice takes the decoder until the second comes.
    slices[0].decode_end = us(4250);
    assert_eq!(world(slices.clone()).stream()[2..], [("link", Some(1), 4250), ("decode", Some(1), 4330)]);
    // Until after it has come: the path goes through the first slice's decode.
    slices[0].decode_end = us(4260);
    slices[1].decode_start = us(4260);
    assert_eq!(
        world(slices).stream(),
        [("encode", Some(0), 4100), ("link", Some(0), 4150), ("decode", Some(0), 4260), ("decode", Some(1), 4330)]
    );
}

#[test]
fn other_frames_make_a_slice_wait() {
    let mut slices = two_slices();
    slices[1].link_start = us(4210);
    slices[1].decode_start = us(4255);
    slices[0].encode_start = us(4020);
    let world = world(slices);
    assert_eq!(
        world.stream(),
        [
            ("wait_encode", Some(0), 4020),
            ("encode", Some(0), 4100),
            ("encode", Some(1), 4200),
            ("wait_link", Some(1), 4210),
            ("link", Some(1), 4250),
            ("wait_decode", Some(1), 4255),
            ("decode", Some(1), 4330),
        ]
    );
}

#[test]
fn frames_handed_on_whole_lead_to_their_last_slice() {
    // Encode 4000..4200, both slices to the link at 4200, 4200..4300, both to the decoder at 4300, 4300..4460.
    let slices = vec![
        slice([4000, 4000, 4100, 4100, 4200, 4250, 4250, 4300, 4380, 4380]),
        slice([4000, 4100, 4200, 4200, 4250, 4300, 4300, 4380, 4460, 4460]),
    ];
    let mut world = world(slices);
    world.scenario.encode.hand_off = HandOff::Frame;
    world.scenario.link.hand_off = HandOff::Frame;
    assert_eq!(
        world.stream(),
        [
            ("encode", Some(0), 4100),
            ("encode", Some(1), 4200),
            ("link", Some(0), 4250),
            ("link", Some(1), 4300),
            ("decode", Some(0), 4380),
            ("decode", Some(1), 4460),
        ]
    );
    assert_eq!(world.alone_us(), 460);
    // Handed on by slices, the same services overlap: encode 200, link 50, decode 80.
    world.scenario.encode.hand_off = HandOff::Slice;
    world.scenario.link.hand_off = HandOff::Slice;
    assert_eq!(world.alone_us(), 330);
}

#[test]
fn two_engines_pipelines_and_order() {
    // Two engines at the decoder: the second slice is done before the first, and comes out with it. Pipelines of 20 and 30.
    let slices = vec![
        slice([4000, 4000, 4100, 4120, 4120, 4170, 4170, 4170, 4400, 4430]),
        slice([4000, 4100, 4200, 4220, 4220, 4270, 4270, 4270, 4350, 4430]),
        slice([4000, 4200, 4300, 4320, 4320, 4370, 4370, 4400, 4480, 4510]),
    ];
    let mut world = world(slices);
    world.scenario.decode.engines = 2;
    world.scenario.encode.pipeline_ms = 0.02;
    world.scenario.decode.pipeline_ms = 0.03;
    // The third slice had to wait for the first, though the second's engine was free: its references, say.
    assert_eq!(
        world.stream(),
        [
            ("encode", Some(0), 4100),
            ("encode_pipeline", Some(0), 4120),
            ("link", Some(0), 4170),
            ("decode", Some(0), 4400),
            ("decode", Some(2), 4480),
            ("decode_pipeline", Some(2), 4510),
        ]
    );
    world.run.slices = world.run.slices.all().records().take(2).collect();
    world.run.slice_count = 2;
    world.run.frames[0].ready = us(4430);
    assert_eq!(
        world.stream()[3..],
        [
            ("link", Some(1), 4270),
            ("decode", Some(1), 4350),
            ("decode_pipeline", Some(1), 4380),
            ("order", Some(1), 4430)
        ]
    );
    // Alone: the first slice holds one engine 4170..4400, the second the other 4270..4350; out at 4430.
    assert_eq!(world.alone_us(), 430);
}

#[test]
fn closures_split_the_sending() {
    let mut slices = two_slices();
    slices[1].link_end = us(4450);
    slices[1].arrive = us(4450);
    slices[1].complete = us(4450);
    slices[1].decode_start = us(4450);
    slices[1].decode_end = us(4530);
    slices[1].decode_out = us(4530);
    let mut world = world(slices);
    let closure = |start: i64, end: i64| Closure { start_ns: start * 1000, end_ns: end * 1000 };
    world.table.closures = vec![closure(100, 200), closure(4190, 4280), closure(4300, 4420), closure(4450, 5000)];
    assert_eq!(
        world.stream()[2..],
        [
            ("closure", Some(1), 4280),
            ("link", Some(1), 4300),
            ("closure", Some(1), 4420),
            ("link", Some(1), 4450),
            ("decode", Some(1), 4530),
        ]
    );
    // Not held up, its 50 of sending would have been over at 4250.
    assert_eq!(world.alone_us(), 330);
    world.scenario.link.closures.effect = Effect::Lose;
    assert_eq!(world.stream()[2..], [("link", Some(1), 4450), ("decode", Some(1), 4530)]);
}

#[test]
fn the_way_over_the_link_has_its_own_pieces() {
    // Sent at 4250; propagation 5 and delay 15 would bring it at 4270, but the unit before arrives at 4280 only. It lacks
    // packets; the host hears of it 30 later, and the resend arrives at 4400. The slice before is delivered at 4500.
    let mut slices = two_slices();
    slices[1].resends = 1;
    slices[1].complete = us(4400);
    slices[1].arrive = us(4500);
    slices[1].decode_start = us(4500);
    slices[1].decode_end = us(4580);
    slices[1].decode_out = us(4580);
    let mut world = world(slices);
    world.scenario.link.propagation_us = 5.0;
    world.table.frames[0].link_delay_ns = 15_000;
    world.table.frames[0].uplink_ns = 30_000;
    let resend = |frame, slice, attempt, asked_us| ResendRecord {
        frame,
        slice,
        attempt,
        asked: us(asked_us),
        link_start: us(asked_us),
        link_end: us(asked_us + 10),
        arrive: us(asked_us + 30),
    };
    world.run.resends =
        vec![resend(9, 0, 1, 4200), resend(0, 0, 1, 4300), resend(0, 1, 1, 4310), resend(0, 1, 2, 4370)];
    assert_eq!(
        world.stream()[2..],
        [
            ("link", Some(1), 4250),
            ("propagation", Some(1), 4255),
            ("delay", Some(1), 4270),
            ("order", Some(1), 4280),
            ("repair", Some(1), 4400),
            ("order", Some(1), 4500),
            ("decode", Some(1), 4580),
        ]
    );
    // Alone, the second slice comes at 4270 and takes 80.
    assert_eq!(world.alone_us(), 350);
}

#[test]
fn two_spans_of_a_kind_are_one() {
    // The unit before arrives late, and the slice before is delivered later still: one wait for order.
    let mut slices = two_slices();
    slices[1].complete = us(4260);
    slices[1].arrive = us(4280);
    slices[1].decode_start = us(4280);
    let world = world(slices);
    let order = Span { piece: Piece::Order, slice: Some(1), start_ns: 4_250_000, end_ns: 4_280_000 };
    let spans = walk_back(&world.scenario, &world.table, &world.run, 0).unwrap();
    assert!(spans.contains(&order));
    assert_eq!(order.length_ns(), 30_000);
}

#[test]
fn services_of_no_length_are_passed_through() {
    let at_once = |come| slice([come, come, come, come, come, come, come, come, come, come]);
    let world = world(vec![at_once(4000), at_once(4000)]);
    assert_eq!(world.stream(), []);
    assert_eq!(world.alone_us(), 0);
}
