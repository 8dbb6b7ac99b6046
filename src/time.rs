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

/// From this number on doubles are whole: added to one that is not, it leaves no room for a fraction.
const WHOLE: f64 = (1_u64 << 52) as f64;

/// Rounds a double from 0 to below 2^52 half away from zero: without a branch, so that many are rounded side by side.
#[inline]
pub(crate) fn round_to_whole(value: f64) -> f64 {
    // Rounded half to even.
    let even = (value + WHOLE) - WHOLE;
    even + f64::from(u8::from(value - even >= 0.5))
}

/// Rounds half away from zero to whole ns. (The same as `f64::round`, without its library call, nor the checks of a
/// conversion.)
#[inline]
pub(crate) fn round_to_ns(ns: f64) -> i64 {
    if (0.0..WHOLE).contains(&ns) {
        // Rounded half to even, in the low bits.
        let shifted = ns + WHOLE;
        let even = shifted.to_bits().wrapping_sub(WHOLE.to_bits()) as i64;
        even + i64::from(ns - (shifted - WHOLE) >= 0.5)
    } else {
        let whole = ns as i64;
        let rest = ns - whole as f64;
        whole.saturating_add(i64::from(rest >= 0.5)).saturating_sub(i64::from(rest <= -0.5))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn ties_and_ends_round_as_the_library_does() {
        let whole = [0.0, 1.0, 2.0, 3.0, 4e15, WHOLE - 1.0, WHOLE, 2.0 * WHOLE];
        for value in whole.into_iter().flat_map(|whole| [0.0, 0.25, 0.5, 0.75].map(|part| whole + part)) {
            for value in [value.next_down(), value, value.next_up()].into_iter().flat_map(|value| [value, -value]) {
                assert_eq!(round_to_ns(value), value.round() as i64, "{value}");
            }
        }
        assert_eq!([f64::NAN, f64::INFINITY, -f64::INFINITY].map(round_to_ns), [0, i64::MAX, i64::MIN]);
    }

    proptest! {
        #[test]
        fn any_number_rounds_as_the_library_does(value in -1e15..1e15, small in -1e6..1e12, halves in 0..1_i64 << 52) {
            for value in [value, small, halves as f64 / 2.0] {
                prop_assert_eq!(round_to_ns(value), value.round() as i64);
            }
        }
    }
}
