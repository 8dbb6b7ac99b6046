//! The link: units in service and on the way, closures, resends waiting their turn, delivery in order.

use std::collections::VecDeque;

use super::calendar::{self, NEVER, kind};
use super::queue::Queue;
use super::setup::LinkSetup;
use crate::scenario::Repair;
use crate::time::round_to_ns;
use crate::work::{Closure, Losses};

/// One slice's first sending (`attempt` 0) or one of its resends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Unit {
    pub frame: u32,
    pub slice: u32,
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

/// A unit on the way, with the time of its arrival.
#[derive(Debug, Clone, Copy)]
struct Flight {
    unit: Unit,
    arrives_ns: i64,
}

/// The link between encoder and decoder.
#[derive(Debug)]
pub(super) struct Link<'a> {
    setup: LinkSetup,
    closures: &'a [Closure],
    losses: &'a Losses,
    /// First closure that does not lie wholly before the present.
    next_closure: usize,
    pub queue: Queue,
    /// Resends to be sent, ahead of all slices not begun.
    pub resends: VecDeque<Unit>,
    in_service: Option<Unit>,
    flights: VecDeque<Flight>,
    last_arrival_ns: i64,
    /// First sendings not yet delivered, in order.
    pub undelivered: VecDeque<(u32, u32)>,
    /// Key of the next end of service.
    pub next_end: i64,
    /// Key of the next arrival.
    pub next_arrival: i64,
}

impl<'a> Link<'a> {
    pub(super) fn new(setup: LinkSetup, slices: usize, closures: &'a [Closure], losses: &'a Losses) -> Self {
        Self {
            setup,
            closures,
            losses,
            next_closure: 0,
            queue: Queue::new(setup.buffer, slices),
            resends: VecDeque::new(),
            in_service: None,
            flights: VecDeque::new(),
            last_arrival_ns: 0,
            undelivered: VecDeque::new(),
            next_end: NEVER,
            next_arrival: NEVER,
        }
    }

    /// Whether nothing is being sent.
    #[inline]
    pub(super) fn idle(&self) -> bool {
        self.in_service.is_none()
    }

    /// The first sending of a slice begins now.
    #[inline]
    pub(super) fn begin_slice(&mut self, now: i64, frame: u32, slice: u32, bytes: u32) {
        let packets = bytes.div_ceil(self.setup.payload_bytes).max(1);
        let parity = match self.setup.repair {
            Repair::Parity { overhead_pct } => (overhead_pct * f64::from(packets) / 100.0).ceil() as u32,
            Repair::Nothing | Repair::Resend { .. } => 0,
        };
        self.queue.begin();
        self.undelivered.push_back((frame, slice));
        let payload = f64::from(bytes) + f64::from(parity) * f64::from(self.setup.payload_bytes);
        let unit = Unit { frame, slice, attempt: 0, packets: packets + parity, parity, lost: 0, record: 0 };
        self.begin(now, unit, payload);
    }

    /// The resend at the head begins now; `bytes` are those of the slice's first sending.
    pub(super) fn begin_resend(&mut self, now: i64, unit: Unit, bytes: u32) {
        let payload = (f64::from(unit.packets) * f64::from(self.setup.payload_bytes)).min(f64::from(bytes));
        self.begin(now, unit, payload);
    }

    #[inline]
    fn begin(&mut self, now: i64, mut unit: Unit, payload_bytes: f64) {
        let on_wire = payload_bytes + f64::from(unit.packets) * f64::from(self.setup.header_bytes);
        let service_ns = round_to_ns(self.setup.unit_overhead_ns as f64 + on_wire * 8000.0 / self.setup.rate_mbps);
        let mut end_ns = now + service_ns;
        if self.next_closure < self.closures.len() {
            end_ns = self.meet_closures(now, service_ns, &mut unit);
        }
        unit.lost += self.losses.lost(unit.frame as usize, unit.slice as usize, unit.attempt);
        unit.lost = unit.lost.min(unit.packets);
        self.in_service = Some(unit);
        self.next_end = calendar::key(end_ns, kind::LINK_END);
    }

    /// The end of a service begun at `now` that closures hold up, or the packets they lose of the unit.
    fn meet_closures(&mut self, now: i64, service_ns: i64, unit: &mut Unit) -> i64 {
        while self.closures.get(self.next_closure).is_some_and(|closure| closure.end_ns <= now) {
            self.next_closure += 1;
        }
        let ahead = &self.closures[self.next_closure..];
        if service_ns == 0 {
            return now;
        }
        if self.setup.closures_lose {
            let end_ns = now + service_ns;
            let closed_ns: i64 = ahead
                .iter()
                .take_while(|closure| closure.start_ns < end_ns)
                .map(|closure| closure.end_ns.min(end_ns) - closure.start_ns.max(now))
                .sum();
            if closed_ns > 0 {
                let share = i128::from(unit.packets) * i128::from(closed_ns);
                let lost = (share + i128::from(service_ns) - 1) / i128::from(service_ns);
                unit.lost = (lost.max(1) as u32).min(unit.packets);
            }
            return end_ns;
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

    /// The unit in service is sent; it will arrive after propagation and `delay_ns`, not before the one before it.
    #[inline]
    pub(super) fn end(&mut self, now: i64, delay_ns: impl FnOnce(u32) -> i64) -> Option<Unit> {
        let unit = self.in_service.take()?;
        self.next_end = NEVER;
        let arrives_ns = (now + self.setup.propagation_ns + delay_ns(unit.frame)).max(self.last_arrival_ns);
        self.last_arrival_ns = arrives_ns;
        if self.flights.is_empty() {
            self.next_arrival = calendar::key(arrives_ns, kind::ARRIVAL);
        }
        self.flights.push_back(Flight { unit, arrives_ns });
        Some(unit)
    }

    /// The next unit arrives.
    #[inline]
    pub(super) fn arrive(&mut self) -> Option<Unit> {
        let flight = self.flights.pop_front()?;
        self.next_arrival = self.flights.front().map_or(NEVER, |next| calendar::key(next.arrives_ns, kind::ARRIVAL));
        Some(flight.unit)
    }

    /// Most resends of a slice.
    pub(super) fn tries(&self) -> u32 {
        match self.setup.repair {
            Repair::Resend { tries } => tries,
            Repair::Nothing | Repair::Parity { .. } => 0,
        }
    }
}
