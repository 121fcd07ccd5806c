//! Both forms of a quantity in a request: read, or refused with what would be right.

use crate::units::grammar::{self, Refusal};
use crate::units::spelling;
use crate::units::unit::{Dimension, Unit};
use crate::wire::Value;
use crate::wire::{At, Fault, Faults, wrong_kind};

/// Reads either form into base units; notes what is wrong and which units would be right.
pub(in crate::units) fn read_base(
    value: &Value<'_>,
    dimension: Dimension,
    signed: bool,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<(i128, Unit)> {
    let (refusal, sent) = match value {
        Value::String(text) => {
            let (negative, size) = match text.trim_start().strip_prefix(['-', '\u{2212}']) {
                Some(size) if signed => (true, size),
                _ => (false, &**text),
            };
            match grammar::parse(size, dimension) {
                Ok((base, unit)) => return Some((if negative { -base } else { base }, unit)),
                Err(refusal) => (refusal, text.to_string()),
            }
        }
        Value::Object(_) => {
            let members = crate::wire::Members::open(value, &["value", "unit"], at, faults)?;
            let unit = members.take::<Unit>("unit", at, faults);
            let number = value.get("value");
            let here = at.member("value");
            let text = match number {
                Some(Value::String(text)) => text,
                Some(other) => {
                    wrong_kind(other, "a decimal number as text, for example \"41.5\"", &here, faults);
                    return None;
                }
                None => {
                    faults.add(&here, "required", "the member `value` is required");
                    return None;
                }
            };
            let unit = unit?;
            if unit.dimension() != dimension {
                note(Refusal::Dimension, unit.word(), dimension, &at.member("unit"), faults);
                return None;
            }
            let (negative, size) = match text.strip_prefix('-') {
                Some(size) if signed => (true, size),
                Some(_) => {
                    note(Refusal::Negative, text, dimension, &here, faults);
                    return None;
                }
                None => (false, &**text),
            };
            match grammar::decimal(size, unit) {
                Ok(base) => return Some((if negative { -base } else { base }, unit)),
                Err(refusal) => {
                    note(refusal, text, dimension, &here, faults);
                    return None;
                }
            }
        }
        Value::Number(number) => (Refusal::NoUnit, number.to_string()),
        other => {
            wrong_kind(other, "a quantity with its unit", at, faults);
            return None;
        }
    };
    note(refusal, &sent, dimension, at, faults);
    None
}

/// A quantity as it was sent, in words.
pub(in crate::units) fn sent(value: &Value<'_>) -> String {
    match value {
        Value::String(text) => text.to_string(),
        Value::Object(members) => {
            let word = |name| members.get(name).and_then(Value::as_str).unwrap_or_default();
            [word("value"), word("unit")].join(" ")
        }
        other => other.to_string(),
    }
}

pub(in crate::units) fn note<'f>(
    refusal: Refusal,
    sent: &str,
    dimension: Dimension,
    at: &At<'_>,
    faults: &'f mut Faults,
) -> &'f mut Fault {
    let forms = match dimension {
        Dimension::Length => {
            "\"41 ft 6 in\", \"3 1/2 in\", \"12.6 m\", \"850 mm\" or {\"value\":\"41.5\",\"unit\":\"ft\"}"
        }
        Dimension::Area => "\"120 ft2\", \"11.5 m2\" or {\"value\":\"120\",\"unit\":\"ft2\"}",
        Dimension::Volume => "\"2.25 yd3\", \"1.7 m3\" or {\"value\":\"2.25\",\"unit\":\"yd3\"}",
        Dimension::Mass => "\"80 lb\", \"36 kg\" or {\"value\":\"80\",\"unit\":\"lb\"}",
        Dimension::Time => "\"45 min\", \"1.5 hr\" or {\"value\":\"1.5\",\"unit\":\"hr\"}",
        Dimension::Flow => {
            "\"12 gal_us_per_min\", \"0.8 l/s\" or {\"value\":\"12\",\"unit\":\"gal_us_per_min\"}"
        }
        Dimension::RainIntensity => {
            "\"4.2 in/h\", \"100 mm/h\" or {\"value\":\"4.2\",\"unit\":\"in_per_hr\"}"
        }
        Dimension::Speed => "\"10 mi/h\", \"16 km/h\" or {\"value\":\"10\",\"unit\":\"mi_per_hr\"}",
        Dimension::Temperature => {
            "\"85 deg_f\", \"29.5 deg_c\", \"29.5 °C\" or {\"value\":\"85\",\"unit\":\"deg_f\"}"
        }
        Dimension::Density => {
            "\"2400 kg/m3\", \"150 lb/ft3\", {\"value\":\"2400\",\"unit\":\"kg_per_m3\"} or the mass of a cubic foot, \"150 lb\""
        }
        _ => "a number and its unit",
    };
    let masses = (dimension == Dimension::Density).then(|| Unit::of(Dimension::Mass)).into_iter().flatten();
    let units = Unit::of(dimension).chain(masses).map(Unit::word);
    let instead = spelling::instead(sent, dimension, refusal);
    let instead = instead.map_or_else(String::new, |instead| format!("; {instead}"));
    faults.value(at, refusal.code(), sent, format!("{refusal}{instead}; accepted: {forms}")).allow(units)
}

/// Notes what lies beyond the range that the description of its shape begins with.
pub(in crate::units) fn note_range(
    described: &str,
    sent: &str,
    dimension: Dimension,
    at: &At<'_>,
    faults: &mut Faults,
) {
    let fault = note(Refusal::Range, sent, dimension, at, faults);
    let range = described.split_once(" with its unit").map_or(described, |(range, _)| range);
    let (first, rest) = range.split_at(range.len().min(1));
    fault.detail.push_str(&format!(". Here stands {}{rest}", first.to_lowercase()));
}

macro_rules! quantity_wire {
    ($t:ty, $name:literal, $dimension:expr, $signed:literal, $make:expr, $what:literal, $examples:expr) => {
        impl PartialSchema for $t {
            fn schema() -> RefOr<Schema> {
                input_schema::<Self>($what, $examples)
            }
        }
        impl ToSchema for $t {
            fn name() -> Cow<'static, str> {
                $name.into()
            }
            fn schemas(into: &mut Vec<(String, RefOr<Schema>)>) {
                register_object::<Self>($signed, |unit| unit.dimension() == $dimension, into);
            }
        }
        impl Wire for $t {
            fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
                let (base, _) = read_base(value, $dimension, $signed, at, faults)?;
                let make: fn(i128) -> Option<$t> = $make;
                let made = make(base);
                if made.is_none() {
                    note_range($what, &sent(value), $dimension, at, faults);
                }
                made
            }
            fn stand_in(extreme: crate::wire::Extreme) -> Option<Self> {
                let make: fn(i128) -> Option<$t> = $make;
                let largest = |sign: i128| (0..=36).rev().find_map(|places| make(sign * 10_i128.pow(places)));
                match extreme {
                    crate::wire::Extreme::Least if $signed => largest(-1),
                    crate::wire::Extreme::Least => make(1),
                    crate::wire::Extreme::Most => largest(1),
                }
            }
            crate::wire_named!();
        }
    };
}

pub(in crate::units) use quantity_wire;
