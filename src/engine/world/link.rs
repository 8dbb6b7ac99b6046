//! The link: sending, arrival, loss and repair, delivery in order.

use super::super::host::Message;
use super::super::link::{Sent, Unit};
use super::super::run::{Fate, ResendRecord, Stamp};
use super::super::slices::Moment;
use super::{World, wake};
use crate::scenario::Repair;

impl World<'_> {
    /// A slice comes to the link.
    pub(super) fn come_to_link(&mut self, frame: u32, slice: u32) {
        if slice == 0 {
            self.announced_to_link -= 1;
            self.wake |= wake::ENCODE;
        }
        if !self.link.queue.come(frame, slice) {
            return;
        }
        self.start_link();
        if slice == 0
            && let Some(dropped) = self.link.queue.overflow(frame)
        {
            self.end_frame(dropped, Fate::DroppedLink);
            self.tell_missing(dropped);
        }
    }

    #[inline]
    pub(super) fn start_link(&mut self) {
        if self.setup.strides {
            return self.stride_link();
        }
        if !self.link.idle() {
            return;
        }
        if let Some(unit) = self.link.resends.pop() {
            let bytes = self.slice(unit.frame, unit.slice).read().bytes();
            self.run.resends[unit.record as usize].link_start = self.stamp();
            self.link.begin_resend(self.now, unit, bytes);
            return;
        }
        let Some((frame, slice)) = self.link.queue.head() else { return };
        let now = self.stamp();
        self.mark(frame, slice, Moment::LinkStart);
        let bytes = self.slice(frame, slice).read().bytes();
        if slice == 0 {
            self.frame(frame).link_start = now;
            if self.link.queue.blocks() {
                self.wake |= wake::ENCODE;
            }
        }
        self.link.begin_slice(self.now, frame, slice, bytes);
    }

    pub(super) fn link_end(&mut self) {
        let Some(sent) = self.link.end() else { return };
        let now = self.stamp();
        match sent {
            Sent::Special(Unit { attempt: 1.., record, .. }) => self.run.resends[record as usize].link_end = now,
            Sent::Whole { frame, slice } | Sent::Special(Unit { frame, slice, .. }) => {
                self.mark(frame, slice, Moment::LinkEnd);
                if self.is_last(slice) {
                    self.frame(frame).sent = now;
                }
            }
        }
        self.wake |= wake::LINK;
    }

    pub(super) fn arrival(&mut self) {
        let Some(sent) = self.link.arrive() else { return };
        let now = self.stamp();
        match sent {
            Sent::Whole { frame, slice } => {
                self.mark(frame, slice, Moment::Complete);
                if self.link.lossy() {
                    self.deliver();
                } else {
                    self.hand_to_decoder(frame, slice);
                }
            }
            Sent::Special(unit) => {
                if unit.attempt > 0 {
                    self.run.resends[unit.record as usize].arrive = now;
                }
                if unit.lost <= unit.parity {
                    self.mark(unit.frame, unit.slice, Moment::Complete);
                    self.deliver();
                } else {
                    self.incomplete(unit);
                }
            }
        }
    }

    /// A unit arrived with packets missing: its frame is lost, or the packets are asked for again.
    fn incomplete(&mut self, unit: Unit) {
        let repairs = matches!(self.setup.link.repair, Repair::Resend { .. });
        if !repairs || unit.attempt >= self.link.tries() {
            self.lose(unit.frame);
        } else if !self.backstage[unit.frame as usize].lost {
            self.resends_asked.send(Message {
                slice: unit.slice,
                attempt: unit.attempt + 1,
                packets: unit.lost,
                ..self.message_from_device(unit.frame)
            });
            self.frames_changed = true;
        }
    }

    /// The host hears that packets are to be sent again.
    pub(super) fn resend_asked(&mut self) {
        let Some(Message { frame, slice, attempt, packets, .. }) = self.resends_asked.take() else { return };
        let record = self.run.resends.len() as u32;
        self.run.resends.push(ResendRecord {
            frame,
            slice,
            attempt,
            asked: self.stamp(),
            link_start: Stamp::NEVER,
            link_end: Stamp::NEVER,
            arrive: Stamp::NEVER,
        });
        self.slice(frame, slice).count_resend();
        self.link.resends.push(Unit { frame, slice, attempt, packets, record, ..Unit::default() });
        self.wake |= wake::LINK;
    }

    /// A frame's slices that have not begun decode vanish, now and later.
    fn lose(&mut self, frame: u32) {
        if std::mem::replace(&mut self.backstage[frame as usize].lost, true) {
            return;
        }
        self.decoder.queue.remove(frame);
        if self.run.frames[frame as usize].fate == Fate::InFlight {
            self.end_frame(frame, Fate::Lost);
            self.tell_missing(frame);
        }
        self.wake |= wake::DECODE;
        self.deliver();
    }

    /// Complete slices are delivered in the order of sending; those of lost frames hold nothing up.
    fn deliver(&mut self) {
        while let Some(&(frame, slice)) = self.link.undelivered.front() {
            let lost = self.backstage[frame as usize].lost;
            if !lost && !self.slice(frame, slice).read().complete().happened() {
                return;
            }
            self.link.undelivered.pop();
            if !lost {
                self.hand_to_decoder(frame, slice);
            }
        }
    }

    fn hand_to_decoder(&mut self, frame: u32, slice: u32) {
        let now = self.stamp();
        self.mark(frame, slice, Moment::Arrive);
        let last = self.is_last(slice);
        if last {
            self.frame(frame).arrived = now;
        }
        if !self.setup.link.hands_on_frames {
            self.come_to_decoder(frame, slice);
        } else if last {
            for slice in 0..=slice {
                self.come_to_decoder(frame, slice);
            }
        }
    }
}
