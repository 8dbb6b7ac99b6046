//! Rows of a sheet become frames: groups, runs and slices told apart, what cannot be left out.

use super::{Measured, Values};
use crate::calibrate::mapping::{Kind, Mapping, Role};
use crate::calibrate::passage::{Item, Passage};
use crate::calibrate::read::{Cells, Sheet};
use crate::calibrate::watch::{Part, Watch};
use crate::calibrate::words::Words;
use crate::stop::{self, Stopped};

/// Roles whose slices add up to their frame.
const ADDED: [Role; 4] = [Role::Encode, Role::Link, Role::Decode, Role::Size];
/// Longest time that is taken for one \[ms\].
const MOST_MS: f64 = 1e7;
/// Largest size that is taken for one \[bits\].
const MOST_BITS: f64 = 1e10;
/// Most pixels that are taken for a frame's \[Mpx\].
const MOST_MPX: f64 = 1e6;
/// Most slices a frame.
const MOST_SLICES: f64 = 64.0;
/// Stages with a pipeline, and the roles of the instants at which things go in and come out.
const PASSAGES: [[Role; 3]; 2] =
    [[Role::Encode, Role::EncodeIn, Role::EncodeOut], [Role::Decode, Role::DecodeIn, Role::DecodeOut]];

/// A sheet on its way to frames.
pub(super) struct Gathering<'a> {
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
    pub(super) fn new(sheet: &'a Sheet, mapping: &'a Mapping) -> Self {
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

    pub(super) fn gather(mut self, watch: &Watch<'_>) -> Result<Measured, Stopped> {
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
            let (most, allowed) = match role.kind() {
                Kind::Size => (MOST_BITS, "0 to 10 Gbit"),
                Kind::Pixels => (MOST_MPX, "0 to 1 000 000 Mpx"),
                _ => (MOST_MS, "0 to 10 000 s"),
            };
            if value < 0.0 || value > most {
                return wrong(*role, numbers[row], allowed);
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
        let no_count = |x: &f64| !(*x >= 1.0 && *x <= MOST_SLICES && x.fract() == 0.0);
        if let Some(found) = self.slices.map(|slices| slices[row]).filter(no_count) {
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
pub(super) fn is(a: f64, b: f64) -> bool {
    a.total_cmp(&b).is_eq()
}
