//! Rounding of what adds up, so that what is shown still does; and of two such lists side by side, so that what is shown of
//! their changes is none that rounding made.

/// A remainder up to this is that of a whole step, by the arithmetic of floats \[steps\].
const HAIR: f64 = 1e-6;

/// Values in whole steps of the last decimal, and how many of them are to be rounded up.
struct Down {
    steps: Vec<f64>,
    up: usize,
}

impl Down {
    /// None where the values miss the total by a step or more, or one is not finite.
    fn of(values: &[f64], total: f64, per_one: f64) -> Option<Self> {
        let steps: Vec<f64> = values.iter().map(|value| (value * per_one + HAIR).floor()).collect();
        let up = (total * per_one).round() - steps.iter().sum::<f64>();
        let adds_up = ((values.iter().sum::<f64>() - total) * per_one).abs() < 1.0;
        (adds_up && (0.0..=values.len() as f64).contains(&up)).then_some(Self { steps, up: up as usize })
    }
}

/// Values that add up to a total, rounded to so many decimals so that what is shown still does: each is rounded down, and
/// as many of them as the rounded total asks for are rounded up instead, those with the largest remainders (largest
/// remainder method), the first of equals. None is off by a whole step of the last decimal. The total may itself be as it is
/// shown. Where the values miss it by a step or more, or one is not finite, each is rounded on its own.
pub fn adding_up(values: &[f64], total: f64, decimals: usize) -> Vec<f64> {
    let per_one = 10f64.powi(decimals as i32);
    let Some(Down { mut steps, up }) = Down::of(values, total, per_one) else {
        return values.iter().map(|value| (value * per_one).round() / per_one).collect();
    };
    let mut places: Vec<usize> = (0..values.len()).collect();
    let rest = |place: &usize| values[*place] * per_one - steps[*place];
    places.sort_by(|one, two| rest(two).total_cmp(&rest(one)));
    for place in &places[..up] {
        steps[*place] += 1.0;
    }
    steps.iter().map(|steps| steps / per_one).collect()
}

/// The same of values that may not exist; where one, or the total, does not, all stay as they are.
pub fn adding_up_where_known(values: &[Option<f64>], total: Option<f64>, decimals: usize) -> Vec<Option<f64>> {
    let known = values.iter().copied().collect::<Option<Vec<f64>>>().zip(total);
    known.map_or_else(
        || values.to_vec(),
        |(known, total)| adding_up(&known, total, decimals).into_iter().map(Some).collect(),
    )
}

/// Two lists of values side by side, each rounded down or up so that it adds up to its total, as by [`adding_up`]. Of the
/// ways to do so that one is taken in which the fewest rows show a change where their own rounds to none; of those the one
/// nearest to both values and the change of every row. Where one list does not add up, each is rounded as by [`adding_up`].
pub fn adding_up_beside(values: [&[f64]; 2], totals: [f64; 2], decimals: usize) -> [Vec<f64>; 2] {
    let per_one = 10f64.powi(decimals as i32);
    let down = [0, 1].map(|side| Down::of(values[side], totals[side], per_one));
    let found = match &down {
        [Some(one), Some(other)] => ups(values, [one, other], per_one).map(|ups| ([one, other], ups)),
        _ => None,
    };
    let Some((down, ups)) = found else {
        return [0, 1].map(|side| adding_up(values[side], totals[side], decimals));
    };
    [0, 1].map(|side| {
        let steps = down[side].steps.iter().zip(&ups);
        steps.map(|(steps, up)| (steps + f64::from(u8::from(up[side]))) / per_one).collect()
    })
}

/// The ways to round a row: which of its two values go up.
const WAYS: [[bool; 2]; 4] = [[false, false], [false, true], [true, false], [true, true]];

/// What it costs to show a change that is none, beside errors of a few steps squared.
const MADE_UP: f64 = 1e6;

/// For every row which of its values are rounded up, so that as many are on either side as must be and the cost of all
/// rows is least: over the rows one by one, for every number of those rounded up so far (dynamic programming). None where no
/// way has that many.
fn ups(values: [&[f64]; 2], down: [&Down; 2], per_one: f64) -> Option<Vec<[bool; 2]>> {
    let width = down[1].up + 1;
    let at = |[one, other]: [usize; 2]| one * width + other;
    let counts = || (0..=down[0].up).flat_map(|one| (0..width).map(move |other| [one, other]));
    let mut least = vec![f64::INFINITY; (down[0].up + 1) * width];
    least[0] = 0.0;
    let mut taken = Vec::with_capacity(values[0].len());
    let of_side =
        |side: usize| values[side].iter().map(move |value| value * per_one).zip(down[side].steps.iter().copied());
    for (one, other) in of_side(0).zip(of_side(1)) {
        let costs = WAYS.map(|up| cost([one, other], up));
        let best = counts().map(|count| {
            let ways = WAYS.iter().zip(costs).filter_map(|(up, cost)| {
                let before = [count[0].checked_sub(up[0].into())?, count[1].checked_sub(up[1].into())?];
                Some((least[at(before)] + cost, *up))
            });
            ways.min_by(|one, two| one.0.total_cmp(&two.0)).unwrap_or((f64::INFINITY, [false; 2]))
        });
        let (costs, ways): (Vec<f64>, Vec<[bool; 2]>) = best.unzip();
        least = costs;
        taken.push(ways);
    }
    let mut count = [down[0].up, down[1].up];
    least[at(count)].is_finite().then_some(())?;
    let mut ups: Vec<[bool; 2]> = Vec::with_capacity(taken.len());
    for ways in taken.iter().rev() {
        let up = ways[at(count)];
        count = [count[0] - usize::from(up[0]), count[1] - usize::from(up[1])];
        ups.push(up);
    }
    ups.reverse();
    Some(ups)
}

/// What a way to round a row costs; `sides` are its values and those rounded down, in steps. What is a whole step stays so.
fn cost(sides: [(f64, f64); 2], up: [bool; 2]) -> f64 {
    let rests = sides.map(|(value, down)| value - down);
    if rests.iter().zip(up).any(|(rest, up)| up && *rest <= HAIR) {
        return f64::INFINITY;
    }
    let errors = [0, 1].map(|side| f64::from(u8::from(up[side])) - rests[side]);
    let change = sides[1].0 - sides[0].0;
    let off = errors[1] - errors[0];
    let made_up = change.abs() < 0.5 && (change + off).abs() > 0.5;
    errors[0].powi(2) + errors[1].powi(2) + off.powi(2) + if made_up { MADE_UP } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounded_parts_add_up_to_the_rounded_total() {
        // 1.44 + 1.44 + 1.44 = 4.32: each alone would be 1.4, together 4.2.
        assert_eq!(adding_up(&[1.44, 1.44, 1.44], 4.32, 1), [1.5, 1.4, 1.4]);
        // 0.46 + 0.46 + 0.46 = 1.38: each alone would be 0.5, together 1.5.
        assert_eq!(adding_up(&[0.46, 0.46, 0.46], 1.38, 1), [0.5, 0.5, 0.4]);
        assert_eq!(adding_up(&[0.0, 0.3, 0.1, 2.0], 2.4, 1), [0.0, 0.3, 0.1, 2.0]);
        assert_eq!(adding_up(&[0.05, 0.0], 0.05, 1), [0.1, 0.0]);
        // What adds up to something else is left to itself.
        assert_eq!(adding_up(&[1.26, 1.26], 9.0, 1), [1.3, 1.3]);
        assert!(adding_up(&[f64::NAN], 1.0, 1)[0].is_nan());
        assert!(adding_up(&[], 0.0, 1).is_empty());
        let known = [Some(1.44), Some(1.44)];
        assert_eq!(adding_up_where_known(&known, Some(2.88), 1), [Some(1.5), Some(1.4)]);
        assert_eq!(adding_up_where_known(&[Some(1.44), None], Some(2.88), 1), [Some(1.44), None]);
        assert_eq!(adding_up_where_known(&known, None, 1), known);
    }

    #[test]
    fn what_is_the_same_on_both_sides_is_shown_so() {
        // A link of 0.96 and 0.139 ms with a delay of 0.15 ms on both sides, within 1.1 and 0.3.
        let values: [&[f64]; 2] = [&[0.96, 0.15], &[0.139, 0.15]];
        assert_eq!([adding_up(values[0], 1.1, 1), adding_up(values[1], 0.3, 1)], [[1.0, 0.1], [0.1, 0.2]]);
        let shown = adding_up_beside(values, [1.1, 0.3], 1);
        assert_eq!(shown, [[0.9, 0.2], [0.1, 0.2]].map(Vec::from), "the lesser error of the two ways");
        // Where the totals forbid it, each adds up for itself.
        assert_eq!(adding_up_beside([&[0.15], &[0.15]], [0.1, 0.2], 1), [[0.1], [0.2]].map(Vec::from));
        assert_eq!(adding_up_beside([&[], &[]], [0.0, 0.0], 1), [Vec::<f64>::new(), Vec::new()]);
        let lone = adding_up_beside([&[1.44, 1.44, 1.44], &[0.0; 3]], [4.32, f64::NAN], 1);
        assert_eq!(lone, [[1.5, 1.4, 1.4], [0.0; 3]].map(Vec::from), "one side of which nothing is known");
    }

    #[test]
    fn a_change_that_is_none_is_not_made_up_by_what_is_left() {
        // Three rows that stay to 0.02, one that gives 3: apart, the third of 6.46 and 6.44 would be 6.5 and 6.4.
        let values: [&[f64]; 2] = [&[1.86, 5.14, 6.46, 4.92], &[1.85, 5.14, 6.44, 1.91]];
        let totals = [18.38, 15.34];
        let apart = [0, 1].map(|side| adding_up(values[side], totals[side], 1));
        assert!((0..3).any(|row| (apart[0][row] - apart[1][row]).abs() > 0.05), "{apart:?}");
        let shown = adding_up_beside(values, totals, 1);
        for row in 0..3 {
            assert!((shown[0][row] - shown[1][row]).abs() < 0.05, "{shown:?}");
        }
        for side in 0..2 {
            assert!((shown[side].iter().sum::<f64>() - (10.0 * totals[side]).round() / 10.0).abs() < 1e-9, "{shown:?}");
            for (one, value) in shown[side].iter().zip(values[side]) {
                assert!((one - value).abs() < 0.1, "{shown:?}");
            }
        }
    }
}
