//! Lengths as a tape shows them, for the marks on what is cut.

use super::exact::Length;
use super::quantity::{Quantity, UnitSystem};
use super::show::{Show, ShownLength};
use super::unit::Unit;
use std::fmt;

/// The length that is marked with a tape for a piece of this one: never more, so that the piece fits.
///
/// # Formula
/// ```text
/// mark = max(1, floor(length / step)) · step
/// ```
///
/// # Units
/// Step: 1/16 in in US units, 1 mm in metric ones.
///
/// # Valid for
/// Any length. One below the first step of the tape is marked by that step, nothing by nothing.
///
/// # Source
/// Common practice, no source: the finest marks of a tape.
///
/// # Example
/// ```
/// use rillcast::units::{Length, UnitSystem, tape::tape_mark};
/// // 5.3 ft are 5 ft 3.6 in: between 9/16 in and 10/16 in of the fourth inch
/// let mark = tape_mark(Length::inches(636, 10), UnitSystem::Us);
/// assert_eq!(mark, Length::feet(5) + Length::inches(57, 16));
/// assert_eq!(tape_mark(Length::from_nm(1_085_980_000), UnitSystem::Metric), Length::millimetres(1085));
/// ```
pub fn tape_mark(length: Length, system: UnitSystem) -> Length {
    if !length.is_positive() {
        return Length::ZERO;
    }
    let step = step(system).nm();
    Length::from_nm((length.nm() / step).max(1) * step)
}

/// A level or depth as it is read off a tape or staff: the nearest mark.
///
/// # Formula
/// ```text
/// mark = round(length / step) · step, halves away from nothing
/// ```
///
/// # Units
/// Step: 1/16 in in US units, 1 mm in metric ones.
///
/// # Valid for
/// Any length, also below nothing.
///
/// # Source
/// Common practice, no source: the finest marks of a tape; ground is dug to no finer ones.
///
/// # Example
/// ```
/// use rillcast::units::{Length, UnitSystem, tape::nearest_mark};
/// // 1.0938 ft are 1 ft 1.1256 in: 2.01 sixteenths over the inch
/// let mark = nearest_mark(Length::inches(131_256, 10_000), UnitSystem::Us);
/// assert_eq!(mark, Length::inches(105, 8));
/// assert_eq!(nearest_mark(Length::from_nm(-500_000), UnitSystem::Metric), Length::millimetres(-1));
/// ```
pub fn nearest_mark(length: Length, system: UnitSystem) -> Length {
    let step = step(system).nm();
    let (whole, rest) = (length.nm() / step, length.nm() % step);
    let away = if rest.abs() * 2 >= step { rest.signum() } else { 0 };
    Length::from_nm((whole + away) * step)
}

/// Finest mark of a tape.
const fn step(system: UnitSystem) -> Length {
    match system {
        UnitSystem::Us => Length::inches(1, 16),
        UnitSystem::Metric => Length::MILLIMETRE,
    }
}

/// A [`tape_mark`] to be written: all of a sheet in feet, inches and sixteenths, or all in millimetres.
#[derive(Debug, Clone, Copy)]
pub enum TapeMark {
    /// `5 ft 3 9/16 in`.
    Us(ShownLength),
    /// `1085 mm`.
    Metric(Quantity),
}

impl Show {
    /// A length as it is marked on a piece.
    pub fn mark(self, length: Length) -> TapeMark {
        self.on_tape(tape_mark(length, self.0))
    }

    /// A level or depth as it is read off a tape or staff.
    pub fn nearest(self, length: Length) -> TapeMark {
        self.on_tape(nearest_mark(length, self.0))
    }

    fn on_tape(self, mark: Length) -> TapeMark {
        match self.0 {
            UnitSystem::Us => TapeMark::Us(self.length(mark)),
            UnitSystem::Metric => TapeMark::Metric(Quantity::length(mark, Unit::Mm)),
        }
    }
}

impl fmt::Display for TapeMark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TapeMark::Us(mark) => mark.fmt(f),
            TapeMark::Metric(mark) => mark.fmt(f),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_at_or_below_the_length_and_never_nothing() {
        let us = |length| Show(UnitSystem::Us).mark(length).to_string();
        let metric = |length| Show(UnitSystem::Metric).mark(length).to_string();
        let sixteenth = Length::inches(1, 16);
        for (length, mark) in [
            (Length::feet(8), "8 ft"),
            (Length::feet(8) - Length::from_nm(1), "7 ft 11 15/16 in"),
            (Length::feet(3) + Length::inches(47, 8), "3 ft 5 7/8 in"),
            (Length::feet(2) + Length::inches(8 * 32 + 9, 32), "2 ft 8 1/4 in"),
            (sixteenth, "1/16 in"),
            (sixteenth - Length::from_nm(1), "1/16 in"),
            (Length::METRE, "3 ft 3 5/16 in"),
            (Length::ZERO, "0 in"),
        ] {
            assert_eq!(us(length), mark, "{length:?}");
        }
        for (length, mark) in [
            (Length::METRE, "1000 mm"),
            (Length::METRE - Length::from_nm(1), "999 mm"),
            (Length::from_nm(1_085_980_000), "1085 mm"),
            (Length::feet(4), "1219 mm"),
            (Length::from_nm(1), "1 mm"),
            (Length::ZERO, "0 mm"),
        ] {
            assert_eq!(metric(length), mark, "{length:?}");
        }
    }
}
