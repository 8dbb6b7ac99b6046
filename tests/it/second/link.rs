//! "Link", "Losses": sending, arrival, resends and delivery.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use framelap::engine::{Fate, ResendRecord, Stamp};
use framelap::scenario::{Effect, HandOff, Repair};
use framelap::work::Closure;

use super::cut::{self, Load};
use super::room::{Slice, Stage};
use super::world::{Kind, World};

/// What is on the link or in the air at one time.
struct Unit {
    slice: Slice,
    /// 0 for the first sending.
    attempt: u32,
    load: Load,
    begun_ns: i64,
    /// Place among the records of resends.
    resend: Option<usize>,
}

pub(super) struct Link {
    serving: Option<Unit>,
    in_the_air: BTreeMap<Slice, Unit>,
    /// "arrival of the unit served before it"
    arrival_before_ns: i64,
    /// Resends asked for and not heard of yet: try and packets.
    asked: BTreeMap<Slice, (u32, i64)>,
    /// Resends heard of and not begun.
    resends: VecDeque<Unit>,
    /// Slices sent and neither delivered nor known to belong to a lost frame, in order.
    undelivered: VecDeque<Slice>,
    complete: BTreeSet<Slice>,
    pub(super) lost: Vec<bool>,
}

impl Link {
    pub(super) fn new(frames: usize) -> Self {
        Self {
            serving: None,
            in_the_air: BTreeMap::new(),
            arrival_before_ns: i64::MIN,
            asked: BTreeMap::new(),
            resends: VecDeque::new(),
            undelivered: VecDeque::new(),
            complete: BTreeSet::new(),
            lost: vec![false; frames],
        }
    }
}

/// "service begun at t ends at the least e with (e - t) minus the closed time in [t, e] = service"; "service of length 0
/// ends at once, closure or not"
fn end_held_ns(closures: &[Closure], begun_ns: i64, service_ns: i64) -> i64 {
    let (mut now, mut rest) = (begun_ns, service_ns);
    for closure in closures {
        let open_ns = (closure.start_ns - now).max(0);
        if rest <= open_ns {
            break;
        }
        if closure.end_ns > now {
            rest -= open_ns;
            now = closure.end_ns;
        }
    }
    now + rest
}

/// Closed time within a service.
fn closed_ns(closures: &[Closure], begun_ns: i64, end_ns: i64) -> i64 {
    closures.iter().map(|closure| (closure.end_ns.min(end_ns) - closure.start_ns.max(begun_ns)).max(0)).sum()
}

impl World<'_> {
    /// Resends come "ahead of all slices not begun and after resends asked earlier".
    pub(super) fn start_link(&mut self) {
        if self.link.serving.is_some() {
            return;
        }
        let now = Stamp::at(self.now);
        let mut unit = if let Some(unit) = self.link.resends.pop_front() {
            self.resends[unit.resend.unwrap()].link_start = now;
            unit
        } else if !self.before_link.slices.is_empty() {
            let slice = self.before_link.begin();
            if slice.1 == 0 {
                self.frames[slice.0].link_start = now;
            }
            self.record(slice).link_start = now;
            self.link.undelivered.push_back(slice);
            let load = cut::first_load(self.scenario, self.record(slice).bytes);
            Unit { slice, attempt: 0, load, begun_ns: 0, resend: None }
        } else {
            return;
        };
        unit.begun_ns = self.now;
        let service_ns = unit.load.service_ns;
        let end_ns = match self.scenario.link.closures.effect {
            Effect::Hold if service_ns > 0 => end_held_ns(&self.table.closures, self.now, service_ns),
            Effect::Hold | Effect::Lose => self.now + service_ns,
        };
        self.later(end_ns, Kind::LinkEnd, unit.slice.0, unit.slice.1);
        self.link.serving = Some(unit);
    }

    /// "A unit whose service ends at E arrives at `max(E + propagation + link_delay_k, arrival of the unit served before
    /// it)`."
    pub(super) fn link_end(&mut self) {
        let unit = self.link.serving.take().unwrap();
        let (frame, slice) = unit.slice;
        if let Some(resend) = unit.resend {
            self.resends[resend].link_end = Stamp::at(self.now);
        } else {
            self.record((frame, slice)).link_end = Stamp::at(self.now);
            if slice + 1 == self.n {
                self.frames[frame].sent = Stamp::at(self.now);
            }
        }
        let way_ns = cut::us(self.scenario.link.propagation_us) + self.table.frames[frame].link_delay_ns;
        let arrival_ns = (self.now + way_ns).max(self.link.arrival_before_ns);
        self.link.arrival_before_ns = arrival_ns;
        self.later(arrival_ns, Kind::Arrival, frame, slice);
        self.link.in_the_air.insert((frame, slice), unit);
    }

    /// "With Lose the link goes on, and a unit of p packets whose service overlaps closed time o loses `min(p, max(1,
    /// ceil(p * o / service)))` of them; this and the table's losses add up to at most p."
    fn packets_lost(&self, unit: &Unit) -> i64 {
        let (packets, service_ns) = (unit.load.packets, unit.load.service_ns);
        let of_table = i64::from(self.table.losses.lost(unit.slice.0, unit.slice.1, unit.attempt));
        let mut of_closures = 0;
        if self.scenario.link.closures.effect == Effect::Lose {
            let closed_ns = closed_ns(&self.table.closures, unit.begun_ns, unit.begun_ns + service_ns);
            if closed_ns > 0 {
                let share = i128::from(packets) * i128::from(closed_ns);
                let whole = (share + i128::from(service_ns) - 1) / i128::from(service_ns);
                of_closures = packets.min((whole as i64).max(1));
            }
        }
        packets.min(of_table + of_closures)
    }

    /// "On arrival a unit with no lost packet is complete. With lost packets: `Nothing`: the frame is lost. `Parity`:
    /// complete if lost <= parity packets, else the frame is lost. `Resend(t)`: lost after t resends; before that it is
    /// asked for, and `uplink_k` later its lost packets are queued"
    pub(super) fn arrival(&mut self, slice: Slice) {
        let unit = self.link.in_the_air.remove(&slice).unwrap();
        if let Some(resend) = unit.resend {
            self.resends[resend].arrive = Stamp::at(self.now);
        }
        let lost = self.packets_lost(&unit);
        if lost <= unit.load.parity {
            self.record(slice).complete = Stamp::at(self.now);
            self.link.complete.insert(slice);
        } else {
            match self.scenario.link.repair {
                Repair::Resend { tries } if unit.attempt < tries => {
                    // Of a lost frame "nothing more is asked".
                    if !self.link.lost[slice.0] {
                        self.link.asked.insert(slice, (unit.attempt + 1, lost));
                        self.later(self.now + self.uplink_ns(slice.0), Kind::ResendAsked, slice.0, slice.1);
                    }
                }
                Repair::Nothing | Repair::Parity { .. } | Repair::Resend { .. } => self.lose(slice.0),
            }
        }
        self.deliver();
    }

    pub(super) fn resend_asked(&mut self, (frame, slice): Slice) {
        let (attempt, lost) = self.link.asked.remove(&(frame, slice)).unwrap();
        let load = cut::resend_load(self.scenario, self.record((frame, slice)).bytes, lost);
        self.record((frame, slice)).resends += 1;
        let resend = Some(self.resends.len());
        self.resends.push(ResendRecord {
            frame: frame as u32,
            slice: slice as u32,
            attempt,
            asked: Stamp::at(self.now),
            link_start: Stamp::NEVER,
            link_end: Stamp::NEVER,
            arrive: Stamp::NEVER,
        });
        self.link.resends.push_back(Unit { slice: (frame, slice), attempt, load, begun_ns: 0, resend });
    }

    /// "A lost frame's slices that have not begun decode vanish, now and later"
    fn lose(&mut self, frame: usize) {
        if self.link.lost[frame] {
            return;
        }
        self.link.lost[frame] = true;
        self.end_frame(frame, Fate::Lost);
        self.before_decode.vanish(frame);
        self.tell_missing(frame);
    }

    /// "A complete slice is delivered when every slice sent before it is delivered or belongs to a lost frame [...]. Link
    /// hand-off Frame: on with all slices at the delivery of the last."
    fn deliver(&mut self) {
        while let Some(&(frame, slice)) = self.link.undelivered.front() {
            let lost = self.link.lost[frame];
            if !lost && !self.link.complete.contains(&(frame, slice)) {
                return;
            }
            self.link.undelivered.pop_front();
            if lost {
                continue;
            }
            self.record((frame, slice)).arrive = Stamp::at(self.now);
            let last = slice + 1 == self.n;
            if last {
                self.frames[frame].arrived = Stamp::at(self.now);
            }
            match self.scenario.link.hand_off {
                HandOff::Slice => self.come(Stage::Decode, (frame, slice)),
                HandOff::Frame if last => (0..self.n).for_each(|slice| self.come(Stage::Decode, (frame, slice))),
                HandOff::Frame => {}
            }
        }
    }
}
