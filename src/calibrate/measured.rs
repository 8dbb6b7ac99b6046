//! Measurements frame by frame: the columns of a file as a mapping reads them, in ms, bits and Mpx.

use super::mapping::{Kind, Mapping, Role};
use super::passage::{Item, Passage, enough};
use super::read::{BadRows, Cells, Sheet};
use super::watch::{Part, Watch};
use super::words::Words;
use crate::stop::{self, Stopped};

/// Roles whose slices add up to their frame.
const ADDED: [Role; 4] = [Role::Encode, Role::Link, Role::Decode, Role::Size];
/// Longest time that is taken for one \[ms\].
const MOST_MS: f64 = 1e7;
/// Stages with a pipeline, and the roles of the instants at which things go in and come out.
const PASSAGES: [[Role; 3]; 2] =
    [[Role::Encode, Role::EncodeIn, Role::EncodeOut], [Role::Decode, Role::DecodeIn, Role::DecodeOut]];
/// Largest size that is taken for one \[bits\].
const MOST_BITS: f64 = 1e10;
/// Most pixels that are taken for a frame's \[Mpx\].
const MOST_MPX: f64 = 1e6;
/// Most slices a frame.
const MOST_SLICES: f64 = 64.0;

/// Measured values of one role.
#[derive(Debug, Clone, PartialEq)]
pub struct Values {
    /// Their role.
    pub role: Role,
    /// A value a frame, in ms, bits or Mpx; not a number where nothing was measured.
    pub values: Vec<f64>,
}

/// Measurements of one group, frame by frame.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Measured {
    /// Frames.
    pub frames: usize,
    /// Slices of each frame; 1 where the file does not tell.
    pub slices: Vec<u32>,
    /// Whether each frame is intra; none where the file does not tell.
    pub intra: Option<Vec<bool>>,
    /// Times, sizes and pixels.
    pub values: Vec<Values>,
    /// Where a run of frames that follow each other begins.
    pub starts: Vec<usize>,
    /// How much longer the first slice of each frame took than the others on average, by role \[ms\]; only with a row a
    /// slice and at least two slices.
    pub first_more: Vec<Values>,
    /// What the instants of encoder and decoder tell, where the file has them.
    pub passages: Vec<Passage>,
    /// Rows that have the same frame number as the one before, although no column tells slices.
    pub repeated: usize,
    /// Rows that hold what cannot be.
    pub bad: BadRows,
}

impl Measured {
    /// Reads a sheet as the mapping says.
    pub fn of(sheet: &Sheet, mapping: &Mapping) -> Self {
        // Nobody asks to stop.
        Self::of_unless(sheet, mapping, &Watch::nobody()).unwrap_or_default()
    }

    /// The same, watched.
    pub fn of_unless(sheet: &Sheet, mapping: &Mapping, watch: &Watch<'_>) -> Result<Self, Stopped> {
        Gathering::new(sheet, mapping).gather(watch)
    }

    /// Whether a run begins at a frame.
    pub(super) fn begins(&self, frame: usize) -> bool {
        self.starts.binary_search(&frame).is_ok()
    }

    /// Whether a run begins after one frame and not after another, later one.
    pub(super) fn begins_between(&self, before: usize, frame: usize) -> bool {
        self.starts.partition_point(|&start| start <= before) < self.starts.partition_point(|&start| start <= frame)
    }

    /// Puts the service that instants tell in the place of what was measured of the stage; where too few frames came back to
    /// back, the time through the stage of those that found it idle, if nothing else was measured.
    fn put(&mut self, passage: &Passage) {
        let measured = self.values.iter().position(|values| values.role == passage.role);
        let told = if passage.tells_service() {
            &passage.service_ms
        } else if measured.is_none() && !passage.by_slice && enough(&passage.idle_ms) {
            &passage.idle_ms
        } else {
            return;
        };
        let told = Values { role: passage.role, values: told.clone() };
        match measured {
            Some(at) => self.values[at] = told,
            None => self.values.push(told),
        }
        self.first_more.retain(|more| more.role != passage.role);
    }

    /// The values of a role.
    pub fn of_role(&self, role: Role) -> Option<&[f64]> {
        self.values.iter().find(|values| values.role == role).map(|values| values.values.as_slice())
    }

    /// What the instants of a stage tell.
    pub fn passage(&self, role: Role) -> Option<&Passage> {
        self.passages.iter().find(|passage| passage.role == role)
    }

    /// The part of the frames that `keep` wants, by number; runs stay runs.
    #[must_use]
    pub fn part(&self, keep: impl Fn(usize) -> bool) -> Self {
        let kept: Vec<usize> = (0..self.frames).filter(|&frame| keep(frame)).collect();
        let pick = |values: &[Values]| {
            let picked =
                |one: &Values| Values { role: one.role, values: kept.iter().map(|&k| one.values[k]).collect() };
            values.iter().map(picked).collect()
        };
        let starts =
            kept.iter().enumerate().filter(|&(at, &frame)| at == 0 || self.begins(frame) || kept[at - 1] + 1 != frame);
        Self {
            frames: kept.len(),
            slices: kept.iter().map(|&k| self.slices[k]).collect(),
            intra: self.intra.as_ref().map(|intra| kept.iter().map(|&k| intra[k]).collect()),
            values: pick(&self.values),
            starts: starts.map(|(at, _)| at).collect(),
            passages: self.passages.iter().map(|passage| passage.part(&kept)).collect(),
            first_more: if self.first_more.is_empty() { Vec::new() } else { pick(&self.first_more) },
            repeated: 0,
            bad: BadRows::default(),
        }
    }

    /// The first and the second half of every run: to fit on one and judge on the other.
    pub fn halves(&self) -> [Self; 2] {
        let mut late = vec![false; self.frames];
        for (at, &start) in self.starts.iter().enumerate() {
            let end = self.starts.get(at + 1).copied().unwrap_or(self.frames);
            late[start + (end - start) / 2..end].fill(true);
        }
        [self.part(|frame| !late[frame]), self.part(|frame| late[frame])]
    }
}

/// A sheet on its way to frames.
struct Gathering<'a> {
    sheet: &'a Sheet,
    mapping: &'a Mapping,
    group: Group<'a>,
    /// Roles with values, their numbers and what 1 of them is.
    columns: Vec<(Role, &'a [f64], f64)>,
    frame: Option<&'a [f64]>,
    slice: Option<&'a [f64]>,
    slices: Option<&'a [f64]>,
    intra: Option<&'a [f64]>,
    instants: Vec<Instants<'a>>,
    made: Measured,
    /// Frames of the present run seen so far, those skipped too.
    seen: u32,
    last: Option<Last>,
    /// The slice that came last, where no column tells the frame.
    last_slice: Option<f64>,
}

/// Whose rows are used.
enum Group<'a> {
    All,
    Word(&'a Words, Option<u32>),
    Number(&'a [f64], f64),
}

impl<'a> Group<'a> {
    fn of(sheet: &'a Sheet, mapping: &Mapping) -> Self {
        let Some(group) = &mapping.group else { return Self::All };
        match mapping.find(sheet, Role::Group).map(|(column, _)| &column.cells) {
            Some(Cells::Words(words)) => Self::Word(words, words.number_of(group)),
            Some(Cells::Numbers(numbers)) => Self::Number(numbers, group.parse().unwrap_or(f64::NAN)),
            _ => Self::All,
        }
    }

    fn holds(&self, row: usize) -> bool {
        match self {
            Self::All => true,
            Self::Word(words, number) => number.is_some() && words.number(row) == *number,
            Self::Number(numbers, number) => is(numbers[row], *number) && !number.is_nan(),
        }
    }
}

/// When things went into a stage and came out of it.
struct Instants<'a> {
    stage: Role,
    came: &'a [f64],
    out: &'a [f64],
    /// What 1 of each is \[ms\].
    factors: [f64; 2],
    /// What both are told from, in their own units, so that long clocks lose no digits.
    origins: [f64; 2],
    items: Vec<Item>,
    /// Whether the row before this one is the last item.
    follows: bool,
}

impl<'a> Instants<'a> {
    fn of(sheet: &'a Sheet, mapping: &Mapping, [stage, came, out]: [Role; 3]) -> Option<Self> {
        let numbers =
            |role| mapping.find(sheet, role).and_then(|(column, unit)| Some((column.numbers()?, unit.factor())));
        let ((came, came_factor), (out, out_factor)) = (numbers(came)?, numbers(out)?);
        let first = came.iter().copied().find(|x| x.is_finite())?;
        let origins = if is(came_factor, out_factor) { [first; 2] } else { [0.0; 2] };
        let factors = [came_factor, out_factor];
        Some(Self { stage, came, out, factors, origins, items: Vec::new(), follows: false })
    }

    /// When the thing of a row came and was out \[ms\].
    fn at(&self, row: usize) -> [f64; 2] {
        [(self.came[row] - self.origins[0]) * self.factors[0], (self.out[row] - self.origins[1]) * self.factors[1]]
    }

    fn take(&mut self, row: usize, frame: usize, number: f64) {
        let [came_ms, out_ms] = self.at(row);
        let known = came_ms.is_finite() && out_ms.is_finite();
        if known {
            self.items.push(Item { frame, number, came_ms, out_ms, follows: self.follows });
        }
        self.follows = known;
    }
}

/// The frame that came last.
#[derive(Clone, Copy)]
struct Last {
    frame: f64,
    slices: f64,
    /// Rows of it so far.
    rows: u32,
    /// Whether it is kept.
    kept: bool,
}

impl<'a> Gathering<'a> {
    fn new(sheet: &'a Sheet, mapping: &'a Mapping) -> Self {
        let numbers = |role| mapping.find(sheet, role).and_then(|(column, _)| column.numbers());
        let columns: Vec<(Role, &[f64], f64)> = Role::ALL
            .into_iter()
            .filter(|role| !matches!(role.kind(), Kind::Mark | Kind::Instant))
            .filter_map(|role| {
                let (column, unit) = mapping.find(sheet, role)?;
                Some((role, column.numbers()?, unit.factor()))
            })
            .collect();
        let slice = numbers(Role::Slice);
        let intra = numbers(Role::Intra);
        let instants = PASSAGES.into_iter().filter_map(|roles| Instants::of(sheet, mapping, roles)).collect();
        let empty = |role| Values { role, values: Vec::new() };
        let first_more = [Role::Encode, Role::Decode]
            .into_iter()
            .filter(|role| slice.is_some() && columns.iter().any(|(other, ..)| other == role));
        let made = Measured {
            values: columns.iter().map(|(role, ..)| empty(*role)).collect(),
            first_more: first_more.map(empty).collect(),
            intra: intra.map(|_| Vec::new()),
            ..Measured::default()
        };
        Self {
            sheet,
            mapping,
            group: Group::of(sheet, mapping),
            columns,
            frame: numbers(Role::Frame),
            slice,
            slices: numbers(Role::Slices),
            intra,
            instants,
            made,
            seen: 0,
            last: None,
            last_slice: None,
        }
    }

    fn gather(mut self, watch: &Watch<'_>) -> Result<Measured, Stopped> {
        let rows = self.sheet.rows;
        stop::in_chunks(rows, watch.stop(), |chunk| {
            let _ = watch.at(Part::Gathering, chunk.end as f64 / rows as f64);
            chunk.for_each(|row| self.row(row));
        })?;
        let Self { mut made, instants, slice, .. } = self;
        // What was added up for the other slices becomes their mean, and the difference of the first one from it.
        for more in &mut made.first_more {
            let sums = made.values.iter().find(|values| values.role == more.role);
            for (frame, first) in more.values.iter_mut().enumerate() {
                let others = f64::from(made.slices[frame]) - 1.0;
                let sum = sums.map_or(f64::NAN, |sums| sums.values[frame]);
                *first = if others > 0.0 { *first - (sum - *first) / others } else { f64::NAN };
            }
        }
        let by_slice = slice.is_some() && made.slices.iter().any(|count| *count > 1);
        for Instants { stage, items, .. } in instants {
            let Some(passage) = Passage::of(stage, &items, made.frames, by_slice) else { continue };
            made.put(&passage);
            made.passages.push(passage);
        }
        Ok(made)
    }

    fn row(&mut self, row: usize) {
        if !self.group.holds(row) {
            return;
        }
        match self.fault(row) {
            Some(cause) => {
                self.made.bad.note(u64::from(self.sheet.lines[row]), || cause);
                self.passes_over();
            }
            None => self.take(row),
        }
    }

    /// What cannot be in a row: what, found, allowed.
    fn fault(&self, row: usize) -> Option<String> {
        let wrong = |role: Role, found: f64, allowed: &str| {
            let found = if found.is_nan() { "nothing".to_owned() } else { found.to_string() };
            Some(format!("{}: found {found}, allowed: {allowed}", role.name()))
        };
        for (role, numbers, factor) in &self.columns {
            let value = numbers[row] * factor;
            let most = match role.kind() {
                Kind::Size => MOST_BITS,
                Kind::Pixels => MOST_MPX,
                _ => MOST_MS,
            };
            if value < 0.0 || value > most {
                return wrong(*role, numbers[row], "0 or more, a time at most 10 000 s, a size at most 10 Gbit");
            }
        }
        for instants in &self.instants {
            let [came_ms, out_ms] = instants.at(row);
            if out_ms < came_ms {
                let stage = instants.stage.name();
                let early = came_ms - out_ms;
                return Some(format!("{stage}: found out {early:.3} ms before in, allowed: not before"));
            }
        }
        if let Some(found) = self.intra.map(|intra| intra[row]).filter(|x| !is(*x, 0.0) && !is(*x, 1.0)) {
            return wrong(Role::Intra, found, "0 or 1");
        }
        let whole = |x: &f64| !(*x >= 1.0 && *x <= MOST_SLICES && x.fract() == 0.0);
        if let Some(found) = self.slices.map(|slices| slices[row]).filter(whole) {
            return wrong(Role::Slices, found, "a whole number, 1 to 64");
        }
        let unknown = |numbers: Option<&[f64]>| numbers.is_some_and(|numbers| numbers[row].is_nan());
        if unknown(self.frame) {
            return wrong(Role::Frame, f64::NAN, "a number");
        }
        if unknown(self.slice) { wrong(Role::Slice, f64::NAN, "a number") } else { None }
    }

    /// What comes next follows something unknown.
    fn passes_over(&mut self) {
        self.instants.iter_mut().for_each(|instants| instants.follows = false);
    }

    fn take(&mut self, row: usize) {
        let frame = self.number_of(row);
        let slices = self.slices.map_or(1.0, |slices| slices[row]);
        if let Some(last) =
            self.last.filter(|last| self.slice.is_some() && is(last.frame, frame) && is(last.slices, slices))
        {
            self.add_slice(row, last);
            if last.kept {
                self.pass(row, frame);
            }
            return;
        }
        let follows = self.last.is_some_and(|last| is(last.slices, slices) && frame > last.frame);
        if !follows {
            if self.last.is_some_and(|last| is(last.slices, slices) && is(last.frame, frame)) {
                self.made.repeated += 1;
            }
            self.seen = 0;
            self.passes_over();
        }
        let kept = self.seen >= self.mapping.skip;
        if kept {
            if self.seen == self.mapping.skip {
                self.made.starts.push(self.made.frames);
            }
            self.push(row, slices);
            self.pass(row, frame);
        } else {
            self.passes_over();
        }
        self.seen += 1;
        self.last = Some(Last { frame, slices, rows: 1, kept });
    }

    /// The number of a row's frame. Where no column tells it, each row is a frame, or with a row a slice begins one when its
    /// slice does not follow the last one.
    fn number_of(&mut self, row: usize) -> f64 {
        if let Some(frame) = self.frame {
            return frame[row];
        }
        let Some(slice) = self.slice else { return row as f64 };
        let follows = self.last_slice.is_some_and(|last| slice[row] > last);
        self.last_slice = Some(slice[row]);
        self.last.map_or(0.0, |last| if follows { last.frame } else { last.frame + 1.0 })
    }

    fn push(&mut self, row: usize, slices: f64) {
        let made = &mut self.made;
        made.frames += 1;
        made.slices.push(if self.slice.is_some() { 1 } else { slices as u32 });
        if let (Some(all), Some(intra)) = (&mut made.intra, self.intra) {
            all.push(is(intra[row], 1.0));
        }
        for (values, (_, numbers, factor)) in made.values.iter_mut().zip(&self.columns) {
            values.values.push(numbers[row] * factor);
        }
        for more in &mut made.first_more {
            let value = made.values.iter().find(|values| values.role == more.role).and_then(|v| v.values.last());
            more.values.push(value.copied().unwrap_or(f64::NAN));
        }
    }

    fn pass(&mut self, row: usize, number: f64) {
        let frame = self.made.frames - 1;
        self.instants.iter_mut().for_each(|instants| instants.take(row, frame, number));
    }

    /// One more slice of the last frame.
    fn add_slice(&mut self, row: usize, last: Last) {
        self.last = Some(Last { rows: last.rows + 1, ..last });
        let made = &mut self.made;
        let Some(slices) = made.slices.last_mut().filter(|_| last.kept) else { return };
        *slices = last.rows + 1;
        for (values, (role, numbers, factor)) in made.values.iter_mut().zip(&self.columns) {
            let Some(value) = values.values.last_mut() else { continue };
            let more = numbers[row] * factor;
            *value = if ADDED.contains(role) { *value + more } else { more };
        }
    }
}

/// Whether two numbers of a file are the same: both were read from text, none was computed.
fn is(a: f64, b: f64) -> bool {
    a.total_cmp(&b).is_eq()
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn read(text: &str) -> (Sheet, Mapping) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("m.csv");
        fs::write(&path, text).unwrap();
        let sheet = Sheet::read(&path).unwrap();
        let mapping = Mapping::propose(&sheet);
        (sheet, mapping)
    }

    #[test]
    fn units_become_ms_and_bits() {
        let (sheet, mapping) = read("frame,slices,intra,bytes,encode_us\n0,8,1,100,3000\n1,8,0,50,\n");
        let made = Measured::of(&sheet, &mapping);
        assert_eq!((made.frames, made.slices.clone(), made.starts.clone()), (2, vec![8, 8], vec![0]));
        assert_eq!(made.intra, Some(vec![true, false]));
        assert_eq!(made.of_role(Role::Size).unwrap(), [800.0, 400.0]);
        let encode = made.of_role(Role::Encode).unwrap();
        assert!(is(encode[0], 3.0) && encode[1].is_nan());
        assert_eq!(made.of_role(Role::Decode), None);
    }

    #[test]
    fn slices_add_up_to_frames() {
        let (sheet, mapping) = read("frame,slice,encode_ms,kb\n0,0,2,1\n0,1,1,2\n0,2,1,3\n1,0,3,4\n1,1,1,4\n");
        let made = Measured::of(&sheet, &mapping);
        assert_eq!((made.frames, made.slices.clone()), (2, vec![3, 2]));
        assert_eq!(made.of_role(Role::Encode).unwrap(), [4.0, 4.0]);
        assert_eq!(made.of_role(Role::Size).unwrap(), [48_000.0, 64_000.0]);
        assert_eq!(made.first_more[0].values, [1.0, 2.0]);
    }

    #[test]
    fn one_group_its_runs_and_what_is_skipped() {
        let text = "mode,slices,frame,encode_ms\na,1,0,1\na,1,1,2\na,1,2,3\na,4,0,4\na,4,1,5\nb,1,0,9\n";
        let (sheet, mut mapping) = read(text);
        let made = Measured::of(&sheet, &mapping);
        assert_eq!(
            (made.of_role(Role::Encode).unwrap(), made.starts.clone()),
            (&[1.0, 2.0, 3.0, 4.0, 5.0][..], vec![0, 3])
        );
        let [first, second] = made.halves();
        assert_eq!(first.of_role(Role::Encode).unwrap(), [1.0, 4.0]);
        assert_eq!(second.of_role(Role::Encode).unwrap(), [2.0, 3.0, 5.0]);
        assert_eq!(second.starts, [0, 2]);
        mapping.skip = 1;
        assert_eq!(Measured::of(&sheet, &mapping).of_role(Role::Encode).unwrap(), [2.0, 3.0, 5.0]);
        mapping.group = Some("b".to_owned());
        assert_eq!(Measured::of(&sheet, &mapping).frames, 0);
    }

    #[test]
    fn what_cannot_be_is_listed_by_line() {
        let (sheet, mapping) = read("frame,slices,intra,encode_ms\n0,1,0,-1\n1,0,0,1\n2,1,2,1\n3,1,0,1\n");
        let made = Measured::of(&sheet, &mapping);
        assert_eq!((made.frames, made.bad.count), (1, 3));
        let told: Vec<(u64, &str)> = made.bad.listed.iter().map(|row| (row.line, row.cause.as_str())).collect();
        assert_eq!(
            told[0],
            (2, "encode: found -1, allowed: 0 or more, a time at most 10 000 s, a size at most 10 Gbit")
        );
        assert_eq!(told[1], (3, "slices: found 0, allowed: a whole number, 1 to 64"));
        assert_eq!(told[2], (4, "intra: found 2, allowed: 0 or 1"));
    }

    #[test]
    fn slices_without_frame_numbers_begin_a_frame_where_they_start_again() {
        let (sheet, mapping) = read("slice,encode_ms\n0,1\n1,2\n2,3\n0,4\n1,5\n0,6\n0,7\n");
        let made = Measured::of(&sheet, &mapping);
        assert_eq!((made.slices.clone(), made.starts.clone()), (vec![3, 2, 1, 1], vec![0]));
        assert_eq!(made.of_role(Role::Encode).unwrap(), [6.0, 9.0, 6.0, 7.0]);
    }

    #[test]
    fn frame_numbers_that_repeat_are_counted() {
        let (sheet, mapping) = read("frame,encode_ms\n0,1\n0,2\n1,3\n1,4\n2,5\n");
        assert_eq!(Measured::of(&sheet, &mapping).repeated, 2);
    }

    #[test]
    fn what_is_too_much_or_missing_is_told() {
        let (sheet, mapping) =
            read("frame,intra,bytes,encode_ms\n0,0,1e300,1\n1,,1,1\n,0,1,1\n3,0,1,1e9\n4,0,1,\n5,1,2,3\n");
        let made = Measured::of(&sheet, &mapping);
        let told: Vec<(u64, &str)> = made.bad.listed.iter().map(|row| (row.line, row.cause.as_str())).collect();
        assert!(told[0].1.starts_with("size: found 1000000000000000") && told[0].1.contains("10 Gbit"), "{told:?}");
        assert_eq!(told[1], (3, "intra: found nothing, allowed: 0 or 1"));
        assert_eq!(told[2], (4, "frame: found nothing, allowed: a number"));
        assert!(told[3].1.starts_with("encode: found 1000000000"), "{told:?}");
        assert_eq!((made.frames, made.bad.count), (2, 4));
    }

    #[test]
    fn instants_that_go_back_are_bad_rows_and_long_clocks_keep_their_digits() {
        let row = |k: u64| {
            let came = 1_700_000_000_000_000_u64 + k * 10_000;
            format!("{k},{came},{}", if k == 7 { came - 1 } else { came + 4_321 })
        };
        let rows: Vec<String> = (0..40).map(row).collect();
        let (sheet, mapping) = read(&format!("frame,encode_in_us,encode_out_us\n{}\n", rows.join("\n")));
        let made = Measured::of(&sheet, &mapping);
        assert_eq!((made.frames, made.bad.count), (39, 1));
        assert_eq!(made.bad.listed[0].cause, "encode: found out 0.001 ms before in, allowed: not before");
        let passage = made.passage(Role::Encode).unwrap();
        // What follows the bad row follows something unknown.
        assert_eq!((passage.idle, passage.back_to_back), (37, 0));
        assert!((passage.through_ms[20] - 4.321).abs() < 1e-9 && passage.idle_ms[7].is_nan());
    }
}
