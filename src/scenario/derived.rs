//! What follows from a scenario alone: sizes, rows, periods, target bits.

use super::{Layout, Pacing, Scenario};

const NS_PER_S: f64 = 1e9;

/// Rounds a size up to an even number of pixels; an excess below a billionth of a pixel is floating-point dust.
fn up_to_even(px: f64) -> u32 {
    ((px / 2.0 - 1e-9).ceil() * 2.0) as u32
}

impl Layout {
    /// Linear density at `out` of the way from the centre of an axis (0) to its edge (1), the display's own being 1.
    /// Pixels are spread evenly over the angle, so that it is a share of the angle too.
    pub fn density(&self, out: f64) -> f64 {
        match *self {
            Self::Full => 1.0,
            Self::Uniform { scale } => scale,
            Self::Foveated { center, edge_density } => {
                if out >= 1.0 {
                    edge_density
                } else if out > center {
                    1.0 - (1.0 - edge_density) * (out - center) / (1.0 - center)
                } else {
                    1.0
                }
            }
        }
    }

    /// Which share of the coded pixels of half an axis lies up to `out` of the way to its edge: the integral of the
    /// density, scaled to 1.
    pub fn coded_up_to(&self, out: f64) -> f64 {
        match *self {
            Self::Full | Self::Uniform { .. } => out,
            Self::Foveated { center, edge_density } => {
                let beyond = (out - center).max(0.0);
                (out - fall(center, edge_density) * beyond * beyond) / self.axis_share()
            }
        }
    }

    /// The inverse of [`Layout::coded_up_to`]: how far out a share of the coded pixels reaches.
    pub fn reach_of(&self, coded: f64) -> f64 {
        match *self {
            Self::Full | Self::Uniform { .. } => coded,
            Self::Foveated { center, edge_density } => {
                let pixels = coded * self.axis_share();
                let (beyond, fall) = (pixels - center, fall(center, edge_density));
                if beyond <= 0.0 {
                    pixels
                } else if fall <= 0.0 {
                    center + beyond
                } else {
                    // t - fall t^2 = beyond, by the root that stays exact where the fall is small.
                    center + 2.0 * beyond / (1.0 + (1.0 - 4.0 * fall * beyond).max(0.0).sqrt())
                }
            }
        }
    }

    /// Linear share of an axis that is coded: 1 for full, the scale, or the mean density of a foveated axis,
    /// `c + (1 - c)(1 + d)/2`.
    fn axis_share(&self) -> f64 {
        match *self {
            Self::Full => 1.0,
            Self::Uniform { scale } => scale,
            Self::Foveated { center, edge_density } => center + (1.0 - center) * (1.0 + edge_density) / 2.0,
        }
    }
}

/// Half the slope at which a foveated axis loses density.
fn fall(center: f64, edge_density: f64) -> f64 {
    if center < 1.0 { (1.0 - edge_density) / (2.0 * (1.0 - center)) } else { 0.0 }
}

impl Scenario {
    /// Coded size of one eye, width and height \[px\], both even.
    pub fn coded_eye_px(&self) -> (u32, u32) {
        let (width, height) = self.display.eye_px;
        let share = self.pixels.layout.axis_share();
        (up_to_even(f64::from(width) * share), up_to_even(f64::from(height) * share))
    }

    /// Coded size of the frame, width and height \[px\]: eyes side by side, stacked where the host renders in parts.
    pub fn coded_px(&self) -> (u32, u32) {
        let (width, height) = self.coded_eye_px();
        if self.host.parts > 1 { (width, height * self.display.eyes) } else { (width * self.display.eyes, height) }
    }

    /// Coded pixels of a frame \[Mpx\].
    pub fn coded_mpx(&self) -> f64 {
        let (width, height) = self.coded_px();
        f64::from(width) * f64::from(height) / 1e6
    }

    /// Rendered pixels of a frame \[Mpx\]: the coded ones, but all for a foveated layout, which is resampled afterwards.
    pub fn rendered_mpx(&self) -> f64 {
        match self.pixels.layout {
            Layout::Full | Layout::Uniform { .. } => self.coded_mpx(),
            Layout::Foveated { .. } => {
                let (width, height) = self.display.eye_px;
                f64::from(self.display.eyes) * f64::from(width) * f64::from(height) / 1e6
            }
        }
    }

    /// Rows of coding blocks in a frame: the most slices it can be cut into.
    pub fn block_rows(&self) -> u32 {
        self.coded_px().1.div_ceil(self.slices.block_px)
    }

    /// Refresh period \[ns\].
    pub fn refresh_period_ns(&self) -> f64 {
        NS_PER_S / self.display.refresh_hz
    }

    /// Frame period \[ns\]: `every` refresh periods, or the mean interval.
    pub fn frame_period_ns(&self) -> f64 {
        match self.pacing {
            Pacing::Fixed { every, .. } | Pacing::Adaptive { every, .. } => f64::from(every) * self.refresh_period_ns(),
            Pacing::Intervals { mean_ms, .. } => mean_ms * 1e6,
        }
    }

    /// Target size of a frame \[bits\]: bitrate times frame period.
    pub fn target_bits(&self) -> f64 {
        self.stream.bitrate_mbps * 1e6 * (self.frame_period_ns() / NS_PER_S)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn default_frame_is_the_largest_of_level_5() {
        // 8 912 896 luma samples: Rec. ITU-T H.265, Table A.8, level 5.
        let scenario = Scenario::default();
        assert_eq!(scenario.coded_px(), (4096, 2176));
        assert_eq!(scenario.coded_px().0 * scenario.coded_px().1, 8_912_896);
        assert_eq!(scenario.block_rows(), 136);
    }

    #[test]
    fn foveated_axis_is_the_integral_of_its_density() {
        let mut scenario = Scenario::default();
        scenario.pixels.layout = Layout::Foveated { center: 0.3, edge_density: 0.25 };
        assert!((scenario.pixels.layout.axis_share() - 0.7375).abs() < 1e-12);
        // 2048 * 0.7375 = 1510.4 and 2176 * 0.7375 = 1604.8, up to even.
        assert_eq!(scenario.coded_eye_px(), (1512, 1606));
        scenario.host.parts = 2;
        assert_eq!(scenario.coded_px(), (1512, 3212));
    }

    /// By the midpoint rule over 100 000 steps, and there and back.
    #[test]
    fn coded_pixels_are_the_integral_of_the_density() {
        for (center, edge_density) in [(0.3, 0.4), (0.05, 0.1), (0.5, 1.0), (0.999, 0.1), (1.0, 0.2)] {
            let layout = Layout::Foveated { center, edge_density };
            let steps = 100_000;
            let (mut sum, mut sums) = (0.0, Vec::new());
            for step in 0..steps {
                sum += layout.density((f64::from(step) + 0.5) / f64::from(steps)) / f64::from(steps);
                sums.push(sum);
            }
            assert!((sum - layout.axis_share()).abs() < 1e-6, "{layout:?}: {sum}");
            for out in [0.1, 0.3, 0.5, 0.9, 1.0] {
                let place = (out * f64::from(steps)) as usize - 1;
                assert!((layout.coded_up_to(out) - sums[place] / sum).abs() < 1e-5, "{layout:?} at {out}");
                assert!((layout.reach_of(layout.coded_up_to(out)) - out).abs() < 1e-9, "{layout:?} at {out}");
            }
        }
        assert!((Layout::Uniform { scale: 0.5 }.reach_of(0.25) - 0.25).abs() < 1e-15);
    }
}
