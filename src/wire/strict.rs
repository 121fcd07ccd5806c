//! Bytes to a JSON value, refusing what a lenient parser would swallow: a member sent twice, text after the end.

use serde::de::{DeserializeSeed, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};
use std::fmt;

/// Why bytes are no JSON document.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct NotJson {
    /// What is wrong and on which line and column.
    pub message: String,
}

/// Parses one JSON document.
///
/// # Errors
/// Syntax errors, nesting deeper than 128, a member named twice in one object, anything after the document.
///
/// ```
/// use rillcast::wire::strict::parse;
/// assert!(parse(br#"{"a":1}"#).is_ok());
/// assert!(parse(br#"{"a":1,"a":2}"#).is_err_and(|e| e.message.contains("sent twice")));
/// assert!(parse(br#"{"a":1} x"#).is_err());
/// ```
pub fn parse(bytes: &[u8]) -> Result<Value, NotJson> {
    let mut deserializer = serde_json::Deserializer::from_slice(bytes);
    let told = |e: serde_json::Error| NotJson { message: e.to_string() };
    let value = Strict.deserialize(&mut deserializer).map_err(told)?;
    deserializer.end().map_err(told)?;
    Ok(value)
}

struct Strict;

impl<'de> DeserializeSeed<'de> for Strict {
    type Value = Value;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Strict {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }
    fn visit_bool<E>(self, v: bool) -> Result<Value, E> {
        Ok(Value::Bool(v))
    }
    fn visit_i64<E>(self, v: i64) -> Result<Value, E> {
        Ok(Value::Number(v.into()))
    }
    fn visit_u64<E>(self, v: u64) -> Result<Value, E> {
        Ok(Value::Number(v.into()))
    }
    fn visit_f64<E>(self, v: f64) -> Result<Value, E> {
        Ok(serde_json::Number::from_f64(v).map_or(Value::Null, Value::Number))
    }
    fn visit_str<E>(self, v: &str) -> Result<Value, E> {
        Ok(Value::String(v.to_owned()))
    }
    fn visit_string<E>(self, v: String) -> Result<Value, E> {
        Ok(Value::String(v))
    }
    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(element) = access.next_element_seed(Strict)? {
            list.push(element);
        }
        Ok(Value::Array(list))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Value, A::Error> {
        let mut object = Map::new();
        while let Some(name) = access.next_key::<String>()? {
            if object.contains_key(&name) {
                let name: String = name.chars().take(60).collect();
                return Err(A::Error::custom(format_args!(
                    "the member `{name}` is sent twice in one object"
                )));
            }
            let value = access.next_value_seed(Strict)?;
            object.insert(name, value);
        }
        Ok(Value::Object(object))
    }
}
