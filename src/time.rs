//! Durations become whole nanoseconds, once, by rounding half away from zero.

/// Nanoseconds of a duration in ms.
pub fn ms_to_ns(ms: f64) -> i64 {
    round_to_ns(ms * 1e6)
}

/// Nanoseconds of a duration in us.
pub fn us_to_ns(us: f64) -> i64 {
    round_to_ns(us * 1e3)
}

/// Milliseconds of a duration in ns.
pub fn ns_to_ms(ns: i64) -> f64 {
    ns as f64 / 1e6
}

/// Rounds half away from zero to whole ns. (The same as `f64::round`, without its library call.)
#[inline]
pub(crate) fn round_to_ns(ns: f64) -> i64 {
    let whole = ns as i64;
    let rest = ns - whole as f64;
    whole + i64::from(rest >= 0.5) - i64::from(rest <= -0.5)
}
