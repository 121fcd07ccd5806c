//! What a piece is sawn by: a mark, or none where no cut ends it.

use crate::units::Length;
use crate::units::show::Show;
use serde::{Serialize, Serializer};
use std::fmt;

/// What is sawn by for a piece; put into words when the answer is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// A length as a foreman writes it on the piece.
    At {
        /// The length.
        length: Length,
        /// In which units.
        show: Show,
    },
    /// A stock piece as it is.
    Whole,
    /// What the last cut leaves.
    Rest,
}

/// What is said of a piece that is a whole stock piece.
pub const WHOLE: &str = "whole";
/// What is said of a piece that the last cut leaves.
pub const REST: &str = "the rest";

impl Mark {
    /// Of the piece at a place, from 0, of a stock piece that is cut so often. Each cut ends one piece; behind the last one there is
    /// a piece only where the stock piece is used up.
    pub(super) fn of(length: Length, place: usize, cuts: usize, show: Show) -> Self {
        match uncut(place, cuts) {
            Some(WHOLE) => Self::Whole,
            Some(_) => Self::Rest,
            None => Self::At { length, show },
        }
    }
}

/// What is said in place of a mark of the piece at a place, from 0, of a stock piece that is cut so often; nothing where a cut ends it.
pub fn uncut(place: usize, cuts: usize) -> Option<&'static str> {
    match (place, cuts) {
        (_, 0) => Some(WHOLE),
        (place, cuts) if place >= cuts => Some(REST),
        _ => None,
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::At { length, show } => fmt::Display::fmt(&show.mark(*length), f),
            Self::Whole => f.write_str(WHOLE),
            Self::Rest => f.write_str(REST),
        }
    }
}

impl Serialize for Mark {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::UnitSystem;

    /// A metre on an inch tape lies between two marks: sawn to the lower one it would be short of what it is.
    #[test]
    fn no_mark_is_told_where_no_cut_ends_a_piece() {
        let marks = |pieces: usize, cuts: usize| -> Vec<String> {
            (0..pieces)
                .map(|place| Mark::of(Length::METRE, place, cuts, Show(UnitSystem::Us)).to_string())
                .collect()
        };
        assert_eq!(marks(1, 0), ["whole"]);
        assert_eq!(marks(1, 1), ["3 ft 3 5/16 in"]);
        assert_eq!(marks(2, 1), ["3 ft 3 5/16 in", "the rest"]);
        assert_eq!(marks(2, 2), ["3 ft 3 5/16 in", "3 ft 3 5/16 in"]);
    }
}
