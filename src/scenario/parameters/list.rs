//! What a list of parameters is built with, and the groups of parameters that stand in several places.

use super::choices::Alternatives;
use super::range::Numeric;
use super::unit::Unit;
use super::value::Held;
use super::way::{Access, Way, field, inside};
use super::{Kind, Parameter, Stage};
use crate::scenario::{Buffer, CodecCost, Delay, PixelCost, Spread, Stall, WhenFull};

/// Costs \[ms\].
pub(super) const COST: Numeric = Numeric::new(Unit::MS, 0.0, 50.0).usually(0.0, 20.0);
/// Costs per million pixels.
pub(super) const PER_MPX: Numeric = Numeric::new(Unit::MS_PER_MPX, 0.0, 50.0).log(0.001).step(0.001);
/// Costs per million bits.
pub(super) const PER_MBIT: Numeric = Numeric::new(Unit::MS_PER_MBIT, 0.0, 50.0).log(0.001).step(0.001);
/// Overheads.
pub(super) const OVERHEAD: Numeric = Numeric::new(Unit::MS, 0.0, 20.0).log(0.001).step(0.001);
/// Pipelines.
pub(super) const PIPELINE: Numeric = Numeric::new(Unit::MS, 0.0, 50.0);
/// Strengths of content.
pub(super) const CONTENT: Numeric = Numeric::new(Unit::NONE, 0.0, 1.0);
/// Standard deviations over means.
pub(super) const CV: Numeric = Numeric::new(Unit::NONE, 0.0, 3.0).above(0.001).step(0.001);
/// Engines.
pub(super) const ENGINES: Numeric = Numeric::count(Unit::NONE, 1.0, 4.0);

/// Parameters in the order in which they were added.
pub(super) struct List {
    /// Stage of those to come.
    pub(super) stage: Stage,
    /// Those so far.
    pub(super) parameters: Vec<Parameter>,
}

impl List {
    fn add(&mut self, path: &str, access: Access, kind: Kind, label: &str, meaning: &str) -> &mut Parameter {
        self.parameters.push(Parameter {
            path: path.to_owned(),
            stage: self.stage,
            label: label.to_owned(),
            meaning: meaning.to_owned(),
            kind,
            common: false,
            only_while: None,
            unnamed: false,
            access,
        });
        let last = self.parameters.len() - 1;
        &mut self.parameters[last]
    }

    /// A number, whole or not.
    pub(super) fn number<T: Held>(
        &mut self,
        path: &str,
        way: Way<T>,
        numeric: Numeric,
        label: &str,
        meaning: &str,
    ) -> &mut Parameter {
        self.add(path, way.access(), Kind::Number(numeric), label, meaning)
    }

    /// A whole number or none, which means `none`.
    pub(super) fn number_or_none(
        &mut self,
        path: &str,
        way: Way<Option<u32>>,
        numeric: Numeric,
        none: &'static str,
        label: &str,
        meaning: &str,
    ) -> &mut Parameter {
        self.add(path, way.access(), Kind::NumberOrNone { numeric, none }, label, meaning)
    }

    /// A choice of alternatives.
    pub(super) fn choice<T: Alternatives>(
        &mut self,
        path: &str,
        way: Way<T>,
        label: &str,
        meaning: &str,
    ) -> &mut Parameter {
        self.add(path, way.choice(), Kind::Choice(T::NAMES), label, meaning)
    }

    /// On or off.
    pub(super) fn switch(&mut self, path: &str, way: Way<bool>, label: &str, meaning: &str) -> &mut Parameter {
        self.add(path, way.access(), Kind::Switch, label, meaning)
    }

    /// Text.
    pub(super) fn text(&mut self, path: &str, way: Way<String>, label: &str, meaning: &str) -> &mut Parameter {
        self.add(path, way.access(), Kind::Text, label, meaning)
    }

    /// A list of numbers, the only field of its alternative.
    pub(super) fn list(
        &mut self,
        path: &str,
        way: Way<Vec<f64>>,
        numeric: Numeric,
        label: &str,
        meaning: &str,
    ) -> &mut Parameter {
        self.add(path, way.access(), Kind::List(numeric), label, meaning).unnamed()
    }

    /// The spread of `what` and its alternatives' fields.
    pub(super) fn spread(&mut self, path: &str, way: &Way<Spread>, label: &str, what: &str) {
        let at = |field: &str| format!("{path}.{field}");
        let is = |names: &str| format!("{path} is {names}");
        self.choice(path, way.clone(), label, &format!("How {what} varies: the distribution of a factor of mean 1."));
        let cv = inside!(way, Spread::Normal { cv, .. } | Spread::LogNormal { cv } | Spread::Gamma { cv } => cv);
        self.number(&at("cv"), cv, CV, &format!("{label}: cv"), &format!("Standard deviation over mean of {what}."))
            .only_while(&is("Normal, LogNormal or Gamma"));
        let low = Numeric::new(Unit::NONE, 0.0, 1.0).below(0.99);
        let way_low = inside!(way, Spread::Normal { low, .. } => low);
        self.number(&at("low"), way_low, low, &format!("{label}: least"), &format!("Least factor of {what}."))
            .only_while(&is("Normal"));
        let high = Numeric::new(Unit::NONE, 1.0, f64::INFINITY).above(1.01).usually(1.01, 5.0);
        let way_high = inside!(way, Spread::Normal { high, .. } => high);
        self.number(&at("high"), way_high, high, &format!("{label}: greatest"), &format!("Greatest factor of {what}."))
            .only_while(&is("Normal"));
        let factor = Numeric::new(Unit::NONE, 0.0, 1000.0);
        let samples = inside!(way, Spread::Samples(samples) => samples);
        self.list(
            &at("samples"),
            samples,
            factor,
            &format!("{label}: samples"),
            &format!("Factors of {what}, each as likely as the others, used as given."),
        )
        .only_while(&is("Samples"));
    }

    /// Rare extra delays of `what`.
    pub(super) fn stall(&mut self, path: &str, way: &Way<Stall>, what: &str) {
        self.number(
            &format!("{path}.chance"),
            field!(way, chance),
            Numeric::new(Unit::SHARE, 0.0, 0.5).log(0.0001).step(0.0001),
            "Stall chance",
            &format!("Probability that {what} stalls."),
        );
        self.number(
            &format!("{path}.mean_ms"),
            field!(way, mean_ms),
            Numeric::new(Unit::MS, 0.0, 1000.0).log(0.01),
            "Stall length",
            &format!("Mean of the exponential delay when {what} stalls."),
        );
    }

    /// The cost of `what`, which depends on pixels alone.
    pub(super) fn pixel_cost(&mut self, path: &str, way: &Way<PixelCost>, what: &str, pixels: &str) {
        let at = |field: &str| format!("{path}.{field}");
        self.number(
            &at("fixed_ms"),
            field!(way, fixed_ms),
            COST,
            "Fixed",
            &format!("Time to {what} a frame whatever its size."),
        );
        self.number(
            &at("per_mpx_ms"),
            field!(way, per_mpx_ms),
            PER_MPX,
            "Per Mpx",
            &format!("Time to {what} a million {pixels} pixels."),
        );
        self.number(
            &at("content"),
            field!(way, content),
            CONTENT,
            "Content strength",
            &format!("How strongly content complexity scales the time to {what}: 0 not, 1 in proportion."),
        );
        self.spread(&at("spread"), &field!(way, spread), "Spread", &time_to(what));
        self.stall(&at("stall"), &field!(way, stall), &a_frame_to(what));
    }

    /// The cost of `what`, which depends on coded pixels and bits.
    pub(super) fn codec_cost(&mut self, path: &str, way: &Way<CodecCost>, what: &str) {
        let at = |field: &str| format!("{path}.{field}");
        self.number(
            &at("fixed_ms"),
            field!(way, fixed_ms),
            COST,
            "Fixed",
            &format!("Time to {what} a frame whatever its size, shared by its slices."),
        );
        self.number(
            &at("per_mpx_ms"),
            field!(way, per_mpx_ms),
            PER_MPX,
            "Per Mpx",
            &format!("Time to {what} a million coded pixels."),
        )
        .common();
        self.number(
            &at("per_mbit_ms"),
            field!(way, per_mbit_ms),
            PER_MBIT,
            "Per Mbit",
            &format!("Time to {what} a million coded bits."),
        );
        self.number(
            &at("content"),
            field!(way, content),
            CONTENT,
            "Content strength",
            &format!("How strongly content complexity scales the time to {what}: 0 not, 1 in proportion."),
        );
        self.spread(&at("spread"), &field!(way, spread), "Spread", &time_to(what));
        self.stall(&at("stall"), &field!(way, stall), &a_frame_to(what));
    }

    /// A delay of `what` on the way.
    pub(super) fn delay(&mut self, path: &str, way: &Way<Delay>, name: &str, what: &str) {
        let at = |field: &str| format!("{path}.{field}");
        self.number(&at("fixed_ms"), field!(way, fixed_ms), COST, name, &format!("Delay that every {what} suffers."));
        self.number(
            &at("jitter_ms"),
            field!(way, jitter_ms),
            Numeric::new(Unit::MS, 0.0, 50.0).log(0.001).step(0.001),
            &format!("{name}: jitter"),
            &format!("Mean of the delay of a {what} that varies, on top of the fixed one."),
        );
        let spread = field!(way, spread);
        self.spread(&at("spread"), &spread, &format!("{name}: spread"), &format!("the varying delay of a {what}"));
    }

    /// The waiting room before a server; `before` is what can hold a frame back when it is full, if anything can.
    pub(super) fn buffer(&mut self, path: &str, way: &Way<Buffer>, server: &str, before: Option<&str>) {
        self.number_or_none(
            &format!("{path}.frames"),
            field!(way, frames),
            Numeric::count(Unit::FRAMES, 0.0, 16.0),
            "without bound",
            "Buffer",
            &format!("Frames that may wait before the {server}."),
        );
        let when_full: Way<WhenFull> = field!(way, when_full);
        let meaning = match before {
            Some(before) => format!("the {before} holds back, or a frame is dropped."),
            None => "which frame is dropped.".to_owned(),
        };
        let meaning = format!("What happens when a frame finds the buffer full: {meaning}");
        let choice = self.choice(&format!("{path}.when_full"), when_full, "Buffer: when full", &meaning);
        if before.is_none() {
            choice.kind = Kind::Choice(&["DropNewest", "DropOldest"]);
        }
    }
}

fn time_to(what: &str) -> String {
    format!("the time to {what}")
}

fn a_frame_to(what: &str) -> String {
    format!("a frame to {what}")
}
