//! What a slice costs: a frame's work cut along its shares, its bytes, packets and time on the link.
//!
//! The formulas are those of the model's page on the work table. What a unit is and costs, engine and drawing of losses ask
//! here, so that a packet is the same packet to both; the engine cuts work and bytes a slice at a time, as it goes.

use crate::scenario::{Repair, Scenario};
use crate::time::{round_to_ns, round_to_whole};

/// Borders of slices: for each slice the sums of the shares before it and up to its end, added left to right. The first
/// is 0 and the last is 1 exactly, so cut quantities add up to the whole.
pub fn borders(shares: &[f64]) -> impl Iterator<Item = (f64, f64)> {
    let last = shares.len().saturating_sub(1);
    let mut sum = 0.0;
    shares.iter().enumerate().map(move |(slice, share)| {
        let from = sum;
        // Rounding may carry the sum past 1 before a last share of 0; a slice must not cost less than nothing.
        sum = if slice == last { 1.0 } else { f64::min(sum + share, 1.0) };
        (from, sum)
    })
}

/// A slice's part of a frame's work \[ns\], between two borders. Parts of a frame add up to the whole.
pub fn part_ns(work_ns: i64, (from, to): (f64, f64)) -> i64 {
    let work = work_ns as f64;
    round_to_ns(work * to) - round_to_ns(work * from)
}

/// Bytes of a coded frame, headers aside.
pub fn frame_bytes(bits: i64) -> i64 {
    (bits + 7) / 8
}

/// A slice as it is sent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Unit {
    /// Bytes, slice header included, parity and packet headers not.
    pub bytes: i64,
    /// Packets that carry them.
    pub packets: i64,
    /// Parity packets beside them.
    pub parity: i64,
}

impl Unit {
    /// All packets sent.
    pub fn sent(self) -> i64 {
        self.packets + self.parity
    }
}

/// How slices become packets, and what they cost the link.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Packing {
    slice_header_bytes: i64,
    payload_bytes: i64,
    /// One over `payload_bytes`.
    per_payload: f64,
    header_bytes: i64,
    /// Parity packets per packet \[%\]; 0 with other repairs.
    parity_pct: f64,
    unit_overhead_ns: f64,
    rate_mbps: f64,
}

impl Packing {
    /// The packing of a scenario.
    pub fn new(scenario: &Scenario) -> Self {
        let link = &scenario.link;
        Self {
            slice_header_bytes: i64::from(scenario.stream.slice_header_bytes),
            payload_bytes: i64::from(link.packet_payload_bytes),
            per_payload: 1.0 / f64::from(link.packet_payload_bytes),
            header_bytes: i64::from(link.packet_header_bytes),
            parity_pct: match link.repair {
                Repair::Parity { overhead_pct } => overhead_pct,
                Repair::Nothing | Repair::Resend { .. } => 0.0,
            },
            unit_overhead_ns: link.unit_overhead_ms * 1e6,
            rate_mbps: link.rate_mbps,
        }
    }

    /// The slice between two borders of a frame of so many bytes (see [`frame_bytes`]).
    pub fn unit(&self, frame_bytes: i64, (from, to): (f64, f64)) -> Unit {
        let whole = frame_bytes as f64;
        // Neither product is negative: truncation is the floor.
        self.unit_of((whole * to) as i64 - (whole * from) as i64 + self.slice_header_bytes)
    }

    /// The slice of so many bytes, slice header included.
    #[inline]
    pub fn unit_of(&self, bytes: i64) -> Unit {
        let packets = self.payloads(bytes).max(1);
        let parity = if self.parity_pct > 0.0 { (self.parity_pct * packets as f64 / 100.0).ceil() as i64 } else { 0 };
        Unit { bytes, packets, parity }
    }

    /// `ceil(bytes / payload)`: the whole number nearest to a product with the reciprocal is the quotient's floor or its
    /// ceiling, and costs a fifth of a division.
    #[inline]
    fn payloads(&self, bytes: i64) -> i64 {
        let near = round_to_ns(bytes as f64 * self.per_payload);
        near + i64::from(near * self.payload_bytes < bytes)
    }

    /// Time that the first sending of a slice takes the link \[ns\].
    #[inline]
    pub fn send_ns(&self, unit: Unit) -> i64 {
        self.wire_ns(unit.bytes + unit.parity * self.payload_bytes + unit.sent() * self.header_bytes)
    }

    /// Times that the first sendings of slices take the link \[ns\], in place of their bytes: the same as
    /// [`send_ns`](Self::send_ns) for each. Without parity all of it is worked out in doubles, which is done side by side;
    /// they hold whole numbers up to 2^52, and the largest frames of the narrowest link stay below half of that.
    #[inline]
    pub fn send_each_ns(&self, bytes_to_ns: &mut [f64]) {
        if self.parity_pct > 0.0 {
            for slot in bytes_to_ns {
                *slot = self.send_ns(self.unit_of(*slot as i64)) as f64;
            }
            return;
        }
        let (payload, header) = (self.payload_bytes as f64, self.header_bytes as f64);
        for slot in bytes_to_ns {
            let bytes = *slot;
            let near = round_to_whole(bytes * self.per_payload);
            let packets = (near + f64::from(u8::from(near * payload < bytes))).max(1.0);
            let wire = bytes + packets * header;
            *slot = round_to_whole(self.unit_overhead_ns + wire * 8000.0 / self.rate_mbps);
        }
    }

    /// Time that sending its lost packets again takes the link \[ns\].
    pub fn resend_ns(&self, unit: Unit, lost: i64) -> i64 {
        self.wire_ns((lost * self.payload_bytes).min(unit.bytes) + lost * self.header_bytes)
    }

    /// Unit overhead and so many bytes on the wire, rounded once \[ns\].
    #[inline]
    fn wire_ns(&self, bytes: i64) -> i64 {
        round_to_ns(self.unit_overhead_ns + bytes as f64 * 8000.0 / self.rate_mbps)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packets_are_the_quotient_rounded_up() {
        for payload in [64_u32, 65, 1000, 1024, 1400, 1499, 65_000] {
            let packing = Packing::new(&bare(payload, 0, 100.0));
            for whole in [0_i64, 1, 2, 7, 1000, 65_535, 1_000_003] {
                for bytes in [-1, 0, 1].map(|off| (whole * i64::from(payload) + off).max(0)) {
                    assert_eq!(
                        packing.unit_of(bytes).packets,
                        (bytes as u64).div_ceil(u64::from(payload)).max(1) as i64
                    );
                }
            }
        }
    }

    proptest::proptest! {
        /// Many at once are the same as one after the other, over all that a scenario allows and up to the largest frame.
        #[test]
        fn many_slices_take_the_link_as_long_as_one_by_one(
            bytes in proptest::collection::vec(
                proptest::prop_oneof![0_i64..3_000, 0_i64..200_000, 0_i64..12_600_000_000], 1..9),
            packing in (64_u32..=65_000, 0_u32..=1000, 1.0..100_000.0_f64, 0.0..20.0_f64),
            parity in proptest::option::of(0.0..200.0_f64),
        ) {
            let (payload, header, rate_mbps, unit_overhead_ms) = packing;
            let mut scenario = bare(payload, header, rate_mbps);
            scenario.link.unit_overhead_ms = unit_overhead_ms;
            if let Some(overhead_pct) = parity {
                scenario.link.repair = Repair::Parity { overhead_pct };
            }
            let packing = Packing::new(&scenario);
            let mut found: Vec<f64> = bytes.iter().map(|&bytes| bytes as f64).collect();
            packing.send_each_ns(&mut found);
            let expected: Vec<i64> = bytes.iter().map(|&bytes| packing.send_ns(packing.unit_of(bytes))).collect();
            proptest::prop_assert_eq!(found.iter().map(|&ns| ns as i64).collect::<Vec<_>>(), expected);
        }
    }

    const WHOLE: (f64, f64) = (0.0, 1.0);

    fn bare(payload: u32, header: u32, rate_mbps: f64) -> Scenario {
        let mut scenario = Scenario::default();
        scenario.stream.slice_header_bytes = 0;
        scenario.link.packet_payload_bytes = payload;
        scenario.link.packet_header_bytes = header;
        scenario.link.rate_mbps = rate_mbps;
        scenario.link.unit_overhead_ms = 0.0;
        scenario
    }

    /// Universal Serial Bus 3.2 Specification, chapters 6 and 7: data packets of 1024 bytes; 32 symbols of header and
    /// framing in Gen 1 (8b/10b, 4 Gbit/s of bytes), 36 in Gen 2 (128b/132b, 9.69697 Gbit/s).
    #[test]
    fn a_million_bytes_over_usb_3() {
        for (header, rate, expected_ns) in [(32, 4000.0, 2_062_528), (36, 9696.97, 854_017)] {
            let packing = Packing::new(&bare(1024, header, rate));
            let unit = packing.unit(1_000_000, WHOLE);
            assert_eq!(unit, Unit { bytes: 1_000_000, packets: 977, parity: 0 });
            assert!((packing.send_ns(unit) - expected_ns).abs() <= i64::from(header == 36));
        }
        // Ceiling of bulk payload, Gen 1: 4 * 1024/1056 = 3.878788 Gbit/s, here of whole packets.
        let packing = Packing::new(&bare(1024, 32, 4000.0));
        let ns = packing.send_ns(packing.unit(1024 * 1_000_000, WHOLE)) as f64;
        assert!((1024e6 * 8.0 / ns - 3.878_788).abs() < 1e-6);
    }

    /// RTP (RFC 3550, 5.1: 12 bytes) over UDP (8), IPv4 (20) and Ethernet (14): 54 bytes a packet.
    #[test]
    fn quarter_of_a_megabit_in_rtp_packets() {
        let mut scenario = bare(1200, 14 + 20 + 8 + 12, 200.0);
        scenario.link.unit_overhead_ms = 0.02;
        scenario.stream.slice_header_bytes = 40;
        let packing = Packing::new(&scenario);
        let bytes = frame_bytes(1_000_000);
        for border in borders(&[0.25; 4]) {
            let unit = packing.unit(bytes, border);
            assert_eq!(unit, Unit { bytes: 31_290, packets: 27, parity: 0 });
            // 31 290 + 27 * 54 = 32 748 bytes on the wire.
            assert_eq!(packing.send_ns(unit), 1_329_920);
            assert_eq!(packing.resend_ns(unit, 2), 20_000 + (2 * 1254) * 40);
            assert_eq!(packing.resend_ns(unit, 27), packing.send_ns(unit), "a resend of all packets pads none");
        }
    }

    #[test]
    fn parity_packets_are_full_and_round_up() {
        let mut scenario = bare(1000, 10, 8.0);
        for (overhead_pct, parity) in [(0.0, 0), (1.0, 1), (10.0, 2), (15.0, 3), (100.0, 20)] {
            scenario.link.repair = Repair::Parity { overhead_pct };
            let packing = Packing::new(&scenario);
            let unit = packing.unit(19_001, WHOLE);
            assert_eq!(unit, Unit { bytes: 19_001, packets: 20, parity });
            assert_eq!(unit.sent(), 20 + parity);
            assert_eq!(packing.send_ns(unit), (19_001 + parity * 1000 + (20 + parity) * 10) * 1000);
        }
    }

    #[test]
    fn an_empty_slice_is_one_packet() {
        let packing = Packing::new(&bare(1400, 66, 8.0));
        let unit = packing.unit(0, WHOLE);
        assert_eq!(unit, Unit { bytes: 0, packets: 1, parity: 0 });
        assert_eq!(packing.send_ns(unit), 66_000);
    }

    #[test]
    fn parts_add_up_to_the_whole() {
        let tenths = [0.1; 10];
        let work: i64 = borders(&tenths).map(|border| part_ns(1_234_567, border)).sum();
        assert_eq!(work, 1_234_567);
        let packing = Packing::new(&bare(1400, 0, 1.0));
        let bytes: i64 = borders(&tenths).map(|border| packing.unit(98_765, border).bytes).sum();
        assert_eq!(bytes, 98_765);
        assert_eq!(frame_bytes(9), 2);
    }

    #[test]
    fn shares_that_overshoot_cost_no_negative_part() {
        // 0.1 + 0.2 + 0.3 + 0.4 in other orders passes 1 by an ulp; a last share of 0 then stands at 1.
        let shares = [0.5, 0.500_000_1, 0.0];
        let parts: Vec<i64> = borders(&shares).map(|border| part_ns(1_000_000_000, border)).collect();
        assert_eq!(parts, [500_000_000, 500_000_000, 0]);
    }
}
