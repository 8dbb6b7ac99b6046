//! "Cutting", "Grid": durations, grids, and how a frame's work and bytes are cut into slices and units.

use framelap::scenario::{Light, Repair, Scenario};
use framelap::work::WorkTable;

use super::MS;

/// "A duration given in ms or us becomes ns once, by rounding half away from zero"
pub(super) fn ms(ms: f64) -> i64 {
    (ms * MS).round() as i64
}

pub(super) fn us(us: f64) -> i64 {
    (us * 1e3).round() as i64
}

/// "`T = 1e9 / refresh_hz` ns"
pub(super) fn refresh_period_ns(scenario: &Scenario) -> f64 {
    1e9 / scenario.display.refresh_hz
}

/// "`V_j = round(j * 1e9 / refresh_hz)` (product first, f64)"
pub(crate) fn vsync_ns(scenario: &Scenario, refresh: i64) -> i64 {
    (refresh as f64 * 1e9 / scenario.display.refresh_hz).round() as i64
}

/// "latch `D_j = V_j - latch_lead`"
pub(crate) fn latch_ns(scenario: &Scenario, refresh: i64) -> i64 {
    vsync_ns(scenario, refresh) - ms(scenario.display.latch_lead_ms)
}

/// "`F_j = V_j + offset`, offset = `round(scanout + persistence/2)` for Global light, `round((scanout + persistence)/2)`
/// for Rolling"
pub(crate) fn photon_ns(scenario: &Scenario, refresh: i64) -> i64 {
    let display = &scenario.display;
    let offset_ms = match display.light {
        Light::Global => display.scanout_ms + display.persistence_ms / 2.0,
        Light::Rolling => f64::midpoint(display.scanout_ms, display.persistence_ms),
    };
    vsync_ns(scenario, refresh) + ms(offset_ms)
}

/// "the grid `G_m = round(m * 1e9 / pose rate)`, `pose_k` is the largest `G_m <= t - processing - uplink_k` (m may be
/// negative)"
pub(super) fn pose_ns(scenario: &Scenario, t_ns: i64, uplink_ns: i64) -> i64 {
    let latest_ns = t_ns - ms(scenario.pose.processing_ms) - uplink_ns;
    let sample_ns = |m: i64| (m as f64 * 1e9 / scenario.pose.rate_hz).round() as i64;
    let near = (latest_ns as f64 * scenario.pose.rate_hz / 1e9).floor() as i64;
    (near - 2..=near + 2).map(sample_ns).filter(|&sample_ns| sample_ns <= latest_ns).max().unwrap()
}

/// "with `S_0` = 0, `S_i` the sum of the first i shares (f64, left to right), `S_n` = 1"
/// (Never past 1: as read from a file, shares may sum to 1 within a millionth only.)
fn border(shares: &[f64], i: usize) -> f64 {
    if i == shares.len() { 1.0 } else { shares[..i].iter().fold(0.0, |sum, share| f64::min(sum + share, 1.0)) }
}

/// "`encode(k,i) = [i = 0] frame_overhead + slice_overhead + round(W*S_i+1) - round(W*S_i)`", row shares
pub(super) fn encode_ns(scenario: &Scenario, table: &WorkTable, frame: usize, slice: usize) -> i64 {
    let encode = &scenario.encode;
    let work_ns = table.frames[frame].encode_ns;
    cost_ns(encode.frame_overhead_ms, encode.slice_overhead_ms, work_ns, table.row_shares.of(frame), slice)
}

/// "`decode(k,i)` = the same with decode's numbers", bit shares
pub(super) fn decode_ns(scenario: &Scenario, table: &WorkTable, frame: usize, slice: usize) -> i64 {
    let decode = &scenario.decode;
    let work_ns = table.frames[frame].decode_ns;
    cost_ns(decode.frame_overhead_ms, decode.slice_overhead_ms, work_ns, table.bit_shares.of(frame), slice)
}

fn cost_ns(frame_overhead_ms: f64, slice_overhead_ms: f64, work_ns: i64, shares: &[f64], slice: usize) -> i64 {
    let up_to = |i| (work_ns as f64 * border(shares, i)).round() as i64;
    let overhead_ns = if slice == 0 { ms(frame_overhead_ms) } else { 0 };
    overhead_ns + ms(slice_overhead_ms) + up_to(slice + 1) - up_to(slice)
}

/// "`bytes(k,i) = floor(B*S_i+1) - floor(B*S_i) + slice_header_bytes`", bit shares, "B = ceil(bits/8)"
pub(super) fn bytes(scenario: &Scenario, shares: &[f64], bits: i64, slice: usize) -> i64 {
    let all = (bits + 7).div_euclid(8) as f64;
    let up_to = |i| (all * border(shares, i)).floor() as i64;
    up_to(slice + 1) - up_to(slice) + i64::from(scenario.stream.slice_header_bytes)
}

/// What is sent of a slice at one time.
pub(super) struct Load {
    /// Packets, parity included.
    pub(super) packets: i64,
    /// Packets of parity.
    pub(super) parity: i64,
    /// Time on the link.
    pub(super) service_ns: i64,
}

/// The first sending: "`packets = max(1, ceil(bytes / payload))`; Parity: + `ceil(overhead_pct * packets / 100)` packets of
/// `payload` bytes"
pub(super) fn first_load(scenario: &Scenario, bytes: i64) -> Load {
    let link = &scenario.link;
    let payload = i64::from(link.packet_payload_bytes);
    let of_data = ((bytes + payload - 1) / payload).max(1);
    let parity = match link.repair {
        Repair::Parity { overhead_pct } => (overhead_pct * of_data as f64 / 100.0).ceil() as i64,
        Repair::Nothing | Repair::Resend { .. } => 0,
    };
    let packets = of_data + parity;
    let on_wire = bytes + parity * payload + packets * i64::from(link.packet_header_bytes);
    Load { packets, parity, service_ns: link_ns(scenario, on_wire) }
}

/// A resend: "its lost packets are queued as one unit of `min(lost*payload, bytes) + lost*header` bytes (unit overhead
/// too)"
pub(super) fn resend_load(scenario: &Scenario, bytes: i64, lost: i64) -> Load {
    let link = &scenario.link;
    let on_wire = (lost * i64::from(link.packet_payload_bytes)).min(bytes) + lost * i64::from(link.packet_header_bytes);
    Load { packets: lost, parity: 0, service_ns: link_ns(scenario, on_wire) }
}

/// "`link(k,i) = round(unit_overhead + (bytes, parity included, + packets * packet_header) * 8000 / rate_mbps)`, one
/// rounding"
fn link_ns(scenario: &Scenario, on_wire: i64) -> i64 {
    let link = &scenario.link;
    (link.unit_overhead_ms * MS + on_wire as f64 * 8000.0 / link.rate_mbps).round() as i64
}
