//! The event loop: the next event is handled, then every idle server that can start does so, downstream first.

mod codecs;
mod host;
mod link;
mod screen;
mod strides;

use super::calendar::{self, kind};
use super::codec::Codec;
use super::host::{Host, Messages};
use super::link::Link;
use super::plans::Plans;
use super::run::{Fate, FrameRecord, Run, Stamp};
use super::setup::Setup;
use super::slices::{Moment, SliceMut};
use crate::stop::{Stop, Stopped};
use crate::work::WorkTable;
use codecs::Coded;
use screen::Screen;
use std::ops::Range;

/// How long a run goes on after its last plan at most \[ns\].
const LAST_WAIT_NS: i64 = 1_000_000_000;

/// Servers that an event may have let start.
mod wake {
    pub(super) const DECODE: u8 = 1;
    pub(super) const LINK: u8 = 2;
    pub(super) const ENCODE: u8 = 4;
    pub(super) const GPU: u8 = 8;
    pub(super) const CPU: u8 = 16;
}

/// What the engine must know of a frame beyond its record.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Backstage {
    /// The frame that began encode just before.
    previous: Option<u32>,
    /// Packets of it were lost and not repaired.
    lost: bool,
}

/// A run under way.
#[derive(Debug)]
pub(super) struct World<'a> {
    setup: &'a Setup,
    table: &'a WorkTable,
    run: &'a mut Run,
    backstage: &'a mut [Backstage],
    plans: Plans<'a>,
    host: Host,
    encoder: Codec,
    /// At one stride, the frame in the encoder whose end is an event whatever waits for it.
    encoding: Option<u32>,
    /// Frames begun at the encoder whose first slice has not come to the link.
    announced_to_link: u32,
    /// The frame that began encode last.
    last_encoded: Option<u32>,
    /// The newest intra frame begun at the encoder.
    newest_intra: Option<u32>,
    intra_wanted: bool,
    /// How far the frame being encoded is cut into bytes.
    coded: Coded,
    link: Link<'a>,
    decoder: Codec,
    screen: Screen,
    resends_asked: Messages,
    lateness_told: Messages,
    missing_told: Messages,
    now: i64,
    /// Least key of the kinds that come once a frame or less, render to plan, unless they have changed since.
    next_of_frames: i64,
    frames_changed: bool,
    wake: u8,
    /// Frames that have no fate yet.
    open: usize,
}

impl<'a> World<'a> {
    /// A world before its first event. `run` and `backstage` are as long as the setup says.
    pub(super) fn new(
        setup: &'a Setup,
        table: &'a WorkTable,
        lead_ns: Option<i64>,
        run: &'a mut Run,
        backstage: &'a mut [Backstage],
    ) -> Self {
        let grid = run.grid;
        // At one stride a frame is one thing to wait for.
        let slices = if setup.strides { 1 } else { setup.slices };
        // And where its coming out of the decoder is an event at all, it is that of its end.
        let decoder_out = if setup.strides { kind::DECODE_END } else { kind::DECODE_OUT };
        Self {
            plans: Plans::new(setup, table, grid, lead_ns),
            host: Host::new(),
            encoder: Codec::new(setup.encode, slices, kind::ENCODE_END, kind::ENCODE_OUT),
            encoding: None,
            announced_to_link: 0,
            last_encoded: None,
            newest_intra: None,
            intra_wanted: false,
            coded: Coded::default(),
            link: Link::new(setup.link, setup.packing, slices, table),
            decoder: Codec::new(setup.decode, slices, kind::DECODE_END, decoder_out),
            screen: Screen::new(grid, run),
            resends_asked: Messages::new(kind::RESEND_ASKED),
            lateness_told: Messages::new(kind::LATENESS_TOLD),
            missing_told: Messages::new(kind::MISSING_TOLD),
            now: 0,
            next_of_frames: calendar::NEVER,
            frames_changed: true,
            wake: 0,
            open: setup.frames,
            setup,
            table,
            run,
            backstage,
        }
    }

    /// Handles events until the run ends, unless stopped.
    pub(super) fn play(mut self, stop: Stop<'_>) -> Result<(), Stopped> {
        let mut last_event_ns = calendar::NEVER;
        let mut last_key = 0;
        while !self.over() {
            let next = self.next_key();
            let ns = calendar::time_of(next);
            if next == calendar::NEVER || ns > last_event_ns {
                break;
            }
            self.now = ns;
            last_key = next;
            if self.setup.strides {
                self.handle_strides(calendar::kind_of(next));
            } else {
                self.handle(calendar::kind_of(next));
            }
            if calendar::kind_of(next) == kind::PLAN {
                // Plans come once a frame: often enough to be asked whether to go on.
                if stop.asked() {
                    return Err(Stopped);
                }
                last_event_ns = self.plans.last_ns().map_or(last_event_ns, |plan_ns| plan_ns + LAST_WAIT_NS);
            }
            if self.wake != 0 && !self.over() {
                self.start_servers();
            }
        }
        self.run.end_ns = self.now;
        if self.setup.strides {
            // Where the run ran out of time, all that happens until then has happened.
            let ran_out = !self.over() && last_event_ns < calendar::NEVER;
            let end = if ran_out { calendar::key(last_event_ns, kind::PLAN) } else { last_key };
            self.take_back_after(end);
        }
        self.forget_slices_that_never_came();
        Ok(())
    }

    /// Whether every frame has its fate and the last target's latch is handled.
    #[inline]
    fn over(&self) -> bool {
        self.open == 0 && self.plans.last_target().is_none_or(|last| self.screen.next_refresh() > last)
    }

    #[inline]
    fn next_key(&mut self) -> i64 {
        if self.frames_changed {
            self.find_next_of_frames();
        }
        self.next_downstream_of_encoder().min(self.encoder.next_out).min(self.encoder.next_end).min(self.next_of_frames)
    }

    /// Least key of the kinds that come before encode out at one instant.
    #[inline]
    fn next_downstream_of_encoder(&self) -> i64 {
        self.decoder.next_out.min(self.decoder.next_end).min(self.link.next_arrival).min(self.link.next_end)
    }

    fn find_next_of_frames(&mut self) {
        self.frames_changed = false;
        self.next_of_frames = self
            .host
            .next_part
            .min(self.host.next_simulated)
            .min(self.resends_asked.next)
            .min(self.lateness_told.next)
            .min(self.missing_told.next)
            .min(self.screen.next_latch)
            .min(self.plans.next);
    }

    #[inline]
    fn handle(&mut self, kind: i64) {
        match kind {
            kind::DECODE_OUT => self.decode_out(),
            kind::DECODE_END => self.decode_end(),
            kind::ARRIVAL => self.arrival(),
            kind::LINK_END => self.link_end(),
            kind::ENCODE_OUT => self.encode_out(),
            kind::ENCODE_END => self.encode_end(),
            _ => self.handle_of_frames(kind),
        }
    }

    fn handle_of_frames(&mut self, kind: i64) {
        match kind {
            kind::RENDER_END => self.render_part_end(),
            kind::SIMULATE_END => self.simulate_end(),
            kind::RESEND_ASKED => self.resend_asked(),
            kind::LATENESS_TOLD => self.lateness_told(),
            kind::MISSING_TOLD => self.missing_told(),
            kind::LATCH => self.latch(),
            _ => self.plan(),
        }
        self.frames_changed = true;
    }

    /// Every idle server that can start does so, downstream first; a start can only let servers upstream start.
    #[inline]
    fn start_servers(&mut self) {
        if self.wake & wake::DECODE != 0 {
            self.start_decoder();
        }
        if self.wake & wake::LINK != 0 {
            self.start_link();
        }
        if self.wake & wake::ENCODE != 0 {
            self.start_encoder();
        }
        if self.wake & wake::GPU != 0 {
            self.start_gpu();
        }
        if self.wake & wake::CPU != 0 {
            self.start_cpu();
        }
        self.wake = 0;
    }

    #[inline]
    fn frame(&mut self, frame: u32) -> &mut FrameRecord {
        &mut self.run.frames[frame as usize]
    }

    #[inline]
    fn slice(&mut self, frame: u32, slice: u32) -> SliceMut<'_> {
        self.run.slices.slice_mut(frame as usize * self.setup.slices + slice as usize)
    }

    /// Notes that something happened to a slice now.
    #[inline]
    fn mark(&mut self, frame: u32, slice: u32, moment: Moment) {
        let now = self.now;
        self.slice(frame, slice).set(moment, now);
    }

    /// Where the slices of a frame are kept.
    #[inline]
    fn places(&self, frame: u32) -> Range<usize> {
        let first = frame as usize * self.setup.slices;
        first..first + self.setup.slices
    }

    #[inline]
    fn is_last(&self, slice: u32) -> bool {
        slice as usize + 1 == self.setup.slices
    }

    #[inline]
    fn stamp(&self) -> Stamp {
        Stamp::at(self.now)
    }

    /// A frame meets its fate now, if none has befallen it.
    fn end_frame(&mut self, frame: u32, fate: Fate) {
        let now = self.stamp();
        let record = self.frame(frame);
        if record.fate == Fate::InFlight {
            record.fate = fate;
            record.fate_at = now;
            self.open -= 1;
        }
    }

    /// The arrays are used again from run to run: what a frame that was never rendered, or at one stride never encoded, left
    /// there is from before.
    fn forget_slices_that_never_came(&mut self) {
        let strides = self.setup.strides;
        for frame in 0..self.run.frames.len() {
            let record = &self.run.frames[frame];
            let written = if strides { record.encode_start } else { record.render_start };
            if !written.happened() {
                let come = if strides { record.rendered } else { Stamp::NEVER };
                let places = self.places(frame as u32);
                self.run.slices.each_mut(places, |_, mut slice| {
                    slice.begin(0);
                    if let Some(ns) = come.ns() {
                        slice.set(Moment::Come, ns);
                    }
                });
            }
        }
    }
}
