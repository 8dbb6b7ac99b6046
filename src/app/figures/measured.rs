//! Figures of a calibration: overlay, quantiles, what is left over time.

mod course;
mod overlay;
mod quantiles;

pub(in crate::app) use course::course;
pub(in crate::app) use overlay::overlay;
pub(in crate::app) use quantiles::quantiles;
