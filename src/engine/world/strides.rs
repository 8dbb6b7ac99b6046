//! Frame-sized steps, where no policy can come between the slices of a frame: one engine at encoder and decoder, no
//! pipelines, rendering in one part, nothing lost on the link.
//!
//! Policies decide when a frame's first slice comes to a stage or begins there. From then on its slices follow the
//! recurrence "a slice begins when it is there and the one before has ended", so the stage works all of them out at once
//! and only the first coming out and the last end remain events; the last end of the link only where a frame waits for
//! it. The same nanoseconds come out of slice-sized steps, which `tests/it/strides.rs` holds this against.

use super::super::calendar::{self, kind};
use super::super::codec::Cut;
use super::super::run::{SliceRecord, Stamp};
use super::{World, wake};

impl World<'_> {
    pub(super) fn handle_strides(&mut self, kind: i64) {
        match kind {
            kind::DECODE_END => {
                // Coming out is an event of its own at this instant, and the first of all kinds: none comes between.
                let (frame, _) = self.decoder.end();
                self.start_decoder();
                self.ready(frame);
            }
            kind::ARRIVAL => {
                if let Some(frame) = self.link.arrive_frame() {
                    self.come_to_decoder(frame, 0);
                }
            }
            kind::LINK_END => {
                self.link.end_frame();
                self.wake |= wake::LINK;
            }
            kind::ENCODE_OUT => self.stride_out_of_encoder(),
            kind::ENCODE_END => {
                let (frame, slice) = self.encoder.end();
                self.encoder.hold_out(self.now, frame, slice);
                self.start_encoder();
                // It comes out at this instant too, here unless something else comes first.
                let out = calendar::key(self.now, kind::ENCODE_OUT);
                if self.wake == 0 && self.next_downstream_of_encoder() > out {
                    self.stride_out_of_encoder();
                }
            }
            _ => self.handle_of_frames(kind),
        }
    }

    pub(super) fn stride_encoder(&mut self) {
        let Some(frame) = self.encoder.startable_frame() else { return };
        if !self.link.queue.admits(self.announced_to_link) {
            return;
        }
        self.begin_encoding(frame);
        let table = self.table;
        let work_ns = table.frames[frame as usize].encode_ns;
        let row_shares = table.row_shares.of(frame as usize);
        let bit_shares = table.bit_shares.of(frame as usize);
        let header_bytes = self.setup.slice_header_bytes;
        let slice_overhead_ns = self.encoder.overhead_ns(1);
        let (slices, mut coded, mut cut) = (self.setup.slices, self.coded, Cut::default());
        // All slices came when the frame was rendered.
        let come = self.run.frames[frame as usize].rendered;
        let records = &mut self.run.slices[frame as usize * slices..][..slices];
        // The frame's own overhead comes before its first slice's.
        let mut start_ns = self.now;
        let mut end_ns = self.now + self.encoder.overhead_ns(0) - slice_overhead_ns;
        for (slice, (record, (row_share, bit_share))) in
            records.iter_mut().zip(row_shares.iter().zip(bit_shares)).enumerate()
        {
            let last = slice + 1 == slices;
            cut.take(work_ns, *row_share, last);
            end_ns += slice_overhead_ns + cut.part_ns;
            *record = SliceRecord {
                come,
                encode_start: Stamp::at(start_ns),
                encode_end: Stamp::at(end_ns),
                encode_out: Stamp::at(end_ns),
                bytes: coded.part(*bit_share, last) + header_bytes,
                ..SliceRecord::default()
            };
            start_ns = end_ns;
        }
        let first_ns = records.first().and_then(|first| first.encode_out.ns());
        let last = slices as u32 - 1;
        self.encoder.begin_frame(frame, last, end_ns);
        if last > 0
            && !self.setup.encode_hands_on_frames
            && let Some(first_ns) = first_ns
        {
            self.encoder.hold_out(first_ns, frame, 0);
        }
    }

    /// The first or the last slice of a frame comes out of the encoder.
    fn stride_out_of_encoder(&mut self) {
        let Some((frame, slice)) = self.encoder.held_out() else { return };
        let last = self.is_last(slice);
        if last {
            self.frame(frame).encoded = self.stamp();
            self.host.in_flight -= 1;
            self.wake |= wake::CPU;
        }
        if if self.setup.encode_hands_on_frames { last } else { slice == 0 } {
            self.come_to_link(frame, 0);
        }
    }

    pub(super) fn stride_link(&mut self) {
        let Some(frame) = self.link.startable_frame(self.now) else { return };
        if self.link.queue.blocks() {
            self.wake |= wake::ENCODE;
        }
        let slices = self.setup.slices;
        let records = &mut self.run.slices[frame as usize * slices..][..slices];
        let sent_ns = self.link.begin_frame(self.now, frame, records);
        let (first, last) = (records[0].arrive, records[slices - 1].arrive);
        let handed_on = if self.setup.link.hands_on_frames { last } else { first };
        if let Some(ns) = handed_on.ns() {
            self.link.will_arrive(ns, frame);
        }
        let now = self.stamp();
        let record = self.frame(frame);
        record.link_start = now;
        record.sent = Stamp::at(sent_ns);
        record.arrived = last;
    }

    pub(super) fn stride_decoder(&mut self) {
        let Some(frame) = self.decoder.startable_frame() else { return };
        let table = self.table;
        let work_ns = table.frames[frame as usize].decode_ns;
        let shares = table.bit_shares.of(frame as usize);
        let slices = self.setup.slices;
        let now = self.now;
        let slice_overhead_ns = self.decoder.overhead_ns(1);
        let mut of_frame_ns = self.decoder.overhead_ns(0) - slice_overhead_ns;
        let mut cut = Cut::default();
        let mut end_ns = now;
        for (slice, (record, share)) in self.slices(frame).iter_mut().zip(shares).enumerate() {
            cut.take(work_ns, *share, slice + 1 == slices);
            // Slices of a frame handed on whole are all there by now.
            let start_ns = record.arrive.ns().map_or(end_ns, |come_ns| come_ns.max(end_ns));
            end_ns = start_ns + std::mem::take(&mut of_frame_ns) + slice_overhead_ns + cut.part_ns;
            record.decode_start = Stamp::at(start_ns);
            record.decode_end = Stamp::at(end_ns);
            record.decode_out = Stamp::at(end_ns);
        }
        self.frame(frame).decode_start = Stamp::at(now);
        self.decoder.begin_frame(frame, self.setup.slices as u32 - 1, end_ns);
    }

    /// Takes back what was worked out ahead and lies after the event that ended the run, whose key is `end`. Stages are
    /// first in, first out: before the newest frame that was decoded whole nothing lies after the end.
    pub(super) fn take_back_after(&mut self, end: i64) {
        for frame in (0..self.run.frames.len() as u32).rev() {
            if !self.run.frames[frame as usize].encode_start.happened() {
                continue;
            }
            if self.run.frames[frame as usize].ready.happened() {
                break;
            }
            self.take_back_frame(frame, end);
        }
    }

    /// Along each stage a slice began if it had come and the one before had ended; it ended, came out or arrived if the
    /// key of that event is not after `end`. The event that ended the run is the coming of a first slice where frames
    /// are not handed on whole: of later slices those at the very same key were still to come.
    fn take_back_frame(&mut self, frame: u32, end: i64) {
        let (encode_whole, link_whole) = (self.setup.encode_hands_on_frames, self.setup.link.hands_on_frames);
        let key = |stamp: Stamp, kind: i64| stamp.ns().map_or(calendar::NEVER, |ns| calendar::key(ns, kind));
        let records = self.slices(frame);
        let whole_out = records.last().is_some_and(|last| key(last.encode_out, kind::ENCODE_OUT) <= end);
        let whole_arrived = records.last().is_some_and(|last| key(last.arrive, kind::ARRIVAL) <= end);
        let (mut encoded, mut sent, mut decoded) = (true, true, true);
        let mut latest_ns = 0;
        for (slice, record) in records.iter_mut().enumerate() {
            let before = |key: i64, whole: bool| key < end || (key == end && (slice == 0 || whole));
            let out = encoded && before(key(record.encode_out, kind::ENCODE_OUT), encode_whole);
            let arrived = before(key(record.arrive, kind::ARRIVAL), link_whole);
            let keep = |stamp: &mut Stamp, happened: bool| {
                if !happened {
                    *stamp = Stamp::NEVER;
                }
                stamp.happened()
            };
            if !keep(&mut record.encode_start, encoded) {
                record.bytes = 0;
            }
            encoded &= out || key(record.encode_end, kind::ENCODE_END) <= end;
            encoded = keep(&mut record.encode_end, encoded);
            keep(&mut record.encode_out, out);
            let came = if encode_whole { whole_out } else { out };
            sent = keep(&mut record.link_start, came && sent) && key(record.link_end, kind::LINK_END) <= end;
            sent = keep(&mut record.link_end, sent);
            let arrived = keep(&mut record.complete, sent && arrived);
            keep(&mut record.arrive, arrived);
            let came = if link_whole { whole_arrived } else { arrived };
            decoded =
                keep(&mut record.decode_start, came && decoded) && key(record.decode_end, kind::DECODE_END) <= end;
            decoded = keep(&mut record.decode_end, decoded);
            keep(&mut record.decode_out, decoded);
            for stamp in [record.encode_end, record.link_end, record.arrive, record.decode_end] {
                latest_ns = latest_ns.max(stamp.ns().unwrap_or(0));
            }
        }
        let (sent, arrived) = records.last().map_or_else(Default::default, |last| (last.link_end, last.arrive));
        self.run.end_ns = self.run.end_ns.max(latest_ns);
        let record = self.frame(frame);
        record.sent = sent;
        record.arrived = arrived;
    }
}
