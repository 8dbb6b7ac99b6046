//! Damage to good inputs.

use rand::rngs::Xoshiro256PlusPlus;
use rand::{RngExt as _, SeedableRng as _};

/// What breaks readers: ends of ranges, what is no number, brackets, quotes, other encodings, far too much of one thing.
const TOKENS: &[&str] = &[
    "0",
    "-1",
    "1",
    "255",
    "256",
    "65536",
    "2147483648",
    "4294967296",
    "9223372036854775807",
    "18446744073709551616",
    "1e308",
    "-1e308",
    "1e-320",
    "1e999",
    "NaN",
    "inf",
    "-inf",
    "-0.0",
    "0x10",
    "1_000",
    "0.1.2",
    "1,5",
    "true",
    "None",
    "Some(",
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    "\"",
    "\\",
    "'",
    "//",
    "/*",
    "*/",
    "#",
    "#![enable(implicit_some)]",
    ",",
    ";",
    "\t",
    "|",
    ":",
    "=",
    "\n",
    "\r\n",
    "\r",
    "\0",
    " ",
    "\u{feff}",
    "\u{202e}",
    "é",
    "\u{1f600}",
    "r#\"",
    "\\u{110000}",
    "format: 99",
    "version: 99",
    "version: 0",
    "Scenario(",
    "frames: 1000000",
    "count: 64",
    "--set",
    "--",
    "-",
    "ns",
    "kB",
];
/// Bytes that are no text.
const NO_TEXT: &[&[u8]] = &[b"\xff\xfe", b"\xc3\x28", b"\xed\xa0\x80", b"\xf8\x88\x80\x80\x80", b"\x80"];
/// Most kinds of damage to one input.
const MOST_AT_ONCE: u32 = 4;
/// Most repetitions of one piece.
const MOST_AGAIN: usize = 2000;
/// Longest input \[bytes\].
const LONGEST: usize = 1 << 18;

/// Where damage comes from: the same for the same name.
pub(super) struct Damage(Xoshiro256PlusPlus);

impl Damage {
    pub(super) fn new(name: &str) -> Self {
        let seed = name
            .bytes()
            .fold(0xcbf2_9ce4_8422_2325_u64, |seed, byte| (seed ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// A damaged form of one of them, now and then mixed with another.
    pub(super) fn of(&mut self, good: &[Vec<u8>]) -> Vec<u8> {
        let mut bytes = good[self.below(good.len())].clone();
        for _ in 0..self.0.random_range(1..=MOST_AT_ONCE) {
            self.damage(&mut bytes, good);
            bytes.truncate(LONGEST);
        }
        bytes
    }

    fn below(&mut self, end: usize) -> usize {
        if end == 0 { 0 } else { self.0.random_range(0..end) }
    }

    fn span(&mut self, length: usize) -> std::ops::Range<usize> {
        let from = self.below(length + 1);
        // Short spans break most.
        let longest = if self.0.random_bool(0.8) { 12 } else { length };
        from..(from + self.below(longest + 1)).min(length)
    }

    /// From one end of a line to another.
    fn lines(&mut self, bytes: &[u8]) -> std::ops::Range<usize> {
        let at = self.below(bytes.len());
        let from = bytes[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
        let to = bytes[at..].iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |end| at + end + 1);
        from..to
    }

    /// A number that stands in the text.
    fn number(&mut self, bytes: &[u8]) -> std::ops::Range<usize> {
        let of_number = |byte: &u8| byte.is_ascii_digit() || *byte == b'.' || *byte == b'-';
        let at = self.below(bytes.len());
        let Some(from) = bytes[at..].iter().position(of_number).map(|offset| at + offset) else { return at..at };
        let length = bytes[from..].iter().take_while(|byte| of_number(byte)).count();
        from..from + length
    }

    fn token(&mut self) -> Vec<u8> {
        if self.0.random_bool(0.03) {
            return NO_TEXT[self.below(NO_TEXT.len())].to_vec();
        }
        TOKENS[self.below(TOKENS.len())].as_bytes().to_vec()
    }

    fn damage(&mut self, bytes: &mut Vec<u8>, good: &[Vec<u8>]) {
        match self.0.random_range(0..12_u32) {
            0 => bytes.truncate(self.below(bytes.len() + 1)),
            1 => drop(bytes.drain(self.span(bytes.len()))),
            2 => drop(bytes.drain(self.lines(bytes))),
            3 => {
                let (span, at) = (self.lines(bytes), self.below(bytes.len() + 1));
                let again = bytes[span].to_vec();
                bytes.splice(at..at, again);
            }
            4 => {
                let span = self.span(bytes.len());
                let count = self.below(MOST_AGAIN);
                let (at, again) = (span.end, bytes[span].repeat(count));
                bytes.splice(at..at, again);
            }
            5 => {
                let (span, token) = (self.span(bytes.len()), self.token());
                bytes.splice(span, token);
            }
            6 => {
                let (at, count) = (self.below(bytes.len() + 1), self.below(MOST_AGAIN));
                let token = self.token().repeat(count);
                bytes.splice(at..at, token);
            }
            7 | 8 => {
                let (span, token) = (self.number(bytes), self.token());
                bytes.splice(span, token);
            }
            9 => {
                let at = self.below(bytes.len());
                if let Some(byte) = bytes.get_mut(at) {
                    *byte ^= 1 << self.0.random_range(0..8_u32);
                }
            }
            10 => {
                let (span, at) = (self.number(bytes), self.below(bytes.len() + 1));
                let (size, digits) = (self.0.random_range(-12..13_i32), self.0.random_range(-10.0..10.0_f64));
                let number = format!("{}", digits * 10_f64.powi(size));
                bytes.splice(if span.is_empty() { at..at } else { span }, number.into_bytes());
            }
            _ => {
                let other = &good[self.below(good.len())];
                let piece = other[self.lines(other)].to_vec();
                let at = self.lines(bytes).start;
                bytes.splice(at..at, piece);
            }
        }
    }
}
