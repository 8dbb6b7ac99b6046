//! What the columns of a file of measurements stand for: proposed from their names and values, changed by hand, kept.

use std::collections::HashSet;

use serde::{Deserialize, Serialize};

use super::read::{Cells, Column, Sheet};

/// Rows that units and roles are guessed from.
const ROWS_LOOKED_AT: usize = 10_000;
/// Most groups that numbers tell.
const MOST_GROUPS: usize = 1000;

/// What a column stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Role {
    /// Nothing that is used.
    Unused,
    /// Setting, run or mode: rows of different words or numbers are not of one kind.
    Group,
    /// Number of the frame.
    Frame,
    /// Number of the slice within its frame: the file holds a row a slice.
    Slice,
    /// Slices a frame.
    Slices,
    /// Whether the frame is intra: 0 or 1.
    Intra,
    /// Coded size.
    Size,
    /// Coded pixels.
    Pixels,
    /// Time of the simulation.
    Simulate,
    /// Time of rendering.
    Render,
    /// Time of encoding.
    Encode,
    /// Time on the link.
    Link,
    /// Time of decoding.
    Decode,
    /// Delay of a message from device to host.
    Uplink,
    /// Time of the compositor.
    Compose,
    /// From plan to ready.
    Turnaround,
    /// From pose to photons.
    PoseToPhoton,
    /// Instant at which a frame or slice goes into the encoder, on any clock.
    EncodeIn,
    /// Instant at which it comes out of it, on the same clock.
    EncodeOut,
    /// Instant at which a frame or slice goes into the decoder, on any clock.
    DecodeIn,
    /// Instant at which it comes out of it, on the same clock.
    DecodeOut,
}

/// What a role's values measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A number, a word or a mark.
    Mark,
    /// A duration.
    Time,
    /// A coded size.
    Size,
    /// Pixels.
    Pixels,
    /// An instant on some clock.
    Instant,
}

impl Role {
    /// All, in the order of lists.
    pub const ALL: [Self; 21] = [
        Self::Unused,
        Self::Group,
        Self::Frame,
        Self::Slice,
        Self::Slices,
        Self::Intra,
        Self::Size,
        Self::Pixels,
        Self::Simulate,
        Self::Render,
        Self::Encode,
        Self::Link,
        Self::Decode,
        Self::Uplink,
        Self::Compose,
        Self::Turnaround,
        Self::PoseToPhoton,
        Self::EncodeIn,
        Self::EncodeOut,
        Self::DecodeIn,
        Self::DecodeOut,
    ];

    /// Its name in lists and on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Unused => "unused",
            Self::Group => "group",
            Self::Frame => "frame",
            Self::Slice => "slice",
            Self::Slices => "slices",
            Self::Intra => "intra",
            Self::Size => "size",
            Self::Pixels => "pixels",
            Self::Simulate => "simulate",
            Self::Render => "render",
            Self::Encode => "encode",
            Self::Link => "link",
            Self::Decode => "decode",
            Self::Uplink => "uplink",
            Self::Compose => "compose",
            Self::Turnaround => "turnaround",
            Self::PoseToPhoton => "pose-to-photon",
            Self::EncodeIn => "encode-in",
            Self::EncodeOut => "encode-out",
            Self::DecodeIn => "decode-in",
            Self::DecodeOut => "decode-out",
        }
    }

    /// The role of a name.
    pub fn find(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.name() == name)
    }

    /// What its values measure.
    pub const fn kind(self) -> Kind {
        match self {
            Self::Unused | Self::Group | Self::Frame | Self::Slice | Self::Slices | Self::Intra => Kind::Mark,
            Self::Size => Kind::Size,
            Self::Pixels => Kind::Pixels,
            Self::EncodeIn | Self::EncodeOut | Self::DecodeIn | Self::DecodeOut => Kind::Instant,
            _ => Kind::Time,
        }
    }
}

/// Unit of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Unit {
    /// None.
    One,
    /// Seconds.
    S,
    /// Milliseconds.
    Ms,
    /// Microseconds.
    Us,
    /// Nanoseconds.
    Ns,
    /// Bits.
    Bits,
    /// Bytes.
    Bytes,
    /// Thousands of bytes.
    Kb,
    /// Pixels.
    Px,
    /// Millions of pixels.
    Mpx,
}

impl Unit {
    /// The units that values of a kind can have.
    pub const fn of(kind: Kind) -> &'static [Self] {
        match kind {
            Kind::Mark => &[Self::One],
            Kind::Time | Kind::Instant => &[Self::S, Self::Ms, Self::Us, Self::Ns],
            Kind::Size => &[Self::Bytes, Self::Kb, Self::Bits],
            Kind::Pixels => &[Self::Px, Self::Mpx],
        }
    }

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::One => "",
            Self::S => "s",
            Self::Ms => "ms",
            Self::Us => "us",
            Self::Ns => "ns",
            Self::Bits => "bits",
            Self::Bytes => "bytes",
            Self::Kb => "kB",
            Self::Px => "px",
            Self::Mpx => "Mpx",
        }
    }

    /// The unit of a name.
    pub fn find(name: &str) -> Option<Self> {
        const ALL: [Unit; 9] =
            [Unit::S, Unit::Ms, Unit::Us, Unit::Ns, Unit::Bits, Unit::Bytes, Unit::Kb, Unit::Px, Unit::Mpx];
        ALL.into_iter().find(|unit| unit.name() == name)
    }

    /// What a value of 1 is in ms, bits or Mpx.
    pub const fn factor(self) -> f64 {
        match self {
            Self::One | Self::Ms | Self::Bits | Self::Mpx => 1.0,
            Self::S => 1e3,
            Self::Us => 1e-3,
            Self::Ns | Self::Px => 1e-6,
            Self::Bytes => 8.0,
            Self::Kb => 8e3,
        }
    }
}

/// What one column stands for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapped {
    /// The column's name.
    pub column: String,
    /// What it stands for.
    pub role: Role,
    /// Its unit.
    pub unit: Unit,
    /// Whether the unit was guessed from the values, since the name does not tell it.
    #[serde(default)]
    pub guessed: bool,
}

/// What the columns of a file stand for.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Mapping {
    /// A line a column, in the order of the file.
    pub columns: Vec<Mapped>,
    /// The group whose rows are used; none: all rows.
    pub group: Option<String>,
    /// Frames at the start of every run that are left out, such as those of a warm-up.
    pub skip: u32,
}

impl Mapping {
    /// A proposal from names and values. A role that only one column can have goes to the first that asks for it.
    pub fn propose(sheet: &Sheet) -> Self {
        let mut columns: Vec<Mapped> = Vec::with_capacity(sheet.columns.len());
        for column in &sheet.columns {
            let role = role_of(column);
            let taken = columns.iter().any(|other| other.role == role);
            let role = if taken { Role::Unused } else { role };
            let (unit, guessed) = unit_of(column, role);
            columns.push(Mapped { column: column.name.clone(), role, unit, guessed });
        }
        let mut mapping = Self { columns, group: None, skip: 0 };
        mapping.group = mapping.groups(sheet).into_iter().next();
        mapping
    }

    /// Gives a column another role, with the unit that its name or values tell; whoever had the role loses it.
    pub fn assign(&mut self, sheet: &Sheet, column: &str, role: Role) {
        for mapped in &mut self.columns {
            if mapped.column == column {
                mapped.role = role;
                if let Some(column) = sheet.column(column) {
                    (mapped.unit, mapped.guessed) = unit_of(column, role);
                }
            } else if mapped.role == role {
                mapped.role = Role::Unused;
            }
        }
        if role == Role::Group || !self.groups(sheet).iter().any(|group| Some(group) == self.group.as_ref()) {
            self.group = self.groups(sheet).into_iter().next();
        }
    }

    /// The column that has a role.
    pub fn find<'a>(&self, sheet: &'a Sheet, role: Role) -> Option<(&'a Column, Unit)> {
        let mapped = self.columns.iter().find(|mapped| mapped.role == role)?;
        Some((sheet.column(&mapped.column)?, mapped.unit))
    }

    /// The groups that there are; none where no column tells them.
    pub fn groups(&self, sheet: &Sheet) -> Vec<String> {
        match self.find(sheet, Role::Group).map(|(column, _)| &column.cells) {
            Some(Cells::Words(words)) => words.different().to_vec(),
            Some(Cells::Numbers(numbers)) => {
                let mut groups: Vec<f64> = Vec::new();
                let mut seen = HashSet::new();
                for number in numbers.iter().filter(|number| !number.is_nan()) {
                    if groups.len() < MOST_GROUPS && groups.last() != Some(number) && seen.insert(number.to_bits()) {
                        groups.push(*number);
                    }
                }
                groups.iter().map(f64::to_string).collect()
            }
            _ => Vec::new(),
        }
    }
}

/// Words of a name in small letters, cut at what is no letter or digit, and where a capital follows small letters.
fn words(name: &str) -> Vec<String> {
    let mut apart = String::with_capacity(name.len() + 4);
    let mut small = 0;
    for c in name.chars() {
        // `encodeMs` is two words, `kB` is one.
        if c.is_uppercase() && small >= 2 {
            apart.push(' ');
        }
        small = if c.is_lowercase() { small + 1 } else { 0 };
        apart.push(c);
    }
    apart.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect()
}

/// A role by name; a column of words can only be a group.
fn role_of(column: &Column) -> Role {
    /// Beginnings of words that tell a role, the more particular ones first.
    const BEGINNINGS: [(Role, &[&str]); 15] = [
        (Role::PoseToPhoton, &["photon", "motiontophoton", "posetophoton"]),
        (Role::Uplink, &["uplink"]),
        (Role::Intra, &["intra", "idr", "key"]),
        (Role::Slices, &["slices", "slicecount", "nslices"]),
        (Role::Slice, &["slice"]),
        (Role::Size, &["byte", "size", "bits", "kb"]),
        (Role::Pixels, &["mpx", "pixel", "megapixel"]),
        (Role::Encode, &["enc"]),
        (Role::Decode, &["dec"]),
        (Role::Render, &["rend", "gpu"]),
        (Role::Simulate, &["sim", "cpu"]),
        (Role::Link, &["link", "net", "transfer", "transmi", "send"]),
        (Role::Compose, &["compos", "reproj"]),
        (Role::Turnaround, &["turnaround", "total", "latency", "roundtrip"]),
        (Role::Frame, &["frame", "index"]),
    ];
    match column.cells {
        Cells::Words(_) => return Role::Group,
        Cells::Text => return Role::Unused,
        Cells::Numbers(_) => {}
    }
    let words = words(&column.name);
    if words.iter().any(|word| ["mode", "group", "run", "setting", "config", "series"].contains(&word.as_str())) {
        return Role::Group;
    }
    let counts = words.iter().any(|word| ["count", "n", "number", "of"].contains(&word.as_str()));
    for (role, beginnings) in BEGINNINGS {
        if words.iter().any(|word| beginnings.iter().any(|beginning| word.starts_with(beginning))) {
            return match role {
                Role::Slice if counts => Role::Slices,
                _ if role.kind() == Kind::Time && is_a_clock(column) => instant(role, &words),
                _ => role,
            };
        }
    }
    Role::Unused
}

/// Whether numbers only grow: instants on a clock, since durations go up and down.
fn is_a_clock(column: &Column) -> bool {
    const LEAST: usize = 30;
    let numbers = column.numbers().unwrap_or_default();
    let known: Vec<f64> = numbers.iter().copied().filter(|x| x.is_finite()).take(ROWS_LOOKED_AT).collect();
    // Slices of a frame may go in together.
    let grows = known.windows(2).filter(|two| two[1] > two[0]).count();
    known.len() >= LEAST && known.windows(2).all(|two| two[1] >= two[0]) && 20 * grows >= known.len()
}

/// The role of a clock's column whose name speaks of a stage: no duration in any case.
fn instant(stage: Role, words: &[String]) -> Role {
    const IN: [&str; 8] = ["in", "input", "come", "came", "arrive", "arrived", "submit", "submitted"];
    const OUT: [&str; 8] = ["out", "output", "ready", "done", "finish", "finished", "encoded", "decoded"];
    let has = |any: &[&str]| words.iter().any(|word| any.contains(&word.as_str()));
    match (stage, has(&IN), has(&OUT)) {
        (Role::Encode, true, false) => Role::EncodeIn,
        (Role::Encode, false, true) => Role::EncodeOut,
        (Role::Decode, true, false) => Role::DecodeIn,
        (Role::Decode, false, true) => Role::DecodeOut,
        _ => Role::Unused,
    }
}

/// The unit that the name tells, else the likeliest for the values; and whether it was guessed.
fn unit_of(column: &Column, role: Role) -> (Unit, bool) {
    let kind = role.kind();
    let words = words(&column.name);
    let named = |unit: &&Unit| {
        let names: &[&str] = match unit {
            Unit::S => &["s", "sec", "secs", "seconds"],
            Unit::Ms => &["ms", "msec", "msecs", "millis", "milliseconds"],
            Unit::Us => &["us", "usec", "usecs", "µs", "μs", "micros", "microseconds"],
            Unit::Ns => &["ns", "nsec", "nsecs", "nanos", "nanoseconds"],
            Unit::Bits => &["bit", "bits"],
            Unit::Bytes => &["byte", "bytes", "b"],
            Unit::Kb => &["kb", "kilobytes"],
            Unit::Px => &["px", "pixels"],
            Unit::Mpx => &["mpx", "megapixels"],
            Unit::One => &[],
        };
        words.iter().any(|word| names.contains(&word.as_str()))
    };
    if let Some(unit) = Unit::of(kind).iter().find(named) {
        return (*unit, false);
    }
    let Some(median) = median(column) else { return (Unit::of(kind)[0], kind != Kind::Mark) };
    let guess = match kind {
        Kind::Mark => return (Unit::One, false),
        // A stage takes some milliseconds, a frame has some Mpx: the unit that comes nearest.
        Kind::Time | Kind::Pixels => nearest(Unit::of(kind), median, 4.0),
        // From one frame to the next it is some ten milliseconds.
        Kind::Instant => nearest(Unit::of(kind), step(column).unwrap_or(median), 10.0),
        // A frame has some hundred thousand bits.
        Kind::Size => nearest(&[Unit::Bytes, Unit::Kb], median, 1e6),
    };
    (guess, true)
}

fn nearest(units: &[Unit], median: f64, usual: f64) -> Unit {
    let away = |unit: &Unit| (median * unit.factor() / usual).ln().abs();
    units.iter().copied().min_by(|a, b| away(a).total_cmp(&away(b))).unwrap_or(Unit::One)
}

/// The median of what the first values differ by from one to the next.
fn step(column: &Column) -> Option<f64> {
    let numbers = column.numbers()?;
    let mut steps: Vec<f64> =
        numbers.windows(2).take(ROWS_LOOKED_AT).map(|two| two[1] - two[0]).filter(|x| *x > 0.0).collect();
    steps.sort_unstable_by(f64::total_cmp);
    steps.get(steps.len() / 2).copied()
}

/// The median of the positive values among the first ones.
fn median(column: &Column) -> Option<f64> {
    let mut values: Vec<f64> = column.numbers()?.iter().copied().filter(|x| *x > 0.0).take(ROWS_LOOKED_AT).collect();
    values.sort_unstable_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::read::BadRows;
    use crate::calibrate::words::Words;

    fn sheet(columns: &[(&str, &[f64])]) -> Sheet {
        let columns: Vec<Column> = columns
            .iter()
            .map(|(name, values)| Column { name: (*name).to_owned(), cells: Cells::Numbers(values.to_vec()) })
            .collect();
        Sheet { rows: 2, lines: vec![2, 3], columns, separator: ',', header: true, bad: BadRows::default() }
    }

    #[test]
    fn names_tell_roles_and_units() {
        let sheet = sheet(&[
            ("frame", &[0.0, 1.0]),
            ("slice count", &[8.0, 8.0]),
            ("IDR", &[1.0, 0.0]),
            ("bytes", &[30_000.0, 31_000.0]),
            ("encode_us", &[3000.0, 3100.0]),
            ("Decode time [ms]", &[6.0, 6.1]),
            ("gpu", &[0.006, 0.007]),
            ("cpu", &[2_000_000.0, 2_100_000.0]),
            ("e2e latency", &[40.0, 41.0]),
            ("notes", &[0.0, 0.0]),
        ]);
        let mapping = Mapping::propose(&sheet);
        let found: Vec<(Role, Unit, bool)> = mapping.columns.iter().map(|c| (c.role, c.unit, c.guessed)).collect();
        assert_eq!(
            found,
            [
                (Role::Frame, Unit::One, false),
                (Role::Slices, Unit::One, false),
                (Role::Intra, Unit::One, false),
                (Role::Size, Unit::Bytes, false),
                (Role::Encode, Unit::Us, false),
                (Role::Decode, Unit::Ms, false),
                (Role::Render, Unit::S, true),
                (Role::Simulate, Unit::Ns, true),
                (Role::Turnaround, Unit::Ms, true),
                (Role::Unused, Unit::One, false),
            ]
        );
    }

    #[test]
    fn names_are_cut_at_capitals_and_clocks_are_no_durations() {
        let rising: Vec<f64> = (0..40).map(|k| 1e9 + f64::from(k) * 11_111.0).collect();
        let later: Vec<f64> = rising.iter().map(|x| x + 3000.0).collect();
        let falling: Vec<f64> = (0..40).map(|k| 3000.0 - f64::from(k)).collect();
        let sheet = sheet(&[
            ("encodeMs", &falling),
            ("sizeKB", &falling),
            ("decodeIn", &rising),
            ("decoder out usec", &later),
            ("encode_start_ns", &rising),
            ("renderTimeUs", &falling),
        ]);
        let mapping = Mapping::propose(&sheet);
        let found: Vec<(Role, Unit, bool)> = mapping.columns.iter().map(|c| (c.role, c.unit, c.guessed)).collect();
        assert_eq!(
            found,
            [
                (Role::Encode, Unit::Ms, false),
                (Role::Size, Unit::Kb, false),
                // From its steps of some 11 ms, not from its size.
                (Role::DecodeIn, Unit::Us, true),
                (Role::DecodeOut, Unit::Us, false),
                // When encode begins is no duration, and not when the frame went in.
                (Role::Unused, Unit::One, false),
                (Role::Render, Unit::Us, false),
            ]
        );
    }

    #[test]
    fn a_role_has_one_column_and_can_be_given_away() {
        let sheet = sheet(&[("encode_ms", &[3.0, 3.1]), ("encode_total_ms", &[4.0, 4.1])]);
        let mut mapping = Mapping::propose(&sheet);
        assert_eq!(mapping.columns[1].role, Role::Unused);
        mapping.assign(&sheet, "encode_total_ms", Role::Encode);
        assert_eq!((mapping.columns[0].role, mapping.columns[1].role), (Role::Unused, Role::Encode));
        assert_eq!(mapping.columns[1].unit, Unit::Ms);
    }

    #[test]
    fn groups_are_the_words_of_their_column() {
        let mut sheet = sheet(&[("run", &[7.0, 9.0]), ("ms", &[1.0, 2.0])]);
        assert_eq!(Mapping::propose(&sheet).groups(&sheet), ["7", "9"]);
        let mut words = Words::default();
        assert!(words.push("slow") && words.push("fast"));
        sheet.columns[0].cells = Cells::Words(words);
        let mapping = Mapping::propose(&sheet);
        assert_eq!((mapping.groups(&sheet).len(), mapping.group.as_deref()), (2, Some("slow")));
    }

    #[test]
    fn a_mapping_is_kept_as_text() {
        let mapping = Mapping::propose(&sheet(&[("encode_ms", &[3.0, 3.1])]));
        let text = ron::ser::to_string_pretty(&mapping, ron::ser::PrettyConfig::default()).unwrap();
        assert_eq!(ron::from_str::<Mapping>(&text).unwrap(), mapping);
    }
}
