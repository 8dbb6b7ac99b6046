//! Encoder and decoder.

use super::super::calendar::{self, kind};
use super::super::host::Message;
use super::super::run::Fate;
use super::super::slices::Moment;
use super::{World, wake};
use crate::work::units;

impl World<'_> {
    /// A slice comes to the encoder.
    pub(super) fn come_to_encoder(&mut self, frame: u32, slice: u32) {
        self.mark(frame, slice, Moment::Come);
        self.offer_to_encoder(frame, slice);
    }

    /// A slice, or where frames go at one stride a frame, comes to the room before the encoder.
    pub(super) fn offer_to_encoder(&mut self, frame: u32, slice: u32) {
        if !self.encoder.queue.come(frame, slice) {
            return;
        }
        self.start_encoder();
        if slice == 0
            && let Some(dropped) = self.encoder.queue.overflow(frame)
        {
            self.end_frame(dropped, Fate::DroppedEncode);
            self.host.in_flight -= 1;
            self.wake |= wake::CPU | wake::GPU;
        }
    }

    #[inline]
    pub(super) fn start_encoder(&mut self) {
        if self.setup.strides {
            return self.stride_encoder();
        }
        while let Some((frame, slice)) = self.encoder.startable() {
            if slice == 0 {
                if !self.link.queue.admits(self.announced_to_link) {
                    return;
                }
                self.begin_encoding(frame);
            }
            let work_ns = self.table.frames[frame as usize].encode_ns;
            let shares = self.table.row_shares.of(frame as usize);
            self.encoder.begin(self.now, frame, slice, work_ns, shares);
            let bytes = self.coded_bytes(frame, slice);
            self.link.prepare(frame, slice, bytes);
            let now = self.now;
            let mut record = self.slice(frame, slice);
            record.set(Moment::EncodeStart, now);
            record.set_bytes(bytes);
        }
    }

    /// A frame begins encode: a request for an intra frame is met by it.
    pub(super) fn begin_encoding(&mut self, frame: u32) {
        let now = self.stamp();
        let (factor, limit) = (self.setup.intra_factor, self.setup.intra_limit_bits);
        let wanted = std::mem::take(&mut self.intra_wanted);
        let record = self.frame(frame);
        record.encode_start = now;
        if wanted && !record.intra {
            record.intra = true;
            let enlarged = (record.bits as f64 * factor).round() as i64;
            record.bits = record.bits.max(limit.map_or(enlarged, |limit| enlarged.min(limit)));
        }
        if record.intra {
            self.newest_intra = Some(frame);
        }
        self.backstage[frame as usize].previous = self.last_encoded.replace(frame);
        self.announced_to_link += 1;
        // A frame has left the room before the encoder.
        if self.encoder.queue.blocks() {
            self.wake |= wake::GPU;
        }
        let bytes = units::frame_bytes(self.run.frames[frame as usize].bits);
        self.coded = Coded { bytes, ..Coded::default() };
    }

    pub(super) fn encode_end(&mut self) {
        let (frame, slice) = self.encoder.end();
        self.mark(frame, slice, Moment::EncodeEnd);
        if self.encoder.direct() {
            self.encode_end_and_out(frame, slice);
        } else {
            self.schedule_encode_out();
            self.wake |= wake::ENCODE;
        }
    }

    /// The slice comes out at the instant at which its service ended: an event of its own, handled here after servers
    /// have started, unless another comes first.
    #[inline]
    fn encode_end_and_out(&mut self, frame: u32, slice: u32) {
        self.start_encoder();
        let out = calendar::key(self.now, kind::ENCODE_OUT);
        if self.wake == 0 && self.next_downstream_of_encoder() > out {
            self.come_out_of_encoder(frame, slice);
        } else {
            self.encoder.hold_out(self.now, frame, slice);
        }
    }

    #[inline]
    fn schedule_encode_out(&mut self) {
        let end = self.encoder.oldest().and_then(|(frame, slice)| self.slice(frame, slice).read().encode_end().ns());
        self.encoder.schedule_out(end);
    }

    pub(super) fn encode_out(&mut self) {
        if self.encoder.direct() {
            if let Some((frame, slice)) = self.encoder.held_out() {
                self.come_out_of_encoder(frame, slice);
            }
        } else if let Some((frame, slice)) = self.encoder.out(self.now) {
            self.schedule_encode_out();
            self.come_out_of_encoder(frame, slice);
        }
    }

    #[inline]
    fn come_out_of_encoder(&mut self, frame: u32, slice: u32) {
        let now = self.stamp();
        self.mark(frame, slice, Moment::EncodeOut);
        let last = self.is_last(slice);
        if last {
            self.frame(frame).encoded = now;
            self.host.in_flight -= 1;
            self.wake |= wake::CPU;
        }
        if !self.setup.encode_hands_on_frames {
            self.come_to_link(frame, slice);
        } else if last {
            for slice in 0..=slice {
                self.come_to_link(frame, slice);
            }
        }
    }

    /// A slice comes to the decoder.
    pub(super) fn come_to_decoder(&mut self, frame: u32, slice: u32) {
        if !self.decoder.queue.come(frame, slice) {
            return;
        }
        self.start_decoder();
        if slice == 0
            && let Some(dropped) = self.decoder.queue.overflow(frame)
        {
            self.end_frame(dropped, Fate::DroppedDecode);
            self.tell_missing(dropped);
        }
    }

    #[inline]
    pub(super) fn start_decoder(&mut self) {
        if self.setup.strides {
            return self.stride_decoder();
        }
        while let Some((frame, slice)) = self.decoder.startable() {
            let work_ns = self.table.frames[frame as usize].decode_ns;
            let shares = self.table.bit_shares.of(frame as usize);
            self.decoder.begin(self.now, frame, slice, work_ns, shares);
            let now = self.stamp();
            self.mark(frame, slice, Moment::DecodeStart);
            if slice == 0 {
                self.frame(frame).decode_start = now;
            }
        }
    }

    pub(super) fn decode_end(&mut self) {
        let (frame, slice) = self.decoder.end();
        self.mark(frame, slice, Moment::DecodeEnd);
        if self.decoder.direct() {
            // Coming out is an event of its own at this instant, and the first of all kinds: none comes between.
            self.start_decoder();
            self.come_out_of_decoder(frame, slice);
        } else {
            self.schedule_decode_out();
            self.wake |= wake::DECODE;
        }
    }

    #[inline]
    fn schedule_decode_out(&mut self) {
        let end = self.decoder.oldest().and_then(|(frame, slice)| self.slice(frame, slice).read().decode_end().ns());
        self.decoder.schedule_out(end);
    }

    pub(super) fn decode_out(&mut self) {
        let Some((frame, slice)) = self.decoder.out(self.now) else { return };
        self.schedule_decode_out();
        self.come_out_of_decoder(frame, slice);
    }

    #[inline]
    fn come_out_of_decoder(&mut self, frame: u32, slice: u32) {
        self.mark(frame, slice, Moment::DecodeOut);
        if self.is_last(slice) {
            self.ready(frame);
        }
    }

    /// A frame has come out of the decoder whole.
    pub(super) fn ready(&mut self, frame: u32) {
        self.frame(frame).ready = self.stamp();
        if self.decodable(frame) {
            self.screen.ready(frame);
        } else {
            self.end_frame(frame, Fate::Undecodable);
        }
        if self.plans.adapts() {
            let message = self.message_from_device(frame);
            self.lateness_told.send(message);
            self.frames_changed = true;
        }
    }

    /// Whether a frame that came out can be shown: it asks nothing of others, or the frame encoded just before it is
    /// not missing.
    fn decodable(&self, frame: u32) -> bool {
        if !self.setup.request_intra || self.run.frames[frame as usize].intra {
            return true;
        }
        self.backstage[frame as usize].previous.is_none_or(|previous| {
            let missing = [Fate::Lost, Fate::DroppedLink, Fate::DroppedDecode, Fate::Undecodable];
            !missing.contains(&self.run.frames[previous as usize].fate)
        })
    }

    /// Bytes of a slice that begins encode: `floor(B S_(i+1)) - floor(B S_i)` and the slice header.
    #[inline]
    fn coded_bytes(&mut self, frame: u32, slice: u32) -> i64 {
        let last = self.is_last(slice);
        let share = self.table.bit_shares.of(frame as usize)[slice as usize];
        self.coded.part(share, last) + self.setup.slice_header_bytes
    }

    /// When a message that the device sends now about a frame comes to the host.
    pub(super) fn message_from_device(&self, frame: u32) -> Message {
        let comes_ns = self.now + self.table.frames[frame as usize].uplink_ns;
        Message { comes_ns, frame, slice: 0, attempt: 0, packets: 0 }
    }

    /// The device tells the host that a frame is missing, where intra frames are asked for.
    pub(super) fn tell_missing(&mut self, frame: u32) {
        if self.setup.request_intra {
            let message = self.message_from_device(frame);
            self.missing_told.send(message);
            self.frames_changed = true;
        }
    }
}

/// How far the frame being encoded is cut into bytes.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Coded {
    bytes: i64,
    share: f64,
    done_bytes: i64,
}

impl Coded {
    /// Bytes of the next slice, whose part of the bits is `share`.
    #[inline]
    pub(super) fn part(&mut self, share: f64, last: bool) -> i64 {
        self.share += share;
        // As with work: never past 1. Not negative: truncation is the floor.
        let done = if last { self.bytes } else { (self.bytes as f64 * self.share.min(1.0)) as i64 };
        done - std::mem::replace(&mut self.done_bytes, done)
    }
}
