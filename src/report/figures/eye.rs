//! One eye's field of view with the density of its pixels, and what the coded picture asks of the codec, baseline and
//! candidate.
//!
//! The display's pixels are taken to be spread evenly over the angle, as the summary takes them: an axis of `n` pixels over
//! `f` degrees has `n / f` pixels per degree, times the layout's density there. A flat panel without a lens would be
//! sparser at its centre and denser at its edge (tangent); what a lens makes of it is no part of the model.

mod limits;
mod table;

pub use limits::{Bar, Limits, Needed, Used};

use crate::scenario::Layout;
use crate::study::Answer;

/// One eye of one design. Angles from the centre of the field, to the right and up \[deg\].
#[derive(Debug, Clone, PartialEq)]
pub struct Eye {
    /// Width and height of the field \[deg\].
    pub fov_deg: [f64; 2],
    /// Pixels of the display, across and up \[px\].
    pub eye_px: [f64; 2],
    /// Coded size of the eye \[px\].
    pub coded_px: (u32, u32),
    /// What is coded where.
    pub layout: Layout,
    /// Elevations of the borders between slices that this eye's picture is cut at, from the top \[deg\].
    pub borders_deg: Vec<f64>,
    /// Slices of a frame.
    pub slices: u32,
    /// Horizontal pixels per degree at the centre and at the edge.
    pub px_per_deg: [f64; 2],
}

/// How densely a place is coded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Density {
    /// Pixels per degree, across and up.
    pub px_per_deg: [f64; 2],
    /// Coded pixels for every pixel of the display.
    pub share: f64,
}

impl Eye {
    fn of(answer: &Answer) -> Self {
        let Answer { scenario, summary, table, .. } = answer;
        let display = &scenario.display;
        // Eyes are stacked where the host renders in parts; the picture of the first is looked at.
        let stacked = if scenario.host.parts > 1 { f64::from(display.eyes) } else { 1.0 };
        let layout = scenario.pixels.layout;
        let mut done = 0.0;
        let shares = table.row_shares.of(scenario.run.warmup as usize);
        let borders = shares.iter().filter_map(|share| {
            done += share * stacked;
            (done < 1.0 - 1e-9).then(|| elevation(layout, done, display.fov_deg.1))
        });
        Self {
            fov_deg: [display.fov_deg.0, display.fov_deg.1],
            eye_px: [f64::from(display.eye_px.0), f64::from(display.eye_px.1)],
            coded_px: scenario.coded_eye_px(),
            layout,
            borders_deg: borders.collect(),
            slices: scenario.slices.count,
            px_per_deg: [summary.picture.px_per_deg_center, summary.picture.px_per_deg_edge],
        }
    }

    /// Density at a place; none outside the field.
    pub fn density(&self, at_deg: [f64; 2]) -> Option<Density> {
        let out = [0, 1].map(|axis| 2.0 * at_deg[axis].abs() / self.fov_deg[axis]);
        if out.iter().any(|out| *out > 1.0 + 1e-9) {
            return None;
        }
        let density = out.map(|out| self.layout.density(out));
        let px_per_deg = [0, 1].map(|axis| self.eye_px[axis] * density[axis] / self.fov_deg[axis]);
        Some(Density { px_per_deg, share: density[0] * density[1] })
    }

    /// Coded pixels per square degree at the centre.
    pub fn densest(&self) -> f64 {
        self.density([0.0, 0.0]).map_or(0.0, |density| density.px_per_deg[0] * density.px_per_deg[1])
    }

    /// Where so much of the centre's pixels is left, as a line through a quarter of the field from the horizontal axis to the
    /// vertical one \[deg\]. Empty where the density does not fall so far, or not at all.
    pub fn contour(&self, left: f64) -> Vec<[f64; 2]> {
        const STEPS: u32 = 64;
        let Layout::Foveated { center, edge_density } = self.layout else { return Vec::new() };
        let (floor, span) = (edge_density, 1.0 - edge_density);
        if span <= 0.0 || center >= 1.0 || left >= 1.0 {
            return Vec::new();
        }
        let out = |density: f64| (center + (1.0 - center) * (1.0 - density) / span).min(1.0);
        // Densities of the two axes have this product; both lie between the edge's and 1.
        let least = left.max(floor);
        let steps = (0..=STEPS).map(|step| least.powf(1.0 - f64::from(step) / f64::from(STEPS)));
        let places = steps.filter(|across| left / across >= floor).map(|across| {
            let out = [out(across), out(left / across)];
            [0, 1].map(|axis| out[axis] * self.fov_deg[axis] / 2.0)
        });
        let mut places: Vec<[f64; 2]> = places.collect();
        if let (true, Some([_, up]), Some([right, _])) =
            (left >= floor, places.last().copied(), places.first().copied())
        {
            // At full density an axis has no slope: the line goes on straight to the axis.
            places.insert(0, [right, 0.0]);
            places.push([0.0, up]);
        }
        places
    }

    /// Which slice codes a place of that elevation, from 0.
    pub fn slice_at(&self, up_deg: f64) -> usize {
        self.borders_deg.iter().take_while(|border| **border > up_deg).count()
    }
}

/// Elevation of what lies so far down in an eye's coded rows, 0 to 1 \[deg\].
fn elevation(layout: Layout, down: f64, fov_deg: f64) -> f64 {
    let from_centre = 1.0 - 2.0 * down;
    layout.reach_of(from_centre.abs()).copysign(from_centre) * fov_deg / 2.0
}

/// Both designs' fields and limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Eyes {
    /// Baseline and candidate.
    pub sides: [Eye; 2],
    /// What both ask of the codec.
    pub limits: Limits,
}

impl Eyes {
    /// The fields of two answers.
    pub fn new(answers: [&Answer; 2]) -> Self {
        Self { sides: answers.map(Eye::of), limits: Limits::new(answers) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Scenario, presets};
    use crate::study::{self, Workspace};

    fn answer(mut scenario: Scenario) -> Answer {
        scenario.run.frames = 60;
        scenario.run.warmup = 10;
        study::answer(&scenario, &mut Workspace::new())
    }

    fn laid_out(layout: Layout) -> Eye {
        let mut scenario = Scenario::default();
        scenario.pixels.layout = layout;
        Eye::of(&answer(scenario))
    }

    const FOVEATED: Layout = Layout::Foveated { center: 0.3, edge_density: 0.4 };

    /// Against the summary's numbers, in every preset and layout.
    #[test]
    fn density_at_centre_and_edge_is_the_summarys() {
        for preset in presets::all() {
            for layout in [Layout::Full, Layout::Uniform { scale: 0.7 }, FOVEATED, preset.scenario().pixels.layout] {
                let mut scenario = preset.scenario();
                scenario.pixels.layout = layout;
                let answer = answer(scenario);
                let eye = Eye::of(&answer);
                let picture = &answer.summary.picture;
                let half = eye.fov_deg[0] / 2.0;
                for (at, expected) in [
                    (0.0, picture.px_per_deg_center),
                    (half, picture.px_per_deg_edge),
                    (-half, picture.px_per_deg_edge),
                ] {
                    let found = eye.density([at, 0.0]).unwrap().px_per_deg[0];
                    assert!((found / expected - 1.0).abs() < 1e-14, "{} {layout:?}: {found}, {expected}", preset.slug);
                }
                assert_eq!(eye.density([half + 0.1, 0.0]), None);
            }
        }
    }

    /// By the midpoint rule: pixels per degree over the field are the coded pixels, to the rounding up to even numbers.
    #[test]
    fn density_over_the_field_adds_up_to_the_coded_size() {
        for layout in [Layout::Full, Layout::Uniform { scale: 0.5 }, FOVEATED] {
            let eye = laid_out(layout);
            for (axis, coded) in [eye.coded_px.0, eye.coded_px.1].into_iter().enumerate() {
                let step = eye.fov_deg[axis] / 10_000.0;
                let sum: f64 = (0..10_000)
                    .map(|index| {
                        let mut at = [0.0, 0.0];
                        at[axis] = (f64::from(index) + 0.5) * step - eye.fov_deg[axis] / 2.0;
                        eye.density(at).unwrap().px_per_deg[axis] * step
                    })
                    .sum();
                let over = f64::from(coded) - sum;
                assert!((-1e-3..2.0).contains(&over), "{layout:?}: {sum} against {coded}");
            }
        }
    }

    /// 20.48 px/deg at full density, 0.7 of it half way between 0.3 and 1 of the way out; worked by hand.
    #[test]
    fn density_falls_in_a_straight_line() {
        let eye = laid_out(FOVEATED);
        let found = eye.density([0.65 * 50.0, 0.0]).unwrap();
        assert!((found.px_per_deg[0] - 20.48 * 0.7).abs() < 1e-9);
        assert!((found.share - 0.7).abs() < 1e-12);
        // 2176 px over 96 deg.
        assert!((found.px_per_deg[1] - 2176.0 / 96.0).abs() < 1e-9);
        let corner = eye.density([50.0, -48.0]).unwrap();
        assert!((corner.share - 0.16).abs() < 1e-12);
    }

    #[test]
    fn contours_lie_where_that_much_is_left() {
        let eye = laid_out(FOVEATED);
        for left in [0.9, 0.5, 0.25] {
            let line = eye.contour(left);
            assert!(line.len() > 20, "{left}: {} points", line.len());
            for at in &line {
                assert!((eye.density(*at).unwrap().share - left).abs() < 1e-9, "{left} at {at:?}");
            }
        }
        assert!(eye.contour(0.1).is_empty());
        assert!(laid_out(Layout::Full).contour(0.5).is_empty());
    }

    /// Eight slices of 17 block rows each over 96 deg: 12 deg each. Foveated, 13 of 108 block rows from the top reach down to
    /// 31.4 deg, worked by hand: the rows at the edge are sparse and cover more angle.
    #[test]
    fn slices_cut_the_field_where_their_rows_lie() {
        let eye = laid_out(Layout::Full);
        let expected = [36.0, 24.0, 12.0, 0.0, -12.0, -24.0, -36.0];
        assert_eq!(eye.borders_deg.len(), 7);
        for (found, expected) in eye.borders_deg.iter().zip(expected) {
            assert!((found - expected).abs() < 1e-9, "{found}, {expected}");
        }
        assert_eq!([47.0, 36.5, 35.0, -47.0].map(|up| eye.slice_at(up)), [0, 0, 1, 7]);
        let foveated = laid_out(FOVEATED);
        for pair in foveated.borders_deg.windows(2) {
            assert!(pair[0] > pair[1]);
        }
        assert!((foveated.borders_deg[0] - 31.36).abs() < 0.01, "{:?}", foveated.borders_deg);
        let mut stacked = Scenario::default();
        stacked.host.parts = 2;
        let eye = Eye::of(&answer(stacked));
        assert_eq!(eye.borders_deg.len(), 3, "four of eight slices code the first eye: {:?}", eye.borders_deg);
        assert!((eye.borders_deg[1]).abs() < 1e-9);
    }
}
