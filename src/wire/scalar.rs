//! Checked text and whole numbers.

use super::faults::{At, Faults};
use super::read::{Extreme, Wire, wrong_kind};
use super::value::Value;
use serde::Serialize;
use std::borrow::Cow;
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
    Note, most 4000, pattern None, examples [],
    rule "1 to 4000 characters, at least one of them visible, no control characters but line breaks and tabs",
    check |t| is_seen(t) && !t.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t'))
}

impl Code {
    /// Whether this stands for a code that could not be read.
    pub(crate) fn is_unread(&self) -> bool {
        self.0 == UNREAD
    }
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
        let Some(number) = value.as_i64() else {
            wrong_kind(value, &format!("a whole number from {MIN} to {MAX}"), at, faults);
            return None;
        };
        let made = Self::new(number);
        if made.is_none() {
            faults.value(
                at,
                "out_of_range",
                &number.to_string(),
                format!("a whole number from {MIN} to {MAX}"),
            );
        }
        made
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
