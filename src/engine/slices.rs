//! Where a run keeps its slices: 64 bytes for each, out of which a [`SliceRecord`] comes whole.
//!
//! A slice waits without bound before it begins at a stage; from there on it takes milliseconds. So the four instants at
//! which it comes and begins are kept as they are, and the others as nanoseconds since the beginning at their stage. What
//! does not go into 32 bits, four seconds and more within one stage, is kept apart, exact as all.

#[cfg(test)]
mod tests;

use std::collections::HashMap;
use std::ops::Range;

use super::run::{self, SliceRecord, Stamp};
use crate::stop::{Stop, Stopped};

/// Nanoseconds since the beginning of a stage: it did not happen.
const NEVER: u32 = u32::MAX;
/// It is kept apart.
const APART: u32 = u32::MAX - 1;
/// In place of bytes: they are kept apart, as so many and more are.
const BYTES_APART: u32 = (1 << 27) - 1;
/// Where a slice's size stands above the count of its resends and the mark.
const SIZE_SHIFT: u32 = 5;
/// Marks a slice of which something is kept apart.
const MARK: u32 = 1 << 4;
const RESENDS: u32 = MARK - 1;

/// The instants of a slice's way; those that are kept as they are first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[repr(u8)]
pub(super) enum Moment {
    Come,
    EncodeStart,
    LinkStart,
    DecodeStart,
    EncodeEnd,
    EncodeOut,
    LinkEnd,
    Complete,
    Arrive,
    DecodeEnd,
    DecodeOut,
}

/// So many moments, the first ones, are kept as they are.
const STARTS: usize = 4;
/// So many, the rest, are counted from one of those.
const AFTER: usize = 7;

impl Moment {
    /// Where it is kept: among the starts; or the start that it is counted from, and its place among those counted so.
    const fn place(self) -> (usize, Option<usize>) {
        use Moment as M;
        let start = match self {
            M::Come => M::Come,
            M::EncodeStart | M::EncodeEnd | M::EncodeOut => M::EncodeStart,
            M::LinkStart | M::LinkEnd | M::Complete | M::Arrive => M::LinkStart,
            M::DecodeStart | M::DecodeEnd | M::DecodeOut => M::DecodeStart,
        };
        (start as usize, (self as usize).checked_sub(STARTS))
    }
}

/// What is kept apart: by place of the slice and moment, an instant \[ns\]; without a moment, the bytes.
type Apart = HashMap<(usize, Option<Moment>), i64>;

/// One slice as it is kept.
#[derive(Debug, Clone, Copy)]
struct Kept {
    /// As a [`Stamp`] \[ns\].
    starts: [i64; STARTS],
    /// Since their starts \[ns\].
    after: [u32; AFTER],
    /// From the lowest bit: 4 bits of resends, of which ten are allowed at most; the mark; bytes.
    size: u32,
}

const NOTHING: Kept = Kept { starts: [i64::MIN; STARTS], after: [NEVER; AFTER], size: 0 };

impl Kept {
    #[inline]
    fn marked(&self) -> bool {
        self.size & MARK != 0
    }

    /// An instant that is not kept apart.
    #[inline]
    fn near(&self, moment: Moment) -> Stamp {
        match moment.place() {
            (start, None) => Stamp::at(self.starts[start]),
            (_, Some(after)) if self.after[after] == NEVER => Stamp::NEVER,
            (start, Some(after)) => Stamp::at(self.starts[start] + i64::from(self.after[after])),
        }
    }

    #[cold]
    fn far(&self, moment: Moment, place: usize, apart: &Apart) -> Stamp {
        match moment.place() {
            (_, Some(after)) if self.after[after] == APART => {
                apart.get(&(place, Some(moment))).map_or(Stamp::NEVER, |&ns| Stamp::at(ns))
            }
            _ => self.near(moment),
        }
    }

    fn near_bytes(&self) -> i64 {
        i64::from(self.size >> SIZE_SHIFT)
    }

    #[cold]
    fn far_bytes(&self, place: usize, apart: &Apart) -> i64 {
        let near = self.near_bytes();
        if near < i64::from(BYTES_APART) { near } else { apart.get(&(place, None)).copied().unwrap_or(near) }
    }
}

/// A slice of a run. Its instants are those of a [`SliceRecord`]; where few of them are asked for this is quicker.
#[derive(Debug, Clone, Copy)]
pub struct Slice<'a> {
    kept: &'a Kept,
    apart: &'a Apart,
    place: usize,
}

/// The instants by name: each to be read, and all of a record to be written.
macro_rules! moments {
    ($($(#[$text:meta])* $name:ident: $moment:ident,)*) => {
        impl Slice<'_> {
            $(
                $(#[$text])*
                #[inline]
                pub fn $name(self) -> Stamp {
                    self.at(Moment::$moment)
                }
            )*

            /// All that is known of it.
            pub fn record(self) -> SliceRecord {
                SliceRecord { $($name: self.$name(),)* bytes: self.bytes(), resends: self.resends() }
            }
        }

        impl SliceMut<'_> {
            /// Writes all of it anew.
            pub(super) fn put(&mut self, record: &SliceRecord) {
                debug_assert!(record.resends <= RESENDS, "no scenario allows so many tries");
                self.begin(record.bytes);
                self.kept.size |= record.resends & RESENDS;
                $(
                    if let Some(ns) = record.$name.ns() {
                        self.set(Moment::$moment, ns);
                    }
                )*
            }
        }
    };
}

// Of each stage the beginning first.
moments! {
    /// Came to the encoder.
    come: Come,
    /// Began encode.
    encode_start: EncodeStart,
    /// Ended service at the encoder.
    encode_end: EncodeEnd,
    /// Came out of the encoder.
    encode_out: EncodeOut,
    /// First sending began.
    link_start: LinkStart,
    /// First sending ended.
    link_end: LinkEnd,
    /// The unit that made it complete arrived.
    complete: Complete,
    /// Delivered, in order.
    arrive: Arrive,
    /// Began decode.
    decode_start: DecodeStart,
    /// Ended service at the decoder.
    decode_end: DecodeEnd,
    /// Came out of the decoder.
    decode_out: DecodeOut,
}

impl Slice<'_> {
    #[inline]
    fn at(self, moment: Moment) -> Stamp {
        if self.kept.marked() { self.kept.far(moment, self.place, self.apart) } else { self.kept.near(moment) }
    }

    /// Bytes of the first sending, slice header included, parity and packet headers not.
    #[inline]
    pub fn bytes(self) -> i64 {
        if self.kept.marked() { self.kept.far_bytes(self.place, self.apart) } else { self.kept.near_bytes() }
    }

    /// Resends queued.
    #[inline]
    pub fn resends(self) -> u32 {
        self.kept.size & RESENDS
    }

    /// Time of its service at the encoder \[ns\], if that ended.
    #[inline]
    pub fn encoding_ns(self) -> Option<i64> {
        self.since_start(Moment::EncodeEnd)
    }

    /// Time of its service at the decoder \[ns\], if that ended.
    #[inline]
    pub fn decoding_ns(self) -> Option<i64> {
        self.since_start(Moment::DecodeEnd)
    }

    /// How long after the beginning at its stage a moment came \[ns\].
    #[inline]
    fn since_start(self, moment: Moment) -> Option<i64> {
        match moment.place() {
            (_, Some(after)) if !self.kept.marked() => {
                let since = self.kept.after[after];
                (since != NEVER).then_some(i64::from(since))
            }
            (start, _) => Some(self.at(moment).ns()? - Stamp::at(self.kept.starts[start]).ns()?),
        }
    }
}

/// A slice that is being written.
#[derive(Debug)]
pub(super) struct SliceMut<'a> {
    kept: &'a mut Kept,
    apart: &'a mut Apart,
    place: usize,
}

impl SliceMut<'_> {
    /// What is written of it.
    #[inline]
    pub(super) fn read(&self) -> Slice<'_> {
        Slice { kept: self.kept, apart: self.apart, place: self.place }
    }

    /// Writes an instant \[ns\]; the beginning at its stage is written before.
    #[inline]
    pub(super) fn set(&mut self, moment: Moment, ns: i64) {
        match moment.place() {
            (start, None) => self.kept.starts[start] = ns,
            (start, Some(after)) => match near(self.kept.starts[start], ns) {
                Some(since) => self.kept.after[after] = since,
                None => set_apart(self.kept, self.apart, self.place, moment, ns),
            },
        }
    }

    /// Nothing is known of it yet but, where it has any, its bytes; resends there are none.
    #[inline]
    pub(super) fn begin(&mut self, bytes: i64) {
        *self.kept = NOTHING;
        self.set_bytes(bytes);
    }

    /// Writes how many bytes it has.
    #[inline]
    pub(super) fn set_bytes(&mut self, bytes: i64) {
        let rest = self.kept.size & (RESENDS | MARK);
        // Less than nothing is beyond 27 bits too.
        if (bytes as u64) < u64::from(BYTES_APART) {
            self.kept.size = (bytes as u32) << SIZE_SHIFT | rest;
        } else {
            self.kept.size = BYTES_APART << SIZE_SHIFT | rest | MARK;
            set_bytes_apart(self.apart, self.place, bytes);
        }
    }

    /// One resend more is queued.
    pub(super) fn count_resend(&mut self) {
        debug_assert!(self.kept.size & RESENDS < RESENDS, "no scenario allows so many tries");
        self.kept.size += 1;
    }

    /// Its way through the encoder, out of which it comes as its service ends; it is written anew \[ns\].
    #[inline]
    pub(super) fn encode(&mut self, come_ns: i64, start_ns: i64, end_ns: i64, bytes: i64) {
        *self.kept = NOTHING;
        self.set_bytes(bytes);
        self.set(Moment::Come, come_ns);
        self.set(Moment::EncodeStart, start_ns);
        self.set_both([Moment::EncodeEnd, Moment::EncodeOut], end_ns);
    }

    /// Its way over a link that loses nothing \[ns\].
    #[inline]
    pub(super) fn send(&mut self, start_ns: i64, end_ns: i64, arrives_ns: i64) {
        self.set(Moment::LinkStart, start_ns);
        self.set(Moment::LinkEnd, end_ns);
        self.set_both([Moment::Complete, Moment::Arrive], arrives_ns);
    }

    /// Its way through the decoder, out of which it comes as its service ends \[ns\].
    #[inline]
    pub(super) fn decode(&mut self, start_ns: i64, end_ns: i64) {
        self.set(Moment::DecodeStart, start_ns);
        self.set_both([Moment::DecodeEnd, Moment::DecodeOut], end_ns);
    }

    /// Writes two instants of one stage that are the same \[ns\].
    #[inline]
    fn set_both(&mut self, moments: [Moment; 2], ns: i64) {
        let (start, _) = moments[0].place();
        let since = near(self.kept.starts[start], ns);
        for moment in moments {
            match (moment.place(), since) {
                ((_, Some(after)), Some(since)) => self.kept.after[after] = since,
                _ => set_apart(self.kept, self.apart, self.place, moment, ns),
            }
        }
    }
}

// Functions of their own, so that what is written stays out of memory where nothing is kept apart.
#[cold]
fn set_apart(kept: &mut Kept, apart: &mut Apart, place: usize, moment: Moment, ns: i64) {
    if let (_, Some(after)) = moment.place() {
        kept.after[after] = APART;
        kept.size |= MARK;
        apart.insert((place, Some(moment)), ns);
    }
}

#[cold]
fn set_bytes_apart(apart: &mut Apart, place: usize, bytes: i64) {
    apart.insert((place, None), bytes);
}

/// How long after a beginning an instant is, unless that is too long to be kept, or there is no beginning, or it is later.
#[inline]
fn near(start_ns: i64, ns: i64) -> Option<u32> {
    let since = ns.wrapping_sub(start_ns) as u64;
    (since < u64::from(APART)).then_some(since as u32)
}

/// Slices of a run, one after the other: all, or those of a frame.
#[derive(Debug, Clone, Copy)]
pub struct SlicesOf<'a> {
    kept: &'a [Kept],
    apart: &'a Apart,
    first: usize,
}

impl<'a> SlicesOf<'a> {
    /// How many there are.
    #[inline]
    pub fn len(self) -> usize {
        self.kept.len()
    }

    /// Whether there are none.
    pub fn is_empty(self) -> bool {
        self.kept.is_empty()
    }

    /// One of them, by its number from 0.
    ///
    /// # Panics
    /// When there are not so many.
    #[inline]
    pub fn at(self, number: usize) -> Slice<'a> {
        Slice { kept: &self.kept[number], apart: self.apart, place: self.first + number }
    }

    /// One of them, if there are so many.
    pub fn get(self, number: usize) -> Option<Slice<'a>> {
        (number < self.len()).then(|| self.at(number))
    }

    /// The last one.
    #[inline]
    pub fn last(self) -> Option<Slice<'a>> {
        self.len().checked_sub(1).map(|last| self.at(last))
    }

    /// One after the other.
    #[inline]
    pub fn iter(self) -> impl ExactSizeIterator<Item = Slice<'a>> + DoubleEndedIterator + use<'a> {
        let Self { kept, apart, first } = self;
        kept.iter().enumerate().map(move |(number, kept)| Slice { kept, apart, place: first + number })
    }

    /// One record after the other.
    pub fn records(self) -> impl ExactSizeIterator<Item = SliceRecord> + DoubleEndedIterator + use<'a> {
        self.iter().map(Slice::record)
    }
}

/// All slices of a run, frame by frame.
#[derive(Debug, Clone, Default)]
pub struct Slices {
    kept: Vec<Kept>,
    apart: Apart,
}

impl Slices {
    /// All of them.
    #[inline]
    pub fn all(&self) -> SlicesOf<'_> {
        self.within(0..self.kept.len())
    }

    #[inline]
    pub(super) fn within(&self, places: Range<usize>) -> SlicesOf<'_> {
        SlicesOf { first: places.start, kept: &self.kept[places], apart: &self.apart }
    }

    #[inline]
    pub(super) fn slice_mut(&mut self, place: usize) -> SliceMut<'_> {
        SliceMut { kept: &mut self.kept[place], apart: &mut self.apart, place }
    }

    /// Some of them to be written, one after the other.
    #[inline]
    pub(super) fn each_mut(&mut self, places: Range<usize>, mut write: impl FnMut(usize, SliceMut<'_>)) {
        let first = places.start;
        for (number, kept) in self.kept[places].iter_mut().enumerate() {
            write(number, SliceMut { kept, apart: &mut self.apart, place: first + number });
        }
    }

    /// Makes room for so many. Those that stay are as they were.
    pub(super) fn grow(&mut self, length: usize, stop: Stop<'_>) -> Result<(), Stopped> {
        self.apart.clear();
        run::grow(&mut self.kept, length, NOTHING, stop)
    }
}

impl PartialEq for Slices {
    fn eq(&self, other: &Self) -> bool {
        self.all().records().eq(other.all().records())
    }
}

impl FromIterator<SliceRecord> for Slices {
    fn from_iter<T: IntoIterator<Item = SliceRecord>>(records: T) -> Self {
        let mut slices = Self::default();
        for (place, record) in records.into_iter().enumerate() {
            slices.kept.push(NOTHING);
            slices.slice_mut(place).put(&record);
        }
        slices
    }
}
