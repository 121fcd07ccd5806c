//! The text form of a quantity: `41 ft 6 in`, `16' 3-1/2"`, `3 1/2 in`, `12.6 m`, `2.25 yd3`.
//!
//! The grammar is small and total: every text either gives one exact value or one named refusal.
//!
//! ```text
//! quantity = feet [ inches ] | number unit | mixed unit
//! feet     = whole ( "ft" | "'" ) ;  inches = number-or-mixed ( "in" | '"' ), below 12
//! mixed    = whole [ " " | "-" ] numerator "/" denominator | numerator "/" denominator
//! ```
//! Typographic primes and quotes are read as ' and ", a raised 2 or 3 behind a unit as the digit, `kg/m3` as `kg_per_m3`, `h` as
//! `hr`, `°C` as `deg_c`. A sign, an exponent, a comma and the word `ton` (short or metric?) are refused.

use super::exact::div_round;
use super::spelling;
use super::unit::{Dimension, Unit};

/// Most decimals of a quantity, written in either form.
pub const MOST_DECIMALS: usize = 6;

/// Most digits before the point.
const MOST_DIGITS: usize = 12;

/// Why a text is no quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// A number without a unit.
    #[error("a number needs its unit")]
    NoUnit,
    /// A unit that is not known.
    #[error("this unit is not known")]
    UnknownUnit,
    /// `ton` alone.
    #[error("`ton` is ambiguous: write short_ton (2,000 lb) or t (1,000 kg)")]
    AmbiguousTon,
    /// Inches of twelve or more beside feet.
    #[error("beside feet, inches must be less than 12")]
    InchesBesideFeet,
    /// Decimal feet beside inches.
    #[error("beside inches, feet must be a whole number")]
    FractionalFeet,
    /// A fraction over zero.
    #[error("a fraction cannot have 0 below the line")]
    ZeroDenominator,
    /// A number below zero where none is meant.
    #[error("a quantity here cannot be negative")]
    Negative,
    /// Not a number the grammar knows.
    #[error("this is not a number in the accepted form")]
    Number,
    /// A comma before decimals or between thousands.
    #[error("use a point before decimals, as in 6.35, and nothing between thousands")]
    Comma,
    /// More decimals than are kept.
    #[error("a quantity has at most {MOST_DECIMALS} decimals")]
    Decimals,
    /// More than can be a job, or finer than the base unit.
    #[error("this is beyond the accepted range")]
    Range,
    /// Part of a piece.
    #[error("pieces are counted whole")]
    PartOfPiece,
    /// Right form, wrong kind of unit.
    #[error("this unit measures something else")]
    Dimension,
}

impl Refusal {
    /// The stable code of the fault.
    pub const fn code(self) -> &'static str {
        match self {
            Refusal::NoUnit => "unit_required",
            Refusal::UnknownUnit => "unit_unknown",
            Refusal::AmbiguousTon => "unit_ambiguous",
            Refusal::InchesBesideFeet => "inches_beside_feet",
            Refusal::FractionalFeet => "fractional_feet",
            Refusal::ZeroDenominator => "zero_denominator",
            Refusal::Negative => "negative",
            Refusal::Number | Refusal::Comma => "number_form",
            Refusal::Decimals => "too_many_decimals",
            Refusal::Range => "out_of_range",
            Refusal::PartOfPiece => "whole_pieces",
            Refusal::Dimension => "unit_dimension",
        }
    }
}

/// Reads the text form.
///
/// # Errors
/// The [`Refusal`] that names what is wrong.
///
/// The value is in the base units of [`Unit::factor`]; the unit is the one written (feet for feet and inches).
///
/// ```
/// use rillcast::units::{grammar::{Refusal, parse}, unit::Dimension};
/// let length = |t| parse(t, Dimension::Length).map(|(v, _)| v);
/// assert_eq!(length("41 ft 6 in"), Ok(41 * 304_800_000 + 6 * 25_400_000));
/// assert_eq!(length("16' 3-1/2\""), Ok(16 * 304_800_000 + 88_900_000));
/// assert_eq!(length("12.6 m"), Ok(12_600_000_000));
/// assert_eq!(length("16"), Err(Refusal::NoUnit));
/// assert_eq!(length("16 ft 14 in"), Err(Refusal::InchesBesideFeet));
/// assert_eq!(length("16.5 ft 3 in"), Err(Refusal::FractionalFeet));
/// ```
pub fn parse(text: &str, dimension: Dimension) -> Result<(i128, Unit), Refusal> {
    if text.len() > 60 {
        return Err(Refusal::Number);
    }
    let mut before = ' ';
    let plain: String = text
        .trim()
        .chars()
        .map(|c| {
            before = match c {
                '\u{2032}' | '\u{2019}' => '\'',
                '\u{2033}' | '\u{201d}' => '"',
                '\u{a0}' => ' ',
                '\u{b2}' if before.is_ascii_alphabetic() => '2',
                '\u{b3}' if before.is_ascii_alphabetic() => '3',
                other => other,
            };
            before
        })
        .collect();
    if plain.starts_with(['-', '\u{2212}']) {
        return Err(Refusal::Negative);
    }
    let mut rest = plain.as_str();
    let (first, first_unit) = part(&mut rest)?;
    let mut value = first.of(first_unit)?;
    if !rest.is_empty() {
        let (second, second_unit) = part(&mut rest)?;
        if first_unit != Unit::Ft || second_unit != Unit::In || !rest.is_empty() {
            return Err(Refusal::Number);
        }
        if !first.is_whole() {
            return Err(Refusal::FractionalFeet);
        }
        if !second.below(12) {
            return Err(Refusal::InchesBesideFeet);
        }
        value += second.times(25_400_000)?;
    }
    if first_unit.dimension() != dimension {
        return Err(Refusal::Dimension);
    }
    Ok((value, first_unit))
}

/// Reads a time as written, in seconds with their parts: where nothing is kept of it, it need not be whole.
///
/// # Errors
/// As [`parse`].
///
/// ```
/// use rillcast::units::grammar::seconds;
/// assert_eq!(seconds("18.79 min"), Ok(1127.4));
/// assert_eq!(seconds("1/3 hr"), Ok(1200.0));
/// ```
pub fn seconds(text: &str) -> Result<f64, Refusal> {
    let (rounded, unit) = parse(text, Dimension::Time)?;
    let exact = Ratio::take(text.trim()).ok().zip(unit.factor());
    Ok(exact.map_or(rounded as f64, |((number, _), factor)| {
        number.numerator as f64 * factor as f64 / number.denominator as f64
    }))
}

/// Reads a value sent as decimal text with its unit apart.
///
/// # Errors
/// What is wrong with the number.
pub fn decimal(text: &str, unit: Unit) -> Result<i128, Refusal> {
    let (number, after) = Ratio::take(text)?;
    if !after.is_empty() || text.contains('/') {
        return Err(Refusal::Number);
    }
    number.of(unit)
}

/// A rational number as written.
#[derive(Debug, Clone, Copy)]
struct Ratio {
    numerator: i128,
    denominator: i128,
}

impl Ratio {
    fn is_whole(self) -> bool {
        self.numerator % self.denominator == 0
    }

    fn below(self, limit: i128) -> bool {
        self.numerator < limit * self.denominator
    }

    /// So much of a unit, in base units.
    fn of(self, unit: Unit) -> Result<i128, Refusal> {
        if unit.dimension() == Dimension::Count && !self.is_whole() {
            return Err(Refusal::PartOfPiece);
        }
        self.times(unit.factor().ok_or(Refusal::Dimension)?)
    }

    /// Rounded to the nearest base unit: nothing is lost for a length written to a 64th of an inch or a nanometre.
    fn times(self, factor: i128) -> Result<i128, Refusal> {
        // The whole part apart: needless decimals of a large volume must not overflow the product.
        let whole = (self.numerator / self.denominator).checked_mul(factor).ok_or(Refusal::Range)?;
        let rest = (self.numerator % self.denominator).checked_mul(factor).ok_or(Refusal::Range)?;
        whole.checked_add(div_round(rest, self.denominator)).ok_or(Refusal::Range)
    }

    /// Takes a number from the front: `16`, `16.25`, `3 1/2`, `3-1/2`, `1/2`.
    fn take(text: &str) -> Result<(Ratio, &str), Refusal> {
        let (whole, after) = digits(text, MOST_DIGITS).ok_or_else(|| refused(text))?;
        if let Some(after_slash) = after.strip_prefix('/') {
            let (below, after) = digits(after_slash, MOST_DIGITS).ok_or(Refusal::Number)?;
            return Ok((Ratio { numerator: whole, denominator: below }, after));
        }
        if let Some(after_point) = after.strip_prefix('.') {
            let places = figures(after_point);
            if places > MOST_DECIMALS {
                return Err(Refusal::Decimals);
            }
            let (decimals, after) = digits(after_point, MOST_DECIMALS).ok_or(Refusal::Number)?;
            let scale = 10_i128.pow(places as u32);
            return Ok((Ratio { numerator: whole * scale + decimals, denominator: scale }, after));
        }
        if after.strip_prefix(',').is_some_and(|rest| figures(rest) > 0) {
            return Err(Refusal::Comma);
        }
        // "3 1/2" and "3-1/2": a fraction after the whole number.
        let fraction =
            after.strip_prefix('-').or_else(|| Some(after.trim_start_matches(' ')).filter(|t| *t != after));
        if let Some((above, tail)) = fraction.and_then(|t| digits(t, MOST_DIGITS))
            && let Some(after_slash) = tail.strip_prefix('/')
        {
            let (below, after) = digits(after_slash, MOST_DIGITS).ok_or(Refusal::Number)?;
            if above >= below && below != 0 {
                return Err(Refusal::Number);
            }
            return Ok((Ratio { numerator: whole * below + above, denominator: below }, after));
        }
        Ok((Ratio { numerator: whole, denominator: 1 }, after))
    }
}

/// How many digits stand in front.
fn figures(text: &str) -> usize {
    text.bytes().position(|b| !b.is_ascii_digit()).unwrap_or(text.len())
}

/// A whole number of 1 to `most` digits from the front.
fn digits(text: &str, most: usize) -> Option<(i128, &str)> {
    let end = figures(text);
    let (number, after) = (1..=most).contains(&end).then(|| text.split_at(end))?;
    Some((number.parse().ok()?, after))
}

/// Why no whole number stands in front.
fn refused(text: &str) -> Refusal {
    if figures(text) > MOST_DIGITS { Refusal::Range } else { Refusal::Number }
}

/// Takes one number with its unit from the front of `rest`.
fn part(rest: &mut &str) -> Result<(Ratio, Unit), Refusal> {
    let (number, after) = Ratio::take(rest)?;
    if number.denominator == 0 {
        return Err(Refusal::ZeroDenominator);
    }
    let after = after.trim_start_matches(' ');
    if after.is_empty() {
        return Err(Refusal::NoUnit);
    }
    let end = spelling::length(after);
    let (word, after) = after.split_at(end);
    if word.is_empty() {
        return Err(Refusal::Number);
    }
    if word.as_bytes()[0].is_ascii_digit() {
        return Err(Refusal::Number);
    }
    let unit = spelling::unit(word)?;
    *rest = after.trim_start_matches(' ');
    Ok((number, unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(text: &str) -> Result<i128, Refusal> {
        parse(text, Dimension::Length).map(|(v, _)| v)
    }

    #[test]
    fn accepted_forms() {
        for (text, nm) in [
            ("16 ft", 16 * 304_800_000),
            ("16ft 3in", 16 * 304_800_000 + 3 * 25_400_000),
            ("16'3\"", 16 * 304_800_000 + 3 * 25_400_000),
            ("3 1/2 in", 88_900_000),
            ("3-1/2 in", 88_900_000),
            ("1/64 in", 396_875),
            ("137 ft 6 in", 1375 * 30_480_000),
            ("4.5 yd", 4_114_800_000),
            ("2500 mm", 2_500_000_000),
            ("12 cm", 120_000_000),
            ("16\u{2032} 3\u{2033}", 16 * 304_800_000 + 3 * 25_400_000),
        ] {
            assert_eq!(length(text), Ok(nm), "{text}");
        }
    }

    #[test]
    fn refused_forms_have_their_own_codes() {
        for (text, refusal) in [
            ("16", Refusal::NoUnit),
            ("16 3", Refusal::Number),
            ("16-3", Refusal::Number),
            ("16 ft 3", Refusal::NoUnit),
            ("16 ft 12 in", Refusal::InchesBesideFeet),
            ("16.5 ft 3 in", Refusal::FractionalFeet),
            ("-2 ft", Refusal::Negative),
            ("1/0 in", Refusal::ZeroDenominator),
            ("3 furlong", Refusal::UnknownUnit),
            ("3 ton", Refusal::AmbiguousTon),
            ("3\" 2'", Refusal::Number),
            ("1e3 ft", Refusal::UnknownUnit),
            ("3 5/2 in", Refusal::Number),
            ("1,000 ft", Refusal::Comma),
            ("6,35 m", Refusal::Comma),
            ("6.3500000 m", Refusal::Decimals),
            ("2.1234567891 m", Refusal::Decimals),
            ("1234567890123 mm", Refusal::Range),
            ("3\u{b2} m", Refusal::Number),
            ("3 m/furlong", Refusal::UnknownUnit),
            ("", Refusal::Number),
            ("ft", Refusal::Number),
            ("3 lb", Refusal::Dimension),
        ] {
            assert_eq!(length(text), Err(refusal), "{text}");
        }
    }

    #[test]
    fn needless_decimals_do_not_put_a_volume_out_of_range() {
        let yards = |t| parse(t, Dimension::Volume).map(|(v, _)| v);
        assert_eq!(yards("1300.000000 yd3"), yards("1300 yd3"));
        assert_eq!(yards("1300.000000 yd3"), Ok(1300 * 764_554_857_984_000_000_000_000_000));
        assert_eq!(yards("0.500000 yd3"), Ok(382_277_428_992_000_000_000_000_000));
    }

    #[test]
    fn both_forms_have_one_limit_of_decimals() {
        assert_eq!(decimal("2.100001", Unit::Yd3), parse("2.100001 yd3", Dimension::Volume).map(|(v, _)| v));
        assert_eq!(decimal("2.1000001", Unit::Yd3), Err(Refusal::Decimals));
        assert_eq!(parse("2.1000001 yd3", Dimension::Volume), Err(Refusal::Decimals));
        assert!(Refusal::Decimals.to_string().contains("at most 6 decimals"));
        assert_eq!(decimal("2,1", Unit::Yd3), Err(Refusal::Comma));
    }

    #[test]
    fn raised_digits_and_strokes_are_other_spellings_of_units() {
        for (text, like, dimension) in [
            ("2.1 m\u{b3}", "2.1 m3", Dimension::Volume),
            ("2 yd\u{b3}", "2 yd3", Dimension::Volume),
            ("120 ft\u{b2}", "120 ft2", Dimension::Area),
            ("2400 kg/m3", "2400 kg_per_m3", Dimension::Density),
            ("2400kg/m\u{b3}", "2400 kg_per_m3", Dimension::Density),
            ("150 lb/ft3", "150 lb_per_ft3", Dimension::Density),
            ("12 gal_us/min", "12 gal_us_per_min", Dimension::Flow),
        ] {
            let read = parse(text, dimension);
            assert!(read.is_ok(), "{text}: {read:?}");
            assert_eq!(read, parse(like, dimension), "{text}");
        }
    }
}
