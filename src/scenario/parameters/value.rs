//! The value of one parameter, whatever its kind.

use serde::ser::{Serialize, Serializer};

/// The value of one parameter.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number.
    Number(f64),
    /// A whole number.
    Whole(u64),
    /// No number, where none is a choice (a buffer without bound).
    None,
    /// Name of the alternative chosen.
    Choice(&'static str),
    /// On or off.
    Switch(bool),
    /// Text.
    Text(String),
    /// A list of numbers.
    List(Vec<f64>),
}

impl Value {
    /// The number, where the value is one.
    pub fn as_f64(&self) -> Option<f64> {
        match self {
            Self::Number(number) => Some(*number),
            Self::Whole(number) => Some(*number as f64),
            _ => None,
        }
    }
}

/// A number, null for none, a text, a switch or a list.
impl Serialize for Value {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Number(number) => serializer.serialize_f64(*number),
            Self::Whole(number) => serializer.serialize_u64(*number),
            Self::None => serializer.serialize_none(),
            Self::Choice(name) => serializer.serialize_str(name),
            Self::Switch(on) => serializer.serialize_bool(*on),
            Self::Text(text) => serializer.serialize_str(text),
            Self::List(list) => list.serialize(serializer),
        }
    }
}

/// A field's own type, as it goes in and out of a [`Value`].
pub(super) trait Held: Sized {
    /// Out of the field.
    fn out(&self) -> Value;
    /// Into the field; none where the value is of another kind or does not fit.
    fn of(value: &Value) -> Option<Self>;
}

impl Held for f64 {
    fn out(&self) -> Value {
        Value::Number(*self)
    }
    fn of(value: &Value) -> Option<Self> {
        value.as_f64()
    }
}

impl Held for u64 {
    fn out(&self) -> Value {
        Value::Whole(*self)
    }
    fn of(value: &Value) -> Option<Self> {
        match *value {
            Value::Whole(number) => Some(number),
            // 2^53: beyond it a float is no exact whole number.
            Value::Number(number) if number >= 0.0 && number.fract() == 0.0 && number <= 9_007_199_254_740_992.0 => {
                Some(number as Self)
            }
            _ => None,
        }
    }
}

impl Held for u32 {
    fn out(&self) -> Value {
        Value::Whole(u64::from(*self))
    }
    fn of(value: &Value) -> Option<Self> {
        u64::of(value).and_then(|number| Self::try_from(number).ok())
    }
}

impl Held for Option<u32> {
    fn out(&self) -> Value {
        self.as_ref().map_or(Value::None, Held::out)
    }
    fn of(value: &Value) -> Option<Self> {
        if *value == Value::None { Some(None) } else { u32::of(value).map(Some) }
    }
}

impl Held for bool {
    fn out(&self) -> Value {
        Value::Switch(*self)
    }
    fn of(value: &Value) -> Option<Self> {
        if let Value::Switch(on) = value { Some(*on) } else { None }
    }
}

impl Held for String {
    fn out(&self) -> Value {
        Value::Text(self.clone())
    }
    fn of(value: &Value) -> Option<Self> {
        if let Value::Text(text) = value { Some(text.clone()) } else { None }
    }
}

impl Held for Vec<f64> {
    fn out(&self) -> Value {
        Value::List(self.clone())
    }
    fn of(value: &Value) -> Option<Self> {
        if let Value::List(list) = value { Some(list.clone()) } else { None }
    }
}
