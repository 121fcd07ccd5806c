//! Lengths as a foreman writes them, for the working beside each figure.

use super::exact::{Area, Length, Volume};
use super::quantity::{Digits, Quantity, UnitSystem};
use super::unit::Unit;
use std::fmt::{self, Display as _};

/// Shows quantities in one unit system.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Show(pub UnitSystem);

impl Show {
    /// A length: `41 ft 6 in`, `3 1/2 in` or `1.25 m`, `90 mm`.
    pub const fn length(self, length: Length) -> ShownLength {
        ShownLength { length, system: self.0 }
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

    /// The unit of run and line lengths.
    pub const fn length_unit(self) -> Unit {
        match self.0 {
            UnitSystem::Us => Unit::Ft,
            UnitSystem::Metric => Unit::M,
        }
    }
}

/// So many of a thing in words: `1 leg`, `2 legs`.
///
/// ```
/// use rillcast::units::show::counted;
/// assert_eq!(counted(1_i64, "leg").to_string(), "1 leg");
/// assert_eq!(counted(0_u32, "open end").to_string(), "0 open ends");
/// assert_eq!(counted(2_u32, "branch").to_string(), "2 branches");
/// ```
pub fn counted<N: PartialEq + From<u8>>(count: N, thing: &'static str) -> Counted<N> {
    Counted { one: count == N::from(1), count, thing }
}

/// A count to be printed, see [`counted`].
#[derive(Debug, Clone, Copy)]
pub struct Counted<N> {
    count: N,
    one: bool,
    thing: &'static str,
}

impl<N: fmt::Display> fmt::Display for Counted<N> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.count, self.thing)?;
        match (self.one, self.thing.ends_with("ch")) {
            (true, _) => Ok(()),
            (false, true) => f.write_str("es"),
            (false, false) => f.write_str("s"),
        }
    }
}

/// A length to be printed.
#[derive(Debug, Clone, Copy)]
pub struct ShownLength {
    length: Length,
    system: UnitSystem,
}

impl fmt::Display for ShownLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let nm = self.length.nm();
        if nm < 0 {
            f.write_str("-")?;
        }
        let size = Length::from_nm(nm.abs());
        match self.system {
            UnitSystem::Metric if size < Length::METRE => {
                Quantity::of_base(i128::from(size.nm()), Unit::Mm, 1).fmt(f)
            }
            UnitSystem::Metric => Quantity::of_base(i128::from(size.nm()), Unit::M, 3).fmt(f),
            UnitSystem::Us => feet_and_inches(size, f),
        }
    }
}

fn number(n: i64, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    f.write_str(Digits::new(n, 0).as_str())
}

fn feet_and_inches(size: Length, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let sixteenth = Length::inches(1, 16).nm();
    if size.nm() % sixteenth != 0 {
        let unit = if size < Length::FOOT { Unit::In } else { Unit::Ft };
        return Quantity::of_base(i128::from(size.nm()), unit, 3).fmt(f);
    }
    let sixteenths = size.nm() / sixteenth;
    let (feet, rest) = (sixteenths / 192, sixteenths % 192);
    let (inches, part) = (rest / 16, rest % 16);
    if feet > 0 {
        number(feet, f)?;
        if rest == 0 {
            return f.write_str(" ft");
        }
        f.write_str(" ft ")?;
    }
    if part == 0 {
        number(inches, f)?;
        return f.write_str(" in");
    }
    let mut above = part;
    let mut below = 16;
    while above % 2 == 0 {
        above /= 2;
        below /= 2;
    }
    if inches > 0 {
        number(inches, f)?;
        f.write_str(" ")?;
    }
    number(above, f)?;
    f.write_str("/")?;
    number(below, f)?;
    f.write_str(" in")
}

#[cfg(test)]
mod tests {
    use super::*;

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
