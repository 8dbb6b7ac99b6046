//! "Servers", "Missing frames": encoder and decoder.

use std::collections::{BTreeMap, VecDeque};

use framelap::engine::{Fate, Stamp};
use framelap::scenario::{AfterMissing, HandOff, Pacing, References, Scenario};

use super::cut;
use super::room::{Slice, Stage};
use super::world::{Kind, World};

/// Encoder or decoder.
pub(super) struct Codec {
    engines: usize,
    pipeline_ns: i64,
    in_service: Vec<Slice>,
    /// Slices begun and not out yet, in order.
    coming_out: VecDeque<Slice>,
    /// When slices among them ended service.
    ended: BTreeMap<Slice, i64>,
    /// Encoder: the frame that began last.
    newest: Option<usize>,
    /// Encoder: the intra frame that began last.
    newest_intra: Option<usize>,
    /// Encoder: the next frame to begin is to be intra.
    intra_wanted: bool,
    /// Encoder: the frame encoded just before each.
    before: BTreeMap<usize, usize>,
}

impl Codec {
    pub(super) fn new(engines: u32, pipeline_ms: f64) -> Self {
        Self {
            engines: engines as usize,
            pipeline_ns: cut::ms(pipeline_ms),
            in_service: Vec::new(),
            coming_out: VecDeque::new(),
            ended: BTreeMap::new(),
            newest: None,
            newest_intra: None,
            intra_wanted: false,
            before: BTreeMap::new(),
        }
    }

    /// "A slice begins when it is there, an engine is free, every earlier slice there has begun, and its references allow:
    /// with `Frame`, no slice of an earlier frame is in service there; with `Bands(r)`, no slice numbered <= i + r of an
    /// earlier frame is; `Independent` asks nothing of the engines"
    fn can_begin(&self, references: References, (frame, slice): Slice) -> bool {
        let allowed = |&(other, number): &Slice| match references {
            References::Frame => other >= frame,
            References::Bands { reach } => other >= frame || number > slice + reach as usize,
            References::Independent => true,
        };
        self.in_service.len() < self.engines && self.in_service.iter().all(allowed)
    }

    fn begin(&mut self, slice: Slice) {
        self.in_service.push(slice);
        self.coming_out.push_back(slice);
    }

    /// A slice's service ends now; says when it comes out, if none before it is still to come.
    fn end(&mut self, slice: Slice, now: i64) -> Option<i64> {
        self.in_service.retain(|&other| other != slice);
        self.ended.insert(slice, now);
        (self.coming_out.front() == Some(&slice)).then_some(now + self.pipeline_ns)
    }

    /// A slice comes out now; says which comes out next and when, if that one's service has ended: "one that is done
    /// waits for those before it".
    fn out(&mut self, slice: Slice, now: i64) -> Option<(Slice, i64)> {
        assert_eq!(self.coming_out.pop_front(), Some(slice), "slices come out in order");
        let next = *self.coming_out.front()?;
        let ended = *self.ended.get(&next)?;
        Some((next, (ended + self.pipeline_ns).max(now)))
    }
}

/// "its bits become `max(bits, min(round(bits*factor), floor(v*target)))`, without that limit where v = 0"
fn intra_bits(scenario: &Scenario, bits: i64) -> i64 {
    let period_s = match scenario.pacing {
        Pacing::Fixed { every, .. } | Pacing::Adaptive { every, .. } => {
            f64::from(every) * cut::refresh_period_ns(scenario) / 1e9
        }
        Pacing::Intervals { mean_ms, .. } => mean_ms / 1e3,
    };
    let target = scenario.stream.bitrate_mbps * 1e6 * period_s;
    let wished = (bits as f64 * scenario.stream.intra.factor).round() as i64;
    let v = scenario.stream.vbv_frames;
    let most = if v > 0.0 { (v * target).floor() as i64 } else { i64::MAX };
    bits.max(wished.min(most))
}

impl World<'_> {
    pub(super) fn start_encoder(&mut self) {
        while let Some(&(frame, slice)) = self.before_encode.slices.front() {
            let room = slice > 0 || self.before_link.lets_a_frame_begin_before();
            if !room || !self.encoder.can_begin(self.scenario.stream.references, (frame, slice)) {
                return;
            }
            self.before_encode.begin();
            if slice == 0 {
                self.before_link.begun_before(frame);
                self.begin_encode(frame);
            }
            self.encoder.begin((frame, slice));
            let bits = self.frames[frame].bits;
            let bytes = cut::bytes(self.scenario, self.table.bit_shares.of(frame), bits, slice);
            let now = Stamp::at(self.now);
            let record = self.record((frame, slice));
            record.encode_start = now;
            record.bytes = bytes;
            let service_ns = cut::encode_ns(self.scenario, self.table, frame, slice);
            self.later(self.now + service_ns, Kind::EncodeEnd, frame, slice);
        }
    }

    /// The first slice of a frame begins: "the next frame to begin encode is made intra [...]. A frame that the table
    /// makes intra fulfils the request as it is."
    fn begin_encode(&mut self, frame: usize) {
        let encoder = &mut self.encoder;
        let record = &mut self.frames[frame];
        record.encode_start = Stamp::at(self.now);
        if encoder.intra_wanted && !record.intra {
            record.intra = true;
            record.bits = intra_bits(self.scenario, record.bits);
        }
        encoder.intra_wanted = false;
        if record.intra {
            encoder.newest_intra = Some(frame);
        }
        if let Some(before) = encoder.newest.replace(frame) {
            encoder.before.insert(frame, before);
        }
    }

    pub(super) fn encode_end(&mut self, slice: Slice) {
        self.record(slice).encode_end = Stamp::at(self.now);
        if let Some(at_ns) = self.encoder.end(slice, self.now) {
            self.later(at_ns, Kind::EncodeOut, slice.0, slice.1);
        }
    }

    pub(super) fn encode_out(&mut self, (frame, slice): Slice) {
        self.record((frame, slice)).encode_out = Stamp::at(self.now);
        if let Some((next, at_ns)) = self.encoder.out((frame, slice), self.now) {
            self.later(at_ns, Kind::EncodeOut, next.0, next.1);
        }
        let last = slice + 1 == self.n;
        if last {
            self.frames[frame].encoded = Stamp::at(self.now);
            self.host.in_flight.remove(&frame);
        }
        // "With hand-off `Slice` a slice moves on when it is done; with `Frame` all slices of the frame move on when the
        // last one is done."
        match self.scenario.encode.hand_off {
            HandOff::Slice => self.come(Stage::Link, (frame, slice)),
            HandOff::Frame if last => (0..self.n).for_each(|slice| self.come(Stage::Link, (frame, slice))),
            HandOff::Frame => {}
        }
    }

    /// "unless it is older than the newest intra frame begun at the encoder, the next frame to begin encode is made intra"
    pub(super) fn missing_told(&mut self, frame: usize) {
        if self.encoder.newest_intra.is_none_or(|intra| frame >= intra) {
            self.encoder.intra_wanted = true;
        }
    }

    pub(super) fn start_decoder(&mut self) {
        while let Some(&(frame, slice)) = self.before_decode.slices.front() {
            if !self.decoder.can_begin(self.scenario.stream.references, (frame, slice)) {
                return;
            }
            self.before_decode.begin();
            self.decoder.begin((frame, slice));
            if slice == 0 {
                self.frames[frame].decode_start = Stamp::at(self.now);
            }
            self.record((frame, slice)).decode_start = Stamp::at(self.now);
            let service_ns = cut::decode_ns(self.scenario, self.table, frame, slice);
            self.later(self.now + service_ns, Kind::DecodeEnd, frame, slice);
        }
    }

    pub(super) fn decode_end(&mut self, slice: Slice) {
        self.record(slice).decode_end = Stamp::at(self.now);
        if let Some(at_ns) = self.decoder.end(slice, self.now) {
            self.later(at_ns, Kind::DecodeOut, slice.0, slice.1);
        }
    }

    pub(super) fn decode_out(&mut self, (frame, slice): Slice) {
        self.record((frame, slice)).decode_out = Stamp::at(self.now);
        if let Some((next, at_ns)) = self.decoder.out((frame, slice), self.now) {
            self.later(at_ns, Kind::DecodeOut, next.0, next.1);
        }
        if slice + 1 == self.n {
            self.ready(frame);
        }
    }

    /// "Ready `R_k`: all slices out of the decoder. An undecodable frame has its `R_k` like any other [...] and ends there"
    fn ready(&mut self, frame: usize) {
        self.frames[frame].ready = Stamp::at(self.now);
        if matches!(self.scenario.pacing, Pacing::Adaptive { .. }) {
            self.later(self.now + self.uplink_ns(frame), Kind::LatenessTold, frame, 0);
        }
        if self.is_undecodable(frame) {
            self.end_frame(frame, Fate::Undecodable);
        } else {
            self.display.ready.insert(frame);
        }
    }

    /// "With `RequestIntra` a frame that is not intra needs the frame encoded just before it: it is undecodable if that one
    /// was lost, dropped before link or decode, or undecodable. [...] A frame with none encoded before it is decodable."
    fn is_undecodable(&self, frame: usize) -> bool {
        if self.scenario.stream.after_missing == AfterMissing::Conceal || self.frames[frame].intra {
            return false;
        }
        self.encoder.before.get(&frame).is_some_and(|&before| {
            let fate = self.frames[before].fate;
            matches!(fate, Fate::Lost | Fate::DroppedLink | Fate::DroppedDecode | Fate::Undecodable)
        })
    }
}
