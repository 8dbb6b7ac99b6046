//! Plans, CPU and GPU.

use super::super::calendar;
use super::super::calendar::kind;
use super::super::host::Rendering;
use super::super::run::{Fate, FrameRecord, Stamp};
use super::{World, wake};

impl World<'_> {
    /// A plan falls due: the frame before is skipped where it has not begun.
    pub(super) fn plan(&mut self) {
        let plan = self.plans.take();
        if let Some(frame) = self.host.pending {
            self.end_frame(frame, Fate::Skipped);
        }
        let work = self.table.frames[plan.frame as usize];
        *self.frame(plan.frame) = FrameRecord {
            plan: self.stamp(),
            lead_ns: plan.lead_ns,
            target: plan.target,
            bits: work.bits,
            intra: work.intra,
            ..FrameRecord::default()
        };
        self.host.pending = Some(plan.frame);
        self.wake |= wake::CPU;
    }

    pub(super) fn start_cpu(&mut self) {
        if self.host.pending.is_none() || self.cpu_is_busy() {
            return;
        }
        let Some(frame) = self.host.pending.take() else { return };
        let now = self.now;
        let ends_ns = now + self.table.frames[frame as usize].simulate_ns;
        self.host.in_flight += 1;
        self.frames_changed = true;
        let pose = if self.setup.pose_at_render { Stamp::NEVER } else { self.newest_pose(frame, now) };
        let record = self.frame(frame);
        record.start = Stamp::at(now);
        record.pose = pose;
        // Nothing comes before the GPU while it waits for this frame: what it finds then is what is there now.
        if self.setup.strides && self.host.simulated.is_empty() && self.gpu_is_free() {
            self.host.simulates_until_ns = ends_ns;
            self.host.next_simulated = calendar::NEVER;
            self.frame(frame).simulated = Stamp::at(ends_ns);
            self.render(frame, ends_ns);
        } else {
            self.host.simulating = Some(frame);
            self.host.next_simulated = calendar::key(ends_ns, kind::SIMULATE_END);
        }
    }

    /// Whether a frame that could begin simulate has to wait; what it waits for becomes an event.
    fn cpu_is_busy(&mut self) -> bool {
        if self.host.simulating.is_some() {
            return true;
        }
        if self.now < self.host.simulates_until_ns {
            self.host.next_simulated = calendar::key(self.host.simulates_until_ns, kind::SIMULATE_END);
            self.frames_changed = true;
            return true;
        }
        self.host.see_out(self.now);
        let full = self.host.in_flight >= self.setup.frames_in_flight;
        if full && self.host.leaves_ns < calendar::NEVER {
            self.encoder.tell_end();
        }
        full
    }

    fn newest_pose(&self, frame: u32, ns: i64) -> Stamp {
        Stamp::at(self.run.grid.newest_pose_ns(ns, self.table.frames[frame as usize].uplink_ns))
    }

    pub(super) fn simulate_end(&mut self) {
        self.host.next_simulated = calendar::NEVER;
        self.wake |= wake::CPU;
        let Some(frame) = self.host.simulating.take() else { return };
        self.frame(frame).simulated = self.stamp();
        self.host.simulated.push(frame);
        self.wake |= wake::GPU;
    }

    pub(super) fn start_gpu(&mut self) {
        if self.gpu_is_free()
            && let Some(frame) = self.host.simulated.pop()
        {
            self.render(frame, self.now);
        }
    }

    /// Whether the GPU can take a frame.
    fn gpu_is_free(&self) -> bool {
        // One frame at a time: what began on the GPU before has come to the encoder, so none is announced.
        self.host.rendering.is_none() && self.encoder.queue.admits(0)
    }

    /// A frame begins on the GPU at `start_ns`.
    fn render(&mut self, frame: u32, start_ns: i64) {
        let pose = self.setup.pose_at_render.then(|| self.newest_pose(frame, start_ns));
        let record = self.frame(frame);
        record.render_start = Stamp::at(start_ns);
        record.pose = pose.unwrap_or(record.pose);
        if !self.setup.strides {
            // At one stride they are written when the frame begins there.
            let places = self.places(frame);
            self.run.slices.each_mut(places, |_, mut slice| slice.begin(0));
        }
        let render_ns = self.table.frames[frame as usize].render_ns;
        let rendering = Rendering::new(frame, start_ns, render_ns, self.setup.parts);
        self.host.next_part = rendering.part_end();
        self.host.rendering = Some(rendering);
        self.frames_changed = true;
    }

    /// A part is rendered: its slices come to the encoder.
    pub(super) fn render_part_end(&mut self) {
        let Some(mut rendering) = self.host.rendering.take() else { return };
        let (frame, part) = (rendering.frame, rendering.part);
        self.host.next_part = calendar::NEVER;
        if rendering.last_part() {
            self.frame(frame).rendered = self.stamp();
            self.wake |= wake::GPU;
        } else {
            rendering.part += 1;
            self.host.next_part = rendering.part_end();
            self.host.rendering = Some(rendering);
        }
        if self.setup.strides {
            return self.offer_to_encoder(frame, 0);
        }
        let (slices, parts) = (self.setup.slices, self.setup.parts);
        // Slice i belongs to part ceil((i + 1) m / n) - 1.
        for slice in (part * slices / parts)..((part + 1) * slices / parts) {
            self.come_to_encoder(frame, slice as u32);
        }
    }

    /// The device's word whether a frame was late has come up.
    pub(super) fn lateness_told(&mut self) {
        let Some(message) = self.lateness_told.take() else { return };
        let late = self.run.late(message.frame as usize).unwrap_or(false);
        self.plans.told(late);
    }

    /// The device's word that a frame is missing has come up: the next frame encoded is to be intra, unless one newer
    /// than the missing frame has begun.
    pub(super) fn missing_told(&mut self) {
        let Some(message) = self.missing_told.take() else { return };
        if self.newest_intra.is_none_or(|intra| message.frame >= intra) {
            self.intra_wanted = true;
        }
    }
}
