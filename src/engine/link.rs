//! The link: units in service and on the way, closures, resends waiting their turn, delivery in order.

use super::calendar::{self, NEVER, kind};
use super::fifo::Fifo;
use super::queue::Queue;
use super::setup::LinkSetup;
use super::slices::Slices;
use crate::scenario::Repair;
use crate::work::units::Packing;
use crate::work::{Closure, WorkTable};
use std::ops::Range;

/// A frame that is sent at one stride.
#[derive(Debug, Clone, Copy)]
#[expect(clippy::struct_field_names, reason = "the unit belongs to the name")]
pub(super) struct SentFrame {
    /// Its last slice is sent \[ns\].
    pub end_ns: i64,
    /// Its first slice arrives \[ns\].
    pub first_arrives_ns: i64,
    /// Its last slice arrives \[ns\].
    pub last_arrives_ns: i64,
}

/// A unit that needs more than its frame and slice to be told: a resend, or one that loses packets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Unit {
    pub frame: u32,
    pub slice: u32,
    /// 0: the first sending of the slice; above: a resend.
    pub attempt: u32,
    /// Packets sent, parity included.
    pub packets: u32,
    /// Parity packets among them.
    pub parity: u32,
    /// Packets lost on the way.
    pub lost: u32,
    /// Index of the resend's record.
    pub record: u32,
}

/// A unit in service or on the way: the time of its end or arrival, and of what.
#[derive(Debug, Clone, Copy)]
struct Sending {
    ns: i64,
    frame: u32,
    slice: u16,
    /// Whether the next of the special units is this one.
    special: bool,
}

/// How long a slice will take the link: worked out when its bytes are known, well before the link asks.
#[derive(Debug, Clone, Copy)]
struct Prepared {
    frame: u32,
    slice: u32,
    send_ns: i64,
}

/// What has been sent or has arrived.
#[derive(Debug, Clone, Copy)]
pub(super) enum Sent {
    /// A first sending that lost nothing.
    Whole { frame: u32, slice: u32 },
    /// Any other.
    Special(Unit),
}

/// The link between encoder and decoder.
#[derive(Debug)]
pub(super) struct Link<'a> {
    setup: LinkSetup,
    packing: Packing,
    table: &'a WorkTable,
    /// First closure that does not lie wholly before the present.
    next_closure: usize,
    pub queue: Queue,
    /// Slices encoded and not yet sent, in order; those of frames dropped here are passed over.
    prepared: Fifo<Prepared>,
    /// Resends to be sent, ahead of all slices not begun.
    pub resends: Fifo<Unit>,
    in_service: Option<Sending>,
    /// Where frames go at one stride, when the last one begun is sent \[ns\].
    frame_sent_ns: i64,
    /// And what its slices take the link each \[ns\], whole.
    times_ns: Vec<f64>,
    flights: Fifo<Sending>,
    /// The special ones among the units in service and on the way, in order.
    specials: Fifo<Unit>,
    last_arrival_ns: i64,
    /// First sendings not yet delivered, in order; not kept where nothing can be lost.
    pub undelivered: Fifo<(u32, u32)>,
    /// Key of the next end of service.
    pub next_end: i64,
    /// Key of the next arrival.
    pub next_arrival: i64,
}

impl<'a> Link<'a> {
    pub(super) fn new(setup: LinkSetup, packing: Packing, slices: usize, table: &'a WorkTable) -> Self {
        Self {
            setup,
            packing,
            table,
            next_closure: 0,
            queue: Queue::new(setup.buffer, slices),
            prepared: Fifo::new(),
            resends: Fifo::new(),
            in_service: None,
            frame_sent_ns: 0,
            times_ns: Vec::new(),
            flights: Fifo::new(),
            specials: Fifo::new(),
            last_arrival_ns: 0,
            undelivered: Fifo::new(),
            next_end: NEVER,
            next_arrival: NEVER,
        }
    }

    /// Whether nothing is being sent.
    #[inline]
    pub(super) fn idle(&self) -> bool {
        self.in_service.is_none()
    }

    /// Whether packets can be lost at all.
    #[inline]
    pub(super) fn lossy(&self) -> bool {
        self.setup.closures_lose || !self.table.losses.rows().is_empty()
    }

    /// The bytes of a slice that will come are known.
    #[inline]
    pub(super) fn prepare(&mut self, frame: u32, slice: u32, bytes: i64) {
        let send_ns = self.packing.send_ns(self.packing.unit_of(bytes));
        self.prepared.push(Prepared { frame, slice, send_ns });
    }

    /// The first sending of a slice begins now.
    #[inline]
    pub(super) fn begin_slice(&mut self, now: i64, frame: u32, slice: u32, bytes: i64) {
        let mut service_ns = 0;
        while let Some(prepared) = self.prepared.pop() {
            if (prepared.frame, prepared.slice) == (frame, slice) {
                service_ns = prepared.send_ns;
                break;
            }
        }
        self.queue.begin();
        let mut special = false;
        if self.lossy() {
            self.undelivered.push((frame, slice));
            let sent = self.packing.unit_of(bytes);
            let (packets, parity) = (sent.sent() as u32, sent.parity as u32);
            let mut unit = Unit { frame, slice, packets, parity, ..Unit::default() };
            self.lose_packets(now, service_ns, &mut unit);
            special = unit.lost > 0;
            if special {
                self.specials.push(unit);
            }
        }
        self.serve(now, service_ns, frame, slice, special);
    }

    /// A resend begins now; `bytes` are those of the slice's first sending.
    pub(super) fn begin_resend(&mut self, now: i64, mut unit: Unit, bytes: i64) {
        let first = self.packing.unit_of(bytes);
        let service_ns = self.packing.resend_ns(first, i64::from(unit.packets));
        self.lose_packets(now, service_ns, &mut unit);
        self.specials.push(unit);
        self.serve(now, service_ns, unit.frame, unit.slice, true);
    }

    #[inline]
    fn serve(&mut self, now: i64, service_ns: i64, frame: u32, slice: u32, special: bool) {
        let held = !self.setup.closures_lose && self.next_closure < self.table.closures.len();
        let ns = if held { self.held_end(now, service_ns) } else { now + service_ns };
        self.in_service = Some(Sending { ns, frame, slice: slice as u16, special });
        self.next_end = calendar::key(ns, kind::LINK_END);
    }

    /// When a frame that comes to the link at `come_ns` begins if no policy can meet it, see [`Queue::passage`].
    pub(super) fn passage(&self, come_ns: i64, next_ns: i64) -> Option<i64> {
        self.queue.passage(self.frame_sent_ns, come_ns, next_ns)
    }

    /// A frame begins at `now`, all its slices at one stride: each is sent when it has come out of the encoder
    /// (all have by now where frames are handed on whole) and the one before is sent.
    pub(super) fn begin_frame(&mut self, now: i64, frame: u32, slices: &mut Slices, places: Range<usize>) -> SentFrame {
        let delay_ns = self.setup.propagation_ns + self.table.frames[frame as usize].link_delay_ns;
        // Once the last closure is over, none comes.
        let free = self.next_closure >= self.table.closures.len();
        let (mut end_ns, mut arrives_ns) = (now, self.last_arrival_ns);
        let mut first_arrives_ns = None;
        self.times_ns.clear();
        self.times_ns.extend(slices.within(places.clone()).iter().map(|slice| slice.bytes() as f64));
        self.packing.send_each_ns(&mut self.times_ns);
        slices.each_mut(places, |number, mut slice| {
            let start_ns = slice.read().encode_out().ns().map_or(end_ns, |come_ns| come_ns.max(end_ns));
            let service_ns = self.times_ns[number] as i64;
            end_ns = if free { start_ns + service_ns } else { self.held_end(start_ns, service_ns) };
            arrives_ns = (end_ns + delay_ns).max(arrives_ns);
            slice.send(start_ns, end_ns, arrives_ns);
            first_arrives_ns = first_arrives_ns.or(Some(arrives_ns));
        });
        self.last_arrival_ns = arrives_ns;
        self.frame_sent_ns = end_ns;
        self.find_end_of_frame();
        let first_arrives_ns = first_arrives_ns.unwrap_or(arrives_ns);
        SentFrame { end_ns, first_arrives_ns, last_arrives_ns: arrives_ns }
    }

    /// The frame that can begin now, where frames go at one stride. One that waits for another to be sent makes the end
    /// of that an event; if none waits, nothing happens there.
    pub(super) fn startable_frame(&mut self, now: i64) -> Option<u32> {
        let (frame, _) = self.queue.head()?;
        if now >= self.frame_sent_ns {
            return Some(frame);
        }
        self.find_end_of_frame();
        None
    }

    /// The frame begun at one stride is sent whole.
    pub(super) fn end_frame(&mut self) {
        self.next_end = NEVER;
    }

    fn find_end_of_frame(&mut self) {
        let waits = self.queue.head().is_some();
        self.next_end = if waits { calendar::key(self.frame_sent_ns, kind::LINK_END) } else { NEVER };
    }

    /// Whether nothing is on the way to the decoder.
    pub(super) fn nothing_on_the_way(&self) -> bool {
        self.flights.is_empty()
    }

    /// A frame begun at one stride will be handed on at `ns`.
    pub(super) fn will_arrive(&mut self, ns: i64, frame: u32) {
        if self.flights.is_empty() {
            self.next_arrival = calendar::key(ns, kind::ARRIVAL);
        }
        self.flights.push(Sending { ns, frame, slice: 0, special: false });
    }

    /// The frame begun at one stride that is handed on next.
    pub(super) fn arrive_frame(&mut self) -> Option<u32> {
        self.next_flight().map(|flight| flight.frame)
    }

    #[inline]
    fn next_flight(&mut self) -> Option<Sending> {
        let flight = self.flights.pop();
        self.next_arrival = self.flights.front().map_or(NEVER, |next| calendar::key(next.ns, kind::ARRIVAL));
        flight
    }

    /// Closures that may meet a service begun at `now`.
    fn closures_from(&mut self, now: i64) -> &'a [Closure] {
        let closures = &self.table.closures;
        while closures.get(self.next_closure).is_some_and(|closure| closure.end_ns <= now) {
            self.next_closure += 1;
        }
        &closures[self.next_closure..]
    }

    /// The packets that a unit loses: the table's, and those sent while the link is closed.
    fn lose_packets(&mut self, now: i64, service_ns: i64, unit: &mut Unit) {
        let table = self.table;
        let mut lost = table.losses.lost(unit.frame as usize, unit.slice as usize, unit.attempt);
        if self.setup.closures_lose && service_ns > 0 {
            let end_ns = now + service_ns;
            let closed_ns: i64 = self
                .closures_from(now)
                .iter()
                .take_while(|closure| closure.start_ns < end_ns)
                .map(|closure| closure.end_ns.min(end_ns) - closure.start_ns.max(now))
                .sum();
            if closed_ns > 0 {
                // ceil(p * o / service), at least one.
                let share = i128::from(unit.packets) * i128::from(closed_ns);
                let closed = (share + i128::from(service_ns) - 1) / i128::from(service_ns);
                lost = lost.saturating_add(closed.max(1) as u32);
            }
        }
        unit.lost = lost.min(unit.packets);
    }

    /// The end of a service begun at `now` that closures hold up.
    fn held_end(&mut self, now: i64, service_ns: i64) -> i64 {
        let ahead = self.closures_from(now);
        if service_ns == 0 {
            return now;
        }
        let (mut at, mut rest) = (now, service_ns);
        for closure in ahead {
            let open = (closure.start_ns - at).max(0);
            if rest <= open {
                break;
            }
            rest -= open;
            at = closure.end_ns;
        }
        at + rest
    }

    /// The unit in service is sent; it will arrive after propagation and its frame's delay, not before the one before.
    #[inline]
    pub(super) fn end(&mut self) -> Option<Sent> {
        let sending = self.in_service.take()?;
        self.next_end = NEVER;
        let delay_ns = self.table.frames[sending.frame as usize].link_delay_ns;
        let arrives_ns = (sending.ns + self.setup.propagation_ns + delay_ns).max(self.last_arrival_ns);
        self.last_arrival_ns = arrives_ns;
        if self.flights.is_empty() {
            self.next_arrival = calendar::key(arrives_ns, kind::ARRIVAL);
        }
        self.flights.push(Sending { ns: arrives_ns, ..sending });
        // The unit in service is the newest of the special ones.
        let special = if sending.special { self.specials.back_mut().copied() } else { None };
        if special.is_some_and(|unit| unit.attempt > 0) {
            self.put_resend_in_order();
        }
        Some(special.map_or(Sent::whole(sending), Sent::Special))
    }

    /// Units that arrive at one instant arrive by frame and slice. First sendings are sent so; the resend sent last may
    /// have to go ahead of others that arrive with it.
    fn put_resend_in_order(&mut self) {
        let Some((resend, others)) = self.flights.items().split_last() else { return };
        let key = |unit: &Sending| (unit.ns, unit.frame, unit.slice);
        let passed = others.iter().rev().take_while(|other| key(other) > key(resend));
        let (passed, special) =
            passed.fold((0, 0), |(all, special), other| (all + 1, special + usize::from(other.special)));
        self.flights.bring_newest_forward(passed);
        self.specials.bring_newest_forward(special);
        // It arrives with the foremost at the earliest: the instant of the next arrival stays.
    }

    /// The next unit arrives.
    #[inline]
    pub(super) fn arrive(&mut self) -> Option<Sent> {
        let flight = self.next_flight()?;
        let special = if flight.special { self.specials.pop() } else { None };
        Some(special.map_or(Sent::whole(flight), Sent::Special))
    }

    /// Most resends of a slice.
    pub(super) fn tries(&self) -> u32 {
        match self.setup.repair {
            Repair::Resend { tries } => tries,
            Repair::Nothing | Repair::Parity { .. } => 0,
        }
    }
}

impl Sent {
    #[inline]
    fn whole(sending: Sending) -> Self {
        Self::Whole { frame: sending.frame, slice: u32::from(sending.slice) }
    }
}
