//! How a cost varies: the spread of a factor around 1, rare stalls, and the costs they belong to.
//!
//! The same kind of cost stands in several places of a scenario with other defaults. So the fields that a file gives are
//! laid over the defaults *of that place*: each kind has a private `…Fields` twin whose fields are all optional.

use serde::{Deserialize, Deserializer, Serialize};

/// The distribution of a factor that multiplies a cost. Every one but [`Spread::Samples`] has mean 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Spread {
    /// Always 1.
    Constant,
    /// Normal(1, cv) truncated to `low..=high` by redrawing, divided by its mean where that is not 1.
    Normal {
        /// Standard deviation over mean, before truncation.
        cv: f64,
        /// Least factor, below 1.
        low: f64,
        /// Greatest factor, above 1.
        high: f64,
    },
    /// Log-normal of mean 1.
    LogNormal {
        /// Standard deviation over mean.
        cv: f64,
    },
    /// Gamma of mean 1.
    Gamma {
        /// Standard deviation over mean.
        cv: f64,
    },
    /// Exponential of mean 1.
    Exponential,
    /// One of the given factors, each as likely as the others, used as given.
    Samples(Vec<f64>),
}

impl Spread {
    /// Its mean.
    pub fn mean(&self) -> f64 {
        match self {
            Self::Samples(factors) => factors.iter().sum::<f64>() / factors.len().max(1) as f64,
            Self::Constant | Self::Normal { .. } | Self::LogNormal { .. } | Self::Gamma { .. } | Self::Exponential => {
                1.0
            }
        }
    }
}

/// A rare extra delay: with probability `chance` an exponential one of mean `mean_ms` is added.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stall {
    /// Probability per frame (per refresh for the compositor), 0 to 0.5.
    pub chance: f64,
    /// Mean of the delay when it happens \[ms\].
    pub mean_ms: f64,
}

/// Work on a frame that depends on pixels alone (simulate, render).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PixelCost {
    /// Cost of a frame whatever its size \[ms\].
    pub fixed_ms: f64,
    /// Cost per million pixels \[ms\].
    pub per_mpx_ms: f64,
    /// How strongly content complexity scales the cost, 0 (not) to 1 (in proportion).
    pub content: f64,
    /// Spread of the factor from frame to frame.
    pub spread: Spread,
    /// Rare extra delays.
    pub stall: Stall,
}

/// Work on a frame that depends on pixels and on coded bits (encode, decode).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CodecCost {
    /// Cost of a frame whatever its size \[ms\].
    pub fixed_ms: f64,
    /// Cost per million coded pixels \[ms\].
    pub per_mpx_ms: f64,
    /// Cost per million coded bits \[ms\].
    pub per_mbit_ms: f64,
    /// How strongly content complexity scales the cost, 0 (not) to 1 (in proportion).
    pub content: f64,
    /// Spread of the factor from frame to frame.
    pub spread: Spread,
    /// Rare extra delays.
    pub stall: Stall,
}

/// Late correction and composition, once a refresh.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compose {
    /// Mean time \[ms\].
    pub fixed_ms: f64,
    /// Spread of the factor from refresh to refresh.
    pub spread: Spread,
    /// Rare extra delays.
    pub stall: Stall,
}

/// A delay on the way: `fixed + jitter * draw`, the draw of mean 1.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Delay {
    /// Part that every message suffers \[ms\].
    pub fixed_ms: f64,
    /// Mean of the part that varies \[ms\].
    pub jitter_ms: f64,
    /// Spread of the part that varies.
    pub spread: Spread,
}

/// Waiting room before a server.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Buffer {
    /// Frames that may wait; none: without bound.
    pub frames: Option<u32>,
    /// What happens to the frame that finds it full.
    pub when_full: WhenFull,
}

/// What a full buffer does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum WhenFull {
    /// The stage before does not begin a frame (not before decode: the host cannot see it).
    Block,
    /// The frame that came is dropped.
    DropNewest,
    /// The frame waiting longest is dropped.
    DropOldest,
}

/// The fields of a value that a file may give, laid over the defaults of its place.
pub(super) trait Fields {
    /// The whole value.
    type Whole;
    /// `base` with the given fields replaced.
    fn over(self, base: Self::Whole) -> Self::Whole;
}

/// Reads the given fields of a value and lays them over `base`.
pub(super) fn read_over<'de, D, F>(deserializer: D, base: F::Whole) -> Result<F::Whole, D::Error>
where
    D: Deserializer<'de>,
    F: Fields + Deserialize<'de>,
{
    Ok(F::deserialize(deserializer)?.over(base))
}

/// Keeps `frames: None` apart from an absent field.
#[expect(clippy::option_option, reason = "absent, without bound and a number are three things")]
fn given<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<Option<u32>>, D::Error> {
    Option::deserialize(deserializer).map(Some)
}

macro_rules! fields {
    ($fields:ident of $whole:ident named $name:literal { $($field:ident: $kind:ty),* } nested { $($inner:ident: $inner_fields:ty),* }) => {
        #[derive(Default, Deserialize)]
        #[serde(default, deny_unknown_fields, rename = $name)]
        pub(super) struct $fields { $($field: Option<$kind>,)* $($inner: Option<$inner_fields>,)* }

        impl Fields for $fields {
            type Whole = $whole;
            fn over(self, base: $whole) -> $whole {
                $whole {
                    $($field: self.$field.unwrap_or(base.$field),)*
                    $($inner: match self.$inner { Some(given) => given.over(base.$inner), None => base.$inner },)*
                }
            }
        }
    };
}

fields!(StallFields of Stall named "Stall" { chance: f64, mean_ms: f64 } nested {});
fields!(PixelCostFields of PixelCost named "PixelCost"
    { fixed_ms: f64, per_mpx_ms: f64, content: f64, spread: Spread } nested { stall: StallFields });
fields!(CodecCostFields of CodecCost named "CodecCost"
    { fixed_ms: f64, per_mpx_ms: f64, per_mbit_ms: f64, content: f64, spread: Spread } nested { stall: StallFields });
fields!(ComposeFields of Compose named "Compose" { fixed_ms: f64, spread: Spread } nested { stall: StallFields });
fields!(DelayFields of Delay named "Delay" { fixed_ms: f64, jitter_ms: f64, spread: Spread } nested {});

#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields, rename = "Buffer")]
#[expect(clippy::option_option, reason = "absent, without bound and a number are three things")]
pub(super) struct BufferFields {
    #[serde(deserialize_with = "given")]
    frames: Option<Option<u32>>,
    when_full: Option<WhenFull>,
}

impl Fields for BufferFields {
    type Whole = Buffer;
    fn over(self, base: Buffer) -> Buffer {
        Buffer { frames: self.frames.unwrap_or(base.frames), when_full: self.when_full.unwrap_or(base.when_full) }
    }
}
