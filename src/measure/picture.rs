//! Pixels and bits, and what they ask of the codec.

use super::summary::Picture;
use crate::scenario::levels::{self, Demand};
use crate::scenario::{Layout, Scenario};

impl Scenario {
    /// Horizontal pixels per degree at the centre, as if an eye's pixels were spread evenly over the angle.
    pub(super) fn px_per_deg_center(&self) -> f64 {
        let density = match self.pixels.layout {
            Layout::Full | Layout::Foveated { .. } => 1.0,
            Layout::Uniform { scale } => scale,
        };
        f64::from(self.display.eye_px.0) * density / self.display.fov_deg.0
    }

    /// The same at the edge.
    fn px_per_deg_edge(&self) -> f64 {
        let density = match self.pixels.layout {
            Layout::Full | Layout::Uniform { .. } => 1.0,
            Layout::Foveated { edge_density, .. } => edge_density,
        };
        self.px_per_deg_center() * density
    }
}

/// The picture of a scenario whose counted frames have so many bits on average.
pub(super) fn picture(scenario: &Scenario, mean_bits: Option<f64>) -> Picture {
    let coded_mpx = scenario.coded_mpx();
    let level = levels::smallest(scenario.stream.codec, &Demand::of(scenario));
    Picture {
        px_per_deg_center: scenario.px_per_deg_center(),
        px_per_deg_edge: scenario.px_per_deg_edge(),
        coded_mpx,
        coded_mpx_per_s: coded_mpx * 1e9 / scenario.frame_period_ns(),
        bits_per_px: mean_bits.map(|bits| bits / (coded_mpx * 1e6)),
        level: level.map(|level| level.name.to_owned()),
        tier: level.map(|level| format!("{:?}", level.tier)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Pixels;

    #[test]
    fn density_follows_the_layout() {
        let mut scenario = Scenario::default();
        let with = |scenario: &mut Scenario, layout| {
            scenario.pixels = Pixels { layout, ..Pixels::default() };
            let picture = picture(scenario, None);
            assert_eq!(picture.bits_per_px, None);
            (picture.px_per_deg_center, picture.px_per_deg_edge)
        };
        let close = |(center, edge): (f64, f64), expected: (f64, f64)| {
            assert!((center - expected.0).abs() < 1e-9 && (edge - expected.1).abs() < 1e-9, "{center}, {edge}");
        };
        close(with(&mut scenario, Layout::Full), (20.48, 20.48));
        close(with(&mut scenario, Layout::Uniform { scale: 0.5 }), (10.24, 10.24));
        close(with(&mut scenario, Layout::Foveated { center: 0.3, edge_density: 0.25 }), (20.48, 5.12));
    }

    /// ITU-T Rec. H.265, Tables A.8 and A.9: 8 912 896 samples at 90 Hz fit level 5.2, 200 Mbit/s its High tier only.
    #[test]
    fn default_picture() {
        let picture = picture(&Scenario::default(), Some(8_912_896.0));
        assert_eq!((picture.level.as_deref(), picture.tier.as_deref()), (Some("5.2"), Some("High")));
        for (found, expected) in
            [(picture.bits_per_px.unwrap(), 1.0), (picture.coded_mpx, 8.912_896), (picture.coded_mpx_per_s, 802.160_64)]
        {
            assert!((found - expected).abs() < 1e-9, "found {found}, expected {expected}");
        }
    }
}
