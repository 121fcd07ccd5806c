//! Quantities as they travel: `"16 ft 3 in"` or `{"value":"16.25","unit":"ft"}` in, the object form out.

use super::exact::{Area, Length, Volume, div_round};
use super::grammar::{self, Refusal};
use super::unit::{Dimension, Unit};
use crate::wire::{At, Faults, Wire, wrong_kind};
use crate::wire_enum;
use rust_decimal::Decimal;
use serde::ser::SerializeStruct as _;
use serde::{Serialize, Serializer};
use serde_json::Value;
use std::borrow::Cow;
use utoipa::openapi::schema::{ObjectBuilder, OneOfBuilder, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

wire_enum! {
    /// The units answers are given in.
    pub enum UnitSystem {
        /// US customary: feet, square feet, cubic yards, pounds
        Us = "us",
        /// metric: metres, square metres, cubic metres, kilograms
        Metric = "metric",
    }
}

/// A quantity as an answer carries it: a decimal string and a unit.
///
/// Values are rounded half away from zero to the places given where they are made; nothing is computed from them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quantity {
    mantissa: i64,
    places: u8,
    unit: Unit,
}

impl Quantity {
    /// A quantity of `mantissa / 10^places` units.
    pub const fn new(mantissa: i64, places: u8, unit: Unit) -> Self {
        Self { mantissa, places, unit }
    }

    /// So many pieces.
    pub const fn pieces(count: i64) -> Self {
        Self::new(count, 0, Unit::Each)
    }

    /// A base-unit value (see [`Unit::factor`]) in `unit`, with at most `places` decimals.
    pub fn of_base(base: i128, unit: Unit, places: u8) -> Self {
        let factor = unit.factor().unwrap_or(1);
        let scaled = base.saturating_mul(10_i128.pow(u32::from(places)));
        let mantissa = i64::try_from(div_round(scaled, factor)).unwrap_or(i64::MAX);
        let (mantissa, left) = super::decimal::trim(mantissa, u32::from(places));
        Self::new(mantissa, left as u8, unit)
    }

    /// A length, to 4 decimals of the unit.
    pub fn length(length: Length, unit: Unit) -> Self {
        Self::of_base(i128::from(length.nm()), unit, 4)
    }

    /// An area, to 3 decimals of the unit.
    pub fn area(area: Area, unit: Unit) -> Self {
        Self::of_base(area.nm2(), unit, 3)
    }

    /// A volume, to 4 decimals of the unit.
    pub fn volume(volume: Volume, unit: Unit) -> Self {
        Self::of_base(volume.nm3(), unit, 4)
    }

    /// A decimal in `unit`, to at most `places` decimals, half away from zero.
    pub fn decimal(value: Decimal, unit: Unit, places: u8) -> Self {
        let scale = value.scale();
        if let Ok(mantissa) = i64::try_from(value.mantissa())
            && scale <= 18
        {
            let cut = 10_i128.pow(scale.saturating_sub(u32::from(places)));
            let rounded = div_round(i128::from(mantissa), cut) as i64;
            let (mantissa, scale) = super::decimal::trim(rounded, scale.min(u32::from(places)));
            return Self::new(mantissa, scale as u8, unit);
        }
        let rounded = value
            .round_dp_with_strategy(u32::from(places), rust_decimal::RoundingStrategy::MidpointAwayFromZero)
            .normalize();
        Self::new(
            i64::try_from(rounded.mantissa()).unwrap_or(i64::MAX),
            u8::try_from(rounded.scale()).unwrap_or(0),
            unit,
        )
    }

    /// A computed binary number in `unit`, to at most `places` decimals; not finite gives zero.
    pub fn computed(value: f64, unit: Unit, places: u8) -> Self {
        let scaled = (value * 10_f64.powi(i32::from(places))).round();
        let mantissa = if scaled.is_finite() { scaled as i64 } else { 0 };
        let (mantissa, left) = super::decimal::trim(mantissa, u32::from(places));
        Self::new(mantissa, left as u8, unit)
    }

    /// The value as a decimal.
    pub fn value(self) -> Decimal {
        Decimal::new(self.mantissa, u32::from(self.places))
    }

    /// The unit.
    pub const fn unit(self) -> Unit {
        self.unit
    }
}

/// A number in decimal digits on the stack: answers hold hundreds of them, and the formatter would cost more than the rest.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Digits {
    buffer: [u8; 40],
    start: usize,
}

impl Digits {
    /// `mantissa / 10^places`, all places written.
    pub(crate) fn new(mantissa: i64, places: u32) -> Self {
        let mut digits = Digits { buffer: [b'0'; 40], start: 40 };
        let mut rest = mantissa.unsigned_abs();
        let places = places.min(18);
        for _ in 0..places {
            digits.put(b'0' + (rest % 10) as u8);
            rest /= 10;
        }
        if places > 0 {
            digits.put(b'.');
        }
        loop {
            digits.put(b'0' + (rest % 10) as u8);
            rest /= 10;
            if rest == 0 {
                break;
            }
        }
        if mantissa < 0 {
            digits.put(b'-');
        }
        digits
    }

    fn put(&mut self, byte: u8) {
        // At most 20 digits, a point, a sign: the buffer never runs full.
        self.start = self.start.saturating_sub(1);
        if let Some(place) = self.buffer.get_mut(self.start) {
            *place = byte;
        }
    }

    /// The digits.
    pub(crate) fn as_str(&self) -> &str {
        self.buffer.get(self.start..).and_then(|b| std::str::from_utf8(b).ok()).unwrap_or("0")
    }
}

impl Quantity {
    fn digits(self) -> Digits {
        Digits::new(self.mantissa, u32::from(self.places))
    }
}

impl std::fmt::Display for Quantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.digits().as_str())?;
        match self.unit {
            Unit::Each => Ok(()),
            Unit::Percent => f.write_str(" %"),
            unit => {
                f.write_str(" ")?;
                f.write_str(unit.word())
            }
        }
    }
}

impl Serialize for Quantity {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut object = s.serialize_struct("Quantity", 2)?;
        object.serialize_field("value", self.digits().as_str())?;
        object.serialize_field("unit", self.unit.word())?;
        object.end()
    }
}

impl PartialSchema for Quantity {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .description(Some("A number with its unit: `{\"value\":\"16.25\",\"unit\":\"ft\"}`."))
            .property(
                "value",
                ObjectBuilder::new().schema_type(Type::String).pattern(Some(r"^-?\d{1,15}(\.\d{1,6})?$")),
            )
            .property("unit", crate::wire::read::reference_to::<Unit>())
            .required("value")
            .required("unit")
            .examples([serde_json::json!({"value": "16.25", "unit": "ft"})])
            .into()
    }
}

impl ToSchema for Quantity {
    fn name() -> Cow<'static, str> {
        "Quantity".into()
    }
    fn schemas(into: &mut Vec<(String, RefOr<Schema>)>) {
        crate::wire::read::register_named::<Unit>(into);
    }
}

/// Reads either form into base units; notes what is wrong and which units would be right.
pub(crate) fn read_base(
    value: &Value,
    dimension: Dimension,
    signed: bool,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<(i128, Unit)> {
    let (refusal, sent) = match value {
        Value::String(text) => {
            let (negative, size) = match text.trim_start().strip_prefix(['-', '\u{2212}']) {
                Some(size) if signed => (true, size),
                _ => (false, text.as_str()),
            };
            match grammar::parse(size, dimension) {
                Ok((base, unit)) => return Some((if negative { -base } else { base }, unit)),
                Err(refusal) => (refusal, text.clone()),
            }
        }
        Value::Object(_) => {
            let members = crate::wire::Members::open(value, &["value", "unit"], at, faults)?;
            let unit = members.take::<Unit>("unit", at, faults);
            let number = value.get("value");
            let here = at.member("value");
            let text = match number {
                Some(Value::String(text)) => text.clone(),
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
                    note(Refusal::Negative, &text, dimension, &here, faults);
                    return None;
                }
                None => (false, text.as_str()),
            };
            match grammar::decimal(size, unit) {
                Ok(base) => return Some((if negative { -base } else { base }, unit)),
                Err(refusal) => {
                    note(refusal, &text, dimension, &here, faults);
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

pub(super) fn note(refusal: Refusal, sent: &str, dimension: Dimension, at: &At<'_>, faults: &mut Faults) {
    let forms = match dimension {
        Dimension::Length => {
            "\"41 ft 6 in\", \"3 1/2 in\", \"12.6 m\" or {\"value\":\"41.5\",\"unit\":\"ft\"}"
        }
        Dimension::Area => "\"120 ft2\", \"11.5 m2\" or {\"value\":\"120\",\"unit\":\"ft2\"}",
        Dimension::Volume => "\"2.25 yd3\", \"1.7 m3\" or {\"value\":\"2.25\",\"unit\":\"yd3\"}",
        Dimension::Mass => "\"80 lb\", \"36 kg\" or {\"value\":\"80\",\"unit\":\"lb\"}",
        Dimension::Time => "\"45 min\", \"1.5 hr\" or {\"value\":\"1.5\",\"unit\":\"hr\"}",
        Dimension::Flow => {
            "\"12 gal_us_per_min\", \"0.8 l_per_s\" or {\"value\":\"12\",\"unit\":\"gal_us_per_min\"}"
        }
        Dimension::RainIntensity => {
            "\"4.2 in_per_hr\", \"100 mm_per_hr\" or {\"value\":\"4.2\",\"unit\":\"in_per_hr\"}"
        }
        Dimension::Speed => "\"10 mi_per_hr\", \"16 km_per_hr\" or {\"value\":\"10\",\"unit\":\"mi_per_hr\"}",
        Dimension::Temperature => "\"85 deg_f\", \"29.5 deg_c\" or {\"value\":\"85\",\"unit\":\"deg_f\"}",
        _ => "a number and its unit",
    };
    let units = Unit::of(dimension).map(Unit::word);
    faults.value(at, refusal.code(), sent, format!("{refusal}; accepted: {forms}")).allow(units);
}

/// A level against the job's datum: a length that may lie below it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Level(pub Length);

impl Serialize for Level {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.0.serialize(s)
    }
}

/// Writes an exact length for storage: inches when whole 64ths, else millimetres or nanometre-exact decimals.
impl Serialize for Length {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let unit = if self.nm() % Length::inches(1, 64).nm() == 0 && self.nm() % Length::MILLIMETRE.nm() != 0
        {
            if self.nm() % (Length::FOOT.nm() / 1000) == 0 { Unit::Ft } else { Unit::In }
        } else {
            Unit::Mm
        };
        Quantity::of_base(i128::from(self.nm()), unit, 6).serialize(s)
    }
}

impl Serialize for Area {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let square_inch = 25_400_000_i128 * 25_400_000;
        let unit = if self.nm2() % (144 * square_inch) == 0 {
            Unit::Ft2
        } else if self.nm2() % (square_inch / 10_000) == 0 {
            Unit::In2
        } else {
            Unit::Cm2
        };
        Quantity::of_base(self.nm2(), unit, 6).serialize(s)
    }
}

impl Serialize for Volume {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let cubic_inch = 25_400_000_i128 * 25_400_000 * 25_400_000;
        let unit = if self.nm3() % (1728 * 27 * cubic_inch / 10_000) == 0 {
            Unit::Yd3
        } else if self.nm3() % (1728 * cubic_inch / 10_000) == 0 {
            Unit::Ft3
        } else if self.nm3() % cubic_inch == 0 {
            Unit::In3
        } else {
            Unit::L
        };
        Quantity::of_base(self.nm3(), unit, 6).serialize(s)
    }
}

pub(super) fn input_schema(what: &str, examples: [&str; 3]) -> RefOr<Schema> {
    let text = ObjectBuilder::new().schema_type(Type::String).min_length(Some(1)).max_length(Some(60));
    OneOfBuilder::new()
        .description(Some(what))
        .item(text)
        .item(crate::wire::read::reference_to::<Quantity>())
        .examples(examples.map(serde_json::Value::from))
        .into()
}

macro_rules! quantity_wire {
    ($t:ty, $name:literal, $dimension:expr, $signed:literal, $make:expr, $what:literal, $examples:expr) => {
        impl PartialSchema for $t {
            fn schema() -> RefOr<Schema> {
                input_schema($what, $examples)
            }
        }
        impl ToSchema for $t {
            fn name() -> Cow<'static, str> {
                $name.into()
            }
            fn schemas(into: &mut Vec<(String, RefOr<Schema>)>) {
                crate::wire::read::register_named::<Quantity>(into);
            }
        }
        impl Wire for $t {
            fn read(value: &Value, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
                let (base, _) = read_base(value, $dimension, $signed, at, faults)?;
                let make: fn(i128) -> Option<$t> = $make;
                let made = make(base);
                if made.is_none() {
                    note(Refusal::Range, &value.to_string(), $dimension, at, faults);
                }
                made
            }
            crate::wire_named!();
        }
    };
}

pub(super) use quantity_wire;

quantity_wire!(
    Length,
    "LengthInput",
    Dimension::Length,
    false,
    |nm| i64::try_from(nm).ok().map(Length::from_nm).filter(|l| *l <= Length::LONGEST),
    "A length from 0 to 3 km with its unit. A bare number is refused.",
    ["41 ft 6 in", "3 1/2 in", "12.6 m"]
);
quantity_wire!(
    Level,
    "LevelInput",
    Dimension::Length,
    true,
    |nm| i64::try_from(nm).ok().map(Length::from_nm).filter(|l| l.abs() <= Length::LONGEST).map(Level),
    "A level above or below the job's datum, with its unit. A bare number is refused.",
    ["-2 ft 6 in", "0 ft", "-0.85 m"]
);
quantity_wire!(
    Area,
    "AreaInput",
    Dimension::Area,
    false,
    |nm2| (nm2 <= 9_000_000_000_000_000_000_000_000).then_some(Area::from_nm2(nm2)),
    "An area with its unit. A bare number is refused.",
    ["120 ft2", "11.5 m2", "14 yd2"]
);
quantity_wire!(
    Volume,
    "VolumeInput",
    Dimension::Volume,
    false,
    |nm3| Some(Volume::from_nm3(nm3)).filter(|v| *v <= Volume::LARGEST),
    "A volume up to 100,000 m³ with its unit. A bare number is refused.",
    ["2.25 yd3", "60 ft3", "1.7 m3"]
);

/// A mass, exact to a hundredth of a milligram.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Mass(i128);

impl Mass {
    /// A mass in hundredths of a milligram.
    pub const fn from_base(base: i128) -> Self {
        Mass(base)
    }
    /// Hundredths of a milligram.
    pub const fn base(self) -> i128 {
        self.0
    }
    /// Whole pounds.
    pub const fn pounds(pounds: i64) -> Self {
        Mass(pounds as i128 * 45_359_237)
    }
}

impl Serialize for Mass {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let unit = if self.0 % 4_535_923 == 0 || self.0 % 45_359_237 == 0 { Unit::Lb } else { Unit::Kg };
        Quantity::of_base(self.0, unit, 6).serialize(s)
    }
}

quantity_wire!(
    Mass,
    "MassInput",
    Dimension::Mass,
    false,
    |base| (base <= 1_000_000_000_000_000_000).then_some(Mass(base)),
    "A mass with its unit. A bare number is refused.",
    ["80 lb", "36 kg", "12 short_ton"]
);

/// A time span, exact to the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span(i64);

impl Span {
    /// A span of whole seconds.
    pub const fn from_seconds(seconds: i64) -> Self {
        Span(seconds)
    }
    /// Whole seconds.
    pub const fn seconds(self) -> i64 {
        self.0
    }
    /// Hours as a decimal.
    pub fn hours(self) -> Decimal {
        // An hour of 36 seconds a hundredth: exact for nearly every time of a book.
        if self.0 % 36 == 0 {
            let (hundredths, scale) = super::decimal::trim(self.0 / 36, 2);
            return Decimal::new(hundredths, scale);
        }
        Decimal::new(self.0, 0) / Decimal::new(3600, 0)
    }
}

impl Serialize for Span {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let unit = if self.0 % 36 == 0 { Unit::Hr } else { Unit::Min };
        Quantity::of_base(i128::from(self.0), unit, 6).serialize(s)
    }
}

quantity_wire!(
    Span,
    "TimeInput",
    Dimension::Time,
    false,
    |s| i64::try_from(s).ok().filter(|s| *s <= 366 * 86_400).map(Span),
    "A time span up to a year with its unit. A bare number is refused.",
    ["45 min", "1.5 hr", "2 day"]
);

/// A quantity of any dimension, for members whose dimension another member decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AnyQuantity {
    base: i128,
    unit: Unit,
}

impl AnyQuantity {
    /// The value in base units of its dimension.
    pub const fn base(self) -> i128 {
        self.base
    }

    /// The unit it was written in.
    pub const fn unit(self) -> Unit {
        self.unit
    }
}

impl Serialize for AnyQuantity {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        Quantity::of_base(self.base, self.unit, 6).serialize(s)
    }
}

impl PartialSchema for AnyQuantity {
    fn schema() -> RefOr<Schema> {
        input_schema(
            "A quantity with its unit. A bare number is refused.",
            ["3.2 yd3", "41 ft 6 in", "12 each"],
        )
    }
}

impl ToSchema for AnyQuantity {
    fn name() -> Cow<'static, str> {
        "QuantityInput".into()
    }
    fn schemas(into: &mut Vec<(String, RefOr<Schema>)>) {
        crate::wire::read::register_named::<Quantity>(into);
    }
}

impl Wire for AnyQuantity {
    fn read(value: &Value, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        const KINDS: [Dimension; 6] = [
            Dimension::Length,
            Dimension::Area,
            Dimension::Volume,
            Dimension::Mass,
            Dimension::Time,
            Dimension::Count,
        ];
        for dimension in KINDS {
            let mut quiet = Faults::new();
            if let Some((base, unit)) = read_base(value, dimension, false, at, &mut quiet) {
                return Some(Self { base, unit });
            }
        }
        read_base(value, Dimension::Length, false, at, faults);
        None
    }
    crate::wire_named!();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_written_in_full() {
        for (mantissa, places, text) in [
            (0, 0, "0"),
            (0, 2, "0.00"),
            (5, 2, "0.05"),
            (-5, 3, "-0.005"),
            (16_250, 3, "16.250"),
            (1625, 2, "16.25"),
            (-7, 0, "-7"),
        ] {
            assert_eq!(Digits::new(mantissa, places).as_str(), text);
        }
        assert_eq!(Digits::new(i64::MIN, 6).as_str(), "-9223372036854.775808");
    }
}

/// A flow of water, exact to the nanolitre a minute.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Flow(i64);

impl Flow {
    /// A flow in nanolitres a minute.
    pub const fn from_base(base: i64) -> Self {
        Flow(base)
    }
    /// Cubic metres a second, for the hydraulic computations.
    pub fn m3_per_s(self) -> f64 {
        self.0 as f64 / 6e13
    }
}

impl Serialize for Flow {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let gallon = 3_785_411_784;
        let unit = if self.0 % (gallon / 8) == 0 { Unit::GalUsPerMin } else { Unit::LPerS };
        Quantity::of_base(i128::from(self.0), unit, 6).serialize(s)
    }
}

quantity_wire!(
    Flow,
    "FlowInput",
    Dimension::Flow,
    false,
    |base| i64::try_from(base).ok().filter(|b| *b <= 60_000_000_000_000).map(Flow),
    "A flow up to 1 m³/s with its unit. A bare number is refused.",
    ["12 gal_us_per_min", "0.8 l_per_s", "0.05 ft3_per_s"]
);

/// How hard it rains, exact to the nanometre an hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct RainRate(i64);

impl RainRate {
    /// Millimetres an hour, for the hydraulic computations.
    pub fn mm_per_h(self) -> f64 {
        self.0 as f64 / 1e6
    }
}

impl Serialize for RainRate {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let unit =
            if self.0 % 25_400 == 0 && self.0 % 1_000_000 != 0 { Unit::InPerHr } else { Unit::MmPerHr };
        Quantity::of_base(i128::from(self.0), unit, 6).serialize(s)
    }
}

quantity_wire!(
    RainRate,
    "RainRateInput",
    Dimension::RainIntensity,
    false,
    |base| i64::try_from(base).ok().filter(|b| *b <= 2_000_000_000).map(RainRate),
    "A rain intensity up to 2,000 mm an hour with its unit. A bare number is refused.",
    ["4.2 in_per_hr", "100 mm_per_hr", "2.75 in_per_hr"]
);
