//! The way of one frame, looked at afterwards: what held it up, and how long it would have taken alone.

mod services;
#[cfg(test)]
mod tests;

pub(super) use services::Services;

use super::exposed::Span;
use super::piece::Piece;
use crate::engine::{FrameRecord, Run, Slice, SlicesOf, Stamp};
use crate::scenario::{Effect, HandOff, Scenario, Taken};
use crate::time::{ms_to_ns, us_to_ns};
use crate::work::{Closure, WorkTable};

/// What must be known of scenario and table to read a run's records.
#[derive(Debug, Clone, Copy)]
pub(super) struct Path<'a> {
    run: &'a Run,
    table: &'a WorkTable,
    /// Closures that stop the link; empty where it goes on and loses.
    stops: &'a [Closure],
    pose_at_render: bool,
    encoder: Codec,
    decoder: Codec,
    encoder_hands_on_frames: bool,
    link_hands_on_frames: bool,
    propagation_ns: i64,
}

/// Encoder or decoder.
#[derive(Debug, Clone, Copy)]
struct Codec {
    engines: usize,
    pipeline_ns: i64,
    work: Piece,
    pipeline: Piece,
    wait: Piece,
}

/// When one slice came to a server and was served.
#[derive(Debug, Clone, Copy)]
#[expect(clippy::struct_field_names, reason = "the unit belongs to the name")]
struct Service {
    come_ns: i64,
    start_ns: i64,
    end_ns: i64,
}

impl Service {
    #[inline]
    fn of(come: Stamp, start: Stamp, end: Stamp) -> Option<Self> {
        Some(Self { come_ns: come.ns()?, start_ns: start.ns()?, end_ns: end.ns()? })
    }
}

/// Visits the spans of a path, latest first, leaving out the empty ones.
struct Steps<F> {
    visit: F,
}

impl<F: FnMut(Span)> Steps<F> {
    #[inline]
    fn step(&mut self, piece: Piece, slice: Option<usize>, start_ns: i64, end_ns: i64) {
        if start_ns != end_ns {
            (self.visit)(Span { piece, slice: slice.map(|slice| slice as u32), start_ns, end_ns });
        }
    }
}

impl<'a> Path<'a> {
    pub(super) fn new(scenario: &Scenario, table: &'a WorkTable, run: &'a Run) -> Self {
        let Scenario { pose, encode, link, decode, .. } = scenario;
        let holds = link.closures.effect == Effect::Hold;
        Self {
            run,
            table,
            stops: if holds { &table.closures } else { &[] },
            pose_at_render: pose.taken == Taken::AtRender,
            encoder: Codec {
                engines: encode.engines as usize,
                pipeline_ns: ms_to_ns(encode.pipeline_ms),
                work: Piece::Encode,
                pipeline: Piece::EncodePipeline,
                wait: Piece::WaitEncode,
            },
            decoder: Codec {
                engines: decode.engines as usize,
                pipeline_ns: ms_to_ns(decode.pipeline_ms),
                work: Piece::Decode,
                pipeline: Piece::DecodePipeline,
                wait: Piece::WaitDecode,
            },
            encoder_hands_on_frames: encode.hand_off == HandOff::Frame,
            link_hands_on_frames: link.hand_off == HandOff::Frame,
            propagation_ns: us_to_ns(link.propagation_us),
        }
    }

    /// Visits the critical path of a shown frame from its photons back to its pose. None where it was not shown.
    #[inline]
    pub(super) fn walk_back(&self, frame: usize, visit: impl FnMut(Span)) -> Option<()> {
        let record = &self.run.frames[frame];
        let ready_ns = record.ready.ns()?;
        let slices = self.run.slices_of(frame);
        let mut steps = Steps { visit };
        let vsync_ns = self.run.grid.vsync_ns(i64::from(record.shown?));
        let latch_ns = vsync_ns - self.run.grid.latch_lead_ns();
        steps.step(Piece::Light, None, vsync_ns, vsync_ns + self.run.grid.photon_offset_ns());
        steps.step(Piece::Latch, None, latch_ns, vsync_ns);
        steps.step(Piece::WaitLatch, None, ready_ns, latch_ns);
        let slice = self.decoded(slices, slices.len() - 1, &mut steps)?;
        let slice = if self.link_hands_on_frames { slices.len() - 1 } else { slice };
        let slice = self.sent(frame, slices, slice, &mut steps)?;
        let slice = if self.encoder_hands_on_frames { slices.len() - 1 } else { slice };
        let slice = self.encoded(slices, slice, &mut steps)?;
        self.rendered(record, slices.at(slice).come().ns()?, slice, &mut steps)
    }

    /// Back through the decoder from the coming out of `slice` to the slice whose coming counts, which is returned.
    #[inline]
    fn decoded(&self, slices: SlicesOf<'_>, slice: usize, steps: &mut Steps<impl FnMut(Span)>) -> Option<usize> {
        let last = slices.len() - 1;
        let service = |slice: usize| {
            let come = slices.at(if self.link_hands_on_frames { last } else { slice });
            let record = slices.at(slice);
            Service::of(come.arrive(), record.decode_start(), record.decode_end())
        };
        self.decoder.walk_back(slice, slices.at(slice).decode_out().ns()?, service, steps)
    }

    /// Back through the encoder likewise.
    #[inline]
    fn encoded(&self, slices: SlicesOf<'_>, slice: usize, steps: &mut Steps<impl FnMut(Span)>) -> Option<usize> {
        let service = |slice: usize| {
            let record = slices.at(slice);
            Service::of(record.come(), record.encode_start(), record.encode_end())
        };
        self.encoder.walk_back(slice, slices.at(slice).encode_out().ns()?, service, steps)
    }

    /// Back through the link from the delivery of `slice` to the slice whose coming counts, which is returned.
    #[inline]
    fn sent(
        &self,
        frame: usize,
        slices: SlicesOf<'_>,
        slice: usize,
        steps: &mut Steps<impl FnMut(Span)>,
    ) -> Option<usize> {
        let record = slices.at(slice);
        let work = &self.table.frames[frame];
        let (sent_ns, complete_ns) = (record.link_end().ns()?, record.complete().ns()?);
        let arrived_ns = self.first_arrival_ns(frame, slice, record)?;
        let over_ns = sent_ns + self.propagation_ns;
        let due_ns = over_ns + work.link_delay_ns;
        let of_slice = Some(slice);
        steps.step(Piece::Order, of_slice, complete_ns, record.arrive().ns()?);
        steps.step(Piece::Repair, of_slice, arrived_ns, complete_ns);
        steps.step(Piece::Order, of_slice, due_ns, arrived_ns);
        steps.step(Piece::Delay, of_slice, over_ns, due_ns);
        steps.step(Piece::Propagation, of_slice, sent_ns, over_ns);
        let last = slices.len() - 1;
        let service = |slice: usize| {
            let come = slices.at(if self.encoder_hands_on_frames { last } else { slice });
            let record = slices.at(slice);
            Service::of(come.encode_out(), record.link_start(), record.link_end())
        };
        let sending = |slice, start_ns, end_ns, steps: &mut Steps<_>| {
            self.sending(slice, start_ns, end_ns, steps);
        };
        back_through_own_slices(slice, 1, Piece::WaitLink, service, sending, steps)
    }

    /// When the first sending of a slice arrived: for one that was asked for again, as long before the host heard of it as
    /// the message takes.
    #[inline]
    fn first_arrival_ns(&self, frame: usize, slice: usize, record: Slice<'_>) -> Option<i64> {
        if record.resends() == 0 {
            return record.complete().ns();
        }
        let sent = record.link_end();
        let resends = &self.run.resends;
        let later = resends.partition_point(|resend| resend.asked.ns() < sent.ns());
        let first = resends[later..]
            .iter()
            .find(|resend| resend.frame as usize == frame && resend.slice as usize == slice && resend.attempt == 1)?;
        Some(first.asked.ns()? - self.table.frames[frame].uplink_ns)
    }

    /// The time that a unit took the link, told apart from the closures in it.
    #[inline]
    fn sending(&self, slice: usize, start_ns: i64, end_ns: i64, steps: &mut Steps<impl FnMut(Span)>) {
        let mut until_ns = end_ns;
        for stop in self.stops_within(start_ns, end_ns).iter().rev() {
            let (from_ns, to_ns) = (stop.start_ns.max(start_ns), stop.end_ns.min(end_ns));
            steps.step(Piece::Link, Some(slice), to_ns, until_ns);
            steps.step(Piece::Closure, Some(slice), from_ns, to_ns);
            until_ns = from_ns;
        }
        steps.step(Piece::Link, Some(slice), start_ns, until_ns);
    }

    /// The closures that overlap a time and stop the link.
    #[inline]
    fn stops_within(&self, start_ns: i64, end_ns: i64) -> &'a [Closure] {
        if self.stops.is_empty() {
            return &[];
        }
        let first = self.stops.partition_point(|stop| stop.end_ns <= start_ns);
        let count = self.stops[first..].partition_point(|stop| stop.start_ns < end_ns);
        &self.stops[first..first + count]
    }

    /// Time of a sending that was not held up by closures \[ns\].
    #[inline]
    pub(super) fn sending_ns(&self, start_ns: i64, end_ns: i64) -> i64 {
        let stopped = self.stops_within(start_ns, end_ns).iter();
        let stopped_ns: i64 = stopped.map(|stop| stop.end_ns.min(end_ns) - stop.start_ns.max(start_ns)).sum();
        end_ns - start_ns - stopped_ns
    }

    /// From the coming of a slice to the encoder back to the pose.
    #[inline]
    fn rendered(
        &self,
        record: &FrameRecord,
        come_ns: i64,
        slice: usize,
        steps: &mut Steps<impl FnMut(Span)>,
    ) -> Option<()> {
        let render_ns = record.render_start.ns()?;
        let pose_ns = record.pose.ns()?;
        steps.step(Piece::Render, Some(slice), render_ns, come_ns);
        if self.pose_at_render {
            steps.step(Piece::Pose, None, pose_ns, render_ns);
            return Some(());
        }
        let (start_ns, simulated_ns) = (record.start.ns()?, record.simulated.ns()?);
        steps.step(Piece::WaitGpu, None, simulated_ns, render_ns);
        steps.step(Piece::Simulate, None, start_ns, simulated_ns);
        steps.step(Piece::Pose, None, pose_ns, start_ns);
        Some(())
    }
}

impl Codec {
    /// Back from the coming out of `slice` at `out_ns` to the slice whose coming counts, which is returned.
    #[inline]
    fn walk_back(
        &self,
        slice: usize,
        out_ns: i64,
        service: impl Fn(usize) -> Option<Service>,
        steps: &mut Steps<impl FnMut(Span)>,
    ) -> Option<usize> {
        let end_ns = service(slice)?.end_ns;
        let done_ns = end_ns + self.pipeline_ns;
        steps.step(Piece::Order, Some(slice), done_ns, out_ns);
        steps.step(self.pipeline, Some(slice), end_ns, done_ns);
        let work = |slice, start_ns, end_ns, steps: &mut Steps<_>| {
            steps.step(self.work, Some(slice), start_ns, end_ns);
        };
        back_through_own_slices(slice, self.engines, self.wait, service, work, steps)
    }
}

/// Back through the service of `slice` and of those earlier slices of the frame that held it up: a slice that had come
/// before and began when one of them freed the engine leads to that one; any other, after its wait, upstream. Returns
/// the slice from which to go upstream.
#[inline]
fn back_through_own_slices<F: FnMut(Span)>(
    mut slice: usize,
    engines: usize,
    wait: Piece,
    service: impl Fn(usize) -> Option<Service>,
    work: impl Fn(usize, i64, i64, &mut Steps<F>),
    steps: &mut Steps<F>,
) -> Option<usize> {
    let mut own = service(slice)?;
    loop {
        let Service { come_ns, start_ns, end_ns } = own;
        work(slice, start_ns, end_ns, steps);
        if come_ns == start_ns {
            return Some(slice);
        }
        // One engine can have been freed by the slice just before only; of several, the nearest that ended then counts.
        let earliest = if engines == 1 { slice.saturating_sub(1) } else { 0 };
        let ended_then = |&(_, own): &(usize, Service)| own.end_ns == start_ns;
        let earlier = (earliest..slice).rev().filter_map(|own| Some((own, service(own)?)));
        let Some(freed_by) = earlier.into_iter().find(ended_then) else {
            steps.step(wait, Some(slice), come_ns, start_ns);
            return Some(slice);
        };
        (slice, own) = freed_by;
    }
}
