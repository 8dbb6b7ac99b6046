//! Frame-sized steps, where no policy can come between the slices of a frame: one engine at encoder and decoder, no
//! pipelines, rendering in one part, nothing lost on the link.
//!
//! Policies decide when a frame's first slice comes to a stage or begins there. From then on its slices follow the
//! recurrence "a slice begins when it is there and the one before has ended", so the stage works all of them out at once.
//! A frame that no policy can meet at the next stage ([`Queue::passage`]) goes through that one in the same step. What is
//! left of a stage's events are the first coming out of a frame that a policy may meet, and the end that something waits
//! for. The same nanoseconds come out of slice-sized steps, which `tests/it/strides.rs` holds this against.
//!
//! [`Queue::passage`]: super::super::queue::Queue::passage

use super::super::calendar::{self, kind};
use super::super::codec::Cut;
use super::super::run::Stamp;
use super::{World, wake};

impl World<'_> {
    pub(super) fn handle_strides(&mut self, kind: i64) {
        match kind {
            kind::DECODE_END => {
                // Coming out is an event of its own at this instant, and the first of all kinds: none comes between.
                self.decoder.end_frame();
                self.start_decoder();
                if let Some((frame, _)) = self.decoder.held_out_by(self.now) {
                    self.ready(frame);
                }
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
            kind::ENCODE_END => self.stride_end_of_encoder(),
            _ => self.handle_of_frames(kind),
        }
    }

    pub(super) fn stride_encoder(&mut self) {
        let Some(frame) = self.encoder.startable_frame(self.now) else { return };
        if !self.link.queue.admits(self.announced_to_link) {
            return;
        }
        self.host.see_out(self.now);
        self.encoder.queue.begin();
        self.begin_encoding(frame);
        let (first_ns, end_ns) = self.encode_slices(frame);
        self.encoder.begin_frame(end_ns);
        let come_ns = if self.setup.encode_hands_on_frames { end_ns } else { first_ns };
        // The next frame begins encode when this one has ended there, and comes to the link no sooner.
        let passage = if self.announced_to_link == 1 { self.link.passage(come_ns, end_ns) } else { None };
        if let Some(start_ns) = passage {
            self.announced_to_link = 0;
            self.host.leaves_ns = end_ns;
            if self.host.pending.is_some() {
                // It may wait for fewer frames in flight.
                self.encoder.tell_end();
            }
            self.frame(frame).encoded = Stamp::at(end_ns);
            self.send_frame(frame, start_ns);
            return;
        }
        self.encoding = Some(frame);
        self.encoder.tell_end();
        if self.setup.slices > 1 && !self.setup.encode_hands_on_frames {
            self.encoder.hold_out(first_ns, frame, 0);
        }
    }

    /// Works out the slices of a frame that begins encode now; when the first one comes out and the last \[ns\].
    fn encode_slices(&mut self, frame: u32) -> (i64, i64) {
        let table = self.table;
        let work_ns = table.frames[frame as usize].encode_ns;
        let row_shares = table.row_shares.of(frame as usize);
        let bit_shares = table.bit_shares.of(frame as usize);
        let header_bytes = self.setup.slice_header_bytes;
        let slice_overhead_ns = self.encoder.overhead_ns(1);
        let (count, mut coded, mut cut) = (self.setup.slices, self.coded, Cut::default());
        // All slices came when the frame was rendered.
        let come_ns = self.run.frames[frame as usize].rendered.ns().unwrap_or(self.now);
        let places = self.places(frame);
        // The frame's own overhead comes before its first slice's.
        let mut start_ns = self.now;
        let mut end_ns = self.now + self.encoder.overhead_ns(0) - slice_overhead_ns;
        let mut first_ns = None;
        self.run.slices.each_mut(places, |number, mut slice| {
            let last = number + 1 == count;
            cut.take(work_ns, row_shares[number], last);
            end_ns += slice_overhead_ns + cut.part_ns;
            slice.encode(come_ns, start_ns, end_ns, coded.part(bit_shares[number], last) + header_bytes);
            start_ns = end_ns;
            first_ns = first_ns.or(Some(end_ns));
        });
        (first_ns.unwrap_or(end_ns), end_ns)
    }

    /// The last slice of the frame in the encoder ends, and something hangs on it.
    fn stride_end_of_encoder(&mut self) {
        self.encoder.end_frame();
        let Some(frame) = self.encoding.take() else {
            self.host.see_out(self.now);
            self.wake |= wake::CPU;
            return self.start_encoder();
        };
        self.encoder.hold_out(self.now, frame, self.setup.slices as u32 - 1);
        self.start_encoder();
        // It comes out at this instant too, here unless something else comes first.
        let out = calendar::key(self.now, kind::ENCODE_OUT);
        if self.wake == 0 && self.next_downstream_of_encoder() > out {
            self.stride_out_of_encoder();
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
        self.link.queue.begin();
        self.send_frame(frame, self.now);
    }

    /// A frame's slices are sent from `start_ns` on.
    fn send_frame(&mut self, frame: u32, start_ns: i64) {
        let places = self.places(frame);
        let sent = self.link.begin_frame(start_ns, frame, &mut self.run.slices, places);
        let record = self.frame(frame);
        record.link_start = Stamp::at(start_ns);
        record.sent = Stamp::at(sent.end_ns);
        record.arrived = Stamp::at(sent.last_arrives_ns);
        let last_ns = sent.last_arrives_ns;
        let come_ns = if self.setup.link.hands_on_frames { last_ns } else { sent.first_arrives_ns };
        // The next frame arrives when this one has arrived whole, and no sooner.
        let passage = if self.link.nothing_on_the_way() { self.decoder.passage(come_ns, last_ns) } else { None };
        match passage {
            Some(start_ns) => self.decode_frame(frame, start_ns),
            None => self.link.will_arrive(come_ns, frame),
        }
    }

    pub(super) fn stride_decoder(&mut self) {
        let Some(frame) = self.decoder.startable_frame(self.now) else { return };
        self.decoder.queue.begin();
        self.decode_frame(frame, self.now);
    }

    /// A frame's slices are decoded from `start_ns` on.
    fn decode_frame(&mut self, frame: u32, start_ns: i64) {
        let table = self.table;
        let work_ns = table.frames[frame as usize].decode_ns;
        let shares = table.bit_shares.of(frame as usize);
        let count = self.setup.slices;
        let slice_overhead_ns = self.decoder.overhead_ns(1);
        let mut of_frame_ns = self.decoder.overhead_ns(0) - slice_overhead_ns;
        let mut cut = Cut::default();
        let mut end_ns = start_ns;
        let places = self.places(frame);
        self.run.slices.each_mut(places, |number, mut slice| {
            cut.take(work_ns, shares[number], number + 1 == count);
            // Slices of a frame handed on whole are all there by now.
            let start_ns = slice.read().arrive().ns().map_or(end_ns, |come_ns| come_ns.max(end_ns));
            end_ns = start_ns + std::mem::take(&mut of_frame_ns) + slice_overhead_ns + cut.part_ns;
            slice.decode(start_ns, end_ns);
        });
        self.frame(frame).decode_start = Stamp::at(start_ns);
        self.decoder.begin_frame(end_ns);
        if self.setup.ready_is_told {
            self.decoder.hold_out(end_ns, frame, count as u32 - 1);
        } else {
            self.frame(frame).ready = Stamp::at(end_ns);
            self.screen.ready(frame);
        }
    }

    /// Takes back what was worked out ahead and lies after the event that ended the run, whose key is `end`. Stages are
    /// first in, first out: before the newest frame that was decoded whole nothing lies after the end.
    pub(super) fn take_back_after(&mut self, end: i64) {
        for frame in (0..self.run.frames.len() as u32).rev() {
            let record = self.run.frames[frame as usize];
            if let Some(ready_ns) = record.ready.ns()
                && calendar::key(ready_ns, kind::DECODE_END) <= end
            {
                self.run.end_ns = self.run.end_ns.max(ready_ns);
                break;
            }
            if record.simulated.happened() {
                self.take_back_from_host(frame, end);
            }
            if record.encode_start.happened() {
                self.take_back_frame(frame, end);
            }
        }
    }

    fn take_back_from_host(&mut self, frame: u32, end: i64) {
        let at_render = self.setup.pose_at_render;
        let record = self.frame(frame);
        let Some(simulated_ns) = record.simulated.ns() else { return };
        // Rendered in no time, it ended rendering before this event's turn would have come.
        if record.rendered.happened() || calendar::key(simulated_ns, kind::SIMULATE_END) <= end {
            self.run.end_ns = self.run.end_ns.max(simulated_ns);
            return;
        }
        record.simulated = Stamp::NEVER;
        record.render_start = Stamp::NEVER;
        if at_render {
            record.pose = Stamp::NEVER;
        }
    }

    /// Along each stage a slice began if it had come and the one before, of this frame or another, had ended; it ended, came out or arrived if the
    /// key of that event is not after `end`. The event that ended the run is the coming of a first slice where frames
    /// are not handed on whole: of later slices those at the very same key were still to come.
    fn take_back_frame(&mut self, frame: u32, end: i64) {
        let (encode_whole, link_whole) = (self.setup.encode_hands_on_frames, self.setup.link.hands_on_frames);
        let key = |stamp: Stamp, kind: i64| stamp.ns().map_or(calendar::NEVER, |ns| calendar::key(ns, kind));
        let places = self.places(frame);
        let last = self.slice(frame, self.setup.slices as u32 - 1).read().record();
        let whole_out = key(last.encode_out, kind::ENCODE_OUT) <= end;
        let whole_arrived = key(last.arrive, kind::ARRIVAL) <= end;
        let (mut encoded, mut sent, mut decoded) = (true, true, true);
        let mut latest_ns = 0;
        self.run.slices.each_mut(places.clone(), |number, mut slice| {
            let mut record = slice.read().record();
            let before = |key: i64, whole: bool| key < end || (key == end && (number == 0 || whole));
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
            let free = sent && key(record.link_start, kind::LINK_END) <= end;
            sent = keep(&mut record.link_start, came && free) && key(record.link_end, kind::LINK_END) <= end;
            sent = keep(&mut record.link_end, sent);
            let arrived = keep(&mut record.complete, sent && arrived);
            keep(&mut record.arrive, arrived);
            let came = if link_whole { whole_arrived } else { arrived };
            let free = decoded && key(record.decode_start, kind::DECODE_END) <= end;
            decoded = keep(&mut record.decode_start, came && free) && key(record.decode_end, kind::DECODE_END) <= end;
            decoded = keep(&mut record.decode_end, decoded);
            keep(&mut record.decode_out, decoded);
            for stamp in [record.encode_end, record.link_end, record.arrive, record.decode_end] {
                latest_ns = latest_ns.max(stamp.ns().unwrap_or(0));
            }
            slice.put(&record);
        });
        let records = self.run.slices.within(places);
        let (first, last) = (records.at(0).record(), records.at(records.len() - 1).record());
        self.run.end_ns = self.run.end_ns.max(latest_ns);
        let record = self.frame(frame);
        record.encoded = last.encode_out;
        record.link_start = first.link_start;
        record.sent = last.link_end;
        record.arrived = last.arrive;
        record.decode_start = first.decode_start;
        // Decoded whole, it would not be here.
        record.ready = Stamp::NEVER;
    }
}
