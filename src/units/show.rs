//! Lengths as a foreman writes them, for the working beside each figure.

use super::decimal::{Plain, plain};
use super::exact::{Area, Length, Volume, div_round};
use super::quantity::{Digits, Figure, Quantity, UnitSystem};
use super::unit::Unit;
use arrayvec::ArrayString;
use rust_decimal::Decimal;
use std::fmt;

/// Shows quantities in one unit system.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Show(pub UnitSystem);

impl Show {
    /// A length: `41 ft 6 in`, `3 1/2 in` or `1.25 m`, `90 mm`.
    pub const fn length(self, length: Length) -> ShownLength {
        ShownLength { length, system: self.0, more: 0 }
    }

    /// Two lengths that are compared: with as many decimals more as tell them apart.
    ///
    /// ```
    /// use rillcast::units::{Length, UnitSystem, show::Show};
    /// let apart = |a, b| Show(UnitSystem::Metric).lengths_apart(a, b).map(|length| length.to_string());
    /// let metre = Length::METRE;
    /// assert_eq!(apart(metre, Length::millimetres(1002)), ["1 m", "1.002 m"]);
    /// assert_eq!(apart(metre, Length::from_nm(1_000_040_000)), ["1 m", "1.00004 m"]);
    /// assert_eq!(apart(metre, Length::from_nm(999_980_000)), ["1 m", "999.98 mm"]);
    /// ```
    pub fn lengths_apart(self, one: Length, other: Length) -> [ShownLength; 2] {
        let with = |more| [one, other].map(|length| ShownLength { length, system: self.0, more });
        let is_told = |[one, other]: &[ShownLength; 2]| !one.reads_as_much_as(*other);
        // six more are less than a nanometre of every unit
        (0..6).map(with).find(is_told).unwrap_or_else(|| with(if one == other { 0 } else { 6 }))
    }

    /// An area in ft² or m².
    pub fn area(self, area: Area) -> Quantity {
        Quantity::area(area, self.area_unit())
    }

    /// A volume of earth or concrete in yd³ or m³.
    pub fn volume(self, volume: Volume) -> Quantity {
        Quantity::volume(volume, self.volume_unit())
    }

    /// A length as an answer carries it, in ft or m.
    pub fn long(self, length: Length) -> Quantity {
        Quantity::length(length, if self.0 == UnitSystem::Us { Unit::Ft } else { Unit::M })
    }

    /// A small dimension as an answer carries it, in inches or millimetres.
    pub fn small(self, length: Length) -> Quantity {
        Quantity::length(length, if self.0 == UnitSystem::Us { Unit::In } else { Unit::Mm })
    }

    /// The unit of areas.
    pub const fn area_unit(self) -> Unit {
        match self.0 {
            UnitSystem::Us => Unit::Ft2,
            UnitSystem::Metric => Unit::M2,
        }
    }

    /// The unit of earth and concrete volumes.
    pub const fn volume_unit(self) -> Unit {
        match self.0 {
            UnitSystem::Us => Unit::Yd3,
            UnitSystem::Metric => Unit::M3,
        }
    }

    /// The unit of weights.
    pub const fn weight_unit(self) -> Unit {
        match self.0 {
            UnitSystem::Us => Unit::Lb,
            UnitSystem::Metric => Unit::Kg,
        }
    }
}

/// Room for most lines of working, so that their text need not grow while it is written.
pub(crate) const LINE: usize = 96;

/// Room on the stack for a line of working; one in fifty is longer than two hundred bytes.
const ROOM: usize = 256;

/// A line of working from its parts, see [`worded`].
pub(crate) fn line(parts: fmt::Arguments<'_>) -> String {
    let mut line = ArrayString::<ROOM>::new();
    match fmt::write(&mut line, parts) {
        Ok(()) => line.as_str().to_owned(),
        Err(fmt::Error) => parts.to_string(),
    }
}

/// A line of working: as `format!`, written on the stack and kept in a text of just its length. An answer holds hundreds of
/// them, and texts that grow while they are written, or keep room they do not need, cost more than the copy.
macro_rules! worded {
    ($($part:tt)*) => { $crate::units::show::line(format_args!($($part)*)) };
}
pub(crate) use worded;

/// Things one after the other with a word between them, to be printed.
pub(crate) fn joined<T: fmt::Display>(
    things: impl Iterator<Item = T> + Clone,
    between: &str,
) -> impl fmt::Display {
    fmt::from_fn(move |f| {
        for (place, thing) in things.clone().enumerate() {
            if place > 0 {
                f.write_str(between)?;
            }
            thing.fmt(f)?;
        }
        Ok(())
    })
}

/// Whether lines of working are written. Where ways are compared by their figures alone, their text is left out: it would
/// cost more than the figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Working {
    /// It is.
    Written,
    /// It is not: every text of it is empty.
    Left,
}

impl Working {
    /// Whether it is.
    pub(crate) const fn is_written(self) -> bool {
        matches!(self, Working::Written)
    }
}

/// A line of working as [`worded`], empty where it is left.
macro_rules! told {
    ($working:expr, $($part:tt)*) => {
        if $working.is_written() { $crate::units::show::worded!($($part)*) } else { String::new() }
    };
}
pub(crate) use told;

/// So many of a thing in words: `1 leg`, `2 legs`.
///
/// ```
/// use rillcast::units::show::counted;
/// assert_eq!(counted(1, "leg").to_string(), "1 leg");
/// assert_eq!(counted(0, "open end").to_string(), "0 open ends");
/// assert_eq!(counted(2, "branch").to_string(), "2 branches");
/// ```
pub fn counted(count: impl TryInto<i64>, thing: &'static str) -> Counted {
    Counted { count: count.try_into().unwrap_or(i64::MAX), thing }
}

/// As [`counted`], for a decimal rounded to `places`: `0.5 days`, `1 day`.
///
/// ```
/// use rillcast::units::show::measured;
/// use rust_decimal::Decimal;
/// assert_eq!(measured(Decimal::new(5, 1), 1, "day").to_string(), "0.5 days");
/// assert_eq!(measured(Decimal::new(1000, 3), 1, "day").to_string(), "1 day");
/// assert_eq!(measured(Decimal::new(9_996, 4), 3, "crew-hour").to_string(), "1 crew-hour");
/// ```
pub fn measured(value: Decimal, places: u32, thing: &'static str) -> Measured {
    Measured { number: plain(value, places), thing }
}

/// A decimal count to be printed, see [`measured`].
#[derive(Debug, Clone, Copy)]
pub struct Measured {
    number: Plain,
    thing: &'static str,
}

impl Measured {
    /// Writes it behind a text, without the formatter.
    pub(crate) fn put(self, text: &mut String) {
        self.number.put(text);
        // writing to a string does not fail
        let _ = self.put_thing(text);
    }

    /// What is counted, as many as there are.
    fn put_thing(self, text: &mut impl fmt::Write) -> fmt::Result {
        text.write_str(" ")?;
        text.write_str(self.thing)?;
        text.write_str(if self.number == Plain::Small(1, 0) { "" } else { "s" })
    }
}

impl fmt::Display for Measured {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.number.fmt(f)?;
        self.put_thing(f)
    }
}

/// A count to be printed, see [`counted`].
#[derive(Debug, Clone, Copy)]
pub struct Counted {
    count: i64,
    thing: &'static str,
}

impl fmt::Display for Counted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ending = match (self.count == 1, self.thing.ends_with("ch")) {
            (true, _) => "",
            (false, true) => "es",
            (false, false) => "s",
        };
        f.write_str(Figure::of(self.count, 0).as_str())?;
        f.write_str(" ")?;
        f.write_str(self.thing)?;
        f.write_str(ending)
    }
}

/// A length to be printed.
#[derive(Debug, Clone, Copy)]
pub struct ShownLength {
    length: Length,
    system: UnitSystem,
    /// Decimals beyond the usual ones.
    more: u8,
}

impl ShownLength {
    /// The unit and places in which it is written where it is no exact fraction of an inch.
    fn decimal(self) -> (Unit, u8) {
        let size = Length::from_nm(self.length.nm().abs());
        let (unit, places) = match self.system {
            UnitSystem::Metric if size < Length::METRE => (Unit::Mm, 1),
            UnitSystem::Metric => (Unit::M, 3),
            UnitSystem::Us if size < Length::FOOT => (Unit::In, 3),
            UnitSystem::Us => (Unit::Ft, 3),
        };
        (unit, places + self.more)
    }

    /// What is read, as a fraction of nanometres.
    fn read(self) -> (i128, i128) {
        let nm = i128::from(self.length.nm());
        if self.system == UnitSystem::Us && nm % i128::from(SIXTEENTH) == 0 {
            return (nm, 1);
        }
        let (unit, places) = self.decimal();
        let (one, parts) = (unit.factor().unwrap_or(1), 10_i128.pow(places.into()));
        (div_round(nm * parts, one) * one, parts)
    }

    /// Whether another reads as the same length, in whatever unit: `1000 mm` and `1 m`.
    fn reads_as_much_as(self, other: Self) -> bool {
        let ((one, parts), (two, others)) = (self.read(), other.read());
        one.checked_mul(others) == two.checked_mul(parts)
    }
}

impl fmt::Display for ShownLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let nm = self.length.nm();
        let size = Length::from_nm(nm.abs());
        let exact = match self.system {
            UnitSystem::Us => feet_and_inches(size),
            UnitSystem::Metric => None,
        };
        let Some(exact) = exact else {
            let (unit, places) = self.decimal();
            if nm < 0 {
                f.write_str("-")?;
            }
            return Quantity::of_base(i128::from(size.nm()), unit, places).fmt(f);
        };
        let signed = if nm < 0 { exact.word("-") } else { exact };
        f.write_str(signed.as_str())
    }
}

/// Nanometres in a sixteenth of an inch.
const SIXTEENTH: i64 = Length::inches(1, 16).nm();

/// A length of whole sixteenths of an inch in feet, inches and the fraction in lowest terms.
fn feet_and_inches(size: Length) -> Option<Digits> {
    if size.nm() % SIXTEENTH != 0 {
        return None;
    }
    let sixteenths = size.nm() / SIXTEENTH;
    let (feet, rest) = (sixteenths / 192, sixteenths % 192);
    let (inches, part) = (rest / 16, rest % 16);
    if rest == 0 && feet > 0 {
        return Some(Digits::none().word(" ft").and(feet, 0));
    }
    let mut shown = Digits::none().word(" in");
    if part > 0 {
        let halved = part.trailing_zeros();
        shown = shown.and(16 >> halved, 0).word("/").and(part >> halved, 0);
    }
    if part == 0 || inches > 0 {
        shown = if part > 0 { shown.word(" ") } else { shown }.and(inches, 0);
    }
    Some(if feet > 0 { shown.word(" ft ").and(feet, 0) } else { shown })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_any_length_are_whole() {
        for length in [0, 1, ROOM - 1, ROOM, ROOM + 1, 10 * ROOM] {
            let word = "x".repeat(length);
            assert_eq!(worded!("{word}"), word);
            assert_eq!(worded!("{word} = {}", 7), format!("{word} = 7"));
        }
    }

    #[test]
    fn what_is_put_behind_a_text_is_what_is_printed() {
        for (mantissa, scale) in [(0, 0), (1, 0), (10, 1), (15, 1), (999, 0), (1000, 0), (12_345, 2), (-5, 1)]
        {
            let value = Decimal::new(mantissa, scale);
            let (mut text, shown) = ("= ".to_owned(), measured(value, 3, "day"));
            shown.put(&mut text);
            assert_eq!(text, format!("= {shown}"));
            assert_eq!(plain(value, 3).text(), plain(value, 3).to_string());
        }
    }

    #[test]
    fn lengths_that_are_compared_never_read_as_the_same_one() {
        let apart = |system, one, other| {
            Show(system).lengths_apart(Length::from_nm(one), Length::from_nm(other)).map(|l| l.to_string())
        };
        let metric = |one, other| apart(UnitSystem::Metric, one, other);
        assert_eq!(metric(999_980_000, 1_000_000_000), ["999.98 mm", "1 m"]);
        assert_eq!(metric(999_900_000, 1_000_000_000), ["999.9 mm", "1 m"]);
        let us = |one, other| apart(UnitSystem::Us, one, other);
        // a foot has 304,800,000 nm, 3 1/2 in 88,900,000
        assert_eq!(us(304_797_000, 304_800_000), ["11.9999 in", "1 ft"]);
        assert_eq!(us(88_901_000, 88_900_000), ["3.50004 in", "3 1/2 in"]);
    }

    #[test]
    fn lengths_read_like_notes() {
        let us = Show(UnitSystem::Us);
        assert_eq!(us.length(Length::feet(41) + Length::inches(6, 1)).to_string(), "41 ft 6 in");
        assert_eq!(us.length(Length::inches(7, 2)).to_string(), "3 1/2 in");
        assert_eq!(us.length(Length::inches(1, 8)).to_string(), "1/8 in");
        assert_eq!(us.length(Length::feet(9)).to_string(), "9 ft");
        assert_eq!(us.length(Length::ZERO).to_string(), "0 in");
        assert_eq!(us.length(Length::millimetres(100)).to_string(), "3.937 in");
        let metric = Show(UnitSystem::Metric);
        assert_eq!(metric.length(Length::millimetres(1250)).to_string(), "1.25 m");
        assert_eq!(metric.length(Length::millimetres(90)).to_string(), "90 mm");
    }
}
