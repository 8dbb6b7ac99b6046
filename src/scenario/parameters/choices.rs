//! Alternatives by name: what an alternative is called, and what its fields are when it is chosen.

use super::value::Value;
use super::way::{Access, Way};
use crate::scenario::{
    AfterMissing, Choose, Codec, Effect, HandOff, Layout, Lead, Light, Pacing, References, Repair, Scenario, Shape,
    Spread, Taken, WhenFull,
};

/// A field that is one of several named alternatives.
pub(super) trait Alternatives: Sized + 'static {
    /// The names, as in a scenario file.
    const NAMES: &'static [&'static str];
    /// Name of the alternative chosen.
    fn name(&self) -> &'static str;
    /// The alternative of that name: fields that both have are kept, the others get sensible values.
    fn named(name: &str, before: &Self, scenario: &Scenario) -> Option<Self>;
}

impl<T: Alternatives> Way<T> {
    /// Reads and writes the choice as the name of an alternative.
    pub(super) fn choice(self) -> Access {
        let Self { get, get_mut } = self;
        let before = get.clone();
        Access {
            get: Box::new(move |scenario| get(scenario).map(|field| Value::Choice(field.name()))),
            set: Box::new(move |scenario, value| {
                let Value::Choice(name) = value else { return false };
                let Some(field) = before(scenario) else { return false };
                if field.name() == *name {
                    return true;
                }
                let Some(new) = T::named(name, field, scenario) else { return false };
                if let Some(field) = get_mut(scenario) {
                    *field = new;
                }
                true
            }),
        }
    }
}

macro_rules! plain {
    ($($kind:ident { $($name:ident),+ })+) => {$(
        impl Alternatives for $kind {
            const NAMES: &'static [&'static str] = &[$(stringify!($name)),+];
            fn name(&self) -> &'static str {
                match self { $(Self::$name => stringify!($name)),+ }
            }
            fn named(name: &str, _: &Self, _: &Scenario) -> Option<Self> {
                match name { $(stringify!($name) => Some(Self::$name),)+ _ => None }
            }
        }
    )+};
}

plain! {
    Taken { AtSimulate, AtRender }
    HandOff { Slice, Frame }
    Codec { H264, H265, AV1 }
    AfterMissing { Conceal, RequestIntra }
    Effect { Hold, Lose }
    WhenFull { Block, DropNewest, DropOldest }
    Light { Global, Rolling }
    Choose { Newest, OnTarget }
}

macro_rules! names {
    ($($name:ident)+) => {
        const NAMES: &'static [&'static str] = &[$(stringify!($name)),+];
        fn name(&self) -> &'static str {
            match self { $(Self::$name { .. } => stringify!($name)),+ }
        }
    };
}

impl Alternatives for Spread {
    names!(Constant Normal LogNormal Gamma Exponential Samples);

    fn named(name: &str, before: &Self, _: &Scenario) -> Option<Self> {
        let cv = match *before {
            Self::Normal { cv, .. } | Self::LogNormal { cv } | Self::Gamma { cv } => cv,
            Self::Constant | Self::Exponential | Self::Samples(_) => 0.1,
        };
        Some(match name {
            "Constant" => Self::Constant,
            "Normal" => Self::Normal { cv, low: 0.5, high: 1.5 },
            "LogNormal" => Self::LogNormal { cv },
            "Gamma" => Self::Gamma { cv },
            "Exponential" => Self::Exponential,
            "Samples" => Self::Samples(vec![0.9, 1.0, 1.1]),
            _ => return None,
        })
    }
}

impl Alternatives for Layout {
    names!(Full Uniform Foveated);

    fn named(name: &str, _: &Self, _: &Scenario) -> Option<Self> {
        Some(match name {
            "Full" => Self::Full,
            "Uniform" => Self::Uniform { scale: 0.8 },
            "Foveated" => Self::Foveated { center: 0.3, edge_density: 0.4 },
            _ => return None,
        })
    }
}

impl Alternatives for Shape {
    names!(Equal Geometric Weights);

    fn named(name: &str, _: &Self, scenario: &Scenario) -> Option<Self> {
        Some(match name {
            "Equal" => Self::Equal,
            "Geometric" => Self::Geometric { ratio: 0.8 },
            "Weights" => Self::Weights(vec![1.0; scenario.slices.count as usize]),
            _ => return None,
        })
    }
}

impl Alternatives for References {
    names!(Frame Bands Independent);

    fn named(name: &str, _: &Self, _: &Scenario) -> Option<Self> {
        Some(match name {
            "Frame" => Self::Frame,
            "Bands" => Self::Bands { reach: 0 },
            "Independent" => Self::Independent,
            _ => return None,
        })
    }
}

impl Alternatives for Repair {
    names!(Nothing Resend Parity);

    fn named(name: &str, _: &Self, _: &Scenario) -> Option<Self> {
        Some(match name {
            "Nothing" => Self::Nothing,
            "Resend" => Self::Resend { tries: 2 },
            "Parity" => Self::Parity { overhead_pct: 10.0 },
            _ => return None,
        })
    }
}

impl Alternatives for Lead {
    names!(Ms Tuned);

    fn named(name: &str, _: &Self, _: &Scenario) -> Option<Self> {
        Some(match name {
            "Ms" => Self::Ms(25.0),
            "Tuned" => Self::Tuned { late_share: 0.005 },
            _ => return None,
        })
    }
}

impl Alternatives for Pacing {
    names!(Fixed Intervals Adaptive);

    fn named(name: &str, before: &Self, scenario: &Scenario) -> Option<Self> {
        let every = match *before {
            Self::Fixed { every, .. } | Self::Adaptive { every, .. } => every,
            Self::Intervals { .. } => 1,
        };
        Some(match name {
            "Fixed" => Self::Fixed { lead: Lead::Tuned { late_share: 0.005 }, every },
            "Intervals" => {
                // The frame period as it is, to the microsecond.
                let mean_ms = (scenario.frame_period_ns() / 1e3).round() / 1e3;
                Self::Intervals { mean_ms, spread: Spread::Constant }
            }
            "Adaptive" => {
                Self::Adaptive { start_ms: 25.0, min_ms: 5.0, max_ms: 60.0, step_ms: 0.1, late_target: 0.01, every }
            }
            _ => return None,
        })
    }
}
