//! What the servers are asked to do, and how long they were at it.

use super::path::{Path, Services};
use super::server::Servers;
use crate::engine::{Run, Stamp};
use crate::scenario::Scenario;
use crate::time::{ms_to_ns, round_to_ns};
use crate::work::WorkTable;
use crate::work::units::{Packing, borders, frame_bytes};

/// Sums up work offered by the counted frames and time that servers were busy within the counted span.
#[derive(Debug)]
pub(super) struct Loads<'a> {
    table: &'a WorkTable,
    run: &'a Run,
    path: Path<'a>,
    packing: Packing,
    /// Encoder and decoder overheads of a whole frame \[ns\].
    encode_overhead_ns: i64,
    decode_overhead_ns: i64,
    /// The counted span: from the plan of the first counted frame to a frame period after that of the last.
    span_ns: Option<(i64, i64)>,
    frames: usize,
    work_ns: Servers<i64>,
    busy_ns: Servers<i64>,
}

impl<'a> Loads<'a> {
    pub(super) fn new(scenario: &Scenario, table: &'a WorkTable, run: &'a Run, path: Path<'a>) -> Self {
        let slices = i64::from(scenario.slices.count);
        let overhead = |frame_ms, slice_ms| ms_to_ns(frame_ms) + slices * ms_to_ns(slice_ms);
        let warmup = scenario.run.warmup as usize;
        let mut plans = run.frames.iter().skip(warmup).filter_map(|record| record.plan.ns());
        let first = plans.next();
        let last = plans.next_back().or(first);
        let period_ns = round_to_ns(scenario.frame_period_ns());
        Self {
            table,
            run,
            path,
            packing: Packing::new(scenario),
            encode_overhead_ns: overhead(scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms),
            decode_overhead_ns: overhead(scenario.decode.frame_overhead_ms, scenario.decode.slice_overhead_ms),
            span_ns: first.zip(last).map(|(first, last)| (first, last + period_ns)),
            frames: 0,
            work_ns: Servers::default(),
            busy_ns: Servers::default(),
        }
    }

    /// Adds what a counted frame asks of each server, whatever became of it. `took` is what it took if it got ready.
    #[inline]
    pub(super) fn offer(&mut self, frame: usize, took: Option<&Services>) {
        let work = &self.table.frames[frame];
        self.frames += 1;
        self.work_ns.cpu += work.simulate_ns;
        self.work_ns.gpu += work.render_ns;
        self.work_ns.encoder += work.encode_ns + self.encode_overhead_ns;
        self.work_ns.decoder += work.decode_ns + self.decode_overhead_ns;
        self.work_ns.link += match took {
            Some(took) => took.sending_ns,
            None => self.sending_ns(frame).unwrap_or_else(|| self.sending_of_table_ns(frame)),
        };
    }

    /// Adds what the resends of counted frames, from this one on, ask of the link.
    pub(super) fn offer_resends(&mut self, first: usize) {
        for resend in self.run.resends.iter().filter(|resend| resend.frame as usize >= first) {
            if let Some((start_ns, end_ns)) = resend.link_start.ns().zip(resend.link_end.ns()) {
                self.work_ns.link += self.path.sending_ns(start_ns, end_ns);
            }
        }
    }

    /// Time that the first sendings of a frame took, if all were sent \[ns\].
    fn sending_ns(&self, frame: usize) -> Option<i64> {
        let slices = self.run.slices_of(frame);
        slices.last()?.link_end().ns()?;
        slices.iter().try_fold(0, |sum, slice| {
            Some(sum + self.path.sending_ns(slice.link_start().ns()?, slice.link_end().ns()?))
        })
    }

    /// Time that the first sendings of a frame would take \[ns\].
    fn sending_of_table_ns(&self, frame: usize) -> i64 {
        let bytes = frame_bytes(self.run.frames[frame].bits);
        let unit_ns = |border| self.packing.send_ns(self.packing.unit(bytes, border));
        borders(self.table.bit_shares.of(frame)).map(unit_ns).sum()
    }

    /// Adds the time within the counted span that servers spent on a frame, counted or not. `took` is what it took if it
    /// got ready.
    #[inline]
    pub(super) fn spend(&mut self, frame: usize, took: Option<&Services>) {
        let Some(span_ns) = self.span_ns else { return };
        let record = &self.run.frames[frame];
        let now_ns = self.run.end_ns;
        let within = |start: Stamp, end: Stamp| within(span_ns, now_ns, start, end);
        self.busy_ns.cpu += within(record.start, record.simulated);
        self.busy_ns.gpu += within(record.render_start, record.rendered);
        let (start_ns, ready_ns) = (record.start.ns(), record.ready.ns());
        if let (Some(start_ns), Some(ready_ns), Some(took)) = (start_ns, ready_ns, took)
            && start_ns >= span_ns.0
            && ready_ns <= span_ns.1
        {
            // All of it lies within the span.
            self.busy_ns.encoder += took.encoder_ns;
            self.busy_ns.link += took.link_ns;
            self.busy_ns.decoder += took.decoder_ns;
            return;
        }
        for slice in self.run.slices_of(frame).iter() {
            self.busy_ns.encoder += within(slice.encode_start(), slice.encode_end());
            self.busy_ns.link += within(slice.link_start(), slice.link_end());
            self.busy_ns.decoder += within(slice.decode_start(), slice.decode_end());
        }
    }

    /// Whether every server was done with a frame before the counted span.
    #[inline]
    pub(super) fn over_before_span(&self, frame: usize) -> bool {
        let ready_ns = self.run.frames[frame].ready.ns();
        self.span_ns.zip(ready_ns).is_some_and(|((start_ns, _), ready_ns)| ready_ns <= start_ns)
    }

    /// Adds the time within the counted span that the link spent on resends.
    pub(super) fn spend_on_resends(&mut self) {
        let Some(span_ns) = self.span_ns else { return };
        for resend in &self.run.resends {
            self.busy_ns.link += within(span_ns, self.run.end_ns, resend.link_start, resend.link_end);
        }
    }

    /// Mean work per frame over engines times frame period.
    pub(super) fn offered(&self, scenario: &Scenario) -> Servers<Option<f64>> {
        let period_ns = scenario.frame_period_ns();
        let engines = engines(scenario);
        self.work_ns.map(|server, work_ns| {
            (self.frames > 0).then(|| work_ns as f64 / self.frames as f64 / (f64::from(engines.of(server)) * period_ns))
        })
    }

    /// Busy time over engines times the counted span.
    pub(super) fn busy(&self, scenario: &Scenario) -> Servers<Option<f64>> {
        let engines = engines(scenario);
        self.busy_ns.map(|server, busy_ns| {
            self.span_ns
                .map(|(start_ns, end_ns)| busy_ns as f64 / (f64::from(engines.of(server)) * (end_ns - start_ns) as f64))
        })
    }
}

/// How much of a service lies within a span; one without an end lasted until now \[ns\].
#[inline]
fn within(span_ns: (i64, i64), now_ns: i64, start: Stamp, end: Stamp) -> i64 {
    let Some(start_ns) = start.ns() else { return 0 };
    let end_ns = end.ns().unwrap_or(now_ns);
    (end_ns.min(span_ns.1) - start_ns.max(span_ns.0)).max(0)
}

/// Engines of each server.
fn engines(scenario: &Scenario) -> Servers<u32> {
    Servers { cpu: 1, gpu: 1, encoder: scenario.encode.engines, link: 1, decoder: scenario.decode.engines }
}
