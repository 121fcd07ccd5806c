//! Checked text and whole numbers.

use super::faults::{At, Faults};
use super::read::{Extreme, Wire, wrong_kind};
use super::value::Value;
use serde::Serialize;
use std::borrow::Cow;
use std::ops::RangeInclusive;
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// Stands for a text that cannot be read; no code is like it.
pub(crate) const UNREAD: &str = "?";

macro_rules! text_type {
    ($(#[doc = $doc:literal])+ $name:ident, most $most:expr, pattern $pattern:expr, examples $examples:expr, rule $rule:literal, check $check:expr $(, missing $missing:literal)?) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        #[serde(transparent)]
        pub struct $name(String);

        impl $name {
            /// The rule in words, as error messages state it.
            pub const RULE: &'static str = $rule;

            /// The text, when it follows the rule.
            pub fn new(text: &str) -> Option<Self> {
                let check: fn(&str) -> bool = $check;
                (text.chars().count() <= $most && check(text)).then(|| Self(text.to_owned()))
            }

            /// The text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl std::borrow::Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }

        impl PartialSchema for $name {
            fn schema() -> RefOr<Schema> {
                let pattern: Option<&str> = $pattern;
                let examples: &[&str] = &$examples;
                ObjectBuilder::new()
                    .schema_type(Type::String)
                    .description(Some([$($doc),+].map(str::trim).join(" ")))
                    .min_length(Some(1))
                    .max_length(Some($most))
                    .pattern(pattern)
                    .examples(examples.iter().map(|e| serde_json::Value::from(*e)))
                    .into()
            }
        }

        impl ToSchema for $name {
            fn name() -> Cow<'static, str> {
                stringify!($name).into()
            }
        }

        impl Wire for $name {
            fn member_schema() -> RefOr<Schema> {
                super::read::reference_to::<Self>()
            }

            fn register(into: &mut Vec<(String, RefOr<Schema>)>) {
                super::read::register_named::<Self>(into);
            }

            fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
                let Some(text) = value.as_str() else {
                    wrong_kind(value, "text", at, faults);
                    return None;
                };
                let made = Self::new(text);
                if made.is_none() {
                    faults.value(at, "text_rule", text, $rule);
                }
                made
            }

            fn stand_in(_: Extreme) -> Option<Self> {
                Some(Self(UNREAD.to_owned()))
            }

            $(fn what_to_send() -> Option<&'static str> {
                Some($missing)
            })?
        }
    };
}

/// Whether anything of a character can be seen: it is no blank, and none of those that only say how others are joined, split,
/// ordered or dressed (Unicode's `Default_Ignorable_Code_Point`; the empty braille cell and interlinear marks with them).
const fn is_visible(c: char) -> bool {
    let unseen = matches!(c,
        '\u{AD}' | '\u{34F}' | '\u{61C}' | '\u{115F}' | '\u{1160}' | '\u{17B4}' | '\u{17B5}' | '\u{180B}'..='\u{180F}'
        | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{2800}' | '\u{3164}'
        | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' | '\u{FFA0}' | '\u{FFF0}'..='\u{FFFB}' | '\u{1BCA0}'..='\u{1BCA3}'
        | '\u{1D173}'..='\u{1D17A}' | '\u{E0000}'..='\u{E0FFF}');
    !unseen && !c.is_whitespace()
}

/// Whether a text says anything to who reads it.
fn is_seen(text: &str) -> bool {
    text.chars().any(is_visible)
}

fn printable(text: &str) -> bool {
    is_seen(text) && !text.chars().any(char::is_control)
}

/// Text without control characters in which something can be seen, as regular expressions everywhere say it: those that do not
/// name characters beyond the first 65,536 let the unseen ones among them pass.
const ONE_LINE: &str = "^[^\\u0000-\\u001F\\u007F-\\u009F]*\
    [^\\u0000-\\u0020\\u007F-\\u00A0\\u00AD\\u034F\\u061C\\u115F\\u1160\\u1680\\u17B4\\u17B5\\u180B-\\u180F\\u2000-\\u200F\
    \\u2028-\\u202F\\u205F-\\u206F\\u2800\\u3000\\u3164\\uFE00-\\uFE0F\\uFEFF\\uFFA0\\uFFF0-\\uFFFB]\
    [^\\u0000-\\u001F\\u007F-\\u009F]*$";

/// As [`ONE_LINE`], with line breaks and tabs.
const LINES: &str = "^[^\\u0000-\\u0008\\u000B\\u000C\\u000E-\\u001F\\u007F-\\u009F]*\
    [^\\u0000-\\u0020\\u007F-\\u00A0\\u00AD\\u034F\\u061C\\u115F\\u1160\\u1680\\u17B4\\u17B5\\u180B-\\u180F\\u2000-\\u200F\
    \\u2028-\\u202F\\u205F-\\u206F\\u2800\\u3000\\u3164\\uFE00-\\uFE0F\\uFEFF\\uFFA0\\uFFF0-\\uFFFB]\
    [^\\u0000-\\u0008\\u000B\\u000C\\u000E-\\u001F\\u007F-\\u009F]*$";

text_type! {
    /// A short code of the office's own: lower-case letters, digits, `-`, `_` and `.`, starting with a letter or digit.
    Code, most 64, pattern Some("^[a-z0-9][a-z0-9._-]*$"), examples ["channel-4-light"],
    rule "1 to 64 characters: lower-case letters, digits, `-`, `_`, `.`, starting with a letter or a digit",
    check |t| t.bytes().enumerate().all(|(i, b)| match b {
        b'a'..=b'z' | b'0'..=b'9' => true,
        b'-' | b'_' | b'.' => i > 0,
        _ => false,
    }) && !t.is_empty()
}

text_type! {
    /// One line of text: a name, a title, an address line.
    Label, most 200, pattern Some(ONE_LINE), examples ["Courtyard, west side"],
    rule "1 to 200 characters on one line, at least one of them visible",
    check printable
}

text_type! {
    /// The reference under which another system keeps something: as that system writes it, without blanks at its ends.
    Reference, most 200, pattern Some(ONE_LINE), examples ["A-1042"],
    rule "1 to 200 characters on one line, at least one of them visible, without blanks at its ends",
    check |t| printable(t) && t.trim() == t,
    missing "what the other system files it under; by hand, the number of the receipt, the check or the transfer, so that nothing is recorded twice"
}

text_type! {
    /// The system that reports something, as the office calls it; where the office reports by hand, a word of its own such as `office`.
    Reporter, most 200, pattern Some(ONE_LINE), examples ["accounting"],
    rule "1 to 200 characters on one line, at least one of them visible",
    check printable,
    missing "the name of the system that reports; by hand, a word such as `office`"
}

text_type! {
    /// Free text of several lines.
    Note, most 4000, pattern Some(LINES), examples ["Ring the bell at the gate.\nPark in the street."],
    rule "1 to 4000 characters, at least one of them visible, no control characters but line breaks and tabs",
    check |t| is_seen(t) && !t.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t'))
}

impl Code {
    /// Whether this stands for a code that could not be read.
    pub(crate) fn is_unread(&self) -> bool {
        self.0 == UNREAD
    }
}

/// Reads a whole number of a range; `rule` says what it is and from where to where.
pub(crate) fn whole_number(
    value: &Value<'_>,
    range: RangeInclusive<i64>,
    rule: &str,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<i64> {
    let number = value.as_i64();
    if number.is_some_and(|number| range.contains(&number)) {
        return number;
    }
    match value {
        Value::Number(sent) => {
            let is_whole = sent.as_f64().is_some_and(|n| n.fract() == 0.0);
            let (code, told) = if is_whole {
                ("out_of_range", rule.to_owned())
            } else {
                ("wrong_type", format!("expected {rule}, found {sent}"))
            };
            // One that was sent as `18.0` is told as the number that it is.
            let sent = number.map_or_else(|| sent.to_string(), |number| number.to_string());
            faults.value(at, code, &sent, told);
        }
        other => wrong_kind(other, rule, at, faults),
    }
    None
}

/// A whole number from `MIN` to `MAX`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Whole<const MIN: i64, const MAX: i64>(i64);

impl<const MIN: i64, const MAX: i64> Whole<MIN, MAX> {
    /// The number, when it is within the bounds.
    pub const fn new(value: i64) -> Option<Self> {
        if value >= MIN && value <= MAX { Some(Self(value)) } else { None }
    }

    /// The number.
    pub const fn get(self) -> i64 {
        self.0
    }
}

impl<const MIN: i64, const MAX: i64> PartialSchema for Whole<MIN, MAX> {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new().schema_type(Type::Integer).minimum(Some(MIN)).maximum(Some(MAX)).into()
    }
}

impl<const MIN: i64, const MAX: i64> ToSchema for Whole<MIN, MAX> {}

impl<const MIN: i64, const MAX: i64> Wire for Whole<MIN, MAX> {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        // Most numbers are in order: the rule is put into words only for those that are not.
        match value.as_i64().and_then(Self::new) {
            Some(made) => Some(made),
            None => {
                let rule = format!("a whole number from {MIN} to {MAX}");
                whole_number(value, MIN..=MAX, &rule, at, faults).map(Self)
            }
        }
    }

    fn stand_in(extreme: Extreme) -> Option<Self> {
        Self::new(extreme.of(MIN, MAX))
    }

    fn member_schema() -> RefOr<Schema> {
        Self::schema()
    }

    fn register(_: &mut Vec<(String, RefOr<Schema>)>) {}
}

impl PartialEq<str> for Code {
    fn eq(&self, other: &str) -> bool {
        self.0 == other
    }
}

/// `true` or `false`; absent is `false`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(transparent)]
pub struct Flag(pub bool);

impl PartialSchema for Flag {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new().schema_type(Type::Boolean).into()
    }
}

impl ToSchema for Flag {}

impl Wire for Flag {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        let read = value.as_bool().map(Flag);
        if read.is_none() {
            wrong_kind(value, "true or false", at, faults);
        }
        read
    }
    fn stand_in(extreme: Extreme) -> Option<Self> {
        Some(Flag(extreme.of(false, true)))
    }
    fn when_absent() -> Option<Self> {
        Some(Flag(false))
    }
    fn is_absent(&self) -> bool {
        !self.0
    }
    fn member_schema() -> RefOr<Schema> {
        Self::schema()
    }
    fn register(_: &mut Vec<(String, RefOr<Schema>)>) {}
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where a number is not read")]
    use super::*;
    use crate::wire::strict::parse;

    fn read(sent: &str) -> Result<i64, Faults> {
        let mut faults = Faults::new();
        let read = Whole::<0, 14_600>::read(&parse(sent.as_bytes()).unwrap(), &At::ROOT, &mut faults);
        faults.finish(read.map(Whole::get))
    }

    #[test]
    fn a_whole_number_is_one_however_it_is_written() {
        for (sent, number) in [
            ("18", 18),
            ("18.0", 18),
            ("1.8e1", 18),
            ("180000000000000E-13", 18),
            ("-0.0", 0),
            ("14600.00", 14_600),
        ] {
            assert_eq!(read(sent), Ok(number), "{sent}");
        }
        let largest = parse(b"9007199254740991.0").unwrap().as_i64();
        assert_eq!((largest, parse(b"1e16").unwrap().as_i64()), (Some(9_007_199_254_740_991), None));
        assert_eq!(parse(b"9223372036854775807").unwrap().as_i64(), Some(i64::MAX));
    }

    #[test]
    fn what_is_no_whole_number_of_the_range_is_told_as_it_was_sent() {
        let rule = "a whole number from 0 to 14600";
        for (sent, code, value, detail) in [
            ("18.5", "wrong_type", Some("18.5"), format!("expected {rule}, found 18.5")),
            ("14600.5", "wrong_type", Some("14600.5"), format!("expected {rule}, found 14600.5")),
            ("14601", "out_of_range", Some("14601"), rule.to_owned()),
            ("14601.0", "out_of_range", Some("14601"), rule.to_owned()),
            ("-1", "out_of_range", Some("-1"), rule.to_owned()),
            ("18446744073709551615", "out_of_range", Some("18446744073709551615"), rule.to_owned()),
            ("1e13", "out_of_range", Some("10000000000000"), rule.to_owned()),
            ("\"18\"", "wrong_type", None, format!("expected {rule}, found text")),
        ] {
            let faults = read(sent).unwrap_err();
            let fault = &faults.list()[0];
            assert_eq!((fault.code, fault.value.as_deref(), &fault.detail), (code, value, &detail), "{sent}");
        }
        assert_eq!(read("1e300").unwrap_err().list()[0].code, "out_of_range");
    }
}
