//! How a file writes its cells: what separates them, what stands before decimals, what stands for nothing.

/// What may separate cells, the likeliest first.
const SEPARATORS: [u8; 4] = [b',', b';', b'\t', b'|'];
/// What stands for a value that was not measured, in small letters.
const MISSING: [&str; 7] = ["", "na", "n/a", "nan", "null", "none", "-"];
/// What stands for 1 or 0, in small letters.
const YES_OR_NO: [(&str, f64); 4] = [("true", 1.0), ("false", 0.0), ("yes", 1.0), ("no", 0.0)];

/// How cells are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Writing {
    pub(super) separator: u8,
    /// Whether a comma stands before the decimals.
    decimal_comma: bool,
}

impl Writing {
    /// Guesses from the beginning of a file: the separator that cuts most lines into as many cells as the first one.
    pub(super) fn of(start: &[u8]) -> Self {
        let lines = || {
            let lines = start.split(|byte| *byte == b'\n').map(|line| line.strip_suffix(b"\r").unwrap_or(line));
            lines.filter(|line| !line.is_empty() && line[0] != b'#').take(50)
        };
        let count = |line: &[u8], separator: u8| line.split(|byte| *byte == separator).count() - 1;
        let agree = |separator: u8| {
            let first = lines().next().map_or(0, |line| count(line, separator));
            if first == 0 { 0 } else { lines().filter(|line| count(line, separator) == first).count() }
        };
        let agreeing = |separator: &u8| {
            let first = lines().next().map_or(0, |line| count(line, *separator));
            agree(*separator) * 1000 + first.min(999)
        };
        // A comma that sets decimals apart also cuts every line alike: what else could cut them goes first then.
        let comma_decimals = |line: &[u8]| {
            line.windows(3).any(|three| three[0].is_ascii_digit() && three[1] == b',' && three[2].is_ascii_digit())
        };
        let others = SEPARATORS.iter().filter(|separator| **separator != b',');
        let other = others.max_by_key(|separator| agreeing(separator)).copied().unwrap_or(b';');
        let all = lines().count();
        let decimal_comma = 10 * agree(other) >= 9 * all && agree(other) > 0 && lines().skip(1).any(comma_decimals);
        // One column of numbers with decimal commas below its name has no separator at all.
        let lone = all > 1
            && lines().next().is_some_and(|line| count(line, b',') == 0)
            && agree(other) == 0
            && lines().skip(1).all(|line| comma_decimals(line) && count(line, b',') == 1);
        if lone {
            return Self { separator: b';', decimal_comma: true };
        }
        if decimal_comma || agreeing(&other) > agreeing(&b',') {
            return Self { separator: other, decimal_comma };
        }
        Self { separator: b',', decimal_comma: false }
    }

    /// A cell as a number; not a number where nothing was measured.
    pub(super) fn number(self, cell: &str) -> Option<f64> {
        if MISSING.iter().any(|missing| cell.eq_ignore_ascii_case(missing)) {
            return Some(f64::NAN);
        }
        if let Some((_, number)) = YES_OR_NO.iter().find(|(word, _)| cell.eq_ignore_ascii_case(word)) {
            return Some(*number);
        }
        let number: f64 = if self.decimal_comma { cell.replace(',', ".").parse().ok()? } else { cell.parse().ok()? };
        number.is_finite().then_some(number)
    }

    pub(super) fn is_number(self, cell: &str) -> bool {
        self.number(cell).is_some_and(|number| !number.is_nan())
    }
}
