//! Bytes to a JSON value, refusing what a lenient parser would swallow: a member sent twice, text after the end.

use super::value::{Object, Value};
use serde::de::{DeserializeSeed, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use std::borrow::Cow;
use std::collections::HashSet;
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
pub fn parse(bytes: &[u8]) -> Result<Value<'_>, NotJson> {
    let mut deserializer = serde_json::Deserializer::from_slice(bytes);
    let told = |e: serde_json::Error| NotJson { message: e.to_string() };
    let value = Strict.deserialize(&mut deserializer).map_err(told)?;
    deserializer.end().map_err(told)?;
    Ok(value)
}

struct Strict;

impl<'de> DeserializeSeed<'de> for Strict {
    type Value = Value<'de>;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value<'de>, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Strict {
    type Value = Value<'de>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }
    fn visit_bool<E>(self, v: bool) -> Result<Value<'de>, E> {
        Ok(Value::Bool(v))
    }
    fn visit_i64<E>(self, v: i64) -> Result<Value<'de>, E> {
        Ok(Value::Number(v.into()))
    }
    fn visit_u64<E>(self, v: u64) -> Result<Value<'de>, E> {
        Ok(Value::Number(v.into()))
    }
    fn visit_f64<E>(self, v: f64) -> Result<Value<'de>, E> {
        Ok(serde_json::Number::from_f64(v).map_or(Value::Null, Value::Number))
    }
    fn visit_borrowed_str<E>(self, v: &'de str) -> Result<Value<'de>, E> {
        Ok(Value::String(Cow::Borrowed(v)))
    }
    fn visit_str<E>(self, v: &str) -> Result<Value<'de>, E> {
        Ok(Value::String(Cow::Owned(v.to_owned())))
    }
    fn visit_unit<E>(self) -> Result<Value<'de>, E> {
        Ok(Value::Null)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Value<'de>, A::Error> {
        let mut list = Vec::new();
        while let Some(element) = access.next_element_seed(Strict)? {
            list.push(element);
        }
        Ok(Value::Array(list))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Value<'de>, A::Error> {
        let mut object = Object::default();
        let mut names = Names::default();
        while let Some(name) = access.next_key_seed(Name)? {
            if names.has(&name, &object) {
                let name: String = name.chars().take(60).collect();
                return Err(A::Error::custom(format_args!(
                    "the member `{name}` is sent twice in one object"
                )));
            }
            let value = access.next_value_seed(Strict)?;
            object.put(name, value);
        }
        Ok(Value::Object(object))
    }
}

/// The names of an object so far, to find one that is sent twice: a set only where they are many.
#[derive(Default)]
struct Names<'de>(HashSet<Cow<'de, str>>);

impl<'de> Names<'de> {
    /// More than any object has that is read here.
    const FEW: usize = 64;

    /// Whether a name is there already.
    #[expect(clippy::ptr_arg, reason = "it is kept, borrowed where it can be")]
    fn has(&mut self, name: &Cow<'de, str>, object: &Object<'de>) -> bool {
        if object.names().len() < Self::FEW {
            return object.get(name).is_some();
        }
        if self.0.is_empty() {
            self.0.extend(object.names().cloned());
        }
        !self.0.insert(name.clone())
    }
}

/// The name of a member.
struct Name;

impl<'de> DeserializeSeed<'de> for Name {
    type Value = Cow<'de, str>;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Cow<'de, str>, D::Error> {
        deserializer.deserialize_str(self)
    }
}

impl<'de> Visitor<'de> for Name {
    type Value = Cow<'de, str>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the name of a member")
    }
    fn visit_borrowed_str<E>(self, v: &'de str) -> Result<Cow<'de, str>, E> {
        Ok(Cow::Borrowed(v))
    }
    fn visit_str<E>(self, v: &str) -> Result<Cow<'de, str>, E> {
        Ok(Cow::Owned(v.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_sent_twice_is_refused_among_few_and_among_many() {
        for count in [1, Names::FEW - 1, Names::FEW, Names::FEW + 1, 3 * Names::FEW] {
            let members = |twice: &str| {
                let each: Vec<String> = (0..count).map(|n| format!("\"m{n}\":{n}")).collect();
                format!("{{{}{twice}}}", each.join(","))
            };
            assert!(parse(members("").as_bytes()).is_ok());
            assert!(parse(members(",\"m00\":0").as_bytes()).is_ok());
            for twice in [0, count / 2, count - 1] {
                let told = parse(members(&format!(",\"\\u006d{twice}\":0")).as_bytes()).err();
                let told = told.map(|e| e.message).unwrap_or_default();
                assert!(told.contains(&format!("`m{twice}` is sent twice")), "{told}");
            }
        }
    }

    #[test]
    fn a_value_is_what_the_library_reads() {
        let text = r#"{"a":[null,true,-1,18446744073709551615,1.5,"x","\u00e9\n"],"b":{"c":{}},"":[]}"#;
        let library: Option<serde_json::Value> = serde_json::from_str(text).ok();
        assert_eq!(parse(text.as_bytes()).ok().map(serde_json::Value::from), library);
        let there_and_back = library.as_ref().map(Value::from).map(serde_json::Value::from);
        assert_eq!(there_and_back, library);
    }
}
