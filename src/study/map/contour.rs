//! Where a field on a grid crosses 0: marching squares (Lorensen and Cline's marching cubes, 1987, in the plane), the
//! pieces joined to lines.

use std::collections::BTreeMap;

/// An edge between two neighbouring points of the grid: whether it goes up, and the point that it starts from.
type Edge = (bool, usize, usize);

/// The lines along which a field crosses 0; `field` holds rows of `width` points, and points without a value are gaps.
/// Points of a line are places across and up, in numbers of grid points; a closed line ends where it began.
pub(super) fn contour(field: &[Option<f64>], width: usize) -> Vec<Vec<[f64; 2]>> {
    let height = field.len().checked_div(width).unwrap_or(0);
    let grid = Grid { field, width };
    let mut neighbours: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
    for y in 0..height.saturating_sub(1) {
        for x in 0..width.saturating_sub(1) {
            for [a, b] in grid.pieces(x, y) {
                neighbours.entry(a).or_default().push(b);
                neighbours.entry(b).or_default().push(a);
            }
        }
    }
    let mut lines = Vec::new();
    // Lines with ends first, from an end on; what is left is closed.
    let ends: Vec<Edge> = neighbours.iter().filter(|(_, next)| next.len() == 1).map(|(edge, _)| *edge).collect();
    for end in ends {
        lines.extend(follow(&mut neighbours, end));
    }
    while let Some(edge) = neighbours.keys().next().copied() {
        lines.extend(follow(&mut neighbours, edge));
    }
    lines.into_iter().map(|line| line.into_iter().map(|edge| grid.crossing(edge)).collect()).collect()
}

/// Takes the line that begins at an edge out of the pieces.
fn follow(neighbours: &mut BTreeMap<Edge, Vec<Edge>>, start: Edge) -> Option<Vec<Edge>> {
    let mut line = vec![start];
    let mut at = start;
    while let Some(next) = neighbours.get_mut(&at).and_then(Vec::pop) {
        if let Some(back) = neighbours.get_mut(&next)
            && let Some(place) = back.iter().position(|edge| *edge == at)
        {
            back.swap_remove(place);
        }
        if neighbours.get(&at).is_some_and(Vec::is_empty) {
            neighbours.remove(&at);
        }
        line.push(next);
        at = next;
    }
    neighbours.remove(&at);
    (line.len() > 1).then_some(line)
}

struct Grid<'a> {
    field: &'a [Option<f64>],
    width: usize,
}

impl Grid<'_> {
    fn at(&self, x: usize, y: usize) -> Option<f64> {
        self.field[y * self.width + x]
    }

    /// The pieces of line within the square above and right of a point.
    fn pieces(&self, x: usize, y: usize) -> Vec<[Edge; 2]> {
        let corners = [self.at(x, y), self.at(x + 1, y), self.at(x + 1, y + 1), self.at(x, y + 1)];
        let [Some(here), Some(right), Some(across), Some(above)] = corners else { return Vec::new() };
        let inside = |value: f64| value <= 0.0;
        // Bottom, right, top, left, with the corners that each lies between.
        let edges: [(Edge, f64, f64); 4] = [
            ((false, x, y), here, right),
            ((true, x + 1, y), right, across),
            ((false, x, y + 1), above, across),
            ((true, x, y), here, above),
        ];
        let crossed: Vec<Edge> =
            edges.iter().filter(|(_, from, to)| inside(*from) != inside(*to)).map(|(edge, ..)| *edge).collect();
        match crossed[..] {
            [one, other] => vec![[one, other]],
            [below, beyond, top, left] => {
                // Two corners across are inside: the middle says whether they are joined.
                let middle = (here + right + across + above) / 4.0;
                if inside(middle) == inside(here) {
                    vec![[below, beyond], [top, left]]
                } else {
                    vec![[left, below], [beyond, top]]
                }
            }
            _ => Vec::new(),
        }
    }

    /// Where the field crosses 0 on an edge, in a straight line between its ends.
    fn crossing(&self, (up, x, y): Edge) -> [f64; 2] {
        let (from, to) = (self.at(x, y), if up { self.at(x, y + 1) } else { self.at(x + 1, y) });
        let share = from.zip(to).map_or(0.5, |(from, to)| from / (from - to));
        let (x, y) = (x as f64, y as f64);
        if up { [x, y + share] } else { [x + share, y] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(width: usize, height: usize, value: impl Fn(f64, f64) -> f64) -> Vec<Option<f64>> {
        (0..width * height).map(|at| Some(value((at % width) as f64, (at / width) as f64))).collect()
    }

    #[test]
    fn a_plane_is_crossed_along_its_own_line() {
        // x + 2 y = 7.5 across a grid of 9 by 6.
        let lines = contour(&field(9, 6, |x, y| x + 2.0 * y - 7.5), 9);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].iter().all(|[x, y]| (x + 2.0 * y - 7.5).abs() < 1e-12));
        let ends = [lines[0][0], *lines[0].last().unwrap()];
        assert!(ends.contains(&[7.5, 0.0]) && ends.iter().any(|[x, _]| *x == 0.0), "{ends:?}");
    }

    #[test]
    fn a_circle_is_closed_and_goes_round_once() {
        let lines = contour(&field(21, 21, |x, y| (x - 10.0).hypot(y - 10.0) - 6.3), 21);
        assert_eq!(lines.len(), 1);
        let line = &lines[0];
        let [first, last] = [line[0], *line.last().unwrap()];
        assert!((first[0] - last[0]).hypot(first[1] - last[1]) < 1e-12);
        assert!(line.iter().all(|[x, y]| ((x - 10.0).hypot(y - 10.0) - 6.3).abs() < 0.05));
        let length: f64 = line.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum();
        assert!((length / (std::f64::consts::TAU * 6.3) - 1.0).abs() < 0.01, "{length}");
    }

    #[test]
    fn gaps_break_lines_and_the_middle_of_a_saddle_joins_them() {
        let mut broken = field(9, 6, |x, _| x - 3.5);
        broken[2 * 9 + 3] = None;
        assert_eq!(contour(&broken, 9).len(), 2);
        // The middle of -3, 1, 1, -3 is below 0 as both its corners: the line cuts off the two others.
        let saddle = |a, b| contour(&[Some(a), Some(b), Some(b), Some(a)], 2);
        let far = |line: &Vec<[f64; 2]>, place: fn(&[f64; 2]) -> f64| {
            line.iter().all(|point| (place(point) - 0.75).abs() < 1e-12)
        };
        let joined = saddle(-3.0, 1.0);
        assert!(joined.len() == 2 && joined.iter().all(|line| far(line, |[x, y]| (x - y).abs())), "{joined:?}");
        // That of -1, 3, 3, -1 is above 0: the line cuts off each of them.
        let apart = saddle(-1.0, 3.0);
        assert!(apart.len() == 2 && apart.iter().all(|line| far(line, |[x, y]| (x + y - 1.0).abs())), "{apart:?}");
        assert_eq!(contour(&field(4, 4, |_, _| 1.0), 4), Vec::<Vec<[f64; 2]>>::new());
        assert_eq!(contour(&[], 0), Vec::<Vec<[f64; 2]>>::new());
    }
}
