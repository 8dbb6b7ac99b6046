//! A map as it is drawn: a measure over two parameters, whole or as far as it has come.

use std::fmt::Write as _;

use crate::measure::Server;
use crate::report::figures::axis::ends_within;
use crate::report::figures::table::{Cell as Written, Table, cells};
use crate::report::format::share;
use crate::scenario::Scenario;
use crate::scenario::parameters::{Parameter, Value};
use crate::study::map::{Cell, Found, Map, Question};
use crate::study::sweep::Column;

use super::{in_unit, plain, signed, with_unit};

/// How a place of a map fails, the worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Failure {
    /// The two values do not go together; nothing was run.
    Refused,
    /// Latency grows over the run.
    Unsteady,
    /// The measure has no value.
    Nothing,
    /// A line of the budget is not met.
    OverBudget,
}

impl Failure {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Refused, Self::Unsteady, Self::Nothing, Self::OverBudget];

    /// How a cell fails; none where it does not.
    pub fn of(cell: &Cell) -> Option<Self> {
        if cell.refused.is_some() {
            Some(Self::Refused)
        } else if !cell.steady {
            Some(Self::Unsteady)
        } else if cell.value.is_none() {
            Some(Self::Nothing)
        } else if !cell.within_budget() {
            Some(Self::OverBudget)
        } else {
            None
        }
    }

    /// In a legend.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Refused => "values that do not go together",
            Self::Unsteady => "not steady",
            Self::Nothing => "nothing to measure",
            Self::OverBudget => "not within budget",
        }
    }
}

/// A map.
#[derive(Debug, Clone)]
pub struct Grid {
    /// The parameters across and up.
    pub parameters: [&'static Parameter; 2],
    /// Their values.
    pub values: [Vec<Value>; 2],
    /// The measure.
    pub measure: Column,
    cells: Vec<Option<Cell>>,
    /// For every place the cell that stands for it, and how many that one stands for.
    sources: Vec<Option<(usize, usize)>>,
    /// What the whole says; none until it is whole.
    pub whole: Option<Map>,
}

impl Grid {
    /// A map of which nothing has come.
    pub fn new(question: &Question) -> Self {
        let count = question.x.values.len() * question.y.values.len();
        Self {
            parameters: [question.x.parameter, question.y.parameter],
            values: [question.x.values.clone(), question.y.values.clone()],
            measure: Column::of(question.measure),
            cells: vec![None; count],
            sources: vec![None; count],
            whole: None,
        }
    }

    /// The whole of it.
    #[must_use]
    pub fn whole(mut self, map: Map) -> Self {
        self.cells = map.cells.iter().cloned().map(Some).collect();
        self.sources = (0..self.cells.len()).map(|at| Some((at, 1))).collect();
        self.whole = Some(map);
        self
    }

    /// Takes in one cell, which stands for those beyond it until finer ones come.
    pub fn take(&mut self, found: Found) {
        let (width, height) = (self.values[0].len(), self.values[1].len());
        let at = found.y * width + found.x;
        if at >= self.cells.len() {
            return;
        }
        self.cells[at] = Some(found.cell);
        for y in found.y..(found.y + found.block).min(height) {
            for x in found.x..(found.x + found.block).min(width) {
                let source = &mut self.sources[y * width + x];
                if source.is_none_or(|(_, block)| block >= found.block) {
                    *source = Some((at, found.block));
                }
            }
        }
    }

    /// How many cells across and up.
    pub fn size(&self) -> [usize; 2] {
        self.values.each_ref().map(Vec::len)
    }

    /// How many cells have come.
    pub fn come(&self) -> usize {
        self.cells.iter().flatten().count()
    }

    /// What stands at a place: its own cell, or the coarser one until it comes.
    pub fn at(&self, x: usize, y: usize) -> Option<&Cell> {
        let (source, _) = (*self.sources.get(y * self.values[0].len() + x)?)?;
        self.cells[source].as_ref()
    }

    /// The ways in which places fail, the worst first.
    pub fn failures(&self) -> Vec<Failure> {
        let found: Vec<Failure> = self.cells.iter().flatten().filter_map(Failure::of).collect();
        Failure::ALL.into_iter().filter(|failure| found.contains(failure)).collect()
    }

    /// Least and greatest value for the colours; where a few are far above the rest, the greatest is below them.
    pub fn range(&self) -> Option<[f64; 2]> {
        ends_within(self.cells.iter().flatten().filter_map(|cell| cell.value).collect(), 0.5, 2.5)
    }

    /// The cell that a scenario has now, if it is one of these.
    pub fn now(&self, scenario: &Scenario) -> Option<[usize; 2]> {
        let place = |axis: usize| {
            let now = self.parameters[axis].get(scenario)?;
            self.values[axis].iter().position(|value| *value == now)
        };
        Some([place(0)?, place(1)?])
    }

    /// Whether some values lie beyond the greatest of the colours.
    pub fn reaches_beyond(&self, high: f64) -> bool {
        self.cells.iter().flatten().any(|cell| cell.value.is_some_and(|value| value > high))
    }

    /// The cell nearest to what a scenario has now, where both values lie within the map, and whether it is exactly that.
    pub fn near(&self, scenario: &Scenario) -> Option<([usize; 2], bool)> {
        if let Some(exact) = self.now(scenario) {
            return Some((exact, true));
        }
        let place = |axis: usize| {
            let now = self.parameters[axis].get(scenario)?;
            let numbers = self.values[axis].iter().map(Value::as_f64).collect::<Option<Vec<f64>>>();
            let Some((numbers, now_at)) = numbers.zip(now.as_f64()) else {
                return self.values[axis].iter().position(|value| *value == now);
            };
            let within =
                numbers.iter().any(|number| *number <= now_at) && numbers.iter().any(|number| *number >= now_at);
            let far = |at: &usize| (numbers[*at] - now_at).abs();
            (0..numbers.len()).min_by(|a, b| far(a).total_cmp(&far(b))).filter(|_| within)
        };
        Some(([place(0)?, place(1)?], false))
    }

    /// The values of a place in words.
    pub fn values_in_words(&self, [x, y]: [usize; 2]) -> String {
        let [across, up] = self.parameters;
        let (at_x, at_y) = (across.format(&self.values[0][x]), up.format(&self.values[1][y]));
        format!("{} {at_x}, {} {at_y}", across.full_label(), up.full_label())
    }

    /// The best cell in words.
    pub fn best_in_words(&self) -> Option<String> {
        let map = self.whole.as_ref()?;
        let best = map.best?;
        let value = map.cell(best[0], best[1]).value?;
        let shown = self.measure.for_people();
        let value = in_unit(plain(value * shown.factor), shown.unit);
        Some(format!("best {value} at {}", self.values_in_words(best)))
    }

    /// What is known of a place.
    pub fn told(&self, [x, y]: [usize; 2]) -> String {
        let mut text = self.values_in_words([x, y]);
        let Some(cell) = self.at(x, y) else { return format!("{text}\nnot there yet") };
        if let Some(why) = &cell.refused {
            return format!("{text}\nCannot be: {why}");
        }
        let shown = self.measure.for_people();
        let name = with_unit(self.measure.label, shown.unit);
        let value = cell.value.map_or_else(|| "nothing to measure".to_owned(), |value| plain(value * shown.factor));
        let _ = write!(text, "\n{name}: {value}");
        if let (Some(baseline), Some(change)) = (cell.baseline, cell.difference()) {
            let [baseline, change] = [baseline, change].map(|value| value * shown.factor);
            let _ = write!(text, "\nbaseline {}, difference {}", plain(baseline), signed(change));
        }
        if !cell.steady {
            text.push_str("\nnot steady: latency grows");
        }
        text.push_str(if cell.within_budget() { "\nevery line of the budget met" } else { "\nnot within budget" });
        for (server, name) in [(Server::Encoder, "encoder"), (Server::Link, "link"), (Server::Decoder, "decoder")] {
            if let Some(load) = cell.offered_load.of(server) {
                let _ = write!(text, "\n{name} offered {}", share(load));
            }
        }
        text
    }

    /// A row a cell.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Map", &COLUMNS);
        let width = self.values[0].len();
        for (at, cell) in self.cells.iter().enumerate() {
            let Some(cell) = cell else { continue };
            let value = |axis: usize, at: usize| {
                let value = &self.values[axis][at];
                value.as_f64().map_or_else(|| self.parameters[axis].format(value).into(), Written::Float)
            };
            table.row(cells![
                self.parameters[0].path.as_str(),
                value(0, at % width),
                self.parameters[1].path.as_str(),
                value(1, at / width),
                self.measure.name,
                cell.value,
                self.measure.unit,
                cell.baseline,
                cell.difference(),
                Written::yes(cell.steady),
                Written::yes(cell.within_budget()),
                cell.refused.clone()
            ]);
        }
        table
    }
}

const COLUMNS: [&str; 12] = [
    "parameter_across",
    "across",
    "parameter_up",
    "up",
    "measure",
    "value",
    "unit",
    "baseline",
    "difference",
    "steady",
    "within_budget",
    "refused",
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::measures;
    use crate::study::vary::Vary;
    use crate::study::{Runner, Watch, map::map};
    use std::sync::Mutex;

    #[test]
    fn cells_that_come_coarse_to_fine_cover_the_map_and_make_the_whole() {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup, scenario.content.cv) = (200, 50, 0.0);
        let question = Question {
            x: Vary::parse("slices.count=1..6").unwrap(),
            y: Vary::parse("encode.slice_overhead_ms=0.05..0.5:5").unwrap(),
            measure: measures::usual(),
        };
        let cell = Cell { value: Some(30.0), steady: true, met: vec![true, true], ..Cell::default() };
        assert_eq!(Failure::of(&cell), None);
        let over = Cell { met: vec![true, false], ..cell.clone() };
        let nothing = Cell { value: None, ..over.clone() };
        let unsteady = Cell { steady: false, ..nothing.clone() };
        let refused = Cell { refused: Some("no".to_owned()), ..unsteady.clone() };
        assert_eq!([refused, unsteady, nothing, over].each_ref().map(Failure::of), Failure::ALL.map(Some));
        let coming = Mutex::new((Grid::new(&question), 0));
        let found = |found: Found| {
            let (grid, uncovered) = &mut *coming.lock().unwrap();
            let first = grid.come() == 0 && (found.x, found.y) == (0, 0);
            grid.take(found);
            if first {
                *uncovered = (0..30).filter(|at| grid.at(at % 6, at / 6).is_none()).count();
            }
        };
        let whole = map(&scenario, None, &question, &Runner::new(), &Watch::nobody(), found).unwrap();
        let (coming, uncovered) = coming.into_inner().unwrap();
        assert_eq!((coming.come(), uncovered), (30, 0), "the first cell stands for all");
        for (x, y) in (0..30).map(|at| (at % 6, at / 6)) {
            assert_eq!(coming.at(x, y).unwrap().value, whole.cell(x, y).value);
        }
        let grid = Grid::new(&question).whole(whole);
        assert!(grid.failures().iter().all(|failure| *failure == Failure::OverBudget), "{:?}", grid.failures());
        assert!(grid.best_in_words().unwrap().starts_with("best "));
        assert_eq!((grid.table().rows.len(), grid.now(&scenario)), (30, None));
        scenario.encode.slice_overhead_ms = 0.05;
        scenario.slices.count = 3;
        assert_eq!(grid.now(&scenario), Some([2, 0]));
        scenario.encode.slice_overhead_ms = 0.06;
        assert_eq!((grid.now(&scenario), grid.near(&scenario)), (None, Some(([2, 0], false))));
        scenario.slices.count = 9;
        assert_eq!(grid.near(&scenario), None, "it lies beyond the map");
    }
}
