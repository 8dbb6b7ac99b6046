//! Ways from the scenario to one of its fields, through alternatives that may not be chosen.

use std::sync::Arc;

use super::value::{Held, Value};
use crate::scenario::Scenario;

type Get<T> = dyn Fn(&Scenario) -> Option<&T> + Send + Sync;
type GetMut<T> = dyn Fn(&mut Scenario) -> Option<&mut T> + Send + Sync;

type Read = dyn Fn(&Scenario) -> Option<Value> + Send + Sync;
type Write = dyn Fn(&mut Scenario, &Value) -> bool + Send + Sync;

/// The way to a field of type `T`; it leads nowhere while the field's alternative is not chosen.
pub(super) struct Way<T: 'static> {
    /// To read it.
    pub(super) get: Arc<Get<T>>,
    /// To change it.
    pub(super) get_mut: Arc<GetMut<T>>,
}

impl<T> Clone for Way<T> {
    fn clone(&self) -> Self {
        Self { get: Arc::clone(&self.get), get_mut: Arc::clone(&self.get_mut) }
    }
}

impl<T> Way<T> {
    /// On from here to a field within.
    pub(super) fn then<U>(&self, get: fn(&T) -> Option<&U>, get_mut: fn(&mut T) -> Option<&mut U>) -> Way<U> {
        let Self { get: first, get_mut: first_mut } = self.clone();
        Way {
            get: Arc::new(move |s| first(s).and_then(get)),
            get_mut: Arc::new(move |s| first_mut(s).and_then(get_mut)),
        }
    }
}

impl<T: Held> Way<T> {
    /// Reads and writes the field as a [`Value`].
    pub(super) fn access(self) -> Access {
        let Self { get, get_mut } = self;
        Access {
            get: Box::new(move |scenario| get(scenario).map(Held::out)),
            set: Box::new(move |scenario, value| match (get_mut(scenario), T::of(value)) {
                (Some(field), Some(new)) => {
                    *field = new;
                    true
                }
                _ => false,
            }),
        }
    }
}

/// Reads and writes one parameter.
pub(super) struct Access {
    /// Its value, none while it does not exist.
    pub(super) get: Box<Read>,
    /// Sets it; false where the value does not fit or the parameter does not exist.
    pub(super) set: Box<Write>,
}

/// The way to a field that always exists: `way!(encode.slice_overhead_ms)`.
macro_rules! way {
    ($($field:tt).+) => {
        $crate::scenario::parameters::way::Way {
            get: std::sync::Arc::new(|scenario: &$crate::scenario::Scenario| Some(&scenario.$($field).+)),
            get_mut: std::sync::Arc::new(|scenario: &mut $crate::scenario::Scenario| Some(&mut scenario.$($field).+)),
        }
    };
}

/// On from a way into a field of a struct: `field!(cost, fixed_ms)`.
macro_rules! field {
    ($way:expr, $name:ident) => {
        $way.then(|whole| Some(&whole.$name), |whole| Some(&mut whole.$name))
    };
}

/// On from a way into a field of an alternative: `inside!(spread, Spread::Gamma { cv } => cv)`.
macro_rules! inside {
    ($way:expr, $pattern:pat => $name:ident) => {
        $way.then(
            |whole| if let $pattern = whole { Some($name) } else { None },
            |whole| if let $pattern = whole { Some($name) } else { None },
        )
    };
}

pub(super) use {field, inside, way};
