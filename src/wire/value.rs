//! A JSON value as it was sent. What was sent is read once and thrown away, so names and texts are borrowed from the body, and the
//! members of an object stand in a list: it has few.

use serde_json::Number;
use std::borrow::Cow;
use std::fmt;

/// A JSON value that borrows from the text it was read from.
#[derive(Debug, Clone, PartialEq)]
pub enum Value<'t> {
    /// `null`.
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A bare number.
    Number(Number),
    /// A text.
    String(Cow<'t, str>),
    /// A list.
    Array(Vec<Value<'t>>),
    /// An object.
    Object(Object<'t>),
}

/// The members of an object, each name once, in the order in which they were sent.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Object<'t>(Vec<(Cow<'t, str>, Value<'t>)>);

impl<'t> Object<'t> {
    /// Members for which there is room at once: most objects have no more.
    const MOST: usize = 8;

    /// Puts a member that is not there yet.
    pub(super) fn put(&mut self, name: Cow<'t, str>, value: Value<'t>) {
        if self.0.is_empty() {
            self.0.reserve(Self::MOST);
        }
        self.0.push((name, value));
    }

    /// The member of a name.
    pub fn get(&self, name: &str) -> Option<&Value<'t>> {
        self.0.iter().find(|(have, _)| have == name).map(|(_, value)| value)
    }

    /// The names.
    pub fn names(&self) -> impl ExactSizeIterator<Item = &Cow<'t, str>> {
        self.0.iter().map(|(name, _)| name)
    }
}

impl<'t> Value<'t> {
    /// The text, where it is one.
    pub fn as_str(&self) -> Option<&str> {
        match self {
            Self::String(text) => Some(text),
            _ => None,
        }
    }

    /// Whether it is true, where it says one of both.
    pub fn as_bool(&self) -> Option<bool> {
        match self {
            Self::Bool(is) => Some(*is),
            _ => None,
        }
    }

    /// The whole number, where it is one, however it is written: `18`, `18.0`, `1.8e1` (JSON Schema 2020-12, section 4.2.3 of its
    /// core). One with a point or an exponent is read as such numbers are, to 15 digits, and is none beyond.
    pub fn as_i64(&self) -> Option<i64> {
        /// Up to here every whole number is a binary fraction of 53 bits.
        const EXACT: f64 = 9_007_199_254_740_991.0;
        let Self::Number(number) = self else { return None };
        let whole = |n: f64| (n.fract() == 0.0 && n.abs() <= EXACT).then_some(n as i64);
        number.as_i64().or_else(|| number.as_f64().filter(|_| number.is_f64()).and_then(whole))
    }

    /// The member of an object, where it is one and has it.
    pub fn get(&self, name: &str) -> Option<&Value<'t>> {
        match self {
            Self::Object(object) => object.get(name),
            _ => None,
        }
    }
}

impl<'t> From<&'t str> for Value<'t> {
    fn from(text: &'t str) -> Self {
        Self::String(Cow::Borrowed(text))
    }
}

impl<'t> From<&'t serde_json::Value> for Value<'t> {
    fn from(value: &'t serde_json::Value) -> Self {
        match value {
            serde_json::Value::Null => Self::Null,
            serde_json::Value::Bool(is) => Self::Bool(*is),
            serde_json::Value::Number(number) => Self::Number(number.clone()),
            serde_json::Value::String(text) => Self::String(Cow::Borrowed(text)),
            serde_json::Value::Array(list) => Self::Array(list.iter().map(Self::from).collect()),
            serde_json::Value::Object(members) => {
                let member = |(name, value): (&'t String, &'t serde_json::Value)| {
                    (Cow::Borrowed(name.as_str()), Self::from(value))
                };
                Self::Object(Object(members.iter().map(member).collect()))
            }
        }
    }
}

impl From<Value<'_>> for serde_json::Value {
    fn from(value: Value<'_>) -> Self {
        match value {
            Value::Null => Self::Null,
            Value::Bool(is) => Self::Bool(is),
            Value::Number(number) => Self::Number(number),
            Value::String(text) => Self::String(text.into_owned()),
            Value::Array(list) => Self::Array(list.into_iter().map(Self::from).collect()),
            Value::Object(Object(members)) => {
                let member =
                    |(name, value): (Cow<'_, str>, Value<'_>)| (name.into_owned(), Self::from(value));
                Self::Object(members.into_iter().map(member).collect())
            }
        }
    }
}

/// As JSON.
impl fmt::Display for Value<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        serde_json::Value::from(self.clone()).fmt(f)
    }
}
