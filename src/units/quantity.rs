//! Quantities as they travel: `"16 ft 3 in"` or `{"value":"16.25","unit":"ft"}` in, the object form out.
//!
//! | file | subject |
//! |---|---|
//! | this one | the object form of answers |
//! | `digits` | a number in decimal digits, without the formatter |
//! | `described` | both forms of requests as the document has them |
//! | `input` | both forms of requests read, with what is wrong about them and what would be right |
//! | `geometry` | lengths, levels, areas and volumes |
//! | `mass` | masses |
//! | `density` | densities, and the mass of a cubic foot |
//! | `time` | spans of time |
//! | `water` | flows and rain intensities |
//! | `any` | a quantity whose dimension another member decides |

mod any;
mod density;
mod described;
mod digits;
mod geometry;
mod input;
mod mass;
mod time;
mod water;

pub use any::AnyQuantity;
pub use density::Density;
pub(super) use described::{input_schema, register_object};
pub(crate) use digits::{Digits, Figure};
pub use geometry::Level;
pub(super) use input::{note, note_range, quantity_wire, read_base, sent};
pub use mass::Mass;
pub use time::{Span, WorkTime};
pub use water::{Flow, RainRate};

use super::exact::{Area, Length, Volume, div_round};
use super::unit::Unit;
use crate::wire_enum;
use rust_decimal::Decimal;
use serde::ser::SerializeStruct as _;
use serde::{Serialize, Serializer};
use std::borrow::Cow;
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
        let most = if base < 0 { i128::MIN } else { i128::MAX };
        let scaled = super::decimal::shifted(base, u32::from(places)).unwrap_or(most);
        let mantissa = i64::try_from(div_round(scaled, factor)).unwrap_or(i64::MAX);
        Self::trimmed(mantissa, places, unit)
    }

    fn trimmed(mantissa: i64, places: u8, unit: Unit) -> Self {
        let (mantissa, left) = super::decimal::trim(mantissa, u32::from(places));
        Self::new(mantissa, left as u8, unit)
    }

    /// A length, to 4 decimals of the unit.
    pub fn length(length: Length, unit: Unit) -> Self {
        // The fourth decimal of each of these units is whole nanometres: an answer holds hundreds of lengths, and a known
        // divisor is many times faster.
        let fourth = match unit {
            Unit::Ft => rounded::<30_480>(length.nm()),
            Unit::In => rounded::<2_540>(length.nm()),
            Unit::M => rounded::<100_000>(length.nm()),
            Unit::Mm => rounded::<100>(length.nm()),
            _ => return Self::of_base(i128::from(length.nm()), unit, 4),
        };
        Self::trimmed(fourth, 4, unit)
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
        let rounded = super::decimal::rounded(value, u32::from(places)).normalize();
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

/// A whole number over `OF`, rounded half away from zero.
const fn rounded<const OF: i64>(n: i64) -> i64 {
    let (quotient, rest) = (n / OF, n % OF);
    quotient + if 2 * rest.abs() >= OF { n.signum() } else { 0 }
}

impl Quantity {
    fn figure(self) -> Figure {
        Figure::of(self.mantissa, u32::from(self.places))
    }
}

impl std::fmt::Display for Quantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let unit = match self.unit {
            Unit::Each => Digits::none(),
            Unit::Percent => Digits::none().word(" %"),
            unit => Digits::none().word(unit.word()).word(" "),
        };
        f.write_str(unit.and(self.mantissa, u32::from(self.places)).as_str())
    }
}

impl Serialize for Quantity {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut object = s.serialize_struct("Quantity", 2)?;
        object.serialize_field("value", self.figure().as_str())?;
        object.serialize_field("unit", self.unit.word())?;
        object.end()
    }
}

/// The number of a quantity whose unit is said elsewhere, as in a column of a table: a decimal string.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BareNumber(Quantity);

impl From<Quantity> for BareNumber {
    fn from(quantity: Quantity) -> Self {
        Self(quantity)
    }
}

impl Serialize for BareNumber {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(self.0.figure().as_str())
    }
}

impl PartialSchema for Quantity {
    fn schema() -> RefOr<Schema> {
        let unit =
            crate::wire::described(crate::wire::read::reference_to::<Unit>(), "The unit of the number.");
        described::object(
            "A number with its unit: `{\"value\":\"16.25\",\"unit\":\"ft\"}`.",
            described::SIGNED,
            unit,
            serde_json::json!({"value": "16.25", "unit": "ft"}),
        )
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
