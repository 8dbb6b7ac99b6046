//! Roles and units guessed: from the words of a column's name, and from its values where the name does not tell.

use super::{Kind, Role, Unit};
use crate::calibrate::read::{Cells, Column};

/// Rows that units and roles are guessed from.
const ROWS_LOOKED_AT: usize = 10_000;

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
pub(super) fn role_of(column: &Column) -> Role {
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
pub(super) fn unit_of(column: &Column, role: Role) -> (Unit, bool) {
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

    /// Role and unit of each column, and whether the unit was guessed.
    fn guessed(columns: &[(&str, &[f64])]) -> Vec<(Role, Unit, bool)> {
        let told = |(name, values): &(&str, &[f64])| {
            let column = Column { name: (*name).to_owned(), cells: Cells::Numbers(values.to_vec()) };
            let role = role_of(&column);
            let (unit, guessed) = unit_of(&column, role);
            (role, unit, guessed)
        };
        columns.iter().map(told).collect()
    }

    #[test]
    fn names_tell_roles_and_units() {
        let found = guessed(&[
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
        let found = guessed(&[
            ("encodeMs", &falling),
            ("sizeKB", &falling),
            ("decodeIn", &rising),
            ("decoder out usec", &later),
            ("encode_start_ns", &rising),
            ("renderTimeUs", &falling),
        ]);
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
}
