//! Units: how they are written and what may be typed for them.

/// The unit that a parameter is held in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// As it is written; empty for a plain number.
    pub symbol: &'static str,
    /// What may be typed instead, with the whole factor up or down to the unit: `value * up / down`. Two whole factors
    /// instead of one fraction, so that 300 us are exactly 0.3 ms.
    others: &'static [(&'static str, f64, f64)],
}

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident = $symbol:literal [$(($other:literal, $up:literal, $down:literal)),*];)*) => {
        impl Unit { $($(#[$doc])* pub const $name: Self = Self { symbol: $symbol, others: &[$(($other, $up, $down)),*] };)* }
    };
}

units! {
    /// A plain number.
    NONE = "" [];
    /// A share of 1, which may be typed in per cent.
    SHARE = "" [("%", 1.0, 100.0)];
    /// Hertz.
    HZ = "Hz" [("kHz", 1e3, 1.0)];
    /// Milliseconds.
    MS = "ms" [("us", 1.0, 1e3), ("µs", 1.0, 1e3), ("ns", 1.0, 1e6), ("s", 1e3, 1.0)];
    /// Microseconds.
    US = "us" [("µs", 1.0, 1.0), ("ns", 1.0, 1e3), ("ms", 1e3, 1.0), ("s", 1e6, 1.0)];
    /// Seconds.
    S = "s" [("ms", 1.0, 1e3), ("us", 1.0, 1e6), ("min", 60.0, 1.0), ("h", 3600.0, 1.0)];
    /// Milliseconds per million pixels.
    MS_PER_MPX = "ms/Mpx" [("us/Mpx", 1.0, 1e3), ("µs/Mpx", 1.0, 1e3), ("ms", 1.0, 1.0), ("us", 1.0, 1e3)];
    /// Milliseconds per million bits.
    MS_PER_MBIT = "ms/Mbit" [("us/Mbit", 1.0, 1e3), ("µs/Mbit", 1.0, 1e3), ("ms", 1.0, 1.0), ("us", 1.0, 1e3)];
    /// Million bits per second.
    MBPS = "Mbps" [("bps", 1.0, 1e6), ("kbps", 1.0, 1e3), ("Gbps", 1e3, 1.0), ("bit/s", 1.0, 1e6), ("kbit/s", 1.0, 1e3),
        ("Mbit/s", 1.0, 1.0), ("Gbit/s", 1e3, 1.0)];
    /// Pixels.
    PX = "px" [];
    /// Bytes.
    BYTES = "B" [("bytes", 1.0, 1.0), ("byte", 1.0, 1.0), ("kB", 1e3, 1.0)];
    /// Per cent.
    PERCENT = "%" [];
    /// Parts per million.
    PPM = "ppm" [];
    /// Frames.
    FRAMES = "frames" [("frame", 1.0, 1.0)];
    /// Per minute.
    PER_MINUTE = "/min" [("per minute", 1.0, 1.0), ("/s", 60.0, 1.0)];
    /// Degrees.
    DEG = "deg" [("°", 1.0, 1.0)];
    /// Degrees per second.
    DEG_PER_S = "deg/s" [("°/s", 1.0, 1.0)];
    /// Degrees per second squared.
    DEG_PER_S2 = "deg/s2" [("deg/s²", 1.0, 1.0), ("°/s²", 1.0, 1.0)];
    /// Metres.
    M = "m" [("cm", 1.0, 100.0), ("mm", 1.0, 1e3)];
    /// Metres per second.
    M_PER_S = "m/s" [("cm/s", 1.0, 100.0)];
    /// Metres per second squared.
    M_PER_S2 = "m/s2" [("m/s²", 1.0, 1.0)];
    /// Bits per pixel.
    BITS_PER_PX = "bit/px" [("bpp", 1.0, 1.0)];
}

impl Unit {
    /// A number with its unit: `0.12 ms`, `5 %`, `1 frame`, `8`.
    pub fn with(&self, number: impl std::fmt::Display) -> String {
        let number = number.to_string();
        match self.symbol {
            "" => number,
            "frames" if number == "1" => "1 frame".to_owned(),
            symbol => format!("{number} {symbol}"),
        }
    }

    /// Factors up and down to this unit from one typed, letter case aside; none for a unit that cannot stand for it.
    /// Exact case is tried first: only it tells `Mbps` from `mbps`.
    fn factors(&self, typed: &str) -> Option<(f64, f64)> {
        let own = (self.symbol, 1.0, 1.0);
        let known = || std::iter::once(&own).chain(self.others);
        let exact = known().find(|(symbol, ..)| *symbol == typed);
        exact
            .or_else(|| known().find(|(symbol, ..)| symbol.eq_ignore_ascii_case(typed)))
            .map(|&(_, up, down)| (up, down))
    }

    /// The number in this unit that a typed text says: `500 us`, `2ms`, `1.2 Gbps`, `90`. None where it says none.
    pub fn parse(&self, text: &str) -> Option<f64> {
        let text = text.trim();
        // The number ends where its unit begins; an `e` belongs to the number only before a digit or sign.
        let bytes = text.as_bytes();
        let continues = |at: usize| match bytes[at] {
            b'0'..=b'9' | b'.' | b'+' | b'-' | b'_' => true,
            b'e' | b'E' => matches!(bytes.get(at + 1), Some(b'0'..=b'9' | b'+' | b'-')),
            _ => false,
        };
        let end = (0..bytes.len()).find(|&at| !continues(at)).unwrap_or(bytes.len());
        let (number, unit) = text.split_at(end);
        let number: f64 = number.replace('_', "").parse().ok()?;
        let unit = unit.trim();
        if unit.is_empty() {
            return Some(number);
        }
        let (up, down) = self.factors(unit)?;
        Some(number * up / down)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typed_units_are_converted_exactly() {
        for (unit, text, number) in [
            (Unit::MS, "500 us", 0.5),
            (Unit::MS, "300us", 0.3),
            (Unit::MS, " 2 ms ", 2.0),
            (Unit::MS, "2", 2.0),
            (Unit::MS, "1e-3 s", 1.0),
            (Unit::MS, "70 µs", 0.07),
            (Unit::US, "0.1 ms", 100.0),
            (Unit::S, "2 min", 120.0),
            (Unit::MBPS, "1.2 Gbps", 1200.0),
            (Unit::MBPS, "600 Mbit/s", 600.0),
            (Unit::MBPS, "600 mbps", 600.0),
            (Unit::HZ, "90 Hz", 90.0),
            (Unit::HZ, "1 khz", 1000.0),
            (Unit::PERCENT, "5 %", 5.0),
            (Unit::SHARE, "5 %", 0.05),
            (Unit::SHARE, "0.05", 0.05),
            (Unit::BYTES, "1_400 B", 1400.0),
            (Unit::MS_PER_MPX, "600 us/Mpx", 0.6),
            (Unit::M, "50cm", 0.5),
            (Unit::PPM, "-20 ppm", -20.0),
        ] {
            assert_eq!(unit.parse(text), Some(number), "{text}");
        }
    }

    #[test]
    fn what_is_no_number_of_the_unit_is_refused() {
        for (unit, text) in [
            (Unit::MS, ""),
            (Unit::MS, "ms"),
            (Unit::MS, "5 Hz"),
            (Unit::MS, "1,5 ms"),
            (Unit::HZ, "90 ms"),
            (Unit::NONE, "3 px"),
            (Unit::MS, "1.2.3"),
        ] {
            assert_eq!(unit.parse(text), None, "{text}");
        }
    }
}
