//! Motion that is left over for the wearer to see: what the head or the world has moved since the pose.

use super::statistics::Ranks;
use super::summary::{Angle, Angles, Distribution, LeftOver, PacingError};
use crate::scenario::{Motion, Scenario};

/// Degrees of rotation in so many ms, at constant speed: w t.
pub fn turned_deg(motion: &Motion, ms: f64) -> f64 {
    motion.head_deg_per_s * ms / 1e3
}

/// Degrees of rotation that a pose used so many ms after it was taken is off by: w t, or what is left of it when speed
/// is predicted and acceleration is not, a t^2 / 2.
pub fn rotation_deg(motion: &Motion, ms: f64) -> f64 {
    if motion.predict { motion.head_deg_per_s2 * (ms / 1e3).powi(2) / 2.0 } else { turned_deg(motion, ms) }
}

/// Degrees by which the nearest thing is seen beside where it should be: atan of v t over its distance, or of a t^2 / 2.
pub fn parallax_deg(motion: &Motion, ms: f64) -> f64 {
    let seconds = ms / 1e3;
    let moved_m =
        if motion.predict { motion.move_m_per_s2 * seconds.powi(2) / 2.0 } else { motion.move_m_per_s * seconds };
    (moved_m / motion.nearest_m).atan().to_degrees()
}

/// Motion left over at the median and the 99 % quantile of the times that it comes from. `corrected` holds pose to photon
/// less correction age.
pub(super) fn left_over(
    scenario: &Scenario,
    pose_to_photon: &Distribution,
    correction_age: &Distribution,
    corrected: Option<Ranks>,
) -> LeftOver {
    let motion = &scenario.motion;
    let px_per_deg = scenario.px_per_deg_center();
    let angle = |deg: f64| Angle { deg, px: deg * px_per_deg };
    let angles = |of: &Distribution, deg: fn(&Motion, f64) -> f64| {
        let at = |ms: Option<f64>| ms.map(|ms| angle(deg(motion, ms)));
        Angles { p50: at(of.p50), p99: at(of.p99) }
    };
    let guard_band = corrected.map_or_else(Angles::default, |mut ranks| {
        let mut at = |p| ranks.quantile(p).map(|ms| angle(turned_deg(motion, ms)));
        Angles { p50: at(0.5), p99: at(0.99) }
    });
    LeftOver {
        rotation_uncorrected: angles(pose_to_photon, rotation_deg),
        rotation_corrected: angles(correction_age, rotation_deg),
        parallax: angles(pose_to_photon, parallax_deg),
        guard_band,
    }
}

/// Judder: how far pose to photon scatters, in ms and in degrees at the head speed.
pub(super) fn pacing_error(scenario: &Scenario, pose_to_photon: &Distribution, p1_ms: Option<f64>) -> PacingError {
    let deg = |ms: Option<f64>| ms.map(|ms| turned_deg(&scenario.motion, ms));
    let p99_p1_ms = pose_to_photon.p99.zip(p1_ms).map(|(p99, p1)| p99 - p1);
    PacingError { sd_ms: pose_to_photon.sd, p99_p1_ms, sd_deg: deg(pose_to_photon.sd), p99_p1_deg: deg(p99_p1_ms) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOT_PREDICTED: Motion = Motion {
        head_deg_per_s: 100.0,
        head_deg_per_s2: 1000.0,
        move_m_per_s: 0.5,
        move_m_per_s2: 2.0,
        nearest_m: 1.0,
        predict: false,
    };

    /// Values computed by hand and, for the arcs, with numpy: 100 deg/s for 30 ms, 1000 deg/s2; 0.5 m/s for 50 ms at 1 m,
    /// 2 m/s2.
    #[test]
    fn motion_in_a_given_time() {
        let predicted = Motion { predict: true, ..NOT_PREDICTED };
        for (found, expected) in [
            (rotation_deg(&NOT_PREDICTED, 30.0), 3.0),
            (rotation_deg(&predicted, 30.0), 0.45),
            (parallax_deg(&NOT_PREDICTED, 50.0), 1.432_096),
            (parallax_deg(&predicted, 50.0), 0.143_239),
            (turned_deg(&predicted, 30.0), 3.0),
        ] {
            assert!((found - expected).abs() < 1e-6, "found {found}, expected {expected}");
        }
    }

    #[test]
    fn nothing_shown_leaves_nothing_over() {
        let nothing = Distribution::default();
        assert_eq!(left_over(&Scenario::default(), &nothing, &nothing, None), LeftOver::default());
        assert_eq!(pacing_error(&Scenario::default(), &nothing, None), PacingError::default());
    }

    #[test]
    fn angles_come_from_the_time_they_belong_to() {
        let scenario = Scenario { motion: NOT_PREDICTED, ..Scenario::default() };
        let times = |p50, p99| Distribution { p50: Some(p50), p99: Some(p99), ..Distribution::default() };
        let mut corrected = [10.0, 20.0, 30.0];
        let found = left_over(&scenario, &times(30.0, 40.0), &times(5.0, 6.0), Some(Ranks::new(&mut corrected)));
        let deg = |angles: Angles| [angles.p50, angles.p99].map(|angle| angle.unwrap().deg);
        for (found, expected) in [
            (deg(found.rotation_uncorrected), [3.0, 4.0]),
            (deg(found.rotation_corrected), [0.5, 0.6]),
            (deg(found.guard_band), [2.0, 2.98]),
        ] {
            assert!(found.into_iter().zip(expected).all(|(found, expected)| (found - expected).abs() < 1e-12));
        }
        // 2048 px over 100 deg.
        assert!((found.rotation_uncorrected.p50.unwrap().px - 3.0 * 20.48).abs() < 1e-9);
    }
}
