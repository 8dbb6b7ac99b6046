//! "At one instant", "Fates": the heap of events, what follows each, and the end of the run.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use framelap::engine::{Fate, FrameRecord, Pilot, RefreshRecord, ResendRecord, SliceRecord, Stamp};
use framelap::scenario::{AfterMissing, Scenario};
use framelap::work::WorkTable;

use super::Story;
use super::codec::Codec;
use super::display::Display;
use super::host::Host;
use super::link::Link;
use super::room::{Room, Slice, Stage};

/// "kinds in this order"
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    DecodeOut,
    DecodeEnd,
    Arrival,
    LinkEnd,
    EncodeOut,
    EncodeEnd,
    RenderPartEnd,
    SimulateEnd,
    ResendAsked,
    LatenessTold,
    MissingTold,
    Latch,
    Plan,
}

/// "The pending event with the least (time, kind, frame, slice) is handled next"
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Event {
    at_ns: i64,
    kind: Kind,
    /// Frame; of a latch the refresh.
    frame: usize,
    /// Slice; of the end of a part the part.
    slice: usize,
}

/// A run under way.
pub(super) struct World<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) table: &'a WorkTable,
    /// Slices a frame.
    pub(super) n: usize,
    pub(super) now: i64,
    events: BinaryHeap<Reverse<Event>>,
    pub(super) frames: Vec<FrameRecord>,
    pub(super) slices: Vec<SliceRecord>,
    pub(super) resends: Vec<ResendRecord>,
    pub(super) refreshes: Vec<RefreshRecord>,
    pub(super) host: Host,
    pub(super) encoder: Codec,
    pub(super) link: Link,
    pub(super) decoder: Codec,
    pub(super) display: Display,
    pub(super) before_encode: Room,
    pub(super) before_link: Room,
    pub(super) before_decode: Room,
}

impl<'a> World<'a> {
    pub(super) fn new(scenario: &'a Scenario, table: &'a WorkTable, starting_lead_ns: i64) -> Self {
        let (frames, n) = (scenario.run.frames as usize, scenario.slices.count as usize);
        let as_in_table = |work: &framelap::work::FrameWork| FrameRecord {
            bits: work.bits,
            intra: work.intra,
            ..FrameRecord::default()
        };
        Self {
            scenario,
            table,
            n,
            now: 0,
            events: BinaryHeap::new(),
            frames: table.frames[..frames].iter().map(as_in_table).collect(),
            slices: vec![SliceRecord::default(); frames * n],
            resends: Vec::new(),
            refreshes: Vec::new(),
            host: Host::new(scenario, starting_lead_ns),
            encoder: Codec::new(scenario.encode.engines, scenario.encode.pipeline_ms),
            link: Link::new(frames),
            decoder: Codec::new(scenario.decode.engines, scenario.decode.pipeline_ms),
            display: Display::default(),
            before_encode: Room::new(scenario.encode.buffer),
            before_link: Room::new(scenario.link.buffer),
            before_decode: Room::new(scenario.decode.buffer),
        }
    }

    pub(super) fn play(mut self) -> Story {
        self.first_plan();
        self.first_latch();
        while let Some(Reverse(event)) = self.events.pop() {
            // "at the latest 1 s after the last plan (events at that instant are handled [...])"
            if self.host.last_plan_ns.is_some_and(|last_plan_ns| event.at_ns > last_plan_ns + 1_000_000_000) {
                break;
            }
            self.now = event.at_ns;
            self.handle(event);
            // "after the event that ends the run nothing more is"
            if self.over() {
                break;
            }
            // "After each event every idle server that can start does so, downstream first"
            self.start(Stage::Decode);
            self.start(Stage::Link);
            self.start(Stage::Encode);
            self.start_gpu();
            self.start_cpu();
        }
        Story {
            frames: self.frames,
            slices: self.slices,
            resends: self.resends,
            refreshes: self.refreshes,
            pilot: Pilot::None,
            end_ns: self.now,
        }
    }

    fn handle(&mut self, Event { kind, frame, slice, .. }: Event) {
        match kind {
            Kind::DecodeOut => self.decode_out((frame, slice)),
            Kind::DecodeEnd => self.decode_end((frame, slice)),
            Kind::Arrival => self.arrival((frame, slice)),
            Kind::LinkEnd => self.link_end(),
            Kind::EncodeOut => self.encode_out((frame, slice)),
            Kind::EncodeEnd => self.encode_end((frame, slice)),
            Kind::RenderPartEnd => self.render_part_end(frame, slice),
            Kind::SimulateEnd => self.simulate_end(frame),
            Kind::ResendAsked => self.resend_asked((frame, slice)),
            Kind::LatenessTold => self.lateness_told(frame),
            Kind::MissingTold => self.missing_told(frame),
            Kind::Latch => self.latch(frame),
            Kind::Plan => self.plan(frame),
        }
    }

    /// "in flight when the run ends: once every frame has its fate and the latch of the last target is handled"
    fn over(&self) -> bool {
        let last_target = self.frames.last().and_then(|frame| frame.target);
        self.host.last_plan_ns.is_some()
            && self.frames.iter().all(|frame| frame.fate != Fate::InFlight)
            && last_target.is_none_or(|target| self.refreshes.len() > target as usize)
    }

    pub(super) fn later(&mut self, at_ns: i64, kind: Kind, frame: usize, slice: usize) {
        assert!(at_ns >= self.now, "nothing happens before its cause");
        self.events.push(Reverse(Event { at_ns, kind, frame, slice }));
    }

    pub(super) fn record(&mut self, (frame, slice): Slice) -> &mut SliceRecord {
        &mut self.slices[frame * self.n + slice]
    }

    pub(super) fn uplink_ns(&self, frame: usize) -> i64 {
        self.table.frames[frame].uplink_ns
    }

    /// A frame meets its fate, if it has none yet.
    pub(super) fn end_frame(&mut self, frame: usize, fate: Fate) {
        let record = &mut self.frames[frame];
        if record.fate == Fate::InFlight {
            record.fate = fate;
            record.fate_at = Stamp::at(self.now);
        }
    }

    pub(super) fn room(&mut self, stage: Stage) -> &mut Room {
        match stage {
            Stage::Encode => &mut self.before_encode,
            Stage::Link => &mut self.before_link,
            Stage::Decode => &mut self.before_decode,
        }
    }

    pub(super) fn start(&mut self, stage: Stage) {
        match stage {
            Stage::Encode => self.start_encoder(),
            Stage::Link => self.start_link(),
            Stage::Decode => self.start_decoder(),
        }
    }

    /// "On coming: put it in, let the server start what it can, and if then more than `frames` frames wait, `DropNewest`
    /// drops the one that came, `DropOldest` the one waiting longest; slices of a dropped frame that come later vanish."
    pub(super) fn come(&mut self, stage: Stage, (frame, slice): Slice) {
        let vanishes = match stage {
            Stage::Encode => self.frames[frame].fate == Fate::DroppedEncode,
            Stage::Link => self.frames[frame].fate == Fate::DroppedLink,
            Stage::Decode => self.frames[frame].fate == Fate::DroppedDecode || self.link.lost[frame],
        };
        if vanishes {
            return;
        }
        self.room(stage).put_in((frame, slice));
        self.start(stage);
        if let Some(dropped) = self.room(stage).too_many(frame) {
            self.room(stage).vanish(dropped);
            match stage {
                Stage::Encode => {
                    self.end_frame(dropped, Fate::DroppedEncode);
                    self.host.in_flight.remove(&dropped);
                }
                Stage::Link => {
                    self.end_frame(dropped, Fate::DroppedLink);
                    self.tell_missing(dropped);
                }
                Stage::Decode => {
                    self.end_frame(dropped, Fate::DroppedDecode);
                    self.tell_missing(dropped);
                }
            }
        }
    }

    /// "The host is told of a frame lost, dropped before link or dropped before decode `uplink_k` after that instant"
    pub(super) fn tell_missing(&mut self, frame: usize) {
        if self.scenario.stream.after_missing == AfterMissing::RequestIntra {
            self.later(self.now + self.uplink_ns(frame), Kind::MissingTold, frame, 0);
        }
    }
}
