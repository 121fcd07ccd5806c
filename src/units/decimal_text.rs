//! Decimal numbers as text, as requests carry them: never in another notation, never beyond what may be.

use super::slips::{Counts, slip};
use crate::wire::{At, Faults, Value, wrong_kind};
use rust_decimal::Decimal;

/// Reads plain decimal text `digits[.digits]` with at most `places` decimals into a whole number of `10^-places`.
///
/// ```
/// use rillcast::units::decimal_text::plain_decimal;
/// assert_eq!(plain_decimal("8.25", 4), Some(82_500));
/// for refused in ["1e3", "1_000", "+1", ".5", "5.", "", "-1", "1.23456"] {
///     assert_eq!(plain_decimal(refused, 4), None, "{refused}");
/// }
/// ```
pub fn plain_decimal(text: &str, places: u32) -> Option<i64> {
    let (whole, fraction) = plain_parts(text, places)?;
    if whole.len() > MOST_DIGITS {
        return None;
    }
    let mut value: i64 = whole.parse().ok()?;
    value = value.checked_mul(10_i64.checked_pow(places)?)?;
    if !fraction.is_empty() {
        let part: i64 = fraction.parse().ok()?;
        value = value.checked_add(part.checked_mul(10_i64.pow(places - fraction.len() as u32))?)?;
    }
    Some(value)
}

/// Most digits that are read before the point.
const MOST_DIGITS: usize = 12;

/// The digits before and behind the point of plain decimal text, however many stand before it.
fn plain_parts(text: &str, places: u32) -> Option<(&str, &str)> {
    let (whole, fraction) = match text.split_once('.') {
        Some((w, f)) if !f.is_empty() => (w, f),
        Some(_) => return None,
        None => (text, ""),
    };
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    let is_plain =
        !whole.is_empty() && fraction.len() <= places as usize && digits(whole) && digits(fraction);
    is_plain.then_some((whole, fraction))
}

/// Plain decimal text as a number of `10^-places`.
enum Plain {
    /// At most so much as may be.
    Within(i64),
    /// More than that.
    Beyond,
    /// No plain decimal.
    Other,
}

impl Plain {
    fn read(text: &str, (places, most): (u32, i64)) -> Self {
        let large = |whole: &str| whole.trim_start_matches('0').len() > MOST_DIGITS;
        match (plain_decimal(text, places), plain_parts(text, places)) {
            (Some(read), _) if read <= most => Self::Within(read),
            (Some(_), _) => Self::Beyond,
            (None, Some((whole, _))) if large(whole) => Self::Beyond,
            (None, _) => Self::Other,
        }
    }
}

/// The text of a member that must be a decimal string.
fn decimal_text<'v>(value: &'v Value<'_>, rule: &str, at: &At<'_>, faults: &mut Faults) -> Option<&'v str> {
    match value {
        Value::String(text) => return Some(text),
        Value::Number(n) => {
            faults.value(at, "decimal_string", &n.to_string(), format!("{rule}; write it as text: \"{n}\""));
        }
        other => wrong_kind(other, rule, at, faults),
    }
    None
}

/// What is told of a text that is no plain decimal number.
fn told(text: &str, places: u32, counts: Counts, rule: &str) -> String {
    slip(text, places, counts).map_or_else(|| rule.to_owned(), |slip| format!("{rule}; {slip}"))
}

/// Reads a member that must be a decimal string of nothing or more.
pub(crate) fn read_decimal(
    value: &Value<'_>,
    (places, most): (u32, i64),
    counts: Counts,
    rule: &str,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<i64> {
    let text = decimal_text(value, rule, at, faults)?;
    let detail = match Plain::read(text, (places, most)) {
        Plain::Within(read) => return Some(read),
        Plain::Beyond => format!("{rule}; at most {}", Decimal::new(most, places).normalize()),
        Plain::Other if text.strip_prefix('-').is_some_and(|size| plain_parts(size, places).is_some()) => {
            format!("{rule}; not below 0")
        }
        Plain::Other => told(text, places, counts, rule),
    };
    faults.value(at, "decimal_string", text, detail);
    None
}

/// Reads a member that must be a decimal string of either sign, from `-most` to `most`.
pub(crate) fn read_signed_decimal(
    value: &Value<'_>,
    (places, most): (u32, i64),
    counts: Counts,
    rule: &str,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<i64> {
    let text = decimal_text(value, rule, at, faults)?;
    let (sign, size) = text.strip_prefix('-').map_or((1, text), |size| (-1, size));
    let detail = match Plain::read(size, (places, most)) {
        Plain::Within(read) => return Some(sign * read),
        Plain::Beyond => {
            let limit = if sign < 0 { "not below" } else { "at most" };
            format!("{rule}; {limit} {}", Decimal::new(sign * most, places).normalize())
        }
        Plain::Other => told(text, places, counts, rule),
    };
    faults.value(at, "decimal_string", text, detail);
    None
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use crate::units::percent::{GRADE_RULE, Grade, Percent};
    use crate::wire::{Wire, read_value};
    use serde_json::json;

    fn told<T: Wire + std::fmt::Debug>(text: &str) -> String {
        let faults = read_value::<T>(&json!(text)).unwrap_err();
        let behind = faults.list()[0].detail.trim_start_matches(GRADE_RULE);
        behind.split_once("; ").map_or_else(String::new, |(_, behind)| behind.to_owned())
    }

    #[test]
    fn what_lies_beyond_is_told_with_the_limit() {
        let thirteen = "1000000000000.5";
        assert_eq!(told::<Percent>("1000.0001"), "at most 1000");
        assert_eq!(told::<Percent>(thirteen), "at most 1000");
        assert_eq!(told::<Percent>("-1"), "not below 0");
        assert_eq!(told::<Percent>(&format!("-{thirteen}")), "not below 0");
        assert_eq!(told::<Grade>("50.0001"), "at most 50");
        assert_eq!(told::<Grade>("-51"), "not below -50");
        // zeros before a number make it no larger
        for text in ["0000000000001", "1.2.3", "-", "", "12e3"] {
            assert_eq!(told::<Percent>(text), "", "{text}");
        }
    }

    #[test]
    fn a_fall_has_either_sign_and_the_decimals_of_a_percentage() {
        for (text, millionths) in [("1.5", 15_000), ("-0.5", -5_000), ("-50", -500_000), ("-0", 0)] {
            assert_eq!(read_value::<Grade>(&json!(text)).unwrap().millionths(), millionths);
        }
        assert_eq!(told::<Grade>("-0,1234"), "a point before decimals, no comma: \"-0.1234\"");
        assert_eq!(told::<Grade>("0,12345"), "a point before decimals, no comma");
    }
}
